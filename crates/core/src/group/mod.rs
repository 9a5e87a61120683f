//! The model of a group: what kind of process made it, which shots belong, where its centre is.
//!
//! Shots `z_1 .. z_n` in the face frame, oldest first. A hypothesis names a *pattern*, the class of every shot (clean,
//! flyer, stray) and, where the pattern has them, the label of every shot or the shot at which the jump came. The shots of an
//! end share an offset. Given a hypothesis, and which part of a robust [`Prior`] holds, the shots follow a weighted
//! matrix-normal regression with an inverse-Wishart prior on the spread, so its posterior and its evidence are closed forms
//! (see `evidence.rs` for the formula and its source). Up to
//! [`EXACT_SHOTS`] shots every hypothesis is visited; beyond, a search carries the likely ones from shot to shot, merges
//! those that say the same, and reports the probability it had to drop.
//!
//! ```
//! use goldward_core::face::Face;
//! use goldward_core::group::{Class, ClassOdds, Pattern, Prior, read};
//! use goldward_core::shot::Shot;
//! use goldward_core::units::Shaft;
//!
//! // An archer of 60 mm, worth 20 arrows; six together and one that got away.
//! let prior = Prior::on_face(60.0, 20.0, 1.0)?;
//! let places = [(10.0, 95.0), (-40.0, 130.0), (35.0, 60.0), (-15.0, 80.0), (420.0, -300.0), (20.0, 150.0), (-50.0, 110.0)];
//! let shots: Vec<Shot> = places.iter().map(|&(x, y)| Shot::at(x, y)).collect();
//! let reading = read(&shots, &prior, ClassOdds::default(), Face::named("122")?, Shaft::default())?;
//! assert!(reading.probability(Pattern::Steady) > 0.5 && reading.class(4) != Class::Clean);
//! assert!(reading.centre.x_mm.abs() < 20.0 && reading.centre.y_mm > 70.0);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod axis;
pub(crate) mod cells;
mod classes;
mod ends;
mod evidence;
mod exact;
mod lattice;
mod predictive;
mod prior;
pub mod spread;
mod steady;
mod tally;

pub use classes::{ClassOdds, ClassShape, KAPPA};
pub(crate) use ends::weighed;
pub use ends::{EndsSeen, learn_ends};
pub use lattice::Memory;
pub use predictive::{Component, Predictive, Row};
pub(crate) use prior::KNOCKED;
pub use prior::{
    Doubt, EndEffect, Prior, SPREAD_DEFAULT_MRAD, TRUST_PREDICTED, TRUST_UNKNOWN, TRUST_VERIFIED, WORTH_DEFAULT,
};
pub use steady::{Filter, JUMP_A_SHOT, Summary};

use crate::face::Face;
use crate::plane::{Point, Sym2};
use crate::range::{OutOfRange, within};
use crate::shot::{CallError, Felt, Place, Ring, Shot};
use crate::units::Shaft;

/// Up to this many shots the sum over all hypotheses is exact.
pub const EXACT_SHOTS: usize = 9;

/// A reading takes at most this many shots.
pub const MOST_SHOTS: usize = 144;

/// Strings of more shots than this are searched with less effort.
const LONG: usize = 24;

/// Why a group could not be read.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum GroupError {
    /// More shots than one reading takes.
    #[error("{shots} shots are more than one reading takes: keep the latest {MOST_SHOTS}")]
    TooManyShots {
        /// How many there were.
        shots: usize,
    },
    /// A position is not a number, or absurdly far out.
    #[error("shot {shot} is at {x_mm}, {y_mm} mm: positions must be numbers within 100 m of the centre")]
    Position {
        /// Which shot, counted from 1.
        shot: usize,
        /// As given.
        x_mm: f64,
        /// As given.
        y_mm: f64,
    },
    /// A call that the face does not have.
    #[error("shot {shot}: {source}")]
    Call {
        /// Which shot, counted from 1.
        shot: usize,
        /// What is wrong with it.
        source: CallError,
    },
    /// Class probabilities that are none.
    #[error(
        "{}, {} and {} are not the probabilities of clean, flyer and stray: three numbers from 0 to 1 that add up to 1",
        odds[0], odds[1], odds[2]
    )]
    ClassOdds {
        /// As given.
        odds: [f64; 3],
    },
    /// A number outside its domain.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
}

