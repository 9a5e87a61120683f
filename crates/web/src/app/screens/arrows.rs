//! Arrow by arrow, over the sessions of the archer.

use goldward_journal::Uuid;
use leptos::prelude::*;

use super::super::shoot::sessions;
use super::super::state::{Screen, app};
use super::super::told;
use crate::pages::arrows;
use crate::pages::gather::Gathered;

/// The page.
pub(in crate::app) fn view() -> AnyView {
    let app = app();
    // Arrows are numbered within a kit: at first those of the latest session.
    let first = sessions(app).first().and_then(|(_, s)| s.kit);
    let chosen: RwSignal<Option<Uuid>> = RwSignal::new(first);
    let said = move || {
        let all = told::sessions(app);
        let kit = chosen.get();
        let wanted: Vec<&Gathered> = all.iter().filter(|g| kit.is_none() || g.kit == kit).collect();
        told::tell(app, |teller| arrows::page(teller, &wanted))
    };
    told::page(
        Box::new(move || told::kit_choice(app, first)),
        None,
        Box::new(move |_, value| chosen.set(value.parse().ok())),
        Box::new(said),
        &[Screen::Progress, Screen::Compare],
    )
}
