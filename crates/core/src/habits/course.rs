//! How the centre of a session goes: what a touch of the sight really does, how precisely the sight is set, and how the archer drifts from
//! end to end.
//!
//! Shots of one end with one setting of the sight are a *stretch*. Along each axis, in spreads, its mean is
//!
//! ```text
//! y_j = c_j - g X_j + a_e + N(0, 1 / W_j)       c_1 ~ N(0, tau^2), six times as far where the sight is not as told
//! c_j = c_(j-1) + d [another end] + N(0, drift^2) [another end] + N(0, setting^2) [the axis was touched]       a_e ~ N(0, R^2)
//! ```
//!
//! with `X` how far the touches so far should have moved the arrows, `g` what they give of that, `d` the drift from end to end and `W` the
//! weight of the stretch in clean shots. Given the setting error, `tau` and `R`, this is a linear Gaussian model with two coefficients: one
//! Kalman filter goes over the means, `X` and the number of ends alike, and its innovations are those of a regression (Harvey 1989,
//! "Forecasting, structural time series models and the Kalman filter", sections 3.4 and 3.4.2). `tau` must be learnt beside it: an archer
//! touches the sight because the group is off, and part of that is luck, so a centre that could be anywhere would take the return of luck
//! for what the touch gave. The three lie on grids, `tau` and `R` for each axis.
//!
//! Priors: with 95 % `g` is next to 1 with one half, else N(1, 0.1^2); with 5 % anything (another thread, clicks counted the other way); the setting error as told with one
//! half, else log-normal about 0.1 mm; `d` is next to nothing with one half, else N(0, 0.1^2) (all argued, no source). Setting errors well
//! below what an end leaves open are barely seen in a log: there the prior stands.

use super::SIDE_FROM;
use crate::group::{EndEffect, KNOCKED, weighed};
use crate::plane::Point;

/// Relative standard deviation of what a touch gives about what is told: of a sight that is as told, and of one that is about so.
const GIVES: [f64; 2] = [0.01, 0.1];
/// Prior probability that what is told of the click is wrong altogether, and the standard deviation then.
const ODD: (f64, f64) = (0.05, 2.0);
/// Standard deviation of the drift from end to end, in spreads: of archers who have next to none, and of the others.
const DRIFTS: [f64; 2] = [0.005, 0.1];
/// The grid of setting errors in millimetres at the pin: the smallest, the factor from one to the next, and how many.
const ERRORS: (f64, f64, usize) = (0.03, 1.6, 13);
/// Median of the setting error in millimetres where it is not as told, and the standard deviation of its logarithm.
const ERROR: (f64, f64) = (0.1, 1.0);
/// The grid of how far off the sight is at first, in spreads, and the median and the standard deviation of its logarithm.
const TAUS: [f64; 7] = [0.2, 0.35, 0.6, 1.0, 1.7, 2.9, 5.0];
const TAU: (f64, f64) = (0.7, 0.9);
/// What the shots of an end share, over what is told of it, with their prior weights.
const SHARED: [(f64, f64); 3] = [(0.5, 0.25), (1.0, 0.5), (2.0, 0.25)];
/// How often the sight is not as told.
const DOUBTED: f64 = 0.25;
/// Of so few shots a flyer cannot be told, and each weighs as a shot of any class does.
const FEW: (usize, f64) = (2, 0.4);

/// Shots of one end with one setting of the sight.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// Where they landed, each as it was shot, in millimetres.
    pub places: Vec<Point>,
    /// The end; stretches of one end stand beside each other.
    pub end: u32,
    /// Where the pin stands, right and up, from any point that is the same all through the session, in millimetres as told.
    pub pin_mm: Point,
}

/// One stretch, in spreads.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Seen {
    mean: [f64; 2],
    weight: f64,
    /// Ends before it.
    ends: f64,
    another_end: bool,
    /// How far the touches so far should have moved the arrows, to the side to which the pin was moved.
    moved: [f64; 2],
    touched: [bool; 2],
}

/// What one session says of its course.
#[derive(Debug, Clone, PartialEq)]
pub struct CourseSeen {
    /// Spreads for a millimetre at the pin.
    per_pin: f64,
    spread_mm: f64,
    stretches: Vec<Seen>,
}

