//! The conjugate regression shot by shot: another route to what core has in closed form.
//!
//! Given the shots before it, the next shot is a bivariate t; the log evidence is the sum of these log densities, and the
//! coefficients are carried forward by recursive least squares on their covariance (Plackett 1950, "Some theorems in least
//! squares", Biometrika 37). No batch sums, no determinant of a precision, no multivariate gamma function. Itself checked
//! against SciPy's multivariate t in `tests/evidence_chain.rs`.

use std::f64::consts::TAU;

use goldward_core::group::Prior;
use goldward_core::plane::{Point, Sym2};

/// What is known of the coefficients and the spread after some shots.
#[derive(Debug, Clone, Copy)]
pub struct Chain {
    /// Coefficient rows: the centre and the second one.
    pub b: [Point; 2],
    /// Covariance of the coefficients in units of the spread.
    pub c: Sym2,
    /// Scale matrix of the inverse-Wishart.
    pub psi: Sym2,
    /// Its degrees of freedom.
    pub nu: f64,
    /// Sum of the log densities so far.
    pub log_evidence: f64,
}

impl Chain {
    /// Before the first shot: precisions of the two coefficients, degrees of freedom and scale of the spread.
    #[must_use]
    pub fn new(precision: [f64; 2], nu0: f64, psi0: Sym2) -> Self {
        let c = Sym2::new(1.0 / precision[0], 0.0, 1.0 / precision[1]);
        Self { b: [Point::default(); 2], c, psi: psi0, nu: nu0, log_evidence: 0.0 }
    }

    /// For a prior of the model, as design.md writes it.
    #[must_use]
    pub fn of_prior(prior: &Prior, second_precision: f64) -> Self {
        let nu0 = prior.worth() + 3.0;
        Self::new([prior.trust(), second_precision], nu0, Sym2::isotropic(prior.spread_mm().powi(2) * (nu0 - 3.0)))
    }

    /// Variance of `r B` in units of the spread, for the row `r = [1, u]`.
    #[must_use]
    pub fn lever(&self, u: f64) -> f64 {
        self.c.xx + 2.0 * u * self.c.xy + u * u * self.c.yy
    }

    /// `r B`.
    #[must_use]
    pub fn mean(&self, u: f64) -> Point {
        self.b[0] + self.b[1] * u
    }

    /// With one more shot at `z`, row `[1, u]`, covariance factor `kappa`.
    #[must_use]
    pub fn with(&self, z: Point, u: f64, kappa: f64) -> Self {
        let variance = kappa + self.lever(u);
        let error = z - self.mean(u);
        let dof = self.nu - 1.0;
        let scale = self.psi * (variance / dof);
        let density = -(TAU * scale.det().sqrt()).ln() - (0.5 * dof + 1.0) * (scale.mahalanobis2(error) / dof).ln_1p();
        let gain = [self.c.xx + u * self.c.xy, self.c.xy + u * self.c.yy].map(|g| g / variance);
        Self {
            b: [self.b[0] + error * gain[0], self.b[1] + error * gain[1]],
            c: self.c - Sym2::outer(Point::new(gain[0], gain[1])) * variance,
            psi: self.psi + Sym2::outer(error) * (1.0 / variance),
            nu: self.nu + 1.0,
            log_evidence: self.log_evidence + density,
        }
    }
}
