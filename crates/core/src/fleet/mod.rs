//! Arrow by arrow, and the kit: is it the archer, one arrow, or the tuning?
//!
//! With numbered arrows over several ends, sessions and distances, [`read`] asks of every arrow whether it lands elsewhere
//! than the others, and whether it scatters more. All places are angles seen from the shooting line, in milliradians (1 mrad
//! is 1 mm for each metre of distance), so that distances can be put together.
//!
//! The model of a shot of arrow `a` in end `e` of session `s`, on each of two uncorrelated axes:
//!
//! ```text
//! y = m_s + d_e + b_a + noise     d_e ~ N(0, rho sigma^2)     noise ~ N(0, kappa own_a sigma^2)
//! b_a ~ N(0, lambda sigma^2)                 for an arrow like the others (0.92 beforehand)
//!     ~ N(0, (lambda + 1/2) sigma^2)         for an odd one (0.08)
//! ```
//!
//! `kappa` is 1, 9 or 100 for a clean shot, a flyer and a stray, with the odds of the group model and the archer's felt
//! marks. Sessions' centres are free. `sigma`, `rho`, the classes and each arrow's own spread are fitted first (restricted
//! maximum likelihood within expectation and maximisation); the offsets, which arrows are odd, how alike the others are
//! (`lambda`) and the scale of `sigma` are then integrated over. The mixture keeps one bad arrow from hiding among twelve by
//! making them all look different.
//!
//! [`compare`] is about two settings, [`tuning`] about bareshafts and groups that walk with distance, [`session`] about
//! fatigue and felt marks; [`crate::stats`] holds the tests these are made of.

mod classes;
pub mod compare;
mod components;
mod ends;
mod posterior;
pub mod session;
pub mod tuning;

use std::collections::BTreeMap;

pub use components::{Components, components};
pub use posterior::{LAMBDA_ODD, MOST_MORE, ODD_SHARE};

use crate::group::ClassOdds;
use crate::plane::{Point, Sym2};
use crate::range::{OutOfRange, within};
use crate::shot::Felt;
use crate::stats::StatsError;
use crate::units::Distance;
use classes::Fit;
use ends::Layout;

/// A fleet has at most this many arrows.
pub const MOST_ARROWS: usize = 72;
/// A fleet is read from at most this many shots.
pub const MOST_SHOTS: usize = 1_000_000;
/// How far off an arrow must be to count as off when nobody says, in units of the archer's spread on one axis: half of it.
/// That arrow alone adds an eighth to the mean square distance of its shots (our choice).
pub const AMOUNT_DEFAULT_SPREADS: f64 = 0.5;
/// False discovery rate when nobody says.
pub const FDR_DEFAULT: f64 = 0.10;

/// A place or an offset as an angle seen from the shooting line, in milliradians.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Offset {
    /// To the right, as the archer sees it.
    pub right_mrad: f64,
    /// Up.
    pub up_mrad: f64,
}

impl Offset {
    /// The place `at` (mm, face frame) of a face at `distance` (small angles).
    #[must_use]
    pub fn from_mm(at: Point, distance: Distance) -> Self {
        Self { right_mrad: at.x_mm / distance.metres(), up_mrad: at.y_mm / distance.metres() }
    }

    /// Where it is on a face at `distance`, in millimetres.
    #[must_use]
    pub fn at(self, distance: Distance) -> Point {
        Point::new(self.right_mrad * distance.metres(), self.up_mrad * distance.metres())
    }

    /// Its size, in milliradians.
    #[must_use]
    pub fn size_mrad(self) -> f64 {
        self.right_mrad.hypot(self.up_mrad)
    }
}

impl From<Offset> for [f64; 2] {
    fn from(o: Offset) -> Self {
        [o.right_mrad, o.up_mrad]
    }
}

impl From<[f64; 2]> for Offset {
    fn from([right_mrad, up_mrad]: [f64; 2]) -> Self {
        Self { right_mrad, up_mrad }
    }
}

/// One shot of a numbered arrow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ArrowShot {
    /// Which session, from 0. A distance or a sight setting of its own is a session of its own.
    pub session: usize,
    /// Which end of that session; any numbers.
    pub end: usize,
    /// Which arrow, from 0.
    pub arrow: usize,
    /// Where it landed.
    pub at: Offset,
    /// What the archer felt.
    pub felt: Felt,
}

