//! Spreads and what can be told of them: tests of variance, outliers, ranges, and how many arrows it takes.

use super::StatsError;
use super::distribution::{f_above, f_exceeded, normal_above, t_exceeded};
use crate::range::within;

/// Two variances compared.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VarianceRatio {
    /// First variance over second.
    pub f: f64,
    /// Degrees of freedom of the first and the second.
    pub dof: [f64; 2],
    /// Chance of a ratio at least this far from 1, to either side, were they equal.
    pub p_value: f64,
    /// Probability that the first true variance is the smaller one (flat prior on both logarithms).
    pub p_first_smaller: f64,
}

impl VarianceRatio {
    /// Compares the variances `first` and `second` of `dof` degrees of freedom.
    ///
    /// The ratio `F = first / second` follows the F distribution when the true variances are equal (Snedecor & Cochran 1989,
    /// "Statistical Methods", 8th edition, section 6.10).
    ///
    /// # Errors
    /// [`StatsError::OutOfRange`] unless all are positive and finite.
    pub fn new([first, second]: [f64; 2], dof: [f64; 2]) -> Result<Self, StatsError> {
        for v in [first, second] {
            within("a variance", v, "", f64::MIN_POSITIVE, f64::MAX)?;
        }
        for d in dof {
            within("the degrees of freedom", d, "", 0.5, 1e9)?;
        }
        let f = first / second;
        let above = f_above(f, dof[0], dof[1]);
        Ok(Self { f, dof, p_value: (2.0 * above.min(1.0 - above)).min(1.0), p_first_smaller: above })
    }

    /// Interval that holds the true ratio of variances with probability `p`.
    #[must_use]
    pub fn interval(&self, p: f64) -> [f64; 2] {
        let tail = 0.5 * (1.0 - p);
        [self.f / f_exceeded(tail, self.dof[0], self.dof[1]), self.f * f_exceeded(tail, self.dof[1], self.dof[0])]
    }
}

/// Brown and Forsythe's test that groups have equal variances: statistic and p-value.
///
/// An analysis of variance of the distances from each group's median, which flyers disturb little. Source: Brown & Forsythe
/// 1974, "Robust tests for the equality of variances", JASA 69.
///
/// # Errors
/// [`StatsError::TooFew`] when a group has fewer than two values, [`StatsError::NoSpread`] when all distances are the same.
pub fn brown_forsythe(groups: &[&[f64]]) -> Result<(f64, f64), StatsError> {
    let (k, n) = (groups.len() as f64, groups.iter().map(|g| g.len()).sum::<usize>() as f64);
    if groups.len() < 2 || groups.iter().any(|g| g.len() < 2) {
        return Err(StatsError::TooFew { values: groups.iter().map(|g| g.len()).min().unwrap_or(0), needed: 2 });
    }
    let distances: Vec<Vec<f64>> = groups
        .iter()
        .map(|g| {
            let mut sorted = g.to_vec();
            sorted.sort_by(f64::total_cmp);
            let middle = 0.5 * (sorted[(g.len() - 1) / 2] + sorted[g.len() / 2]);
            g.iter().map(|v| (v - middle).abs()).collect()
        })
        .collect();
    let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
    let all = distances.iter().flatten().sum::<f64>() / n;
    let between: f64 = distances.iter().map(|d| d.len() as f64 * (mean(d) - all).powi(2)).sum();
    let within: f64 = distances.iter().map(|d| d.iter().map(|v| (v - mean(d)).powi(2)).sum::<f64>()).sum();
    if within <= 0.0 {
        return Err(StatsError::NoSpread);
    }
    let w = between / (k - 1.0) / (within / (n - k));
    Ok((w, f_above(w, k - 1.0, n - k)))
}

/// The value furthest from the others, judged by Grubbs' test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grubbs {
    /// Which value.
    pub index: usize,
    /// Its distance from the mean in standard deviations.
    pub g: f64,
    /// How many values there are.
    n: usize,
}

