//! What is known before a session: the spread and what the shots of an end share from earlier sessions, the trust from how
//! the mark was proven.

use std::sync::Arc;

use goldward_core::group::{EndEffect, EndsSeen, TRUST_PREDICTED, TRUST_UNKNOWN, TRUST_VERIFIED, learn_ends};
use goldward_core::habits::{Course, DaySeen, Days, Habits};
use goldward_core::pace::DRIFT_DEFAULT_MRAD;
use goldward_core::units::{Distance, Spread};
use goldward_core::usual::Start;
use goldward_journal::{self as journal, Body, Log, Mark, Proven, Session};
use uuid::Uuid;

use super::habits::{self, tell};
use super::seen::{SpreadSeen, spreads_where};
use super::{DAY_MS, SessionView, ViewError, sessions};
use crate::kit::Kit;
use crate::settings::Wishes;

/// A session counts half as much for every so many days that it lies back (our choice, no source: about the time in which a
/// club archer's form changes).
pub const HALF_LIFE_DAYS: f64 = 60.0;

/// History is never worth more arrows than this: form differs from day to day (our choice, no source).
pub const MOST_WORTH: f64 = 60.0;

/// So many sessions at a distance foretell the next one: fewer are mostly what the kit says.
const FORETOLD_BY: usize = 2;

/// Distances within this ratio are the same, on a logarithmic scale: 5 %, so that 50 m and 50 yd differ.
const SAME_DISTANCE_LN: f64 = 0.05;

/// Whether two distances in metres count as one.
pub(super) fn same_distance(a: f64, b: f64) -> bool {
    (a / b).ln().abs() <= SAME_DISTANCE_LN
}

/// Trust of a mark that was shot on an earlier day: between predicted and verified today (our choice, no source).
const TRUST_SHOT_BEFORE: f64 = 3.0;

/// What is known of the spread before a session.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Learnt {
    /// The spread.
    pub spread: Spread,
    /// How many arrows of evidence it is worth.
    pub worth: f64,
    /// Sessions it was learnt from; 0 when it is the kit's or the default.
    pub sessions: usize,
    /// Shots it was learnt from.
    pub shots: usize,
    /// What the shots of an end share; nothing where no session tells of it.
    pub ends: Option<EndsLearnt>,
    /// The archer's own habits; nothing where no session tells of them, or the kit says that they are not to be used.
    pub habits: Option<Habits>,
    /// What touches of the sight give, how precisely it is set, and the drift from end to end; nothing as habits.
    pub course: Option<Course>,
    /// How far the archer's days lie apart; nothing as habits, or where too few sessions were shot at one distance.
    pub days: Option<Days>,
}

impl Learnt {
    /// A spread that is worth so much, and nothing else.
    #[must_use]
    pub fn of(spread: Spread, worth: f64) -> Self {
        Self { spread, worth, sessions: 0, shots: 0, ends: None, habits: None, course: None, days: None }
    }

    /// Tells a reading what was learnt.
    pub fn tell(&self, wishes: &mut Wishes) {
        // A spread that was learnt was so with the usual odds; that of clean shots alone goes with the archer's own.
        let ratio = self.habits.filter(|_| self.sessions > 0).map_or(1.0, |h| h.spread_ratio);
        wishes.spread_mrad = Some((ratio * self.spread.mrad()).clamp(0.01, 100.0));
        wishes.worth = Some(self.worth_told());
        wishes.end_effect = self.ends.map(|e| [e.effect.windage, e.effect.elevation]).or(wishes.end_effect);
        if let Some(habits) = &self.habits {
            tell(habits, wishes);
        }
        if let Some(course) = &self.course {
            habits::tell_course(course, wishes);
        }
        if let Some(days) = self.days.filter(|_| self.sessions > 0) {
            let told = [days.doubt.tighter_octaves, days.doubt.wider_octaves];
            wishes.spread_doubt = wishes.spread_doubt.or(Some(told));
        }
    }

    /// How many arrows the spread is worth as a reading is told: no more than one day says of the next.
    #[must_use]
    pub fn worth_told(&self) -> f64 {
        match self.days {
            // Beyond the most that history is worth the kit has said so.
            Some(days) if self.worth <= MOST_WORTH => self.worth.min(days.worth),
            _ => self.worth,
        }
    }
}

/// What earlier sessions tell of the offset that the shots of an end share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EndsLearnt {
    /// How large it is.
    pub effect: EndEffect,
    /// Ends it was learnt from.
    pub ends: usize,
}

