//! A rehearsal: whole rounds of a simulated archer under rules of touching, and what they come to.

use goldward_core::face::Face;
use goldward_core::group::{TRUST_PREDICTED, TRUST_UNKNOWN, TRUST_VERIFIED};
use goldward_core::pace::rehearsal::{Outcome, Rule, Scene, Tally};
use goldward_core::units::Distance;

/// Parts that rounds are split into, however many work on them; their scatter gives the standard error of a difference between
/// two rules, which the same luck makes smaller than the errors of the two.
const PARTS: u64 = 64;
/// Trusts of the table of first touches: unknown, predicted, verified.
pub const TRUSTS: [f64; 3] = [TRUST_UNKNOWN, TRUST_PREDICTED, TRUST_VERIFIED];
/// Spreads of that table, in parts of the archer's.
const SPREADS: [f64; 3] = [0.5, 1.0, 2.0];
/// Fewest and most rounds that a cell of it is made of.
const ROUNDS: (u64, u64) = (50, 400);

/// What is played.
#[derive(Debug, Clone, PartialEq)]
pub struct Rehearsed {
    /// The distance.
    pub distance: Distance,
    /// The face.
    pub face: &'static Face,
    /// Archer and round.
    pub scene: Scene,
    /// The trust that the first offset was taken from; nothing where the offset itself was told.
    pub trust: Option<f64>,
    /// Where the random numbers start.
    pub seed: u64,
}

impl Rehearsed {
    /// Sighting shots, which do not count.
    #[must_use]
    pub fn sighting_shots(&self) -> usize {
        self.scene.sighting_ends * self.scene.shots_per_end
    }

    /// The archers of the table of first touches, one row a spread, each with its trust.
    #[must_use]
    pub fn first_touches(&self) -> Vec<(f64, Scene)> {
        let cell = |times: f64, trust: f64| {
            let spread_mm = self.scene.spread_mm * times;
            // Every arrow counts: while none does, waiting costs nothing and says nothing.
            let first_offset_mm = spread_mm / trust.sqrt();
            (trust, Scene { spread_mm, first_offset_mm, sighting_ends: 0, ..self.scene.clone() })
        };
        SPREADS.iter().flat_map(|times| TRUSTS.map(|trust| cell(*times, trust))).collect()
    }
}

/// Rounds a cell of the table of first touches when `rounds` are played in all: a tenth.
#[must_use]
pub fn rounds_of(rounds: u64) -> u64 {
    (rounds / 10).clamp(ROUNDS.0, ROUNDS.1)
}

/// The parts of `rounds` rounds.
#[must_use]
pub fn parts(rounds: u64) -> Vec<std::ops::Range<u64>> {
    let parts = PARTS.min(rounds).max(1);
    (0..parts).map(|i| rounds * i / parts..rounds * (i + 1) / parts).collect()
}

/// Rounds played under some rules.
#[derive(Debug, Clone, PartialEq)]
pub struct Played {
    /// How many.
    pub rounds: u64,
    /// Points of one who always knows the centre.
    pub oracle_points: f64,
    /// What each rule came to.
    pub outcomes: Vec<Outcome>,
    /// Mean points of each rule in each part.
    parts: Vec<Vec<f64>>,
}

/// What Goldward gains.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gain {
    /// Goldward's rule that is told of.
    pub rule: Rule,
    /// The best rule of thumb that was played.
    pub best_fixed: Rule,
    /// Points a round above it.
    pub points: f64,
    /// Their standard error.
    pub points_se: f64,
    /// Share of what the perfect learner gains over never touching, where that is a point or more.
    pub share: Option<f64>,
}

impl Played {
    /// From the [`parts`] of the rounds, in their order.
    #[must_use]
    pub fn of(rounds: u64, oracle_points: f64, tallies: Vec<Tally>) -> Self {
        let points = |t: &Tally| t.outcomes(oracle_points).iter().map(|outcome| outcome.points).collect();
        let parts = tallies.iter().map(points).collect();
        let whole: Option<Tally> = tallies.into_iter().reduce(|mut sum, tally| {
            sum.add(&tally);
            sum
        });
        let outcomes = whole.map_or_else(Vec::new, |tally| tally.outcomes(oracle_points));
        Self { rounds, oracle_points, outcomes, parts }
    }

