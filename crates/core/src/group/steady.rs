//! What is known of the centre and the spread of one process, carried shot by shot.
//!
//! The `steady` pattern of the group model as a recursion: a mixture of parts, each with the centre and the offset of the
//! present end given the spread normal (see [`axis`](super::axis)) and the spread inverse-Wishart. A shot of each class
//! updates a part exactly, with the bivariate t of the group model as its weight. Between ends the centre wanders and the
//! offset is drawn anew, and a touch sets the pin with an error: drift and error widen the centre without telling anything of
//! the spread, so they are added as a variance over the part's expected spread (exact when the spread is known; the error is of
//! second order in its uncertainty). One more part stands for a sudden change just before the shot. Parts that say the same
//! are merged, so that a shot costs one step however many there were before it.

use super::axis::Axis;
use super::predictive::{Component, Predictive};
use super::{ClassOdds, Prior};
use crate::plane::{Point, Sym2};

/// Parts kept after a shot.
const PARTS: usize = 10;
/// Parts closer than this, in standard deviations of a clean shot, become one.
const CLOSENESS: f64 = 0.1;
/// Probability that the process jumps just before a shot: about one round of 72 in twenty.
pub const JUMP_A_SHOT: f64 = 0.0007;
/// Variance of such a jump in units of the spread, as in the pattern `jumped`.
const JUMP_LEAN: f64 = 25.0;

/// One part of the mixture.
#[derive(Debug, Clone, Copy)]
struct Part {
    weight: f64,
    axes: [Axis; 2],
    psi: Sym2,
}

impl Part {
    fn centre(&self) -> Point {
        Point::new(self.axes[0].m[0], self.axes[1].m[0])
    }

    /// Where the shots of this end land.
    fn place(&self) -> Point {
        Point::new(self.axes[0].m[0] + self.axes[0].m[2], self.axes[1].m[0] + self.axes[1].m[2])
    }

    fn lean(&self) -> [f64; 2] {
        self.axes.map(|a| a.p[0])
    }
}

/// The state of knowledge about one sight setting at one distance.
#[derive(Debug, Clone)]
pub struct Filter {
    nu: f64,
    end: [f64; 2],
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
    /// Before the first shot: what `prior` says, of a process that jumps just before a shot with probability `jump`.
    #[must_use]
    pub fn new(prior: &Prior, jump: f64) -> Self {
        let end = prior.end_effect().variances();
        let centre = prior.centre();
        let mut parts = Vec::with_capacity(14);
        for base in prior.bases() {
            for (log_weight, psi) in &base.scales[..base.count] {
                let axis = |mean: f64, c: usize| Axis::new(mean, base.lean[c], 0.0, end[c]);
                let axes = [axis(centre.x_mm, 0), axis(centre.y_mm, 1)];
                parts.push(Part { weight: log_weight.exp(), axes, psi: *psi });
            }
        }
        Self { nu: prior.nu(), end, parts, jump }
    }

    /// Mean centre and variances.
    #[must_use]
    pub fn summary(&self) -> Summary {
        let mut centre = Point::default();
        let mut spread_variance = 0.0;
        let mut second = [0.0; 2];
        for p in &self.parts {
            let scale = 1.0 / (self.nu - 3.0);
            let (mean, lean) = (p.centre(), p.lean());
            centre = centre + mean * p.weight;
            spread_variance += p.weight * p.psi.mean_variance() * scale;
            second[0] += p.weight * (lean[0] * p.psi.xx * scale + mean.x_mm * mean.x_mm);
            second[1] += p.weight * (lean[1] * p.psi.yy * scale + mean.y_mm * mean.y_mm);
        }
        let centre_variance =
            [(second[0] - centre.x_mm * centre.x_mm).max(0.0), (second[1] - centre.y_mm * centre.y_mm).max(0.0)];
        Summary { centre, centre_variance, spread_variance }
    }