/// How many arrows the setting at the beginning of a session is worth.
///
/// What the session says comes first, then the mark: shot within 12 hours before is verified today (6), shot earlier 3,
/// predicted 1; then what the archer told in the kit, else unknown (0.1).
#[must_use]
pub fn trust_of(session: &Session, mark: Option<&Mark>, kit: &Kit) -> f64 {
    let by = |proven: Proven, today: bool| match proven {
        Proven::Guessed => TRUST_UNKNOWN,
        Proven::Predicted => TRUST_PREDICTED,
        Proven::Shot if today => TRUST_VERIFIED,
        Proven::Shot => TRUST_SHOT_BEFORE,
    };
    if let Some(proven) = session.proven {
        return by(proven, true);
    }
    if let Some(mark) = mark {
        return by(mark.proven, session.at_ms.abs_diff(mark.at_ms) as f64 <= 0.5 * DAY_MS);
    }
    kit.wishes.trust.unwrap_or(TRUST_UNKNOWN)
}

/// What earlier sessions at that distance tell of the spread before `at_ms`, for that kit.
///
/// # Errors
/// [`ViewError`] when the kit's own spread is out of range.
pub fn learnt(
    log: &Log,
    archer: Uuid,
    distance: Distance,
    kit: Option<&journal::Kit>,
    at_ms: u64,
) -> Result<Learnt, ViewError> {
    learnt_with(log, archer, distance, (kit, None), at_ms, kit.is_none_or(|k| k.habits != Some(false)))
}

/// The same, with the archer's habits or without; who tells no spread starts from what is usual as it is told beside the kit.
pub(super) fn learnt_with(
    log: &Log,
    archer: Uuid,
    distance: Distance,
    (kit, usual): (Option<&journal::Kit>, Option<Start>),
    at_ms: u64,
    asked: bool,
) -> Result<Learnt, ViewError> {
    let seen = spreads_where(log, archer, asked_of(log, archer, distance, at_ms, asked));
    let learnt = learn_from(&seen, distance, (kit, usual), at_ms)?;
    Ok(if asked { learnt.with_habits(log, archer, &seen, kit, at_ms) } else { learnt })
}

/// Whether a session is looked at for what is learnt at that distance before `at_ms`, with habits or without.
fn asked_of(
    log: &Log,
    archer: Uuid,
    distance: Distance,
    at_ms: u64,
    habits: bool,
) -> impl Fn(&Session) -> bool + use<> {
    // Beyond ten half-lives a session counts less than a thousandth.
    let oldest = at_ms.saturating_sub((10.0 * HALF_LIFE_DAYS * DAY_MS) as u64);
    let sessions = log.heads(archer).filter_map(|r| match &r.body {
        Body::Session(s) if (oldest..at_ms).contains(&s.at_ms) => Some(s.at_ms),
        _ => None,
    });
    let mut latest: Vec<u64> = sessions.collect();
    latest.sort_unstable_by(|a, b| b.cmp(a));
    // Habits are told at whatever distance, but by the latest alone: a long log is not read for them.
    let recent = latest.get(habits::LOOKED_AT - 1).copied().unwrap_or(oldest);
    move |s| {
        (oldest..at_ms).contains(&s.at_ms)
            && (same_distance(s.distance_m, distance.metres()) || (habits && s.at_ms >= recent))
    }
}

/// The sessions that [`learnt`] looks at for session `id` of that archer, the latest first; none when it cannot be read.
#[must_use]
pub fn looked_at(log: &Log, archer: Uuid, id: Uuid) -> Vec<Uuid> {
    let Ok(view) = SessionView::of(log, archer, id) else { return Vec::new() };
    let habits = view.kit.is_none_or(|k| k.habits != Some(false));
    let asked = asked_of(log, archer, view.distance, view.session.at_ms, habits);
    sessions(log, archer).into_iter().filter(|(_, s)| asked(s)).map(|(r, _)| r.id).collect()
}

impl Learnt {
    /// The same with how far the archer's days lie apart, from sessions already at hand before `at_ms`, unless the kit leaves habits out.
    #[must_use]
    pub fn with_days(self, seen: &[Arc<SpreadSeen>], kit: Option<&journal::Kit>, at_ms: u64) -> Self {
        let asked = kit.is_none_or(|k| k.habits != Some(false));
        Self { days: if asked { days_of(seen, kit, at_ms) } else { None }, ..self }
    }

    /// The same with the archer's habits, from sessions already at hand before `at_ms`, for that kit.
    #[must_use]
    fn with_habits(
        self,
        log: &Log,
        archer: Uuid,
        seen: &[Arc<SpreadSeen>],
        kit: Option<&journal::Kit>,
        at_ms: u64,
    ) -> Self {
        Self {
            habits: habits::habits_kept(log, archer, seen, at_ms),
            course: habits::learn_course_of(seen, kit, at_ms),
            days: days_of(seen, kit, at_ms),
            ..self
        }
    }
}

