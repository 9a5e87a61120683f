//! Plotting, calling, undoing, touching: the shooting screen.

use serde_json::{Value, json};

use crate::engine::Engine;
use crate::scenarios;
use crate::server::Server;
use crate::stage::Stage;
use crate::tab::Tab;
use crate::{DESK, PHONE, plan_one_arrow, start_session};

scenarios!(
    the_sight_reads_on_the_line_and_its_reading_is_kept,
    the_end_of_a_round_is_summed_up,
    from_nothing_to_the_first_advice_by_touch_alone,
    plots_where_the_finger_is_on_a_phone,
    plots_where_the_finger_is_on_a_desk,
    three_millimetres_can_be_told_apart_under_the_loupe,
    calls_ring_and_clock_in_two_taps,
    anything_can_be_undone_and_done_again,
    a_shot_can_be_dragged_to_where_it_was,
    the_touch_is_advised_recorded_and_carried,
    six_arrows_and_the_advice_are_quick in &[Engine::Chromium],
);

/// The app's database, a line for each record, once everything is saved.
pub async fn lines(tab: &Tab) -> Vec<String> {
    tab.saved().await;
    let all = tab
        .js("new Promise(done => { const open = indexedDB.open('goldward'); open.onsuccess = () => { const db = open.result; \
             const all = db.transaction('records').objectStore('records').getAll(); all.onsuccess = () => { db.close(); done(all.result); }; }; })")
        .await;
    all.as_array().into_iter().flatten().filter_map(|line| Some(line.as_str()?.to_owned())).collect()
}

/// Records of a kind in the app's database.
pub async fn records(tab: &Tab, kind: &str) -> Vec<Value> {
    let mut out: Vec<Value> = lines(tab)
        .await
        .into_iter()
        .filter_map(|line| serde_json::from_str::<Value>(&line).ok())
        .filter_map(|r| Some(r["body"].get(kind)?.clone()))
        .collect();
    out.sort_by_key(|s| (s["end"].as_u64(), s["index"].as_u64()));
    out
}

async fn from_nothing_to_the_first_advice_by_touch_alone(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("first", &server.url(), PHONE).await;
    tab.ready().await;
    tab.type_in("#distance", "70").await;
    tab.choose("#face", "122").await;
    tab.tap("#start").await;
    tab.wait_for("svg.face").await;
    for (i, (x, y)) in
        [(-180.0, 150.0), (-150.0, 190.0), (-210.0, 170.0), (-170.0, 140.0), (-200.0, 200.0)].iter().enumerate()
    {
        tab.shoot(*x, *y, 610.0).await;
        let shots = records(&tab, "shot").await.len();
        tab.check(shots == i + 1, &format!("{shots} shots after {} touches", i + 1)).await;
        let drawn = tab.js("document.querySelectorAll('.board .lay path.shot').length").await;
        tab.check(drawn == i + 1, &format!("{drawn} drawn after {} touches", i + 1)).await;
        tab.check(tab.text("#advice").await.len() > 10, "something is advised").await;
    }
    tab.picture("phone-first").await;
    tab.reload().await;
    tab.wait_for("svg.face").await;
    tab.until("document.querySelectorAll('.board .lay path.shot').length === 5").await;
    tab.tap("#mode").await;
    tab.tap("[data-ring='8']").await;
    tab.tap(".hub").await;
    let shots = records(&tab, "shot").await;
    tab.check(shots.len() == 6 && shots[5]["call"] == "8", &format!("an eight without a clock: {shots:?}")).await;
}

async fn plotting(stage: Stage, name: &str, size: (u32, u32)) {
    let server = Server::start();
    let tab = stage.tab(name, &server.url(), size).await;
    start_session(&tab, false).await;
    let (_, _, side) = tab.face().await;
    let mm_per_px = 2.0 * 1.08 * 610.0 / side;
    let places = [(0.0, 0.0), (100.0, 50.0), (-220.0, 310.0), (400.0, -300.0), (3.0, -580.0)];
    let mut hit = Vec::new();
    for (x, y) in places {
        hit.push(tab.shoot(x, y, 610.0).await);
    }
    let shots = records(&tab, "shot").await;
    tab.check(shots.len() == places.len(), &format!("{} shots", shots.len())).await;
    for (shot, (x, y)) in shots.iter().zip(hit) {
        let (dx, dy) = (shot["x_mm"].as_f64().unwrap() - x, shot["y_mm"].as_f64().unwrap() - y);
        // What is kept is rounded to a tenth of a millimetre.
        tab.check(dx.hypot(dy) < 0.1, &format!("{shot} should be at {x}, {y}")).await;
    }
    // A finger that slides moves the shot a quarter as far: six pixels are a pixel and a half.
    let (left, top, side) = tab.face().await;
    let middle = (left + side / 2.0, top + side / 2.0);
    tab.touch(&[middle, (middle.0 + 2.0, middle.1), (middle.0 + 4.0, middle.1), (middle.0 + 6.0, middle.1)]).await;
    let shots = records(&tab, "shot").await;
    let x = shots.last().unwrap()["x_mm"].as_f64().unwrap();
    tab.check((x - 1.5 * mm_per_px).abs() < 0.6, &format!("after the slide {x}, not {}", 1.5 * mm_per_px)).await;
}

