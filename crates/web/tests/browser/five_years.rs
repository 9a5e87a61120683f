//! How long a slow phone works with five years of arrows: a measurement, no test. `cargo xtask bench five-years` asks for it.
//!
//! Chromium plays the phone at a quarter of its speed, with the app installed: a log of 1,000 sessions and 100,000 shots, half of them
//! plotted and half called by ring and clock. Told are the times from navigation to a screen that takes a tap, from the press that
//! starts a session to its first advice, and from the press for progress to its first lines and to its last; and of each the longest
//! time that the page did not answer.

use goldward_core::random::Random;
use goldward_journal::{Archer, Body, End, Kit, Record, Session, Shot, Touch, Uuid, Writer, jsonl, plain};
use serde_json::{Value, json};

use crate::PHONE;
use crate::engine::Engine;
use crate::scenarios;
use crate::server::Server;
use crate::stage::Stage;
use crate::tab::Tab;

scenarios!(
    five_years in &[Engine::Chromium],
);

const SESSIONS: u64 = 1_000;
const TIMES: usize = 3;
/// The log is in memory as far as it ever will be.
const WHOLE: &str = "!document.querySelector('[data-reading]')";
/// Nothing of the page is still to come.
const DONE: &str = "document.querySelector('#progress')?.innerText.trim() && !document.querySelector('[data-looking]')";

/// Three to four evenings a week at four distances, a hundred arrows each, one move of the sight an evening: a thousand are five years.
pub fn records(sessions: u64) -> Vec<Record> {
    let begin = 1_620_000_000_000_u64;
    let archer = plain::steady_id(Uuid::nil(), begin, "five years");
    let mut writer = Writer::new(archer, plain::steady_id(archer, begin, "device"));
    let mut random = Random::seeded(5);
    let mut records = vec![writer.write_archer(begin, Archer { name: "Runa".into(), hand: None, counted: None })];
    let mut add = |at: u64, what: &str, body: Body| {
        let id = plain::steady_id(archer, at, what);
        records.push(Record::new(archer, id, writer.clock.next(at), body));
        id
    };
    let kit = Kit { name: "field bow".into(), shaft_mm: Some(5.5), eye_to_pin_mm: Some(880.0), ..Kit::default() };
    let kit = add(begin, "kit", Body::Kit(Box::new(kit)));
    for s in 0..sessions {
        let at_ms = begin + s * 158_000_000;
        let (distance_m, face) = [(18.0, "40"), (30.0, "80"), (50.0, "122"), (70.0, "122")][(s / 10 % 4) as usize];
        let called = s % 2 == 1;
        let session = add(
            at_ms,
            "session",
            Body::Session(Session {
                at_ms,
                distance_m,
                face: face.into(),
                round: None,
                kit: Some(kit),
                mark: None,
                sighting_ends: 1,
                ends: 16,
                shots_per_end: 6,
                proven: None,
                match_by: None,
                opponent_arrow: None,
            }),
        );
        for n in 0..100_u32 {
            let (end, index) = (n / 6 + 1, n % 6 + 1);
            let (a, b) = random.normal_pair();
            let bad = random.uniform() < 0.07;
            let mm = |z: f64| (z * if bad { 3.0 } else { 1.0 } * 1.2 * distance_m).round();
            let ring = 10.0 - (a.hypot(b) * 1.6).floor();
            let clock = (b.atan2(a) / std::f64::consts::TAU * 12.0).rem_euclid(12.0) as u32 + 1;
            let shot = Shot {
                session,
                end,
                index,
                x_mm: (!called).then(|| mm(a)),
                y_mm: (!called).then(|| mm(b)),
                call: called.then(|| match n % 5 {
                    // Now and then nobody saw on which side.
                    0 => format!("{}", ring.max(1.0)),
                    _ => format!("{}@{clock}", ring.max(1.0)),
                }),
                felt: bad.then_some(goldward_journal::Felt::Bad),
                arrow: Some(index.to_string()),
                spot: None,
                at_ms: Some(at_ms + u64::from(n) * 40_000),
            };
            add(at_ms, &format!("shot {n}"), Body::Shot(shot));
            if index == 6 {
                let end = End { session, end, at_ms: None, card_points: None, their_points: None, nearer: None };
                add(at_ms, &format!("end {n}"), Body::End(end));
            }
            if n == 17 {
                let touch = Touch {
                    session,
                    after_end: 3,
                    after_index: 6,
                    right_mm: 0.2,
                    up_mm: -0.1,
                    advised_right_mm: None,
                    advised_up_mm: None,
                    at_ms: None,
                };
                add(at_ms, "touch", Body::Touch(touch));
            }
        }
    }
    records
}

/// Told by the page: when things were first seen, and the longest task since.
const WATCH: &str = "(() => { window.goldwardLong = 0; new PerformanceObserver(list => { for (const e of list.getEntries()) \
    window.goldwardLong = Math.max(goldwardLong, e.duration); }).observe({ type: 'longtask', buffered: true }); \
    window.goldwardWhen = (what, act) => new Promise(done => { window.goldwardLong = 0; const begun = act ? performance.now() : 0; act?.(); \
      const look = () => { if (what()) { const seen = performance.now() - begun; setTimeout(() => done([seen, goldwardLong, performance.now() - begun]), 0); } \
      else requestAnimationFrame(look); }; look(); }); })()";

struct Seen {
    name: &'static str,
    aim_s: f64,
    runs: Vec<Value>,
}

async fn slow(tab: &Tab, rate: u32) {
    tab.cdp("Emulation.setCPUThrottlingRate", json!({ "rate": rate })).await;
}