/// What is asked of a fleet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Question {
    /// An arrow is off when its offset is larger than this, in milliradians; by default
    /// [`AMOUNT_DEFAULT_SPREADS`] times the spread found.
    pub amount_mrad: Option<f64>,
    /// Share of innocents allowed among the arrows accused.
    pub fdr: f64,
    /// Class odds of a shot that was not marked.
    pub unmarked: ClassOdds,
}

impl Default for Question {
    fn default() -> Self {
        Self { amount_mrad: None, fdr: FDR_DEFAULT, unmarked: ClassOdds::default() }
    }
}

/// Why a fleet cannot be read or settings cannot be compared.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FleetError {
    /// Fewer than two arrows have shots.
    #[error("only {arrows} numbered arrow has shots: name the arrow of every shot, with two arrows or more")]
    OneArrow {
        /// How many there are.
        arrows: usize,
    },
    /// More arrows than a fleet may have.
    #[error("{arrows} arrows are too many: at most {MOST_ARROWS} are compared at once")]
    TooManyArrows {
        /// How many there are.
        arrows: usize,
    },
    /// More shots than are read at once.
    #[error("{shots} shots are too many: at most {MOST_SHOTS} are read at once")]
    TooManyShots {
        /// How many there are.
        shots: usize,
    },
    /// Too few shots for the question.
    #[error("{shots} shots are too few: at least {needed} are needed here")]
    TooFew {
        /// How many there are.
        shots: usize,
        /// How many it takes.
        needed: usize,
    },
    /// Too few ends for the question.
    #[error("{ends} ends are too few: at least {needed} are needed here")]
    TooFewEnds {
        /// How many there are.
        ends: usize,
        /// How many it takes.
        needed: usize,
    },
    /// All shots are in one place or on one line.
    #[error("the shots do not scatter: give measured places, all different")]
    NoSpread,
    /// A number outside its domain.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// Lists that do not fit together.
    #[error("the lists do not fit together: give every place one arrow and one end")]
    Shape,
    /// The fit did not settle.
    #[error(
        "the fit did not settle in {rounds} rounds, still changing by {change:e}: leave out the strays and try again"
    )]
    NotSettled {
        /// How many rounds it took.
        rounds: usize,
        /// The last change of the logarithm of a variance.
        change: f64,
    },
}

impl From<StatsError> for FleetError {
    fn from(error: StatsError) -> Self {
        match error {
            StatsError::TooFew { values, needed } => Self::TooFew { shots: values, needed },
            StatsError::NoSpread => Self::NoSpread,
            StatsError::OutOfRange(e) => Self::OutOfRange(e),
        }
    }
}

/// What is known of one arrow.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// Which arrow.
    pub arrow: usize,
    /// How many shots it had.
    pub shots: usize,
    /// How many of them are expected to be flyers or strays.
    pub flyers: f64,
    /// Posterior mean of its offset from the others.
    pub offset: Offset,
    /// Posterior covariance of that, in mrad^2.
    pub offset_cov_mrad2: Sym2,
    /// Probability that it is off by more than the amount asked about.
    pub p_off: f64,
    /// Probability that it is of the odd kind.
    pub p_odd: f64,
    /// Chance of a difference at least this large if it were exactly like the others (F test, others that are likely odd set
    /// aside).
    pub p_value: f64,
    /// That, adjusted for the number of arrows (Benjamini & Hochberg).
    pub p_adjusted: f64,
    /// Whether it is accused: its `p_off` at the false discovery rate asked for.
    pub accused: bool,
    /// How many more shots of this arrow would settle an unclear case (odds of 19 to 1 either way, in half of the cases);
    /// `None` when it is settled, [`MOST_MORE`] when it takes that many or more.
    pub more_shots: Option<usize>,
    /// Its own spread over the common one: best guess and 80 % interval.
    pub spread_ratio: [f64; 3],
    /// Probability that its own spread is more than a fifth above the common one.
    pub p_wide: f64,
}