async fn plots_where_the_finger_is_on_a_phone(stage: Stage) {
    plotting(stage, "plot-phone", PHONE).await;
}

async fn plots_where_the_finger_is_on_a_desk(stage: Stage) {
    plotting(stage, "plot-desk", DESK).await;
}

async fn three_millimetres_can_be_told_apart_under_the_loupe(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("loupe", &server.url(), PHONE).await;
    start_session(&tab, false).await;
    let (left, top, side) = tab.face().await;
    let middle = (left + side / 2.0, top + side / 2.0);
    // The finger goes down and slides; the loupe must be beside it.
    tab.press(&[middle, (middle.0 + 3.0, middle.1)]).await;
    tab.wait_for(".loupe").await;
    tab.settle().await;
    tab.picture("phone-loupe").await;
    let loupe = tab.js("(() => { const r = document.querySelector('.loupe').getBoundingClientRect(); return [r.left + r.width / 2, r.top + r.height / 2]; })()").await;
    let away = (loupe[0].as_f64().unwrap() - middle.0).hypot(loupe[1].as_f64().unwrap() - middle.1);
    tab.check(away > 70.0, &format!("the loupe is {away} px from the finger")).await;
    tab.lift().await;
    let shots = records(&tab, "shot").await;
    let x = shots[0]["x_mm"].as_f64().unwrap();
    tab.check((2.0..4.0).contains(&x), &format!("three pixels of the finger are {x} mm, not about 3")).await;
}

async fn calls_ring_and_clock_in_two_taps(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("call", &server.url(), PHONE).await;
    start_session(&tab, false).await;
    tab.tap("#mode").await;
    tab.picture("phone-call-ring").await;
    tab.tap("[data-ring='9']").await;
    tab.picture("phone-call-clock").await;
    tab.tap("[data-hour='4']").await;
    tab.tap("[data-ring='X']").await;
    tab.tap(".hub").await;
    tab.tap("[data-ring='M']").await;
    tab.tap("[data-hour='7']").await;
    let calls: Vec<String> =
        records(&tab, "shot").await.iter().map(|s| s["call"].as_str().unwrap_or_default().to_owned()).collect();
    tab.check(calls == ["9@4", "X", "M@7"], &format!("{calls:?}")).await;
    tab.check(tab.text("#total").await == "19", "nine, ten and a miss").await;
}

async fn anything_can_be_undone_and_done_again(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("undo", &server.url(), PHONE).await;
    start_session(&tab, false).await;
    tab.shoot(-120.0, 90.0, 610.0).await;
    tab.shoot(-140.0, 110.0, 610.0).await;
    tab.tap("[data-shot='2']").await;
    tab.tap("#bad").await;
    tab.picture("phone-shot").await;
    tab.check(records(&tab, "shot").await[1]["felt"] == "bad", "marked bad").await;
    tab.tap("#undo").await;
    tab.check(records(&tab, "shot").await[1].get("felt").is_none(), "the mark is off").await;
    tab.tap("#undo").await;
    tab.check(records(&tab, "shot").await.len() == 1, "one shot left").await;
    tab.tap("#redo").await;
    tab.tap("#redo").await;
    let shots = records(&tab, "shot").await;
    tab.check(shots.len() == 2 && shots[1]["felt"] == "bad", &format!("all back: {shots:?}")).await;
}

