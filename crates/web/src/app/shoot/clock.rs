//! The clock of an end on the line: light, sound and tremor. It defers to the field's own signals, and says so.

use std::time::Duration;

use goldward_session::rounds::end_seconds;
use leptos::prelude::*;
use wasm_bindgen::JsValue;

use super::Hand;
use crate::app::state::app;
use crate::app::{device, offers};
use crate::clock::{Phase, at, sounds};
use crate::words::Word;

/// The light while the clock runs; a tap stops it.
pub(super) fn view() -> impl IntoView {
    let hand = expect_context::<Hand>();
    let sounder: StoredValue<Option<JsValue>, LocalStorage> = StoredValue::new_local(None);
    Effect::new(move || {
        if hand.clock.get().is_none() {
            if let Some(by) = sounder.try_update_value(Option::take).flatten() {
                offers::quiet(&by);
            }
        }
    });
    move || hand.clock.get().map(|since| run(since, sounder))
}

/// The button that starts it, in a corner beside the face.
pub(super) fn start() -> AnyView {
    let app = app();
    let hand = expect_context::<Hand>();
    view! {
        <button type="button" id="clock" class="icon" aria-label=move || app.t(Word::EndClock)
            aria-pressed=move || hand.clock.get().is_some().to_string()
            on:click=move |_| hand.clock.update(|c| *c = c.is_none().then(device::ticks_ms))>
            <svg viewBox="0 0 24 24" aria-hidden="true"><path d="M9 2h6M12 2v3M12 14V9M12 5a9 9 0 1 0 .1 0M19 5l2 2"/></svg>
        </button>
    }
    .into_any()
}

fn run(since: f64, sounder: StoredValue<Option<JsValue>, LocalStorage>) -> impl IntoView {
    let app = app();
    let hand = expect_context::<Hand>();
    let end_s = app.sheet.with_untracked(|s| s.as_ref().map_or(0, |s| end_seconds(s.session.shots_per_end)));
    let now = RwSignal::new(at(0.0, end_s));
    let phase = Memo::new(move |_| now.get().phase);
    sounder.set_value(offers::sounder());
    // Reckoned from its beginning, so that a phone that slept shows the right time when it wakes.
    let tick = move || now.set(at((device::ticks_ms() - since) / 1000.0, end_s));
    let ticking = set_interval_with_handle(tick, Duration::from_millis(200)).ok();
    on_cleanup(move || {
        if let Some(ticking) = ticking {
            ticking.clear();
        }
    });
    Effect::new(move || {
        let times = sounds(phase.get());
        if times > 0 {
            offers::tremble(times);
            sounder.with_value(|by| {
                if let Some(by) = by {
                    offers::sound(by, times);
                }
            });
        }
    });
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
    let time = move || {
        let left = now.get().left;
        format!("{}:{:02}", left / 60, left % 60)
    };
    view! {
        <button type="button" id="running" data-light=light on:click=move |_| hand.clock.set(None)>
            <b>{time}</b>
            <span class="sr">{move || app.t(Word::ClockStop)}</span>
            <span role="status">{move || app.t(word())}</span>
            <small>{move || app.t(if phase.get() == Phase::Over { Word::ClockCollect } else { Word::ClockDefers })}</small>
        </button>
    }
}