/// What kind of process made a group.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Pattern {
    /// One process that stays where it is.
    Steady,
    /// Two processes that take turns.
    Split,
    /// A process that moves slowly from the first shot to the last.
    Drifting,
    /// A process that moved once.
    Jumped,
}

impl Pattern {
    /// All patterns, in the order in which arrays hold them.
    pub const ALL: [Self; 4] = [Self::Steady, Self::Split, Self::Drifting, Self::Jumped];

    /// Its name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Steady => "steady",
            Self::Split => "split",
            Self::Drifting => "drifting",
            Self::Jumped => "jumped",
        }
    }

    /// Fewest shots that can show it.
    const fn allowed_from(self) -> usize {
        match self {
            Self::Steady => 0,
            Self::Split => 4,
            Self::Drifting | Self::Jumped => 6,
        }
    }

    /// Prior precision of the second coefficient, given the spread; 1 for `steady`, whose rows have a zero there.
    const fn second_precision(self) -> f64 {
        match self {
            Self::Steady => 1.0,
            Self::Split | Self::Jumped => 1.0 / 25.0,
            Self::Drifting => 1.0 / 9.0,
        }
    }

    /// How many of `n` shots, as many as every hypothesis is visited of, may be flyer or stray.
    fn cap(self, n: usize) -> usize {
        match self {
            Self::Steady => n,
            _ => 1,
        }
    }
}

/// Each of two groups has at least this many shots: one shot apart is a flyer or a stray.
const GROUP_SIZE: usize = 2;

/// A jump leaves at least this many shots to each side: what two shots in a row say of a jump, two flyers say as well, and in
/// any order.
const JUMP_SIDE: usize = 3;

/// The shots before which the jump of a string of `n` may have come.
fn jump_places(n: usize) -> std::ops::RangeInclusive<usize> {
    JUMP_SIDE..=n - JUMP_SIDE
}

/// How often a group is of each pattern, in the order of [`Pattern::ALL`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PatternOdds([f64; 4]);

impl PatternOdds {
    /// Of an archer without history (common practice, no source).
    pub const USUAL: Self = Self([0.86, 0.08, 0.03, 0.03]);

    /// Of an archer whose groups are two, and have moved once, in such shares of the strings.
    ///
    /// # Errors
    /// [`GroupError::OutOfRange`]: each share must lie in 0.001 to 0.4.
    pub fn new(splits: f64, jumps: f64) -> Result<Self, GroupError> {
        within("the share of groups that are two", splits, "", 0.001, 0.4)?;
        within("the share of groups that moved", jumps, "", 0.001, 0.4)?;
        let drifts = Self::USUAL.0[2];
        Ok(Self([1.0 - splits - drifts - jumps, splits, drifts, jumps]))
    }

    /// The odds.
    #[must_use]
    pub fn get(self) -> [f64; 4] {
        self.0
    }

    /// In which shares of the strings the group is two, and has moved once, as [`Self::new`] takes them.
    #[must_use]
    pub fn shares(self) -> [f64; 2] {
        let [_, splits, _, jumps] = self.0;
        [splits, jumps]
    }

    /// Their logarithms for the patterns that `n` shots can show, of which one it is; minus infinity for the others.
    fn log(self, n: usize) -> [f64; 4] {
        let allowed = |p: &Pattern| n >= p.allowed_from();
        let total: f64 = Pattern::ALL.iter().filter(|p| allowed(p)).map(|p| self.0[*p as usize]).sum();
        Pattern::ALL.map(|p| if allowed(&p) { (self.0[p as usize] / total).ln() } else { f64::NEG_INFINITY })
    }
}

