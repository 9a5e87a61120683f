//! What is known before a session: the spread and what the shots of an end share from earlier sessions, the trust from how
//! the mark was proven.

use goldward_core::group::spread::{Landed, SpreadEstimate, estimate};
use goldward_core::group::{
    EndEffect, EndsSeen, SPREAD_DEFAULT_MRAD, TRUST_PREDICTED, TRUST_UNKNOWN, TRUST_VERIFIED, WORTH_DEFAULT, learn_ends,
};
use goldward_core::habits::{Habits, SessionSeen};
use goldward_core::pace::DRIFT_DEFAULT_MRAD;
use goldward_core::plane::Point;
use goldward_core::shot::{self, Place};
use goldward_core::units::{Distance, Spread};
use goldward_journal::{self as journal, Body, Log, Mark, Proven, Session};
use uuid::Uuid;

use super::habits::{self, landed, seen_of, tell};
use super::{DAY_MS, SessionView, ViewError};
use crate::kit::Kit;
use crate::settings::Wishes;

/// A session counts half as much for every so many days that it lies back (our choice, no source: about the time in which a
/// club archer's form changes).
pub const HALF_LIFE_DAYS: f64 = 60.0;

/// History is never worth more arrows than this: form differs from day to day (our choice, no source).
pub const MOST_WORTH: f64 = 60.0;

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
}

