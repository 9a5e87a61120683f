//! axe-core finds nothing on any screen, in either theme, at either size.

use std::path::Path;

use serde_json::Value;

use crate::browser::{Profile, Tab};
use crate::server::Server;
use crate::{DESK, PHONE, start_session};

const SCREENS: [&str; 13] = [
    "shoot", "explain", "report", "marks", "card", "progress", "pacing", "archers", "settings", "arrows", "compare",
    "tune", "aids",
];

async fn axe(tab: &Tab, script: &str, what: &str) {
    tab.settle().await;
    tab.js(&format!("window.axe ? true : (() => {{ {script}; return true; }})()")).await;
    let found = tab.js("axe.run(document, { resultTypes: ['violations'] }).then(r => r.violations.map(v => v.id + ': ' + v.nodes.map(n => n.target + ' ' + n.failureSummary).join(' | ')))").await;
    let found: Vec<&str> = found.as_array().into_iter().flatten().filter_map(Value::as_str).collect();
    tab.check(found.is_empty(), &format!("{what}: axe-core found\n{}", found.join("\n"))).await;
}

/// Buttons, links and inputs that are too small for a thumb.
async fn targets(tab: &Tab, what: &str) {
    let small = tab
        .js("[...document.querySelectorAll('button, .tabs a, .top a, .links a, select, input:not([type=radio])')].map(e => [e, e.getBoundingClientRect()])\
             .filter(([e, r]) => r.width > 0 && (r.height < 47.5 || r.width < 44)).map(([e, r]) => e.outerHTML.slice(0, 80) + ' ' + r.width + 'x' + r.height)")
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

async fn look(name: &str, size: (u32, u32), theme: usize) {
    let script = script();
    let (server, profile) = (Server::start(), Profile::fresh());
    let tab = Tab::open(name, &server.url(), size, &profile).await;
    tab.ready().await;
    tab.go("settings").await;
    tab.wait_for("input[name=theme]").await;
    tab.js(&format!("document.querySelectorAll('input[name=theme]')[{theme}].click()")).await;
    tab.go("kit").await;
    axe(&tab, &script, "kits").await;
    tab.click("#new-kit").await;
    tab.fill("#k-name", "Invented bow").await;
    tab.fill("#k-above", "120").await;
    tab.fill("#k-mass", "20").await;
    tab.fill("#k-reading", "52").await;
    axe(&tab, &script, "kit form").await;
    tab.picture(&format!("{name}-kit-form")).await;
    targets(&tab, "kit form").await;
    tab.click("#save-kit").await;
    tab.picture(&format!("{name}-kit")).await;
    tab.go("marks").await;
    for (d, r) in [("18", "14.2"), ("30", "22.9"), ("50", "41.3"), ("70", "63.0")] {
        tab.fill("#mark-distance", d).await;
        tab.fill("#mark-reading", r).await;
        tab.click("#add-mark").await;
    }
    tab.wait_for("#predicted").await;
    tab.go("shoot").await;
    axe(&tab, &script, "start").await;
    targets(&tab, "start").await;
    fits(&tab, "start").await;
    tab.picture(&format!("{name}-start")).await;
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
    tab.click("#mode").await;
    axe(&tab, &script, "call").await;
    tab.click("[data-ring='7']").await;
    axe(&tab, &script, "clock").await;
    targets(&tab, "clock").await;
    tab.click(".cancel").await;
    tab.click("#mode").await;
    tab.click("[data-shot='7']").await;
    axe(&tab, &script, "one shot").await;
    targets(&tab, "one shot").await;
    tab.js("document.querySelector('.chosen .head button').click()").await;
    tab.click("#other").await;
    axe(&tab, &script, "clicks really made").await;
}

#[tokio::test]
async fn axe_finds_nothing_on_a_phone_in_the_sun() {
    look("phone-light", PHONE, 1).await;
}

#[tokio::test]
async fn axe_finds_nothing_on_a_phone_at_night() {
    look("phone-dark", PHONE, 2).await;
}

#[tokio::test]
async fn axe_finds_nothing_on_a_desk() {
    look("desk-light", DESK, 1).await;
}

#[tokio::test]
async fn text_at_twice_the_size_fits() {
    let (server, profile) = (Server::start(), Profile::fresh());
    let tab = Tab::open("large", &server.url(), PHONE, &profile).await;
    tab.ready().await;
    tab.js("document.documentElement.style.fontSize = '200%'").await;
    fits(&tab, "start at 200 %").await;
    start_session(&tab, true).await;
    tab.shoot(-90.0, 70.0, 610.0).await;
    tab.shoot(-70.0, 90.0, 610.0).await;
    tab.picture("phone-200").await;
    fits(&tab, "the line at 200 %").await;
    for screen in SCREENS {
        tab.go(screen).await;
        tab.settle().await;
        fits(&tab, &format!("{screen} at 200 %")).await;
    }
}

#[tokio::test]
async fn it_can_be_used_with_a_keyboard_alone() {
    let (server, profile) = (Server::start(), Profile::fresh());
    let tab = Tab::open("keyboard", &server.url(), DESK, &profile).await;
    start_session(&tab, false).await;
    tab.js("document.querySelector('svg.face').focus()").await;
    let key = |k: &'static str| {
        format!(
            "document.activeElement.dispatchEvent(new KeyboardEvent('keydown', {{ key: '{k}', bubbles: true, cancelable: true }}))"
        )
    };
    for k in ["ArrowUp", "ArrowUp", "ArrowLeft", "Enter"] {
        tab.js(&key(k)).await;
        tab.settle().await;
    }
    let shots = crate::shooting::records(&tab, "shot").await;
    let (x, y) = (shots[0]["x_mm"].as_f64().unwrap(), shots[0]["y_mm"].as_f64().unwrap());
    tab.check(x < 0.0 && y > 0.0 && (y + 2.0 * x).abs() < 0.2, &format!("two up and one left is {x}, {y}")).await;
}