impl CourseSeen {
    /// Of the stretches of a session in order; `per_pin` is how many millimetres on the face a millimetre at the pin should be. Nothing of
    /// fewer than two stretches, or where all shots of each lie in one place.
    #[must_use]
    pub fn of(stretches: &[Stretch], per_pin: f64) -> Option<Self> {
        let told: Vec<&Stretch> = stretches.iter().filter(|s| !s.places.is_empty()).collect();
        if told.len() < 2 {
            return None;
        }
        let (spread_mm, means) = weighed(&told.iter().map(|s| &s.places).collect::<Vec<_>>())?;
        if spread_mm < 1e-3 {
            return None;
        }
        let (mut ends, mut stretches) = (0.0, Vec::with_capacity(told.len()));
        for (i, (s, (mean, weight))) in told.iter().zip(means).enumerate() {
            let before = if i > 0 { told[i - 1] } else { *s };
            let another_end = before.end != s.end;
            ends += f64::from(u8::from(another_end));
            let by = s.pin_mm - before.pin_mm;
            let moved = (s.pin_mm - told[0].pin_mm) * (per_pin / spread_mm);
            let weight = if s.places.len() <= FEW.0 { FEW.1 * s.places.len() as f64 } else { weight };
            stretches.push(Seen {
                mean: [mean.x_mm / spread_mm, mean.y_mm / spread_mm],
                weight,
                ends,
                another_end,
                moved: [moved.x_mm, moved.y_mm],
                touched: [by.x_mm, by.y_mm].map(|x| x.abs() > 1e-9),
            });
        }
        Some(Self { per_pin: per_pin / spread_mm, spread_mm, stretches })
    }

    fn touches(&self, axis: usize) -> usize {
        self.stretches.iter().filter(|s| s.touched[axis]).count()
    }

    fn ends(&self) -> usize {
        self.stretches.iter().filter(|s| s.another_end).count() + 1
    }
}

/// A session to learn from.
#[derive(Debug, Clone, Copy)]
pub struct CourseTold<'a> {
    /// Its course.
    pub seen: &'a CourseSeen,
    /// 1 counts in full.
    pub weight: f64,
    /// What the shots of an end share there, as far as is known.
    pub end: EndEffect,
    /// By how much the centre wanders between ends, one standard deviation, in millimetres on the face.
    pub drift_mm: f64,
    /// Whether it was shot with the sight in question: else it tells of drift alone.
    pub same_sight: bool,
}

/// What touches give along an axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gives {
    /// How far the arrows go over what click and eye-to-pin say, where these are about right.
    pub near: f64,
    /// The same whatever is wrong; negative where clicks seem to go the other way.
    pub mean: f64,
    /// What is not known of it, one standard deviation.
    pub sd: f64,
    /// Probability that click and eye-to-pin are about right.
    pub p_near: f64,
    /// Touches that moved this axis.
    pub touches: usize,
}

impl Gives {
    /// Whether click and eye-to-pin can be believed to be about right.
    #[must_use]
    pub fn is_near(&self) -> bool {
        self.p_near >= 0.5
    }

    /// What a reading is told: nothing of a click that is wrong altogether, which is the archer's to look into.
    #[must_use]
    pub fn told(&self) -> f64 {
        if self.is_near() { self.near.clamp(0.5, 1.5) } else { 1.0 }
    }
}

/// Fewer touches than this say nothing of how the sight is set.
const FEWEST_TOUCHES: usize = 3;

/// Drift from end to end along an axis, in spreads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Mean.
    pub mean: f64,
    /// What is not known of it, one standard deviation.
    pub sd: f64,
}

impl Step {
    /// Whether it goes to one side rather than to the other, nine times in ten.
    #[must_use]
    pub fn has_side(&self) -> bool {
        self.mean.abs() > SIDE_FROM * self.sd
    }
}

/// What is known of how an archer's sessions go.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Course {
    /// What touches give, windage and elevation.
    pub gives: [Gives; 2],
    /// Error of a setting at the pin, one standard deviation an axis, in millimetres.
    pub error_mm: f64,
    /// Touches that this is from.
    pub touches: usize,
    /// Drift from end to end, right and up.
    pub step: [Step; 2],
    /// Ends that this is from.
    pub ends: usize,
}

impl Course {
    /// Whether there are touches enough to say anything of the setting.
    #[must_use]
    pub fn tells_of_setting(&self) -> bool {
        self.touches >= FEWEST_TOUCHES
    }
}

/// Sums of the regression of innovations: of both regressors and of what they explain.
#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    xx: [f64; 3],
    xy: [f64; 2],
    /// Squares of what is explained, and logarithms of variances.
    rest: f64,
}

/// Centre and offset of the end: for the means and both regressors, and their covariance (centre, both, offset).
#[derive(Debug, Clone, Copy, Default)]
struct Filter {
    at: [[f64; 2]; 3],
    cov: [f64; 3],
}

