//! The usual values of a club's archers, with noise, by empirical Bayes.
//!
//! Of each cell there are the number of archers `n` and four sums of bounded whole numbers. To each discrete Laplace noise is added, drawn
//! for itself, with a part of the budget `epsilon`. All that follows is reckoned from the noisy numbers and the shipped table, so it costs nothing:
//!
//! ```text
//! mean of the log spread   m = S1 / n,  observed with variance v = tau^2 / n + that of the noise
//!                          mu = (m A^2 + mu0 v) / (A^2 + v)                   mu0, A: the table and its doubt
//! scatter                  tau^2 = S2 / n - m^2 + v, drawn to the table's in the same way
//! flyers, end effect       as the mean
//! ```

use super::Cell;
use super::argued::{BAD_SHARE, DOUBT, SCATTER, Start, argued};
use super::noise::{Bits, discrete_laplace};
use super::told::{BAD_WINDOW, END_WINDOW, GRID, SENSITIVITY, SUMS, Told, WINDOW};

/// A cell of fewer archers is left out, whatever the noise.
pub const FEWEST_ARCHERS: usize = 20;
/// Probability that a cell of just so many archers is told.
pub const DELTA: f64 = 1e-5;

/// How the budget is shared out: the count, then the sums; of twenty parts.
const PARTS: [u64; 1 + SUMS] = [8, 5, 3, 2, 2];
const ALL_PARTS: u64 = 20;
/// Scatter of the share of shots that go astray among archers, and of the logarithm of the end effect, one standard deviation: argued.
const BAD_SCATTER: f64 = 0.05;
const END_SCATTER: f64 = 0.7;

/// How much a document may tell of one archer: `epsilon` of differential privacy, in thousandths.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Budget(u64);

impl Budget {
    /// The usual one.
    pub const USUAL: Self = Self(2000);

    /// So much, from 0.1 to 8; nothing beyond.
    #[must_use]
    pub fn new(epsilon: f64) -> Option<Self> {
        (0.1..=8.0).contains(&epsilon).then_some(Self((1000.0 * epsilon).round() as u64))
    }

    /// As a number.
    #[must_use]
    pub fn epsilon(self) -> f64 {
        self.0 as f64 / 1000.0
    }

    /// The `epsilon` of part `j` as a fraction.
    fn part(self, j: usize) -> (u64, u64) {
        (self.0 * PARTS[j], 1000 * ALL_PARTS)
    }

    fn part_of(self, j: usize) -> f64 {
        let (num, den) = self.part(j);
        num as f64 / den as f64
    }

    /// How many more archers than [`FEWEST_ARCHERS`] the noisy count must show, so that one of just so many is told with probability [`DELTA`] at most:
    /// `P(noise >= m) = r^m / (1 + r)` with `r = exp(-epsilon)`.
    #[must_use]
    pub fn margin(self) -> i64 {
        let epsilon = self.part_of(0);
        let r = (-epsilon).exp();
        ((-(DELTA * (1.0 + r)).ln()) / epsilon).ceil() as i64
    }
}

/// What is usual in one cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// Whose.
    pub cell: Cell,
    /// About how many archers it is from: with noise.
    pub archers: u32,
    /// Spread of the archer in the middle, in milliradians.
    pub spread_mrad: f64,
    /// How well that is known: one standard deviation of its natural logarithm.
    pub spread_sd: f64,
    /// How far sessions of such archers scatter about it, one standard deviation of the natural logarithm.
    pub scatter: f64,
    /// Share of shots that go astray.
    pub bad_share: f64,
    /// What the shots of an end share, as a factor on what is usual at the distance.
    pub end_factor: f64,
}

/// What a start is worth, in arrows, and the variance of the logarithm of the spread under a prior of that worth.
const WORTH: f64 = 6.0;
const WORTH_VARIANCE: f64 = 1.0 / 30.0;
/// The root of the mean square of such a prior lies above its middle by so many times that variance, on a logarithmic scale.
const SKEW: f64 = 3.3;

impl Row {
    /// Where a newcomer of the cell starts.
    ///
    /// The prior of a group is an inverse-Wishart of `worth + 3` degrees of freedom, mixed over octaves. The logarithm of its spread, a quarter of
    /// that of the determinant, has a variance of `(psi'((w + 3) / 2) + psi'((w + 2) / 2)) / 16`, about `1 / (4 (w + 1))`: 1/30 for six arrows
    /// (moments of the log determinant: Bishop 2006, "Pattern recognition and machine learning", appendix B, from memory). So much of the scatter is the
    /// worth, and the rest the doubt of octaves, whose weight for one octave to either side makes up the variance.
    #[must_use]
    pub fn start(&self) -> Start {
        let variance = self.scatter * self.scatter + self.spread_sd * self.spread_sd;
        let by_worth = variance.clamp(0.01, WORTH_VARIANCE);
        let octaves2 = ((variance - by_worth) / std::f64::consts::LN_2.powi(2)).clamp(0.0, 0.8);
        // A Student t of three degrees of freedom over k / width, of which k is a whole number.
        let weight = 0.5 * octaves2 / (1.0 - octaves2);
        let width = if weight > 1e-6 { (3.0 * (weight.powf(-0.5) - 1.0)).max(0.5).sqrt().recip() } else { 0.0 };
        Start {
            spread_mrad: self.spread_mrad * (SKEW * by_worth).exp(),
            worth: if by_worth < WORTH_VARIANCE { 0.25 / by_worth - 1.0 } else { WORTH },
            octaves: Some(width),
            bad_share: Some(self.bad_share),
            end_factor: Some(self.end_factor),
        }
    }
}

