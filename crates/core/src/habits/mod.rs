//! An archer's own habits, learnt from earlier sessions: how often a shot goes astray, where this archer's bad shots go, and how well
//! they feel them.
//!
//! Every shot of an earlier session is clean, a bad one (the class of flyers) or a stray, about the centre of its own session and end.
//! What archers have in common is the prior, so that little evidence says little:
//!
//! ```text
//! classes of unmarked, felt-bad and felt-good shots    Dirichlet about the usual odds, worth 40, 10 and 10 shots
//! where bad shots go, windage and elevation each       mean ~ N(0, K / 2)     K ~ inverse-gamma(3, 12)       in spreads
//! ```
//!
//! so that without history a bad shot is normal about the centre with nine times the variance of a clean one, as the model of a group
//! has it. A session counts less the older it is. The posterior is approximated by variational Bayes (`fit`), and what is told to the
//! group model is the odds' mean, and for a bad shot the mean and the variance with what is not known of either in it.
//!
//! How often a session's group is two, or has moved once, is learnt in `patterns` from the clean shots that are left.
//!
//! What a touch of the sight gives and how precisely it is set, and how the archer drifts from end to end, are learnt in `course`; how far the
//! spread of one day is from that of the others in `days`.
//!
//! The numbers of the prior are argued, no source; `docs/design/habits.md` says what they are worth.

mod cell;
mod course;
mod days;
mod fit;
mod patterns;
mod seen;

pub use course::{Course, CourseSeen, CourseTold, Gives, Step, Stretch, learn_course};
pub use days::{DaySeen, Days, learn_days};
pub use patterns::Patterns;
pub use seen::{SeenShot, SessionSeen};

use crate::group::{ClassOdds, ClassShape, EndEffect, GroupError};
use crate::plane::Point;
use crate::shot::Felt;

/// What the usual odds of an unmarked shot are worth, in shots: the share of flyers of two archers in three lies between 4 % and 12 %.
pub const UNMARKED_WORTH: f64 = 40.0;
/// The same of shots that felt bad or good.
pub const FELT_WORTH: f64 = 10.0;

/// Fewer bad ones than this tell no side.
const FEWEST_BAD: f64 = 3.0;
/// So many standard deviations from the centre a side is told: nine times in ten it is one.
const SIDE_FROM: f64 = 1.645;

/// Where one side of an axis is concerned: how far bad shots go there, and how sure that is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Along {
    /// Mean, in spreads.
    pub mean: f64,
    /// What is not known of it, one standard deviation, in spreads.
    pub sd: f64,
    /// Variance of a bad shot about where it is expected, in units of a clean shot's, with what is not known of the mean.
    pub factor: f64,
}

impl Along {
    /// Whether bad shots go to one side rather than to the other, nine times in ten.
    #[must_use]
    pub fn has_side(&self) -> bool {
        self.mean.abs() > SIDE_FROM * self.sd
    }
}

/// Of some shots: how many there were, and how many of them are thought to have been bad ones or strays.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Count {
    /// Shots.
    pub shots: usize,
    /// Expected bad ones.
    pub bad: f64,
    /// Expected strays.
    pub strays: f64,
}

/// What is known of an archer's habits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Habits {
    /// Sessions it is from.
    pub sessions: usize,
    /// What unmarked shots, those that felt bad and those that felt good turned out to be.
    pub counts: [Count; 3],
    /// Odds of clean, flyer and stray of unmarked shots, those that felt bad and those that felt good.
    pub odds: [[f64; 3]; 3],
    /// Where bad shots go, windage and elevation.
    pub along: [Along; 2],
    /// The spread of clean shots over what the usual odds make of the same shots: to be multiplied with a spread that was learnt so.
    pub spread_ratio: f64,
    /// How often their groups are two, or have moved once.
    pub patterns: Patterns,
}

impl Habits {
    /// What is assumed of an archer without history.
    #[must_use]
    pub fn usual() -> Self {
        let usual = ClassOdds::default();
        let factor = ClassShape::USUAL_FLYERS.factors[0];
        Self {
            sessions: 0,
            counts: [Count::default(); 3],
            odds: [Felt::Unmarked, Felt::Bad, Felt::Good].map(|f| usual.felt(f).get()),
            along: [Along { mean: 0.0, sd: fit::Normal::PRIOR.mean_sd(), factor }; 2],
            spread_ratio: 1.0,
            patterns: Patterns::USUAL,
        }
    }

    /// All shots together.
    #[must_use]
    pub fn all(&self) -> Count {
        self.counts.iter().fold(Count::default(), |a, b| Count {
            shots: a.shots + b.shots,
            bad: a.bad + b.bad,
            strays: a.strays + b.strays,
        })
    }

    /// Whether bad shots go to one side; nothing is said of it where there are fewer than three.
    #[must_use]
    pub fn has_side(&self) -> bool {
        self.all().bad >= FEWEST_BAD && self.along.iter().any(Along::has_side)
    }

    /// Share of shots that go astray, of those that are shot: marked or not.
    #[must_use]
    pub fn bad_share(&self) -> f64 {
        let total: f64 = self.counts.iter().map(|c| c.shots as f64).sum();
        if total <= 0.0 {
            return self.odds[0][1] + self.odds[0][2];
        }
        self.counts.iter().zip(self.odds).map(|(c, o)| c.shots as f64 * (o[1] + o[2])).sum::<f64>() / total
    }

    /// The class odds of this archer, whose clean spread on the face is `spread_mm`.
    ///
    /// # Errors
    /// [`GroupError`] when the numbers cannot be.
    pub fn class_odds(&self, spread_mm: f64) -> Result<ClassOdds, GroupError> {
        let [unmarked, bad, good] = self.odds;
        let [x, y] = self.along;
        ClassOdds::new(unmarked)?.with_marks(ClassOdds::new(bad)?, ClassOdds::new(good)?).with_bad_shots(ClassShape {
            mean_mm: Point::new(x.mean * spread_mm, y.mean * spread_mm),
            factors: [x.factor, y.factor],
        })
    }
}

/// The habits that `sessions` show, each with its weight (1 counts in full) and what the shots of its ends share; the usual ones of none.
#[must_use]
pub fn learn(sessions: &[(&SessionSeen, f64, EndEffect)]) -> Habits {
    fit::learn(sessions)
}

/// Places of the three marks in lists: unmarked, bad, good.
fn mark(felt: Felt) -> usize {
    match felt {
        Felt::Unmarked => 0,
        Felt::Bad => 1,
        Felt::Good => 2,
    }
}
