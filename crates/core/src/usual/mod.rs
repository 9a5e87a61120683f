//! What is usual by bow, level and distance: where an archer without history starts.
//!
//! `argued` is the table that Goldward ships; its numbers are argued, no source. A club whose archers agree has numbers of its own:
//! `told` is what one archer contributes, bounded and on a grid of whole numbers, `noise` what is added so that no archer can be made
//! out, and `publish` the usual values by empirical Bayes, of cells with archers enough. `docs/design/usual.md` has the formulae and the
//! argument for the privacy.

pub(crate) mod argued;
pub mod noise;
mod publish;
mod told;

pub use argued::{Start, argued};
pub use publish::{Budget, DELTA, FEWEST_ARCHERS, Row, publish};
pub use told::{FEWEST_SHOTS, SessionTold, Told};

/// What kind of bow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Bow {
    /// A recurve with a sight.
    #[default]
    Recurve,
    /// A compound.
    Compound,
    /// A recurve without a sight.
    Barebow,
    /// A longbow.
    Longbow,
}

/// How well an archer shoots, as they say it themselves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Level {
    /// In the first year or so.
    Beginner,
    /// Shoots regularly in a club.
    #[default]
    Club,
    /// Shoots at competitions and does well.
    Strong,
}

/// How far it is shot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Band {
    /// Up to 27 m: indoors.
    Short,
    /// Up to 55 m.
    Middle,
    /// Beyond.
    Long,
}

impl Bow {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Recurve, Self::Compound, Self::Barebow, Self::Longbow];

    /// How it is called in files.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Recurve => "recurve",
            Self::Compound => "compound",
            Self::Barebow => "barebow",
            Self::Longbow => "longbow",
        }
    }

    /// The one that is called so.
    #[must_use]
    pub fn named(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|b| b.key() == key)
    }
}

impl Level {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Beginner, Self::Club, Self::Strong];

    /// How it is called in files.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Beginner => "beginner",
            Self::Club => "club",
            Self::Strong => "strong",
        }
    }

    /// The one that is called so.
    #[must_use]
    pub fn named(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|l| l.key() == key)
    }
}

impl Band {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Short, Self::Middle, Self::Long];

    /// The one of a distance in metres.
    #[must_use]
    pub fn of(distance_m: f64) -> Self {
        match distance_m {
            d if d <= 27.0 => Self::Short,
            d if d <= 55.0 => Self::Middle,
            _ => Self::Long,
        }
    }

    /// How it is called in files.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Short => "short",
            Self::Middle => "middle",
            Self::Long => "long",
        }
    }

    /// The one that is called so.
    #[must_use]
    pub fn named(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|b| b.key() == key)
    }
}

/// Archers of a kind: those who are alike enough to have something usual.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Cell {
    /// What they shoot.
    pub bow: Bow,
    /// How well.
    pub level: Level,
    /// How far.
    pub band: Band,
}

impl Cell {
    /// All cells: a list that no data makes longer or shorter.
    pub fn all() -> impl Iterator<Item = Self> {
        Bow::ALL.into_iter().flat_map(|bow| {
            Level::ALL
                .into_iter()
                .flat_map(move |level| Band::ALL.into_iter().map(move |band| Self { bow, level, band }))
        })
    }
}
