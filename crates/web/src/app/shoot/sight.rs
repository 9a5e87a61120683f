//! The sight at the line: what it reads now, the move that was made, and keeping the reading as a mark.

use goldward_core::advice::Action;
use goldward_core::plane::Point;
use goldward_journal::{Body, Mark, Proven, Touch};
use leptos::prelude::*;

use super::Hand;
use crate::app::state::{App, app};
use crate::app::widgets::{Asked, NumberField, read_all};
use crate::app::{device, offers};
use crate::sheet::{Sheet, sight};
use crate::words::{self, Word};

/// Clicks that one press of a key stands for.
const STEPS: [i32; 2] = [5, 1];

/// A move of the pin as the nearest whole clicks.
fn clicks(sheet: &Sheet, pin: Point) -> [i32; 2] {
    let [w, e] = sight(&sheet.kit).click_mm();
    [(pin.x_mm / w).round() as i32, (pin.y_mm / e).round() as i32]
}

/// Records that the pin was moved so far.
pub(super) fn record_touch(app: App, pin: Point) {
    let Some(sheet) = app.sheet.get_untracked() else { return };
    let advised = app.said.with_untracked(|s| {
        let a = s.answer.as_ref()?;
        (a.advice.action == Action::Move).then_some(a.advice.pin_mm)
    });
    let end = sheet.end_now();
    let index = sheet.rows.iter().filter(|r| r.end == end).map(|r| r.index).max().unwrap_or(0);
    let touch = Touch {
        session: sheet.id,
        after_end: end,
        after_index: index,
        right_mm: pin.x_mm,
        up_mm: pin.y_mm,
        advised_right_mm: advised.map(|p| p.x_mm),
        advised_up_mm: advised.map(|p| p.y_mm),
        at_ms: Some(device::now_ms()),
    };
    if app.write(vec![Body::Touch(touch)]).is_none() {
        return;
    }
    offers::buzz();
    app.say(app.f(Word::Touched, &[&words::clicks(app.language(), clicks(&sheet, pin))]));
}

/// Readings of the scales that the kit has, in words: `↕ 52  ↔ 0.3`. With `moved` only those that the move changes.
fn told(app: App, sheet: &Sheet, moved: Option<Point>) -> Option<String> {
    let (windage, elevation) = sheet.readings(moved.unwrap_or_default());
    let n = moved.map_or([1, 1], |pin| clicks(sheet, pin));
    let parts: Vec<String> = [(elevation, n[1], "↕"), (windage, n[0], "↔")]
        .into_iter()
        .filter(|(_, n, _)| *n != 0)
        .filter_map(|(v, _, sign)| Some(format!("{sign}\u{a0}{}", words::reading(app.language(), v?))))
        .collect();
    (!parts.is_empty()).then(|| parts.join("  "))
}

/// New readings of the kit's scales after a further move of the pin, in words.
fn new_reading(app: App, sheet: &Sheet, pin: Point) -> Option<String> {
    told(app, sheet, Some(pin)).map(|text| app.f(Word::NewReading, &[&text]))
}

/// Where the scales stand after the move that is advised, in words.
pub(super) fn set_to(app: App, sheet: &Sheet, pin: Point) -> Option<String> {
    told(app, sheet, Some(pin)).map(|text| app.f(Word::SetTo, &[&text]))
}

/// What the sight reads now, where the kit has scales; a tap tells of a move.
pub(super) fn now() -> impl IntoView {
    let app = app();
    let hand = expect_context::<Hand>();
    let text = Memo::new(move |_| app.sheet.with(|s| told(app, s.as_ref()?, None)));
    move || {
        text.get().map(|text| {
            let label = app.f(Word::SightNow, &[&text]);
            view! {
                <button type="button" id="sight" aria-label=label on:click=move |_| {
                    hand.choose(None, None);
                    hand.telling.set(true);
                }>{text}</button>
            }
        })
    }
}

