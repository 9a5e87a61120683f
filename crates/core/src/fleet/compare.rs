//! Two settings compared: is the group tighter after a change, by how much, how sure?
//!
//! Spreads are compared within ends, so that a centre that wanders between ends does not count as spread; flyers are
//! weighed down by their class probabilities, and what is not known of the classes widens the posterior of the spread. When ends of the same number belong together (one end with the one setting,
//! one with the other, in turn), the comparison is also made pair by pair, so that fatigue, wind and light, which both
//! ends of a pair share, do not decide.

use statrs::function::gamma::digamma;

use super::{ArrowShot, FleetError, Offset, fit};
use crate::group::{ClassOdds, KAPPA};
use crate::stats::centres::Hotelling;
use crate::stats::distribution::{t_above, t_exceeded};

/// Pairs of ends needed for a comparison pair by pair.
pub const FEWEST_PAIRS: usize = 4;

/// Chance with which a difference should be found when nobody says.
pub const CHANCE_DEFAULT: f64 = 0.8;
/// Level of the test that should find it.
pub const LEVEL_DEFAULT: f64 = 0.05;

/// One end under one setting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EndSpread {
    /// Session and number of the end, as given.
    pub end: (usize, usize),
    /// How many shots.
    pub shots: usize,
    /// Centre of the end, flyers weighed down.
    pub centre: Offset,
    /// Weighted sums of squares about that centre, right and up, in mrad^2.
    pub squares_mrad2: [f64; 2],
}

impl EndSpread {
    /// Degrees of freedom of each axis.
    #[must_use]
    pub fn dof(&self) -> f64 {
        self.shots as f64 - 1.0
    }
}

/// All ends of one setting.
#[derive(Debug, Clone, PartialEq)]
pub struct Setting {
    /// The ends, in order.
    pub ends: Vec<EndSpread>,
    /// How many shots.
    pub shots: usize,
    /// How many of them are expected to be flyers or strays.
    pub flyers: f64,
    /// Variance of a clean shot within an end, right and up, in mrad^2.
    pub variance_mrad2: [f64; 2],
    /// Effective degrees of freedom of the mean of both: those of a chi-squared whose logarithm is as uncertain.
    pub dof: f64,
    /// Posterior of the spread relative to [`Setting::spread_mrad`]: logarithms and their probabilities.
    pub(super) log_scale: Vec<(f64, f64)>,
    /// Class probabilities of every shot.
    pub classes: Vec<[f64; 3]>,
}

impl Setting {
    /// Reads the shots of one setting; arrows are not told apart.
    ///
    /// # Errors
    /// [`FleetError`].
    pub fn read(shots: &[ArrowShot], unmarked: ClassOdds) -> Result<Self, FleetError> {
        super::check(shots)?;
        let alike: Vec<ArrowShot> = shots.iter().map(|s| ArrowShot { arrow: 0, ..*s }).collect();
        let (fit, _) = fit(&alike, unmarked)?;
        let mut by: std::collections::BTreeMap<(usize, usize), Vec<usize>> = std::collections::BTreeMap::new();
        for (i, s) in shots.iter().enumerate() {
            by.entry((s.session, s.end)).or_default().push(i);
        }
        let weights: Vec<f64> = fit.classes.iter().map(|p| super::classes::weight(*p)).collect();
        let ends: Vec<EndSpread> = by
            .into_iter()
            .map(|(end, of)| {
                let total: f64 = of.iter().map(|i| weights[*i]).sum();
                let mean =
                    |get: fn(&Offset) -> f64| of.iter().map(|i| weights[*i] * get(&shots[*i].at)).sum::<f64>() / total;
                let centre = Offset { right_mrad: mean(|o| o.right_mrad), up_mrad: mean(|o| o.up_mrad) };
                let mut squares_mrad2 = [0.0; 2];
                for i in &of {
                    let at = shots[*i].at;
                    squares_mrad2[0] += weights[*i] * (at.right_mrad - centre.right_mrad).powi(2);
                    squares_mrad2[1] += weights[*i] * (at.up_mrad - centre.up_mrad).powi(2);
                }
                EndSpread { end, shots: of.len(), centre, squares_mrad2 }
            })
            .collect();
        let dof: f64 = ends.iter().map(EndSpread::dof).sum();
        if dof < 2.0 {
            return Err(FleetError::TooFew { shots: shots.len(), needed: ends.len() + 2 });
        }
        let variance_mrad2 = [0, 1].map(|k| ends.iter().map(|e| e.squares_mrad2[k]).sum::<f64>() / dof);
        let [x, y] = variance_mrad2;
        if !(x > 0.0 && y > 0.0) {
            return Err(FleetError::NoSpread);
        }
        // Squares about the end's centre, made up for the centre being fitted.
        let lever = |e: &EndSpread| if e.shots > 1 { e.shots as f64 / e.dof() } else { 0.0 };
        let centre_of: std::collections::BTreeMap<(usize, usize), (Offset, f64)> =
            ends.iter().map(|e| (e.end, (e.centre, lever(e)))).collect();
        let squares: Vec<(f64, ClassOdds)> = shots
            .iter()
            .map(|s| {
                let (c, lever) = centre_of[&(s.session, s.end)];
                let q = (s.at.right_mrad - c.right_mrad).powi(2) / x + (s.at.up_mrad - c.up_mrad).powi(2) / y;
                (q * lever, unmarked.felt(s.felt))
            })
            .filter(|(q, _)| *q > 0.0)
            .collect();
        // Of unequal axes the mean variance has fewer degrees of freedom (Satterthwaite 1946).
        let power = dof / squares.len() as f64 * (x + y) * (x + y) / (2.0 * (x * x + y * y));
        let log_scale = posterior_of_scale(&squares, power);
        let mean: f64 = log_scale.iter().map(|(l, p)| l * p).sum();
        let variance: f64 = log_scale.iter().map(|(l, p)| p * (l - mean).powi(2)).sum();
        Ok(Self {
            shots: shots.len(),
            flyers: fit.classes.iter().map(|p| p[1] + p[2]).sum(),
            variance_mrad2,
            // The logarithm of a spread of d degrees of freedom has variance 1 / (2 d).
            dof: 0.5 / variance,
            log_scale,
            classes: fit.classes,
            ends,
        })
    }

