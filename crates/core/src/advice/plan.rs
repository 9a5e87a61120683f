//! When to touch: the expected points of touching now against waiting.
//!
//! A setting made at some shot leaves the centre off by what was not known then. Call `v_i` the variance of the centre
//! (an axis) before shot `i`, which falls as shots are learnt from and grows between ends; the shots of an end share an offset
//! of the variance `e`, so that one end, however long, never tells more of the centre than that. A setting made before shot
//! `i` costs at shot `j`
//!
//! ```text
//! loss(i, j) = F(0, s) - F(0, sqrt(s^2 + v_i + setting^2 + q^2 b(i, j)))      s^2 = sigma^2 + e
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
//! `F(0, s) - F(|m|, sqrt(s^2 + v_now + ...))` a shot; waiting for `k` shots costs that `k` times, then `W`.

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
    /// Variance of the offset that the shots of an end share, an axis, in mm^2.
    pub end_variance: f64,
    /// Share of a shot's information that its class leaves on average.
    pub information: f64,
    /// Variance that a touch adds, an axis, in mm^2.
    pub setting_variance: f64,
    /// Variance by which the centre wanders between ends, an axis, in mm^2.
    pub drift_variance: f64,
    /// Shots still to come, in order: whether each counts, and whether an end finishes with it.
    pub ahead: &'a [ShotAhead],
    /// What a touch costs, in points.
    pub touch_cost: f64,
}

/// One shot still to come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ShotAhead {
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
    /// When the sight is touched now: after how many shots a further touch is planned.
    pub again: Option<usize>,
}

/// In the middle of an end a touch must gain so much of its cost over waiting for the end: it is soon over, and a sight is set
/// between ends (common practice, no source).
pub(crate) const MID_END_SHARE: f64 = 0.5;

impl Plan {
    /// Whether to touch now: that must gain more than waiting, and in the middle of an end, `until_end` shots before it is over,
    /// clearly more than waiting for its end (0: no end is under way). Waiting wins ties.
    #[must_use]
    pub fn is_now(&self, touch_cost: f64, until_end: usize) -> bool {
        let at_end = until_end.checked_sub(1).map(|k| self.wait.get(k).copied().unwrap_or(self.never));
        self.gain_over_waiting() > 0.0 && at_end.is_none_or(|points| self.now - points > MID_END_SHARE * touch_cost)
    }

    /// The best that can be done without touching now: how many shots to wait for (`None`: never touch) and its points.
    #[must_use]
    pub fn best_later(&self) -> (Option<usize>, f64) {
        let mut best = (None, self.never);
        for (k, points) in self.wait.iter().enumerate() {
            if *points > best.1 {
                best = (Some(k + 1), *points);
            }
        }
        best
    }

    /// What touching now gains over the best of waiting and never touching, in points.
    #[must_use]
    pub fn gain_over_waiting(&self) -> f64 {
        self.now - self.best_later().1
    }
}

/// Weighs touching now against waiting.
#[must_use]
pub fn plan(scorer: &Scorer, o: &Outlook<'_>) -> Plan {
    let n = o.ahead.len();
    // A shot to come is off by its own spread and by the offset of its end.
    let sigma2 = o.spread_variance + o.end_variance;
    let perfect = scorer.isotropic(0.0, sigma2.sqrt());
    // Variance of the centre before each shot, and ends behind us.
    let mut variance = Vec::with_capacity(n + 1);
    let mut ends = Vec::with_capacity(n + 1);
    let (mut known, mut e) = (Known::new(o), 0_usize);
    for shot in o.ahead {
        variance.push(known.centre);
        ends.push(e);
        known.shot(o, shot.ends);
        e += usize::from(shot.ends);
    }
    let after = |v: f64| perfect - scorer.isotropic(0.0, (sigma2 + v).sqrt());

    // least[i]: the least that the shots from i on can cost when a touch is made before i.
    let mut least = vec![0.0; n + 1];
    let mut again = None;
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
            if sum + least[j + 1] < best {
                best = sum + least[j + 1];
                again = (j + 1 < n).then_some(j + 1 - i);
            }
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
    Plan { now: total - if n > 0 { least[0] } else { 0.0 }, wait, never: total - standing, again }
}

/// Four times in five the squared distance of a centre known to a variance `v` an axis is below this many `v`: the quantile of
/// chi-squared with two degrees of freedom, `-2 ln(1 - 0.8)`.
const FOUR_IN_FIVE: f64 = 3.218_875_824_868_201;

/// After how many more shots the centre will be known so well that, four times in five, no further touch would gain more than
/// it costs over the shots then left; at most 144.
#[must_use]
pub fn settled_after(scorer: &Scorer, o: &Outlook<'_>) -> u32 {
    let sigma = (o.spread_variance + o.end_variance).sqrt();
    let perfect = scorer.isotropic(0.0, sigma);
    let mut left = o.ahead.iter().filter(|s| s.counts).count() as f64;
    let mut known = Known::new(o);
    let open = |v: f64, left: f64| left * (perfect - scorer.isotropic((FOUR_IN_FIVE * v).sqrt(), sigma)) > o.touch_cost;
    let mut k = 0;
    for shot in o.ahead.iter().take(144) {
        if !open(known.centre, left) {
            break;
        }
        known.shot(o, shot.ends);
        left -= f64::from(u8::from(shot.counts));
        k += 1;
    }
    k
}

/// Variances of the centre and of the present end's offset, as shots are learnt from.
pub(crate) struct Known {
    pub(crate) centre: f64,
    both: f64,
    end: f64,
}

impl Known {
    pub(crate) fn new(o: &Outlook<'_>) -> Self {
        Self { centre: o.centre_variance, both: 0.0, end: o.end_variance }
    }

    pub(crate) fn shot(&mut self, o: &Outlook<'_>, ends: bool) {
        let noise = o.spread_variance / o.information.max(1e-6);
        let (of_centre, of_end) = (self.centre + self.both, self.both + self.end);
        let total = of_centre + of_end + noise;
        self.centre -= of_centre * of_centre / total;
        self.both -= of_centre * of_end / total;
        self.end -= of_end * of_end / total;
        if ends {
            self.centre += o.drift_variance;
            (self.end, self.both) = (o.end_variance, 0.0);
        }
    }
}
