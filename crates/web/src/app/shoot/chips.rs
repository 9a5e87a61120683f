//! The shots of this end as a row of buttons, and what can be said of one.

use goldward_core::shot::{Felt, Place};
use goldward_journal::Uuid;
use leptos::prelude::*;

use super::{Hand, edit_shot, feel, record_shot};
use crate::app::screens::quiver;
use crate::app::state::app;
use crate::drawing;
use crate::sheet::score_word;
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
        hand.moving.set(false);
        hand.telling.set(false);
        hand.here.set(None);
        hand.chosen.update(|c| *c = if *c == Some(id) { None } else { Some(id) });
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
    let close = move || {
        hand.chosen.set(None);
        hand.moving.set(false);
    };
    view! {
        <div class="chosen">
            <div class="head">
                <h2>{move || row().map(|(i, r)| format!("{}: {}", app.f(Word::ShotN, &[&(i + 1).to_string()]), score_word(r.score)))}</h2>
                <button type="button" on:click=move |_| close()>{app.t(Word::Close)}</button>
            </div>
            <div class="buttons">
                <button type="button" id="good" aria-pressed=move || (felt() == Felt::Good).to_string()
                    on:click=move |_| feel(app, id, Felt::Good, felt())>{app.t(Word::FeltGood)}</button>
                <button type="button" id="bad" aria-pressed=move || (felt() == Felt::Bad).to_string()
                    on:click=move |_| feel(app, id, Felt::Bad, felt())>{app.t(Word::FeltBad)}</button>
                <button type="button" id="move" aria-pressed=move || hand.moving.get().to_string()
                    on:click=move |_| { app.prefer(|p| p.call = false); hand.moving.update(|m| *m = !*m); }>{app.t(Word::MoveShot)}</button>
                <button type="button" id="delete" on:click=move |_| { app.delete(id); close(); }>{app.t(Word::Delete)}</button>
            </div>
            <Show when=move || hand.here.get().is_some()>
                <button type="button" id="another" on:click=move |_| {
                    if let Some(p) = hand.here.get_untracked() {
                        close();
                        record_shot(app, Place::At(p));
                    }
                }>{app.t(Word::AnotherHere)}</button>
            </Show>
            <div class="arrows">
                <span id="arrow-label">{app.t(Word::ArrowNumber)}</span>
                <div role="group" aria-labelledby="arrow-label">
                    {names.into_iter().map(|name| {
                        let (own, set) = (name.clone(), name.clone());
                        view! { <button type="button" class="small" aria-pressed=move || (arrow() == own).to_string()
                            on:click=move |_| {
                                let set = set.clone();
                                edit_shot(app, id, |s| s.arrow = if s.arrow.as_ref() == Some(&set) { None } else { Some(set) });
                            }>{name}</button> }
                    }).collect_view()}
                </div>
            </div>
        </div>
    }
}
