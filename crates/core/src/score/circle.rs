//! The probability that an elliptical distribution puts a shot inside a circle about the origin.
//!
//! With the whitened plane `y = S^(-1/2) (z - m)` the distribution is round, and the probability of a region is the line
//! integral over its boundary of `F(rho^2) dphi / (2 pi)`, with `F(q)` the probability of `rho^2 <= q`: Green's theorem
//! for the radial primitive, valid wherever the mean lies because `F(q) / q` is smooth at 0. For the circle
//! `z = R (cos t, sin t)` that is
//!
//! ```text
//! P = 1/(2 pi) * integral over t of  F(q) / q * (R^2 - R m.e(t)) / sqrt(det S) dt,   q = (z - m)' S^-1 (z - m)
//! ```
//!
//! with `F(q) = 1 - exp(-q/2)` for the normal and `1 - (1 + q/dof)^(-dof/2)` for the t. The integrand is smooth and
//! periodic, so the trapezoid rule converges faster than any power (Trefethen & Weideman 2014, "The exponentially
//! convergent trapezoidal rule", SIAM Review 56). Nodes are doubled until the value settles.

use std::f64::consts::TAU;

use super::ScoreError;
use crate::plane::{Point, Sym2};

const MOST_NODES: usize = 1 << 20;

fn in_circle(mean: Point, scale: Sym2, radius_mm: f64, ratio: impl Fn(f64) -> f64) -> Result<f64, ScoreError> {
    let det = scale.det();
    if !(mean.is_finite() && det.is_finite() && det > 0.0 && scale.xx > 0.0 && radius_mm.is_finite()) {
        return Err(ScoreError::NoDistribution { mean, scale });
    }
    if radius_mm <= 0.0 {
        return Ok(0.0);
    }
    let (ixx, ixy, iyy) = (scale.yy / det, -scale.xy / det, scale.xx / det);
    let jacobian = radius_mm / det.sqrt();
    let value = |t: f64| {
        let (s, c) = t.sin_cos();
        let (dx, dy) = (radius_mm * c - mean.x_mm, radius_mm * s - mean.y_mm);
        let q = ixx * dx * dx + 2.0 * ixy * dx * dy + iyy * dy * dy;
        ratio(q) * jacobian * (radius_mm - mean.x_mm * c - mean.y_mm * s)
    };
    // A step along the circle should not be much longer than the narrow axis of the distribution.
    let minor = scale.principal().minor.sqrt();
    let mut nodes = ((4.0 * radius_mm / minor) as usize).clamp(32, MOST_NODES / 8);
    let mut sum: f64 = (0..nodes).map(|k| value(TAU * k as f64 / nodes as f64)).sum();
    let mut last = sum / nodes as f64;
    while nodes < MOST_NODES {
        sum += (0..nodes).map(|k| value(TAU * (k as f64 + 0.5) / nodes as f64)).sum::<f64>();
        nodes *= 2;
        let next = sum / nodes as f64;
        // The error after a doubling is about the square of the change, so this is far below 1e-12.
        if (next - last).abs() < 1e-8 {
            return Ok(next.clamp(0.0, 1.0));
        }
        last = next;
    }
    Err(ScoreError::NotSettled { radius_mm, change: last, nodes })
}

/// Probability that a normal about `mean` (mm) with covariance `cov` (mm^2) falls within `radius_mm` of the origin.
///
/// # Errors
/// [`ScoreError`].
pub fn normal_in_circle(mean: Point, cov: Sym2, radius_mm: f64) -> Result<f64, ScoreError> {
    in_circle(mean, cov, radius_mm, |q| if q < 1e-12 { 0.5 } else { -(-0.5 * q).exp_m1() / q })
}

/// Probability that a bivariate t of `dof` degrees of freedom about `mean` (mm) with scale matrix `scale` (mm^2) falls
/// within `radius_mm` of the origin.
///
/// # Errors
/// [`ScoreError`].
pub fn t_in_circle(mean: Point, scale: Sym2, dof: f64, radius_mm: f64) -> Result<f64, ScoreError> {
    if !(dof.is_finite() && dof > 0.0) {
        return Err(ScoreError::DegreesOfFreedom(dof));
    }
    in_circle(mean, scale, radius_mm, |q| {
        if q < 1e-12 * dof { 0.5 } else { -(-0.5 * dof * (q / dof).ln_1p()).exp_m1() / q }
    })
}
