//! How often an archer's groups are two, or have moved once.
//!
//! Every earlier session is weighed as a whole under each pattern, by its clean shots in windage and elevation, `u` in units of the spread
//! within an end. With `P` the weight of the shots, all under a prior of the group model's own widths:
//!
//! ```text
//! steady     u ~ N(end, v)
//! split      u ~ N(end - d/2, v) or N(end + d/2, v), each as likely        d ~ N(0, 25 v I)   (Laplace's method at the best d and v)
//! drifting   end j of m: N(g (j/(m-1) - 1/2), shared + v / n)                g ~ N(0, 9)        (exact)
//! jumped     end j of m: N(h [j >= b], shared + v / n)                       h ~ N(0, 25), b as likely everywhere   (exact)
//! ```
//!
//! The shares of the patterns are the mode under a Dirichlet about the usual odds (expectation and maximisation over sessions, each with its weight). The numbers
//! are argued, no source.

use crate::group::PatternOdds;
use crate::stats::log_sum;

/// What the usual odds are worth, in sessions.
const WORTH: f64 = 20.0;
/// Fewer clean shots tell nothing.
const FEWEST: f64 = 10.0;
/// Prior variances of how far two groups are apart and of a jump, and of a drift from first end to last, in units of the spread's.
const APART: f64 = 25.0;
const DRIFT: f64 = 9.0;
/// A pattern's parts have at least so many shots.
const SIDE: f64 = 3.0;
/// Steps of the search for two groups, and of the shares.
const STEPS: usize = 30;
/// Shares that are told lie between these.
const BOUNDS: [[f64; 2]; 2] = [[0.02, 0.35], [0.008, 0.3]];

/// A clean shot: where it was from its own end, in units of the session's spread on each axis, and with what probability it is clean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Clean {
    pub u: [f64; 2],
    pub weight: f64,
    pub stretch: usize,
}

/// How often groups are two or have moved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Patterns {
    /// Sessions that tell.
    pub sessions: usize,
    /// How many of them are thought to have been two groups.
    pub splits: f64,
    /// How many are thought to have moved once.
    pub jumps: f64,
    /// The odds that are told.
    pub odds: PatternOdds,
}

impl Patterns {
    /// What is assumed of an archer without history.
    pub const USUAL: Self = Self { sessions: 0, splits: 0.0, jumps: 0.0, odds: PatternOdds::USUAL };
}

/// The logarithm of what each pattern makes of a session, over what steady makes of it; nothing where it does not tell.
pub(super) fn weigh(shots: &[Clean], stretches: usize, shared: [f64; 2]) -> Option<[f64; 4]> {
    let ends = Ends::of(shots, stretches)?;
    Some([0.0, split(shots, &ends), ends.drifting(shared), ends.jumped(shared)])
}

/// The shares of the patterns by what [`weigh`] made of each session, with its weight.
pub(super) fn learn(sessions: &[([f64; 4], f64)]) -> Patterns {
    if sessions.is_empty() {
        return Patterns::USUAL;
    }
    let usual = PatternOdds::USUAL.get();
    let (mut share, mut expected) = (usual, [0.0; 4]);
    for _ in 0..STEPS {
        let mut sum = usual.map(|p| WORTH * p);
        expected = [0.0; 4];
        for (log, weight) in sessions {
            let top = log.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let each = [0, 1, 2, 3].map(|i| share[i] * (log[i] - top).exp());
            let total: f64 = each.iter().sum();
            for i in 0..4 {
                sum[i] += weight * each[i] / total;
                expected[i] += each[i] / total;
            }
        }
        let total: f64 = sum.iter().sum();
        share = sum.map(|s| s / total);
    }
    let [splits, jumps] = [(1, BOUNDS[0]), (3, BOUNDS[1])].map(|(i, [least, most])| share[i].clamp(least, most));
    Patterns {
        sessions: sessions.len(),
        splits: expected[1],
        jumps: expected[3],
        odds: PatternOdds::new(splits, jumps).unwrap_or(PatternOdds::USUAL),
    }
}

/// The ends of a session that have shots: weight and mean of each, and the variance of a shot about its own end's mean.
struct Ends {
    ends: Vec<(f64, [f64; 2])>,
    /// The place in `ends` of each stretch that tells.
    at: Vec<Option<usize>>,
    variance: f64,
    weight: f64,
}

