//! Every hypothesis on up to [`EXACT_SHOTS`](super::EXACT_SHOTS) shots, one after another.

use super::axis::Axis;
use super::evidence::log_constant;
use super::predictive::{Component, Row};
use super::prior::Base;
use super::tally::Tally;
use super::{ClassShape, GROUP_SIZE, Pattern, Points, Reading};
use crate::plane::{Point, Sym2};
use crate::shot::Felt;

/// Hypotheses lighter than this against the heaviest are left out of the sums: at most 350 000 of them, far below 1e-9.
const NEGLIGIBLE_LOG: f64 = -39.0;

/// Hypotheses lighter than this against the heaviest enter the predictive mixture with their scales of the spread as one.
const SLIGHT_LOG: f64 = -7.0;

/// What is known under one trust, whatever the scale of the spread: both axes, the squares of what the shots were off and
/// half the log determinant of what was expected of them.
#[derive(Clone, Copy)]
struct State {
    axes: [Axis; 2],
    off: Sym2,
    /// The product of all expected variances.
    expected: f64,
}

/// The walk over the classes of one pattern with its rows fixed.
struct Walk<'a> {
    points: &'a Points<'a>,
    bases: &'a [Base],
    pattern: Pattern,
    shapes: [ClassShape; 3],
    log_classes: Vec<[f64; 3]>,
    rows: Vec<f64>,
    cap: usize,
    /// `split`: bit `i` set when shot `i` is in the other group than shot 0. `jumped`: the first shot after the jump.
    tag: u16,
    log_prior: f64,
    nu: [f64; 2],
    /// For each base and scale: log weight and half `nu0` times the log determinant of the scale.
    log_start: Vec<Vec<f64>>,
    /// Shots not marked bad.
    good: u16,
}

/// Sums over everything that was visited, relative to `top`.
struct Sums {
    top: f64,
    tally: Tally,
    p_class: Vec<[f64; 3]>,
    mass: [f64; 4],
    other_group: Vec<f64>,
    jump_before: Vec<f64>,
}

impl Sums {
    /// Makes `log_weight` fit: sums are kept relative to a weight that the heaviest does not exceed by much.
    fn raise(&mut self, log_weight: f64) {
        let k = (self.top - log_weight).exp();
        self.tally.rescale(k);
        let lists = [&mut self.mass[..], &mut self.other_group, &mut self.jump_before];
        lists.into_iter().flatten().for_each(|x| *x *= k);
        self.p_class.iter_mut().flatten().for_each(|x| *x *= k);
        self.top = log_weight;
    }
}