/// One way in which things may be.
#[derive(Debug, Clone, Copy)]
struct Way {
    axis: usize,
    error_mm: f64,
    tau: f64,
    shared: f64,
}

/// Adds what `told` says if things are so.
fn visit(told: &CourseTold<'_>, way: Way, sums: &mut Sums) {
    let (seen, k) = (told.seen, way.axis);
    let shared = (way.shared * [told.end.windage, told.end.elevation][k].max(0.05)).powi(2);
    let drift = (told.drift_mm / seen.spread_mm).powi(2);
    let setting = (way.error_mm * seen.per_pin).powi(2);
    let mut f = Filter::default();
    for (j, s) in seen.stretches.iter().enumerate() {
        let noise = 1.0 / s.weight;
        let told_moved = if told.same_sight { [s.mean[k], -s.moved[k]] } else { [s.mean[k] + s.moved[k], 0.0] };
        let z = [told_moved[0], told_moved[1], s.ends];
        if j == 0 {
            begin(&mut f, z[0], way.tau * way.tau, shared, noise, told.weight, sums);
            continue;
        }
        if s.another_end {
            f.at.iter_mut().for_each(|a| a[1] = 0.0);
            f.cov = [f.cov[0] + drift, 0.0, shared];
        }
        if s.touched[k] && told.same_sight {
            f.cov[0] += setting;
        }
        let variance = f.cov[0] + 2.0 * f.cov[1] + f.cov[2] + noise;
        let gain = [(f.cov[0] + f.cov[1]) / variance, (f.cov[1] + f.cov[2]) / variance];
        let mut d = [0.0; 3];
        for (d, (at, z)) in d.iter_mut().zip(f.at.iter_mut().zip(z)) {
            *d = z - at[0] - at[1];
            at.iter_mut().zip(gain).for_each(|(a, g)| *a += g * *d);
        }
        f.cov[0] -= gain[0] * gain[0] * variance;
        f.cov[1] -= gain[0] * gain[1] * variance;
        f.cov[2] -= gain[1] * gain[1] * variance;
        let w = told.weight / variance;
        sums.xx[0] += w * d[1] * d[1];
        sums.xx[1] += w * d[1] * d[2];
        sums.xx[2] += w * d[2] * d[2];
        sums.xy[0] += w * d[1] * d[0];
        sums.xy[1] += w * d[2] * d[0];
        sums.rest += w * d[0] * d[0] + told.weight * variance.ln();
    }
}

/// The first stretch, before any touch: the sight may be as told or not, and what it says of that leaves one normal again.
fn begin(f: &mut Filter, y: f64, tau2: f64, shared: f64, noise: f64, weight: f64, sums: &mut Sums) {
    let parts = [(1.0 - DOUBTED, tau2), (DOUBTED, KNOCKED * tau2)].map(|(p, v)| {
        let s = v + shared + noise;
        (p * (-0.5 * y * y / s).exp() / s.sqrt(), v, s)
    });
    let total = (parts[0].0 + parts[1].0).max(1e-300);
    sums.rest -= 2.0 * weight * total.ln();
    let mut at = [0.0; 2];
    let mut second = [0.0; 3];
    for (p, v, s) in parts {
        let p = p / total;
        let m = [v / s * y, shared / s * y];
        at.iter_mut().zip(m).for_each(|(a, m)| *a += p * m);
        second[0] += p * (v - v * v / s + m[0] * m[0]);
        second[1] += p * (-v * shared / s + m[0] * m[1]);
        second[2] += p * (shared - shared * shared / s + m[1] * m[1]);
    }
    f.at = [at, [0.0; 2], [0.0; 2]];
    f.cov = [second[0] - at[0] * at[0], second[1] - at[0] * at[1], second[2] - at[1] * at[1]];
}

/// What an axis says under one setting error: log evidence and weighted sums of what is asked for.
#[derive(Debug, Clone, Copy, Default)]
struct Axis {
    mass: f64,
    near: f64,
    near_gives: f64,
    gives: [f64; 2],
    step: [f64; 2],
}

/// The priors of the coefficients: whether the click is about right, the probability, and the standard deviations.
fn priors() -> [(bool, f64, [f64; 2]); 6] {
    let near = 0.5 * (1.0 - ODD.0);
    let gives = [(true, near, GIVES[0]), (true, near, GIVES[1]), (false, ODD.0, ODD.1)];
    let of = |i: usize| {
        let (near, p, sd) = gives[i % 3];
        (near, 0.5 * p, [sd, DRIFTS[i / 3]])
    };
    [0, 1, 2, 3, 4, 5].map(of)
}

