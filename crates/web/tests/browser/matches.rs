//! A match: the other's points in a tap, how it stands on the line, and the chance to win.

use serde_json::Value;

use crate::scenarios;
use crate::server::Server;
use crate::shooting::records;
use crate::stage::Stage;
use crate::tab::Tab;
use crate::{PHONE, unfold};

scenarios!(
    a_match_is_shot_with_the_points_of_the_other,
    a_match_fits_a_small_screen,
    a_match_that_is_level_is_decided_by_one_arrow
);

/// Starts the match by sets at 70 m.
async fn begin(tab: &Tab) {
    tab.ready().await;
    tab.fill("#round", "70-15-sets").await;
    // Without sighting ends.
    unfold(tab).await;
    tab.wait_for("#sighting-ends").await;
    for _ in 0..3 {
        tab.js("document.querySelector('[aria-labelledby=sighting-ends] button').click()").await;
    }
    tab.tap("#start").await;
    tab.wait_for("svg.face").await;
}

/// Three arrows about 90 mm high.
async fn an_end(tab: &Tab) {
    for (x, y) in [(20.0, 110.0), (-60.0, 70.0), (40.0, 90.0)] {
        tab.shoot(x, y, 610.0).await;
    }
}

async fn a_match_is_shot_with_the_points_of_the_other(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("match", &server.url(), PHONE).await;
    begin(&tab).await;
    tab.check(tab.text("#versus").await == "0:0", "it begins level").await;
    an_end(&tab).await;
    tab.tap("#end").await;
    tab.until("document.querySelector('#versus').dataset.missing === 'true'").await;
    tab.wait_for("#chance").await;
    tab.picture("phone-match-line").await;
    // The other's points of the end, in two taps.
    tab.tap("#versus").await;
    tab.tap(".points-of [data-value='1:24']").await;
    tab.until("document.querySelector('[data-act=end]').textContent.includes(': 24')").await;
    tab.picture("phone-match").await;
    let told = tab.text("#said").await;
    tab.check(told.contains("It stands 2 to 0 after 1 end.") && told.contains("Chance to win"), &told).await;
    let ends = records(&tab, "end").await;
    tab.check(ends.len() == 1 && ends[0]["their_points"] == 24, &format!("{ends:?}")).await;
    // Put right: told once more, from the list.
    tab.tap("[data-act=end]").await;
    tab.fill("select[data-act=theirs]", "1:12").await;
    tab.until("document.querySelector('[data-act=end]').textContent.includes(': 12')").await;
    // The other's average, and what decides.
    let chance = async || tab.text("#said").await;
    let before = chance().await;
    tab.fill("#average", "9.8").await;
    tab.until("document.querySelector('#said').textContent.includes('9.8')").await;
    tab.check(chance().await != before, "a strong opponent is another chance").await;
    tab.fill("#average", "nonsense").await;
    let session = async || records(&tab, "session").await[0].clone();
    let kept: Value = session().await;
    tab.check(kept["match_by"] == "sets" && kept["opponent_arrow"] == 9.8, &kept.to_string()).await;
    tab.tap_nth("input[name=by]", 2).await;
    tab.until("document.querySelector('#said').textContent.includes('It stands')").await;
    tab.check(session().await["match_by"] == "total", "by the sum").await;
    tab.tap_nth("input[name=by]", 1).await;
    tab.until("document.querySelector('#said').textContent.includes('It stands 2 to 0')").await;
    // Back on the line it stands so, and is so after a reload.
    tab.go("shoot").await;
    tab.check(tab.text("#versus").await == "2:0", "on the line").await;
    tab.saved().await;
    tab.reload().await;
    tab.wait_for("#versus").await;
    tab.check(tab.text("#versus").await == "2:0", "after a reload").await;
    // Won in three sets: nothing is left to decide.
    for end in 2..=3 {
        an_end(&tab).await;
        tab.go("match").await;
        tab.tap(&format!(".points-of [data-value='{end}:20']")).await;
        tab.until(&format!("document.querySelectorAll('[data-act=end]').length === {end}")).await;
        tab.go("shoot").await;
    }
    tab.check(tab.text("#versus").await == "6:0", "three sets").await;
    tab.go("match").await;
    let told = tab.text("#said").await;
    tab.check(told.contains("The match is won."), &told).await;
}

