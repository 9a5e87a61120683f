//! Source: `scripts/posterior_sampler.py`: emcee draws centre and spread jointly, pattern by pattern, with no conjugacy.
//!
//! Core's reading is over all patterns. Where the sampler covers them all, the mixture of its moments with core's pattern
//! probabilities is compared; a pattern that it does not cover (in two groups of six) enters with the moments that
//! `scripts/posterior_exact.py` found for it, so that the sampled pattern is what is tested. Pattern probabilities themselves
//! are in `posterior_exact.rs`. Quantiles are compared where one pattern is all there is, through the distribution
//! functions of `checks::marginal`.
//!
//! Tolerance: 4 of the stored Monte Carlo standard errors, which for the 150 comparisons made is exceeded once by chance with
//! a probability of 1 %; the draws are fixed, so it holds or it does not.

use checks::marginal::{along, centre_cdf, variance_cdf, variance_sd};
use checks::{Group, list, number, point, reference, sym2};
use goldward_core::group::{Pattern, Reading};
use goldward_core::plane::Point;
use serde_json::Value;

const ERRORS: f64 = 4.0;

/// Mean and variance of one quantity, each with its standard error; no error of the variance where it has none.
struct Moments {
    mean: f64,
    mean_se: f64,
    variance: f64,
    variance_se: Option<f64>,
}

fn sampled(quantity: &Value) -> Moments {
    let sd = number(&quantity["sd"]["value"]);
    Moments {
        mean: number(&quantity["mean"]["value"]),
        mean_se: number(&quantity["mean"]["se"]),
        variance: sd * sd,
        variance_se: quantity["sd"]["se"].as_f64().map(|se| 2.0 * sd * se),
    }
}

fn exact(pattern: &Value, name: &str) -> Moments {
    let (mean, variance) = match name {
        "centre_x_mm" => (point(&pattern["centre_mm"]).x_mm, sym2(&pattern["centre_cov_mm2"]).xx),
        "centre_y_mm" => (point(&pattern["centre_mm"]).y_mm, sym2(&pattern["centre_cov_mm2"]).yy),
        "spread_xx_mm2" => (sym2(&pattern["spread_mm2"]).xx, f64::NAN),
        "spread_xy_mm2" => (sym2(&pattern["spread_mm2"]).xy, f64::NAN),
        _ => (sym2(&pattern["spread_mm2"]).yy, f64::NAN),
    };
    let variance_se = if variance.is_nan() { None } else { Some(0.0) };
    Moments { mean, mean_se: 0.0, variance, variance_se }
}

/// The moments of a mixture.
fn mixed(parts: &[(f64, Moments)]) -> Moments {
    let mean: f64 = parts.iter().map(|(p, m)| p * m.mean).sum();
    let root = |squares: f64| squares.sqrt();
    let variance = parts.iter().map(|(p, m)| p * (m.variance + (m.mean - mean).powi(2))).sum();
    let variance_se = parts.iter().try_fold(0.0, |sum, (p, m)| {
        let from_mean = 2.0 * (m.mean - mean) * m.mean_se;
        Some(sum + p * p * (m.variance_se?.powi(2) + from_mean * from_mean))
    });
    let mean_se = root(parts.iter().map(|(p, m)| (p * m.mean_se).powi(2)).sum());
    Moments { mean, mean_se, variance, variance_se: variance_se.map(root) }
}

const X: Point = Point::new(1.0, 0.0);
const Y: Point = Point::new(0.0, 1.0);

/// Core's mean and variance of a quantity; the variance of an off-diagonal entry is not compared.
fn ours(reading: &Reading, name: &str) -> (f64, Option<f64>) {
    let spread = |d: Point| (along(reading.spread, d), variance_sd(&reading.next, d).map(|s| s * s));
    match name {
        "centre_x_mm" => (reading.centre.x_mm, Some(reading.centre_cov.xx)),
        "centre_y_mm" => (reading.centre.y_mm, Some(reading.centre_cov.yy)),
        "spread_xx_mm2" => spread(X),
        "spread_yy_mm2" => spread(Y),
        _ => (reading.spread.xy, None),
    }
}

fn within(what: &str, got: f64, want: f64, se: f64, worst: &mut f64) {
    assert!(se > 0.0, "{what}: no standard error");
    let errors = (got - want).abs() / se;
    *worst = worst.max(errors);
    assert!(errors <= ERRORS, "{what}: got {got}, sampled {want}, {errors:.2} standard errors of {se} apart");
}

/// Compares one case; returns how many numbers were compared.
fn check(case: &Value, exactly: &Value, worst: &mut f64) -> usize {
    let name = case["name"].as_str().unwrap();
    let reading = Group::of(case).read();
    let sampled_patterns = case["patterns"].as_object().unwrap();
    let alone = reading.probability(Pattern::Steady) > 1.0 - 1e-12;
    let mut compared = 0;
    for quantity in ["centre_x_mm", "centre_y_mm", "spread_xx_mm2", "spread_xy_mm2", "spread_yy_mm2"] {
        let what = format!("{name}: {quantity}");
        let parts: Vec<(f64, Moments)> = Pattern::ALL
            .into_iter()
            .filter(|p| reading.probability(*p) > 0.0)
            .map(|p| {
                let moments = match sampled_patterns.get(p.name()) {
                    Some(own) => sampled(&own[quantity]),
                    None => exact(&exactly["patterns"][p.name()], quantity),
                };
                (reading.probability(p), moments)
            })
            .collect();
        let want = mixed(&parts);
        let (mean, variance) = ours(&reading, quantity);
        within(&what, mean, want.mean, want.mean_se, worst);
        compared += 1;
        if let (Some(variance), Some(se)) = (variance, want.variance_se) {
            within(&format!("{what}, variance"), variance, want.variance, se, worst);
            compared += 1;
        }
        if alone && quantity != "spread_xy_mm2" {
            let own = &sampled_patterns["steady"][quantity];
            let cdf = |x: f64| match quantity {
                "centre_x_mm" => centre_cdf(&reading.next, X, x),
                "centre_y_mm" => centre_cdf(&reading.next, Y, x),
                "spread_xx_mm2" => variance_cdf(&reading.next, X, x),
                _ => variance_cdf(&reading.next, Y, x),
            };
            for (q, p) in [("q10", 0.1), ("q50", 0.5), ("q90", 0.9)] {
                let (at, se) = (number(&own[q]["value"]), number(&own[q]["se"]));
                // The error of the quantile as an error of the probability there, by the slope.
                let slope = (cdf(at + se) - cdf(at - se)) / (2.0 * se);
                within(&format!("{what}, {q}"), cdf(at), p, se * slope, worst);
                compared += 1;
            }
        }
    }
    compared
}

#[test]
fn moments_and_quantiles_agree_with_the_sampler() {
    let (sampler, exact) = (reference("posterior_sampler.json"), reference("posterior_exact.json"));
    let cases = list(&sampler["cases"]);
    assert!(cases.len() >= 8);
    let (mut compared, mut worst) = (0, 0.0);
    for case in cases {
        let exactly = list(&exact["cases"]).iter().find(|c| c["name"] == case["name"]).unwrap();
        compared += check(case, exactly, &mut worst);
    }
    eprintln!("{compared} numbers, the farthest {worst:.2} standard errors apart");
    assert!(compared >= 90, "only {compared} numbers were compared");
}
