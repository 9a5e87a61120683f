//! axe-core finds nothing on any screen, in either theme, at either size.

use std::path::Path;

use serde_json::Value;

use crate::engine::Engine;
use crate::scenarios;
use crate::server::Server;
use crate::stage::Stage;
use crate::tab::Tab;
use crate::{DESK, PHONE, start_session, unfold};

scenarios!(
    axe_finds_nothing_on_a_phone_in_the_sun,
    axe_finds_nothing_on_a_phone_at_night in &[Engine::Chromium],
    axe_finds_nothing_on_a_desk in &[Engine::Chromium],
    text_at_twice_the_size_fits,
    it_can_be_used_with_a_keyboard_alone,
);

const SCREENS: [&str; 14] = [
    "shoot", "explain", "report", "marks", "card", "progress", "pacing", "archers", "settings", "arrows", "compare",
    "tune", "aids", "account",
];

async fn axe(tab: &Tab, script: &str, what: &str) {
    tab.settle().await;
    tab.js(&format!("window.axe ? true : (() => {{ {script}; return true; }})()")).await;
    let found = tab.js("axe.run(document, { resultTypes: ['violations'] }).then(r => r.violations.map(v => v.id + ': ' + v.nodes.map(n => n.target + ' ' + n.failureSummary).join(' | ')))").await;
    let found: Vec<&str> = found.as_array().into_iter().flatten().filter_map(Value::as_str).collect();
    tab.check(found.is_empty(), &format!("{what}: axe-core found\n{}", found.join("\n"))).await;
}

/// Whatever can be pressed and is too small for a thumb: 44 px each way, the height of what stands alone a little more. A link within a
/// sentence is as high as its line, and a box or a dot is hit by its label.
async fn targets(tab: &Tab, what: &str) {
    let small = tab
        .js("[...document.querySelectorAll('button, a[href], summary, select, textarea, input, label.option, [role=button], [tabindex=\"0\"]')]\
             .filter(e => !e.closest('p, .skip') && !e.matches('.skip, .scroll, [hidden]'))\
             .map(e => [e, (e.matches('[type=radio], [type=checkbox], [type=file]') && e.closest('label') || e).getBoundingClientRect()])\
             .filter(([e, r]) => r.width > 0 && e.checkVisibility?.() !== false && (r.height < 43.5 || r.width < 43.5))\
             .map(([e, r]) => e.outerHTML.slice(0, 80) + ' ' + r.width + 'x' + r.height)")
        .await;
    let small: Vec<&str> = small.as_array().into_iter().flatten().filter_map(Value::as_str).collect();
    tab.check(small.is_empty(), &format!("{what}: too small for a thumb\n{}", small.join("\n"))).await;
}

/// Nothing may be wider than the window.
async fn fits(tab: &Tab, what: &str) {
    let wide = tab.js("document.documentElement.scrollWidth - document.documentElement.clientWidth").await;
    tab.check(wide.as_f64().unwrap_or(1.0) <= 0.5, &format!("{what}: {wide} px too wide")).await;
}

fn script() -> String {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../build/axe/package/axe.min.js");
    std::fs::read_to_string(&script).expect("axe-core: `cargo xtask test` fetches it")
}

/// Fails unless what is on the screen can be read, hit and fits.
pub async fn usable(tab: &Tab, what: &str) {
    axe(tab, &script(), what).await;
    targets(tab, what).await;
    fits(tab, what).await;
}

