//! The shots of this end as a row of buttons, and what can be said of one.

use goldward_core::shot::{Call, Felt, Place, Ring};
use goldward_journal::Uuid;
use leptos::prelude::*;

use super::call::rings;
use super::{Hand, edit_shot, feel, record_shot, tenth};
use crate::app::quiver;
use crate::app::state::{App, app};
use crate::drawing;
use crate::sheet::{score_word, shaft};
use crate::words::Word;

/// Shots of the end being shot; while it is empty, those of the end before.
#[component]
pub(super) fn Chips() -> impl IntoView {
    let app = app();
    let hand = expect_context::<Hand>();
    let rows = move || {
        let Some(sheet) = app.sheet.get() else { return Vec::new() };
        let answer = app.said.get().answer;
        let end = if sheet.shots_in_end() > 0 { sheet.end_now() } else { sheet.ends_done };
        let rows = sheet.rows.iter().enumerate().filter(|(_, r)| r.end == end);
        rows.map(|(i, r)| {
            let class = answer.as_ref().map_or("clean", |a| drawing::mark(a, i).name());
            (i, r.id, score_word(r.score), r.felt, r.arrow.clone(), class)
        })
        .collect()
    };
    let choose = move |id: Uuid| {
        let now = hand.chosen.get_untracked();
        hand.choose((now != Some(id)).then_some(id), None);
    };
    view! {
        <div class="chips" role="group" aria-label=move || app.t(Word::Score)>
            {move || rows().into_iter().map(|(i, id, score, felt, arrow, class)| {
                let mark = match felt { Felt::Good => "+", Felt::Bad => "−", Felt::Unmarked => "" };
                let label = format!("{}: {score}{mark}", app.f(Word::ShotN, &[&(i + 1).to_string()]));
                view! {
                    <button type="button" class=format!("chip {class}") data-shot=(i + 1).to_string()
                        aria-pressed=move || (hand.chosen.get() == Some(id)).to_string()
                        aria-label=label
                        on:click=move |_| choose(id)>
                        <b>{score}</b>
                        <small>{mark}{arrow.map(|a| format!("#{a}"))}</small>
                    </button>
                }
            }).collect_view()}
        </div>
    }
}

