//! What was saved stays: kill -9, reload, no server, a new version.

use std::fs;
use std::time::Duration;

use serde_json::json;

use crate::browser::Profile;
use crate::engine::Engine;
use crate::nginx::Nginx;
use crate::scenarios;
use crate::server::{Server, app_folder, copy_all, fresh_port};
use crate::shooting::records;
use crate::stage::Stage;
use crate::tab::Tab;
use crate::{PHONE, start_session};

scenarios!(
    // WebKit's small browser keeps nothing when it is driven.
    every_saved_shot_survives_a_killed_browser in &[Engine::Chromium, Engine::Firefox],
    // Firefox's driver takes the first page without a server for a failure, before the service worker answers.
    it_starts_and_shoots_without_a_server in &[Engine::Chromium, Engine::WebKit],
    a_usual_web_server_hosts_the_app_and_is_told_nothing in &[Engine::Chromium],
    a_long_log_is_whole_soon_and_never_less,
    // WebKit's driver loses its question when the page reloads by itself.
    a_new_version_waits_until_it_is_asked_for in &[Engine::Chromium, Engine::Firefox],
);

/// Until the service worker has the whole app.
async fn installed(tab: &Tab) {
    tab.js("navigator.serviceWorker.ready.then(() => true)").await;
    tab.until("navigator.serviceWorker.controller").await;
}

async fn every_saved_shot_survives_a_killed_browser(stage: Stage) {
    let (server, profile) = (Server::start(), Profile::fresh());
    let places: Vec<(f64, f64)> = (0..9).map(|i| (f64::from(i) * 20.0 - 90.0, 60.0 - f64::from(i * i))).collect();
    {
        let tab = stage.own("kill", &server.url(), PHONE, &profile).await;
        start_session(&tab, false).await;
        for (x, y) in &places {
            tab.shoot(*x, *y, 610.0).await;
        }
        tab.saved().await;
        tab.kill();
    }
    tokio::time::sleep(Duration::from_millis(500)).await;
    // The lock of the killed browser would keep the next one out.
    for lock in ["SingletonLock", "SingletonSocket", "SingletonCookie", "lock", ".parentlock"] {
        let _ = fs::remove_file(profile.0.join(lock));
    }
    let tab = stage.own("kill-after", &server.url(), PHONE, &profile).await;
    tab.wait_for("svg.face").await;
    let shots = records(&tab, "shot").await;
    tab.check(shots.len() == places.len(), &format!("{} of {} shots are there", shots.len(), places.len())).await;
    tab.check(tab.text(".standing .where").await.contains("70 m"), "the session is open where it was").await;
    // Undo goes on working after the restart.
    tab.tap("#undo").await;
    tab.check(records(&tab, "shot").await.len() == places.len() - 1, "the last shot is undone").await;
}

/// A log that is too long to be read before the first screen: what is shot and taken back before all of it is here stays, what the rest of it
/// tells reaches the open session, and nothing of it is missing in what is given out.
async fn a_long_log_is_whole_soon_and_never_less(stage: Stage) {
    let (server, all) = (Server::start(), crate::five_years::records(60));
    let tab = stage.tab("long", &server.url(), PHONE).await;
    tab.import(&goldward_journal::jsonl::write(&goldward_journal::Log::from_records(all.iter().cloned())), all.len())
        .await;
    tab.go("shoot").await;
    start_session(&tab, false).await;
    for (x, y) in [(-60.0, 40.0), (-80.0, 70.0), (-40.0, 50.0)] {
        tab.shoot(x, y, 610.0).await;
    }
    tab.saved().await;
    let told = tab.text(".answer").await;
    let begun = records(&tab, "shot").await.len();
    let slow = tab.engine() == Engine::Chromium;
    if slow {
        // So that a hand is there before the rest of the log is, and it is seen.
        let watch = "(() => { const look = () => { if (!document.querySelector('svg.face')) return requestAnimationFrame(look); \
            window.goldwardEarly = !!document.querySelector('[data-reading]'); }; requestAnimationFrame(look); })()";
        tab.cdp("Page.addScriptToEvaluateOnNewDocument", json!({ "source": watch })).await;
        tab.cdp("Emulation.setCPUThrottlingRate", json!({ "rate": 4 })).await;
    }
    // Once for the log to be known as a long one, then as it goes every day.
    for round in 0..3 {
        tab.reload().await;
        tab.wait_for("svg.face").await;
        if slow && round > 0 {
            tab.until("window.goldwardEarly !== undefined").await;
            tab.check(tab.js("goldwardEarly").await == true, "the line is there before all of the log").await;
        }
        tab.shoot(200.0, -200.0, 610.0).await;
        tab.tap("#undo").await;
        tab.until("!document.querySelector('[data-reading]')").await;
        tab.saved().await;
        tab.until(&format!("document.querySelector('.answer').innerText.trim() === {}", json!(told))).await;
        tab.check(records(&tab, "shot").await.len() == begun, "the shots are those that were there").await;
    }
    if slow {
        tab.cdp("Emulation.setCPUThrottlingRate", json!({ "rate": 1 })).await;
    }
    // An earlier session is opened, and is whole at the next start too.
    tab.tap(".leave").await;
    tab.wait_for(".sessions .session").await;
    tab.tap_nth(".sessions .session", 3).await;
    tab.wait_for("svg.face").await;
    let (total, answer) = (tab.text("#total").await, tab.text(".answer").await);
    tab.settle().await;
    tab.reload().await;
    tab.wait_for("svg.face").await;
    tab.check(tab.text("#total").await == total, "its points are there at once").await;
    tab.until("!document.querySelector('[data-reading]')").await;
    tab.until(&format!("document.querySelector('.answer').innerText.trim() === {}", json!(answer))).await;
    // All of it goes out.
    tab.go("settings").await;
    tab.wait_for("#export").await;
    tab.catch_files().await;
    tab.tap("#export").await;
    tab.until("window.kept").await;
    let lines = tab.js("window.kept.trim().split('\\n').length").await;
    let least = (all.len() + 1) as u64;
    tab.check(lines.as_u64().is_some_and(|n| n >= least), &format!("{lines} lines of at least {least}")).await;
    tab.go("progress").await;
    tab.wait_for("#progress svg").await;
    tab.check(tab.js("document.querySelectorAll('#main table tbody tr').length >= 50").await == true, "the sessions")
        .await;
    tab.tap("#all-sessions").await;
    tab.until("document.querySelectorAll('#main table:last-of-type tbody tr').length >= 60").await;
}

