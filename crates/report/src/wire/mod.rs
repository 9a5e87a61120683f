//! The answers as JSON, for every door that hands out objects. The keys are a contract; see `docs/formats.md`.

pub mod duel;
pub mod fleet;
pub mod marks;
pub mod rehearsal;

use goldward_core::advice::{Advice, Proposal};
use goldward_core::group::Pattern;
use goldward_core::notice::{Notice, Weight};
use goldward_core::plane::{Point, Sym2};
use goldward_journal as journal;
use goldward_session::answer::Answer;
use goldward_session::marks::refined::{Refined, WrongSet};
use serde::Serialize;

use self::duel::MatchOut;
use crate::words::{self, Language};

/// Version of the JSON that is written.
pub const SCHEMA: u8 = 1;

fn pair(p: Point) -> [f64; 2] {
    // Adding nothing turns a negative zero into a plain one.
    [p.x_mm + 0.0, p.y_mm + 0.0]
}

/// To a picometre, so that three clicks of 0.1 mm are 0.3 mm.
fn rounded(p: Point) -> [f64; 2] {
    pair(p).map(|x| (x * 1e9).round() / 1e9 + 0.0)
}

/// A symmetric matrix as rows.
#[must_use]
pub fn rows(m: Sym2) -> [[f64; 2]; 2] {
    [[m.xx, m.xy], [m.xy, m.yy]]
}

/// One line of the answer.
#[derive(Debug, Serialize)]
pub struct ReadingOut<'a> {
    /// [`SCHEMA`].
    pub schema: u8,
    /// How many shots were read.
    pub shots: usize,
    /// Centre of the next shot's process, in the frame of the present setting.
    pub centre_mm: [f64; 2],
    /// Its covariance.
    pub centre_cov_mm2: [[f64; 2]; 2],
    /// Covariance of a clean shot.
    pub spread_cov_mm2: [[f64; 2]; 2],
    /// For each shot the probabilities of clean, flyer and stray.
    pub p_class: &'a [[f64; 3]],
    /// Probabilities of the patterns.
    pub pattern: PatternOut,
    /// Probability of what the search dropped.
    pub dropped_mass: f64,
    /// What to do.
    pub advice: AdviceOut,
    /// Expected score of the next shot with the sight as it is.
    pub expected_score_now: f64,
    /// What to know beside it.
    pub notices: Vec<NoticeOut>,
    /// The rule of thumb, for comparison; only where asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mean_rule: Option<ProposalOut>,
    /// The elevation through the flight; only where marks were given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub elevation_refined: Option<RefinedOut>,
    /// The mark that seems to be set instead; only where marks were given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wrong_mark: Option<WrongSetOut>,
    /// What was remarked of the session, as the log has it; only of one from a log.
    #[serde(skip_serializing_if = "<[_]>::is_empty")]
    pub notes: &'a [journal::Note],
    /// The match as it stands, and the chances to win it; only of a match.
    #[serde(rename = "match", skip_serializing_if = "Option::is_none")]
    pub duel: Option<MatchOut>,
}

/// The elevation of a move through the flight.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct RefinedOut {
    /// Up at the pin through the flight, in millimetres.
    pub pin_up_mm: f64,
    /// The same in whole clicks.
    pub clicks_up: i32,
    /// Up at the pin by similar triangles, in millimetres.
    pub similar_pin_up_mm: f64,
    /// Marks that the flight was fitted to.
    pub marks: usize,
}

/// Another distance's mark, which seems to be set.
#[derive(Debug, Clone, Serialize)]
pub struct WrongSetOut {
    /// What it is called.
    pub name: String,
    /// Its distance.
    pub set_for_m: f64,
    /// Its probability.
    pub p: f64,
    /// The number on the scale of the mark that belongs there.
    pub reading: f64,
}

/// Probabilities of the patterns.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct PatternOut {
    /// One process that stays.
    pub steady: f64,
    /// Two that take turns.
    pub split: f64,
    /// One that moves slowly.
    pub drifting: f64,
    /// One that moved once.
    pub jumped: f64,
}

/// The advice. `clicks`, `pin_mm` and `shift_mm` are what is to be done now (zeros when the sight is left); the gain, its
/// interval and its chance are those of the best move, made or not.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct AdviceOut {
    /// `move`, `wait` or `leave`.
    pub action: &'static str,
    /// A stable name for the reason.
    pub reason: &'static str,
    /// Whole clicks, right and up.
    pub clicks: [i32; 2],
    /// Clicks of the best move, made or not.
    pub best_clicks: [i32; 2],
    /// The same at the pin, in millimetres.
    pub pin_mm: [f64; 2],
    /// The same on the face, in millimetres.
    pub shift_mm: [f64; 2],
    /// Points gained over the shots left.
    pub gain_points: f64,
    /// 80 % interval of the gain.
    pub gain_interval_points: [f64; 2],
    /// Probability that the move makes things better.
    pub p_better: f64,
    /// Shots until the centre is known well enough.
    pub more_shots: u32,
    /// Shots after which to look at the sight again.
    pub look_after: Option<u32>,
    /// Points of touching now less those of the best of waiting and leaving.
    pub gain_over_waiting_points: f64,
}

