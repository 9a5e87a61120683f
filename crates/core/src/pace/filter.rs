//! What is known of the centre and the spread, carried shot by shot.
//!
//! The `steady` process of the group model, as a recursion: a mixture of parts, each with the centre given the spread
//! normal about `mean` and the spread inverse-Wishart. A shot of class `kappa` updates a part exactly:
//!
//! ```text
//! k = lean / (kappa + lean)     mean += k (z - mean)     lean *= kappa / (kappa + lean)
//! psi += (z - mean)(z - mean)' / (kappa + lean)          nu += 1
//! ```
//!
//! with the bivariate t of the group model as its weight. Between ends the centre wanders, and a touch sets the pin with
//! an error: both widen the centre without telling anything of the spread, so they are added to `lean` as a variance over
//! the expected spread (exact when the spread is known; the error is of second order in its uncertainty). One more
//! part stands for a sudden change just before the shot. Parts that say the same are merged, so that a shot costs one
//! step however many there were before it.

use crate::group::{ClassOdds, Component, KAPPA, Predictive};
use crate::plane::{Point, Sym2};

/// Parts kept after a shot.
const PARTS: usize = 6;
/// Parts closer than this, in standard deviations of a clean shot, become one.
const CLOSENESS: f64 = 0.1;
/// Probability that the process jumps just before a shot: about one round of 72 in twenty.
pub const JUMP_A_SHOT: f64 = 0.0007;
/// Variance of such a jump in units of the spread, as in the pattern `jumped`.
const JUMP_LEAN: f64 = 25.0;

/// One part: the centre given the spread is `N(mean, spread)` with each axis' variance times its `lean`.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Part {
    weight: f64,
    mean: Point,
    /// Variance of the centre in units of the spread, for windage and elevation. They differ only where one axis was
    /// learnt elsewhere.
    lean: [f64; 2],
    psi: Sym2,
}

/// The state of knowledge about one sight setting at one distance.
#[derive(Debug, Clone, PartialEq)]
pub struct Filter {
    nu: f64,
    parts: Vec<Part>,
    jump: f64,
}

/// A summary of a [`Filter`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Summary {
    /// Mean of the centre, in millimetres.
    pub centre: Point,
    /// Variance of the centre along each axis, in mm^2.
    pub centre_variance: [f64; 2],
    /// Mean of the spread's variance, averaged over the axes, in mm^2.
    pub spread_variance: f64,
}

impl Filter {
    /// Before the first shot: a spread of `spread_mm` worth `worth` arrows and a setting worth `trust` arrows on each
    /// axis; a process that jumps just before a shot with probability `jump`.
    #[must_use]
    pub fn new(spread_mm: f64, worth: f64, trust: [f64; 2], jump: f64) -> Self {
        let psi = Sym2::isotropic(spread_mm * spread_mm * worth);
        let part = Part { weight: 1.0, mean: Point::default(), lean: trust.map(|t| 1.0 / t), psi };
        Self { nu: worth + 3.0, parts: vec![part], jump }
    }

    /// Mean centre and variances.
    #[must_use]
    pub fn summary(&self) -> Summary {
        let mut centre = Point::default();
        let mut spread_variance = 0.0;
        let mut second = [0.0; 2];
        for p in &self.parts {
            let scale = 1.0 / (self.nu - 3.0);
            centre = centre + p.mean * p.weight;
            spread_variance += p.weight * p.psi.mean_variance() * scale;
            second[0] += p.weight * (p.lean[0] * p.psi.xx * scale + p.mean.x_mm * p.mean.x_mm);
            second[1] += p.weight * (p.lean[1] * p.psi.yy * scale + p.mean.y_mm * p.mean.y_mm);
        }
        let centre_variance =
            [(second[0] - centre.x_mm * centre.x_mm).max(0.0), (second[1] - centre.y_mm * centre.y_mm).max(0.0)];
        Summary { centre, centre_variance, spread_variance }
    }

    /// Takes in a shot at `z` (mm, in the frame of the present setting) with class probabilities `odds`; returns the
    /// probabilities of clean, flyer and stray for it.
    pub fn shot(&mut self, z: Point, odds: ClassOdds) -> [f64; 3] {
        self.shot_within(&[(z, 1.0)], odds)
    }