/// Shots as the search takes them: exact positions in the frame of the present setting.
struct Points<'a> {
    places: &'a [Point],
    felt: &'a [Felt],
    before: &'a [Before],
    prior: &'a Prior,
    unmarked: ClassOdds,
    /// Variance of an end's offset along each axis, in units of the spread.
    end: [f64; 2],
}

/// What happened just before a shot.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
struct Before {
    /// It is the first of another end.
    new_end: bool,
    /// Touches and drift have loosened the centre by this variance, in units of the spread.
    loosened: f64,
}

/// How many ends each of the shots has before it.
fn ends_before(shots: &[Shot]) -> Vec<u32> {
    let mut before = 0;
    let of = |i: usize| {
        before += u32::from(i > 0 && shots[i].end != shots[i - 1].end);
        before
    };
    (0..shots.len()).map(of).collect()
}

/// What happened before each of the shots.
fn befores(shots: &[Shot], prior: &Prior) -> Vec<Before> {
    let drift = prior.drift_mm() * prior.drift_mm();
    let of = |i: usize| {
        let new_end = i > 0 && shots[i].end != shots[i - 1].end;
        let wandered = if new_end { drift } else { 0.0 };
        Before { new_end, loosened: prior.in_spreads(shots[i].loosened_mm2 + wandered) }
    };
    (0..shots.len()).map(of).collect()
}

impl Points<'_> {
    /// Log class probabilities of shot `i` under `pattern`. A shot marked bad has the unmarked ones in `split`, since the
    /// second group is its explanation there.
    fn log_classes(&self, i: usize, pattern: Pattern) -> [f64; 3] {
        let odds = match self.felt[i] {
            Felt::Bad if pattern == Pattern::Split => self.unmarked,
            felt => self.unmarked.felt(felt),
        };
        odds.get().map(f64::ln)
    }
}

/// What is made of one shot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Class {
    /// It belongs to the group that the advice is about.
    Clean,
    /// It belongs to the second of two groups, or to the time before the jump.
    Other,
    /// It flew wide of the group.
    Flyer,
    /// It does not belong to any.
    Stray,
}

impl Class {
    /// All of them, in the order in which they are listed.
    pub const ALL: [Self; 4] = [Self::Clean, Self::Other, Self::Flyer, Self::Stray];

    /// Its name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Clean => "clean",
            Self::Other => "other",
            Self::Flyer => "flyer",
            Self::Stray => "stray",
        }
    }
}

/// What keeps shots from telling how far the sight is off, and to which side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Bar {
    /// All of them missed the face.
    OnlyMisses,
    /// Only rings without a clock: the centre is the middle by symmetry, not by evidence.
    NoSide,
    /// All of them felt bad.
    OnlyBad,
}

/// What bars these shots, if anything.
fn bar(shots: &[Shot]) -> Option<Bar> {
    let call = |s: &Shot| match s.place {
        Place::Called(call) => Some(call),
        Place::At(_) => None,
    };
    let all = |f: &dyn Fn(&Shot) -> bool| !shots.is_empty() && shots.iter().all(f);
    if all(&|s| call(s).is_some_and(|c| c.ring == Ring::Miss)) {
        Some(Bar::OnlyMisses)
    } else if all(&|s| call(s).is_some_and(|c| c.clock.is_none()) && s.carry == Point::default()) {
        Some(Bar::NoSide)
    } else if all(&|s| s.felt == Felt::Bad) {
        Some(Bar::OnlyBad)
    } else {
        None
    }
}

