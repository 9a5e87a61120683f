//! Who shoots: several archers on one device, switched in one tap, side by side.

use goldward_journal::{Archer, Body, Hand, Uuid};
use leptos::prelude::*;

use super::super::drafts;
use super::super::state::{App, app};
use super::super::widgets::{Choice, TextField};
use super::progress::{self, Summary};
use crate::pages::{Item, html};
use crate::words::Word;

/// The page.
pub(in crate::app) fn view() -> impl IntoView {
    let app = app();
    let name = RwSignal::new(String::new());
    let hand = RwSignal::new(Hand::Right);
    let wrong = RwSignal::new(false);
    let edited: RwSignal<Option<Uuid>> = RwSignal::new(None);
    // The name of somebody new is kept when the place is left.
    if let Some(draft) = drafts::of(app, "archer-name") {
        name.set(draft);
    }
    Effect::new(move || {
        if edited.get().is_none() {
            drafts::keep(app, "archer-name", name.get(), "");
        }
    });
    let pick = move |id: Uuid| app.pick(id);
    let save = move |_| {
        let text = name.get_untracked().trim().to_owned();
        wrong.set(text.is_empty());
        if text.is_empty() {
            return;
        }
        drafts::forget(app);
        let archer = Archer { name: text, hand: Some(hand.get_untracked()) };
        // The first name is for whoever has been shooting here without one.
        let nameless = app.archer().filter(|(_, a)| a.name.is_empty()).map(|(id, _)| id);
        let kept = match edited.get_untracked().or(nameless) {
            Some(id) => app.edit(id, Body::Archer(archer)),
            None => app.new_archer(archer).is_some(),
        };
        // What is refused stays typed.
        if kept {
            edited.set(None);
            name.set(String::new());
        }
    };
    view! {
        <div class="page">
            <ul class="people">
                {move || {
                    let current = app.archer().map(|(id, _)| id);
                    app.archers().into_iter().map(|(id, a)| {
                        let shown = if a.name.is_empty() { "?".to_owned() } else { a.name.clone() };
                        let (label, own) = (format!("{}: {shown}", app.t(Word::Edit)), a.clone());
                        view! {
                            <li>
                                <button type="button" class="pick" aria-pressed=(current == Some(id)).to_string() on:click=move |_| pick(id)>{shown}</button>
                                {app.may_write(id).then(|| view! { <button type="button" aria-label=label on:click=move |_| {
                                    edited.set(Some(id));
                                    name.set(own.name.clone());
                                    hand.set(own.hand.unwrap_or(Hand::Right));
                                }>"✎"</button> })}
                            </li>
                        }
                    }).collect_view()
                }}
            </ul>
            <h2>{move || app.t(if edited.get().is_some() { Word::Edit } else { Word::NewArcher })}</h2>
            <TextField id="archer-name" label=Word::ArcherName value=name/>
            <Choice label=Word::Hand name="hand" value=hand set=move |h| hand.set(h)
                choices=vec![(Hand::Right, app.t(Word::RightHand).to_owned()), (Hand::Left, app.t(Word::LeftHand).to_owned())]/>
            <p class="wrong" role="alert">{move || wrong.get().then(|| app.t(Word::NameNeeded))}</p>
            <button type="button" class="main" id="save-archer" on:click=save>{move || app.t(Word::Save)}</button>
            <h2>{move || app.t(Word::Compare)}</h2>
            <div inner_html=move || compare(app)></div>
        </div>
    }
}

/// One row an archer, as HTML.
fn compare(app: App) -> String {
    let l = app.language();
    let dash = || "–".to_owned();
    let rows = app.archers().into_iter().map(|(id, a)| {
        let all = progress::summaries(app, id);
        let (points, arrows) = all.iter().fold((0, 0), |(p, n), s: &Summary| (p + s.points, n + s.counted));
        let each = (arrows > 0).then(|| l.number(&format!("{:.2}", f64::from(points) / f64::from(arrows))));
        vec![
            if a.name.is_empty() { "?".to_owned() } else { a.name },
            all.len().to_string(),
            all.iter().map(|s| s.arrows).sum::<u32>().to_string(),
            each.unwrap_or_else(dash),
            progress::pooled_mrad(&all).map_or_else(dash, |m| l.number(&format!("{m:.1}"))),
        ]
    });
    let head = [Word::ArcherName, Word::Sessions, Word::Arrows, Word::PerArrow].map(|w| app.t(w).to_owned());
    let head: Vec<String> = head.into_iter().chain([format!("{} (mrad)", app.t(Word::Spread))]).collect();
    html(&[Item::Table(app.t(Word::Compare).to_owned(), head, rows.collect())])
}