    /// Takes in a shot that is known to be at one of `places`, each standing for an area (any unit); as [`Filter::shot`].
    pub fn shot_within(&mut self, places: &[(Point, f64)], odds: ClassOdds) -> [f64; 3] {
        let mut children: Vec<(Part, usize)> = Vec::with_capacity(places.len() * (3 * self.parts.len() + 3));
        if self.jump > 0.0 {
            // One part stands for the change, about the overall mean.
            let s = self.summary();
            let spread = s.spread_variance;
            let psi = self.parts.iter().fold(Sym2::default(), |sum, p| sum + p.psi * p.weight);
            let lean = s.centre_variance.map(|v| v / spread + JUMP_LEAN);
            self.parts.iter_mut().for_each(|p| p.weight *= 1.0 - self.jump);
            self.parts.push(Part { weight: self.jump, mean: s.centre, lean, psi });
        }
        let dof = self.nu - 1.0;
        let mut top = f64::NEG_INFINITY;
        for (part, (z, area)) in self.parts.iter().flat_map(|p| places.iter().map(move |z| (p, z))) {
            let d = *z - part.mean;
            for (k, p_class) in odds.get().into_iter().enumerate() {
                if p_class <= 0.0 {
                    continue;
                }
                let wide = [KAPPA[k] + part.lean[0], KAPPA[k] + part.lean[1]];
                let r = Point::new(d.x_mm / wide[0].sqrt(), d.y_mm / wide[1].sqrt());
                let q = part.psi.mahalanobis2(r);
                // The constant of the t is the same for all.
                let log_weight = (part.weight * p_class * area).ln()
                    - 0.5 * (part.psi.det() * wide[0] * wide[1]).ln()
                    - (0.5 * dof + 1.0) * q.ln_1p();
                top = top.max(log_weight);
                let gain = [part.lean[0] / wide[0], part.lean[1] / wide[1]];
                let child = Part {
                    weight: log_weight,
                    mean: part.mean + Point::new(gain[0] * d.x_mm, gain[1] * d.y_mm),
                    lean: [gain[0] * KAPPA[k], gain[1] * KAPPA[k]],
                    psi: part.psi + Sym2::outer(r),
                };
                children.push((child, k));
            }
        }
        self.nu += 1.0;
        let mut total = 0.0;
        for (child, _) in &mut children {
            child.weight = (child.weight - top).exp();
            total += child.weight;
        }
        let mut classes = [0.0; 3];
        for (child, class) in &mut children {
            child.weight /= total;
            classes[*class] += child.weight;
        }
        children.retain(|(c, _)| c.weight > 1e-6);
        children.sort_unstable_by(|a, b| b.0.weight.total_cmp(&a.0.weight));
        self.parts.clear();
        let nu = self.nu;
        for (child, _) in &children {
            let near = self
                .parts
                .iter()
                .enumerate()
                .map(|(i, p)| (i, distance2(p, child, nu)))
                .min_by(|a, b| a.1.total_cmp(&b.1));
            match near {
                Some((i, d2)) if d2 < CLOSENESS * CLOSENESS || self.parts.len() >= PARTS => {
                    merge(&mut self.parts[i], child, nu);
                }
                _ => self.parts.push(*child),
            }
        }
        let kept: f64 = self.parts.iter().map(|p| p.weight).sum();
        self.parts.iter_mut().for_each(|p| p.weight /= kept);
        classes
    }

    /// Widens the centre by `variance` mm^2 on each axis.
    pub fn widen(&mut self, variance: [f64; 2]) {
        let nu = self.nu;
        for p in &mut self.parts {
            p.lean[0] += variance[0] * (nu - 3.0) / p.psi.xx;
            p.lean[1] += variance[1] * (nu - 3.0) / p.psi.yy;
        }
    }

    /// Moves into the frame of a new setting: `shift` mm on the face in the direction of the pin, set with an error of
    /// `variance` mm^2 an axis.
    pub fn touch(&mut self, shift: Point, variance: f64) {
        self.parts.iter_mut().for_each(|p| p.mean = p.mean - shift);
        if variance > 0.0 {
            self.widen([variance; 2]);
        }
    }

    /// The same knowledge seen from `ratio` times the distance: places and spread grow in proportion. Windage comes along;
    /// elevation starts anew about the middle with a mark worth `trust` arrows.
    #[must_use]
    pub fn at_next_distance(&self, ratio: f64, trust: f64) -> Self {
        let mut next = self.clone();
        for p in &mut next.parts {
            p.mean = Point::new(p.mean.x_mm * ratio, 0.0);
            p.psi = p.psi * (ratio * ratio);
            p.lean[1] = 1.0 / trust;
        }
        next
    }

