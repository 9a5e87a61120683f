//! The card of sight marks to print and take along.

use goldward_journal::Mark;
use goldward_session::log::book;
use goldward_session::marks::numbers::Numbers;
use leptos::prelude::*;

use super::super::state::{Screen, app};
use super::super::{device, fitted, told};
use super::marks::expected;
use crate::pages::{Item, html, marks};
use crate::words::Word;

/// The page.
pub(in crate::app) fn view() -> impl IntoView {
    let app = app();
    move || {
        let Some((_, kit, shot, known)) = fitted::current(app, None) else {
            return view! { <div class="page"><p>{app.t(Word::MarksNone)}</p></div> }.into_any();
        };
        let own: Vec<Mark> = shot.into_iter().map(|(_, m)| m).collect();
        let mut items = vec![Item::Heading(app.t(Word::MarkShot).to_owned())];
        if let Ok(book) = book(&kit, &own).map(|b| b.told_in(app.imperial())) {
            items.extend(
                book.scale()
                    .ok()
                    .map(|s| told::tell(app, |t| marks::list(t, &book, &Numbers::new(s))))
                    .unwrap_or_default(),
            );
        }
        if let Some(Ok(known)) = &known {
            items.push(Item::Heading(app.t(Word::MarkPredicted).to_owned()));
            items.extend(expected(app, known));
        }
        view! {
            <div class="page">
                <article class="card-sheet">
                    <h2>{kit.name.clone()}</h2>
                    <p>{app.archer().map(|(_, a)| a.name)} " · " {device::date(device::now_ms(), app.language().code())}</p>
                    <div inner_html=html(&items)></div>
                </article>
                <div class="buttons">
                    <button type="button" on:click=move |_| app.go(Screen::Marks)>{app.t(Word::Back)}</button>
                    <button type="button" class="main" id="print" on:click=|_| { let _ = device::window().print(); }>{app.t(Word::Print)}</button>
                </div>
            </div>
        }
        .into_any()
    }
}
