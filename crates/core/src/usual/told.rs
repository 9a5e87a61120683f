//! What one archer contributes: one cell, four bounded whole numbers.

use super::Cell;
use super::argued::{BAD_SHARE, argued};

/// Fewer shots of an archer in the cell than this tell too little.
pub const FEWEST_SHOTS: usize = 60;
/// Fewer sessions than this.
const FEWEST_SESSIONS: usize = 2;

/// Whole numbers to one unit of a contribution.
pub(super) const GRID: f64 = 1000.0;
/// The logarithm of a spread counts within so much of the table's: a factor of 3.3 either way.
pub(super) const WINDOW: f64 = 1.2;
/// The share of shots that go astray counts within so much of the usual one.
pub(super) const BAD_WINDOW: f64 = 0.2;
/// The logarithm of the end effect over the usual one counts within a factor of four.
pub(super) const END_WINDOW: f64 = std::f64::consts::LN_2 * 2.0;

/// How many numbers an archer contributes beside being there.
pub(super) const SUMS: usize = 4;
/// By how much one archer can move each sum, on the grid.
pub(super) const SENSITIVITY: [u64; SUMS] = [1000, 500, 1000, 1000];

/// One session of an archer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SessionTold {
    /// Its spread, one standard deviation an axis, in milliradians.
    pub spread_mrad: f64,
    /// Shots it is from.
    pub shots: usize,
}

/// What one archer contributes to one cell, whatever was shot: every number lies within its bounds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Told {
    pub(super) cell: Cell,
    pub(super) grid: [i64; SUMS],
}

impl Told {
    /// Of an archer's `sessions` in `cell`, the share of shots that go astray and the end effect over the usual one, as far as they are
    /// known. Nothing of fewer than two sessions or [`FEWEST_SHOTS`] shots.
    ///
    /// With `u` the logarithm of a session's spread over the table's, in windows of 1.2 and cut to -1 .. 1 (what is expected of a logarithm of few
    /// shots, `-1 / 2d` for `d` degrees of freedom, is added), it contributes the mean of `u` and the mean of `u^2`, of which the
    /// variance that few shots make, `1 / 2d`, is taken off, less a half.
    #[must_use]
    pub fn new(cell: Cell, sessions: &[SessionTold], bad_share: Option<f64>, end_factor: Option<f64>) -> Option<Self> {
        let usable = |s: &&SessionTold| s.shots >= 3 && s.spread_mrad > 0.0 && s.spread_mrad.is_finite();
        let sessions: Vec<&SessionTold> = sessions.iter().filter(usable).collect();
        if sessions.len() < FEWEST_SESSIONS || sessions.iter().map(|s| s.shots).sum::<usize>() < FEWEST_SHOTS {
            return None;
        }
        let about = argued(Some(cell.bow), Some(cell.level)).spread_mrad;
        let (mut mean, mut square) = (0.0, 0.0);
        for s in &sessions {
            let noise = 0.5 / (2.0 * (s.shots as f64 - 1.0));
            let u = (((s.spread_mrad / about).ln() + noise) / WINDOW).clamp(-1.0, 1.0);
            mean += u / sessions.len() as f64;
            square += (u * u - noise / (WINDOW * WINDOW)) / sessions.len() as f64;
        }
        // What is not known is as usual.
        let bad = bad_share.map_or(0.0, |b| (b - BAD_SHARE) / BAD_WINDOW);
        let end = end_factor.filter(|e| *e > 0.0).map_or(0.0, |e| e.ln() / END_WINDOW);
        let on = |x: f64| if x.is_finite() { (x.clamp(-1.0, 1.0) * GRID).round() as i64 } else { 0 };
        Some(Self { cell, grid: [on(mean), on(square.clamp(0.0, 1.0) - 0.5), on(bad), on(end)] })
    }

    /// The cell.
    #[must_use]
    pub fn cell(&self) -> Cell {
        self.cell
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Band, Bow, Level};
    use super::*;
    use crate::random::Random;

    #[test]
    fn whatever_is_shot_stays_within_its_bounds() {
        let mut random = Random::seeded(4);
        let cell = Cell { bow: Bow::Compound, level: Level::Beginner, band: Band::Long };
        let odd = [0.0, -1.0, 1e-300, 1e300, f64::NAN, f64::INFINITY, 0.5, 2.4, 90.0];
        let mut reached = [false; SUMS];
        for _ in 0..20_000 {
            let pick = |r: &mut Random| odd[(r.bits() % odd.len() as u64) as usize];
            let n = 1 + (random.bits() % 5) as usize;
            let sessions: Vec<SessionTold> = (0..n)
                .map(|_| SessionTold { spread_mrad: pick(&mut random), shots: (random.bits() % 100) as usize })
                .collect();
            let Some(told) = Told::new(cell, &sessions, Some(pick(&mut random)), Some(pick(&mut random))) else {
                continue;
            };
            for (j, (x, most)) in told.grid.iter().zip(SENSITIVITY).enumerate() {
                assert!(x.unsigned_abs() <= most, "{told:?}");
                reached[j] |= x.unsigned_abs() == most;
            }
        }
        assert_eq!(reached, [true; SUMS], "the bounds are no wider than they must be");
    }

    #[test]
    fn few_shots_tell_nothing() {
        let cell = Cell { bow: Bow::Recurve, level: Level::Club, band: Band::Long };
        let of =
            |n: usize, shots: usize| Told::new(cell, &vec![SessionTold { spread_mrad: 3.0, shots }; n], None, None);
        assert!(of(1, 72).is_none() && of(2, 29).is_none() && of(2, 30).is_some());
        assert_eq!(of(2, 36).unwrap().grid[2..], [0, 0]);
    }
}
