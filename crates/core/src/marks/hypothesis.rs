//! One hypothesis about which marks are wrong: the mode, its curvature, its evidence and its quadrature nodes.
//!
//! Unknown are `a = ln speed`, `b = ln drag factor`, the scale zero `z` and, if its height is uncertain, the eye's `e`
//! above what was measured. Given `a` and `b` the readings are linear in `z` and `e`, so those two are integrated in
//! closed form; `z` has a
//! flat prior.

use super::MarksError;
use super::response::Response;
use super::sighting::Mark;
use crate::stats::quadrature::Rule;

/// What a wrong mark is off by, one standard deviation, in millimetres: a slip of a centimetre or two, a digit
/// mistyped. Our choice; anything from 5 to 30 flags the same marks.
pub(super) const WRONG_SD_MM: f64 = 15.0;

const SETTLE_MAX: usize = 80;

/// Marks, their responses and the prior.
pub(super) struct Data<'a> {
    pub(super) marks: &'a [Mark],
    pub(super) responses: &'a [Response],
    /// Prior mean and standard deviation of `a` and `b`.
    pub(super) prior: [(f64, f64); 2],
    pub(super) eye_sd_mm: f64,
    /// Logarithm of the prior odds of a mark being wrong.
    pub(super) wrong_ln_odds: f64,
}

/// Scale zero and eye height given speed and drag.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Linear {
    pub(super) zero_mm: f64,
    pub(super) eye_mm: f64,
    /// Variance of the zero, covariance, variance of the eye's height, in mm^2.
    pub(super) cov: [f64; 3],
    /// Slopes of zero and eye on `a` and `b`.
    pub(super) slopes: [[f64; 2]; 2],
}

/// A point of the posterior with its weight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Node {
    pub(super) weight: f64,
    pub(super) at: [f64; 2],
    pub(super) linear: Linear,
    /// Two steps in `a` and `b`, uncorrelated, one standard deviation long: how far the posterior reaches.
    pub(super) reach: [[f64; 2]; 2],
}

/// A set of wrong marks and the posterior if it is true.
#[derive(Debug, Clone)]
pub(super) struct Hypothesis {
    pub(super) wrong: u64,
    pub(super) mode: [f64; 2],
    /// Curvature of half the misfit at the mode: `aa`, `ab`, `bb`.
    curvature: [f64; 3],
    /// Misfit at the mode: twice the negative log posterior up to constants.
    pub(super) misfit: f64,
    /// Logarithm of prior times evidence by Laplace's method, up to a constant common to all hypotheses.
    pub(super) ln_weight: f64,
}

struct Evaluation {
    misfit: f64,
    gradient: [f64; 2],
    curvature: [f64; 3],
    linear: Linear,
}

