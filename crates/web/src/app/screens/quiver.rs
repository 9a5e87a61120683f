//! The arrows of a kit: named, retired, taken back.

use goldward_journal::{Arrow, Body, Uuid};
use leptos::prelude::*;

use super::super::state::{App, app};
use super::super::widgets::TextField;
use crate::pages::arrows::in_order;
use crate::words::Word;

/// Longest name of an arrow, in characters.
const LONGEST: usize = 8;

/// Arrows of a kit in the order of their names.
fn arrows(app: App, kit: Uuid) -> Vec<(Uuid, Arrow)> {
    let mut all: Vec<(Uuid, Arrow)> = app.log.with(|log| {
        log.of(|b| if let Body::Arrow(a) = b { Some(a) } else { None })
            .into_iter()
            .filter(|(_, a)| a.kit == kit)
            .map(|(r, a)| (r.id, a.clone()))
            .collect()
    });
    all.sort_by_key(|(id, a)| (in_order(&a.name), *id));
    all
}

/// Names of the arrows that a kit is shot with; 1 to 12 while none are named.
pub(in crate::app) fn names(app: App, kit: Option<Uuid>) -> Vec<String> {
    let own: Vec<String> = kit
        .map(|kit| arrows(app, kit).into_iter().filter(|(_, a)| !a.retired).map(|(_, a)| a.name).collect())
        .unwrap_or_default();
    if own.is_empty() { (1..=12).map(|n: u32| n.to_string()).collect() } else { own }
}

/// The list in the kit's form.
pub(super) fn view(kit: Uuid) -> impl IntoView {
    let app = app();
    let fresh = RwSignal::new(String::new());
    let wrong = RwSignal::new(None::<String>);
    let add = move |_| {
        let there = arrows(app, kit);
        let mut bodies = Vec::new();
        let mut twice = None;
        for name in fresh.get_untracked().split([' ', ',', ';']).filter(|n| !n.is_empty()) {
            let name: String = name.chars().take(LONGEST).collect();
            if there.iter().any(|(_, a)| a.name == name) {
                twice = Some(app.f(Word::ArrowThere, &[&name]));
            } else {
                bodies.push(Body::Arrow(Arrow { kit, name, retired: false }));
            }
        }
        wrong.set(twice);
        if !bodies.is_empty() {
            app.write(bodies);
            fresh.set(String::new());
        }
    };
    let rows = move || {
        arrows(app, kit)
            .into_iter()
            .map(|(id, arrow)| {
                let turned = Arrow { retired: !arrow.retired, ..arrow.clone() };
                let word = app.t(if arrow.retired { Word::BackInUse } else { Word::Retire });
                let shown = if arrow.retired { format!("{} ({})", arrow.name, app.t(Word::Retired)) } else { arrow.name };
                view! {
                    <li><span>"#" {shown.clone()}</span>
                        <button type="button" aria-label=format!("{word}: {shown}") on:click=move |_| app.edit(id, Body::Arrow(turned.clone()))>{word}</button></li>
                }
            })
            .collect_view()
    };
    view! {
        <h2>{app.t(Word::KitArrows)}</h2>
        <p class="hint">{app.t(Word::KitArrowsHelp)}</p>
        <ul class="picks">{rows}</ul>
        <TextField id="k-arrows" label=Word::AddArrows value=fresh/>
        <p class="wrong" role="alert">{move || wrong.get()}</p>
        <button type="button" id="add-arrows" on:click=add>{app.t(Word::Add)}</button>
    }
}
