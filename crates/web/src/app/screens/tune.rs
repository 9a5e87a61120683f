//! Tuning: bareshafts against fletched arrows, and groups that walk with distance.

use leptos::prelude::*;

use super::super::state::{Screen, app};
use super::super::told;
use super::pick;
use crate::pages::controls;
use crate::pages::tune::{self, Question};
use crate::words::Word;

/// The page.
pub(in crate::app) fn view() -> AnyView {
    let app = app();
    let all = StoredValue::new(told::sessions(app));
    let picked: pick::Picked = RwSignal::new(Vec::new());
    let bare: RwSignal<Vec<String>> = RwSignal::new(Vec::new());
    let arrows = Memo::new(move |_| {
        let picked = picked.get();
        all.with_value(|all| tune::mixed_arrows(&pick::chosen(all, &picked)))
    });
    let first = move || {
        let list = all.with_value(|all| pick::list(app, all, &[], [Word::Fletched, Word::Bare]));
        controls::text("", app.t(Word::TuneHelp)) + &list
    };
    let more = move || {
        let names = arrows.get();
        if names.is_empty() {
            return String::new();
        }
        let title = app.t(Word::BareWhich);
        let button = |name: &String| {
            let pressed = bare.with_untracked(|b| b.contains(name));
            controls::button("bare", name, Some(pressed), &format!("{title}: {name}"), name)
        };
        let buttons: String = names.iter().map(button).collect();
        controls::text("", title) + "<div class=\"arrows\"><div>" + &buttons + "</div></div>"
    };
    let said = move || {
        let (picked, bare) = (picked.get(), bare.get());
        all.with_value(|all| {
            let chosen = pick::chosen(all, &picked);
            // The hand of the kit, or else of the archer.
            let kit = chosen.last().and_then(|(g, _)| g.kit);
            let of_kit = app.kits().into_iter().find(|(id, _)| Some(*id) == kit).and_then(|(_, k)| k.hand);
            let hand = of_kit.or_else(|| app.archer().and_then(|(_, a)| a.hand));
            told::tell(app, |teller| tune::page(teller, &chosen, &Question { bare, hand }))
        })
    };
    let act = move |name: &str, value: &str| {
        if name == "bare" {
            bare.update(|b| {
                let there = b.len();
                b.retain(|n| n != value);
                if b.len() == there {
                    b.push(value.to_owned());
                }
            });
        } else {
            pick::toggle(picked, name, value);
        }
    };
    told::page(
        Box::new(first),
        Some(Box::new(more)),
        Box::new(act),
        Box::new(said),
        &[Screen::Progress, Screen::Compare],
    )
}
