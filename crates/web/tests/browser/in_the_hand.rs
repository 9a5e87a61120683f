//! How it lies in the hand: what is seen without scrolling, and how many taps an act takes.

use serde_json::Value;

use crate::scenarios;
use crate::server::Server;
use crate::shooting::records;
use crate::stage::Stage;
use crate::tab::Tab;
use crate::{PHONE, start_session};

scenarios!(
    what_to_do_stands_with_the_face_in_every_window,
    six_arrows_are_six_taps_and_the_move_one,
    an_arrow_is_put_right_in_two_taps,
);

/// Windows: a small phone and a larger one, each also on its side, a tablet, a desk.
const WINDOWS: [(&str, (u32, u32)); 6] = [
    ("small", (320, 568)),
    ("phone", (390, 844)),
    ("small-side", (568, 320)),
    ("phone-side", (844, 390)),
    ("tablet", (768, 1024)),
    ("desk", (1280, 800)),
];

/// A quick tap on the face, in millimetres.
async fn tap_face(tab: &Tab, x_mm: f64, y_mm: f64) {
    let (left, top, side) = tab.face().await;
    let k = side / (2.0 * 1.08 * 610.0);
    tab.tap_at((left + side / 2.0 + x_mm * k, top + side / 2.0 - y_mm * k)).await;
}

/// What is not as it should be: the face, what to do and the tap that records it belong in the window, each whole and covered by nothing.
async fn out_of_sight(tab: &Tab, (wide, high): (u32, u32), what: &str) -> Vec<String> {
    // A phone makes the window larger where something is wider than it: measured by what was asked for.
    let out = tab
        .js(&format!("(([wide, high]) => {{ scrollTo(0, 0); const out = []; \
             for (const s of ['.board svg.face', '#advice', '#done', '#undo', '#end, #report']) {{ \
               const e = document.querySelector(s); \
               if (!e) {{ if (s === '#advice' || s === '.board svg.face') out.push(s + ' is not there'); continue; }} \
               const r = e.getBoundingClientRect(); \
               if (r.left < -0.5 || r.top < -0.5 || r.right > wide + 0.5 || r.bottom > high + 0.5) \
                 out.push(`${{s}} at ${{[r.left, r.top, r.right, r.bottom].map(Math.round)}} in ${{wide}} x ${{high}}`); \
               for (const [x, y] of [[r.left + 3, r.bottom - 3], [r.right - 3, r.bottom - 3], [(r.left + r.right) / 2, (r.top + r.bottom) / 2]]) {{ \
                 const top = document.elementFromPoint(x, y); \
                 if (!top || !(e.contains(top) || top.contains(e))) out.push(`${{s}} is covered at ${{Math.round(x)}}, ${{Math.round(y)}} by ${{top?.outerHTML.slice(0, 90)}}`); }} }} \
             const face = document.querySelector('.board svg.face').getBoundingClientRect(); \
             if (face.width < 160) out.push(`the face is ${{face.width}} wide`); \
             if (innerWidth > wide + 0.5 || document.documentElement.scrollWidth > wide + 0.5) out.push(`${{document.documentElement.scrollWidth}} wide`); return out; }})([{wide}, {high}])"))
        .await;
    out.as_array().into_iter().flatten().filter_map(Value::as_str).map(|o| format!("{what}: {o}")).collect()
}

async fn what_to_do_stands_with_the_face_in_every_window(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("in-sight", &server.url(), WINDOWS[1].1).await;
    tab.ready().await;
    // With all that can stand at the head of the line: a name, and both scales.
    tab.go("archers").await;
    tab.fill("#archer-name", "Annemarie").await;
    tab.tap("#save-archer").await;
    tab.go("kit").await;
    tab.tap("#new-kit").await;
    for (field, text) in [("k-name", "Bow"), ("k-reading", "121.6"), ("k-side-reading", "12.4")] {
        tab.fill(&format!("#{field}"), text).await;
    }
    tab.tap("#save-kit").await;
    tab.go("shoot").await;
    start_session(&tab, true).await;
    let arrows = [(-180.0, 150.0), (-150.0, 190.0), (-210.0, 170.0), (-170.0, 140.0), (-200.0, 200.0), (-160.0, 165.0)];
    let (mut languages, mut wrong) = (vec!["en"], Vec::new());
    for (i, (x, y)) in arrows.into_iter().enumerate() {
        tab.shoot(x, y, 610.0).await;
        if ![0, 2, 5].contains(&i) {
            continue;
        }
        if i == 5 {
            tab.until("document.querySelector('.answer').dataset.state === 'touch'").await;
            languages = vec!["de", "fr", "en"];
        }
        for language in &languages {
            if i == 5 {
                tab.go("settings").await;
                let n = ["en", "de", "fr"].iter().position(|l| l == language).unwrap_or(0);
                tab.tap_nth("input[name=language]", n).await;
                tab.go("shoot").await;
                tab.wait_for("svg.face").await;
            }
            for (name, size) in WINDOWS {
                tab.must(tab.browser.resize(size).await).await;
                for large in [false, true] {
                    tab.js(&format!("document.documentElement.style.fontSize = '{}'", if large { "200%" } else { "" }))
                        .await;
                    tab.settle().await;
                    let what =
                        format!("{name}, {language}, {} arrows{}", i + 1, if large { ", large text" } else { "" });
                    if i == 5 || (i == 0 && *language == "en") {
                        let large = if large { "-200" } else { "" };
                        tab.picture(&format!("line-{name}{large}-{language}-{}", i + 1)).await;
                    }
                    wrong.extend(out_of_sight(&tab, size, &what).await);
                }
            }
            tab.js("document.documentElement.style.fontSize = ''").await;
            tab.must(tab.browser.resize(WINDOWS[1].1).await).await;
        }
    }
}

