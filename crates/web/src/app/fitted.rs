//! A kit with its sight marks, fitted.

use goldward_core::marks::{Fitted, MarksError};
use goldward_journal::{Kit, Mark, Uuid};
use leptos::prelude::*;

use super::state::App;
use crate::pages::aids::fit;
use crate::words;

/// Marks of a kit by distance.
fn marks_of(app: App, id: Uuid, kit: &Kit) -> Vec<(Uuid, Mark)> {
    let Some((archer, _)) = app.archer() else { return Vec::new() };
    app.log.with(|log| goldward_session::log::marks_of(log, archer, id, kit))
}

/// The kit looked at, its marks and the fit.
pub(super) fn current(
    app: App,
    chosen: Option<Uuid>,
) -> Option<(Uuid, Kit, Vec<(Uuid, Mark)>, Option<Result<Fitted, MarksError>>)> {
    let kits = app.kits();
    let (id, kit) = kits.iter().find(|(k, _)| Some(*k) == chosen).or(kits.first()).cloned()?;
    let all = marks_of(app, id, &kit);
    let (l, imperial) = (app.language(), app.imperial());
    let own: Vec<Mark> = all.iter().map(|(_, m)| m.clone()).collect();
    let fitted = fit(&kit, &own, |d| words::distance(l, imperial, d));
    Some((id, kit, all, fitted))
}
