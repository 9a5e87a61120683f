//! The end of a session: what it came to, what was remarked of it, and how it is handed on.

use serde_json::Value;

use crate::scenarios;
use crate::server::Server;
use crate::shooting::records;
use crate::stage::Stage;
use crate::tab::Tab;
use crate::{PHONE, plan_one_arrow};

scenarios!(
    notes_wind_and_light_are_kept_at_once,
    a_session_is_compared_and_handed_on,
    two_arrows_on_one_spot_are_told_and_put_right_in_two_taps,
);

/// Shoots a round of one arrow.
async fn round_of_one(tab: &Tab, at: (f64, f64)) {
    tab.ready().await;
    tab.fill("#distance", "70").await;
    plan_one_arrow(tab).await;
    tab.tap("#start").await;
    tab.wait_for("svg.face").await;
    tab.shoot(at.0, at.1, 610.0).await;
    tab.wait_for("#finish").await;
}

async fn notes_wind_and_light_are_kept_at_once(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("remarks", &server.url(), PHONE).await;
    round_of_one(&tab, (20.0, 20.0)).await;
    tab.tap("#finish .remarks summary").await;
    tab.fill("#wind", "gusty").await;
    tab.fill("#wind_from", "left").await;
    tab.type_in("#remark", "New string").await;
    tab.picture("phone-remarks").await;
    // Typed, and gone before the hand has rested: nothing is lost.
    tab.go("marks").await;
    tab.until("!document.querySelector('#remark')").await;
    let notes = records(&tab, "note").await;
    let kept = notes.len() == 1
        && notes[0]["wind"] == "gusty"
        && notes[0]["wind_from"] == "left"
        && notes[0]["text"] == "New string"
        && notes[0]["light"].is_null();
    tab.check(kept, &format!("{notes:?}")).await;
    tab.saved().await;
    tab.reload().await;
    // In the list of sessions it is told, and changed.
    tab.go("shoot").await;
    if tab.js("!!document.querySelector('.leave')").await == true {
        tab.tap(".leave").await;
    }
    let told = tab.text(".session").await;
    tab.check(told.contains("Wind: gusty · Wind from: the left · New string"), &told).await;
    tab.picture("phone-remarks-listed").await;
    tab.tap(".edit").await;
    tab.tap(".remarks summary").await;
    tab.check(tab.js("document.querySelector('#wind').value").await == "gusty", "what was told").await;
    tab.fill("#light", "dusk").await;
    tab.check(records(&tab, "note").await[0]["light"] == "dusk", "and changed").await;
    tab.tap("#cancel-session").await;
    tab.tap(".session").await;
    // An act like any other: it is undone on the line, and the form follows.
    tab.tap("#finish .remarks summary").await;
    tab.fill("#light", "bright").await;
    tab.tap("#undo").await;
    tab.until("document.querySelector('#light').value === 'dusk'").await;
    tab.tap("#redo").await;
    tab.until("document.querySelector('#light').value === 'bright'").await;
    // Undo at once, while the hand still types: what was typed is taken back and nothing else, and it comes again.
    let typed = "const r = document.querySelector('#remark'); r.value = 'Typed'; r.dispatchEvent(new Event('input', { bubbles: true }));";
    tab.js(&format!("(() => {{ {typed} document.querySelector('#undo').click(); return true; }})()")).await;
    tab.until("document.querySelector('#remark').value === 'New string'").await;
    tab.tap("#redo").await;
    tab.until("document.querySelector('#remark').value === 'Typed'").await;
    // Another word about the same session meanwhile: both are kept, each an act of its own.
    let wind = "const w = document.querySelector('#wind'); w.value = 'strong'; w.dispatchEvent(new Event('input', { bubbles: true }));";
    tab.js(&format!("(() => {{ {} {wind} return true; }})()", typed.replace("Typed", "Both"))).await;
    let note = async || records(&tab, "note").await[0].clone();
    let now = note().await;
    tab.check(now["text"] == "Both" && now["wind"] == "strong" && now["light"] == "bright", &format!("{now}")).await;
    tab.tap("#undo").await;
    let now = note().await;
    tab.check(now["text"] == "Both" && now["wind"] == "gusty", &format!("{now}")).await;
    // It goes with its session, and comes back with it.
    tab.tap(".leave").await;
    tab.tap(".edit").await;
    tab.tap("#delete-session").await;
    tab.tap("#delete-session-now").await;
    tab.check(records(&tab, "note").await.is_empty(), "deleted with it").await;
    tab.tap("#toast-undo").await;
    tab.check(records(&tab, "note").await.len() == 1, "and back").await;
}