async fn a_match_fits_a_small_screen(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("match-small", &server.url(), (320, 568)).await;
    begin(&tab).await;
    an_end(&tab).await;
    tab.wait_for("#chance").await;
    let fits = "document.documentElement.scrollWidth <= innerWidth && \
        [...document.querySelectorAll('.standing > *')].every(e => e.getBoundingClientRect().right <= innerWidth + 1)";
    tab.check(tab.js(fits).await == true, "the line fits").await;
    tab.picture("small-match-line").await;
    tab.tap("#versus").await;
    tab.wait_for(".points-of button").await;
    tab.check(tab.js("document.documentElement.scrollWidth <= innerWidth").await == true, "the page fits").await;
    let large =
        "[...document.querySelectorAll('.points-of button')].every(b => b.getBoundingClientRect().height >= 44)";
    tab.check(tab.js(large).await == true, "large enough for a finger").await;
    tab.picture("small-match").await;
}

async fn a_match_that_is_level_is_decided_by_one_arrow(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("shoot-off", &server.url(), PHONE).await;
    begin(&tab).await;
    // The same points in each of five sets: 110, 92 and 99 mm from the middle are a nine and two eights or so.
    for end in 1..=5 {
        an_end(&tab).await;
        let points = made(&tab, end).await;
        let told: u32 = points.trim().parse().unwrap_or_default();
        tab.check(told > 15, &format!("end {end}: {points}")).await;
        tab.tap(&format!(".points-of [data-value='{end}:{told}']")).await;
        tab.until(&format!(
            "document.querySelectorAll('[data-act=end]')[{}].textContent.includes(': {told}')",
            end - 1
        ))
        .await;
        tab.go("shoot").await;
    }
    tab.check(tab.text("#versus").await == "5:5", "level").await;
    // One arrow more: it is said, counted as one, and advised for.
    let place = tab.text(".standing .where").await;
    tab.check(place.contains("Shoot-off"), &place).await;
    tab.check(tab.text(".standing .count").await.contains("0/1"), "one arrow").await;
    tab.wait_for("#chance").await;
    let total = tab.text("#total").await;
    tab.picture("phone-shoot-off-line").await;
    tab.go("match").await;
    let told = tab.text("#said").await;
    tab.check(told.contains("Level: one arrow each") && told.contains("Chance to win"), &told).await;
    tab.check(tab.js("document.querySelectorAll('[data-act=nearer]').length").await == 0, "not before it is shot")
        .await;
    tab.go("shoot").await;
    tab.shoot(15.0, -20.0, 610.0).await;
    tab.until("document.querySelector('#versus').dataset.missing === 'true'").await;
    tab.check(tab.text("#total").await == total, "it makes no points").await;
    // The judge sees no difference: once more.
    tab.tap("#versus").await;
    tab.wait_for("[data-act=nearer]").await;
    tab.picture("phone-shoot-off").await;
    tab.tap("[data-act=nearer][data-value=again]").await;
    tab.saved().await;
    tab.go("shoot").await;
    tab.shoot(10.0, 5.0, 610.0).await;
    tab.until("document.querySelector('#versus').dataset.missing === 'true'").await;
    tab.tap("#versus").await;
    tab.tap("[data-act=nearer][data-value=mine]").await;
    tab.until("document.querySelector('#said').textContent.includes('The match is won.')").await;
    // Put right, and right again.
    tab.tap("[data-act=nearer][data-value=theirs]").await;
    tab.until("document.querySelector('#said').textContent.includes('The match is lost.')").await;
    tab.tap("[data-act=nearer][data-value=mine]").await;
    tab.until("document.querySelector('#said').textContent.includes('The match is won.')").await;
    let ends = records(&tab, "end").await;
    let nearer: Vec<&Value> = ends.iter().filter(|e| e["end"].as_u64() > Some(5)).collect();
    tab.check(nearer.len() == 2 && nearer.iter().any(|e| e["end"] == 7 && e["nearer"] == true), &format!("{ends:?}"))
        .await;
    // Over: nothing more is shot, and it is so after a reload.
    tab.go("shoot").await;
    tab.wait_for("#report").await;
    tab.saved().await;
    tab.reload().await;
    tab.wait_for("#report").await;
    tab.go("match").await;
    tab.until("document.querySelector('#said').textContent.includes('The match is won.')").await;
}

/// The archer's points in an end, as the page of the match has them.
async fn made(tab: &Tab, end: u32) -> String {
    tab.go("match").await;
    tab.wait_for("[data-act=end]").await;
    let line = tab.js(&format!("document.querySelectorAll('[data-act=end]')[{}].textContent", end - 1)).await;
    let line = line.as_str().unwrap_or_default().to_owned();
    line.split(": ").nth(1).unwrap_or_default().split(' ').next().unwrap_or_default().to_owned()
}
