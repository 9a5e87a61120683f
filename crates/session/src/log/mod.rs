//! The log of an archer as core reads it.
//!
//! [`SessionView`] is one session: its shots with carries across touches, its events for [`goldward_core::pace::Pace`], its
//! score. [`learnt`] is what earlier sessions tell of the spread. [`history`] is progress over time. None of them changes
//! the log, and none is kept: they are made anew whenever they are read.

mod felt;
mod habits;
mod history;
mod learnt;
mod marks;
mod moves;
mod pick;
mod remarks;
mod season;
mod seen;
mod session;
mod shown;
mod usual;

pub use felt::odds;
pub use habits::{HABITS_HALF_LIFE_DAYS, habits_kept, habits_of};
pub use history::{Change, DistanceHistory, Lost, SessionPoint, history, point_of, sessions, total_of};
pub use learnt::{EndsLearnt, HALF_LIFE_DAYS, Learnt, MOST_WORTH, learn, learnt, looked_at, trust_of};
pub use marks::{book, known, marks_of};
pub use moves::{MovesGave, looked_back, moves_gave};
pub use pick::{Line, Pick, PickError, Which, archer_named, meant, read};
pub use remarks::remarks;
pub use season::{MovesKept, MovesSum, Rests, SeasonGave};
pub use seen::{SightTold, SpreadSeen, spread_seen, spreads_seen};
pub use session::{ENDS_AHEAD, EndTotal, SessionView, Total, shared_spots};
pub use shown::{HabitsShown, habits_shown};
pub use usual::{YEAR_MS, agrees, told};

use goldward_core::face::UnknownFace;
use goldward_core::units::UnitError;
use uuid::Uuid;

use crate::settings::KeyProblem;

/// Milliseconds of a day.
pub(crate) const DAY_MS: f64 = 86_400_000.0;

/// Why a view cannot be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ViewError {
    /// There is no such session.
    #[error("there is no session {0}: it was deleted, or has not come with a sync yet")]
    NoSession(Uuid),
    /// The face is not known here.
    #[error(transparent)]
    Face(#[from] UnknownFace),
    /// A number of session or kit is out of range.
    #[error(transparent)]
    Unit(#[from] UnitError),
    /// A setting is out of range.
    #[error(transparent)]
    Setting(#[from] KeyProblem),
}
