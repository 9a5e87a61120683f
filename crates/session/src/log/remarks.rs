//! What was remarked of a session.

use goldward_journal::{Body, Log, Note};
use uuid::Uuid;

/// The notes about the record `about` of that archer that say something, the latest last.
#[must_use]
pub fn remarks(log: &Log, archer: Uuid, about: Uuid) -> Vec<(Uuid, &Note)> {
    let mut all: Vec<(Uuid, &Note)> = log
        .heads(archer)
        .filter_map(|r| match &r.body {
            Body::Note(note) if note.about == Some(about) => Some((r.id, note)),
            _ => None,
        })
        .collect();
    all.sort_unstable_by_key(|(id, note)| (note.at_ms, *id));
    all
}
