//! Tail probabilities and quantiles of the distributions that tests need: beta, F, t, chi-squared and normal.
//!
//! The incomplete beta function is computed by its continued fraction (modified Lentz; Press et al. 2007, "Numerical
//! Recipes", 3rd edition, section 6.4), with as many terms as large degrees of freedom ask for. Quantiles are found by
//! bisection between brackets, so that none can fail silently.

use statrs::function::erf::{erf_inv, erfc};
use statrs::function::gamma::{gamma_lr, ln_gamma};

/// Terms of the continued fraction: it needs about the square root of the larger parameter.
const MOST_TERMS: usize = 20_000;
/// Halvings of a bracket: the width is then below the rounding of a double.
const HALVINGS: usize = 200;

/// Regularised incomplete beta function `I_x(a, b)` for positive `a` and `b`; `x` is clamped to 0 to 1.
#[must_use]
pub fn beta(a: f64, b: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if x >= 1.0 {
        return 1.0;
    }
    let front = ln_gamma(a + b) - ln_gamma(a) - ln_gamma(b) + a * x.ln() + b * (-x).ln_1p();
    if x < (a + 1.0) / (a + b + 2.0) {
        (front.exp() * fraction(a, b, x) / a).clamp(0.0, 1.0)
    } else {
        (1.0 - front.exp() * fraction(b, a, 1.0 - x) / b).clamp(0.0, 1.0)
    }
}

fn fraction(a: f64, b: f64, x: f64) -> f64 {
    let keep = |v: f64| if v.abs() < 1e-300 { 1e-300 } else { v };
    let mut c = 1.0;
    let mut d = 1.0 / keep(1.0 - (a + b) * x / (a + 1.0));
    let mut h = d;
    for m in 1..MOST_TERMS {
        let m = m as f64;
        for step in [
            m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0)),
        ] {
            d = 1.0 / keep(1.0 + step * d);
            c = keep(1.0 + step / c);
            h *= d * c;
        }
        if (d * c - 1.0).abs() < 1e-15 {
            break;
        }
    }
    h
}

/// Probability that an F of `d1` and `d2` degrees of freedom exceeds `x`.
#[must_use]
pub fn f_above(x: f64, d1: f64, d2: f64) -> f64 {
    if x <= 0.0 { 1.0 } else { beta(0.5 * d2, 0.5 * d1, d2 / (d2 + d1 * x)) }
}

/// The value that an F of `d1` and `d2` degrees of freedom exceeds with probability `p`.
#[must_use]
pub fn f_exceeded(p: f64, d1: f64, d2: f64) -> f64 {
    let (mut low, mut high) = (-200.0_f64, 200.0_f64);
    for _ in 0..HALVINGS {
        let mid = 0.5 * (low + high);
        if f_above(mid.exp(), d1, d2) > p { low = mid } else { high = mid }
    }
    (0.5 * (low + high)).exp()
}

/// Probability that a t of `dof` degrees of freedom exceeds `x`.
#[must_use]
pub fn t_above(x: f64, dof: f64) -> f64 {
    let half = 0.5 * beta(0.5 * dof, 0.5, dof / (dof + x * x));
    if x > 0.0 { half } else { 1.0 - half }
}

/// The value that a t of `dof` degrees of freedom exceeds with probability `p`.
#[must_use]
pub fn t_exceeded(p: f64, dof: f64) -> f64 {
    bisect(-1e9, 1e9, |x| t_above(x, dof) > p)
}

/// Probability that a chi-squared of `dof` degrees of freedom is at most `x`.
#[must_use]
pub fn chi2_below(x: f64, dof: f64) -> f64 {
    if x <= 0.0 { 0.0 } else { gamma_lr(0.5 * dof, 0.5 * x) }
}

/// The value below which a chi-squared of `dof` degrees of freedom lies with probability `p`.
#[must_use]
pub fn chi2_quantile(p: f64, dof: f64) -> f64 {
    bisect(0.0, 10.0 * dof + 1000.0, |x| chi2_below(x, dof) < p)
}

/// Probability that a standard normal exceeds `x`.
#[must_use]
pub fn normal_above(x: f64) -> f64 {
    0.5 * erfc(x / std::f64::consts::SQRT_2)
}

/// The value below which a standard normal lies with probability `p`, through the inverse error function.
#[must_use]
pub fn normal_quantile(p: f64) -> f64 {
    std::f64::consts::SQRT_2 * erf_inv(2.0 * p - 1.0)
}

/// Where `go_on` changes from true to false.
pub(crate) fn bisect(mut low: f64, mut high: f64, go_on: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..HALVINGS {
        let mid = 0.5 * (low + high);
        if go_on(mid) { low = mid } else { high = mid }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables() {
        // Upper 5 % points as every table has them (recalled from memory), to the digits printed there.
        for (d1, d2, want) in [(1.0, 10.0, 4.96), (2.0, 20.0, 3.49), (10.0, 10.0, 2.98)] {
            assert!((f_exceeded(0.05, d1, d2) - want).abs() < 0.005, "{d1} {d2}");
        }
        assert!((t_exceeded(0.025, 10.0) - 2.228).abs() < 5e-4);
        assert!((chi2_quantile(0.95, 2.0) - 5.991).abs() < 5e-4);
        assert!((normal_quantile(0.975) - 1.959_963_985).abs() < 1e-8);
    }

    #[test]
    fn large_degrees_of_freedom_are_no_trouble() {
        for dof in [1e3, 1e5, 1e6] {
            assert!((f_above(1.0, dof, dof) - 0.5).abs() < 1e-7, "{dof} {}", f_above(1.0, dof, dof));
            // The logarithm of the ratio is normal with variance 2/d1 + 2/d2 in the limit.
            let z = f_exceeded(0.05, dof, dof).ln() / (4.0 / dof).sqrt();
            assert!((z - 1.644_854).abs() < 0.01, "{dof} {z}");
        }
    }
}
