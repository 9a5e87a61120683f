//! Tuning: bareshafts against fletched arrows, and groups that walk with distance.

use std::collections::{BTreeMap, BTreeSet};

use leptos::prelude::*;

use super::super::state::{Screen, app};
use super::{pick, told};
use crate::pages::tune::{self, Question};
use crate::words::Word;

/// The page.
pub(in crate::app) fn view() -> impl IntoView {
    let app = app();
    let all = StoredValue::new(told::sessions(app));
    let picked: pick::Picked = RwSignal::new(BTreeMap::new());
    let bare: RwSignal<BTreeSet<String>> = RwSignal::new(BTreeSet::new());
    let arrows = Memo::new(move |_| {
        let picked = picked.get();
        all.with_value(|all| tune::mixed_arrows(&pick::chosen(all, &picked)))
    });
    let names = move || {
        let names = arrows.get();
        (!names.is_empty()).then(|| {
            let buttons = names.into_iter().map(|name| {
                let (own, set) = (name.clone(), name.clone());
                view! { <button type="button" class="small" aria-pressed=move || bare.with(|b| b.contains(&own)).to_string()
                    on:click=move |_| bare.update(|b| if !b.remove(&set) { b.insert(set.clone()); })>{name}</button> }
            });
            view! {
                <div class="arrows"><span id="bare-label">{app.t(Word::BareWhich)}</span>
                    <div role="group" aria-labelledby="bare-label">{buttons.collect_view()}</div></div>
            }
        })
    };
    let body = move || {
        let (picked, bare) = (picked.get(), bare.get());
        all.with_value(|all| {
            let chosen = pick::chosen(all, &picked);
            // The hand of the kit, or else of the archer.
            let kit = chosen.last().and_then(|(g, _)| g.kit);
            let of_kit = app.kits().into_iter().find(|(id, _)| Some(*id) == kit).and_then(|(_, k)| k.hand);
            let hand = of_kit.or_else(|| app.archer().and_then(|(_, a)| a.hand));
            told::items(&told::tell(app, |teller| tune::page(teller, &chosen, &Question { bare, hand })))
        })
    };
    view! {
        <div class="page">
            <p>{app.t(Word::TuneHelp)}</p>
            {pick::view(all, picked, [Word::Fletched, Word::Bare], false)}
            {names}
            <div aria-live="polite">{body}</div>
            {told::links(&[Screen::Progress, Screen::Compare])}
        </div>
    }
}
