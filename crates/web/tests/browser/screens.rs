//! The other screens do their work.

use serde_json::Value;

use crate::engine::Engine;
use crate::scenarios;
use crate::server::Server;
use crate::shooting::records;
use crate::stage::Stage;
use crate::{PHONE, start_session};

scenarios!(
    the_rehearsal_plays_and_the_screen_stays_alive,
    archers_are_switched_in_one_tap_and_compared,
    who_agrees_is_counted_and_takes_it_back,
    a_club_s_usual_values_are_taken_and_what_is_none_of_them_is_refused,
    languages_units_and_hands_change_at_once,
    a_language_that_cannot_be_fetched_says_so,
    the_log_goes_out_and_comes_back,
    the_guide_is_there_without_a_network in &[Engine::Chromium],
    what_comes_later_may_be_missing,
);

async fn the_rehearsal_plays_and_the_screen_stays_alive(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("pacing", &server.url(), PHONE).await;
    tab.ready().await;
    tab.go("pacing").await;
    // Words of statistics only where somebody asks for them; what is wrong there is unfolded.
    tab.check(!tab.text(".page").await.contains("mrad"), "no mrad before it is asked for").await;
    tab.fill("#p-spread", "a few").await;
    tab.tap("#rehearse").await;
    tab.until("document.activeElement.id === 'p-spread' && document.querySelector('#p-spread').checkVisibility()")
        .await;
    tab.fill("#p-spread", "3").await;
    tab.tap("#rehearse").await;
    tab.wait_for("#outcomes").await;
    let rules = tab.js("document.querySelectorAll('#outcomes tbody tr').length").await;
    tab.check(rules == 12, &format!("{rules} rules")).await;
    tab.picture("phone-pacing-played").await;
}

async fn archers_are_switched_in_one_tap_and_compared(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("archers", &server.url(), PHONE).await;
    tab.ready().await;
    tab.go("archers").await;
    for name in ["Wren", "Alder"] {
        tab.fill("#archer-name", name).await;
        tab.tap("#save-archer").await;
        tab.settle().await;
    }
    tab.go("shoot").await;
    start_session(&tab, false).await;
    for x in 0..7 {
        tab.shoot(f64::from(x) * 15.0, 20.0, 610.0).await;
    }
    tab.go("archers").await;
    tab.picture("phone-archers-two").await;
    // The first in the list is Alder, who has just been shooting; one tap and Wren is at the line.
    tab.tap_nth(".pick", 1).await;
    tab.settle().await;
    tab.check(tab.text(".who").await == "Wren", "Wren shoots now").await;
    tab.check(tab.js("location.hash").await == "#/shoot", "and is at the line").await;
    let kits = records(&tab, "kit").await.len();
    tab.check(kits == 1, &format!("{kits} kits")).await;
}

/// Nothing of it is written of who was not asked; who has agreed and takes it back is written down as having done so.
async fn who_agrees_is_counted_and_takes_it_back(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("consent", &server.url(), PHONE).await;
    tab.ready().await;
    tab.go("archers").await;
    tab.fill("#archer-name", "Wren").await;
    tab.tap("#save-archer").await;
    tab.settle().await;
    let counted = async || records(&tab, "archer").await.iter().map(|a| a["counted"].clone()).collect::<Vec<_>>();
    tab.check(counted().await == [Value::Null], "nobody was asked").await;
    for (choice, told) in [(1, true), (0, false), (1, true)] {
        tab.tap("[data-act=edit]").await;
        tab.tap_nth("input[name=counted]", choice).await;
        tab.picture("phone-consent").await;
        tab.tap("#save-archer").await;
        tab.settle().await;
        tab.check(counted().await == [Value::from(told)], &format!("{told}: {:?}", counted().await)).await;
    }
    // The name changed, the answer stays; a new archer is asked anew.
    tab.tap("[data-act=edit]").await;
    tab.check(tab.js("document.querySelectorAll('input[name=counted]')[1].checked").await == true, "as was told").await;
    tab.fill("#archer-name", "Wren B").await;
    tab.tap("#save-archer").await;
    tab.settle().await;
    tab.check(tab.js("document.querySelectorAll('input[name=counted]')[0].checked").await == true, "for the next")
        .await;
    tab.fill("#archer-name", "Alder").await;
    tab.tap("#save-archer").await;
    tab.settle().await;
    let mut all = counted().await;
    all.sort_by_key(Value::is_null);
    tab.check(all == [Value::from(true), Value::Null], &format!("{all:?}")).await;
}

