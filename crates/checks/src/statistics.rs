//! Tests of calibration, each with a stated chance of a false alarm.

use statrs::function::gamma::gamma_ur;

/// Distance between the distribution of `ranks` and the uniform one, with the bound that it exceeds with probability
/// `false_alarm` (Kolmogorov & Smirnov, in the form of Massart 1990, valid for any number of ranks).
#[must_use]
pub fn kolmogorov(ranks: &[f64], false_alarm: f64) -> (f64, f64) {
    let mut sorted = ranks.to_vec();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len() as f64;
    let distance =
        sorted.iter().enumerate().map(|(i, u)| ((i as f64 + 1.0) / n - u).max(u - i as f64 / n)).fold(0.0, f64::max);
    (distance, ((2.0 / false_alarm).ln() / (2.0 * n)).sqrt())
}

/// Chance of a chi-squared this large over `bins` equal bins when the ranks are uniform.
#[must_use]
pub fn chi_squared_p(ranks: &[f64], bins: usize) -> f64 {
    let mut counts = vec![0_u32; bins];
    for u in ranks {
        counts[((u * bins as f64) as usize).min(bins - 1)] += 1;
    }
    let expected = ranks.len() as f64 / bins as f64;
    let chi2: f64 = counts.iter().map(|c| (f64::from(*c) - expected).powi(2) / expected).sum();
    gamma_ur(0.5 * (bins as f64 - 1.0), 0.5 * chi2)
}

/// Fails unless `ranks` look uniform, by the Kolmogorov-Smirnov distance and by chi-squared over as many bins as have at least
/// 25 ranks each, 20 at most; each may raise a false alarm with probability `false_alarm`.
///
/// # Panics
/// When they do not.
pub fn uniform(what: &str, ranks: &[f64], false_alarm: f64) {
    assert!(ranks.iter().all(|u| (-1e-9..=1.0 + 1e-9).contains(u)), "{what}: a rank outside 0 to 1");
    let (distance, bound) = kolmogorov(ranks, false_alarm);
    let bins = (ranks.len() / 25).clamp(2, 20);
    let p = chi_squared_p(ranks, bins);
    eprintln!("{what}: {} ranks, distance {distance:.4} (bound {bound:.4}), chi-squared p {p:.4}", ranks.len());
    assert!(distance < bound, "{what}: the ranks are not uniform: distance {distance} over the bound {bound}");
    assert!(p > false_alarm, "{what}: the ranks are not uniform: chi-squared over {bins} bins has p {p:e}");
}

/// Events foretold with a probability, and whether they came.
#[derive(Debug, Clone, Default)]
pub struct Forecasts(Vec<(f64, bool)>);

impl Forecasts {
    /// Adds one; they must be independent of each other given their probabilities.
    pub fn add(&mut self, p: f64, came: bool) {
        self.0.push((p, came));
    }

    /// Fails unless the events came as often as foretold, in every bin of `edges` and in all.
    ///
    /// The bound on a bin is Hoeffding's (1963, theorem 1; for unequal probabilities his 1956 comparison): the chance that
    /// a share at least as far as `q` from the mean probability `p` occurs is at most `exp(-n KL(q || p))` a side.
    /// `slack` is added to the distance between share and mean that is forgiven.
    ///
    /// # Panics
    /// When they did not.
    pub fn honest(&self, what: &str, edges: &[f64], false_alarm: f64, slack: f64) {
        let bins = edges.windows(2).map(|w| (w[0], w[1])).chain([(0.0, 1.0)]);
        let tests = 2.0 * edges.len() as f64;
        for (from, to) in bins {
            let inside = || self.0.iter().filter(move |(p, _)| (from..to).contains(p) || (to >= 1.0 && *p >= to));
            let n = inside().count() as f64;
            if n < 1.0 {
                continue;
            }
            let mean = inside().map(|(p, _)| p).sum::<f64>() / n;
            let share = inside().filter(|(_, came)| *came).count() as f64 / n;
            eprintln!("{what}: foretold {from:.2} to {to:.2}: {n} times, mean {mean:.4}, came {share:.4}");
            let forgiven = share.clamp(mean - slack, mean + slack).clamp(1e-12, 1.0 - 1e-12);
            let surprise = n * divergence(share, forgiven);
            let bound = (tests / false_alarm).ln();
            assert!(
                surprise <= bound,
                "{what}: foretold with {mean:.4} on average between {from} and {to}, came with {share:.4} in {n}: \
                 surprise {surprise:.1} over {bound:.1}"
            );
        }
    }
}

/// Kullback-Leibler divergence of a coin of `p` from one of `q`.
fn divergence(q: f64, p: f64) -> f64 {
    let term = |a: f64, b: f64| if a > 0.0 { a * (a / b).ln() } else { 0.0 };
    term(q, p) + term(1.0 - q, 1.0 - p)
}

/// Fails unless the mean of independent `differences` is within `errors` standard errors, plus `slack`, of nothing.
///
/// # Panics
/// When it is not.
pub fn no_bias(what: &str, differences: &[f64], errors: f64, slack: f64) {
    let n = differences.len() as f64;
    let mean = differences.iter().sum::<f64>() / n;
    let variance = differences.iter().map(|d| (d - mean).powi(2)).sum::<f64>() / (n - 1.0);
    let error = (variance / n).sqrt();
    eprintln!("{what}: mean difference {mean:.5}, standard error {error:.5}");
    assert!(mean.abs() <= errors * error + slack, "{what}: mean difference {mean} with standard error {error}");
}
