//! Plain statistics, which know nothing of archery: distributions, tests of spreads and centres, false discoveries, Gaussian
//! rules and small linear systems.
//!
//! ```
//! use goldward_core::stats::spread::{brown_forsythe, shots_to_tell};
//!
//! // Two groups that scatter alike about different middles, and one that scatters ten times as far.
//! let (near, far, wide) = ([1.0, 2.0, 3.0, 4.0, 5.0], [11.0, 12.0, 13.0, 14.0, 15.0], [0.0, 10.0, 20.0, 30.0, 40.0]);
//! assert!(brown_forsythe(&[&near, &far])?.1 > 0.99 && brown_forsythe(&[&near, &wide])?.1 < 0.05);
//! // To tell spreads a tenth apart takes hundreds of arrows of each.
//! assert!(shots_to_tell(1.1, 6, 0.8, 0.05)? > 400);
//! # Ok::<(), goldward_core::stats::StatsError>(())
//! ```

use crate::range::OutOfRange;

pub(crate) mod bessel;
pub mod centres;
pub(crate) mod cholesky;
pub mod discovery;
pub mod distribution;
pub mod quadrature;
pub mod roundness;
pub mod spread;

/// Standard deviations from the middle to the end of the 80 % interval of a normal distribution: its 90 % point.
pub const Z_80: f64 = 1.281_551_565_544_600_5;
/// Radius of the ellipse that holds 80 % of a bivariate normal, in standard deviations: `sqrt(-2 ln 0.2)`.
pub const ELLIPSE_80: f64 = 1.794_122_577_994_101;
/// Radius of the circle that holds half of a round bivariate normal, in standard deviations: `sqrt(2 ln 2)`.
pub const HALF_RADIUS: f64 = 1.177_410_022_515_474_7;

/// The logarithm of the sum of numbers whose logarithms are given; minus infinity of none.
pub(crate) fn log_sum(values: impl Iterator<Item = f64> + Clone) -> f64 {
    let top = values.clone().fold(f64::NEG_INFINITY, f64::max);
    if top == f64::NEG_INFINITY { top } else { top + values.map(|v| (v - top).exp()).sum::<f64>().ln() }
}

/// Of `sorted` values the one that stands for the share `p`: order statistic k of n stands for k / (n + 1).
pub(crate) fn order_statistic(sorted: &[f64], p: f64) -> f64 {
    sorted[((sorted.len() + 1) as f64 * p).round() as usize - 1]
}

/// Why a test has no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum StatsError {
    /// Too few values for the question.
    #[error("{values} values are too few: at least {needed} are needed here")]
    TooFew {
        /// How many there are.
        values: usize,
        /// How many it takes.
        needed: usize,
    },
    /// All values are the same, or all places lie on one line.
    #[error("the values do not scatter: give some that differ")]
    NoSpread,
    /// A number outside its domain.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_constants_are_what_they_say() {
        assert!((distribution::normal_quantile(0.9) - Z_80).abs() < 1e-9);
        assert!((ELLIPSE_80 - (-2.0 * 0.2_f64.ln()).sqrt()).abs() < 1e-15);
        assert!((HALF_RADIUS - (2.0 * 2.0_f64.ln()).sqrt()).abs() < 1e-15);
    }
}