/// Drawn towards `about`, which is known to a variance of `own`, what was observed with a variance of `observed`: mean and variance.
fn drawn([about, own]: [f64; 2], [seen, observed]: [f64; 2]) -> (f64, f64) {
    let share = own / (own + observed);
    (about + share * (seen - about), share * observed)
}

/// The usual values of the cells that have archers enough. Every archer is in `told` once.
///
/// With one archer more or less the probability of any outcome changes by a factor of `exp(epsilon)` at most, but for an event of probability
/// [`DELTA`]: a cell of exactly [`FEWEST_ARCHERS`] may be told.
pub fn publish(told: &[Told], budget: Budget, bits: &mut Bits<'_>) -> Vec<Row> {
    Cell::all().filter_map(|cell| row(cell, told.iter().filter(|t| t.cell == cell), budget, bits)).collect()
}

fn row<'a>(cell: Cell, told: impl Iterator<Item = &'a Told>, budget: Budget, bits: &mut Bits<'_>) -> Option<Row> {
    let (mut n, mut sums) = (0_i64, [0_i64; SUMS]);
    for t in told {
        n += 1;
        sums.iter_mut().zip(t.grid).for_each(|(s, x)| *s += x);
    }
    // Every cell draws its noise, told or not.
    let (num, den) = budget.part(0);
    let count = n + discrete_laplace(bits, num, den);
    for (j, sum) in sums.iter_mut().enumerate() {
        let (num, den) = budget.part(j + 1);
        *sum += discrete_laplace(bits, num, den * SENSITIVITY[j]);
    }
    (n >= FEWEST_ARCHERS as i64 && count >= FEWEST_ARCHERS as i64 + budget.margin())
        .then(|| estimate(cell, count, sums, budget))
}

/// From noisy numbers alone.
fn estimate(cell: Cell, count: i64, sums: [i64; SUMS], budget: Budget) -> Row {
    let n = count as f64;
    let seen = |j: usize| (sums[j] as f64 / (GRID * n)).clamp(-1.0, 1.0);
    // Variance of the noise of a mean: its own, 2 b^2, and that of the count which it is divided by.
    let noise = |j: usize| {
        let own = SENSITIVITY[j] as f64 / GRID / budget.part_of(j + 1);
        2.0 * (own * own + (seen(j) / budget.part_of(0)).powi(2)) / (n * n)
    };
    let (w2, t2) = (WINDOW * WINDOW, SCATTER * SCATTER);

    let (m, q) = (seen(0), 0.5 + seen(1));
    let roughly = (w2 * (q - m * m)).clamp(0.1 * t2, 4.0 * t2);
    let observed = w2 * noise(0) + roughly / n;
    let table = argued(Some(cell.bow), Some(cell.level)).spread_mrad;
    let (shift, known) = drawn([0.0, DOUBT * DOUBT], [WINDOW * m, observed]);
    // The square of a noisy mean is too large by its variance; the table's scatter may be off by as much as it is.
    let scatter2 = w2 * (q - m * m) + observed;
    let (scatter2, _) = drawn([t2, t2 * t2], [scatter2, w2 * w2 * noise(1) + 2.0 * roughly * roughly / n]);

    let bad = drawn(
        [BAD_SHARE, BAD_SCATTER * BAD_SCATTER],
        [BAD_SHARE + BAD_WINDOW * seen(2), BAD_WINDOW * BAD_WINDOW * noise(2) + BAD_SCATTER * BAD_SCATTER / n],
    );
    let end = drawn(
        [0.0, END_SCATTER * END_SCATTER],
        [END_WINDOW * seen(3), END_WINDOW * END_WINDOW * noise(3) + END_SCATTER * END_SCATTER / n],
    );
    Row {
        cell,
        archers: count.clamp(0, 1_000_000) as u32,
        spread_mrad: table * shift.exp(),
        spread_sd: known.sqrt(),
        scatter: scatter2.max(0.01).sqrt(),
        bad_share: bad.0.clamp(0.01, 0.4),
        end_factor: end.0.exp(),
    }
}