/// A page that can share no file, or, after `window.can = true`, every one; what leaves it is kept.
const SHARES: &str = "window.can = false; window.left = []; \
    Object.defineProperty(navigator, 'canShare', { value: () => window.can, configurable: true }); \
    Object.defineProperty(navigator, 'share', { value: async ({ files }) => { \
      if (window.unwilling) throw new DOMException('no', 'AbortError'); window.left.push(['shared', files[0].name, files[0].type, files[0].size]); }, \
      configurable: true }); \
    HTMLAnchorElement.prototype.click = function () { window.left.push(['saved', this.download, this.href.slice(0, 5)]); };";

async fn a_session_is_compared_and_handed_on(stage: Stage) {
    let server = Server::after(SHARES);
    let tab = stage.tab("handed-on", &server.url(), PHONE).await;
    round_of_one(&tab, (20.0, 20.0)).await;
    let told = tab.text("#finish").await;
    tab.check(!told.contains("best"), &format!("nothing to compare with: {told}")).await;
    tab.tap(".leave").await;
    round_of_one(&tab, (150.0, 150.0)).await;
    let told = tab.text("#finish").await;
    let year = tab.js("String(new Date().getFullYear())").await;
    let best =
        told.contains("with 1 arrow at 70 m on this face: 10, on ") && told.contains(year.as_str().unwrap_or("?"));
    tab.check(best, &told).await;
    tab.picture("phone-finish").await;
    let left = async |n: usize| {
        tab.until(&format!("window.left.length === {n}")).await;
        tab.js("window.left.at(-1)").await
    };
    tab.tap("#share").await;
    let saved = left(1).await;
    let name = saved[1].as_str().unwrap_or_default().to_owned();
    tab.check(saved[0] == "saved" && name.ends_with(".png") && saved[2] == "blob:", &format!("{saved}")).await;
    tab.js("window.can = true").await;
    tab.tap("#share").await;
    let shared = left(2).await;
    let whole = shared[0] == "shared" && shared[2] == "image/png" && shared[3].as_f64().unwrap_or(0.0) > 10_000.0;
    tab.check(whole, &format!("{shared}")).await;
    // Who thinks better of it gets no file either.
    tab.js("window.unwilling = true").await;
    tab.tap("#share").await;
    tab.settle().await;
    tab.check(tab.js("window.left.length").await == 2, "nothing left").await;
    // The same from the report.
    tab.js("window.unwilling = false").await;
    tab.tap("#report").await;
    tab.wait_for(".card-sheet").await;
    tab.tap("#share").await;
    let shared = left(3).await;
    tab.check(shared[0] == "shared", &format!("{shared}")).await;
    // What was made, to be looked at.
    let drawn = "import('./picture.js').then(m => m.picture(['Ilse · 70 m', 'A line that is so long that it has to be broken somewhere, \
        since nobody’s picture is that wide'], 'a.png')).then(f => new Promise(done => { const i = new Image(); i.onload = () => done(i.naturalHeight); \
        i.style = 'position:fixed;inset:0;z-index:99;width:100%'; i.src = URL.createObjectURL(f); document.body.append(i); }))";
    let high = tab.js(drawn).await;
    tab.check(high.as_f64().unwrap_or(0.0) > 1200.0, &format!("{high} px high")).await;
    tab.picture("phone-shared-picture").await;
}

async fn two_arrows_on_one_spot_are_told_and_put_right_in_two_taps(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("shared-spot", &server.url(), PHONE).await;
    tab.ready().await;
    tab.fill("#round", "18-60-column").await;
    tab.tap("#start").await;
    tab.wait_for("svg.face").await;
    let tap = async |x: f64, y: f64| {
        let (left, top, side) = tab.face().await;
        let k = side / (2.0 * 1.08 * 320.0);
        tab.tap_at((left + side / 2.0 + x * k, top + side / 2.0 - y * k)).await;
    };
    tap(10.0, 250.0).await;
    tap(-20.0, 10.0).await;
    tab.check(tab.text("#shared-spot").await.is_empty(), "one arrow on each").await;
    // Far enough from the first to be an arrow of its own.
    tap(-40.0, -70.0).await;
    let spots = async || records(&tab, "shot").await.iter().map(|s| s["spot"].clone()).collect::<Vec<Value>>();
    tab.check(spots().await == [1, 2, 2], &format!("{:?}", spots().await)).await;
    let told = tab.text("#shared-spot").await;
    tab.check(told.contains("1 end has two arrows") && told.contains("The event’s rules decide"), &told).await;
    tab.picture("phone-spots-shared").await;
    // The arrow, and its spot.
    tab.tap("[data-shot='3']").await;
    tab.tap(".spots [data-value='3']").await;
    tab.check(spots().await == [1, 2, 3], &format!("{:?}", spots().await)).await;
    tab.until("!document.querySelector('#shared-spot')").await;
}
