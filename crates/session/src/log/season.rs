//! What the moves of the sight gave over a season; and that, session by session, as a device keeps it from one start to the next: it
//! takes the longest of all that progress tells.

use std::collections::{BTreeMap, HashMap};
use std::hash::{DefaultHasher, Hash, Hasher};

use goldward_core::pace::hindsight::Worth;
use goldward_journal::{Body, Log, Record};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::moves::{MovesGave, moves_gave};
use super::{Which, sessions};

/// Of the formulas that it was worked out with: what was kept with others is not used. A test says when it is to be raised.
const FORMULAS: u32 = 3;

/// What the moves of one session gave, as far as a season needs it: numbers alone.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct MovesSum {
    /// Moves.
    pub moves: usize,
    /// Those after a single arrow.
    pub hasty_moves: usize,
    #[serde(with = "as_numbers")]
    all: Worth,
    #[serde(with = "as_numbers_or_none")]
    hasty: Option<Worth>,
}

impl MovesSum {
    /// What all moves gave against never touching.
    #[must_use]
    pub fn all(&self) -> Worth {
        self.all
    }

    /// What those after a single arrow gave; nothing when there was none.
    #[must_use]
    pub fn hasty(&self) -> Option<Worth> {
        self.hasty
    }
}

impl From<&MovesGave> for MovesSum {
    fn from(gave: &MovesGave) -> Self {
        Self { moves: gave.moves.len(), hasty_moves: gave.hasty_moves(), all: gave.all, hasty: gave.hasty }
    }
}

/// Points, both ends of their interval, and the probability of a gain.
type Numbers = [f64; 4];

fn numbers(w: &Worth) -> Numbers {
    [w.points, w.interval_points[0], w.interval_points[1], w.p_gained]
}

fn worth([points, low, high, p_gained]: Numbers) -> Worth {
    Worth { points, interval_points: [low, high], p_gained }
}

mod as_numbers {
    use super::{Numbers, Worth, numbers, worth};
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    pub(super) fn serialize<S: Serializer>(w: &Worth, serializer: S) -> Result<S::Ok, S::Error> {
        numbers(w).serialize(serializer)
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Worth, D::Error> {
        Numbers::deserialize(deserializer).map(worth)
    }
}

mod as_numbers_or_none {
    use super::{Numbers, Worth, numbers, worth};
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    #[allow(clippy::ref_option, reason = "serde hands it over so")]
    pub(super) fn serialize<S: Serializer>(w: &Option<Worth>, serializer: S) -> Result<S::Ok, S::Error> {
        w.as_ref().map(numbers).serialize(serializer)
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Option<Worth>, D::Error> {
        Ok(Option::<Numbers>::deserialize(deserializer)?.map(worth))
    }
}

/// Over several sessions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeasonGave {
    /// Sessions with a move.
    pub sessions: usize,
    /// Moves.
    pub moves: usize,
    /// What they gave.
    pub all: Worth,
    /// Moves after a single arrow, and what these gave; nothing when there was none.
    pub hasty: Option<(usize, Worth)>,
}

impl SeasonGave {
    /// The sum over `sessions`; nothing of none.
    #[must_use]
    pub fn of(sessions: &[MovesSum]) -> Option<Self> {
        let all: Vec<Worth> = sessions.iter().map(MovesSum::all).collect();
        let hasty: Vec<Worth> = sessions.iter().filter_map(MovesSum::hasty).collect();
        let count = sessions.iter().map(|s| s.hasty_moves).sum();
        Some(Self {
            sessions: sessions.len(),
            moves: sessions.iter().map(|s| s.moves).sum(),
            all: Worth::sum(&all)?,
            hasty: Worth::sum(&hasty).map(|w| (count, w)),
        })
    }
}

/// What was worked out before, by session.
#[derive(Debug, Default, Serialize, Deserialize)]
pub struct MovesKept {
    formulas: u32,
    version: String,
    /// With the number that [`Rests`] gave of it.
    gave: BTreeMap<Uuid, (u64, Option<MovesSum>)>,
    #[serde(skip)]
    changed: bool,
}

impl MovesKept {
    /// What a text says that [`Self::text`] made; nothing of another version, or of no such text.
    #[must_use]
    pub fn read(text: &str) -> Self {
        let version = env!("CARGO_PKG_VERSION").to_owned();
        serde_json::from_str(text)
            .ok()
            .filter(|k: &Self| k.formulas == FORMULAS && k.version == version)
            .unwrap_or(Self { formulas: FORMULAS, version, ..Self::default() })
    }

    /// To be kept; nothing where nothing new was worked out since it was read.
    #[must_use]
    pub fn text(&self) -> Option<String> {
        self.changed.then(|| serde_json::to_string(self).ok()).flatten()
    }