async fn a_shot_can_be_dragged_to_where_it_was(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("drag", &server.url(), PHONE).await;
    start_session(&tab, false).await;
    tab.shoot(100.0, 100.0, 610.0).await;
    tab.shoot(-100.0, 100.0, 610.0).await;
    tab.tap("[data-shot='1']").await;
    let before = records(&tab, "shot").await[0]["x_mm"].as_f64().unwrap();
    let (left, top, side) = tab.face().await;
    let k = side / (2.0 * 1.08 * 610.0);
    let from = (left + side / 2.0 + 100.0 * k, top + side / 2.0 - 100.0 * k);
    tab.touch(&[from, (from.0 + 10.0, from.1), (from.0 + 20.0, from.1)]).await;
    let shots = records(&tab, "shot").await;
    let moved = shots[0]["x_mm"].as_f64().unwrap() - before;
    let wanted = 5.0 / k;
    tab.check(shots.len() == 2 && (moved - wanted).abs() < 0.6, &format!("moved {moved} mm, not {wanted}")).await;
}

async fn the_touch_is_advised_recorded_and_carried(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("touch", &server.url(), PHONE).await;
    tab.ready().await;
    tab.go("kit").await;
    tab.tap("#new-kit").await;
    tab.fill("#k-name", "Test bow").await;
    tab.fill("#k-reading", "52").await;
    tab.fill("#k-unit", "1").await;
    tab.tap("#save-kit").await;
    tab.go("shoot").await;
    start_session(&tab, true).await;
    for (x, y) in [(-180.0, 150.0), (-150.0, 190.0), (-210.0, 170.0), (-170.0, 140.0), (-200.0, 200.0), (-160.0, 165.0)]
    {
        tab.shoot(x, y, 610.0).await;
    }
    tab.until("document.querySelector('.answer').dataset.state === 'touch'").await;
    let advice = tab.text("#advice").await;
    tab.check(advice.contains("up") && advice.contains("left"), &advice).await;
    tab.check(advice.contains("Set it to"), "the kit's own scale is told").await;
    tab.picture("phone-touch").await;
    tab.tap("#done").await;
    let touches = records(&tab, "touch").await;
    tab.check(touches.len() == 1 && touches[0]["up_mm"].as_f64().unwrap() > 0.0, &format!("{touches:?}")).await;
    let state = tab.js("document.querySelector('.answer').dataset.state").await;
    tab.check(state != "touch", "what was advised has been done").await;
    tab.tap("#undo").await;
    tab.check(records(&tab, "touch").await.is_empty(), "the touch is undone").await;
    // As really made: one click more.
    tab.tap("#other").await;
    tab.tap(".key-up").await;
    tab.picture("phone-tell").await;
    tab.tap("#record-touch").await;
    let made = records(&tab, "touch").await;
    let more = made[0]["up_mm"].as_f64().unwrap() - made[0]["advised_up_mm"].as_f64().unwrap();
    tab.check((more - 0.1).abs() < 1e-9, &format!("{made:?}")).await;
    tab.tap("#explain").await;
    tab.wait_for(".causes").await;
    tab.picture("phone-explain").await;
}

async fn six_arrows_and_the_advice_are_quick(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("quick", &server.url(), PHONE).await;
    start_session(&tab, true).await;
    tab.cdp("Emulation.setCPUThrottlingRate", json!({ "rate": 4 })).await;
    let mut slowest: f64 = 0.0;
    let mut reading: f64 = 0.0;
    for i in 0..72 {
        let a = f64::from(i) * 2.4;
        let r = 40.0 + f64::from(i % 7) * 22.0;
        let (left, top, side) = tab.face().await;
        let k = side / (2.0 * 1.08 * 610.0);
        let (x, y) = (left + side / 2.0 + (r * a.cos() - 30.0) * k, top + side / 2.0 - (r * a.sin() + 20.0) * k);
        // From the finger's going up to the answer in the page, measured in the page.
        let took = tab
            .js(&format!(
                "(() => {{ const f = document.querySelector('.board svg.face'); const at = {{ clientX: {x}, clientY: {y}, pointerId: 1, bubbles: true, cancelable: true, button: 0, isPrimary: true }}; \
                 f.setPointerCapture = () => {{}}; f.dispatchEvent(new PointerEvent('pointerdown', at)); const t = performance.now(); \
                 f.dispatchEvent(new PointerEvent('pointerup', at)); \
                 return new Promise(r => {{ const look = () => requestAnimationFrame(() => {{ const c = new MessageChannel(); c.port1.onmessage = () => r(performance.now() - t); c.port2.postMessage(0); }}); look(); }}); }})()"
            ))
            .await
            .as_f64()
            .unwrap_or(f64::MAX);
        let own: f64 = tab.js("+document.querySelector('.answer').dataset.ms").await.as_f64().unwrap_or_default();
        if i >= 60 {
            slowest = slowest.max(took);
            reading = reading.max(own);
        }
    }
    let shots = records(&tab, "shot").await.len();
    println!(
        "tap to answer with 60 to 72 shots at a quarter of the speed: {slowest:.0} ms, core's part {reading:.0} ms"
    );
    tab.check(shots == 72, &format!("{shots} shots")).await;
    // How fast is told and not judged: a busy machine is not our fault.
    tab.picture("phone-72").await;
}