fn solve(sums: &Sums, log: f64, top: f64, out: &mut Axis) {
    for (near, prior, sd) in priors() {
        let (evidence, mean, cov) = evidence(sums, sd);
        let p = (log + prior.ln() + evidence - top).exp();
        out.mass += p;
        out.gives[0] += p * mean[0];
        out.gives[1] += p * (cov[0] + mean[0] * mean[0]);
        out.step[0] += p * mean[1];
        out.step[1] += p * (cov[2] + mean[1] * mean[1]);
        if near {
            out.near += p;
            out.near_gives += p * mean[0];
        }
    }
}

/// Log evidence of both coefficients' priors, and their posterior mean and covariance.
fn evidence(sums: &Sums, sd: [f64; 2]) -> (f64, [f64; 2], [f64; 3]) {
    let [p, q] = sd.map(|s| s.powi(-2));
    let [a, b, c] = [sums.xx[0] + p, sums.xx[1], sums.xx[2] + q];
    let right = [sums.xy[0] + p, sums.xy[1]];
    let det = a * c - b * b;
    let mean = [(c * right[0] - b * right[1]) / det, (a * right[1] - b * right[0]) / det];
    let fit = right[0] * mean[0] + right[1] * mean[1] - p;
    (0.5 * ((p * q / det).ln() + fit - sums.rest), mean, [c / det, -b / det, a / det])
}

