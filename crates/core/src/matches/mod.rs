//! Matches: two archers, arrow for arrow, where the chance to win counts and not the points.
//!
//! A [`Format`] says how a match is counted, as data: sets (so many points to who makes the better end, one each where they are level,
//! over at so many) or the sum of all arrows; a single arrow nearest to the centre decides where both are level at the end. [`chance`] is the
//! chance to win when every arrow of either archer is drawn by itself: exact dynamic programming over the ends with the
//! probabilities of points ([`Points`]) that the score machinery gives. [`plan`](fn@plan) is the chance to win of touching the sight now, of waiting
//! and of leaving it, where what is not known of the centre is shared by all arrows to come; [`advise`] decides by it.
//! [`rehearsal`] plays whole matches under rules of thumb and under Goldward's own.
//!
//! Exact: the probabilities of points, their sums, the sets, the level ends, the single arrow. Not exact, as in the plan by points:
//! spread and centre are round, the spread is taken at its mean, what is learnt until a later touch is the variance that will be
//! left, and a later touch happens after an end that is chosen by the standing. The centre's error (and the offset that the shots of
//! an end share) is summed over nodes of a quadrature, not drawn anew with every arrow.
//!
//! ```
//! use goldward_core::face::Face;
//! use goldward_core::group::ClassOdds;
//! use goldward_core::matches::{Arrow, Format, Standing, Verdict, chance};
//! use goldward_core::score::Rings;
//! use goldward_core::units::Shaft;
//!
//! let rings = Rings::new(Face::named("122")?, Shaft::default());
//! let sets = Format::named("sets").ok_or("no such match")?.with(5, 3, Some(6))?;
//! // Two archers of the same spread, 120 mm, each with the sight on the middle.
//! let arrow = Arrow::shot(&rings, ClassOdds::default(), 0.0, 120.0 * 120.0);
//! assert!((chance(&rings, &sets, &Standing::default(), &arrow, &arrow) - 0.5).abs() < 1e-9);
//! // A set ahead is worth having; three of them are the match.
//! let ahead = Standing::after(&sets, [(28, 26)]);
//! assert!(chance(&rings, &sets, &ahead, &arrow, &arrow) > 0.6);
//! assert_eq!(Standing::after(&sets, [(28, 26); 3]).verdict(&sets), Verdict::Won);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

use crate::range::OutOfRange;

mod advise;
mod arrow;
mod board;
mod curve;
mod format;
mod opponent;
mod plan;
mod points;
pub mod rehearsal;

pub use advise::{LEAST_GAIN, MatchAdvice, advise};
pub use arrow::{Arrow, Part, nearer};
pub use board::chance;
pub use format::{Count, EDITION, FORMATS, Format, Side, Standing, Verdict};
pub use opponent::{Opponent, STRENGTH_WORTH};
pub use plan::{Duel, MatchPlan, plan};
pub use points::Points;

/// Why a match cannot be reckoned with.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MatchError {
    /// Numbers that are no probabilities of 0, 1, ... points.
    #[error(
        "these are not the probabilities of 0, 1, ... points: they must not be negative and add up to 1, not {sum}"
    )]
    NoProbabilities {
        /// What they add up to.
        sum: f64,
    },
    /// A number outside its domain.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
}
