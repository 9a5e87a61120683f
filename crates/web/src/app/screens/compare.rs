//! Before and after: two sets of sessions compared.

use leptos::prelude::*;

use super::super::state::{Screen, app};
use super::super::told;
use super::pick;
use crate::pages::{compare, controls};
use crate::words::Word;

/// The page.
pub(in crate::app) fn view() -> AnyView {
    let app = app();
    let all = StoredValue::new(told::sessions(app));
    let picked: pick::Picked = RwSignal::new(Vec::new());
    // The list is written anew only when a shortcut has changed it: a button that is pressed keeps the focus.
    let list = RwSignal::new(Vec::new());
    let in_turn = RwSignal::new(false);
    let said = move || {
        let (picked, in_turn) = (picked.get(), in_turn.get());
        all.with_value(|all| {
            let chosen = pick::chosen(all, &picked);
            told::tell(app, |teller| compare::page(teller, &chosen, in_turn))
        })
    };
    let first = move || {
        let help = controls::text("", app.t(Word::CompareHelp));
        help + &all.with_value(|all| pick::shortcuts(app, all))
    };
    let more = move || {
        let choices = [("no", app.t(Word::InTurnNo).to_owned()), ("yes", app.t(Word::InTurnYes).to_owned())];
        let turn = controls::choice(
            "in-turn",
            app.t(Word::InTurn),
            &choices,
            if in_turn.get_untracked() { "yes" } else { "no" },
        );
        all.with_value(|all| list.with(|l| pick::list(app, all, l, [Word::SetA, Word::SetB]))) + &turn
    };
    let act = move |name: &str, value: &str| match name {
        "split" => {
            let sets = all.with_value(|all| pick::split(all, value));
            list.set(sets.clone());
            picked.set(sets);
        }
        "in-turn" => in_turn.set(value == "yes"),
        _ => pick::toggle(picked, name, value),
    };
    told::page(Box::new(first), Some(Box::new(more)), Box::new(act), Box::new(said), &[Screen::Progress, Screen::Tune])
}
