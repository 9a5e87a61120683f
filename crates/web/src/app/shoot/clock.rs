//! The clock of an end: light, sound and tremor. It defers to the field's own signals, and says so. Once started it goes on wherever
//! the archer looks in the app, and over a page that is loaded anew.

use std::time::Duration;

use goldward_session::rounds::end_seconds;
use leptos::prelude::*;
use wasm_bindgen::JsValue;

use crate::app::state::{App, Screen, app};
use crate::app::{device, offers};
use crate::clock::{Now, Phase, Running, sounds};
use crate::words::Word;

/// Under which the browser keeps it, for all windows of the app: an end has one clock.
const NAME: &str = "clock";

/// The clock that is kept, unless nobody waits for it any more.
fn kept() -> Option<Running> {
    offers::kept(NAME, true).and_then(|text| Running::read(&text)).filter(|c| !c.is_stale(device::now_ms()))
}

fn now(app: App) -> Option<Now> {
    app.beat.track();
    app.clock_of_end.get().map(|c| c.at(device::now_ms()))
}

/// Keeps the clock going and gives its signals; once, for the whole app.
pub(in crate::app) fn keep_going(app: App) {
    let stale = |c: &Running| c.is_stale(device::now_ms());
    app.clock_of_end.set(kept());
    // Another window has started or stopped it; the windows hear nothing of what they keep themselves.
    let hears = window_event_listener_untyped("storage", move |_| {
        let kept = kept();
        if app.clock_of_end.with_untracked(|c| *c != kept) {
            app.clock_of_end.set(kept);
        }
    });
    on_cleanup(move || hears.remove());
    let sounder: StoredValue<Option<JsValue>, LocalStorage> = StoredValue::new_local(None);
    Effect::new(move |ticking: Option<Option<IntervalHandle>>| {
        if let Some(ticking) = ticking.flatten() {
            ticking.clear();
        }
        let clock = app.clock_of_end.get();
        offers::keep(NAME, true, &clock.map(|c| c.text()).unwrap_or_default());
        if let Some(by) = sounder.try_update_value(Option::take).flatten() {
            offers::quiet(&by);
        }
        clock?;
        sounder.set_value(offers::sounder());
        set_interval_with_handle(move || app.beat.set(()), Duration::from_millis(200)).ok()
    });
    let phase = Memo::new(move |_| now(app).map(|n| n.phase));
    Effect::new(move |before: Option<Option<Phase>>| {
        let phase = phase.get();
        // What began while the page was not there is not told late.
        let times = if before.is_some_and(|b| b != phase) { phase.map_or(0, sounds) } else { 0 };
        if times > 0 {
            offers::tremble(times);
            sounder.with_value(|by| {
                if let Some(by) = by {
                    offers::sound(by, times);
                }
            });
        }
        phase
    });
    // It does not follow the archer through the app for ever.
    Effect::new(move || {
        app.screen.track();
        if app.clock_of_end.with_untracked(|c| c.as_ref().is_some_and(stale)) {
            app.clock_of_end.set(None);
        }
    });
}

/// The button that starts it, in a corner beside the face.
pub(super) fn start() -> AnyView {
    let app = app();
    let begin = move || {
        let (session, per_end) = app.sheet.with_untracked(|s| s.as_ref().map(|s| (s.id, s.arrows_of(s.end_now()))))?;
        let archer = untrack(|| app.archer())?.0;
        Some(Running { since_ms: device::now_ms(), end_s: end_seconds(per_end), archer, session })
    };
    view! {
        <button type="button" id="clock" class="icon" aria-label=move || app.t(Word::EndClock)
            aria-pressed=move || app.clock_of_end.get().is_some().to_string()
            on:click=move |_| app.clock_of_end.update(|c| *c = if c.is_some() { None } else { begin() })>
            <svg viewBox="0 0 24 24" aria-hidden="true"><path d="M9 2h6M12 2v3M12 14V9M12 5a9 9 0 1 0 .1 0M19 5l2 2"/></svg>
        </button>
    }
    .into_any()
}

/// The light while the clock runs: on the line a tap stops it, elsewhere a tap leads back there.
pub(in crate::app) fn view(on_the_line: bool) -> AnyView {
    let app = app();
    let runs = Memo::new(move |_| app.clock_of_end.get().is_some());
    (move || runs.get().then(|| run(app, on_the_line))).into_any()
}

/// Back to the line whose clock it is; one that is gone has no clock.
fn back(app: App) {
    let Some(clock) = app.clock_of_end.get_untracked() else { return };
    if untrack(|| app.archer()).is_none_or(|(id, _)| id != clock.archer) {
        app.pick(clock.archer);
    }
    if app.sheet.with_untracked(|s| s.as_ref().is_none_or(|s| s.id != clock.session)) {
        app.open_session(clock.session);
    }
    app.go(Screen::Shoot);
    if app.sheet.with_untracked(Option::is_none) {
        app.clock_of_end.set(None);
    }
}

fn run(app: App, on_the_line: bool) -> impl IntoView {
    let phase = Memo::new(move |_| now(app).map_or(Phase::Over, |n| n.phase));
    let light = move || match phase.get() {
        Phase::StepUp | Phase::Over => "red",
        Phase::Shoot => "green",
        Phase::Last => "yellow",
    };
    let word = move || match phase.get() {
        Phase::StepUp => Word::ClockStepUp,
        Phase::Shoot | Phase::Last => Word::ClockShoot,
        Phase::Over => Word::ClockOver,
    };
    let time = Memo::new(move |_| {
        let left = now(app).map_or(0, |n| n.left);
        format!("{}:{:02}", left / 60, left % 60)
    });
    view! {
        <button type="button" id="running" class:away=!on_the_line data-light=light
            on:click=move |_| if on_the_line { app.clock_of_end.set(None) } else { back(app) }>
            <b>{time}</b>
            <span class="sr">{move || app.t(if on_the_line { Word::ClockStop } else { Word::Back })}</span>
            <span role="status">{move || app.t(word())}</span>
            <small>{move || app.t(if phase.get() == Phase::Over { Word::ClockCollect } else { Word::ClockDefers })}</small>
        </button>
    }
}
