//! What the moves of the sight gave: in one session, and over a season.

use goldward_core::group::GroupError;
use goldward_core::pace::hindsight::{Hindsight, Move, Stretch, Worth};
use goldward_core::units::Distance;
use goldward_journal::{Body, Log, Uuid};

use super::history::DistanceHistory;
use super::pick::{self, Line, PickError, Which};
use crate::settings::Wishes;

/// What the moves of one session gave.
#[derive(Debug, Clone, PartialEq)]
pub struct MovesGave {
    /// The session.
    pub id: Uuid,
    /// When it began, in milliseconds since 1970 UTC.
    pub at_ms: u64,
    /// At which distance.
    pub distance: Distance,
    /// One click of windage and elevation, in millimetres at the pin.
    pub click_mm: [f64; 2],
    /// Each move with what it gave by itself, all others as they were.
    pub moves: Vec<(Move, Worth)>,
    /// All of them, against never touching.
    pub all: Worth,
    /// Those made after a single arrow with a setting, together; nothing when there was none.
    pub hasty: Option<Worth>,
    /// Not to wait with those made within an end until it was over; nothing when there was none.
    pub over_waiting: Option<Worth>,
    /// What Goldward's advice would have given beyond, where that was asked for.
    pub goldward_beyond: Option<Worth>,
    /// The sight against where it should have stood.
    pub stretches: Vec<Stretch>,
}

/// So many sessions of a distance are looked back on, the latest.
const LOOKED_BACK: usize = 24;

/// The sessions of a distance to look back on, the latest first.
#[must_use]
pub fn looked_back(h: &DistanceHistory) -> Vec<Uuid> {
    h.sessions.iter().rev().filter(|s| s.spread_shots > 0).take(LOOKED_BACK).map(|s| s.id).collect()
}

/// Whether a move was made after a single arrow with the setting before it.
fn is_hasty(m: &Move) -> bool {
    m.since <= 1
}

impl MovesGave {
    /// How many moves were made after a single arrow.
    #[must_use]
    pub fn hasty_moves(&self) -> usize {
        self.moves.iter().filter(|(m, _)| is_hasty(m)).count()
    }
}

impl Line {
    fn gave(&self, id: Uuid, at_ms: u64, advised: bool) -> Result<Option<MovesGave>, GroupError> {
        let pace = self.pace();
        let Some(back) = Hindsight::of(&pace)? else { return Ok(None) };
        let any_hasty = back.moves().iter().any(is_hasty);
        let each = (0..back.moves().len()).map(|i| (back.moves()[i], back.gave(|k, _| k == i)));
        Ok(Some(MovesGave {
            id,
            at_ms,
            distance: self.settings.distance,
            click_mm: self.settings.sight.click_mm(),
            moves: each.collect(),
            all: back.gave(|_, _| true),
            hasty: any_hasty.then(|| back.gave(|_, m| is_hasty(m))),
            over_waiting: back.gave_over_waiting(),
            goldward_beyond: if advised { Some(back.goldward_beyond()?) } else { None },
            stretches: back.stretches().to_vec(),
        }))
    }
}

/// What the moves of a session gave, read with what the shooting line knew; nothing when the sight was not moved, or too few arrows have a
/// place to tell. What Goldward would have `advised` takes by far the longest.
///
/// # Errors
/// [`PickError`] when the session is not there or cannot be read.
pub fn moves_gave(log: &Log, archer: Uuid, which: Which, advised: bool) -> Result<Option<MovesGave>, PickError> {
    if let Which::Id(id) = which {
        // Most sessions without a move need not be read for that.
        if !log.parts(archer, id).any(|r| matches!(r.body, Body::Touch(_))) && log.get(archer, id).is_some() {
            return Ok(None);
        }
    }
    let pick = pick::read(log, archer, which, &Wishes::default())?;
    Ok(pick.line.and_then(|line| line.gave(pick.id, pick.at_ms, advised).ok().flatten()))
}