/// How an archer's sessions go, from earlier ones; `told_error_mm` is what the kit says of the error of a setting. Without sessions it is
/// the prior.
#[must_use]
pub fn learn_course(sessions: &[CourseTold<'_>], told_error_mm: f64) -> Course {
    let (least, factor, count) = ERRORS;
    let log_normal = |x: f64, (median, sd): (f64, f64)| (-0.5 * ((x / median).ln() / sd).powi(2)).exp();
    let mut errors: Vec<(f64, f64)> = (0..count)
        .map(|i| {
            let mm = least * factor.powi(i as i32);
            (mm, log_normal(mm, (ERROR.0.max(told_error_mm), ERROR.1)))
        })
        .collect();
    let total: f64 = errors.iter().map(|e| e.1).sum();
    errors.iter_mut().for_each(|e| e.1 *= 0.5 / total);
    errors.push((told_error_mm, 0.5));
    let same = |axis: usize| sessions.iter().filter(|s| s.same_sight).map(|s| s.seen.touches(axis)).sum::<usize>();
    let touches = [same(0), same(1)];
    if touches == [0, 0] {
        // Nothing tells of the setting.
        errors = vec![(told_error_mm, 1.0)];
    }
    // Every way for each error and axis.
    let ways = |error_mm: f64, axis: usize| -> Vec<(Sums, f64)> {
        let mut all = Vec::with_capacity(TAUS.len() * SHARED.len());
        for tau in TAUS {
            for (shared, weight) in SHARED {
                let mut sums = Sums::default();
                for told in sessions {
                    visit(told, Way { axis, error_mm, tau, shared }, &mut sums);
                }
                all.push((sums, (weight * log_normal(tau, TAU)).ln()));
            }
        }
        all
    };
    let all: Vec<[Vec<(Sums, f64)>; 2]> = errors.iter().map(|(mm, _)| [ways(*mm, 0), ways(*mm, 1)]).collect();
    let height = |axis: usize| {
        let each = all.iter().flat_map(move |w| &w[axis]);
        let best =
            |s: &Sums| priors().map(|(_, p, sd)| p.ln() + evidence(s, sd).0).into_iter().fold(f64::MIN, f64::max);
        each.map(|(s, log)| log + best(s)).fold(f64::MIN, f64::max)
    };
    let tops = [height(0), height(1)];
    let (mut mass, mut error) = (0.0, 0.0);
    let mut axes = [Axis::default(); 2];
    for ((mm, prior), ways) in errors.iter().zip(&all) {
        let own = [0, 1].map(|k| {
            let mut axis = Axis::default();
            ways[k].iter().for_each(|(sums, log)| solve(sums, *log, tops[k], &mut axis));
            axis
        });
        let p = prior * own[0].mass * own[1].mass;
        mass += p;
        error += p * mm;
        for k in 0..2 {
            let w = prior * own[1 - k].mass;
            let (into, from) = (&mut axes[k], own[k]);
            into.mass += w * from.mass;
            into.near += w * from.near;
            into.near_gives += w * from.near_gives;
            for i in 0..2 {
                into.gives[i] += w * from.gives[i];
                into.step[i] += w * from.step[i];
            }
        }
    }
    let spread = |[first, second]: [f64; 2], mass: f64| {
        let mean = first / mass;
        (mean, (second / mass - mean * mean).max(0.0).sqrt())
    };
    let gives = [0, 1].map(|k| {
        let (mean, sd) = spread(axes[k].gives, axes[k].mass);
        let near = axes[k].near_gives / axes[k].near.max(1e-300);
        Gives { near, mean, sd, p_near: axes[k].near / axes[k].mass, touches: touches[k] }
    });
    let step = axes.map(|a| {
        let (mean, sd) = spread(a.step, a.mass);
        Step { mean, sd }
    });
    Course {
        gives,
        // The mean, and not the root of the mean square, which errors that are hardly likely would make.
        error_mm: error / mass,
        touches: touches[0].max(touches[1]),
        step,
        ends: sessions.iter().map(|s| s.seen.ends()).sum(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::Random;
    use crate::stats::cholesky::Cholesky;

    /// What a session says of what a touch gives and of the drift, against the density of all its means at once: a normal whose covariance is
    /// written down entry by entry, for a sight that is as told and one that is not.
    #[test]
    fn the_filter_says_what_the_whole_covariance_says() {
        let mut random = Random::seeded(41);
        let end = EndEffect { windage: 0.4, elevation: 0.2 };
        let (drift_mm, tau, error_mm) = (9.0, 0.8, 0.25);
        for first in [0.3, -1.1, 6.0] {
            let mut pin = Point::default();
            let mut stretches = Vec::new();
            for (end, touch) in [(0, 0.0), (0, 0.7), (1, 0.0), (2, -0.4), (3, 0.0), (3, 0.3), (4, 0.0)] {
                pin = pin + Point::new(touch, 0.0);
                let place = |_| Point::new(100.0 * (first + random.normal()), 100.0 * random.normal());
                stretches.push(Stretch { places: (0..4).map(place).collect(), end, pin_mm: pin });
            }
            let seen = CourseSeen::of(&stretches, 80.0).unwrap();
            let told = CourseTold { seen: &seen, weight: 1.0, end, drift_mm, same_sight: true };
            let mut sums = Sums::default();
            visit(&told, Way { axis: 0, error_mm, tau, shared: 1.0 }, &mut sums);
            let by_filter = |g: f64, d: f64| {
                let [gg, gd, dd] = sums.xx;
                -0.5 * (sums.rest - 2.0 * (g * sums.xy[0] + d * sums.xy[1])
                    + g * g * gg
                    + 2.0 * g * d * gd
                    + d * d * dd)
            };
            let s = &seen.stretches;
            let n = s.len();
            let whole = |g: f64, d: f64| {
                let rest: Vec<f64> = s.iter().map(|s| s.mean[0] + g * s.moved[0] - d * s.ends).collect();
                let of = |tau2: f64| {
                    let mut m = vec![0.0; n * n];
                    for i in 0..n {
                        for j in 0..n {
                            let both = i.min(j);
                            let wandered = s[both].ends * (drift_mm / seen.spread_mm).powi(2);
                            let touched = s[..=both].iter().filter(|s| s.touched[0]).count() as f64;
                            let set = touched * (error_mm * seen.per_pin).powi(2);
                            let shared = if (s[i].ends - s[j].ends).abs() < 0.5 { end.windage.powi(2) } else { 0.0 };
                            let own = if i == j { 1.0 / s[i].weight } else { 0.0 };
                            m[i * n + j] = tau2 + wandered + set + shared + own;
                        }
                    }
                    let root = Cholesky::new(n, &m).unwrap();
                    let square: f64 = root.forward(&rest).iter().map(|x| x * x).sum();
                    (-0.5 * (square + root.log_det())).exp()
                };
                ((1.0 - DOUBTED) * of(tau * tau) + DOUBTED * of(KNOCKED * tau * tau)).ln()
            };
            for (g, d) in [(1.2, 0.0), (0.7, 0.1), (1.0, -0.2)] {
                let (got, want) = (by_filter(g, d) - by_filter(1.0, 0.0), whole(g, d) - whole(1.0, 0.0));
                // One normal stands for two after the first stretch.
                assert!((got - want).abs() < 0.05 + 0.03 * want.abs(), "{first} {g} {d}: {got} {want}");
            }
        }
    }
}
