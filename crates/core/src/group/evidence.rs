//! The closed form behind every hypothesis.
//!
//! Row `i` of a hypothesis is `[1, u_i]` with weight `w_i = 1 / kappa_i`; `steady` has `u = 0`. With prior precision
//! `P0 = diag(trust, q)` of the coefficients and `Sigma ~ IW(nu0, Psi0)`:
//!
//! ```text
//! P = P0 + X'WX        B = P^-1 X'WZ        Psi = Psi0 + Z'WZ - B'PB        nu = nu0 + n
//! log p(Z) = -n log pi + sum log w_i + log|P0| - log|P| + nu0/2 log|Psi0| - nu/2 log|Psi|
//!            + log Gamma_2(nu/2) - log Gamma_2(nu0/2)
//! ```
//!
//! Source: the matrix-normal inverse-Wishart regression, for instance Rossi, Allenby & McCulloch (2005), "Bayesian
//! Statistics and Marketing", section 2.8.5, for two response columns; the textbook value it is checked against is in
//! the `checks` crate.

use statrs::function::gamma::ln_gamma;

use super::Prior;
use crate::plane::{Point, Sym2};

/// Weighted sums over shots, enough for the closed form.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sums {
    pub w: f64,
    pub wu: f64,
    pub wuu: f64,
    pub wz: Point,
    pub wuz: Point,
    pub wzz: Sym2,
    /// Covariances of `wz` and `wuz` among hypotheses that were merged into this one; nothing for a single one. More shots
    /// add the same to all of them, so this stays as it is.
    pub merged: Option<Merged>,
}

/// How the weighted sums `wz` and `wuz` of merged hypotheses differ: their covariances over x and y.
#[derive(Debug, Clone, Copy)]
pub(super) struct Merged {
    pub zz: Sym2,
    pub zu: Sym2,
    pub uu: Sym2,
}

impl Merged {
    const ZERO: Self =
        Self { zz: Sym2::new(0.0, 0.0, 0.0), zu: Sym2::new(0.0, 0.0, 0.0), uu: Sym2::new(0.0, 0.0, 0.0) };

    fn add(&mut self, other: &Self, k: f64) {
        self.zz = self.zz + other.zz * k;
        self.zu = self.zu + other.zu * k;
        self.uu = self.uu + other.uu * k;
    }

    /// Of a difference in both sums.
    fn of(dz: Point, du: Point) -> Self {
        // The cross term is symmetrised: only its effect on the same axis matters.
        let cross = 0.5 * (dz.x_mm * du.y_mm + dz.y_mm * du.x_mm);
        Self { zz: Sym2::outer(dz), zu: Sym2::new(dz.x_mm * du.x_mm, cross, dz.y_mm * du.y_mm), uu: Sym2::outer(du) }
    }

    /// `a` times the first, `b` times twice the cross and `c` times the last: a quadratic form over the rows.
    fn form(&self, a: f64, b: f64, c: f64) -> Sym2 {
        self.zz * a + self.zu * (2.0 * b) + self.uu * c
    }
}

impl Sums {
    pub const ZERO: Self = Self {
        w: 0.0,
        wu: 0.0,
        wuu: 0.0,
        wz: Point::new(0.0, 0.0),
        wuz: Point::new(0.0, 0.0),
        wzz: Sym2::new(0.0, 0.0, 0.0),
        merged: None,
    };

    /// With one more shot at `z`, row `[1, u]`, weight `w`.
    #[inline]
    pub fn with(&self, z: Point, u: f64, w: f64) -> Self {
        let wu = w * u;
        Self {
            w: self.w + w,
            wu: self.wu + wu,
            wuu: self.wuu + wu * u,
            wz: self.wz + z * w,
            wuz: self.wuz + z * wu,
            wzz: self.wzz + Sym2::outer(z) * w,
            merged: self.merged,
        }
    }

    /// The sums that stand for several: their mean, with how they differ kept. `members` are `(sums, share)`, the shares
    /// adding up to 1.
    fn merge<'a>(members: impl Iterator<Item = (&'a Self, f64)> + Clone) -> Self {
        let mut mean = Self::ZERO;
        for (s, share) in members.clone() {
            mean.w += share * s.w;
            mean.wu += share * s.wu;
            mean.wuu += share * s.wuu;
            mean.wz = mean.wz + s.wz * share;
            mean.wuz = mean.wuz + s.wuz * share;
            mean.wzz = mean.wzz + s.wzz * share;
        }
        let mut merged = Merged::ZERO;
        for (s, share) in members {
            merged.add(&Merged::of(s.wz - mean.wz, s.wuz - mean.wuz), share);
            if let Some(own) = &s.merged {
                merged.add(own, share);
            }
        }
        Self { merged: Some(merged), ..mean }
    }
}