impl Walk<'_> {
    /// `states` holds those after `i` shots at `i * bases`.
    fn descend(&self, i: usize, states: &mut [State], log_prior: f64, classes: u32, strayed: usize, sums: &mut Sums) {
        let n = self.points.places.len();
        let count = self.bases.len();
        let (here, later) = states.split_at_mut(count);
        if i == n {
            self.leaf(here, log_prior, classes, sums);
            return;
        }
        let (z, before) = (self.points.places[i], &self.points.before[i]);
        if before.new_end || before.loosened > 0.0 {
            // Shots before this one are the same for all classes, so the present states may change.
            let kept: Vec<State> = here.to_vec();
            for state in here.iter_mut() {
                for (c, axis) in state.axes.iter_mut().enumerate() {
                    if before.new_end {
                        axis.new_end(self.points.end[c]);
                    }
                    axis.loosen(before.loosened);
                }
            }
            self.classes(i, here, later, z, log_prior, classes, strayed, sums);
            here.copy_from_slice(&kept);
        } else {
            self.classes(i, here, later, z, log_prior, classes, strayed, sums);
        }
    }

    #[allow(clippy::too_many_arguments)]
    fn classes(
        &self,
        i: usize,
        here: &[State],
        later: &mut [State],
        z: Point,
        log_prior: f64,
        classes: u32,
        strayed: usize,
        sums: &mut Sums,
    ) {
        for (class, log_class) in self.log_classes[i].into_iter().enumerate() {
            let strayed = strayed + usize::from(class > 0);
            if strayed > self.cap || log_class == f64::NEG_INFINITY {
                continue;
            }
            let shape = &self.shapes[class];
            let z = z - shape.mean_mm;
            for (from, to) in here.iter().zip(later.iter_mut()) {
                *to = *from;
                let x = to.axes[0].take(z.x_mm, self.rows[i], shape.factors[0]);
                let y = to.axes[1].take(z.y_mm, self.rows[i], shape.factors[1]);
                let v = x.v * y.v;
                to.off = to.off + Sym2::new(x.d * x.d / x.v, x.d * y.d / v.sqrt(), y.d * y.d / y.v);
                to.expected *= v;
            }
            self.descend(i + 1, later, log_prior + log_class, classes | (class as u32) << (2 * i), strayed, sums);
        }
    }

    fn leaf(&self, states: &[State], log_prior: f64, classes: u32, sums: &mut Sums) {
        let mut weights = [0.0; 8];
        let mut leaf_weight = 0.0;
        let [_, nu] = self.nu;
        for ((state, base), start) in states.iter().zip(self.bases).zip(&self.log_start) {
            let common = log_prior - 0.5 * state.expected.ln();
            let mut weight = 0.0;
            let mut psi_sum = Sym2::default();
            let mut any = false;
            for (k, (log_start, (_, psi0))) in start.iter().zip(&base.scales[..base.count]).enumerate() {
                let psi = *psi0 + state.off;
                let log_weight = common + log_start - 0.5 * nu * psi.det().ln();
                weights[k] = 0.0;
                if log_weight - sums.top < NEGLIGIBLE_LOG {
                    continue;
                }
                if log_weight > sums.top + 30.0 {
                    let before = sums.top;
                    sums.raise(log_weight);
                    let k = (before - log_weight).exp();
                    weights.iter_mut().for_each(|w| *w *= k);
                    weight *= k;
                    leaf_weight *= k;
                    psi_sum = psi_sum * k;
                }
                let w = (log_weight - sums.top).exp();
                weights[k] = w;
                weight += w;
                psi_sum = psi_sum + psi * w;
                any = true;
            }
            if !any {
                continue;
            }
            leaf_weight += weight;
            let rows = self.next_rows(&state.axes);
            sums.tally.add(weight, psi_sum, &rows);
            if weight > sums.tally.most * SLIGHT_LOG.exp() {
                for (w, (_, psi0)) in weights.iter().zip(&base.scales[..base.count]) {
                    sums.tally.part(Component { weight: *w, psi: *psi0 + state.off, rows });
                }
            } else {
                sums.tally.part(Component { weight, psi: psi_sum * (1.0 / weight), rows });
            }
        }
        if leaf_weight <= 0.0 {
            return;
        }
        for (i, p) in sums.p_class.iter_mut().enumerate() {
            p[(classes >> (2 * i) & 3) as usize] += leaf_weight;
        }
        sums.mass[self.pattern as usize] += leaf_weight;
        match self.pattern {
            Pattern::Split => {
                for (i, p) in sums.other_group.iter_mut().enumerate() {
                    *p += f64::from(self.tag >> i & 1) * leaf_weight;
                }
            }
            Pattern::Jumped => sums.jump_before[self.tag as usize] += leaf_weight,
            Pattern::Steady | Pattern::Drifting => {}
        }
    }

    fn next_rows(&self, axes: &[Axis; 2]) -> [Row; 2] {
        let n = self.points.places.len();
        let (first, second) = ((!self.tag & self.good).count_ones(), (self.tag & self.good).count_ones());
        rows(self.pattern, n, f64::from(first), f64::from(second), axes)
    }
}

/// Evenly spaced from -1/2 to 1/2 in shot order.
pub(super) fn drift_row(i: usize, n: usize) -> f64 {
    i as f64 / (n as f64 - 1.0) - 0.5
}

/// Log prior of one unordered partition of `n` shots into groups of `m` and `n - m`:
/// `2 m! (n - m)! / (n! (n - 3))`, the Beta(1,1)-binomial renormalised over partitions into two groups of two and more.
fn log_partition(m: usize, n: usize) -> f64 {
    let ln_factorial = |k: usize| (2..=k).map(|j| (j as f64).ln()).sum::<f64>();
    std::f64::consts::LN_2 + ln_factorial(m) + ln_factorial(n - m) - ln_factorial(n) - ((n - 3) as f64).ln()
}

/// The rows that the next shot may have, with their probabilities: `(probability, u)`.
///
/// `first` and `second` count the shots of the two groups that were not marked bad; only `split` looks at them.
fn next_rows(pattern: Pattern, n: usize, first: f64, second: f64) -> [(f64, f64); 2] {
    match pattern {
        Pattern::Steady => [(1.0, 0.0), (0.0, 0.0)],
        Pattern::Split => {
            let total = first + second + 2.0;
            [((first + 1.0) / total, 0.5), ((second + 1.0) / total, -0.5)]
        }
        Pattern::Drifting => [(1.0, 0.5 + 1.0 / (n as f64 - 1.0)), (0.0, 0.0)],
        Pattern::Jumped => [(1.0, 0.5), (0.0, 0.0)],
    }
}

