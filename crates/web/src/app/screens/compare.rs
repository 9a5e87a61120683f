//! Before and after: two sets of sessions compared.

use std::collections::BTreeMap;

use leptos::prelude::*;

use super::super::state::{Screen, app};
use super::super::widgets::Choice;
use super::{pick, told};
use crate::pages::compare;
use crate::words::Word;

/// The page.
pub(in crate::app) fn view() -> impl IntoView {
    let app = app();
    let all = StoredValue::new(told::sessions(app));
    let picked: pick::Picked = RwSignal::new(BTreeMap::new());
    let in_turn = RwSignal::new(false);
    let body = move || {
        let (picked, in_turn) = (picked.get(), in_turn.get());
        all.with_value(|all| {
            let chosen = pick::chosen(all, &picked);
            told::items(&told::tell(app, |teller| compare::page(teller, &chosen, in_turn)))
        })
    };
    view! {
        <div class="page">
            <p>{app.t(Word::CompareHelp)}</p>
            {pick::view(all, picked, [Word::SetA, Word::SetB], true)}
            <Choice label=Word::InTurn name="in-turn" value=in_turn set=move |v| in_turn.set(v)
                choices=vec![(false, app.t(Word::InTurnNo).to_owned()), (true, app.t(Word::InTurnYes).to_owned())]/>
            <div aria-live="polite">{body}</div>
            {told::links(&[Screen::Progress, Screen::Tune])}
        </div>
    }
}
