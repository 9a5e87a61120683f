//! The advice after each shot.

use goldward_core::advice::Action;
use goldward_core::notice::{self, Weight};
use goldward_core::pace::Answer;
use goldward_core::units::Distance;
use goldward_session::answer::beside;
use goldward_session::marks::answer::Known;
use goldward_session::marks::quantity::Range;
use leptos::prelude::*;

use super::sight::{record_touch, set_to};
use super::{Hand, assumed, finish};
use crate::app::state::{App, Screen, app};
use crate::app::told;
use crate::pages::{aids, duel};
use crate::sheet::{Sheet, shaft, sight};
use crate::words::{self, Word};

/// The notices beside an answer.
pub(in crate::app) fn notices(sheet: &Sheet, answer: &Answer) -> Vec<notice::Notice> {
    let shots: Vec<_> = sheet
        .rows
        .iter()
        .map(|r| goldward_core::shot::Shot { place: r.place, felt: r.felt, ..goldward_core::shot::Shot::at(0.0, 0.0) })
        .collect();
    let (reading, advice) = (&answer.reading, &answer.advice);
    beside(&shots, reading, advice, sheet.face, shaft(&sheet.kit), sheet.trust(), sheet.is_free())
}

/// What is to be done, as the style sheet knows it.
fn state(app: App) -> &'static str {
    app.said.with(|s| match s.answer.as_ref() {
        Some(a) if a.reading.shots > 0 => match a.advice.action {
            Action::Move => "touch",
            Action::Wait => "wait",
            Action::Leave => "leave",
        },
        _ => "none",
    })
}

/// What to do now, in one look, and the one tap that says it was done. It stands beside the face on every screen.
pub(super) fn headline() -> impl IntoView {
    let app = app();
    let over = Memo::new(move |_| app.sheet.with(|s| s.as_ref().is_some_and(Sheet::is_over)));
    let body = move || {
        let said = app.said.get();
        let sheet = app.sheet.get()?;
        if over.get() {
            let points = finish::told(app).into_iter().next().unwrap_or_default();
            return Some(view! { <p class="do" id="advice">{points}</p> }.into_any());
        }
        let Some(answer) = said.answer.filter(|a| a.reading.shots > 0) else {
            if !app.whole.get() {
                return Some(view! { <p class="do first" data-reading>{app.t(Word::LogComing)}</p> }.into_any());
            }
            return Some(view! { <p class="do first">{app.t(Word::NoShotsYet)}</p> }.into_any());
        };
        let l = app.language();
        let pin = sight(&sheet.kit).pin_mm(answer.advice.clicks);
        let moved = answer.advice.action == Action::Move;
        let reading = moved.then(|| set_to(app, &sheet, pin)).flatten();
        Some(
            view! {
                {sign(&answer)}
                <p class="do" id="advice">{words::headline(l, &answer.advice)} {reading.map(|r| view! { <span class="scale">{r}</span> })}</p>
                {moved.then(|| {
                    let label = format!("{}: {}", app.t(Word::DoneTouch), words::clicks(l, answer.advice.clicks));
                    view! {
                        <button type="button" class="main" id="done" aria-label=label on:click=move |_| record_touch(app, pin)>
                            {app.t(Word::DoneTouch)}
                        </button>
                    }
                })}
            }
            .into_any(),
        )
    };
    view! {
        <div class="answer" data-state=move || state(app) data-ms=move || app.said.with(|s| format!("{:.1}", s.took_ms))>
            <div class="headline" aria-live="polite">{body}</div>
        </div>
    }
}