impl Data<'_> {
    fn precision(&self, i: usize, wrong: u64) -> f64 {
        let sd = self.marks[i].sd_mm();
        let extra = if wrong >> i & 1 == 1 { WRONG_SD_MM } else { 0.0 };
        1.0 / (sd * sd + extra * extra)
    }

    /// Covariance of zero and eye height given speed and drag.
    fn linear_cov(&self, wrong: u64) -> [f64; 3] {
        let mut p = [0.0; 3];
        for (i, response) in self.responses.iter().enumerate() {
            let (w, t) = (self.precision(i, wrong), response.per_eye_mm);
            p = [p[0] + w, p[1] + w * t, p[2] + w * t * t];
        }
        if self.eye_sd_mm > 0.0 {
            p[2] += self.eye_sd_mm.powi(-2);
            let det = p[0] * p[2] - p[1] * p[1];
            [p[2] / det, -p[1] / det, p[0] / det]
        } else {
            [1.0 / p[0], 0.0, 0.0]
        }
    }

    fn evaluate(&self, at: [f64; 2], wrong: u64, cov: [f64; 3]) -> Evaluation {
        let (mut r, mut tr) = (0.0, 0.0);
        // Weighted sums of the slopes against 1 and t, and of their products.
        let (mut j1, mut jt, mut jj) = ([0.0; 2], [0.0; 2], [0.0; 3]);
        let mut pins = [(0.0, [0.0; 2]); super::sighting::MARKS_MAX];
        for (i, response) in self.responses.iter().enumerate() {
            let (w, t) = (self.precision(i, wrong), response.per_eye_mm);
            pins[i] = response.pin(at);
            let (pin, j) = pins[i];
            let residual = self.marks[i].reading_mm() - pin;
            r += w * residual;
            tr += w * t * residual;
            for k in 0..2 {
                j1[k] += w * j[k];
                jt[k] += w * t * j[k];
            }
            jj = [jj[0] + w * j[0] * j[0], jj[1] + w * j[0] * j[1], jj[2] + w * j[1] * j[1]];
        }
        let slopes =
            [[0, 1].map(|k| -cov[0] * j1[k] - cov[1] * jt[k]), [0, 1].map(|k| -cov[1] * j1[k] - cov[2] * jt[k])];
        let linear = Linear { zero_mm: cov[0] * r + cov[1] * tr, eye_mm: cov[1] * r + cov[2] * tr, cov, slopes };
        let (mut misfit, mut gradient) = (0.0, [0.0; 2]);
        for (i, response) in self.responses.iter().enumerate() {
            let (w, (pin, j)) = (self.precision(i, wrong), pins[i]);
            let left = self.marks[i].reading_mm() - pin - linear.zero_mm - response.per_eye_mm * linear.eye_mm;
            misfit += w * left * left;
            gradient = [gradient[0] - w * left * j[0], gradient[1] - w * left * j[1]];
        }
        if self.eye_sd_mm > 0.0 {
            misfit += (linear.eye_mm / self.eye_sd_mm).powi(2);
        }
        let projected = |k: usize, l: usize| {
            cov[0] * j1[k] * j1[l] + cov[1] * (j1[k] * jt[l] + jt[k] * j1[l]) + cov[2] * jt[k] * jt[l]
        };
        let mut curvature = [jj[0] - projected(0, 0), jj[1] - projected(0, 1), jj[2] - projected(1, 1)];
        for k in 0..2 {
            let (mean, sd) = self.prior[k];
            misfit += ((at[k] - mean) / sd).powi(2);
            gradient[k] += (at[k] - mean) / (sd * sd);
            curvature[2 * k] += 1.0 / (sd * sd);
        }
        Evaluation { misfit, gradient, curvature, linear }
    }

    /// The full curvature of half the misfit, by central differences of its gradient; `None` where it is not positive
    /// definite with room to spare. Gauss and Newton's shorter form neglects what large residuals add and then
    /// overshoots.
    fn curvature(&self, at: [f64; 2], wrong: u64, cov: [f64; 3]) -> Option<[f64; 3]> {
        const STEP: f64 = 1e-4;
        let gradient = |a: f64, b: f64| self.evaluate([at[0] + a, at[1] + b], wrong, cov).gradient;
        let (right, left, up, down) =
            (gradient(STEP, 0.0), gradient(-STEP, 0.0), gradient(0.0, STEP), gradient(0.0, -STEP));
        let aa = (right[0] - left[0]) / (2.0 * STEP);
        let bb = (up[1] - down[1]) / (2.0 * STEP);
        let ab = 0.25 * (right[1] - left[1] + up[0] - down[0]) / STEP;
        (aa > 0.0 && bb > 0.0 && aa * bb - ab * ab > 0.02 * aa * bb).then_some([aa, ab, bb])
    }

    /// The nearest point at which an arrow could plausibly fly: four prior standard deviations, and at least 0.3
    /// (speed) and 0.6 (drag) on the logarithm. Beyond, the surfaces mean nothing; only contradictory marks lead there.
    pub(super) fn confine(&self, at: [f64; 2]) -> [f64; 2] {
        let bound = |k: usize, least: f64| {
            let (mean, sd) = self.prior[k];
            let reach = (4.0 * sd).max(least);
            at[k].clamp(mean - reach, mean + reach)
        };
        [bound(0, 0.3), bound(1, 0.6)]
    }

    /// Finds the mode from `start` by Newton's steps, damped (Levenberg & Marquardt) when they do not help.
    pub(super) fn settle(&self, wrong: u64, start: [f64; 2]) -> Result<Hypothesis, MarksError> {
        let cov = self.linear_cov(wrong);
        let mut at = start;
        let mut here = self.evaluate(at, wrong, cov);
        let mut damping: f64 = 0.0;
        for _ in 0..SETTLE_MAX {
            here.curvature = self.curvature(at, wrong, cov).unwrap_or(here.curvature);
            let [aa, ab, bb] = here.curvature;
            let (aa, bb) = (aa * (1.0 + damping), bb * (1.0 + damping));
            let det = aa * bb - ab * ab;
            let g = here.gradient;
            let step = [-(bb * g[0] - ab * g[1]) / det, -(aa * g[1] - ab * g[0]) / det];
            let next = self.confine([at[0] + step[0], at[1] + step[1]]);
            let there = self.evaluate(next, wrong, cov);
            let [da, db] = [next[0] - at[0], next[1] - at[1]];
            let [caa, cab, cbb] = here.curvature;
            let promised = -2.0 * (g[0] * da + g[1] * db) - (caa * da * da + 2.0 * cab * da * db + cbb * db * db);
            if promised.is_finite() && promised < 1e-9 + 1e-12 * here.misfit {
                return Ok(self.weigh(wrong, at, &here, cov));
            }
            // Damp until a step gains about what it promises.
            let gained = (here.misfit - there.misfit) / promised;
            if gained >= 0.0 {
                (at, here) = (next, there);
                if gained < 0.5 {
                    damping = (damping * 3.0).max(0.1);
                } else if gained > 0.8 {
                    damping = if damping < 1e-4 { 0.0 } else { damping * 0.2 };
                }
            } else if damping > 1e12 {
                // Rounding decides which way is down: this is the bottom.
                return Ok(self.weigh(wrong, at, &here, cov));
            } else {
                damping = (damping * 8.0).max(0.05);
            }
        }
        Err(MarksError::NotSettled { iterations: SETTLE_MAX })
    }

    fn weigh(&self, wrong: u64, mode: [f64; 2], here: &Evaluation, cov: [f64; 3]) -> Hypothesis {
        let [aa, ab, bb] = here.curvature;
        let linear_det = if self.eye_sd_mm > 0.0 { cov[0] * cov[2] - cov[1] * cov[1] } else { cov[0] };
        let precisions: f64 = (0..self.marks.len()).map(|i| self.precision(i, wrong).ln()).sum();
        let ln_weight = f64::from(wrong.count_ones()) * self.wrong_ln_odds
            + 0.5 * (precisions + linear_det.ln() - (aa * bb - ab * ab).ln() - here.misfit);
        Hypothesis { wrong, mode, curvature: here.curvature, misfit: here.misfit, ln_weight }
    }

    /// The posterior of a hypothesis as weighted nodes: Gauss-Hermite about the mode, each node's weight corrected
    /// from the normal law to the true one. The weights add up to the correction of Laplace's evidence. With `shrink`
    /// below 1 the nodes are
    /// drawn in towards the mode by that factor, as the centres of a mixture whose parts have the rest of the variance.
    pub(super) fn nodes(&self, hypothesis: &Hypothesis, rule: &Rule, shrink: f64) -> Vec<Node> {
        let cov = self.linear_cov(hypothesis.wrong);
        let [aa, ab, bb] = hypothesis.curvature;
        // Lower Cholesky factor of the inverse of the curvature, by rows b then a.
        let sd_b = (aa / (aa * bb - ab * ab)).sqrt();
        let (a_per_b, sd_a) = (-ab / aa, 1.0 / aa.sqrt());
        let mut nodes = Vec::with_capacity(rule.nodes.len() * rule.nodes.len());
        let reach = [[a_per_b * sd_b, sd_b], [sd_a, 0.0]];
        for (x, wx) in rule.nodes.iter().zip(&rule.weights) {
            for (y, wy) in rule.nodes.iter().zip(&rule.weights) {
                let (x, y) = (shrink * x, shrink * y);
                let b = sd_b * x;
                let at = [hypothesis.mode[0] + a_per_b * b + sd_a * y, hypothesis.mode[1] + b];
                let there = self.evaluate(at, hypothesis.wrong, cov);
                // Bounded, so that a mode on the edge of the plausible cannot overflow.
                let ln = -0.5 * (there.misfit - hypothesis.misfit) + 0.5 * (x * x + y * y);
                let correction = ln.clamp(-60.0, 60.0).exp();
                nodes.push(Node { weight: wx * wy * correction, at, linear: there.linear, reach });
            }
        }
        nodes
    }

    /// The hypotheses worth keeping, by a beam over the number of wrong marks.
    pub(super) fn search(&self, start: [f64; 2]) -> Result<Vec<Hypothesis>, MarksError> {
        /// Hypotheses from which the next number of wrong marks is tried.
        const BEAM: usize = 6;
        /// Share of the weight below which a hypothesis is dropped.
        const DROP: f64 = 1e-5;
        let n = self.marks.len();
        let most = if n == 2 { 1 } else { (n.saturating_sub(1) / 2).min(3) };
        // A set that does not settle is passed over, and the others stand without it: it fits nothing. It may still
        // lead on.
        let mut found: Vec<Hypothesis> = self.settle(0, start).into_iter().collect();
        let mut level = vec![(0, found.first().map_or(start, |h| h.mode))];
        for _ in 0..most {
            let mut next: Vec<Hypothesis> = Vec::new();
            for (parent, mode) in &level {
                for i in (0..n).filter(|i| parent >> i & 1 == 0) {
                    let wrong = parent | 1 << i;
                    if next.iter().all(|h| h.wrong != wrong) {
                        next.extend(self.settle(wrong, *mode).ok());
                    }
                }
            }
            next.sort_by(|a, b| b.ln_weight.total_cmp(&a.ln_weight));
            level = next.iter().take(BEAM).map(|h| (h.wrong, h.mode)).collect();
            found.extend(next);
        }
        if found.is_empty() {
            return Err(MarksError::NotSettled { iterations: SETTLE_MAX });
        }
        let best = found.iter().map(|h| h.ln_weight).fold(f64::NEG_INFINITY, f64::max);
        found.retain(|h| h.ln_weight > best + DROP.ln());
        found.sort_by(|a, b| b.ln_weight.total_cmp(&a.ln_weight));
        found.truncate(16);
        Ok(found)
    }
}