/// The prior in the form that the closed form wants.
#[derive(Debug, Clone, Copy)]
pub(super) struct Conjugate {
    trust: f64,
    second_precision: f64,
    psi0: Sym2,
    nu0: f64,
}

/// Posterior of the coefficients and of the spread under one hypothesis.
#[derive(Debug, Clone, Copy)]
pub(super) struct Fit {
    /// `P`: entries 00, 01 and 11.
    pub p: Sym2,
    pub det_p: f64,
    /// Coefficient rows: the centre and the second one.
    pub b: [Point; 2],
    /// Scale of the spread; of merged hypotheses the mean.
    pub psi: Sym2,
    merged: Option<Merged>,
}

impl Conjugate {
    pub fn new(prior: &Prior, second_precision: f64) -> Self {
        Self { trust: prior.trust, second_precision, psi0: prior.psi, nu0: prior.worth + 3.0 }
    }

    pub fn nu(&self, n: usize) -> f64 {
        self.nu0 + n as f64
    }

    #[inline]
    pub fn fit(&self, s: &Sums) -> Fit {
        let p = Sym2::new(self.trust + s.w, s.wu, self.second_precision + s.wuu);
        let det_p = p.det();
        let inv = 1.0 / det_p;
        let b0 = (s.wz * p.yy - s.wuz * p.xy) * inv;
        let b1 = (s.wuz * p.xx - s.wz * p.xy) * inv;
        let explained = Sym2::new(
            b0.x_mm * s.wz.x_mm + b1.x_mm * s.wuz.x_mm,
            b0.x_mm * s.wz.y_mm + b1.x_mm * s.wuz.y_mm,
            b0.y_mm * s.wz.y_mm + b1.y_mm * s.wuz.y_mm,
        );
        Fit { p, det_p, b: [b0, b1], psi: self.psi0 + s.wzz - explained, merged: s.merged }
    }

    /// Sums that stand for several hypotheses; see [`Sums::merge`]. The squares are set so that the scale of the spread is the
    /// mean of theirs, whose differences in place belong to the centre and not to the spread.
    pub fn merge<'a>(&self, members: impl Iterator<Item = (&'a Sums, f64)> + Clone) -> Sums {
        let mean_psi = members.clone().fold(Sym2::default(), |sum, (s, share)| sum + self.fit(s).psi * share);
        let mut merged = Sums::merge(members);
        merged.wzz = merged.wzz + (mean_psi - self.fit(&merged).psi);
        merged
    }

    /// The part of the log evidence that differs between hypotheses on the same `n` shots, without the row weights.
    #[inline]
    pub fn log_varying(&self, fit: &Fit, n: usize) -> f64 {
        (self.trust * self.second_precision).ln() - fit.det_p.ln() - 0.5 * self.nu(n) * fit.psi.det().ln()
    }

    /// The part that does not.
    pub fn log_constant(&self, n: usize) -> f64 {
        let ln_gamma_2 = |a: f64| ln_gamma(a) + ln_gamma(a - 0.5);
        -(n as f64) * std::f64::consts::PI.ln() + 0.5 * self.nu0 * self.psi0.det().ln() + ln_gamma_2(0.5 * self.nu(n))
            - ln_gamma_2(0.5 * self.nu0)
    }
}

impl Fit {
    /// `r P^-1 r'` for the row `r = [1, u]`.
    #[inline]
    pub fn lean(&self, u: f64) -> f64 {
        (self.p.yy - 2.0 * u * self.p.xy + u * u * self.p.xx) / self.det_p
    }

    /// Covariance of `r B` among the hypotheses that were merged, for the row `r = [1, u]`; nothing for a single one.
    pub fn between(&self, u: f64) -> Option<Sym2> {
        // r P^-1 as a row.
        let (a, b) = ((self.p.yy - u * self.p.xy) / self.det_p, (u * self.p.xx - self.p.xy) / self.det_p);
        self.merged.map(|m| m.form(a * a, a * b, b * b))
    }

    /// `r B`.
    #[inline]
    pub fn mean(&self, u: f64) -> Point {
        self.b[0] + self.b[1] * u
    }
}