    /// What the moves of session `id` gave, as it was worked out before or anew; nothing when the sight was not moved, or that cannot be
    /// told.
    pub fn sum(&mut self, log: &Log, archer: Uuid, rests: &Rests, id: Uuid) -> Option<MovesSum> {
        let rests_on = rests.0.get(&id).copied().unwrap_or_default();
        if let Some((_, gave)) = self.gave.get(&id).filter(|(on, _)| *on == rests_on) {
            return *gave;
        }
        let gave = moves_gave(log, archer, Which::Id(id), false).ok().flatten().map(|g| MovesSum::from(&g));
        self.gave.insert(id, (rests_on, gave));
        self.changed = true;
        gave
    }
}

/// Of each session of an archer one number for all that its reading rests on: its own records, those of all sessions before it, and every
/// kit, mark and arrow.
#[derive(Debug, Clone)]
pub struct Rests(HashMap<Uuid, u64>);

impl Rests {
    /// Of every session of that archer.
    #[must_use]
    pub fn of(log: &Log, archer: Uuid) -> Self {
        let one = |r: &Record| {
            let mut hasher = DefaultHasher::new();
            (r.id, r.stamp.ms, r.stamp.counter, r.stamp.device).hash(&mut hasher);
            hasher.finish()
        };
        // Versions are told apart by their stamps; added up, so that their order does not matter.
        let shared = log
            .heads(archer)
            .filter(|r| matches!(r.body, Body::Kit(_) | Body::Mark(_) | Body::Arrow(_)))
            .fold(0_u64, |sum, r| sum.wrapping_add(one(r)));
        let (mut sum, mut of) = (shared, HashMap::new());
        for (record, _) in sessions(log, archer).into_iter().rev() {
            sum = log.parts(archer, record.id).fold(sum.wrapping_add(one(record)), |sum, r| sum.wrapping_add(one(r)));
            of.insert(record.id, sum);
        }
        Self(of)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::demo;

    use goldward_core::units::Distance;

    fn about(points: f64, half: f64) -> Worth {
        Worth { points, interval_points: [points - half, points + half], p_gained: 0.5 }
    }

    fn session(hasty: Option<Worth>) -> MovesGave {
        MovesGave {
            id: Uuid::nil(),
            at_ms: 0,
            distance: Distance::from_metres(70.0).unwrap(),
            click_mm: [0.1, 0.1],
            moves: Vec::new(),
            all: about(4.0, 3.0),
            hasty,
            over_waiting: None,
            goldward_beyond: None,
            stretches: Vec::new(),
        }
    }

    #[test]
    fn a_season_adds_points_and_variances() {
        assert_eq!(SeasonGave::of(&[]), None);
        let season =
            SeasonGave::of(&[session(None), session(Some(about(-6.0, 1.0)))].map(|s| MovesSum::from(&s))).unwrap();
        assert_eq!((season.sessions, season.moves), (2, 0));
        assert!((season.all.points - 8.0).abs() < 1e-12);
        let [low, high] = season.all.interval_points;
        assert!((high - low - 2.0 * 18.0_f64.sqrt()).abs() < 1e-12);
        assert!(season.all.p_gained > 0.98);
        assert_eq!(season.hasty, Some((0, about(-6.0, 1.0))));
    }

    const NOW_MS: u64 = 1_780_000_000_000;

    /// When this fails because a formula has changed on purpose, write the new numbers here and raise `FORMULAS`: else devices go on
    /// telling what the old one gave.
    #[test]
    fn the_formulas_are_those_that_are_numbered() {
        let (log, archer) = (demo::log(NOW_MS), demo::archer());
        let latest = sessions(&log, archer)[0].0.id;
        let got = MovesKept::read("").sum(&log, archer, &Rests::of(&log, archer), latest).unwrap();
        let want = [32.905_553_630_0, 25.088_937_623_5, 41.090_157_904_0, 1.0];
        assert_eq!((FORMULAS, got.moves, got.hasty_moves), (3, 1, 0));
        for (got, want) in numbers(&got.all).into_iter().zip(want) {
            assert!((got - want).abs() < 1e-6, "{got}");
        }
    }

    /// What is kept is what would be worked out: after a shot, a deletion or a kit that came in, before or after the session.
    #[test]
    fn what_was_kept_is_used_only_where_nothing_has_changed() {
        let (log, archer) = (demo::log(NOW_MS), demo::archer());
        let ids: Vec<Uuid> = sessions(&log, archer).iter().map(|(r, _)| r.id).collect();
        let first = ids[ids.len() - 1];
        let mut kept = MovesKept::read("");
        let rests = Rests::of(&log, archer);
        let gave = ids.iter().map(|id| kept.sum(&log, archer, &rests, *id)).collect::<Vec<_>>();
        assert!(gave.iter().all(Option::is_some));
        let text = kept.text().unwrap();
        // Read again it has it all, to the last digit, and nothing new to keep.
        let mut again = MovesKept::read(&text);
        assert_eq!(ids.iter().map(|id| again.sum(&log, archer, &rests, *id)).collect::<Vec<_>>(), gave);
        assert_eq!(again.text(), None);
        assert!(MovesKept::read(&text.replace("\"formulas\":3", "\"formulas\":0")).gave.is_empty());
        assert!(MovesKept::read("no such text").gave.is_empty());
        // One shot of a session moves it and what was shot since.
        let middle = ids[4];
        let shot = log.parts(archer, middle).find(|r| matches!(r.body, Body::Shot(_))).unwrap().clone();
        let mut writer = goldward_journal::Writer::new(archer, shot.stamp.device);
        writer.clock.observe(log.latest(archer).unwrap(), NOW_MS);
        let mut other = log.clone();
        other.insert(writer.delete(NOW_MS, &shot));
        let moved = Rests::of(&other, archer);
        for (k, id) in ids.iter().enumerate() {
            assert_eq!(moved.0[id] == rests.0[id], k > 4, "{k}");
        }
        let mut again = MovesKept::read(&text);
        assert_ne!(again.sum(&other, archer, &moved, middle), gave[4]);
        assert_eq!(again.sum(&other, archer, &moved, first), gave[9]);
        assert!(again.text().is_some());
        // A kit speaks for all of them.
        let kit = log.heads(archer).find(|r| matches!(r.body, Body::Kit(_))).unwrap();
        let mut other = log.clone();
        other.insert(kit.edited(writer.clock.next(NOW_MS), kit.body.clone()));
        assert!(Rests::of(&other, archer).0.iter().all(|(id, on)| rests.0[id] != *on));
    }
}
