//! Marginal distributions of the posterior mixture, for quantiles and ranks.
//!
//! Given a part, `Sigma ~ inverse-Wishart(nu, psi)` in two dimensions and `centre | Sigma ~ N(mean, lean Sigma)`. Then
//! (Gelman et al. 2013, "Bayesian Data Analysis", 3rd edition, section 3.6, and Muirhead 1982, "Aspects of Multivariate
//! Statistical Theory", section 3.2.5):
//!
//! - `d' Sigma d` is inverse-gamma of shape `(nu - 1) / 2` and scale `d' psi d / 2`;
//! - `d' centre` is a t of `nu - 1` degrees of freedom about `d' mean` with squared scale `lean d' psi d / (nu - 1)`;
//! - `sqrt(det psi / det Sigma) ` is a gamma deviate of shape `nu - 1` and scale 1.

use goldward_core::group::Predictive;
use goldward_core::plane::{Point, Sym2};
use statrs::function::beta::beta_reg;
use statrs::function::gamma::gamma_ur;

/// The quadratic form `d' m d`.
#[must_use]
pub fn along(m: Sym2, d: Point) -> f64 {
    m.xx * d.x_mm * d.x_mm + 2.0 * m.xy * d.x_mm * d.y_mm + m.yy * d.y_mm * d.y_mm
}

/// `P(T <= t)` for Student's t of `dof` degrees of freedom, by the incomplete beta function.
#[must_use]
pub fn student_cdf(t: f64, dof: f64) -> f64 {
    let tail = 0.5 * beta_reg(0.5 * dof, 0.5, dof / (dof + t * t));
    if t > 0.0 { 1.0 - tail } else { tail }
}

/// Probability that the centre lies at or below `x` along the direction `d`.
#[must_use]
pub fn centre_cdf(next: &Predictive, d: Point, x: f64) -> f64 {
    let dof = next.nu - 1.0;
    let of = |p: &goldward_core::group::Component, r: &goldward_core::group::Row| {
        let scale = (along(p.psi.stretched(r.lean.map(f64::sqrt)), d) / dof).sqrt();
        student_cdf((x - r.mean.x_mm * d.x_mm - r.mean.y_mm * d.y_mm) / scale, dof)
    };
    next.parts.iter().map(|p| p.weight * p.processes().map(|r| r.share * of(p, r)).sum::<f64>()).sum()
}

/// Probability that the variance of a clean shot along `d` is at most `variance`.
#[must_use]
pub fn variance_cdf(next: &Predictive, d: Point, variance: f64) -> f64 {
    next.parts.iter().map(|p| p.weight * gamma_ur(0.5 * (next.nu - 1.0), 0.5 * along(p.psi, d) / variance)).sum()
}

/// Probability that the determinant of the covariance of a clean shot is at most `det`.
#[must_use]
pub fn det_cdf(next: &Predictive, det: f64) -> f64 {
    next.parts.iter().map(|p| p.weight * gamma_ur(next.nu - 1.0, (p.psi.det() / det).sqrt())).sum()
}

/// Standard deviation over the posterior of the variance of a clean shot along `d`; `None` where it is infinite.
#[must_use]
pub fn variance_sd(next: &Predictive, d: Point) -> Option<f64> {
    let shape = 0.5 * (next.nu - 1.0);
    if shape <= 2.0 {
        return None;
    }
    let moment = |k: i32, divisor: f64| {
        next.parts.iter().map(|p| p.weight * (0.5 * along(p.psi, d)).powi(k)).sum::<f64>() / divisor
    };
    let mean = moment(1, shape - 1.0);
    Some((moment(2, (shape - 1.0) * (shape - 2.0)) - mean * mean).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::inverse_wishart;
    use goldward_core::group::Component;
    use goldward_core::random::Random;

    /// Draws by definition (a Wishart matrix as a sum of outer products, then inverted) against each distribution function:
    /// ranks must be uniform. Tolerance: the Kolmogorov-Smirnov bound for one false alarm in 10 000.
    #[test]
    fn marginals_match_draws() {
        let mean = Point::new(3.0, -2.0);
        let part = Component::single(1.0, mean, [0.4; 2], Sym2::new(900.0, -350.0, 500.0));
        let next = Predictive { nu: 7.0, end: [0.0; 2], parts: vec![part] };
        let d = Point::new(0.6, 0.8);
        let mut random = Random::seeded(3);
        let (mut centre, mut variance, mut det) = (Vec::new(), Vec::new(), Vec::new());
        for _ in 0..20_000 {
            let sigma = inverse_wishart(7, part.psi, &mut random);
            let at = mean + crate::model::normal(sigma * 0.4, &mut random);
            centre.push(centre_cdf(&next, d, at.x_mm * d.x_mm + at.y_mm * d.y_mm));
            variance.push(variance_cdf(&next, d, along(sigma, d)));
            det.push(det_cdf(&next, sigma.det()));
        }
        for (what, ranks) in [("centre", centre), ("variance", variance), ("determinant", det)] {
            crate::statistics::uniform(what, &ranks, 1e-4);
        }
    }
}
