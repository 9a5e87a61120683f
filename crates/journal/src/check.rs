//! Whether a log holds together: warnings as data.

use uuid::Uuid;

use crate::body::{Body, Kind};
use crate::log::Log;
use crate::record::RecordError;

/// Something about a log that needs a look. Nothing of it is lost.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Finding {
    /// A record that no device of ours would write.
    Invalid {
        /// Which.
        id: Uuid,
        /// What is wrong.
        error: RecordError,
    },
    /// A record that refers to one that is not here; it may come with the next sync.
    Missing {
        /// Which.
        id: Uuid,
        /// The kind referred to.
        kind: Kind,
        /// The id referred to.
        refers_to: Uuid,
    },
    /// A record that refers to a record that was deleted, or is of another kind.
    WrongReference {
        /// Which.
        id: Uuid,
        /// The kind that was meant.
        kind: Kind,
        /// The id referred to.
        refers_to: Uuid,
    },
    /// Two shots with the same number in one end; both are kept and both are read.
    SamePlace {
        /// The session.
        session: Uuid,
        /// The end.
        end: u32,
        /// The number.
        index: u32,
    },
    /// Records of a later schema: update to see them.
    Later {
        /// How many.
        records: usize,
    },
}

impl std::fmt::Display for Finding {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Invalid { id, error } => write!(f, "record {id}: {error}"),
            Self::Missing { id, kind, refers_to } => {
                write!(f, "record {id} refers to the {} {refers_to}, which is not here: sync again", kind.name())
            }
            Self::WrongReference { id, kind, refers_to } => {
                write!(f, "record {id} refers to {refers_to}, which is no {} of this archer (any more)", kind.name())
            }
            Self::SamePlace { session, end, index } => {
                write!(f, "session {session}: end {end} has two shots number {index}: delete one or renumber it")
            }
            Self::Later { records } => {
                write!(f, "{records} records were written by a later Goldward: they are kept; update to see them")
            }
        }
    }
}

impl Log {
    /// All findings, in the order of the ids.
    #[must_use]
    pub fn check(&self) -> Vec<Finding> {
        let mut findings = Vec::new();
        let mut later = 0;
        let mut places = std::collections::BTreeMap::<(Uuid, Uuid, u32, u32), u32>::new();
        for record in self.sorted() {
            if let Err(error) = record.validate() {
                findings.push(Finding::Invalid { id: record.id, error });
            }
            let mut references: Vec<(Kind, Uuid)> = Vec::new();
            match &record.body {
                Body::Arrow(b) => references.push((Kind::Kit, b.kit)),
                Body::Mark(b) => references.push((Kind::Kit, b.kit)),
                Body::Session(b) => {
                    references.extend(b.kit.map(|k| (Kind::Kit, k)));
                    references.extend(b.mark.map(|m| (Kind::Mark, m)));
                }
                Body::Score(b) => references.extend(b.kit.map(|k| (Kind::Kit, k))),
                Body::End(b) => references.push((Kind::Session, b.session)),
                Body::Touch(b) => references.push((Kind::Session, b.session)),
                Body::Shot(b) => {
                    references.push((Kind::Session, b.session));
                    *places.entry((record.archer, b.session, b.end, b.index)).or_default() += 1;
                }
                Body::Later { .. } => later += 1,
                Body::Archer(_) | Body::Kit(_) | Body::Note(_) | Body::Deleted(_) => {}
            }
            for (kind, refers_to) in references {
                match self.get(record.archer, refers_to) {
                    None => findings.push(Finding::Missing { id: record.id, kind, refers_to }),
                    Some(r) if matches!(r.body.kind(), k if k == kind || k == Kind::Later) => {}
                    Some(_) => findings.push(Finding::WrongReference { id: record.id, kind, refers_to }),
                }
            }
        }
        findings.extend(
            places.into_iter().filter(|(_, n)| *n > 1).map(|((_, session, end, index), _)| Finding::SamePlace {
                session,
                end,
                index,
            }),
        );
        if later > 0 {
            findings.push(Finding::Later { records: later });
        }
        findings
    }
}
