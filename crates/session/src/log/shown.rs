//! The archer's own habits, to be shown.

use goldward_core::units::Distance;
use goldward_journal::{Body, Log};
use uuid::Uuid;

use super::SessionView;
use super::learnt::{Learnt, learnt_with};

/// The habits of an archer, to be shown: with all that is learnt beside them, at the distance shot last.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HabitsShown {
    /// The distance shot last.
    pub distance: Distance,
    /// What is learnt there; its habits also where the kit does not use them.
    pub learnt: Learnt,
    /// Whether the kit uses them.
    pub used: bool,
}

/// What the sessions of an archer tell of habits, for `kit` or the kit of the latest session; nothing where no session can be read.
#[must_use]
pub fn habits_shown(log: &Log, archer: Uuid, kit: Option<Uuid>) -> Option<HabitsShown> {
    let latest = super::sessions(log, archer).into_iter().find_map(|(r, _)| {
        let view = SessionView::of(log, archer, r.id).ok()?;
        (!view.shots.is_empty()).then_some(view)
    })?;
    let kit = kit.or(latest.session.kit).and_then(|id| log.get(archer, id)).and_then(|r| match &r.body {
        Body::Kit(kit) => Some(kit.as_ref()),
        _ => None,
    });
    // The latest session counts too.
    let at_ms = latest.session.at_ms + 1;
    let learnt = learnt_with(log, archer, latest.distance, (kit, None), at_ms, true).ok()?;
    Some(HabitsShown { distance: latest.distance, learnt, used: kit.is_none_or(|k| k.habits != Some(false)) })
}
