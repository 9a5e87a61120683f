//! The table that Goldward ships: argued, no source.

use super::{Bow, Level};

/// Spread of a club archer with a recurve, in milliradians: what is assumed where nothing is told.
pub const PLAIN_MRAD: f64 = 3.0;
/// Worth of every spread of the table, in arrows.
pub const PLAIN_WORTH: f64 = 4.0;
/// Share of shots that go astray, flyers and strays: that of the usual odds.
pub(super) const BAD_SHARE: f64 = 0.09;
/// Standard deviation of the natural logarithm of a session's spread among archers of a cell: two in three lie within a factor of 1.4.
pub(super) const SCATTER: f64 = 0.35;
/// How far the spreads of the table may be off, one standard deviation of the natural logarithm: half as much again.
pub(super) const DOUBT: f64 = 0.405;

/// Spreads in milliradians by bow; beginner, club archer, strong archer. Argued from what they make of scores, no source: 3 mrad is about
/// 450 of 720 points at 70 m on the 122 cm face, 1.5 mrad about 600; a compound of 0.6 mrad makes about 690 at 50 m on the 80 cm face.
const SPREADS: [(Bow, [f64; 3]); 4] = [
    (Bow::Recurve, [5.0, PLAIN_MRAD, 1.5]),
    (Bow::Compound, [2.4, 1.2, 0.6]),
    (Bow::Barebow, [7.0, 4.5, 2.5]),
    (Bow::Longbow, [9.0, 6.0, 4.0]),
];

/// Where an archer without history starts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Start {
    /// Spread in milliradians: the root of the mean square that the prior of a group expects.
    pub spread_mrad: f64,
    /// Arrows that this is worth.
    pub worth: f64,
    /// How far one archer's spread may be from it beyond that, in octaves, either way ([`crate::group::Doubt`]); the usual doubt where it is not
    /// told.
    pub octaves: Option<f64>,
    /// Share of shots that go astray; the usual odds where it is not told.
    pub bad_share: Option<f64>,
    /// What the shots of an end share, as a factor on what is usual at the distance.
    pub end_factor: Option<f64>,
}

/// The table's value for a bow and a level, which are a recurve and a club archer where they are not told.
#[must_use]
pub fn argued(bow: Option<Bow>, level: Option<Level>) -> Start {
    let (bow, level) = (bow.unwrap_or_default(), level.unwrap_or_default());
    let row = SPREADS.iter().find(|r| r.0 == bow).map_or(SPREADS[0].1, |r| r.1);
    Start { spread_mrad: row[level as usize], worth: PLAIN_WORTH, octaves: None, bad_share: None, end_factor: None }
}
