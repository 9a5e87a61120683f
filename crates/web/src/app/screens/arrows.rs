//! Arrow by arrow, over the sessions of the archer.

use goldward_journal::Uuid;
use leptos::prelude::*;

use super::super::shoot::sessions;
use super::super::state::{Screen, app};
use super::told;
use crate::pages::arrows;
use crate::pages::gather::Gathered;

/// The page.
pub(in crate::app) fn view() -> impl IntoView {
    let app = app();
    // Arrows are numbered within a kit: at first those of the latest session.
    let chosen: RwSignal<Option<Uuid>> = RwSignal::new(sessions(app).first().and_then(|(_, s)| s.kit));
    let body = move || {
        let all = told::sessions(app);
        let kit = chosen.get();
        let wanted: Vec<&Gathered> = all.iter().filter(|g| kit.is_none() || g.kit == kit).collect();
        told::items(&told::tell(app, |teller| arrows::page(teller, &wanted)))
    };
    view! {
        <div class="page">
            {told::kit_choice(app, chosen)}
            {body}
            {told::links(&[Screen::Progress, Screen::Compare])}
        </div>
    }
}
