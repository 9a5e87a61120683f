//! Over a session: does the spread grow as the archer tires or shrink as they warm up, and how well do they know a bad shot?

use super::compare::{EndSpread, Setting};
use super::{ArrowShot, FleetError, fit};
use crate::group::ClassOdds;
use crate::shot::Felt;
use crate::stats::distribution::normal_above;
use crate::stats::spread::VarianceRatio;

/// Ends needed for a trend.
pub const FEWEST_ENDS: usize = 4;
const MOST_STEPS: usize = 60;
/// The archer's own class odds of a felt mark start from the usual ones, worth this many marked shots (our choice).
pub const MARK_WORTH: f64 = 10.0;

/// How the spread changes from the first end to the last.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trend {
    /// Spread of the last end over that of the first, on the smooth line through all.
    pub ratio: f64,
    /// 90 % interval.
    pub interval: [f64; 2],
    /// Probability that the spread grows.
    pub p_grows: f64,
    /// Spread of the first two ends over that of the rest: the warm-up, with its 90 % interval.
    pub warm_up: [f64; 3],
    /// Probability that the first two ends are wider.
    pub p_warm_up: f64,
    /// How many ends.
    pub ends: usize,
}

/// The trend over the ends of one session, in order.
///
/// The squares of an end over its variance are chi-squared; the logarithm of the variance is a straight line in the number of
/// the end. Maximum likelihood by Fisher scoring (McCullagh & Nelder 1989, "Generalized Linear Models", chapter 8: gamma errors, logarithmic
/// link; the likelihood is concave). The interval is normal on that scale.
///
/// # Errors
/// [`FleetError::TooFewEnds`] below [`FEWEST_ENDS`] ends of two shots, [`FleetError::NotSettled`].
pub fn trend(setting: &Setting) -> Result<Trend, FleetError> {
    let ends: Vec<&EndSpread> = setting.ends.iter().filter(|e| e.shots > 1).collect();
    let sum = |e: &EndSpread| e.squares_mrad2[0] + e.squares_mrad2[1];
    if ends.len() < FEWEST_ENDS || ends.iter().any(|e| sum(e) <= 0.0) {
        return Err(FleetError::TooFewEnds { ends: ends.len(), needed: FEWEST_ENDS });
    }
    // From -1/2 at the first end to 1/2 at the last, about the middle of the evidence.
    let last = ends.len() as f64 - 1.0;
    let rows: Vec<(f64, f64, f64)> =
        ends.iter().enumerate().map(|(i, e)| (i as f64 / last - 0.5, 2.0 * e.dof(), sum(e))).collect();
    // Unequal axes and classes that are not known leave fewer degrees of freedom than two a shot.
    let thin = (setting.dof / rows.iter().map(|r| r.1).sum::<f64>()).min(1.0);
    let mut log = (rows.iter().map(|r| r.2).sum::<f64>() / rows.iter().map(|r| r.1).sum::<f64>()).ln();
    let mut slope = 0.0;
    let mut change = f64::INFINITY;
    for _ in 0..MOST_STEPS {
        // Fisher scoring: the information of a log variance of d degrees of freedom is d/2.
        let (mut i00, mut i01, mut i11, mut s0, mut s1) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for (t, d, q) in &rows {
            let score = 0.5 * (q * (-(log + slope * t)).exp() - d);
            i00 += 0.5 * d;
            i01 += 0.5 * d * t;
            i11 += 0.5 * d * t * t;
            s0 += score;
            s1 += score * t;
        }
        let det = i00 * i11 - i01 * i01;
        let step = [(i11 * s0 - i01 * s1) / det, (i00 * s1 - i01 * s0) / det].map(|s: f64| s.clamp(-1.0, 1.0));
        log += step[0];
        slope += step[1];
        change = step[0].abs() + step[1].abs();
        if change < 1e-10 {
            let se = (i00 / det / thin).sqrt();
            let (early, rest) = ends.split_at(2);
            let variance = |of: &[&EndSpread]| {
                let dof: f64 = of.iter().map(|e| 2.0 * e.dof()).sum();
                (of.iter().map(|e| sum(e)).sum::<f64>() / dof, dof * thin)
            };
            let ((a, da), (b, db)) = (variance(early), variance(rest));
            let warm = VarianceRatio::new([a, b], [da, db])?;
            let [low, high] = warm.interval(0.9);
            return Ok(Trend {
                ratio: (0.5 * slope).exp(),
                interval: [(0.5 * (slope - 1.645 * se)).exp(), (0.5 * (slope + 1.645 * se)).exp()],
                p_grows: normal_above(-slope / se),
                warm_up: [warm.f.sqrt(), low.sqrt(), high.sqrt()],
                p_warm_up: 1.0 - warm.p_first_smaller,
                ends: ends.len(),
            });
        }
    }
    Err(FleetError::NotSettled { rounds: MOST_STEPS, change })
}

