//! What a move gains over the posterior of centre and spread.

use std::sync::OnceLock;

use crate::group::{ClassOdds, Component, Predictive};
use crate::plane::{Point, Sym2};
use crate::random::Random;
use crate::score::{Scorer, Spot};
use crate::stats::distribution::normal_quantile;

/// Draws from the posterior for the interval.
const DRAWS: usize = 199;

/// Standard normal deviates of one draw: three for the spread, two for the centre of each process.
const DEVIATES: usize = 7;

/// One draw of the truth from the posterior: the spread, and the centre of each process.
fn draw(part: &Component, nu: f64, z: &[f64; DEVIATES]) -> (Sym2, [Point; 2]) {
    // Bartlett: Sigma = L A^-T A^-1 L' with A lower triangular, chi on its diagonal, psi = L L'.
    let (l11, l21, l22) = part.psi.cholesky();
    let (a11, a22) = (chi(nu, z[0]), chi(nu - 1.0, z[1]));
    let a21 = z[2];
    // T = L A^-T, so that Sigma = T T' ; A^-T = [[1/a11, -a21/(a11 a22)], [0, 1/a22]].
    let (u11, u12, u22) = (1.0 / a11, -a21 / (a11 * a22), 1.0 / a22);
    let (t11, t12) = (l11 * u11, l11 * u12);
    let (t21, t22) = (l21 * u11, l21 * u12 + l22 * u22);
    let sigma = Sym2::new(t11 * t11 + t12 * t12, t11 * t21 + t12 * t22, t21 * t21 + t22 * t22);
    let centre = |r: usize| {
        let (row, a, b) = (&part.rows[r], z[3 + 2 * r], z[4 + 2 * r]);
        let k = row.lean.map(f64::sqrt);
        row.mean + Point::new((t11 * a + t12 * b) * k[0], (t21 * a + t22 * b) * k[1])
    };
    (sigma, [centre(0), centre(1)])
}

/// A chi deviate of `dof` degrees of freedom from a standard normal one: the cube of Wilson & Hilferty (1931), good to a few
/// parts in a thousand for the four degrees and more that occur here.
fn chi(dof: f64, z: f64) -> f64 {
    let v = 2.0 / (9.0 * dof);
    (dof * (1.0 - v + z * v.sqrt()).max(0.05).powi(3)).sqrt()
}

/// Balanced draws of standard normal deviates: a Latin hypercube, so that each deviate takes every one of
/// [`DRAWS`] equal slices once, in an order that is the same everywhere.
fn balanced() -> &'static [[f64; DEVIATES]] {
    static TABLE: OnceLock<Vec<[f64; DEVIATES]>> = OnceLock::new();
    TABLE.get_or_init(|| {
        let mut random = Random::seeded(0x5EED);
        let mut table = vec![[0.0; DEVIATES]; DRAWS];
        for i in 0..DEVIATES {
            let mut slices: Vec<usize> = (0..DRAWS).collect();
            random.shuffle(&mut slices);
            for (row, slice) in table.iter_mut().zip(slices) {
                row[i] = normal_quantile((slice as f64 + 0.5) / DRAWS as f64);
            }
        }
        table
    })
}

/// Gain a shot of the move over draws from the posterior, sorted.
pub(super) fn posterior_gains(
    next: &Predictive,
    scorer: &Scorer,
    odds: ClassOdds,
    shift: Point,
    setting_variance: f64,
) -> Vec<f64> {
    let mut gains = Vec::with_capacity(DRAWS);
    let shapes = odds.shapes();
    // Stratified over the parts: draw k stands for the k-th slice of the mixture.
    let (mut part, mut upto) = (0, next.parts[0].weight);
    for (k, deviates) in balanced().iter().enumerate() {
        let at = (k as f64 + 0.5) / DRAWS as f64;
        while at > upto && part + 1 < next.parts.len() {
            part += 1;
            upto += next.parts[part].weight;
        }
        let (sigma, centres) = draw(&next.parts[part], next.nu, deviates);
        let of_end = sigma.stretched(next.end.map(f64::sqrt));
        // A stray gains a hundredth of nothing from a better centre; leaving it out moves no quantile visibly.
        let gain: f64 = (0..2)
            .map(|k| {
                let cov = shapes[k].widened(sigma) + of_end;
                let off = shapes[k].mean_mm;
                let of = |cov| scorer.prepare(&if k == 0 { Spot::new(cov).coarsely() } else { Spot::round(cov) });
                let before = of(cov);
                let moved = (setting_variance > 0.0).then(|| of(cov + Sym2::isotropic(setting_variance)));
                let after = moved.as_ref().unwrap_or(&before);
                // Each shot to come is of one process or the other, anew.
                let rows = next.parts[part].rows.iter().zip(centres).filter(|(r, _)| r.share > 0.0);
                let gain: f64 = rows.map(|(r, c)| r.share * (after.at(c + off - shift) - before.at(c + off))).sum();
                odds.get()[k] * gain
            })
            .sum();
        gains.push(gain);
    }
    gains.sort_by(f64::total_cmp);
    gains
}