async fn a_club_s_usual_values_are_taken_and_what_is_none_of_them_is_refused(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("usual", &server.url(), PHONE).await;
    tab.ready().await;
    tab.go("kit").await;
    tab.tap("#new-kit").await;
    tab.fill("#k-name", "Bow").await;
    // Compound, of a level that the club can tell.
    tab.tap_nth("input[name=k-bow]", 2).await;
    tab.tap_nth("input[name=k-level]", 2).await;
    tab.js("document.querySelectorAll('details.rest').forEach(d => d.open = true)").await;
    let give = async |document: &str| {
        tab.js(&format!(
            "(() => {{ const d = new DataTransfer(); d.items.add(new File([{}], 'usual.json')); const i = document.querySelector('#k-usual'); i.files = d.files; i.dispatchEvent(new Event('change', {{ bubbles: true }})); }})()",
            Value::from(document)
        ))
        .await;
        tab.settle().await;
        tab.text("#k-usual-said").await
    };
    let cell = |bow: &str, mrad: &str| {
        format!(
            "{{\"bow\":\"{bow}\",\"level\":\"club\",\"band\":\"middle\",\"archers\":24,\"spread_mrad\":{mrad},\"spread_ln_sd\":0.1,\"scatter_ln_sd\":0.3,\"astray\":0.05,\"end_factor\":1}}"
        )
    };
    let document = |cells: &str| {
        format!(
            "{{\"schema\":1,\"what\":\"goldward usual values\",\"made\":\"2026-11-27\",\"epsilon\":1,\"delta\":1e-6,\"least_archers\":20,\"cells\":[{cells}]}}"
        )
    };
    let before = tab.js("document.querySelector('#k-spread').value").await;
    let (wide, other, good) =
        (document(&cell("compound", "900")), document(&cell("recurve", "2.5")), document(&cell("compound", "1.234")));
    let long = "x".repeat(200_000);
    for (odd, part) in [
        ("", "usual"),
        ("not JSON", ""),
        ("{}", "schema"),
        (&*good.replace("usual values", "marks"), "what"),
        (&*good.replace("\"schema\":1", "\"schema\":2"), "schema"),
        (&*wide, "cells[0].spread_mrad"),
        (&*other, "no such bow"),
        (&*long, "200000"),
    ] {
        let said = give(odd).await;
        let fine = said.len() > 10 && (part == "usual" || said.contains(part)) && !said.contains("filled in");
        tab.check(fine, &format!("{odd:.60}: {said}")).await;
        tab.check(tab.js("document.querySelector('#k-spread').value").await == before, "nothing is filled in").await;
    }
    // The same file again, now a good one; and once more.
    for _ in 0..2 {
        let said = give(&good).await;
        tab.check(said.contains("24 archers"), &said).await;
    }
    // The spread to begin with is a little more than that of the archer in the middle.
    let filled = tab.js("document.querySelector('#k-spread').value").await;
    let mrad = filled.as_str().and_then(|t| t.parse::<f64>().ok()).unwrap_or_default();
    tab.check((1.234..1.6).contains(&mrad), &format!("filled in: {filled}")).await;
    tab.picture("phone-usual").await;
    tab.tap("#save-kit").await;
    tab.wait_for("#new-kit").await;
    let kits = records(&tab, "kit").await;
    let kept = kits.len() == 1
        && kits[0]["spread_mrad"] == mrad
        && kits[0]["bow"] == "compound"
        && kits[0]["worth"].is_number();
    tab.check(kept, &format!("{kits:?}")).await;
}

