//! When to touch the sight: pacing a practice, sighting ends and a scoring round.
//!
//! [`Pace`] carries one distance event by event and answers after each: what the group says, whether to touch now, wait or
//! leave, and the points expected of each. [`rehearsal`] plays whole rounds of a simulated archer under fixed rules and
//! under Goldward's own, so that anyone can see what a rule costs. [`Filter`] is the knowledge of the rehearsed rounds, [`plan`](fn@plan) the
//! weighing behind both.
//!
//! ```
//! use goldward_core::advice::Action;
//! use goldward_core::face::Face;
//! use goldward_core::group::{Prior, TRUST_UNKNOWN};
//! use goldward_core::pace::{Event, Pace, Settings};
//! use goldward_core::shot::Shot;
//! use goldward_core::sight::Sight;
//! use goldward_core::units::{Distance, Shaft, Spread};
//!
//! let distance = Distance::from_metres(70.0)?;
//! let prior = Prior::new(Spread::from_mrad(2.1)?, distance, 20.0, TRUST_UNKNOWN)?;
//! let settings = Settings::new(distance, Face::named("122")?, Shaft::default(), Sight::default(), prior, 72);
//! let mut pace = Pace::new(settings);
//! // On a mark that nobody knows three arrows far below say enough, and the answer changes with what was done.
//! for (x, y) in [(-30.0, -420.0), (40.0, -390.0), (10.0, -450.0)] {
//!     pace.take(Event::Shot(Shot::at(x, y)))?;
//! }
//! let answer = pace.answer()?;
//! assert_eq!((answer.advice.action, answer.shots_left), (Action::Move, 69));
//! pace.take(Event::Touch(answer.advice.pin_mm))?;
//! assert!(pace.answer()?.reading.centre.y_mm.abs() < 60.0);
//! pace.undo()?;
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod distances;
pub mod drift;
pub mod hindsight;
pub mod rehearsal;
mod state;

pub use crate::advice::{Outlook, Plan, Reason, ShotAhead, plan};
pub use crate::group::{Filter, JUMP_A_SHOT, Summary};
pub use state::{Answer, Event, Pace, PaceError, Settings};

/// Drift assumed between ends without history, one standard deviation an axis, in milliradians (common practice, no source:
/// light, wind and tiring move a club archer's group by about a tenth of a milliradian an end).
pub const DRIFT_DEFAULT_MRAD: f64 = 0.1;

/// How long a touch takes, and the time that must be left in an end for one, in seconds; with an edition since rules change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TimeRule {
    /// Which rules.
    pub edition: &'static str,
    /// Time for one arrow, in seconds.
    pub seconds_an_arrow: f64,
    /// Time that a touch takes, in seconds (common practice, no source).
    pub seconds_a_touch: f64,
}

/// Thirty seconds an arrow in an end (World Archery 2024; `docs/sources.md`); ten for a touch.
pub static DEFAULT_TIME: TimeRule =
    TimeRule { edition: "World Archery 2024", seconds_an_arrow: 30.0, seconds_a_touch: 10.0 };