/// What the shots say.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// How many shots were read.
    pub shots: usize,
    /// Posterior mean of the centre of the next shot's process, in the frame of the present setting, in millimetres; in the next end, where
    /// the archer is known to drift from end to end.
    pub centre: Point,
    /// Its covariance, in mm^2.
    pub centre_cov: Sym2,
    /// Posterior mean of the covariance of one clean shot, in mm^2.
    pub spread: Sym2,
    /// For each shot the probabilities of clean, flyer and stray.
    pub p_class: Vec<[f64; 3]>,
    /// Where each shot was, or for a call its mean place, in the frame of the present setting.
    pub places: Vec<Point>,
    /// Probabilities of the patterns, in the order of [`Pattern::ALL`].
    pub pattern: [f64; 4],
    /// For each shot the probability that it belongs to the other group than the first shot, given that the pattern is
    /// `split`; empty when `split` was not allowed.
    pub other_group: Vec<f64>,
    /// For each shot the probability that the jump came just before it, given that the pattern is `jumped`; empty when
    /// `jumped` was not allowed.
    pub jump_before: Vec<f64>,
    /// Log evidence of each pattern, without its prior odds; minus infinity where not allowed. A density in mm^-2 a shot;
    /// for called shots, whose cells are averaged over, relative to the whole reading only.
    pub log_evidence: [f64; 4],
    /// Probability of the hypotheses that the search dropped; 0 when the sum was exact.
    pub dropped_mass: f64,
    /// Of called shots that were averaged over by draws: how many equally weighted draws they are worth; nothing where no
    /// draws were needed.
    pub effective_draws: Option<f64>,
    /// What keeps the shots from telling how far the sight is off, and to which side.
    pub bar: Option<Bar>,
    /// The predictive distribution of the shots to come.
    pub next: Predictive,
}

impl Reading {
    /// Probability of `pattern`.
    #[must_use]
    pub fn probability(&self, pattern: Pattern) -> f64 {
        self.pattern[pattern as usize]
    }

    /// The most probable pattern.
    #[must_use]
    pub fn likeliest(&self) -> Pattern {
        Pattern::ALL
            .into_iter()
            .max_by(|a, b| self.probability(*a).total_cmp(&self.probability(*b)))
            .unwrap_or(Pattern::Steady)
    }

    /// What is made of shot `i` (from 0): a stray when that is the likeliest of the three; a flyer when it is likelier to have
    /// strayed (a little or far) than not; otherwise clean, or of the other group where the likeliest pattern has one.
    ///
    /// Every list, drawing and notice asks here, so that all say the same.
    #[must_use]
    pub fn class(&self, i: usize) -> Class {
        let [clean, flyer, stray] = self.p_class.get(i).copied().unwrap_or([1.0, 0.0, 0.0]);
        if stray > clean && stray > flyer {
            Class::Stray
        } else if flyer + stray > 0.5 {
            Class::Flyer
        } else if self.is_elsewhere(i) {
            Class::Other
        } else {
            Class::Clean
        }
    }

    /// Whether shot `i` (from 0) is of the second of two groups, or from before the jump, by the likeliest pattern.
    #[must_use]
    pub fn is_elsewhere(&self, i: usize) -> bool {
        match self.likeliest() {
            Pattern::Split => self.other_group.get(i).is_some_and(|p| *p > 0.5),
            Pattern::Jumped => self.jumped_before().is_some_and(|j| i < j),
            Pattern::Steady | Pattern::Drifting => false,
        }
    }

    /// The likeliest first shot after the jump (from 0); nothing where a jump was not allowed.
    #[must_use]
    pub fn jumped_before(&self) -> Option<usize> {
        let p = &self.jump_before;
        (0..p.len()).max_by(|a, b| p[*a].total_cmp(&p[*b]))
    }

    /// Expected number of clean shots.
    #[must_use]
    pub fn clean_shots(&self) -> f64 {
        self.p_class.iter().map(|p| p[0]).sum()
    }
}