/// How well the archer knows a bad shot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FeltMarks {
    /// How many shots were marked as bad, as good, and not at all.
    pub marked: [usize; 3],
    /// Expected flyers and strays among each of these, judged by where they landed alone.
    pub flyers: [f64; 3],
    /// Share of the flyers that felt bad, with its 90 % interval.
    pub sensitivity: [f64; 3],
    /// How many times likelier a flyer is to feel bad than a clean shot is, with its 90 % interval.
    pub likelihood_ratio: [f64; 3],
    /// The archer's own class odds of a shot that felt bad: the usual ones, moved by what happened.
    pub bad_odds: ClassOdds,
    /// The same for a shot that felt good.
    pub good_odds: ClassOdds,
}

impl FeltMarks {
    /// Whether a felt mark tells anything: the lower end of the likelihood ratio is above 1.
    #[must_use]
    pub fn tell(&self) -> bool {
        self.likelihood_ratio[1] > 1.0
    }
}

/// Judges felt marks against what happened.
///
/// Whether a shot was a flyer is a probability from where it landed, with the odds of an unmarked shot whatever was felt, so
/// that the marks do not confirm themselves. Sensitivity and likelihood ratio have half a shot added to each cell; the interval of
/// the ratio is that of Simel, Samsa & Matchar 1991, "Likelihood ratios with confidence", J. Clin. Epidemiol. 44; that of the
/// share is Wilson's (1927).
///
/// # Errors
/// [`FleetError::TooFew`] when no shot was marked.
pub fn felt_marks(shots: &[ArrowShot], unmarked: ClassOdds) -> Result<FeltMarks, FleetError> {
    super::check(shots)?;
    let blind: Vec<ArrowShot> = shots.iter().map(|s| ArrowShot { arrow: 0, felt: Felt::Unmarked, ..*s }).collect();
    let (fit, _) = fit(&blind, unmarked)?;
    let of = |felt: Felt| match felt {
        Felt::Bad => 0,
        Felt::Good => 1,
        Felt::Unmarked => 2,
    };
    let (mut marked, mut classes) = ([0_usize; 3], [[0.0; 3]; 3]);
    for (s, p) in shots.iter().zip(&fit.classes) {
        marked[of(s.felt)] += 1;
        for k in 0..3 {
            classes[of(s.felt)][k] += p[k];
        }
    }
    if marked[0] + marked[1] == 0 {
        return Err(FleetError::TooFew { shots: 0, needed: 1 });
    }
    let flyers = classes.map(|c| c[1] + c[2]);
    // Bad against not bad, flyer against clean.
    let hit = flyers[0] + 0.5;
    let missed = flyers[1] + flyers[2] + 0.5;
    let alarm = marked[0] as f64 - flyers[0] + 0.5;
    let calm = (marked[1] + marked[2]) as f64 - flyers[1] - flyers[2] + 0.5;
    let (p, q) = (hit / (hit + missed), alarm / (alarm + calm));
    let se = ((1.0 - p) / hit + (1.0 - q) / alarm).sqrt();
    let log = (p / q).ln();
    const Z: f64 = 1.644_853_626_951_472_2;
    let n = hit + missed;
    let middle = (p + Z * Z / (2.0 * n)) / (1.0 + Z * Z / n);
    let half = Z / (1.0 + Z * Z / n) * (p * (1.0 - p) / n + Z * Z / (4.0 * n * n)).sqrt();
    let learnt = |usual: ClassOdds, felt: usize| {
        let n = marked[felt] as f64 + MARK_WORTH;
        let odds = [0, 1, 2].map(|k| (MARK_WORTH * usual.get()[k] + classes[felt][k]) / n);
        ClassOdds::new(odds).unwrap_or(usual)
    };
    Ok(FeltMarks {
        marked,
        flyers,
        sensitivity: [p, (middle - half).max(0.0), (middle + half).min(1.0)],
        likelihood_ratio: [p / q, (log - Z * se).exp(), (log + Z * se).exp()],
        bad_odds: learnt(ClassOdds::BAD, 0),
        good_odds: learnt(ClassOdds::GOOD, 1),
    })
}