/// How far days lie apart: each session as the sessions before it at its distance foretold it.
fn days_of(seen: &[Arc<SpreadSeen>], kit: Option<&journal::Kit>, at_ms: u64) -> Option<Days> {
    let told = |s: &SpreadSeen| {
        let distance = Distance::from_metres(s.distance_m).ok()?;
        let before = history(seen, distance, (kit, None), s.at_ms);
        let day = DaySeen {
            ratio: s.spread_mrad / before.spread_mrad(),
            dof: 2.0 * (s.shots as f64 - 1.0),
            worth: before.weights,
        };
        (before.sessions >= FORETOLD_BY).then_some(day)
    };
    habits::learn_days_of(seen, told, at_ms)
}

/// [`learnt`] without habits, of spreads already at hand (see [`super::spreads_seen`]).
///
/// `spread^2 = (w0 s0^2 + sum w_i n_i s_i^2) / (w0 + sum w_i n_i)` with `s0`, `w0` the kit's spread and worth or what is usual,
/// `n_i` the shots of an earlier session at the same distance (within 5 %) and `w_i` halving every [`HALF_LIFE_DAYS`]. The
/// worth is the denominator, at most [`MOST_WORTH`] or what the kit says, if that is more. What the shots of an end share is
/// learnt from the same sessions with the same weights, about what is usual at the distance ([`learn_ends`]).
///
/// # Errors
/// As [`learnt`].
pub fn learn(
    seen: &[Arc<SpreadSeen>],
    distance: Distance,
    kit: Option<&journal::Kit>,
    at_ms: u64,
) -> Result<Learnt, ViewError> {
    learn_from(seen, distance, (kit, None), at_ms)
}

fn learn_from(
    seen: &[Arc<SpreadSeen>],
    distance: Distance,
    told: (Option<&journal::Kit>, Option<Start>),
    at_ms: u64,
) -> Result<Learnt, ViewError> {
    let before = history(seen, distance, told, at_ms);
    if before.sessions == 0 {
        // To the last digit what was told.
        return Ok(Learnt::of(Spread::from_mrad(before.told.0)?, before.told.1));
    }
    let told: Vec<(&EndsSeen, f64, f64)> = before_at(seen, distance, at_ms)
        .filter_map(|s| Some((s.ends.as_ref()?, counts(s, at_ms), DRIFT_DEFAULT_MRAD * s.distance_m)))
        .collect();
    Ok(Learnt {
        sessions: before.sessions,
        shots: before.shots,
        ends: (!told.is_empty()).then(|| EndsLearnt {
            effect: learn_ends(&told, EndEffect::usual(distance)),
            ends: told.iter().map(|(e, ..)| e.ends()).sum(),
        }),
        ..Learnt::of(
            Spread::from_mrad(before.spread_mrad().clamp(0.01, 100.0))?,
            before.weights.min(MOST_WORTH.max(before.told.1)),
        )
    })
}

/// Sessions of a distance before `at_ms`.
fn before_at(seen: &[Arc<SpreadSeen>], distance: Distance, at_ms: u64) -> impl Iterator<Item = &SpreadSeen> {
    seen.iter().map(Arc::as_ref).filter(move |s| s.at_ms < at_ms && same_distance(s.distance_m, distance.metres()))
}

/// What an earlier session counts.
fn counts(s: &SpreadSeen, at_ms: u64) -> f64 {
    0.5f64.powf((at_ms - s.at_ms) as f64 / DAY_MS / HALF_LIFE_DAYS)
}

/// What sessions of a distance add up to, with what the kit tells.
struct History {
    /// The spread in milliradians as it is told, and its worth.
    told: (f64, f64),
    weights: f64,
    squares: f64,
    sessions: usize,
    shots: usize,
}

impl History {
    fn spread_mrad(&self) -> f64 {
        (self.squares / self.weights).sqrt()
    }
}

fn history(
    seen: &[Arc<SpreadSeen>],
    distance: Distance,
    (kit, usual): (Option<&journal::Kit>, Option<Start>),
    at_ms: u64,
) -> History {
    let wishes = Wishes { usual, ..kit.map(Kit::from).unwrap_or_default().wishes };
    let start = wishes.start();
    let s0 = wishes.spread_mrad.unwrap_or(start.spread_mrad);
    let w0 = wishes.worth.filter(|_| wishes.spread_mrad.is_some()).unwrap_or(start.worth);
    let mut sum = History { told: (s0, w0), weights: w0, squares: w0 * s0 * s0, sessions: 0, shots: 0 };
    for s in before_at(seen, distance, at_ms) {
        let weight = s.shots as f64 * counts(s, at_ms);
        sum.weights += weight;
        sum.squares += weight * s.spread_mrad * s.spread_mrad;
        sum.sessions += 1;
        sum.shots += s.shots;
    }
    sum
}
