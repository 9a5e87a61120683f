//! A kit with its sight marks, fitted.

use goldward_core::marks::MarksError;
use goldward_journal::{Kit, Mark, Uuid};
use goldward_session::log;
use goldward_session::marks::answer::Known;
use leptos::prelude::*;

use super::state::App;

/// Marks of a kit by distance.
fn marks_of(app: App, id: Uuid, kit: &Kit) -> Vec<(Uuid, Mark)> {
    let Some((archer, _)) = app.archer() else { return Vec::new() };
    app.log.with(|log| log::marks_of(log, archer, id, kit))
}

/// The kit looked at, its marks and what follows from them.
pub(super) fn current(
    app: App,
    chosen: Option<Uuid>,
) -> Option<(Uuid, Kit, Vec<(Uuid, Mark)>, Option<Result<Known, MarksError>>)> {
    let kits = app.kits();
    let (id, kit) = kits.iter().find(|(k, _)| Some(*k) == chosen).or(kits.first()).cloned()?;
    let all = marks_of(app, id, &kit);
    let own: Vec<Mark> = all.iter().map(|(_, m)| m.clone()).collect();
    let known = log::known(&kit, &own, app.imperial());
    Some((id, kit, all, known))
}