/// What is known of a fleet.
#[derive(Debug, Clone, PartialEq)]
pub struct Fleet {
    /// The arrows, in order.
    pub arrows: Vec<Verdict>,
    /// The amount asked about, in milliradians.
    pub amount_mrad: f64,
    /// Covariance of one clean shot of one arrow within an end, in mrad^2.
    pub within_mrad2: Sym2,
    /// Covariance between the arrows (REML), in mrad^2.
    pub between_mrad2: Sym2,
    /// Covariance between the ends of a session, in mrad^2.
    pub ends_mrad2: Sym2,
    /// Probability that no arrow is of the odd kind.
    pub p_none_odd: f64,
    /// Class probabilities of every shot, in the order given.
    pub classes: Vec<[f64; 3]>,
    /// How many sessions and ends there were.
    pub sessions: usize,
    /// How many ends there were.
    pub ends: usize,
}

impl Fleet {
    /// Standard deviation of one clean shot of one arrow, root mean square over both axes, in milliradians.
    #[must_use]
    pub fn spread_mrad(&self) -> f64 {
        self.within_mrad2.mean_sd()
    }
}

/// Numbers sessions, ends and arrows without gaps; the arrows in their order.
fn lay_out(shots: &[ArrowShot]) -> (Layout, Vec<usize>) {
    let mut arrows = BTreeMap::new();
    let mut sessions = BTreeMap::new();
    let mut ends = BTreeMap::new();
    for s in shots {
        arrows.insert(s.arrow, 0);
        sessions.insert(s.session, 0);
        ends.insert((s.session, s.end), 0);
    }
    arrows.values_mut().enumerate().for_each(|(i, v)| *v = i);
    sessions.values_mut().enumerate().for_each(|(i, v)| *v = i);
    ends.values_mut().enumerate().for_each(|(i, v)| *v = i);
    let session_of_end = ends.keys().map(|(session, _)| sessions[session]).collect();
    let end = shots.iter().map(|s| ends[&(s.session, s.end)]).collect();
    let arrow = shots.iter().map(|s| arrows[&s.arrow]).collect();
    (Layout::new(arrows.len(), session_of_end, end, arrow), arrows.into_keys().collect())
}

/// Checks places and number of shots.
fn check(shots: &[ArrowShot]) -> Result<(), FleetError> {
    if shots.len() > MOST_SHOTS {
        return Err(FleetError::TooManyShots { shots: shots.len() });
    }
    for s in shots {
        within("a place in mrad", s.at.right_mrad, "", -1e5, 1e5)?;
        within("a place in mrad", s.at.up_mrad, "", -1e5, 1e5)?;
    }
    Ok(())
}

fn fit(shots: &[ArrowShot], unmarked: ClassOdds) -> Result<(Fit, Vec<usize>), FleetError> {
    let (layout, names) = lay_out(shots);
    let at: Vec<Offset> = shots.iter().map(|s| s.at).collect();
    let odds: Vec<ClassOdds> = shots.iter().map(|s| unmarked.felt(s.felt)).collect();
    Ok((Fit::new(layout, &at, &odds)?, names))
}

/// Reads a fleet.
///
/// - meaning: for each arrow its offset from the others and the probability that it is off;
/// - units and frame: milliradians, right and up as seen; an offset is where the arrow lands less where the others land;
/// - domain: two to [`MOST_ARROWS`] arrows, at most [`MOST_SHOTS`] shots, three more shots than sessions, an amount of 0.001 to
///   100 mrad, a rate of 0.001 to 0.5;
/// - limits: the variance of the ends relative to a shot's, the class weights and the own spreads are plugged in.
///
/// # Errors
/// [`FleetError`].
pub fn read(shots: &[ArrowShot], question: &Question) -> Result<Fleet, FleetError> {
    check(shots)?;
    within("the false discovery rate", question.fdr, "", 0.001, 0.5)?;
    if let Some(amount) = question.amount_mrad {
        within("the amount in mrad", amount, "", 0.001, 100.0)?;
    }
    let arrows = shots.iter().map(|s| s.arrow).collect::<std::collections::BTreeSet<_>>().len();
    if arrows < 2 {
        return Err(FleetError::OneArrow { arrows });
    }
    if arrows > MOST_ARROWS {
        return Err(FleetError::TooManyArrows { arrows });
    }
    let (fit, names) = fit(shots, question.unmarked)?;
    posterior::read(&fit, &names, question)
}

#[cfg(test)]
mod tests;