/// The move really made: by keys, or by what the scales read now.
pub(super) fn tell() -> impl IntoView {
    let app = app();
    let hand = expect_context::<Hand>();
    let advised = app.said.with_untracked(|s| s.answer.as_ref().map_or([0, 0], |a| a.advice.clicks));
    let kit = app.sheet.with_untracked(|s| s.as_ref().map(|s| s.kit.clone())).unwrap_or_default();
    let of_click = sight(&kit).click_mm();
    let pin = RwSignal::new(sight(&kit).pin_mm(advised));
    let asked = |id, word| Asked::new(id, word, "", (-1000.0, 1000.0), String::new());
    let (elevation, windage) = (asked("to-elevation", Word::ElevationReads), asked("to-windage", Word::WindageReads));
    let (has_elevation, has_windage) = (kit.elevation_reading.is_some(), kit.windage_reading.is_some());
    // What is typed is where the pin is; a key takes the typed number away.
    Effect::new(move || {
        let (w, e) = (windage.value(), elevation.value());
        let to = app.sheet.with_untracked(|s| s.as_ref().map(|s| s.move_to(w, e))).unwrap_or_default();
        if w.is_some() {
            pin.update(|p| p.x_mm = to.x_mm);
        }
        if e.is_some() {
            pin.update(|p| p.y_mm = to.y_mm);
        }
    });
    let turn = move |axis: usize, by: i32| {
        let text = if axis == 0 { windage.text } else { elevation.text };
        text.set(String::new());
        pin.update(|p| {
            let of = if axis == 0 { &mut p.x_mm } else { &mut p.y_mm };
            let now = (*of / of_click[axis]).round() as i32;
            *of = f64::from((now + by).clamp(-999, 999)) * of_click[axis];
        });
    };
    let made = move || app.sheet.with(|s| s.as_ref().map_or([0, 0], |s| clicks(s, pin.get())));
    let text = move || words::clicks(app.language(), made());
    let reading = move || app.sheet.with(|s| s.as_ref().and_then(|s| new_reading(app, s, pin.get())));
    let key = move |word: Word, axis: usize, way: i32, step: i32, class: &'static str, sign: &'static str| {
        let class = if step == 1 { class.to_owned() } else { format!("{class}-{step}") };
        view! {
            <button type="button" class=class aria-label=format!("{} {step}", app.t(word)) on:click=move |_| turn(axis, way * step)>
                <span aria-hidden="true">{sign}</span> {step}
            </button>
        }
    };
    let row = move |axis: usize, less: (Word, &'static str, &'static str), more: (Word, &'static str, &'static str)| {
        view! {
            <div class="pin-keys" role="group">
                {STEPS.map(|step| key(less.0, axis, -1, step, less.1, less.2)).into_iter().collect_view()}
                {STEPS.into_iter().rev().map(|step| key(more.0, axis, 1, step, more.1, more.2)).collect_view()}
            </div>
        }
    };
    let record = move |_| {
        if read_all(&[elevation, windage]).is_some() && pin.get_untracked() != Point::default() {
            record_touch(app, pin.get_untracked());
            hand.telling.set(false);
        }
    };
    view! {
        <div class="tell">
            <div class="head">
                <h2>{app.t(Word::TouchTitle)}</h2>
                <button type="button" on:click=move |_| hand.telling.set(false)>{app.t(Word::Cancel)}</button>
            </div>
            <p class="made" aria-live="polite">{text} " " <span class="scale">{reading}</span></p>
            {row(1, (Word::Down, "key-down", "▾"), (Word::Up, "key-up", "▴"))}
            {row(0, (Word::Left, "key-left", "◂"), (Word::Right, "key-right", "▸"))}
            <div class="typed">
                {has_elevation.then(|| view! { <NumberField of=elevation/> })}
                {has_windage.then(|| view! { <NumberField of=windage/> })}
            </div>
            <div class="buttons">
                <button type="button" class="main" id="record-touch"
                    disabled=move || pin.get() == Point::default() && elevation.text.with(String::is_empty) && windage.text.with(String::is_empty)
                    on:click=record>{move || app.f(Word::RecordTouch, &[&text()])}</button>
                {keep_mark(app)}
            </div>
        </div>
    }
}

/// Keeps what the sight reads now as the mark of this distance, once an arrow was shot at this setting.
pub(in crate::app) fn keep_mark(app: App) -> impl IntoView {
    let offered = Memo::new(move |_| {
        app.sheet.with(|sheet| {
            let sheet = sheet.as_ref()?;
            let (kit, elevation_reading) = (sheet.session.kit?, sheet.readings(Point::default()).1?);
            let arrows = (0..sheet.rows.len()).filter(|i| !sheet.is_before_touch(*i)).count();
            (arrows > 0).then(|| (kit, elevation_reading, sheet.session.distance_m, arrows as u32))
        })
    });
    let keep = move |_| {
        let Some((kit, elevation_reading, distance_m, arrows)) = offered.get_untracked() else { return };
        let windage_reading = app.sheet.with_untracked(|s| s.as_ref()?.readings(Point::default()).0);
        let mark = Mark {
            kit,
            distance_m,
            elevation_reading,
            windage_reading,
            reading_sd: None,
            proven: Proven::Shot,
            at_ms: device::now_ms(),
            slope_deg: None,
            arrows: Some(arrows),
        };
        if app.write(vec![Body::Mark(mark)]).is_some() {
            let distance = words::distance(app.language(), app.imperial(), distance_m);
            app.say_undo(app.f(Word::MarkKept, &[&distance]));
        }
    };
    move || {
        let (kit, reading, distance_m, _) = offered.get()?;
        let same = |m: &Mark| {
            m.kit == kit && (m.elevation_reading - reading).abs() < 1e-6 && (m.distance_m - distance_m).abs() < 1e-6
        };
        let there =
            app.in_log(|log, archer| Some(log.heads(archer).any(|r| matches!(&r.body, Body::Mark(m) if same(m)))));
        let there = there.unwrap_or(false);
        let l = app.language();
        let (number, distance) = (words::reading(l, reading), words::distance(l, app.imperial(), distance_m));
        Some(view! {
            <button type="button" id="keep-mark" disabled=there on:click=keep>
                {app.f(if there { Word::MarkKept } else { Word::KeepMark }, if there { vec![distance.as_str()] } else { vec![number.as_str(), distance.as_str()] }.as_slice())}
            </button>
        })
    }
}
