//! How a match is counted, and how it stands.

use super::MatchError;
use crate::range::within;

/// The edition of the rules that [`FORMATS`] writes down. They differ by federation and year: what counts stands in the invitation, and
/// the judge decides.
pub const EDITION: &str = "common practice about 2024";

/// What decides.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Count {
    /// Sets: who makes more in an end gets points of the match, and who has enough has won.
    Sets {
        /// Points of the match for the better end.
        win: u32,
        /// Points of the match for each where both make the same.
        level: u32,
        /// Who has so many has won.
        first_to: u32,
    },
    /// The sum of all arrows.
    Total,
}

/// A kind of match. A single arrow nearest to the centre decides where both are level at its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Format {
    /// Its key.
    pub key: &'static str,
    /// What decides.
    pub count: Count,
    /// Ends, at most.
    pub ends: u32,
    /// Arrows of each archer an end.
    pub shots_per_end: u32,
}

/// What is usually shot, by [`EDITION`]: five sets of three arrows, two points for a set and one each where it is level, first to six; and
/// fifteen arrows in ends of three, by their sum.
pub static FORMATS: [Format; 2] = [
    Format { key: "sets", count: Count::Sets { win: 2, level: 1, first_to: 6 }, ends: 5, shots_per_end: 3 },
    Format { key: "total", count: Count::Total, ends: 5, shots_per_end: 3 },
];

/// Most ends of a match.
pub const MOST_ENDS: u32 = 24;
/// Most arrows an end.
pub const MOST_SHOTS: u32 = 12;

impl Format {
    /// The usual format of that key.
    #[must_use]
    pub fn named(key: &str) -> Option<Self> {
        FORMATS.into_iter().find(|f| f.key == key)
    }

    /// The same with other numbers: at most so many ends of so many arrows, and for sets who has so many points has won.
    ///
    /// # Errors
    /// [`MatchError::OutOfRange`]: 1 to 24 ends of 1 to 12 arrows, first to 1 up to what all ends together give.
    pub fn with(self, ends: u32, shots_per_end: u32, first_to: Option<u32>) -> Result<Self, MatchError> {
        within("the number of ends", f64::from(ends), "", 1.0, f64::from(MOST_ENDS))?;
        within("the number of arrows an end", f64::from(shots_per_end), "", 1.0, f64::from(MOST_SHOTS))?;
        let count = match (self.count, first_to) {
            (Count::Sets { win, level, first_to }, wanted) => {
                let first_to = wanted.unwrap_or(first_to);
                within("the points that win a match", f64::from(first_to), "", 1.0, f64::from(win * ends))?;
                Count::Sets { win, level, first_to }
            }
            (Count::Total, _) => Count::Total,
        };
        Ok(Self { count, ends, shots_per_end, ..self })
    }

    /// Whether sets decide.
    #[must_use]
    pub fn is_sets(&self) -> bool {
        matches!(self.count, Count::Sets { .. })
    }
}

/// One archer in a match.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash)]
pub struct Side {
    /// Points of the match from ends that are over: of sets, or of all arrows.
    pub points: u32,
    /// Arrows shot in the end that is under way.
    pub end_shots: u32,
    /// Their points.
    pub end_points: u32,
}

/// How a match stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash)]
pub struct Standing {
    /// Ends that are over.
    pub ends_done: u32,
    /// The archer.
    pub mine: Side,
    /// The other.
    pub theirs: Side,
    /// Whether the archer has won the single arrow, where it was shot and the judge has said whose is nearer.
    pub single: Option<bool>,
}

/// How far a match has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Verdict {
    /// It goes on.
    Open,
    /// One arrow each decides.
    ShootOff,
    /// The archer has won.
    Won,
    /// The other has.
    Lost,
}

impl Standing {
    /// Points of both in ends that are over, one after the other; what is left when an end has fewer arrows than it should is taken as it is.
    #[must_use]
    pub fn after(format: &Format, ends: impl IntoIterator<Item = (u32, u32)>) -> Self {
        ends.into_iter().fold(Self::default(), |now, (mine, theirs)| now.with_end(format, mine, theirs))
    }

    /// One end more, in which the archers made so many points; what was under way in it is over.
    #[must_use]
    pub fn with_end(self, format: &Format, mine: u32, theirs: u32) -> Self {
        let (m, t) = match format.count {
            Count::Total => (mine, theirs),
            Count::Sets { win, level, .. } => match mine.cmp(&theirs) {
                std::cmp::Ordering::Greater => (win, 0),
                std::cmp::Ordering::Equal => (level, level),
                std::cmp::Ordering::Less => (0, win),
            },
        };
        let side = |side: Side, more: u32| Side { points: side.points.saturating_add(more), ..Side::default() };
        Self { ends_done: self.ends_done + 1, mine: side(self.mine, m), theirs: side(self.theirs, t), ..self }
    }

    /// With the end closed in which both have shot all their arrows.
    #[must_use]
    pub fn settled(self, format: &Format) -> Self {
        let all = |s: Side| s.end_shots >= format.shots_per_end;
        if self.verdict(format) == Verdict::Open && all(self.mine) && all(self.theirs) {
            self.with_end(format, self.mine.end_points, self.theirs.end_points)
        } else {
            self
        }
    }

    /// How far the match has come.
    #[must_use]
    pub fn verdict(&self, format: &Format) -> Verdict {
        match (verdict(format, self.ends_done >= format.ends, self.mine.points, self.theirs.points), self.single) {
            (Verdict::ShootOff, Some(true)) => Verdict::Won,
            (Verdict::ShootOff, Some(false)) => Verdict::Lost,
            (verdict, _) => verdict,
        }
    }

    /// Whether these numbers can be those of a match.
    ///
    /// # Errors
    /// [`MatchError::OutOfRange`].
    pub fn checked(self, format: &Format, highest: u8) -> Result<Self, MatchError> {
        within("the number of ends that are over", f64::from(self.ends_done), "", 0.0, f64::from(format.ends))?;
        let an_end = f64::from(format.shots_per_end) * f64::from(highest);
        let (most, step) = match format.count {
            Count::Total => (f64::from(self.ends_done) * an_end, 0.0),
            Count::Sets { win, level, .. } => {
                (f64::from(self.ends_done) * f64::from(win), f64::from(self.ends_done) * f64::from(win.max(2 * level)))
            }
        };
        for side in [self.mine, self.theirs] {
            within("the points of the match", f64::from(side.points), "", 0.0, most)?;
            within(
                "the number of arrows in this end",
                f64::from(side.end_shots),
                "",
                0.0,
                f64::from(format.shots_per_end),
            )?;
            let shot = f64::from(side.end_shots) * f64::from(highest);
            within("the points in this end", f64::from(side.end_points), "", 0.0, shot)?;
        }
        if format.is_sets() {
            let both = f64::from(self.mine.points) + f64::from(self.theirs.points);
            within("the points of the match of both together", both, "", 0.0, step)?;
        }
        Ok(self)
    }
}

/// How far a match with these points has come; `done` when all ends are over.
pub(super) fn verdict(format: &Format, done: bool, mine: u32, theirs: u32) -> Verdict {
    let enough = match format.count {
        Count::Sets { first_to, .. } => mine.max(theirs) >= first_to,
        Count::Total => false,
    };
    match mine.cmp(&theirs) {
        _ if !(done || enough) => Verdict::Open,
        std::cmp::Ordering::Greater => Verdict::Won,
        std::cmp::Ordering::Equal => Verdict::ShootOff,
        std::cmp::Ordering::Less => Verdict::Lost,
    }
}