impl Ends {
    fn of(shots: &[Clean], stretches: usize) -> Option<Self> {
        let mut sums = vec![(0.0, [0.0; 2]); stretches];
        for s in shots {
            let (weight, sum) = &mut sums[s.stretch];
            *weight += s.weight;
            (0..2).for_each(|c| sum[c] += s.weight * s.u[c]);
        }
        let (mut ends, mut at) = (Vec::<(f64, [f64; 2])>::with_capacity(stretches), vec![None; stretches]);
        for (stretch, (weight, sum)) in sums.into_iter().enumerate() {
            if weight > 0.5 {
                at[stretch] = Some(ends.len());
                ends.push((weight, sum.map(|x| x / weight)));
            }
        }
        let (mut squares, mut weight) = (0.0, 0.0);
        for s in shots {
            let Some(mean) = at[s.stretch].map(|j| ends[j].1) else { continue };
            squares += s.weight * (0..2).map(|c| (s.u[c] - mean[c]).powi(2)).sum::<f64>();
            weight += s.weight;
        }
        let free = weight - ends.len() as f64;
        let variance = squares / (2.0 * free);
        (weight >= FEWEST && free >= 0.5 * FEWEST && variance > 1e-9).then_some(Self { ends, at, variance, weight })
    }

    /// Precision of each end's mean along an axis, in units of the variance of a shot.
    fn precisions(&self, shared: f64) -> Vec<f64> {
        self.ends.iter().map(|(n, _)| 1.0 / (shared + 1.0 / n)).collect()
    }

    fn drifting(&self, shared: [f64; 2]) -> f64 {
        let last = self.ends.len() - 1;
        if last == 0 {
            return 0.0;
        }
        let x = |j: usize| j as f64 / last as f64 - 0.5;
        let one = |c: usize| {
            let w = self.precisions(shared[c]);
            let total: f64 = w.iter().sum();
            let middle = w.iter().enumerate().map(|(j, w)| w * x(j)).sum::<f64>() / total;
            let (mut a, mut b) = (0.0, 0.0);
            for (j, (w, (_, mean))) in w.iter().zip(&self.ends).enumerate() {
                a += w * (x(j) - middle).powi(2);
                b += w * (x(j) - middle) * mean[c] / self.variance.sqrt();
            }
            coefficient(a, b, DRIFT)
        };
        one(0) + one(1)
    }

    fn jumped(&self, shared: [f64; 2]) -> f64 {
        let w = shared.map(|s| self.precisions(s));
        let mut logs = Vec::with_capacity(self.ends.len());
        let mut before = 0.0;
        for b in 1..self.ends.len() {
            before += self.ends[b - 1].0;
            if before < SIDE || self.weight - before < SIDE {
                continue;
            }
            let one = |c: usize| {
                let sums = |ends: std::ops::Range<usize>| {
                    ends.fold((0.0, 0.0), |(n, s), j| (n + w[c][j], s + w[c][j] * self.ends[j].1[c]))
                };
                let ((m, s), (n, t)) = (sums(0..b), sums(b..self.ends.len()));
                let a = m * n / (m + n);
                coefficient(a, a * (t / n - s / m) / self.variance.sqrt(), APART)
            };
            logs.push(one(0) + one(1));
        }
        if logs.is_empty() { 0.0 } else { log_sum(logs.iter().copied()) - (logs.len() as f64).ln() }
    }
}

/// The logarithm of what a coefficient with that prior variance adds, where `a` is what the data tell of it (a precision), and `b / a` its
/// best value.
fn coefficient(a: f64, b: f64, prior: f64) -> f64 {
    0.5 * (b * b / (a + 1.0 / prior) - (1.0 + prior * a).ln())
}