/// Reads a group.
///
/// `shots` oldest first, each in the frame it was shot in with its `carry` to the present setting; calls are cells of
/// `face` for an arrow of `shaft` and are averaged over, weighted by the evidence. No shots at all give back the prior.
///
/// # Errors
/// [`GroupError`]: more than [`MOST_SHOTS`] shots, a position that is no number, a call that the face does not have.
pub fn read(
    shots: &[Shot],
    prior: &Prior,
    unmarked: ClassOdds,
    face: &Face,
    shaft: Shaft,
) -> Result<Reading, GroupError> {
    read_on(shots, prior, unmarked, face, shaft, &mut Memory::default())
}

/// As [`read`], carrying on in `memory` where the latest reading with it began with the same shots. The reading is the same to the
/// last digit.
///
/// # Errors
/// As [`read`].
pub fn read_on(
    shots: &[Shot],
    prior: &Prior,
    unmarked: ClassOdds,
    face: &Face,
    shaft: Shaft,
    memory: &mut Memory,
) -> Result<Reading, GroupError> {
    if shots.len() > MOST_SHOTS {
        return Err(GroupError::TooManyShots { shots: shots.len() });
    }
    let felt: Vec<Felt> = shots.iter().map(|s| s.felt).collect();
    // The closed forms expect the centre at the origin; an earlier posterior is brought there and back, and so is each end by what the
    // archer is known to drift.
    let (origin, ends) = (prior.centre(), ends_before(shots));
    let lead = |end: u32| origin + prior.end_drift_mm() * f64::from(end);
    let mut places = Vec::with_capacity(shots.len());
    let mut cells = Vec::new();
    for (i, shot) in shots.iter().enumerate() {
        match shot.place {
            Place::At(p) => {
                let carried = p - shot.carry;
                if !carried.is_finite() || carried.radius_mm() > 100_000.0 {
                    return Err(GroupError::Position { shot: i + 1, x_mm: p.x_mm, y_mm: p.y_mm });
                }
                places.push(carried - lead(ends[i]));
            }
            Place::Called(call) => {
                let cell = call.cell(face, shaft).map_err(|source| GroupError::Call { shot: i + 1, source })?;
                cells.push(cells::Placed { shot: i, cell, carry: shot.carry + lead(ends[i]) });
                places.push(Point::default());
            }
        }
    }
    let before = befores(shots, prior);
    let end = prior.end_effect().variances();
    let points = |places| Points { places, felt: &felt, before: &before, prior, unmarked, end };
    let mut reading = if !cells.is_empty() {
        cells::read_cells(places, &felt, &before, &cells, prior, unmarked)
    } else if places.len() <= EXACT_SHOTS {
        exact::read(&points(&places), places.len())
    } else {
        // A long string tells so much that half the search finds it.
        let effort = if places.len() > LONG { lattice::Effort::Long } else { lattice::Effort::Full };
        let rounded: Vec<Point> = places.iter().map(|p| rounded(*p)).collect();
        Reading { places, ..lattice::read(&points(&rounded), effort, memory) }
    };
    // The shots to come are of the next end.
    let next = lead(ends.last().map_or(0, |e| e + 1));
    if origin != Point::default() || prior.end_drift_mm() != Point::default() {
        reading.centre = reading.centre + next;
        reading.places.iter_mut().zip(&ends).for_each(|(p, end)| *p = *p + lead(*end));
        reading.next.parts.iter_mut().flat_map(|p| &mut p.rows).for_each(|r| r.mean = r.mean + next);
    }
    reading.bar = bar(shots);
    Ok(reading)
}

/// To the next 2^-30 mm: a touch moves all shots and the prior with them, which leaves their difference the same but for its last
/// digits, and so the same altogether, for [`Memory`].
fn rounded(p: Point) -> Point {
    const GRID: f64 = (1_u64 << 30) as f64;
    Point::new((p.x_mm * GRID).round() / GRID, (p.y_mm * GRID).round() / GRID)
}