    /// Standard deviation of one axis, root mean square over both, in milliradians.
    #[must_use]
    pub fn spread_mrad(&self) -> f64 {
        (0.5 * (self.variance_mrad2[0] + self.variance_mrad2[1])).sqrt()
    }

    /// The middle of its ends, each weighed by its shots.
    #[must_use]
    pub fn middle(&self) -> Offset {
        let shots: f64 = self.ends.iter().map(|e| e.shots as f64).sum();
        let mean =
            |get: fn(&Offset) -> f64| self.ends.iter().map(|e| e.shots as f64 * get(&e.centre)).sum::<f64>() / shots;
        Offset { right_mrad: mean(|o| o.right_mrad), up_mrad: mean(|o| o.up_mrad) }
    }

    /// Shots of an end, as a rule.
    #[must_use]
    pub fn shots_an_end(&self) -> usize {
        let mut sizes: Vec<usize> = self.ends.iter().map(|e| e.shots).collect();
        sizes.sort_unstable();
        sizes[sizes.len() / 2]
    }
}

/// Ratio of the spread after to the spread before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpreadRatio {
    /// The ratio found.
    pub ratio: f64,
    /// 90 % interval.
    pub interval: [f64; 2],
    /// Probability that the spread after is the smaller one.
    pub p_tighter: f64,
    /// Twice the smaller of the probabilities that it is tighter and that it is wider: the usual two-sided p-value.
    pub p_value: f64,
}

/// What is known of a change.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// Ratio of the spreads over all ends.
    pub spread: SpreadRatio,
    /// The ratio found, windage and elevation apart.
    pub by_axis: [f64; 2],
    /// Ratio pair by pair, with the number of pairs, where ends belong together.
    pub paired: Option<(SpreadRatio, usize)>,
    /// Centre after less centre before: pair by pair where ends belong together, otherwise from the centres of ends, with
    /// too few of them from the shots; right and up, in milliradians.
    pub centre: Option<Hotelling>,
    /// Whether that difference comes from ends (which may wander) or from single shots.
    pub centre_from_ends: bool,
}

/// Posterior of the logarithm of the factor on all spreads, flat beforehand, given squared standardised residuals on two axes
/// with their class odds, the likelihood raised to `power` for the degrees of freedom that centres took.
fn posterior_of_scale(squares: &[(f64, ClassOdds)], power: f64) -> Vec<(f64, f64)> {
    const NODES: i32 = 120;
    let log_likelihood = |log: f64| -> f64 {
        let s2 = (-2.0 * log).exp();
        let of = |(q, odds): &(f64, ClassOdds)| {
            let density = |k: usize| odds.get()[k] / KAPPA[k] * (-0.5 * q * s2 / KAPPA[k]).exp();
            (density(0) + density(1) + density(2)).max(1e-300).ln() - 2.0 * log
        };
        power * squares.iter().map(of).sum::<f64>()
    };
    // Eight standard deviations of a clean sample, and more where flyers blur it.
    let step = (12.0 / (4.0 * squares.len() as f64 * power).sqrt()).clamp(1e-3, 3.0) / f64::from(NODES);
    let raw: Vec<(f64, f64)> = (-NODES..=NODES)
        .map(|k| {
            let log = f64::from(k) * step;
            (log, log_likelihood(log))
        })
        .collect();
    let top = raw.iter().map(|r| r.1).fold(f64::NEG_INFINITY, f64::max);
    let total: f64 = raw.iter().map(|r| (r.1 - top).exp()).sum();
    raw.iter().map(|r| (r.0, (r.1 - top).exp() / total)).collect()
}