impl Learnt {
    /// Tells a reading what was learnt.
    pub fn tell(&self, wishes: &mut Wishes) {
        // A spread that was learnt was so with the usual odds; that of clean shots alone goes with the archer's own.
        let ratio = self.habits.filter(|_| self.sessions > 0).map_or(1.0, |h| h.spread_ratio);
        wishes.spread_mrad = Some((ratio * self.spread.mrad()).clamp(0.01, 100.0));
        wishes.worth = Some(self.worth);
        wishes.end_effect = self.ends.map(|e| [e.effect.windage, e.effect.elevation]).or(wishes.end_effect);
        if let Some(habits) = &self.habits {
            tell(habits, wishes);
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

/// The spread that one session showed.
#[derive(Debug, Clone, PartialEq)]
pub struct SpreadSeen {
    /// When, in milliseconds since 1970 UTC.
    pub at_ms: u64,
    /// At which distance, in metres.
    pub distance_m: f64,
    /// One standard deviation an axis, in milliradians.
    pub spread_mrad: f64,
    /// How many shots it is from.
    pub shots: usize,
    /// Its ends, where they tell what their shots share.
    pub ends: Option<EndsSeen>,
    /// Its shots, where they tell of habits.
    pub shown: Option<SessionSeen>,
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

/// What the session says of its spread and centre; nothing when it has too few shots on the face.
pub(super) fn estimate_of(view: &SessionView<'_>, carried: &[shot::Shot]) -> Option<SpreadEstimate> {
    let landed: Vec<Landed> = landed(view, carried).into_iter().map(|(at, _)| at).collect();
    estimate(&landed)
}

/// The ends of a session as they lie on the face. A ring without a clock and a miss name no side, so they are left out.
fn ends_of(view: &SessionView<'_>, carried: &[shot::Shot]) -> Option<EndsSeen> {
    let mut ends: Vec<(u32, Vec<Point>)> = Vec::new();
    for shot in carried {
        let place = match shot.place {
            Place::At(p) => p,
            Place::Called(call) => {
                let cell = call.cell(view.face, view.shaft).ok().filter(|c| c.is_directed());
                let Some(middle) = cell.and_then(|c| c.middle()) else { continue };
                middle
            }
        };
        match ends.last_mut() {
            Some((end, places)) if *end == shot.end => places.push(place - shot.carry),
            _ => ends.push((shot.end, vec![place - shot.carry])),
        }
    }
    EndsSeen::of(&ends.into_iter().map(|e| e.1).collect::<Vec<_>>())
}

/// The spread that each session of the archer showed, oldest first. Sessions that cannot be read are left out.
#[must_use]
pub fn spreads_seen(log: &Log, archer: Uuid) -> Vec<SpreadSeen> {
    spreads_where(log, archer, |_| true)
}

pub(super) fn spreads_where(log: &Log, archer: Uuid, wanted: impl Fn(&Session) -> bool) -> Vec<SpreadSeen> {
    let mut seen: Vec<SpreadSeen> = log
        .records_of(archer)
        .filter(|r| matches!(&r.body, Body::Session(s) if wanted(s)))
        .filter_map(|r| {
            let view = SessionView::of(log, archer, r.id).ok()?;
            let carried = view.carried();
            let e = estimate_of(&view, &carried)?;
            Some(SpreadSeen {
                at_ms: view.session.at_ms,
                distance_m: view.session.distance_m,
                spread_mrad: e.spread_mm / view.session.distance_m,
                shots: e.shots,
                ends: ends_of(&view, &carried),
                shown: seen_of(&landed(&view, &carried)),
            })
        })
        .collect();
    seen.sort_by_key(|s| s.at_ms);
    seen
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
    learnt_with(log, archer, distance, kit, at_ms, kit.is_none_or(|k| k.habits != Some(false)))
}

/// The same, with the archer's habits or without.
pub(super) fn learnt_with(
    log: &Log,
    archer: Uuid,
    distance: Distance,
    kit: Option<&journal::Kit>,
    at_ms: u64,
    asked: bool,
) -> Result<Learnt, ViewError> {
    // Beyond ten half-lives a session counts less than a thousandth.
    let oldest = at_ms.saturating_sub((10.0 * HALF_LIFE_DAYS * DAY_MS) as u64);
    let seen = spreads_where(log, archer, |s| {
        (oldest..at_ms).contains(&s.at_ms) && (asked || same_distance(s.distance_m, distance.metres()))
    });
    let habits = if asked { habits_of(&seen, at_ms) } else { None };
    Ok(Learnt { habits, ..learn(&seen, distance, kit, at_ms)? })
}

/// The habits that sessions already at hand show before `at_ms`; nothing where none tells.
#[must_use]
pub fn habits_of(seen: &[SpreadSeen], at_ms: u64) -> Option<Habits> {
    habits::learn(seen.iter().rev().filter_map(|s| Some((s.at_ms, s.distance_m, s.shown.as_ref()?))), at_ms)
}

/// The same without habits, of spreads already at hand (see [`spreads_seen`]).
///
/// `spread^2 = (w0 s0^2 + sum w_i n_i s_i^2) / (w0 + sum w_i n_i)` with `s0`, `w0` the kit's spread and worth or the defaults,
/// `n_i` the shots of an earlier session at the same distance (within 5 %) and `w_i` halving every [`HALF_LIFE_DAYS`]. The
/// worth is the denominator, at most [`MOST_WORTH`] or what the kit says, if that is more. What the shots of an end share is
/// learnt from the same sessions with the same weights, about what is usual at the distance ([`learn_ends`]).
///
/// # Errors
/// As [`learnt`].
pub fn learn(
    seen: &[SpreadSeen],
    distance: Distance,
    kit: Option<&journal::Kit>,
    at_ms: u64,
) -> Result<Learnt, ViewError> {
    let wishes = kit.map(Kit::from).unwrap_or_default().wishes;
    let s0 = wishes.spread_mrad.unwrap_or(SPREAD_DEFAULT_MRAD);
    let w0 = wishes.worth.filter(|_| wishes.spread_mrad.is_some()).unwrap_or(WORTH_DEFAULT);
    let (mut weights, mut squares, mut sessions, mut shots) = (w0, w0 * s0 * s0, 0, 0);
    let mut told: Vec<(&EndsSeen, f64, f64)> = Vec::new();
    for s in seen {
        if s.at_ms < at_ms && same_distance(s.distance_m, distance.metres()) {
            let days = (at_ms - s.at_ms) as f64 / DAY_MS;
            let counts = 0.5f64.powf(days / HALF_LIFE_DAYS);
            told.extend(s.ends.as_ref().map(|e| (e, counts, DRIFT_DEFAULT_MRAD * s.distance_m)));
            let weight = s.shots as f64 * counts;
            weights += weight;
            squares += weight * s.spread_mrad * s.spread_mrad;
            sessions += 1;
            shots += s.shots;
        }
    }
    if sessions == 0 {
        // To the last digit what was told.
        return Ok(Learnt { spread: Spread::from_mrad(s0)?, worth: w0, sessions, shots, ends: None, habits: None });
    }
    Ok(Learnt {
        spread: Spread::from_mrad((squares / weights).sqrt().clamp(0.01, 100.0))?,
        worth: weights.min(MOST_WORTH.max(w0)),
        sessions,
        shots,
        ends: (!told.is_empty()).then(|| EndsLearnt {
            effect: learn_ends(&told, EndEffect::usual(distance)),
            ends: told.iter().map(|(e, ..)| e.ends()).sum(),
        }),
        habits: None,
    })
}
