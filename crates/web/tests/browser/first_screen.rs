//! How long a slow phone waits for the first screen that takes a tap: a measurement, no test. `cargo xtask bench first-screen` asks
//! for it.
//!
//! Chromium plays the phone, by its own developer tools: 1.6 Mbit/s down, 150 ms there and back, the page's thread at a quarter of
//! its speed. The time runs from navigation, by the page's own clock, until a button of the form has done what it is for.

use serde_json::json;

use crate::PHONE;
use crate::engine::Engine;
use crate::scenarios;
use crate::server::Server;
use crate::stage::Stage;
use crate::tab::Tab;

scenarios!(
    first_screen in &[Engine::Chromium],
);

const TIMES: usize = 5;
/// What a person waits at most, in seconds: at the first visit, and once the app is installed.
const AIMS: [f64; 2] = [4.0, 1.5];

/// Looks at every frame for the form, and once it is drawn presses a distance and waits until the field has it.
const WATCH: &str = "(() => { const look = () => { \
    const all = document.querySelectorAll('.quick button'), button = all[all.length - 1], field = document.querySelector('#distance'); \
    if (!button || !document.querySelector('#start')) return requestAnimationFrame(look); \
    window.goldwardSeen = performance.now(); \
    requestAnimationFrame(() => setTimeout(() => { button.click(); const taken = () => { \
      if (field.value === button.innerText) window.goldwardTaken = performance.now(); else setTimeout(taken, 0); }; taken(); }, 0)); }; \
    requestAnimationFrame(look); })()";

/// Seen and taken, in seconds, of one start, and the bytes that came over the network.
async fn start(tab: &Tab, url: &str) -> (f64, f64, f64) {
    tab.must(tab.browser.goto("about:blank").await).await;
    tab.cdp("Emulation.setCPUThrottlingRate", json!({ "rate": 4 })).await;
    let network =
        json!({ "offline": false, "latency": 150, "downloadThroughput": 200_000, "uploadThroughput": 93_750 });
    tab.cdp("Network.enable", json!({})).await;
    tab.cdp("Network.emulateNetworkConditions", network).await;
    tab.cdp("Page.navigate", json!({ "url": url })).await;
    tab.until("window.goldwardTaken").await;
    let told = tab
        .js("[goldwardSeen, goldwardTaken, performance.getEntries().reduce((sum, e) => sum + (e.startTime < goldwardSeen ? e.transferSize ?? 0 : 0), 0)]")
        .await;
    let n = |i: usize| told[i].as_f64().unwrap_or_default();
    if std::env::var_os("GOLDWARD_FIRST_SCREEN_PARTS").is_some() {
        let parts = tab
            .js("performance.getEntries().map(e => `${e.entryType} ${e.name} ${e.startTime.toFixed(0)}+${e.duration.toFixed(0)} ${e.transferSize ?? ''}`).join('\\n')")
            .await;
        println!("{}", parts.as_str().unwrap_or_default());
    }
    // The next start is prepared at full speed.
    tab.cdp("Emulation.setCPUThrottlingRate", json!({ "rate": 1 })).await;
    let free = json!({ "offline": false, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1 });
    tab.cdp("Network.emulateNetworkConditions", free).await;
    (n(0) / 1000.0, n(1) / 1000.0, n(2))
}

fn middle(mut of: Vec<f64>) -> [f64; 3] {
    of.sort_by(f64::total_cmp);
    [of[of.len() / 2], of[0], of[of.len() - 1]]
}

async fn first_screen(stage: Stage) {
    let tab = stage.tab("first-screen", "about:blank", PHONE).await;
    tab.cdp("Page.addScriptToEvaluateOnNewDocument", json!({ "source": WATCH })).await;
    let mut runs = [Vec::new(), Vec::new()];
    for _ in 0..TIMES {
        // A port of its own: nothing is there from before.
        let server = Server::start();
        runs[0].push(start(&tab, &server.url()).await);
        tab.js("navigator.serviceWorker.ready.then(() => true)").await;
        tab.until("navigator.serviceWorker.controller").await;
        runs[1].push(start(&tab, &server.url()).await);
    }
    println!(
        "first screen that takes a tap: 1.6 Mbit/s, 150 ms, a quarter of the speed; median of {TIMES} (least to most)"
    );
    for ((name, runs), aim) in ["first visit", "once installed"].iter().zip(&runs).zip(AIMS) {
        let of = |part: fn(&(f64, f64, f64)) -> f64| middle(runs.iter().map(part).collect());
        let ([seen, ..], [taken, least, most], [bytes, ..]) = (of(|r| r.0), of(|r| r.1), of(|r| r.2));
        println!(
            "  {name:<15} drawn {seen:.2} s, takes a tap {taken:.2} s ({least:.2} to {most:.2}), aim {aim} s; {:.0} KB over the network",
            bytes / 1024.0
        );
    }
}
