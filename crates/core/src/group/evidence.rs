//! The closed form behind every hypothesis.
//!
//! Under a hypothesis column `c` of the shots (windage, elevation) is `Z_c = X b_c + L_c U_c` with `b_c` normal with the
//! prior variances, `L_c L_c' = K + rho_c E E'` (`K` the class factors on the diagonal, `E` naming the end of each shot,
//! `rho_c` the share of the end's offset) and the rows of `U` normal with covariance `Sigma ~ IW(nu0, Psi0)`. In innovation
//! form (see [`axis`](super::axis)), with `d_ic` what shot `i` was off and `v_ic` the variance expected of it:
//!
//! ```text
//! Psi = Psi0 + sum_i r_i r_i'     r_ic = d_ic / sqrt(v_ic)     nu = nu0 + n
//! log p(Z) = -n log pi - 1/2 sum_ic log v_ic + nu0/2 log|Psi0| - nu/2 log|Psi|
//!            + log Gamma_2(nu/2) - log Gamma_2(nu0/2)
//! ```
//!
//! Where both axes share the same `rho` this is the matrix-normal inverse-Wishart regression, for instance Rossi, Allenby &
//! McCulloch (2005), "Bayesian Statistics and Marketing", section 2.8.5, for two response columns. Where they differ each axis
//! by itself is still that regression for one column, and the cross terms pair the innovations of the same shot.

use statrs::function::gamma::ln_gamma;

/// The part of the log evidence that is the same for all hypotheses on the same `n` shots.
pub(super) fn log_constant(nu0: f64, n: usize) -> f64 {
    let ln_gamma_2 = |a: f64| ln_gamma(a) + ln_gamma(a - 0.5);
    -(n as f64) * std::f64::consts::PI.ln() + ln_gamma_2(0.5 * (nu0 + n as f64)) - ln_gamma_2(0.5 * nu0)
}
