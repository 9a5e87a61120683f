//! The app in a real browser, at the sizes of a phone and of a desk.
//!
//! `cargo xtask test` builds the app into `build/web` and runs these. Each test starts its own Chromium with its own fresh
//! profile and ends only what it started. A failing test prints what was on the screen and keeps a picture of it in
//! `build/screenshots`.
#![allow(
    missing_docs,
    clippy::disallowed_methods,
    clippy::print_stdout,
    reason = "tests read the environment and the clock, and tell what they measured"
)]

mod access;
mod analysis;
mod browser;
mod core_path;
mod durable;
mod screens;
mod server;
mod shooting;
mod sync;

use browser::Tab;

/// A phone and a desk.
pub const PHONE: (u32, u32) = (360, 740);
pub const DESK: (u32, u32) = (1280, 800);

/// Starts a session with the form's button, on a 122 cm face at 70 m.
pub async fn start_session(tab: &Tab, round: bool) {
    tab.ready().await;
    tab.choose("#face", "122").await;
    tab.fill("#distance", "70").await;
    if round {
        tab.js("document.querySelectorAll('input[name=plan]')[1].click()").await;
    }
    tab.click("#start").await;
    tab.wait_for("svg.face").await;
}
