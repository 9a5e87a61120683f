//! The app in real browsers, at the sizes of a phone and of a desk, by real touch, mouse and keys.
//!
//! `cargo xtask browser` builds the app into `build/web` and runs these in Chromium, WebKit and Firefox. A scenario is named after its
//! browser and file (`webkit::shooting::calls_ring_and_clock_in_two_taps`), so that words after `--` choose among them. Browsers are
//! lent from one scenario to the next, each with a server, and so with storage, of its own; everything that was started is ended,
//! and nothing else. A failing scenario prints what was on the screen and keeps a picture of it in `build/screenshots`.
#![allow(
    missing_docs,
    clippy::disallowed_methods,
    clippy::print_stdout,
    reason = "tests read the environment and the clock, and tell what they measured"
)]

mod access;
mod account;
mod analysis;
mod browser;
mod club;
mod core_path;

mod doors;
mod durable;
mod engine;
mod finger;
mod finish;
mod first_screen;
mod five_years;
mod guide;
mod in_the_hand;
mod matches;
mod nginx;
mod screens;
mod server;
mod shooting;
mod stage;
mod sync;
mod tab;
mod undo;
mod walk;

use std::process::ExitCode;
use std::sync::Arc;

use libtest_mimic::{Arguments, Trial};

use engine::Engine;
use stage::Scenario;
use tab::Tab;

/// A phone and a desk.
pub const PHONE: (u32, u32) = (360, 740);
pub const DESK: (u32, u32) = (1280, 800);

/// Every scenario, and the file it is in.
fn scenarios() -> Vec<(&'static str, Scenario)> {
    // A measurement, which only a bench asks for.
    if let Some(asked) = std::env::var_os("GOLDWARD_BENCH") {
        let (file, all) = if asked == "five-years" {
            ("five_years", five_years::all())
        } else {
            ("first_screen", first_screen::all())
        };
        return all.into_iter().map(|s| (file, s)).collect();
    }
    let files = [
        ("core_path", core_path::all()),
        ("shooting", shooting::all()),
        ("in_the_hand", in_the_hand::all()),
        ("matches", matches::all()),
        ("finish", finish::all()),
        ("undo", undo::all()),
        ("screens", screens::all()),
        ("analysis", analysis::all()),
        ("access", access::all()),
        ("doors", doors::all()),
        ("durable", durable::all()),
        ("sync", sync::all()),
        ("account", account::all()),
        ("club", club::all()),
        ("walk", walk::all()),
        ("guide", guide::all()),
    ];
    files.into_iter().flat_map(|(file, all)| all.into_iter().map(move |s| (file, s))).collect()
}

/// Browsers to try, by `GOLDWARD_BROWSERS=chromium,webkit`; all by default.
fn wanted() -> Vec<Engine> {
    let named = std::env::var("GOLDWARD_BROWSERS").unwrap_or_default();
    let engines: Vec<Engine> = Engine::ALL
        .into_iter()
        .filter(|e| named.is_empty() || named.split(',').any(|n| n.trim() == e.name()))
        .collect();
    assert!(!engines.is_empty(), "GOLDWARD_BROWSERS names none of chromium, webkit, firefox: {named}");
    engines
}

fn main() -> ExitCode {
    let mut args = Arguments::from_args();
    // Two at a time: half of the time is waiting for a browser.
    args.test_threads = args.test_threads.or(Some(2));
    let runtime = Arc::new(tokio::runtime::Runtime::new().expect("a runtime"));
    let mut trials = Vec::new();
    for engine in wanted() {
        for (file, scenario) in scenarios().into_iter().filter(|(_, s)| s.engines.contains(&engine)) {
            let runtime = runtime.clone();
            let name = format!("{}::{file}::{}", engine.name(), scenario.name);
            let run = move || {
                let begun = std::time::Instant::now();
                let played = runtime.block_on(stage::play(&scenario, engine));
                println!("{:>6.1} s {} {}", begun.elapsed().as_secs_f64(), engine.name(), scenario.name);
                played.map_err(Into::into)
            };
            trials.push(Trial::test(name, run));
        }
    }
    let conclusion = libtest_mimic::run(&args, trials);
    browser::end_all();
    engine::take_down_screen();
    server::forget_app();
    conclusion.exit_code()
}

/// Unfolds what the form of a session holds back: face, ends, setting.
pub async fn unfold(tab: &Tab) {
    tab.wait_for("details.rest").await;
    if tab.js("document.querySelector('details.rest').open").await == false {
        tab.tap("details.rest summary").await;
    }
}

/// Plans a round of a single end of one arrow, without sighting, in the form of a session.
pub async fn plan_one_arrow(tab: &Tab) {
    unfold(tab).await;
    tab.tap_nth("input[name=plan]", 1).await;
    tab.wait_for("#ends").await;
    for (id, times) in [("sighting-ends", 6), ("ends", 30), ("per-end", 12)] {
        for _ in 0..times {
            tab.js(&format!("document.querySelector('[aria-labelledby={id}] button').click()")).await;
        }
    }
}

/// Starts a session with the form's button, on a 122 cm face at 70 m.
pub async fn start_session(tab: &Tab, round: bool) {
    tab.ready().await;
    tab.choose("#face", "122").await;
    tab.fill("#distance", "70").await;
    if round {
        unfold(tab).await;
        tab.tap_nth("input[name=plan]", 1).await;
    }
    tab.tap("#start").await;
    tab.wait_for("svg.face").await;
}