/// What stands behind it: what it is worth, why, and what else is to be known.
pub(super) fn says() -> impl IntoView {
    let app = app();
    let hand = expect_context::<Hand>();
    let over = Memo::new(move |_| app.sheet.with(|s| s.as_ref().is_some_and(Sheet::is_over)));
    let body = move || {
        let said = app.said.get();
        let sheet = app.sheet.get()?;
        let Some(answer) = said.answer.filter(|a| a.reading.shots > 0) else {
            let safety = (sheet.trust() < goldward_core::group::TRUST_PREDICTED)
                .then(|| view! { <p class="notice safety">{app.t(Word::NoteUnproven)}</p> });
            return Some(view! { {safety} }.into_any());
        };
        let l = app.language();
        let worth = match &said.duel {
            Some(told) => told::tell(app, |t| duel::because(t, told)),
            None => words::worth(l, &answer),
        };
        let chance = said.duel.as_ref().map(|told| told::tell(app, |t| duel::chance(t, told)));
        let found = notices(&sheet, &answer);
        let shown = found
            .iter()
            .filter(|n| n.weight() != Weight::Note)
            .map(|n| {
                let class = if n.weight() == Weight::Safety { "notice safety" } else { "notice" };
                view! { <p class=class>{words::notice(l, app.imperial(), n)}</p> }
            })
            .collect_view();
        let (refined, mark) = hand.fitted.with_value(|fitted| by_flight(app, &sheet, &answer, &found, fitted.as_ref()));
        Some(
            view! {
                {mark.map(|text| view! { <p class="notice" id="wrong-mark">{text}</p> })}
                {chance.map(|text| view! { <p class="worth" id="chance">{text}</p> })}
                <p class="why">{words::why(l, answer.advice.why)}</p>
                {(!worth.is_empty()).then(|| view! { <p class="worth">{worth}</p> })}
                {refined.map(|text| view! { <p class="why" id="refined">{text}</p> })}
                {shown}
            }
            .into_any(),
        )
    };
    view! {
        <div class="because">
            <Show when=move || over.get()>{finish::view()}</Show>
            {move || finish::shared(app)}
            {body}
            <div class="buttons more">
                <button type="button" id="explain" on:click=move |_| app.go(Screen::Explain)
                    disabled=move || state(app) == "none">{move || app.t(Word::Explain)}</button>
                <button type="button" id="other" on:click=move |_| {
                    hand.choose(None, None);
                    hand.telling.set(true);
                }>{move || app.t(Word::OtherTouch)}</button>
            </div>
            {assumed::view()}
        </div>
    }
}

/// What the arrow's flight adds: clicks of elevation that differ from the rule of thumb, and the mark that the sight may be at.
fn by_flight(
    app: App,
    sheet: &Sheet,
    answer: &Answer,
    found: &[notice::Notice],
    known: Option<&Known>,
) -> (Option<String>, Option<String>) {
    let distance = Distance::from_metres(sheet.session.distance_m).ok();
    let Some((known, distance)) = known.zip(distance) else { return (None, None) };
    let clicks = answer.advice.clicks;
    let refined = (answer.advice.action == Action::Move)
        .then(|| aids::refined_clicks(known, distance, clicks[1]))
        .flatten()
        .map(|n| {
            let told = [n, clicks[1]].map(|n| words::clicks(app.language(), [0, n]));
            app.f(Word::RefinedClicks, &[&told[0], &told[1]])
        });
    let far = found.iter().any(|n| matches!(n, notice::Notice::WrongMark { .. }));
    let mark = far.then(|| {
        let range = Range::metres(distance.metres()).ok()?;
        let range = if app.imperial() { range.in_yards() } else { range };
        let (high, sd) = (answer.reading.centre.y_mm, answer.reading.centre_cov.yy.sqrt());
        told::tell(app, |t| {
            let found = aids::wrong_at(t, known, range, [high, sd.clamp(1.0, 1e4)], &[]).ok()??;
            Some(aids::wrong_mark(t, known, range, &found))
        })
    });
    (refined, mark.flatten())
}

/// The sign of an answer: an arrow that points where the pin goes, three dots, or a level bar.
fn sign(answer: &Answer) -> impl IntoView + use<> {
    let d = match answer.advice.action {
        Action::Move => "M12 21V4M5 11l7-8 7 8",
        Action::Wait => "M4 12h.1M12 12h.1M20 12h.1",
        Action::Leave => "M3 9h18M3 15h18",
    };
    let p = answer.advice.pin_mm;
    let turn = if answer.advice.action == Action::Move { p.x_mm.atan2(p.y_mm).to_degrees() } else { 0.0 };
    view! { <svg class="sign" viewBox="0 0 24 24" aria-hidden="true"><path d=d transform=format!("rotate({turn:.0} 12 12)")/></svg> }
}
