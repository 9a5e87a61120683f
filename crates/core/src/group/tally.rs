//! Sums over hypotheses that become a [`Reading`]; shared by both searches.

use super::predictive::{Component, Predictive, Row};
use super::{Points, Reading};
use crate::plane::{Point, Sym2};

/// Parts lighter than this share of the heaviest are left out of the predictive mixture: together below 1e-3.
const NEGLIGIBLE_PART: f64 = 1e-8;

/// Sums over hypotheses, in any common unit of weight.
pub(super) struct Tally {
    n: usize,
    nu: f64,
    end: [f64; 2],
    parts: Vec<Component>,
    /// The heaviest part so far.
    pub most: f64,
    centre: Point,
    centre2: Sym2,
    spread: Sym2,
}

impl Tally {
    pub fn new(n: usize, nu: f64, end: [f64; 2]) -> Self {
        let none = Sym2::default();
        Self { n, nu, end, parts: Vec::new(), most: 0.0, centre: Point::default(), centre2: none, spread: none }
    }

    /// Adds to centre and spread what hypotheses of that total `weight` and `psi` (times weight) say, whose processes are the
    /// same.
    pub fn add(&mut self, weight: f64, psi: Sym2, rows: &[Row; 2]) {
        self.spread = self.spread + psi * (1.0 / (self.nu - 3.0));
        for row in rows.iter().filter(|r| r.share > 0.0) {
            self.centre = self.centre + row.mean * (weight * row.share);
            let own = psi.stretched(row.lean.map(f64::sqrt)) * (1.0 / (self.nu - 3.0));
            self.centre2 = self.centre2 + (Sym2::outer(row.mean) * weight + own) * row.share;
        }
    }

    /// Adds a part of the predictive mixture.
    pub fn part(&mut self, part: Component) {
        self.most = self.most.max(part.weight);
        if part.weight > NEGLIGIBLE_PART * self.most {
            self.parts.push(part);
        }
    }

    /// Multiplies all weights by `k`.
    pub fn rescale(&mut self, k: f64) {
        self.most *= k;
        self.centre = self.centre * k;
        self.centre2 = self.centre2 * k;
        self.spread = self.spread * k;
        self.parts.iter_mut().for_each(|p| p.weight *= k);
    }

    /// The reading that the sums say, `total` being the sum of all weights; what else it holds is still to be filled in.
    pub fn into_reading(mut self, points: &Points<'_>, total: f64) -> Reading {
        let least = NEGLIGIBLE_PART * self.most;
        self.parts.retain(|p| p.weight > least);
        let kept: f64 = self.parts.iter().map(|p| p.weight).sum();
        self.parts.iter_mut().for_each(|p| p.weight /= kept);
        let centre = self.centre * (1.0 / total);
        Reading {
            shots: self.n,
            centre,
            centre_cov: self.centre2 * (1.0 / total) - Sym2::outer(centre),
            spread: self.spread * (1.0 / total),
            p_class: vec![[0.0; 3]; self.n],
            places: points.places.to_vec(),
            pattern: [0.0; 4],
            other_group: Vec::new(),
            jump_before: Vec::new(),
            log_evidence: [f64::NEG_INFINITY; 4],
            dropped_mass: 0.0,
            effective_draws: None,
            bar: None,
            next: Predictive { nu: self.nu, end: self.end, parts: self.parts },
        }
    }
}