async fn look(stage: Stage, name: &str, size: (u32, u32), theme: usize) {
    let script = script();
    let server = Server::start();
    let tab = stage.tab(name, &server.url(), size).await;
    tab.ready().await;
    tab.go("settings").await;
    tab.wait_for("input[name=theme]").await;
    tab.tap_nth("input[name=theme]", theme).await;
    tab.go("kit").await;
    axe(&tab, &script, "kits").await;
    tab.tap("#new-kit").await;
    tab.fill("#k-name", "Invented bow").await;
    tab.fill("#k-above", "120").await;
    tab.fill("#k-mass", "20").await;
    tab.fill("#k-reading", "52").await;
    axe(&tab, &script, "kit form").await;
    tab.picture(&format!("{name}-kit-form")).await;
    targets(&tab, "kit form").await;
    tab.tap("#save-kit").await;
    tab.picture(&format!("{name}-kit")).await;
    tab.go("marks").await;
    for (d, r) in [("18", "14.2"), ("30", "22.9"), ("50", "41.3"), ("70", "63.0")] {
        tab.fill("#mark-distance", d).await;
        tab.fill("#mark-reading", r).await;
        tab.tap("#add-mark").await;
    }
    tab.wait_for("#predicted").await;
    tab.go("shoot").await;
    axe(&tab, &script, "start").await;
    targets(&tab, "start").await;
    fits(&tab, "start").await;
    tab.picture(&format!("{name}-start")).await;
    unfold(&tab).await;
    axe(&tab, &script, "start, unfolded").await;
    targets(&tab, "start, unfolded").await;
    tab.tap("details.rest summary").await;
    start_session(&tab, true).await;
    axe(&tab, &script, "first shot").await;
    for (x, y) in
        [(-90.0, 70.0), (-70.0, 90.0), (-110.0, 80.0), (-80.0, 60.0), (-100.0, 100.0), (260.0, -190.0), (-60.0, 85.0)]
    {
        tab.shoot(x, y, 610.0).await;
    }
    for screen in SCREENS {
        tab.go(screen).await;
        tab.settle().await;
        tab.picture(&format!("{name}-{screen}")).await;
        axe(&tab, &script, screen).await;
        targets(&tab, screen).await;
        fits(&tab, screen).await;
    }
    tab.go("shoot").await;
    tab.tap("#mode").await;
    axe(&tab, &script, "call").await;
    tab.tap("[data-ring='7']").await;
    axe(&tab, &script, "clock").await;
    targets(&tab, "clock").await;
    tab.tap(".cancel").await;
    tab.tap("#mode").await;
    tab.tap("[data-shot='7']").await;
    axe(&tab, &script, "one shot").await;
    targets(&tab, "one shot").await;
    tab.tap("#close").await;
    tab.tap("#other").await;
    axe(&tab, &script, "clicks really made").await;
    tab.tap(".tell .head button").await;
    tab.tap("#clock").await;
    axe(&tab, &script, "the clock").await;
    targets(&tab, "the clock").await;
    fits(&tab, "the clock").await;
}

async fn axe_finds_nothing_on_a_phone_in_the_sun(stage: Stage) {
    look(stage, "phone-light", PHONE, 1).await;
}

async fn axe_finds_nothing_on_a_phone_at_night(stage: Stage) {
    look(stage, "phone-dark", PHONE, 2).await;
}

async fn axe_finds_nothing_on_a_desk(stage: Stage) {
    look(stage, "desk-light", DESK, 1).await;
}

async fn text_at_twice_the_size_fits(stage: Stage) {
    let script = script();
    let server = Server::start();
    let tab = stage.tab("large", &server.url(), PHONE).await;
    tab.ready().await;
    tab.js("document.documentElement.style.fontSize = '200%'").await;
    let fine = async |what: &str| {
        let what = format!("{what} at 200 %");
        tab.settle().await;
        fits(&tab, &what).await;
        targets(&tab, &what).await;
        // What it finds hangs on no browser.
        if tab.engine() == Engine::Chromium {
            axe(&tab, &script, &what).await;
        }
    };
    fine("start of a newcomer").await;
    start_session(&tab, true).await;
    fine("first shot").await;
    tab.shoot(-90.0, 70.0, 610.0).await;
    tab.shoot(-70.0, 90.0, 610.0).await;
    tab.picture("phone-200").await;
    fine("the line").await;
    for (press, then, what) in [
        ("[data-shot='2']", "#close", "one shot"),
        ("#other", ".tell .head button", "clicks really made"),
        ("#clock", "#running", "the clock"),
        ("#mode", "#mode", "call"),
    ] {
        tab.tap(press).await;
        fine(what).await;
        tab.tap(then).await;
    }
    for screen in SCREENS {
        tab.go(screen).await;
        fine(screen).await;
    }
    tab.go("report").await;
    tab.tap(".remarks summary").await;
    fine("notes").await;
    tab.go("kit").await;
    fine("kits").await;
    tab.tap("#new-kit").await;
    fine("kit form").await;
    tab.go("shoot").await;
    tab.tap(".leave").await;
    unfold(&tab).await;
    fine("start, unfolded").await;
    tab.tap(".edit").await;
    fine("change a session").await;
}

async fn it_can_be_used_with_a_keyboard_alone(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("keyboard", &server.url(), DESK).await;
    start_session(&tab, false).await;
    tab.js("document.querySelector('svg.face').focus()").await;
    // WebDriver's characters for up, up, left and Enter.
    tab.keys(&["\u{e013}", "\u{e013}", "\u{e012}", "\u{e007}"]).await;
    let shots = crate::shooting::records(&tab, "shot").await;
    let (x, y) = (shots[0]["x_mm"].as_f64().unwrap(), shots[0]["y_mm"].as_f64().unwrap());
    tab.check(x < 0.0 && y > 0.0 && (y + 2.0 * x).abs() < 0.2, &format!("two up and one left is {x}, {y}")).await;
}
