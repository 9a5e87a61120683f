//! When to touch: the expected points of touching now against waiting.
//!
//! A setting made at some shot leaves the centre off by what was not known then. Call `v_i` the variance of the centre
//! (an axis) before shot `i`, which falls as shots are learnt from and grows between ends. A setting made before shot `i`
//! costs at shot `j`
//!
//! ```text
//! loss(i, j) = F(0, sigma) - F(0, sqrt(sigma^2 + v_i + setting^2 + q^2 b(i, j)))
//! ```
//!
//! points, with `F(d, s)` the expected score of a round normal at distance `d`, `q^2` the drift variance of an end and
//! `b(i, j)` the ends between. With a cost `c` a touch, the least that shots `i..` can cost when a touch is made before shot
//! `i` is
//!
//! ```text
//! W(i) = c + min over k > i of  sum of loss(i, j) for j in i..k,  + W(k)      (or no further touch: k = end)
//! ```
//!
//! a shortest path from the last shot backwards. The present setting, off by `m` on top of what is not known, costs
//! `F(0, sigma) - F(|m|, sqrt(sigma^2 + v_now + ...))` a shot; waiting for `k` shots costs that `k` times, then `W`.

use crate::score::Scorer;

/// What the plan needs to know.
#[derive(Debug, Clone, Copy)]
pub struct Outlook<'a> {
    /// How far the centre is from the middle, in millimetres.
    pub off_mm: f64,
    /// Variance of the centre, an axis, in mm^2.
    pub centre_variance: f64,
    /// Variance of a clean shot, an axis, in mm^2.
    pub spread_variance: f64,
    /// Share of a shot's information that its class leaves on average.
    pub information: f64,
    /// Variance that a touch adds, an axis, in mm^2.
    pub setting_variance: f64,
    /// Variance by which the centre wanders between ends, an axis, in mm^2.
    pub drift_variance: f64,
    /// Shots still to come, in order: whether each counts, and whether an end finishes with it.
    pub ahead: &'a [Ahead],
    /// What a touch costs, in points.
    pub touch_cost: f64,
}

/// One shot still to come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ahead {
    /// Whether it scores (a sighting shot does not).
    pub counts: bool,
    /// Whether an end finishes with it.
    pub ends: bool,
}

/// Expected points of what can be done.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Expected points over the shots left when touching now and going on as planned, its cost taken off.
    pub now: f64,
    /// The same when waiting for one, two, ... shots before touching.
    pub wait: Vec<f64>,
    /// Expected points when the sight is never touched again.
    pub never: f64,
}

impl Plan {
    /// The best number of shots to wait for and its expected points; `None` to wait for is never to touch.
    #[must_use]
    pub fn best(&self) -> (Option<usize>, f64) {
        let mut best = (Some(0), self.now);
        for (k, points) in self.wait.iter().enumerate() {
            if *points > best.1 {
                best = (Some(k + 1), *points);
            }
        }
        if self.never > best.1 { (None, self.never) } else { best }
    }

    /// As [`Plan::best`], but touching now when nothing else is better by more than `slack` points: between equals, what is
    /// known is used.
    #[must_use]
    pub fn best_within(&self, slack: f64) -> Option<usize> {
        let (wait, points) = self.best();
        if self.now >= points - slack { Some(0) } else { wait }
    }
}

/// Weighs touching now against waiting.
#[must_use]
pub fn plan(scorer: &Scorer, o: &Outlook<'_>) -> Plan {
    let n = o.ahead.len();
    let sigma2 = o.spread_variance;
    let perfect = scorer.isotropic(0.0, sigma2.sqrt());
    // Variance of the centre before each shot, and ends behind us.
    let mut variance = Vec::with_capacity(n + 1);
    let mut ends = Vec::with_capacity(n + 1);
    let (mut v, mut e) = (o.centre_variance, 0_usize);
    for shot in o.ahead {
        variance.push(v);
        ends.push(e);
        v = 1.0 / (1.0 / v.max(1e-9) + o.information / sigma2);
        if shot.ends {
            v += o.drift_variance;
            e += 1;
        }
    }
    let after = |v: f64| perfect - scorer.isotropic(0.0, (sigma2 + v).sqrt());

    // least[i]: the least that the shots from i on can cost when a touch is made before i.
    let mut least = vec![0.0; n + 1];
    for i in (0..n).rev() {
        let settled = variance[i] + o.setting_variance;
        let mut sum = 0.0;
        let mut best = f64::INFINITY;
        let mut of_end = (usize::MAX, 0.0);
        for j in i..n {
            if of_end.0 != ends[j] {
                of_end = (ends[j], after(settled + o.drift_variance * (ends[j] - ends[i]) as f64));
                // Without drift a setting costs the same at every shot.
            }
            if o.ahead[j].counts {
                sum += of_end.1;
            }
            best = best.min(sum + least[j + 1]);
        }
        least[i] = o.touch_cost + best;
    }

    let counted = o.ahead.iter().filter(|s| s.counts).count() as f64;
    let total = perfect * counted;
    let mut standing = 0.0;
    let mut wait = Vec::with_capacity(n);
    for j in 0..n {
        if o.ahead[j].counts {
            let wandered = o.centre_variance + o.drift_variance * ends[j] as f64;
            standing += perfect - scorer.isotropic(o.off_mm, (sigma2 + wandered).sqrt());
        }
        if j + 1 < n {
            wait.push(total - standing - least[j + 1]);
        }
    }
    Plan { now: total - if n > 0 { least[0] } else { 0.0 }, wait, never: total - standing }
}
