//! How many arrows before the first touch, when every arrow counts? By spread and trust, from simulated rounds.

use goldward_core::group::{TRUST_PREDICTED, TRUST_UNKNOWN, TRUST_VERIFIED};
use goldward_core::pace::rehearsal::{Rehearsal, Rule, Scene};
use goldward_core::score::Scorer;
use goldward_report::words::Phrase;

use super::play::in_order;
use super::scene::Rehearsed;
use crate::busy::Busy;

/// Trusts of the table, each with what it is called.
pub(super) const TRUSTS: [(f64, Phrase); 3] = [
    (TRUST_UNKNOWN, Phrase::PaceUnknown),
    (TRUST_PREDICTED, Phrase::PacePredicted),
    (TRUST_VERIFIED, Phrase::PaceVerified),
];
/// Spreads of the table, in parts of the archer's.
const SPREADS: [f64; 3] = [0.5, 1.0, 2.0];
/// Fewest and most rounds that a cell is made of.
const ROUNDS: (u64, u64) = (50, 400);

/// A cell of the table.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Cell {
    pub(super) spread_mrad: f64,
    pub(super) trust: f64,
    scene: Scene,
}

/// What a cell came to.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct First {
    pub(super) spread_mrad: f64,
    pub(super) trust: f64,
    pub(super) rounds: u64,
    /// Shots before the first touch: median, and the quantiles 10 % and 90 %; `None` where that many never touch.
    pub(super) median: Option<usize>,
    pub(super) low: Option<usize>,
    pub(super) high: Option<usize>,
    /// Share of rounds without a touch.
    pub(super) never: f64,
}

/// The cells for an archer, one row a spread.
pub(super) fn cells(rehearsed: &Rehearsed) -> Vec<Cell> {
    let spread_mrad = rehearsed.settings.prior.spread_mm() / rehearsed.settings.distance.metres();
    let cell = |times: f64, trust: f64| {
        let spread_mm = rehearsed.scene.spread_mm * times;
        // Every arrow counts: while none does, waiting costs nothing and says nothing.
        let scene =
            Scene { spread_mm, first_offset_mm: spread_mm / trust.sqrt(), sighting_ends: 0, ..rehearsed.scene.clone() };
        Cell { spread_mrad: spread_mrad * times, trust, scene }
    };
    SPREADS.iter().flat_map(|times| TRUSTS.map(|(trust, _)| cell(*times, trust))).collect()
}

/// Rounds a cell when `rounds` are played in all: a tenth.
pub(super) fn rounds_of(rounds: u64) -> u64 {
    (rounds / 10).clamp(ROUNDS.0, ROUNDS.1)
}

/// Plays every cell.
pub(super) fn table(
    rehearsed: &Rehearsed,
    cells: Vec<Cell>,
    rounds: u64,
    seed: u64,
    threads: usize,
    progress: &Busy,
) -> Vec<First> {
    let scorer = Scorer::new(rehearsed.settings.face, rehearsed.settings.shaft);
    in_order(cells.len(), threads, |i| {
        let cell = &cells[i];
        let rehearsal = Rehearsal::new(&cell.scene, &scorer, seed);
        let outcomes = rehearsal.play(&[Rule::GoldwardCalm], 0..rounds).outcomes(0.0);
        progress.add(rounds);
        let shares: &[f64] = outcomes.first().map_or(&[], |o| &o.first_touch);
        First {
            spread_mrad: cell.spread_mrad,
            trust: cell.trust,
            rounds,
            median: quantile(shares, 0.5),
            low: quantile(shares, 0.1),
            high: quantile(shares, 0.9),
            never: shares.last().copied().unwrap_or(1.0),
        }
    })
}

/// After how many shots a share `p` of the rounds has been touched in; `shares` are those of 1, 2, ... shots, and of never.
fn quantile(shares: &[f64], p: f64) -> Option<usize> {
    let mut sum = 0.0;
    let touched = shares.split_last().map_or(&[][..], |(_, touched)| touched);
    touched
        .iter()
        .position(|share| {
            sum += share;
            sum >= p - 1e-9
        })
        .map(|i| i + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_count_those_who_never_touch() {
        let shares = [0.3, 0.3, 0.0, 0.4];
        assert_eq!(quantile(&shares, 0.1), Some(1));
        assert_eq!(quantile(&shares, 0.5), Some(2));
        assert_eq!(quantile(&shares, 0.9), None);
        assert_eq!(quantile(&[], 0.5), None);
    }
}