async fn six_arrows_are_six_taps_and_the_move_one(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("taps", &server.url(), PHONE).await;
    start_session(&tab, true).await;
    for (x, y) in [(-180.0, 150.0), (-90.0, 230.0), (-270.0, 190.0), (-170.0, 60.0), (-250.0, 90.0), (-100.0, 120.0)] {
        tap_face(&tab, x, y).await;
    }
    let shots = records(&tab, "shot").await;
    tab.check(shots.len() == 6, &format!("six taps are six arrows, not {}", shots.len())).await;
    tab.until("document.querySelector('.answer').dataset.state === 'touch'").await;
    tab.tap("#done").await;
    tab.check(records(&tab, "touch").await.len() == 1, "one tap records the move").await;
}

async fn an_arrow_is_put_right_in_two_taps(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("put-right", &server.url(), PHONE).await;
    start_session(&tab, false).await;
    tap_face(&tab, 100.0, 100.0).await;
    tap_face(&tab, -200.0, 100.0).await;
    let at = |s: &Value| (s["x_mm"].as_f64().unwrap_or(f64::NAN), s["y_mm"].as_f64().unwrap_or(f64::NAN));
    let near = |a: (f64, f64), b: (f64, f64)| (a.0 - b.0).hypot(a.1 - b.1) < 3.0;
    // Where it is: the arrow, and its place.
    tap_face(&tab, 100.0, 100.0).await;
    tab.wait_for(".chosen").await;
    tab.picture("phone-chosen").await;
    tap_face(&tab, 60.0, -220.0).await;
    let shots = records(&tab, "shot").await;
    tab.check(shots.len() == 2 && near(at(&shots[0]), (60.0, -220.0)), &format!("{shots:?}")).await;
    tab.check(tab.js("!!document.querySelector('.chosen')").await == false, "it is let go").await;
    // The next tap is the next arrow.
    tap_face(&tab, 20.0, 10.0).await;
    tab.check(records(&tab, "shot").await.len() == 3, "a third arrow").await;
    // Its ring: the arrow, and the ring; it stays as near as it can.
    tap_face(&tab, -200.0, 100.0).await;
    tab.tap("[data-to='9']").await;
    let shots = records(&tab, "shot").await;
    let (x, y) = at(&shots[1]);
    let r = x.hypot(y);
    tab.check((115.0..=125.0).contains(&r) && (x * 100.0 + y * 200.0).abs() < 0.1 * 200.0 * r, &format!("{shots:?}"))
        .await;
    // What was said of it: the next tap on the face is an arrow all the same.
    tab.tap("#bad").await;
    tab.tap("[data-arrow='7']").await;
    tap_face(&tab, 250.0, -250.0).await;
    let shots = records(&tab, "shot").await;
    let said = shots[1]["felt"] == "bad" && shots[1]["arrow"] == "7";
    tab.check(shots.len() == 4 && said && near(at(&shots[1]), (x, y)), &format!("{shots:?}")).await;
    // A called one keeps its clock.
    tab.tap("#mode").await;
    tab.tap("[data-ring='8']").await;
    tab.tap("[data-hour='4']").await;
    tab.tap("[data-shot='5']").await;
    tab.tap("[data-to='7']").await;
    let shots = records(&tab, "shot").await;
    tab.check(shots[4]["call"] == "7@4", &format!("{shots:?}")).await;
    // Each of these can be taken back.
    tab.tap("#undo").await;
    tab.check(records(&tab, "shot").await[4]["call"] == "8@4", "taken back").await;
}