    /// The predictive distribution of the next shot.
    #[must_use]
    pub fn next(&self) -> Predictive {
        let parts = self
            .parts
            .iter()
            .map(|p| {
                // One lean for both axes; what differs goes into the scale, exact for a clean shot.
                let lean = 0.5 * (p.lean[0] + p.lean[1]);
                let k = p.lean.map(|l| ((1.0 + l) / (1.0 + lean)).sqrt());
                let psi = Sym2::new(p.psi.xx * k[0] * k[0], p.psi.xy * k[0] * k[1], p.psi.yy * k[1] * k[1]);
                Component { weight: p.weight, mean: p.mean, lean, psi }
            })
            .collect();
        Predictive { nu: self.nu, parts }
    }
}

/// Squared distance of two parts in standard deviations of a clean shot, places and logarithms of the spread together.
fn distance2(a: &Part, b: &Part, nu: f64) -> f64 {
    let d = a.mean - b.mean;
    let log_ratio = |x: f64, y: f64| 2.0 * (x - y) / (x + y);
    let (sx, sy) = (log_ratio(a.psi.xx, b.psi.xx), log_ratio(a.psi.yy, b.psi.yy));
    (d.x_mm * d.x_mm / a.psi.xx + d.y_mm * d.y_mm / a.psi.yy) * nu + 0.25 * (sx * sx + sy * sy)
}

/// Makes one part of two, with the same mean, mean spread and variance of the centre.
fn merge(into: &mut Part, other: &Part, nu: f64) {
    let total = into.weight + other.weight;
    let (a, b) = (into.weight / total, other.weight / total);
    let d = other.mean - into.mean;
    let psi = into.psi * a + other.psi * b;
    let between = [a * b * d.x_mm * d.x_mm * (nu - 3.0), a * b * d.y_mm * d.y_mm * (nu - 3.0)];
    into.lean = [
        (a * into.lean[0] * into.psi.xx + b * other.lean[0] * other.psi.xx + between[0]) / psi.xx,
        (a * into.lean[1] * into.psi.yy + b * other.lean[1] * other.psi.yy + between[1]) / psi.yy,
    ];
    into.mean = into.mean + d * b;
    into.psi = psi;
    into.weight = total;
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::face::Face;
    use crate::group::{Prior, read};
    use crate::random::Random;
    use crate::shot::Shot;
    use crate::units::{Distance, Shaft, Spread};

    /// Without touches, drift or jumps the filter is the steady pattern; up to three shots the group model has no other.
    #[test]
    fn it_is_the_group_model_shot_by_shot() {
        let distance = Distance::from_metres(70.0).unwrap();
        let spread = Spread::from_mrad(1.5).unwrap();
        let prior = Prior::new(spread, distance, 4.0, 0.5).unwrap();
        let face = Face::named("122").unwrap();
        let mut random = Random::seeded(3);
        for _ in 0..50 {
            let mut filter = Filter::new(spread.at(distance), 4.0, [0.5; 2], 0.0);
            let mut shots = Vec::new();
            for _ in 0..3 {
                let (x, y) = random.normal_pair();
                shots.push(Shot::at(120.0 * x + 60.0, 120.0 * y));
                filter.shot(Point::new(120.0 * x + 60.0, 120.0 * y), ClassOdds::default());
            }
            let want = read(&shots, &prior, ClassOdds::default(), face, Shaft::default()).unwrap();
            let got = filter.summary();
            let sd = want.spread.mean_sd();
            // Merging to six parts of nine or more: within a hundredth of a standard deviation.
            assert!((got.centre - want.centre).radius_mm() < 0.01 * sd, "{got:?} {want:?}");
            assert!((got.spread_variance / want.spread.mean_variance() - 1.0).abs() < 0.01);
            assert!((got.centre_variance[0] / want.centre_cov.xx - 1.0).abs() < 0.05, "{got:?} {:?}", want.centre_cov);
        }
    }

    #[test]
    fn a_touch_moves_the_centre_exactly() {
        let mut filter = Filter::new(100.0, 4.0, [1.0; 2], JUMP_A_SHOT);
        for z in [Point::new(80.0, 10.0), Point::new(120.0, -30.0)] {
            filter.shot(z, ClassOdds::default());
        }
        let before = filter.summary();
        filter.touch(Point::new(50.0, -10.0), 0.0);
        let after = filter.summary();
        assert!((after.centre - (before.centre - Point::new(50.0, -10.0))).radius_mm() < 1e-9);
        assert!((after.centre_variance[0] - before.centre_variance[0]).abs() < 1e-6);
        filter.touch(Point::default(), 25.0);
        assert!((filter.summary().centre_variance[1] - before.centre_variance[1] - 25.0).abs() < 1e-6);
    }
}
