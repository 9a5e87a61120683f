//! What core answers to settings and shots, and the scorers that many readings share.

use std::collections::HashMap;
use std::sync::{Arc, RwLock};

use goldward_core::advice::{self, Advice, Ahead};
use goldward_core::face::{DEFAULT_LIMITS, Face};
use goldward_core::group::{self, GroupError, Reading};
use goldward_core::matches::{self, Duel, MatchAdvice, MatchError};
use goldward_core::notice::{self, Notice};
use goldward_core::pace::DRIFT_DEFAULT_MRAD;
use goldward_core::plane::Point;
use goldward_core::score::{Rings, Scorer};
use goldward_core::shot::{Shot, in_end};
use goldward_core::units::Shaft;

use crate::duel::by_chance;
use crate::problem::Problem;
use crate::settings::Settings;

/// What the shots say, what to do, and what to know beside it.
#[derive(Debug)]
pub struct Answer {
    /// What the shots say.
    pub reading: Reading,
    /// What to do.
    pub advice: Advice,
    /// What to know beside it, the weightiest first.
    pub notices: Vec<Notice>,
    /// In a match: how it stands and the chances. The advice is then by them.
    pub duel: Option<InMatch>,
}

/// A match as it stands, and what the chances to win say.
#[derive(Debug, Clone, PartialEq)]
pub struct InMatch {
    /// The match.
    pub duel: Duel,
    /// What to do, and the chances.
    pub told: MatchAdvice,
}

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoAnswer {
    /// The shots cannot be read.
    #[error(transparent)]
    Group(#[from] GroupError),
    /// The match cannot be reckoned with.
    #[error(transparent)]
    Match(#[from] MatchError),
}

impl From<NoAnswer> for Problem {
    /// At the key of what is wrong.
    fn from(error: NoAnswer) -> Self {
        match error {
            NoAnswer::Group(e) => Self::new("shots", e),
            NoAnswer::Match(e) => Self::new("match", e),
        }
    }
}

/// Reads `shots` (oldest first) under `settings`, whose prior speaks of the sight as it was set at first; touches since have
/// moved the arrows by `moved_mm` on the face, in the direction of the pin; `scorer` must be that of the settings' face and shaft.
/// In a match the chance to win decides.
///
/// # Errors
/// [`NoAnswer`]: too many shots, a position that is no number, a call that the face does not have; a standing or an opponent
/// that cannot be.
pub fn answer(settings: &Settings, shots: &[Shot], moved_mm: Point, scorer: &Scorer) -> Result<Answer, NoAnswer> {
    let Settings { distance, face, shaft, prior, sight, unmarked, ahead, .. } = settings;
    let drift_mm = DRIFT_DEFAULT_MRAD * distance.metres();
    let prior = prior.about(prior.centre() - moved_mm).with_drift_mm(drift_mm)?;
    let reading = group::read(shots, &prior, *unmarked, face, *shaft)?;
    let (in_end, per_end) = in_end(shots);
    let ahead = Ahead { drift_mm, shots_in_end: in_end as u32, shots_per_end: per_end as u32, ..*ahead };
    let advice = advice::advise(&reading, scorer, sight, *distance, *unmarked, &ahead);
    let notices = beside(shots, &reading, &advice, face, *shaft, prior.trust(), false);
    let answer = Answer { reading, advice, notices, duel: None };
    match &settings.duel {
        Some(duel) => Ok(in_match(answer, settings, duel)?),
        None => Ok(answer),
    }
}

/// The same answer in a match: decided by the chance to win.
///
/// # Errors
/// [`MatchError`]: a standing or an opponent that cannot be.
pub fn in_match(answer: Answer, settings: &Settings, duel: &Duel) -> Result<Answer, MatchError> {
    let Settings { distance, face, shaft, sight, unmarked, ahead, .. } = settings;
    let drift = (DRIFT_DEFAULT_MRAD * distance.metres()).powi(2);
    let touch = [ahead.touch_cost_points, drift];
    let rings = Rings::new(face, *shaft);
    let told = matches::advise(&answer.reading, &answer.advice, &rings, sight, *distance, *unmarked, touch, duel)?;
    Ok(Answer { advice: by_chance(&answer.advice, &told), duel: Some(InMatch { duel: *duel, told }), ..answer })
}

/// What to know beside an answer; `free` is practice that no round's rules bind.
#[must_use]
pub fn beside(
    shots: &[Shot],
    reading: &Reading,
    advice: &Advice,
    face: &Face,
    shaft: Shaft,
    trust: f64,
    free: bool,
) -> Vec<Notice> {
    let context = notice::Context { shots, reading, advice, face, shaft, limits: &DEFAULT_LIMITS, trust };
    let mut found = notice::notices(&context);
    // How wide a shaft may be is a rule of rounds, not of practice.
    if free {
        found.retain(|n| !matches!(n, Notice::ShaftTooWide { .. }));
    }
    found
}

/// Most scorers kept; a stream with more kinds of shaft than this makes them afresh now and then.
const MOST_SCORERS: usize = 64;

/// One scorer for each face and shaft seen, shared between threads.
#[derive(Debug, Default)]
pub struct Scorers {
    made: RwLock<HashMap<(&'static str, u64), Arc<Scorer>>>,
}

impl Scorers {
    /// The scorer of `face` for an arrow of that `shaft`.
    #[must_use]
    pub fn get(&self, face: &'static Face, shaft: Shaft) -> Arc<Scorer> {
        let key = (face.name, shaft.diameter_mm().to_bits());
        // A poisoned lock guards a map that is whole all the same: entries are only ever added or cleared.
        if let Some(scorer) = self.made.read().unwrap_or_else(std::sync::PoisonError::into_inner).get(&key) {
            return Arc::clone(scorer);
        }
        let mut made = self.made.write().unwrap_or_else(std::sync::PoisonError::into_inner);
        if made.len() >= MOST_SCORERS {
            made.clear();
        }
        Arc::clone(made.entry(key).or_insert_with(|| Arc::new(Scorer::new(face, shaft))))
    }
}
