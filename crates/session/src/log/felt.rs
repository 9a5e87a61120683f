//! What an archer's marks of good and bad shots have been worth.

use goldward_core::fleet::ArrowShot;
use goldward_core::fleet::session::{FeltMarks, felt_marks};
use goldward_core::group::ClassOdds;
use goldward_journal::{Body, Log};
use uuid::Uuid;

use super::{SessionView, sessions};
use crate::group::Group;

/// Sessions that are looked at: the latest before the one that is shot.
const SESSIONS: usize = 30;

/// The class odds for session `id` of that archer: what shots that felt bad or good turned out to be in the archer's earlier sessions, or the
/// usual odds where their marks have not been shown to tell anything.
#[must_use]
pub fn odds(log: &Log, archer: Uuid, id: Uuid) -> ClassOdds {
    let usual = ClassOdds::default();
    let Some(record) = log.get(archer, id) else { return usual };
    let Body::Session(now) = &record.body else { return usual };
    let groups = sessions(log, archer)
        .into_iter()
        .filter(|(_, s)| s.at_ms < now.at_ms)
        .filter_map(|(r, _)| SessionView::of(log, archer, r.id).ok()?.group().ok())
        .filter(|g| !g.shots.is_empty())
        .take(SESSIONS);
    let shots: Vec<ArrowShot> = groups
        .enumerate()
        .flat_map(|(i, g): (usize, Group)| g.shots.iter().map(|s| g.angle(s, i)).collect::<Vec<_>>())
        .collect();
    let marks = felt_marks(&shots, usual).ok().filter(FeltMarks::tell);
    marks.map_or(usual, |m| usual.with_marks(m.bad_odds, m.good_odds))
}