/// What can be said of one shot.
pub(super) fn chosen(id: Uuid) -> impl IntoView {
    let app = app();
    let hand = expect_context::<Hand>();
    let row = move || {
        app.sheet.with(|s| s.as_ref()?.rows.iter().enumerate().find(|(_, r)| r.id == id).map(|(i, r)| (i, r.clone())))
    };
    let felt = move || row().map_or(Felt::Unmarked, |(_, r)| r.felt);
    let arrow = move || row().and_then(|(_, r)| r.arrow).unwrap_or_default();
    let names = quiver::names(app, app.sheet.with_untracked(|s| s.as_ref().and_then(|s| s.session.kit)));
    let close = move || hand.choose(None, None);
    // What has been said of it is said: the next tap on the face is the next arrow again.
    let said = move || hand.moving.set(false);
    let sheet = app.sheet.get_untracked();
    let spots = sheet.as_ref().map_or(1, |s| s.face.spots.len());
    let spots: Vec<String> = (1..=spots).map(|n| n.to_string()).collect();
    let rings = sheet.as_ref().map(|s| rings(s.face)).unwrap_or_default().into_iter().map(|(name, _)| name).collect();
    let spot = move || row().and_then(|(_, r)| r.spot).map_or(String::new(), |n| n.to_string());
    let set_spot = move |n: String| {
        edit_shot(app, id, |s| s.spot = n.parse().ok());
        said();
    };
    let set_arrow = move |name: String| {
        edit_shot(app, id, |s| s.arrow = if s.arrow.as_ref() == Some(&name) { None } else { Some(name) });
        said();
    };
    let scored = move || row().map(|(_, r)| score_word(r.score)).unwrap_or_default();
    let set_ring = move |name: String| {
        let (Some((i, _)), Ok(call)) = (untrack(row), name.parse::<Call>()) else { return };
        if untrack(scored) != name {
            put_in_ring(app, id, i, call.ring);
        }
        said();
    };
    view! {
        <div class="chosen">
            <div class="head">
                <h2>{move || row().map(|(i, r)| format!("{}: {}", app.f(Word::ShotN, &[&(i + 1).to_string()]), score_word(r.score)))}</h2>
                <button type="button" id="good" aria-label=app.t(Word::FeltGood) aria-pressed=move || (felt() == Felt::Good).to_string()
                    on:click=move |_| { feel(app, id, Felt::Good, felt()); said(); }>"+"<small>{app.t(Word::FeltGood)}</small></button>
                <button type="button" id="bad" aria-label=app.t(Word::FeltBad) aria-pressed=move || (felt() == Felt::Bad).to_string()
                    on:click=move |_| { feel(app, id, Felt::Bad, felt()); said(); }>"−"<small>{app.t(Word::FeltBad)}</small></button>
                <button type="button" id="delete" class="icon" aria-label=app.t(Word::Delete) on:click=move |_| { app.delete(id); close(); }>
                    <svg viewBox="0 0 24 24" aria-hidden="true"><path d="M5 7h14M10 7V4h4v3M7 7l1 13h8l1-13M10.500 11v5M13.500 11v5"/></svg>
                </button>
                <button type="button" id="close" class="icon" aria-label=app.t(Word::Close) on:click=move |_| close()>
                    <svg viewBox="0 0 24 24" aria-hidden="true"><path d="M6 6l12 12M18 6L6 18"/></svg>
                </button>
            </div>
            {few("few rings", Word::Score, rings, Signal::derive(scored), Callback::new(set_ring))}
            {(spots.len() > 1).then(|| few("few spots", Word::Spot, spots, Signal::derive(spot), Callback::new(set_spot)))}
            {few("few arrows", Word::ArrowNumber, names, Signal::derive(arrow), Callback::new(set_arrow))}
            <Show when=move || hand.here.get().is_some()>
                <button type="button" id="another" on:click=move |_| {
                    if let Some(p) = hand.here.get_untracked() {
                        close();
                        record_shot(app, Place::At(p));
                    }
                }>{app.t(Word::AnotherHere)}</button>
            </Show>
        </div>
    }
}

/// A row of a few to choose from, one of which is so now.
fn few(class: &'static str, label: Word, names: Vec<String>, now: Signal<String>, set: Callback<String>) -> AnyView {
    let label = app().t(label);
    view! {
        <div class=class role="group" aria-label=label>
            <span aria-hidden="true">{label}</span>
            {names.into_iter().map(|name| {
                let (own, value) = (name.clone(), name.clone());
                view! { <button type="button" data-value=name.clone() aria-pressed=move || (now.get() == own).to_string()
                    on:click=move |_| set.run(value.clone())>{name.clone()}</button> }
            }).collect_view()}
        </div>
    }
    .into_any()
}

/// Puts a shot into another ring: a called one keeps its clock, one that was shown goes to the nearest place there.
fn put_in_ring(app: App, id: Uuid, i: usize, ring: Ring) {
    let answer = app.said.with_untracked(|s| s.answer.clone());
    let Some((place, at, face, shaft)) = app.sheet.with_untracked(|s| {
        let s = s.as_ref()?;
        Some((s.rows.get(i)?.place, s.shot_at(i, answer.as_ref()), s.face, shaft(&s.kit)))
    }) else {
        return;
    };
    match place {
        Place::Called(call) => edit_shot(app, id, |s| s.call = Some(Call { ring, ..call }.to_string())),
        Place::At(_) => {
            if let Some(p) = ring.nearest(at, face, shaft) {
                // Of its own spot, however near to another it comes.
                edit_shot(app, id, |s| (s.x_mm, s.y_mm) = (Some(tenth(p.x_mm)), Some(tenth(p.y_mm))));
            }
        }
    }
}