async fn languages_units_and_hands_change_at_once(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("languages", &server.url(), PHONE).await;
    tab.ready().await;
    for (i, (code, word)) in [("en", "Settings"), ("de", "Einstellungen"), ("fr", "Réglages")].iter().enumerate() {
        tab.go("settings").await;
        tab.wait_for("input[name=language]").await;
        tab.tap_nth("input[name=language]", i).await;
        tab.until(&format!("document.documentElement.lang === '{code}'")).await;
        tab.settle().await;
        tab.check(tab.text("h1").await == *word, word).await;
        tab.picture(&format!("phone-settings-{code}")).await;
        tab.go("shoot").await;
        tab.settle().await;
        tab.picture(&format!("phone-start-{code}")).await;
    }
    tab.go("settings").await;
    tab.tap_nth("input[name=units]", 1).await;
    tab.tap_nth("input[name=hold]", 1).await;
    tab.go("shoot").await;
    tab.check(tab.text(".with-unit .unit").await == "yd", "yards").await;
    tab.check(tab.js("document.documentElement.dataset.hand").await == "left", "left").await;
    tab.reload().await;
    tab.check(tab.text("h1").await == "Tirer", "remembered").await;
}

async fn a_language_that_cannot_be_fetched_says_so(stage: Stage) {
    // The line fails for the texts alone, as long as the page is told so; `hotel` has a page of its own for whatever is asked.
    let line = "const whole = fetch;
        globalThis.fetch = (what, ...more) => {
            const line = String(what).includes('words-') ? localStorage.getItem('line') : null;
            if (line === 'cut') return Promise.reject(new TypeError('no line'));
            return line === 'hotel' ? Promise.resolve(new Response('<!doctype html>')) : whole(what, ...more);
        };";
    let server = Server::after(line);
    let tab = stage.tab("no-texts", &server.url(), PHONE).await;
    tab.ready().await;
    tab.go("settings").await;
    for broken in ["cut", "hotel"] {
        tab.js(&format!("localStorage.setItem('line', '{broken}')")).await;
        tab.tap_nth("input[name=language]", 1).await;
        tab.until("document.querySelector('.toast').innerText.startsWith('Deutsch could not be fetched')").await;
        tab.check(tab.text("h1").await == "Settings", "it stays English").await;
        tab.until("document.querySelectorAll('input[name=language]')[0].checked").await;
        tab.until("document.querySelector('.toast').innerText === ''").await;
    }
    // What is asked for last counts, and the line is back.
    tab.js("localStorage.removeItem('line')").await;
    tab.tap_nth("input[name=language]", 2).await;
    tab.tap_nth("input[name=language]", 1).await;
    tab.until("document.documentElement.lang === 'de'").await;
    tab.check(tab.text("h1").await == "Einstellungen", "it speaks German").await;
    // Chosen, and not to be had when the app starts: it is drawn in English, and the choice is kept for the next time.
    tab.js("localStorage.setItem('line', 'cut')").await;
    tab.reload().await;
    tab.until("document.querySelector('.toast').innerText.startsWith('Deutsch could not be fetched')").await;
    tab.check(tab.text("h1").await == "Settings", "English is always there").await;
    tab.js("localStorage.removeItem('line')").await;
    tab.reload().await;
    tab.check(tab.text("h1").await == "Einstellungen", "the choice was kept").await;
}