/// The ratio of two spreads from their posteriors.
fn ratio_of(before: &Setting, after: &Setting) -> SpreadRatio {
    let found = (after.spread_mrad() / before.spread_mrad()).ln();
    let mut all: Vec<(f64, f64)> = Vec::with_capacity(before.log_scale.len() * after.log_scale.len());
    for (a, p) in &after.log_scale {
        all.extend(before.log_scale.iter().map(|(b, q)| (found + a - b, p * q)));
    }
    all.retain(|x| x.1 > 1e-15);
    all.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let quantile = |p: f64| {
        let mut sum = 0.0;
        all.iter()
            .find(|x| {
                sum += x.1;
                sum >= p
            })
            .map_or(0.0, |x| x.0)
    };
    // Half of what lies exactly at no difference counts to each side.
    let below: f64 = all
        .iter()
        .map(|x| {
            if x.0 < -1e-12 {
                x.1
            } else if x.0 < 1e-12 {
                0.5 * x.1
            } else {
                0.0
            }
        })
        .sum();
    SpreadRatio {
        ratio: quantile(0.5).exp(),
        interval: [quantile(0.05).exp(), quantile(0.95).exp()],
        p_tighter: below.clamp(0.0, 1.0),
        p_value: (2.0 * below.min(1.0 - below)).clamp(0.0, 1.0),
    }
}

/// Compares two settings; with `in_turn` ends of the same session and number belong together.
///
/// - meaning: `ratio` below 1 means tighter after; the centre's difference is after less before, right and up as seen;
/// - limits: for single ends and for the axes apart, the classes are plugged in.
///
/// # Errors
/// [`FleetError::TooFewEnds`] when ends should be paired and fewer than [`FEWEST_PAIRS`] have a partner.
pub fn compare(before: &Setting, after: &Setting, in_turn: bool) -> Result<Comparison, FleetError> {
    let spread = ratio_of(before, after);
    let by_axis = [0, 1].map(|k| (after.variance_mrad2[k] / before.variance_mrad2[k]).sqrt());
    if in_turn {
        let partner = |e: &EndSpread| after.ends.iter().find(|f| f.end == e.end).map(|f| (*e, *f));
        let pairs: Vec<(EndSpread, EndSpread)> = before.ends.iter().filter_map(partner).collect();
        if pairs.len() < FEWEST_PAIRS {
            return Err(FleetError::TooFewEnds { ends: pairs.len(), needed: FEWEST_PAIRS });
        }
        let differences: Vec<[f64; 2]> = pairs
            .iter()
            .map(|(a, b)| [b.centre.right_mrad - a.centre.right_mrad, b.centre.up_mrad - a.centre.up_mrad])
            .collect();
        let centre = Hotelling::one(&differences, [0.0; 2]).ok();
        return Ok(Comparison { spread, by_axis, paired: Some(in_pairs(&pairs)?), centre, centre_from_ends: true });
    }
    let ends = |s: &Setting| s.ends.iter().map(|e| e.centre.into()).collect::<Vec<[f64; 2]>>();
    // Six ends leave a usable test; with fewer the shots must do.
    let from_ends = before.ends.len() >= 3 && after.ends.len() >= 3;
    let centre = if from_ends { Hotelling::two(&ends(before), &ends(after)).ok() } else { None };
    Ok(Comparison { spread, by_axis, paired: None, centre, centre_from_ends: from_ends })
}

/// The mean logarithm of the ratios of the pairs, with Student's interval. The logarithm of a chi-squared over its `d` degrees
/// of freedom has mean `digamma(d/2) - ln(d/2)` and variance about `2/(d - 1)`.
fn in_pairs(pairs: &[(EndSpread, EndSpread)]) -> Result<(SpreadRatio, usize), FleetError> {
    let log = |e: &EndSpread| {
        let d = 2.0 * e.dof();
        let squares = e.squares_mrad2[0] + e.squares_mrad2[1];
        (squares > 0.0 && d >= 2.0).then(|| ((squares / d).ln() - digamma(0.5 * d) + (0.5 * d).ln(), 2.0 / (d - 0.9)))
    };
    let logs: Vec<(f64, f64)> = pairs
        .iter()
        .filter_map(|(a, b)| {
            let ((x, vx), (y, vy)) = (log(a)?, log(b)?);
            Some((y - x, 1.0 / (vx + vy)))
        })
        .collect();
    if logs.len() < FEWEST_PAIRS {
        return Err(FleetError::TooFewEnds { ends: logs.len(), needed: FEWEST_PAIRS });
    }
    let total: f64 = logs.iter().map(|l| l.1).sum();
    let mean = logs.iter().map(|l| l.0 * l.1).sum::<f64>() / total;
    let dof = logs.len() as f64 - 1.0;
    let variance = logs.iter().map(|l| l.1 * (l.0 - mean).powi(2)).sum::<f64>() / (dof * total);
    let se = variance.sqrt().max(1e-12);
    let t = t_exceeded(0.05, dof);
    let above = t_above(mean / se, dof);
    Ok((
        SpreadRatio {
            ratio: (0.5 * mean).exp(),
            interval: [(0.5 * (mean - t * se)).exp(), (0.5 * (mean + t * se)).exp()],
            p_tighter: above,
            p_value: (2.0 * above.min(1.0 - above)).min(1.0),
        },
        logs.len(),
    ))
}