fn dot(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

/// `ln cosh`, also of large numbers.
fn ln_cosh(x: f64) -> f64 {
    let x = x.abs();
    x + (-2.0 * x).exp().ln_1p() - std::f64::consts::LN_2
}

/// Two groups about each end's middle, against one.
fn split(shots: &[Clean], ends: &Ends) -> f64 {
    let told: Vec<([f64; 2], f64)> = shots
        .iter()
        .filter_map(|s| {
            let mean = ends.ends[ends.at[s.stretch]?].1;
            Some(([s.u[0] - mean[0], s.u[1] - mean[1]], s.weight))
        })
        .collect();
    // Both have lost as many degrees of freedom to the ends.
    let share = (ends.weight - ends.ends.len() as f64) / ends.weight;
    let p = ends.weight;
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for (u, w) in &told {
        xx += w * u[0] * u[0] / p;
        xy += w * u[0] * u[1] / p;
        yy += w * u[1] * u[1] / p;
    }
    let one = 0.5 * (xx + yy);
    let turn = 0.5 * (2.0 * xy).atan2(xx - yy);
    let gap = (0.25 * (xx - yy).powi(2) + xy * xy).sqrt();
    let far = 2.0 * (2.0 * gap).max(0.3 * one).sqrt();
    let mut d = [far * turn.cos(), far * turn.sin()];
    let mut v = (one - gap).max(0.1 * one);
    for _ in 0..STEPS {
        let (mut sum, mut squares) = ([0.0; 2], 0.0);
        for (u, w) in &told {
            let t = w * (dot(*u, d) / (2.0 * v)).tanh();
            sum = [sum[0] + t * u[0], sum[1] + t * u[1]];
            squares += w * dot(*u, *u);
        }
        d = sum.map(|s| 2.0 * s / (p + 4.0 / APART));
        v = ((squares - dot(sum, d) + 0.25 * p * dot(d, d)) / (2.0 * p)).max(0.02 * one);
    }
    let mut log = 0.0;
    let (mut left, mut right) = (0.0, 0.0);
    for (u, w) in &told {
        let x = dot(*u, d) / (2.0 * v);
        log += w * (ln_cosh(x) - dot(*u, *u) / (2.0 * v) - dot(d, d) / (8.0 * v));
        let t = x.tanh();
        right += 0.5 * w * (1.0 + t);
        left += 0.5 * w * (1.0 - t);
    }
    if left.min(right) < SIDE {
        return f64::NEG_INFINITY;
    }
    let fits = log - p * v.ln() + p * (1.0 + one.ln());
    // The two sides can be named either way.
    share * fits + std::f64::consts::LN_2 - (0.25 * APART * p).ln() - dot(d, d) / (2.0 * APART * v)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::Random;

    /// A session of `ends` ends of six, `apart` spreads between two groups that take turns at random, moved by `jump` spreads half way.
    fn session(random: &mut Random, ends: usize, apart: f64, jump: f64, wind: f64) -> Vec<Clean> {
        let mut shots = Vec::new();
        for stretch in 0..ends {
            let (a, b) = random.normal_pair();
            let moved = if 2 * stretch >= ends { jump } else { 0.0 };
            for _ in 0..6 {
                let (x, y) = random.normal_pair();
                let side = if random.uniform() < 0.5 { 0.5 * apart } else { -0.5 * apart };
                let u = [wind * a + x + 0.8 * side + moved, 0.2 * b + y + 0.6 * side];
                shots.push(Clean { u, weight: 1.0, stretch });
            }
        }
        shots
    }

    fn learnt(random: &mut Random, count: usize, often: f64, apart: f64, jump: f64) -> Patterns {
        let shared = [0.25, 0.04];
        let mut weigh_one = || {
            let is = random.uniform() < often;
            let of = |x: f64| if is { x } else { 0.0 };
            let shots = session(random, 6, of(apart), of(jump), 0.5);
            (weigh(&shots, 6, shared).unwrap(), 1.0)
        };
        let all: Vec<([f64; 4], f64)> = (0..count).map(|_| weigh_one()).collect();
        learn(&all)
    }

    #[test]
    fn who_splits_or_jumps_often_is_told_so_and_who_does_not_is_not() {
        let mut random = Random::seeded(31);
        let often = learnt(&mut random, 30, 0.5, 5.0, 0.0);
        let [steady, splits, _, jumps] = often.odds.get();
        assert!(splits > 0.25 && jumps < 0.04 && steady > 0.4, "{often:?}");
        let often = learnt(&mut random, 30, 0.5, 0.0, 4.0);
        let [_, splits, _, jumps] = often.odds.get();
        assert!(jumps > 0.2 && splits < 0.08, "{often:?}");
        for _ in 0..10 {
            let never = learnt(&mut random, 30, 0.0, 0.0, 0.0);
            let [_, splits, _, jumps] = never.odds.get();
            assert!(splits < 0.06 && jumps < 0.03, "{never:?}");
            assert!(never.splits < 2.0 && never.jumps < 2.0, "{never:?}");
        }
    }

    #[test]
    fn nothing_shot_is_what_archers_have_in_common() {
        assert_eq!(learn(&[]).odds, PatternOdds::USUAL);
        assert_eq!(Patterns::USUAL, learn(&[]));
        let few = [Clean { u: [0.0; 2], weight: 1.0, stretch: 0 }; 6];
        assert_eq!(weigh(&few, 1, [0.04; 2]), None);
    }

    /// What a coefficient adds is the ratio of two normal densities.
    #[test]
    fn a_coefficient_is_weighed_by_its_densities() {
        let (a, x) = (7.0, 1.3);
        let density = |v: f64| -0.5 * (x * x / v + v.ln());
        let want = density(1.0 / a + DRIFT) - density(1.0 / a);
        assert!((coefficient(a, a * x, DRIFT) - want).abs() < 1e-12);
    }
}