async fn what_comes_later_may_be_missing(stage: Stage) {
    // The line fails for the second module alone, as long as the page is told so.
    let line = "const whole = fetch;
        globalThis.fetch = (what, ...more) => String(what?.url ?? what).includes('split_') && localStorage.getItem('line') === 'cut'
            ? Promise.resolve(new Response('<!doctype html>', { status: 404 })) : whole(what, ...more);
        localStorage.setItem('line', localStorage.getItem('line') ?? 'cut');";
    let server = Server::after(line);
    let tab = stage.tab("later", &server.url(), PHONE).await;
    start_session(&tab, false).await;
    tab.shoot(30.0, 40.0, 610.0).await;
    tab.saved().await;
    for place in ["marks", "settings"] {
        tab.go(place).await;
        tab.wait_for("#fetch-again").await;
        let told = tab.text("#main").await;
        tab.check(told.contains("could not be fetched"), &told).await;
    }
    tab.picture("phone-later").await;
    // Still not to be had: it is asked for, and told again.
    tab.tap("#fetch-again").await;
    tab.wait_for("#fetch-again").await;
    // The line goes on without it.
    tab.go("shoot").await;
    tab.shoot(-30.0, 40.0, 610.0).await;
    tab.until("document.querySelectorAll('.chip').length === 2").await;
    tab.js("localStorage.setItem('line', 'whole')").await;
    tab.go("settings").await;
    tab.tap("#fetch-again").await;
    tab.wait_for("#export").await;
    tab.go("marks").await;
    // What the loader told the console was meant.
    tab.js("goldwardForget()").await;
    tab.check(tab.text("h1").await == "Marks" && records(&tab, "shot").await.len() == 2, "all of it is there").await;
    tab.reload().await;
    tab.check(tab.text("h1").await == "Marks", "an address of the second module").await;
}

async fn the_log_goes_out_and_comes_back(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("export", &server.url(), PHONE).await;
    start_session(&tab, false).await;
    tab.shoot(30.0, 40.0, 610.0).await;
    tab.saved().await;
    tab.go("settings").await;
    tab.catch_files().await;
    tab.tap("#export").await;
    tab.until("window.kept").await;
    let text = tab.js("window.kept").await.as_str().unwrap_or_default().to_owned();
    let lines = text.lines().count();
    tab.check(text.starts_with("{\"format\":\"goldward-log\"") && lines == 5, &text).await;

    let fresh = stage.tab("import", &server.url(), PHONE).await;
    fresh.import(&text, 4).await;
    fresh.check(records(&fresh, "shot").await.len() == 1, "the shot came in").await;
}

async fn the_guide_is_there_without_a_network(stage: Stage) {
    let mut server = Server::start();
    let tab = stage.tab("guide", &server.url(), PHONE).await;
    tab.ready().await;
    tab.js("navigator.serviceWorker.ready.then(() => true)").await;
    tab.until("navigator.serviceWorker.controller").await;
    tab.go("settings").await;
    tab.tap_nth("input[name=language]", 1).await;
    tab.until("document.querySelector('#guide')?.getAttribute('href') === 'guide/archer/de.html'").await;
    tab.check(tab.text("#guide").await == "Die Anleitung", "the guide is offered").await;
    tab.picture("phone-settings-guide").await;
    let page = format!("{}guide/archer/de.html", server.url());
    tab.must(tab.browser.goto(&page).await).await;
    tab.until("document.querySelector('h1')?.innerText === 'Ein Abend auf dem Platz'").await;
    tab.picture("phone-guide").await;
    tab.until("window.goldwardAll ?? (caches.match(new URL('../marks.html', location)).then(m => { window.goldwardAll = !!m || undefined; }), false)").await;
    // A page that nobody has looked at, without a server.
    server.stop();
    let other = format!("{}guide/marks.html", server.url());
    tab.must(tab.browser.goto(&other).await).await;
    tab.until("document.querySelector('h1')?.innerText === 'Sight marks'").await;
    tab.must(tab.browser.goto(&format!("{}guide/", server.url())).await).await;
    tab.until("document.querySelector('h1')").await;
    tab.must(tab.browser.goto(&server.url()).await).await;
    tab.ready().await;
}