async fn the_sight_reads_on_the_line_and_its_reading_is_kept(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("sight", &server.url(), PHONE).await;
    tab.ready().await;
    tab.fill("#reading", "52").await;
    start_session(&tab, false).await;
    tab.check(tab.text("#sight").await == "↕\u{a0}52", &tab.text("#sight").await).await;
    tab.shoot(40.0, 40.0, 610.0).await;
    // By keys of five and of one.
    tab.tap("#sight").await;
    let at_first = tab.text(".made").await;
    for key in [".key-up-5", ".key-up", ".key-down-5", ".key-down"] {
        tab.tap(key).await;
    }
    tab.check(tab.text(".made").await == at_first, "up and down again").await;
    // By what the scale reads now; what is no number is told at the field.
    tab.fill("#to-elevation", "5o").await;
    tab.tap("#record-touch").await;
    tab.check(!tab.text("#to-elevation-wrong").await.is_empty(), "told at the field").await;
    tab.check(records(&tab, "touch").await.is_empty(), "and nothing is recorded").await;
    tab.fill("#to-elevation", "51.5").await;
    tab.check(tab.text(".made").await.contains("51.5"), &tab.text(".made").await).await;
    tab.picture("phone-sight-move").await;
    tab.tap("#record-touch").await;
    tab.until("document.querySelector('#sight').innerText === '↕\\u00a051.5'").await;
    let touches = records(&tab, "touch").await;
    // A scale that falls when the pin goes up, a millimetre a unit: half a unit less is half a millimetre up.
    let up = touches[0]["up_mm"].as_f64().unwrap_or_default();
    tab.check(touches.len() == 1 && (up - 0.5).abs() < 1e-9, &format!("{touches:?}")).await;
    tab.picture("phone-sight-line").await;
    // Not before an arrow was shot at this setting.
    tab.tap("#sight").await;
    tab.check(tab.js("!!document.querySelector('#keep-mark')").await == false, "no mark without an arrow").await;
    tab.tap(".tell .head button").await;
    tab.shoot(-40.0, 10.0, 610.0).await;
    tab.tap("#sight").await;
    tab.check(tab.text("#keep-mark").await.contains("51.5"), &tab.text("#keep-mark").await).await;
    tab.tap("#keep-mark").await;
    let marks = records(&tab, "mark").await;
    let kept = marks.len() == 1
        && marks[0]["elevation_reading"] == 51.5
        && marks[0]["distance_m"] == 70.0
        && marks[0]["arrows"] == 1;
    tab.check(kept, &format!("{marks:?}")).await;
    tab.until("document.querySelector('#keep-mark').disabled").await;
    tab.tap("#toast-undo").await;
    tab.check(records(&tab, "mark").await.is_empty(), "and undone").await;
}

async fn the_end_of_a_round_is_summed_up(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("finish", &server.url(), PHONE).await;
    for (n, x) in [(1, 20.0), (2, 100.0)] {
        tab.ready().await;
        tab.fill("#distance", "70").await;
        tab.choose("#face", "122").await;
        if n == 1 {
            plan_one_arrow(&tab).await;
        }
        tab.tap("#start").await;
        tab.wait_for("svg.face").await;
        tab.shoot(x, 0.0, 610.0).await;
        tab.wait_for("#finish").await;
        let told = tab.text(".line").await;
        let ring = if n == 1 { "10 of 10 points" } else { "9 of 10 points" };
        tab.check(told.contains(ring), &told).await;
        tab.check(told.contains("best") == (n == 2) && (n == 1 || told.contains("on this face: 10, on ")), &told).await;
        tab.picture("phone-finish").await;
        tab.tap("#report").await;
        tab.wait_for(".card-sheet").await;
        tab.check(tab.text(".card-sheet").await.contains(ring), "the report says the same").await;
        tab.tap("#back").await;
        tab.wait_for("svg.face").await;
        tab.tap(".leave").await;
        tab.wait_for("#start").await;
    }
}
