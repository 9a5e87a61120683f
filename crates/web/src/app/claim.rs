//! Whose the logs are that were kept while nobody was signed in.

use std::collections::BTreeSet;

use goldward_journal::{Log, Uuid};
use leptos::prelude::*;

use super::state::App;
use super::sync::claim;
use crate::words::Word;

/// Asks which of the logs that are nobody's belong to the account that has signed in.
pub(super) fn claiming(app: App, account: Uuid) -> impl IntoView {
    let archers = app.log.with_untracked(Log::archers);
    let chosen = RwSignal::new(BTreeSet::<Uuid>::new());
    let rows = archers.into_iter().map(move |archer| {
        let n = app.log.with_untracked(|log| log.records_of(archer).count());
        let text = format!("{} ({n})", whose(app, archer));
        let toggle = move |_| {
            chosen.update(|c| {
                if !c.remove(&archer) {
                    c.insert(archer);
                }
            });
        };
        view! {
            <li><button type="button" class="claim" aria-pressed=move || chosen.get().contains(&archer).to_string() on:click=toggle>{text}</button></li>
        }
    });
    let go = move |_| {
        let mut all = app.log.get_untracked();
        let mut log = Log::new();
        for archer in chosen.get_untracked() {
            log.extend(all.take_out(archer).records().cloned());
        }
        claim(app, account, log);
    };
    view! {
        <ul class="people">{rows.collect_view()}</ul>
        <button type="button" class="main" id="claim" on:click=go>{move || app.t(if chosen.get().is_empty() { Word::ClaimNone } else { Word::ClaimThese })}</button>
    }
}

/// Whose log it is, for people.
pub(super) fn whose(app: App, archer: Uuid) -> String {
    let name = app.archers().into_iter().find(|(a, _)| *a == archer).map(|(_, a)| a.name).unwrap_or_default();
    if name.is_empty() { archer.to_string() } else { name }
}
