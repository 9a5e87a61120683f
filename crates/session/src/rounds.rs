//! Rounds as data: distance, face, ends and clock of what is usually shot.
//!
//! [`EDITION`] names the rule book meant, `docs/sources.md` how it was written down. Rules change and clubs differ: the rules of the day, the judge and
//! the field's own signals decide. A round of several distances stands here distance by distance.

use goldward_core::face::Face;
use goldward_core::pace::DEFAULT_TIME;

/// The edition of the rule book that the table writes down (`docs/sources.md`).
pub const EDITION: &str = "World Archery 2024, books 2 and 3";

/// Time to step up to the line before the time of an end runs, in seconds (same edition).
pub const STEP_UP_SECONDS: u32 = 10;

/// The last seconds of an end, which the lights of the field show in yellow (same edition).
pub const LAST_SECONDS: u32 = 30;

/// Where a round comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    /// The rule book of [`EDITION`].
    RuleBook,
    /// One distance of a round of four in the same book.
    OneOfFour,
    /// Common practice, no source.
    Practice,
}

/// One round at one distance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Round {
    /// Its key in the log.
    pub key: &'static str,
    /// Shooting distance, in metres.
    pub distance_m: f64,
    /// Name of the face, as `core` knows it.
    pub face: &'static str,
    /// Ends that count.
    pub ends: u32,
    /// Arrows an end.
    pub shots_per_end: u32,
    /// Whether it is shot indoors.
    pub indoors: bool,
    /// Where it comes from.
    pub origin: Origin,
    /// A match, and what decides it: the key of a format of core.
    pub match_by: Option<&'static str>,
}

const fn round(key: &'static str, distance_m: f64, face: &'static str, ends: u32, shots_per_end: u32) -> Round {
    Round { key, distance_m, face, ends, shots_per_end, indoors: false, origin: Origin::RuleBook, match_by: None }
}

const fn indoors(round: Round) -> Round {
    Round { indoors: true, ..round }
}

/// A match of at most five ends of three arrows each.
const fn duel(key: &'static str, by: &'static str, distance_m: f64, face: &'static str) -> Round {
    Round { match_by: Some(by), origin: Origin::Practice, ..round(key, distance_m, face, 5, 3) }
}

const fn from(origin: Origin, round: Round) -> Round {
    Round { origin, ..round }
}

/// Every round known, indoors first.
pub static ROUNDS: [Round; 23] = [
    indoors(round("18-60", 18.0, "40", 20, 3)),
    indoors(round("18-60-column", 18.0, "40-3v", 20, 3)),
    indoors(round("18-60-triangle", 18.0, "40-3t", 20, 3)),
    indoors(round("18-60-compound", 18.0, "40-3v-c", 20, 3)),
    from(Origin::Practice, indoors(round("18-30", 18.0, "40", 10, 3))),
    indoors(round("25-60", 25.0, "60", 20, 3)),
    indoors(round("25-60-compound", 25.0, "60-c", 20, 3)),
    round("70-72", 70.0, "122", 12, 6),
    round("60-72", 60.0, "122", 12, 6),
    round("50-72", 50.0, "122", 12, 6),
    round("50-72-compound", 50.0, "80-6", 12, 6),
    from(Origin::Practice, round("30-72", 30.0, "80", 12, 6)),
    from(Origin::Practice, round("70-36", 70.0, "122", 6, 6)),
    from(Origin::Practice, round("50-36-compound", 50.0, "80-6", 6, 6)),
    from(Origin::OneOfFour, round("90-36", 90.0, "122", 6, 6)),
    from(Origin::OneOfFour, round("60-36", 60.0, "122", 6, 6)),
    from(Origin::OneOfFour, round("50-36", 50.0, "80", 12, 3)),
    from(Origin::OneOfFour, round("40-36", 40.0, "80", 12, 3)),
    from(Origin::OneOfFour, round("30-36", 30.0, "80", 12, 3)),
    indoors(duel("18-15-sets", "sets", 18.0, "40-3v")),
    indoors(duel("18-15-total-compound", "total", 18.0, "40-3v-c")),
    duel("70-15-sets", "sets", 70.0, "122"),
    duel("50-15-total-compound", "total", 50.0, "80-6"),
];

impl Round {
    /// Arrows that count.
    #[must_use]
    pub const fn shots(&self) -> u32 {
        self.ends * self.shots_per_end
    }

    /// Whether a session with these numbers is this round.
    #[must_use]
    pub fn is(&self, distance_m: f64, face: &str, ends: u32, shots_per_end: u32) -> bool {
        same((self.distance_m, self.face, self.ends, self.shots_per_end), (distance_m, face, ends, shots_per_end))
    }

    /// Its face.
    #[must_use]
    pub fn of_face(&self) -> Option<&'static Face> {
        Face::named(self.face).ok()
    }
}

/// What decides the match that round `key` is, where it is one.
#[must_use]
pub fn match_of(key: &str) -> Option<&'static str> {
    ROUNDS.iter().find(|r| r.key == key).and_then(|r| r.match_by)
}

/// What tells rounds apart: distance in metres, name of the face, ends that count, arrows an end.
pub type Plan<'a> = (f64, &'a str, u32, u32);

/// Whether two plans are one round.
#[must_use]
pub fn same(a: Plan<'_>, b: Plan<'_>) -> bool {
    (a.0 - b.0).abs() < 0.01 && (a.1, a.2, a.3) == (b.1, b.2, b.3)
}

/// Time of an end of so many arrows, in seconds: the one that touches are timed by.
#[must_use]
pub fn end_seconds(shots_per_end: u32) -> u32 {
    (DEFAULT_TIME.seconds_an_arrow * f64::from(shots_per_end)).round() as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_round_can_be_shot_and_is_told_apart() {
        for (i, r) in ROUNDS.iter().enumerate() {
            let face = r.of_face().unwrap_or_else(|| panic!("{}: no face {}", r.key, r.face));
            assert!((r.shots() % 6 == 0 || r.match_by.is_some()) && r.shots() <= 72, "{}", r.key);
            assert!(r.key.starts_with(&format!("{}-{}", r.distance_m, r.shots())), "{}", r.key);
            assert!(
                face.spots.len() == 1 || r.shots_per_end as usize == face.spots.len(),
                "{}: an arrow a spot",
                r.key
            );
            for other in &ROUNDS[..i] {
                assert_ne!(other.key, r.key);
                assert!(!other.is(r.distance_m, r.face, r.ends, r.shots_per_end), "{} is {}", other.key, r.key);
            }
        }
    }

    #[test]
    fn the_clock_is_the_one_that_touches_are_timed_by() {
        let time = goldward_core::pace::DEFAULT_TIME;
        assert!((f64::from(end_seconds(3)) - 3.0 * time.seconds_an_arrow).abs() < 1e-9);
        assert_eq!((end_seconds(3), end_seconds(6)), (90, 180));
    }
}