async fn it_starts_and_shoots_without_a_server(stage: Stage) {
    let mut server = Server::start();
    let tab = stage.tab("offline", &server.url(), PHONE).await;
    tab.ready().await;
    installed(&tab).await;
    server.stop();
    tab.reload().await;
    start_session(&tab, false).await;
    tab.shoot(-60.0, 40.0, 610.0).await;
    tab.check(records(&tab, "shot").await.len() == 1, "a shot without a server").await;
    for screen in ["marks", "progress", "pacing", "kit", "archers", "settings", "report", "explain"] {
        tab.go(screen).await;
        tab.until("document.querySelector('#main').innerText.length > 10").await;
    }
    // The texts of all languages were kept with the app.
    tab.go("settings").await;
    for (n, code) in [(1, "de"), (2, "fr")] {
        tab.tap_nth("input[name=language]", n).await;
        tab.until(&format!("document.documentElement.lang === '{code}'")).await;
    }
    tab.reload().await;
    tab.check(tab.js("document.documentElement.lang").await == "fr", "and are there at the start").await;
    tab.go("shoot").await;
    tab.check(records(&tab, "shot").await.len() == 1, "still there").await;
}

async fn a_new_version_waits_until_it_is_asked_for(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("update", &server.url(), PHONE).await;
    tab.ready().await;
    installed(&tab).await;
    start_session(&tab, false).await;
    tab.shoot(10.0, 10.0, 610.0).await;
    tab.saved().await;
    // The next version differs in its style sheet and so in its fingerprint.
    let next = Profile::fresh();
    copy_all(&app_folder(), &next.0);
    for name in ["style.css.br", "sw.js.br"] {
        let _ = fs::remove_file(next.0.join(name));
    }
    let css = fs::read_to_string(next.0.join("style.css")).unwrap();
    fs::write(next.0.join("style.css"), css + "\n:root { --version: next; }\n").unwrap();
    let worker = fs::read_to_string(next.0.join("sw.js")).unwrap();
    fs::write(next.0.join("sw.js"), worker.replacen("const VERSION = \"", "const VERSION = \"next", 1)).unwrap();
    server.turn_to(next.0.clone());
    tab.js("navigator.serviceWorker.getRegistration().then(r => r.update()).then(() => true)").await;
    tab.wait_for(".banner").await;
    tab.picture("phone-update").await;
    let version = "getComputedStyle(document.documentElement).getPropertyValue('--version').trim()";
    tab.check(tab.js(version).await == "", "the open session keeps the old version").await;
    tab.shoot(20.0, 10.0, 610.0).await;
    tab.saved().await;
    tab.tap(".banner button").await;
    tab.until(&format!("{version} === 'next'")).await;
    tab.wait_for("svg.face").await;
    tab.check(records(&tab, "shot").await.len() == 2, "both shots came along").await;
}

/// The app as a folder of files on nginx, under a path of its own: it starts, records, and goes on when the server is gone. Nothing is sent
/// to it, nor asked of it but files.
async fn a_usual_web_server_hosts_the_app_and_is_told_nothing(stage: Stage) {
    let (folder, port) = (Profile::fresh(), fresh_port());
    // What is handed out, or what it is made of.
    let files = std::env::var_os("GOLDWARD_HOSTED").map_or_else(app_folder, Into::into);
    let log = folder.0.join("asked");
    let http = format!(
        "include /etc/nginx/mime.types; access_log {};\ngzip_static on;\nserver {{ listen 127.0.0.1:{port};\n\
         location /arrows/ {{ alias {}/; }} }}",
        log.display(),
        files.display()
    );
    let Some(nginx) = Nginx::start(&folder.0, port, &http) else { return };
    let url = format!("http://127.0.0.1:{port}/arrows/");
    let tab = stage.tab("hosted", &url, PHONE).await;
    start_session(&tab, false).await;
    tab.shoot(100.0, 50.0, 610.0).await;
    tab.saved().await;
    // Longer than anything is waited for that would be sent by itself.
    tokio::time::sleep(Duration::from_secs(6)).await;
    installed(&tab).await;
    let asked = fs::read_to_string(&log).expect("what was asked");
    tab.check(asked.contains("GET /arrows/goldward_web_bg.wasm") && !asked.contains("/api/"), &asked).await;
    tab.check(asked.lines().all(|l| l.contains("\"GET ")), &asked).await;
    // Who asks for the account is told that there is none here.
    tab.go("account").await;
    tab.until("document.querySelector('#account')?.innerText.includes('There is no Goldward server')").await;
    drop(nginx);
    tab.go("shoot").await;
    tab.reload().await;
    tab.wait_for("svg.face").await;
    tab.shoot(-100.0, 50.0, 610.0).await;
    tab.saved().await;
    tab.check(records(&tab, "shot").await.len() == 2, "both arrows are kept").await;
}