impl Grubbs {
    /// Tests `values` for one outlier on either side (Grubbs 1969, "Procedures for detecting outlying observations in
    /// samples", Technometrics 11).
    ///
    /// # Errors
    /// [`StatsError::TooFew`] below three values, [`StatsError::NoSpread`] when all are the same.
    pub fn new(values: &[f64]) -> Result<Self, StatsError> {
        if values.len() < 3 {
            return Err(StatsError::TooFew { values: values.len(), needed: 3 });
        }
        let n = values.len() as f64;
        let mean = values.iter().sum::<f64>() / n;
        let sd = (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
        if !(sd > 0.0 && sd.is_finite()) {
            return Err(StatsError::NoSpread);
        }
        let furthest = values.iter().map(|v| (v - mean).abs() / sd).enumerate().max_by(|a, b| a.1.total_cmp(&b.1));
        let (index, g) = furthest.unwrap_or((0, 0.0));
        Ok(Self { index, g, n: values.len() })
    }

    /// What `g` must exceed for the value to be called an outlier at significance `level`.
    #[must_use]
    pub fn critical(&self, level: f64) -> f64 {
        let n = self.n as f64;
        let t2 = t_exceeded(0.5 * level / n, n - 2.0).powi(2);
        (n - 1.0) / n.sqrt() * (t2 / (n - 2.0 + t2)).sqrt()
    }
}

/// Expected range (largest less smallest) of `n` values of a standard normal, the constant d2 of control charts.
///
/// The integral of `1 - F^n - (1 - F)^n` (Tippett 1925, "On the extreme individuals and the range of samples", Biometrika 17) by
/// the trapezoid rule from -9 to 9, which is exact to rounding for so smooth a function.
#[must_use]
pub fn expected_range(n: u32) -> f64 {
    const STEP: f64 = 1.0 / 64.0;
    (-576..=576)
        .map(|k| {
            let above = normal_above(f64::from(k) * STEP);
            STEP * (1.0 - (1.0 - above).powf(f64::from(n)) - above.powf(f64::from(n)))
        })
        .sum()
}

/// The chance to find out, with `shots` of each setting in ends of `an_end`, that one spread is `ratio` times the other, by a
/// two-sided F test at `level` on both axes within ends.
///
/// Formula: with `d = 2 (shots - ends)` degrees of freedom each, `P(F > q / r^2) + P(F < 1 / (q r^2))`, `q` the upper quantile.
#[must_use]
pub fn power(shots: usize, an_end: usize, ratio: f64, level: f64) -> f64 {
    let dof = 2.0 * (shots - shots.div_ceil(an_end)) as f64;
    if dof < 1.0 {
        return level;
    }
    let q = f_exceeded(0.5 * level, dof, dof);
    let r2 = ratio * ratio;
    f_above(q / r2, dof, dof) + 1.0 - f_above(1.0 / (q * r2), dof, dof)
}

/// How many shots of each setting it takes to find a ratio of spreads of `ratio` with the chance `chance`, as [`power`].
///
/// # Errors
/// [`StatsError::OutOfRange`] for a ratio nearer to 1 than 2 %, a chance outside 0.1 to 0.99 or a level outside 0.001 to 0.3, or
/// ends of less than two shots.
pub fn shots_to_tell(ratio: f64, an_end: usize, chance: f64, level: f64) -> Result<usize, StatsError> {
    within("the ratio of spreads", if ratio < 1.0 { 1.0 / ratio } else { ratio }, "", 1.02, 100.0)?;
    within("the chance", chance, "", 0.1, 0.99)?;
    within("the level", level, "", 0.001, 0.3)?;
    within("the shots of an end", an_end as f64, "", 2.0, 1e6)?;
    let (mut low, mut high) = (2, 1 << 17);
    while low + 1 < high {
        let mid = (low + high) / 2;
        if power(mid, an_end, ratio, level) < chance { low = mid } else { high = mid }
    }
    Ok(high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_variances_are_even_odds() {
        let r = VarianceRatio::new([2.0, 2.0], [30.0, 30.0]).unwrap();
        assert!((r.p_first_smaller - 0.5).abs() < 1e-9 && (r.p_value - 1.0).abs() < 1e-9);
        let [low, high] = r.interval(0.9);
        assert!((low * high - 1.0).abs() < 1e-9);
        assert!(VarianceRatio::new([0.0, 1.0], [3.0, 3.0]).is_err());
    }

    #[test]
    fn ten_per_cent_takes_hundreds_of_arrows() {
        let n = shots_to_tell(1.1, 6, 0.8, 0.05).unwrap();
        // Normal approximation of the logarithm: d = ((1.96 + 0.84) / ln 1.1)^2 = 864 a setting, 10/6 a shot.
        assert!((500..540).contains(&n), "{n}");
        assert!(power(6, 6, 1.1, 0.05) < 0.06, "six arrows tell nothing");
        assert!(shots_to_tell(2.0, 6, 0.8, 0.05).unwrap() < 20);
    }

    #[test]
    fn the_range_of_two_is_known() {
        // 2 / sqrt(pi); the error function is good to about 1e-10.
        assert!((expected_range(2) - 2.0 / std::f64::consts::PI.sqrt()).abs() < 1e-9);
    }

    #[test]
    fn what_cannot_be_judged_is_refused() {
        assert!(Grubbs::new(&[1.0, 1.0, 1.0]).is_err() && Grubbs::new(&[1.0, 2.0]).is_err());
        assert!(brown_forsythe(&[&[1.0, 2.0]]).is_err());
    }
}