    /// What `rule` came to, if it was played.
    #[must_use]
    pub fn outcome(&self, rule: Rule) -> Option<&Outcome> {
        self.outcomes.iter().find(|o| o.rule == rule)
    }

    /// The best rule of thumb that was played.
    #[must_use]
    pub fn best_fixed(&self) -> Option<&Outcome> {
        self.outcomes.iter().filter(|o| o.rule.is_fixed()).max_by(|a, b| a.points.total_cmp(&b.points))
    }

    /// How many points more `a` brings than `b`, and the standard error of that.
    #[must_use]
    pub fn difference(&self, a: Rule, b: Rule) -> Option<(f64, f64)> {
        let at = |rule| self.outcomes.iter().position(|o| o.rule == rule);
        let (a, b) = (at(a)?, at(b)?);
        let parts: Vec<f64> = self.parts.iter().map(|p| p[a] - p[b]).collect();
        Some((self.outcomes[a].points - self.outcomes[b].points, standard_error(&parts)))
    }

    /// What Goldward gains over the best rule of thumb, when both were played.
    #[must_use]
    pub fn gain(&self) -> Option<Gain> {
        let rule = [Rule::Goldward, Rule::GoldwardCalm].into_iter().find(|r| self.outcome(*r).is_some())?;
        let best_fixed = self.best_fixed()?.rule;
        let (points, points_se) = self.difference(rule, best_fixed)?;
        let possible = self.difference(Rule::PerfectLearner, Rule::Never).filter(|(gap, _)| *gap >= 1.0);
        let share = self.difference(rule, Rule::Never).zip(possible).map(|((gain, _), (gap, _))| gain / gap);
        Some(Gain { rule, best_fixed, points, points_se, share })
    }
}

/// After how many arrows to touch first.
#[derive(Debug, Clone, PartialEq)]
pub struct FirstTouch {
    /// Spread, in milliradians.
    pub spread_mrad: f64,
    /// Spread on the face, in millimetres.
    pub spread_mm: f64,
    /// Trust.
    pub trust: f64,
    /// Rounds played.
    pub rounds: u64,
    /// Shots before the first touch: the median; nothing where that many never touch.
    pub median: Option<usize>,
    /// The tenth in a hundred.
    pub low: Option<usize>,
    /// The ninetieth in a hundred.
    pub high: Option<usize>,
    /// Share of rounds without a touch.
    pub never: f64,
}

impl FirstTouch {
    /// From what a rule came to in `rounds` rounds of `scene`, shot at `distance`.
    #[must_use]
    pub fn of(distance: Distance, (trust, scene): &(f64, Scene), rounds: u64, outcome: Option<&Outcome>) -> Self {
        let shares: &[f64] = outcome.map_or(&[], |o| &o.first_touch);
        Self {
            spread_mrad: scene.spread_mm / distance.metres(),
            spread_mm: scene.spread_mm,
            trust: *trust,
            rounds,
            median: quantile(shares, 0.5),
            low: quantile(shares, 0.1),
            high: quantile(shares, 0.9),
            never: shares.last().copied().unwrap_or(1.0),
        }
    }
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

/// Standard error of the mean of `parts`.
#[must_use]
pub fn standard_error(parts: &[f64]) -> f64 {
    let n = parts.len() as f64;
    let mean = parts.iter().sum::<f64>() / n;
    let squares: f64 = parts.iter().map(|x| (x - mean).powi(2)).sum();
    if parts.len() < 2 { 0.0 } else { (squares / (n * (n - 1.0))).sqrt() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_hold_every_round_once() {
        for rounds in [1, 2, 63, 64, 65, 2000] {
            let all: Vec<u64> = parts(rounds).into_iter().flatten().collect();
            assert_eq!(all, (0..rounds).collect::<Vec<u64>>());
        }
    }

    #[test]
    fn quantiles_count_those_who_never_touch() {
        let shares = [0.3, 0.3, 0.0, 0.4];
        assert_eq!(quantile(&shares, 0.1), Some(1));
        assert_eq!(quantile(&shares, 0.5), Some(2));
        assert_eq!(quantile(&shares, 0.9), None);
        assert_eq!(quantile(&[], 0.5), None);
    }
}