impl From<&Advice> for AdviceOut {
    fn from(advice: &Advice) -> Self {
        Self {
            action: advice.action.name(),
            reason: advice.why.kind(),
            clicks: advice.clicks,
            best_clicks: advice.best.clicks,
            pin_mm: rounded(advice.pin_mm),
            shift_mm: rounded(advice.shift_mm),
            gain_points: advice.best.gain_points + 0.0,
            gain_interval_points: advice.gain_interval_points.map(|g| g + 0.0),
            p_better: advice.p_better,
            more_shots: advice.more_shots,
            look_after: advice.look_after,
            gain_over_waiting_points: advice.gain_over_waiting_points + 0.0,
        }
    }
}

/// A move and its worth.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct ProposalOut {
    /// Whole clicks, right and up.
    pub clicks: [i32; 2],
    /// Points gained over the shots left.
    pub gain_points: f64,
}

impl From<Proposal> for ProposalOut {
    fn from(proposal: Proposal) -> Self {
        Self { clicks: proposal.clicks, gain_points: proposal.gain_points + 0.0 }
    }
}

/// A notice.
#[derive(Debug, Clone, Serialize)]
pub struct NoticeOut {
    /// Stable name.
    pub kind: &'static str,
    /// `note`, `warning` or `safety`.
    pub weight: &'static str,
    /// Plain English.
    pub text: String,
}

impl From<&Notice> for NoticeOut {
    fn from(notice: &Notice) -> Self {
        let weight = match notice.weight() {
            Weight::Note => "note",
            Weight::Warning => "warning",
            Weight::Safety => "safety",
        };
        Self { kind: notice.kind(), weight, text: words::notice(Language::English, false, notice) }
    }
}

impl<'a> ReadingOut<'a> {
    /// The line for `answer`, with the rule of thumb when `mean_rule` asks for it.
    #[must_use]
    pub fn new(answer: &'a Answer, mean_rule: bool) -> Self {
        let Answer { reading, advice, notices, .. } = answer;
        let p = |pattern| reading.probability(pattern);
        Self {
            schema: SCHEMA,
            shots: reading.shots,
            centre_mm: pair(reading.centre),
            centre_cov_mm2: rows(reading.centre_cov),
            spread_cov_mm2: rows(reading.spread),
            p_class: &reading.p_class,
            pattern: PatternOut {
                steady: p(Pattern::Steady),
                split: p(Pattern::Split),
                drifting: p(Pattern::Drifting),
                jumped: p(Pattern::Jumped),
            },
            dropped_mass: reading.dropped_mass,
            advice: AdviceOut::from(advice),
            expected_score_now: advice.expected_score_now,
            notices: notices.iter().map(NoticeOut::from).collect(),
            mean_rule: mean_rule.then(|| ProposalOut::from(advice.mean_rule)),
            elevation_refined: None,
            wrong_mark: None,
            notes: &[],
            duel: answer.duel.as_ref().map(MatchOut::from),
        }
    }

    /// The same with what the marks say.
    #[must_use]
    pub fn with_refined(self, elevation_refined: Option<RefinedOut>, wrong_mark: Option<WrongSetOut>) -> Self {
        Self { elevation_refined, wrong_mark, ..self }
    }

    /// The same with what was remarked.
    #[must_use]
    pub fn with_notes(self, notes: &'a [journal::Note]) -> Self {
        Self { notes, ..self }
    }

    /// Whether every number is one, as JSON demands.
    #[must_use]
    pub fn is_finite(&self) -> bool {
        let p = self.pattern;
        let a = &self.advice;
        let plain = [
            self.dropped_mass,
            self.expected_score_now,
            p.steady,
            p.split,
            p.drifting,
            p.jumped,
            a.gain_points,
            a.p_better,
        ];
        let duel = self.duel.as_ref().is_none_or(MatchOut::is_finite);
        let pairs = [self.centre_mm, a.pin_mm, a.shift_mm, a.gain_interval_points];
        duel && plain.iter().chain(pairs.iter().flatten()).all(|x| x.is_finite())
            && self.centre_cov_mm2.iter().chain(&self.spread_cov_mm2).flatten().all(|x| x.is_finite())
            && self.p_class.iter().flatten().all(|x| x.is_finite())
    }
}

/// What stands in place of an answer to a bad line.
#[derive(Debug, Clone, Serialize)]
pub struct ErrorOut<'a> {
    /// [`SCHEMA`].
    pub schema: u8,
    /// The line, from 1.
    pub line: u64,
    /// What is wrong and what to do.
    pub error: &'a str,
}

impl From<&Refined> for RefinedOut {
    fn from(refined: &Refined) -> Self {
        let &Refined { elevation, clicks, marks, .. } = refined;
        Self { pin_up_mm: elevation.refined_mm, clicks_up: clicks, similar_pin_up_mm: elevation.similar_mm, marks }
    }
}

impl From<&WrongSet> for WrongSetOut {
    fn from(wrong: &WrongSet) -> Self {
        Self { name: wrong.name.clone(), set_for_m: wrong.set_for_m, p: wrong.p, reading: wrong.reading_number }
    }
}
