//! The screens beside the shooting line.

pub(super) mod aids;
pub(super) mod archers;
pub(super) mod arrows;
pub(super) mod card;
pub(super) mod compare;
pub(super) mod duel;
pub(super) mod explain;
pub(super) mod kit;
pub(super) mod marks;
pub(super) mod pacing;
mod pick;
pub(super) mod progress;
pub(super) mod reading;
pub(super) mod report;
pub(super) mod settings;
pub(super) mod tune;