/// What a promise of the page tells, however long that takes.
async fn when(tab: &Tab, promise: &str) -> Value {
    tab.js(&format!(
        "(() => {{ window.goldwardTold = null; {promise}.then(told => {{ window.goldwardTold = told; }}); }})()"
    ))
    .await;
    for _ in 0..120 {
        let told = tab
            .js("window.goldwardTold ?? new Promise(done => setTimeout(() => done(window.goldwardTold), 10000))")
            .await;
        if !told.is_null() {
            return told;
        }
    }
    tab.fail(&format!("waited in vain for {promise}")).await
}

/// Loads the page anew and waits for `what`.
async fn reload(tab: &Tab, url: &str, what: &str) -> Value {
    tab.must(tab.browser.goto("about:blank").await).await;
    slow(tab, 4).await;
    tab.cdp("Page.navigate", json!({ "url": url })).await;
    tab.until("window.goldwardWhen").await;
    let seen = when(tab, &format!("goldwardWhen(() => {what})")).await;
    slow(tab, 1).await;
    seen
}

/// Does `act` and waits for `what`.
async fn act(tab: &Tab, act: &str, what: &str) -> Value {
    slow(tab, 4).await;
    let seen = when(tab, &format!("goldwardWhen(() => {what}, () => {act})")).await;
    slow(tab, 1).await;
    seen
}

async fn five_years(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("five-years", &server.url(), PHONE).await;
    tab.js("navigator.serviceWorker.ready.then(() => true)").await;
    let all = records(SESSIONS);
    let begun = std::time::Instant::now();
    for part in all.chunks(12_000) {
        let text = jsonl::write(&goldward_journal::Log::from_records(part.iter().cloned()));
        tab.import(&text, part.len()).await;
    }
    println!("{} records, taken in in {:.1} s at full speed", all.len(), begun.elapsed().as_secs_f64());
    tab.cdp("Page.addScriptToEvaluateOnNewDocument", json!({ "source": WATCH })).await;
    let url = server.url();
    // A log that grew with the app has its summaries; one that came in whole gets them on the first look at the progress.
    tab.reload().await;
    tab.until(WHOLE).await;
    let first = when(&tab, &format!("goldwardWhen(() => {DONE}, () => (location.hash = '#/progress'))")).await;
    println!("the first look at the progress, at full speed: {first}");
    tab.settle().await;
    let names = [
        ("reload, form ready", 1.5),
        ("start of a session", 0.5),
        ("reload, at the line", 1.5),
        ("a shot", 0.1),
        ("progress, first lines", 1.0),
        ("progress, all of it", f64::NAN),
        ("progress, once more", 1.0),
    ];
    let mut seen: Vec<Seen> = names.map(|(name, aim_s)| Seen { name, aim_s, runs: Vec::new() }).into();
    for n in 0..TIMES {
        let shoot = format!("{url}#/shoot");
        seen[0].runs.push(reload(&tab, &shoot, "document.querySelector('#start')").await);
        tab.until(WHOLE).await;
        tab.fill("#distance", "70").await;
        tab.choose("#face", "122").await;
        let started = act(&tab, "document.querySelector('#start').click()", "document.querySelector('.board svg')");
        seen[1].runs.push(started.await);
        tab.saved().await;
        seen[2].runs.push(reload(&tab, &shoot, "document.querySelector('.board svg')").await);
        tab.until(WHOLE).await;
        slow(&tab, 4).await;
        let shots = "document.querySelectorAll('.board .values text, .board path.shot').length";
        tab.js(&format!(
            "(() => {{ let down; addEventListener('pointerup', () => {{ down = performance.now(); }}, {{ capture: true, once: true }}); \
             const before = {shots}; window.goldwardShot = goldwardWhen(() => down && {shots} > before).then(s => [performance.now() - down, s[1]]); }})()"
        ))
        .await;
        tab.shoot(30.0, 40.0, 610.0).await;
        seen[3].runs.push(when(&tab, "goldwardShot").await);
        slow(&tab, 1).await;
        tab.saved().await;
        for (at, what) in [(4, "document.querySelector('#progress')?.innerText.trim()"), (5, DONE)] {
            let go = if at == 4 { "(location.hash = '#/progress')" } else { "0" };
            seen[at].runs.push(act(&tab, go, what).await);
        }
        tab.go("shoot").await;
        let again =
            act(&tab, "(location.hash = '#/progress')", "document.querySelector('#progress')?.innerText.trim()");
        seen[6].runs.push(again.await);
        tab.until(DONE).await;
        for Seen { name, runs, .. } in &seen {
            println!("{n}: {name} {}", runs[n]);
        }
        tab.go("shoot").await;
        tab.wait_for(".board svg").await;
        tab.tap(".leave").await;
        tab.wait_for("#start").await;
    }
    println!(
        "five years of arrows, a quarter of the speed; median of {TIMES} (least to most), and the longest that the page did not answer"
    );
    for Seen { name, aim_s, runs } in &seen {
        let column = |k: usize| {
            let mut all: Vec<f64> = runs.iter().map(|r| r[k].as_f64().unwrap_or_default() / 1000.0).collect();
            all.sort_by(f64::total_cmp);
            all
        };
        let (times, long) = (column(0), column(1));
        println!(
            "  {name:<24} {:.2} s ({:.2} to {:.2}), aim {aim_s} s; not answering {:.2} s",
            times[times.len() / 2],
            times[0],
            times[times.len() - 1],
            long[long.len() / 2]
        );
    }
}