    /// Takes in a shot at `z` (mm, in the frame of the present setting) with class probabilities `odds`; returns the
    /// probabilities of clean, flyer and stray for it.
    pub fn shot(&mut self, z: Point, odds: ClassOdds) -> [f64; 3] {
        let mut children: Vec<(Part, usize)> = Vec::with_capacity(3 * self.parts.len() + 3);
        if self.jump > 0.0 {
            // One part stands for the change, about the overall mean.
            let s = self.summary();
            let spread = s.spread_variance;
            let psi = self.parts.iter().fold(Sym2::default(), |sum, p| sum + p.psi * p.weight);
            let lean = s.centre_variance.map(|v| v / spread + JUMP_LEAN);
            self.parts.iter_mut().for_each(|p| p.weight *= 1.0 - self.jump);
            let axis = |mean: f64, c: usize| Axis::new(mean, lean[c], 0.0, self.end[c]);
            let axes = [axis(s.centre.x_mm, 0), axis(s.centre.y_mm, 1)];
            self.parts.push(Part { weight: self.jump, axes, psi });
        }
        let mut top = f64::NEG_INFINITY;
        let shapes = odds.shapes();
        for part in &self.parts {
            let log_det = part.psi.det().ln();
            for (k, p_class) in odds.get().into_iter().enumerate() {
                if p_class <= 0.0 {
                    continue;
                }
                let mut child = *part;
                let at = z - shapes[k].mean_mm;
                let x = child.axes[0].take(at.x_mm, 0.0, shapes[k].factors[0]);
                let y = child.axes[1].take(at.y_mm, 0.0, shapes[k].factors[1]);
                let v = x.v * y.v;
                child.psi = child.psi + Sym2::new(x.d * x.d / x.v, x.d * y.d / v.sqrt(), y.d * y.d / y.v);
                // The constant of the t is the same for all.
                let log_t = 0.5 * (self.nu * log_det - (self.nu + 1.0) * child.psi.det().ln() - v.ln());
                child.weight = (part.weight * p_class).ln() + log_t;
                top = top.max(child.weight);
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
            p.axes[0].loosen(variance[0] * (nu - 3.0) / p.psi.xx);
            p.axes[1].loosen(variance[1] * (nu - 3.0) / p.psi.yy);
        }
    }

    /// An end is over: the shots of the next share another offset, and the centre has wandered by `drift_variance` mm^2 an
    /// axis.
    pub fn end_of_end(&mut self, drift_variance: f64) {
        for p in &mut self.parts {
            for (axis, end) in p.axes.iter_mut().zip(self.end) {
                axis.new_end(end);
            }
        }
        self.widen([drift_variance; 2]);
    }

    /// Moves into the frame of a new setting: `shift` mm on the face in the direction of the pin, set with an error of
    /// `variance` mm^2 an axis.
    pub fn touch(&mut self, shift: Point, variance: f64) {
        for p in &mut self.parts {
            p.axes[0].m[0] -= shift.x_mm;
            p.axes[1].m[0] -= shift.y_mm;
        }
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
            for (axis, end) in p.axes.iter_mut().zip(self.end) {
                axis.new_end(end);
            }
            p.axes[0].m[0] *= ratio;
            p.axes[1] = Axis::new(0.0, 1.0 / trust, 0.0, self.end[1]);
            p.psi = p.psi * (ratio * ratio);
        }
        next
    }

    /// The predictive distribution of a shot of an end to come.
    #[must_use]
    pub fn next(&self) -> Predictive {
        let parts = self.parts.iter().map(|p| Component::single(p.weight, p.centre(), p.lean(), p.psi)).collect();
        Predictive { nu: self.nu, end: self.end, parts }
    }
}

/// Squared distance of two parts in standard deviations of a clean shot, places and logarithms of the spread together.
fn distance2(a: &Part, b: &Part, nu: f64) -> f64 {
    let apart = |d: Point| (d.x_mm * d.x_mm / a.psi.xx + d.y_mm * d.y_mm / a.psi.yy) * nu;
    let log_ratio = |x: f64, y: f64| 2.0 * (x - y) / (x + y);
    let (sx, sy) = (log_ratio(a.psi.xx, b.psi.xx), log_ratio(a.psi.yy, b.psi.yy));
    apart(a.centre() - b.centre()) + apart(a.place() - b.place()) + 0.25 * (sx * sx + sy * sy)
}

/// Makes one part of two, with the same mean, mean spread and variance of the place.
fn merge(into: &mut Part, other: &Part, nu: f64) {
    let total = into.weight + other.weight;
    let shares = [into.weight / total, other.weight / total];
    let both = [*into, *other];
    let psi = both[0].psi * shares[0] + both[1].psi * shares[1];
    let mut axes = [Axis { m: [0.0; 3], p: [0.0; 6] }; 2];
    for (part, share) in both.iter().zip(shares) {
        for (to, from) in axes.iter_mut().zip(&part.axes) {
            to.m.iter_mut().zip(from.m).for_each(|(to, m)| *to += share * m);
        }
    }
    let mean = axes;
    let scale = [psi.xx, psi.yy];
    for (part, share) in both.iter().zip(shares) {
        for (c, of) in [part.psi.xx, part.psi.yy].into_iter().enumerate() {
            axes[c].add_share(&mean[c], &part.axes[c], share, of / scale[c], (nu - 3.0) / scale[c]);
        }
    }
    *into = Part { weight: total, axes, psi };
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
        let prior = Prior::new(spread, distance, 4.0, 0.5).unwrap().as_told();
        let face = Face::named("122").unwrap();
        let mut random = Random::seeded(3);
        for _ in 0..50 {
            let mut filter = Filter::new(&prior, 0.0);
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
        let mut filter = Filter::new(&Prior::on_face(100.0, 4.0, 1.0).unwrap(), JUMP_A_SHOT);
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