/// The processes of the shots to come under one hypothesis.
pub(super) fn rows(pattern: Pattern, n: usize, first: f64, second: f64, axes: &[Axis; 2]) -> [Row; 2] {
    next_rows(pattern, n, first, second).map(|(share, u)| {
        if share > 0.0 {
            let [(x, lean_x), (y, lean_y)] = [axes[0].row(u), axes[1].row(u)];
            Row { share, mean: Point::new(x, y), lean: [lean_x, lean_y] }
        } else {
            Row::default()
        }
    })
}

/// Walks every hypothesis of one pattern.
fn visit(points: &Points<'_>, bases: &[Base], pattern: Pattern, log_odds: f64, most_strayed: usize, sums: &mut Sums) {
    let n = points.places.len();
    let nu = [points.prior.nu(), points.prior.nu() + n as f64];
    let second = 1.0 / pattern.second_precision();
    let mut states: Vec<State> = Vec::with_capacity((n + 1) * bases.len());
    for _ in 0..=n {
        states.extend(bases.iter().map(|b| State {
            axes: [0, 1].map(|c| Axis::new(0.0, b.lean[c], second, points.end[c])),
            off: Sym2::default(),
            expected: 1.0,
        }));
    }
    let start = |b: &Base| b.scales[..b.count].iter().map(|(w, psi)| w + 0.5 * nu[0] * psi.det().ln()).collect();
    let mut walk = Walk {
        points,
        bases,
        pattern,
        shapes: points.unmarked.shapes(),
        log_classes: (0..n).map(|i| points.log_classes(i, pattern)).collect(),
        rows: vec![0.0; n],
        cap: pattern.cap(n).min(most_strayed),
        tag: 0,
        log_prior: log_odds,
        nu,
        log_start: bases.iter().map(start).collect(),
        good: (0..n).filter(|&i| points.felt[i] != Felt::Bad).fold(0, |mask, i| mask | 1 << i),
    };
    let mut go = |walk: &Walk<'_>| walk.descend(0, &mut states, walk.log_prior, 0, 0, sums);
    match pattern {
        Pattern::Steady => go(&walk),
        Pattern::Split => {
            // Shot 0 is always in the first group, so that each unordered partition comes once.
            for others in 1..1_u16 << (n - 1) {
                walk.tag = others << 1;
                let second = walk.tag.count_ones() as usize;
                if second < GROUP_SIZE || n - second < GROUP_SIZE {
                    continue;
                }
                walk.log_prior = log_odds + log_partition(second, n);
                for i in 0..n {
                    walk.rows[i] = if walk.tag >> i & 1 == 1 { -0.5 } else { 0.5 };
                }
                go(&walk);
            }
        }
        Pattern::Drifting => {
            for i in 0..n {
                walk.rows[i] = drift_row(i, n);
            }
            go(&walk);
        }
        Pattern::Jumped => {
            let places = super::jump_places(n);
            walk.log_prior = log_odds - (places.clone().count() as f64).ln();
            for c in places {
                walk.tag = c as u16;
                for i in 0..n {
                    walk.rows[i] = if i < c { -0.5 } else { 0.5 };
                }
                go(&walk);
            }
        }
    }
}

/// `most_strayed` caps how many shots may have strayed, where the pattern has no narrower cap.
pub(super) fn read(points: &Points<'_>, most_strayed: usize) -> Reading {
    let n = points.places.len();
    let log_odds = points.prior.patterns().log(n);
    let bases = points.prior.bases();
    let mut sums = Sums {
        top: -1e300,
        tally: Tally::new(n, points.prior.nu() + n as f64, points.end),
        p_class: vec![[0.0; 3]; n],
        mass: [0.0; 4],
        other_group: vec![0.0; n],
        jump_before: vec![0.0; n],
    };
    for pattern in Pattern::ALL.into_iter().filter(|p| n >= p.allowed_from()) {
        visit(points, &bases, pattern, log_odds[pattern as usize], most_strayed, &mut sums);
    }
    let total: f64 = sums.mass.iter().sum();
    let mut reading = sums.tally.into_reading(points, total);
    let share = |list: Vec<f64>, by: f64| {
        if by > 0.0 { list.into_iter().map(|x| x / by).collect() } else { Vec::new() }
    };
    reading.p_class = sums.p_class.iter().map(|p| p.map(|x| x / total)).collect();
    for pattern in Pattern::ALL {
        let i = pattern as usize;
        if sums.mass[i] > 0.0 {
            reading.pattern[i] = sums.mass[i] / total;
            reading.log_evidence[i] = sums.mass[i].ln() + sums.top - log_odds[i] + log_constant(points.prior.nu(), n);
        }
    }
    reading.other_group = share(sums.other_group, sums.mass[Pattern::Split as usize]);
    reading.jump_before = share(sums.jump_before, sums.mass[Pattern::Jumped as usize]);
    reading
}
