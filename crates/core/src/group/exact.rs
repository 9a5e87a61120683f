//! Every hypothesis on up to [`EXACT_SHOTS`](super::EXACT_SHOTS) shots, one after another.

use super::evidence::{Conjugate, Fit, Sums};
use super::predictive::{Component, Predictive};
use super::{KAPPA, Pattern, Points, Reading, log_pattern_odds};
use crate::plane::{Point, Sym2};
use crate::shot::Felt;

/// Hypotheses lighter than this against the heaviest are left out of the sums: at most 24 840 of them, far below 1e-9.
const NEGLIGIBLE_LOG: f64 = -39.0;

/// Parts lighter than this are left out of the predictive mixture: together below 1e-4.
const NEGLIGIBLE_PART: f64 = 1e-8;

/// One hypothesis, before its weight is known relative to the others.
struct Leaf {
    log_weight: f64,
    sums: Sums,
    /// Class of shot `i` in bits `2i` and `2i + 1`.
    classes: u32,
    /// `split`: bit `i` set when shot `i` is in the other group than shot 0. `jumped`: the first shot after the jump.
    tag: u16,
}

/// The walk over the classes of one pattern with its rows fixed.
struct Walk<'a> {
    points: &'a Points<'a>,
    conjugate: Conjugate,
    log_classes: Vec<[f64; 3]>,
    rows: Vec<f64>,
    cap: usize,
    tag: u16,
    log_prior: f64,
}

impl Walk<'_> {
    fn descend(&self, i: usize, sums: &Sums, log_prior: f64, classes: u32, strayed: usize, out: &mut Vec<Leaf>) {
        let n = self.points.places.len();
        if i == n {
            let fit = self.conjugate.fit(sums);
            let log_weight = log_prior + self.conjugate.log_varying(&fit, n);
            out.push(Leaf { log_weight, sums: *sums, classes, tag: self.tag });
            return;
        }
        for (class, log_class) in self.log_classes[i].into_iter().enumerate() {
            let strayed = strayed + usize::from(class > 0);
            if strayed > self.cap || log_class == f64::NEG_INFINITY {
                continue;
            }
            let sums = sums.with(self.points.places[i], self.rows[i], 1.0 / KAPPA[class]);
            self.descend(i + 1, &sums, log_prior + log_class, classes | (class as u32) << (2 * i), strayed, out);
        }
    }
}

/// Evenly spaced from -1/2 to 1/2 in shot order.
pub(super) fn drift_row(i: usize, n: usize) -> f64 {
    i as f64 / (n as f64 - 1.0) - 0.5
}

/// Log prior of one unordered partition of `n` shots into groups of `m` and `n - m`:
/// `2 m! (n - m)! / (n! (n - 1))`, the Beta(1,1)-binomial renormalised over partitions into two non-empty groups.
fn log_partition(m: usize, n: usize) -> f64 {
    let ln_factorial = |k: usize| (2..=k).map(|j| (j as f64).ln()).sum::<f64>();
    std::f64::consts::LN_2 + ln_factorial(m) + ln_factorial(n - m) - ln_factorial(n) - ((n - 1) as f64).ln()
}

fn leaves_of(points: &Points<'_>, pattern: Pattern) -> (Conjugate, Vec<Leaf>) {
    let n = points.places.len();
    let conjugate = Conjugate::new(points.prior, pattern.second_precision());
    let mut walk = Walk {
        points,
        conjugate,
        log_classes: (0..n).map(|i| points.log_classes(i, pattern)).collect(),
        rows: vec![0.0; n],
        cap: pattern.cap(n),
        tag: 0,
        log_prior: 0.0,
    };
    let strayed = 1 + 2 * n;
    let mut out = Vec::with_capacity(match pattern {
        Pattern::Steady => 3_usize.pow(n as u32),
        Pattern::Split => strayed << (n - 1),
        Pattern::Drifting => strayed,
        Pattern::Jumped => strayed * n,
    });
    let go = |walk: &Walk<'_>, out: &mut Vec<Leaf>| walk.descend(0, &Sums::ZERO, walk.log_prior, 0, 0, out);
    match pattern {
        Pattern::Steady => go(&walk, &mut out),
        Pattern::Split => {
            // Shot 0 is always in the first group, so that each unordered partition comes once.
            for others in 1..1_u16 << (n - 1) {
                walk.tag = others << 1;
                walk.log_prior = log_partition(walk.tag.count_ones() as usize, n);
                for i in 0..n {
                    walk.rows[i] = if walk.tag >> i & 1 == 1 { -0.5 } else { 0.5 };
                }
                go(&walk, &mut out);
            }
        }
        Pattern::Drifting => {
            for i in 0..n {
                walk.rows[i] = drift_row(i, n);
            }
            go(&walk, &mut out);
        }
        Pattern::Jumped => {
            walk.log_prior = -((n - 3) as f64).ln();
            for c in 2..n - 1 {
                walk.tag = c as u16;
                for i in 0..n {
                    walk.rows[i] = if i < c { -0.5 } else { 0.5 };
                }
                go(&walk, &mut out);
            }
        }
    }
    (conjugate, out)
}

/// The rows that the next shot may have, with their probabilities: `(probability, u)`.
///
/// `first` and `second` count the shots of the two groups that were not marked bad; only `split` looks at them.
pub(super) fn next_rows(pattern: Pattern, n: usize, first: f64, second: f64) -> [(f64, f64); 2] {
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

/// Sums that become a [`Reading`]; shared with the search for longer strings.
pub(super) struct Tally {
    n: usize,
    nu: f64,
    parts: Vec<Component>,
    centre: Point,
    centre2: Sym2,
    spread: Sym2,
}

impl Tally {
    pub fn new(n: usize, nu: f64) -> Self {
        Self { n, nu, parts: Vec::new(), centre: Point::default(), centre2: Sym2::default(), spread: Sym2::default() }
    }

    /// Adds a hypothesis of posterior probability `weight`.
    pub fn add(&mut self, weight: f64, fit: &Fit, pattern: Pattern, first: f64, second: f64) {
        self.spread = self.spread + fit.psi * (weight / (self.nu - 3.0));
        for (share, u) in next_rows(pattern, self.n, first, second) {
            if share > 0.0 {
                let mut part = Component { weight: weight * share, mean: fit.mean(u), lean: fit.lean(u), psi: fit.psi };
                self.centre = self.centre + part.mean * part.weight;
                self.centre2 =
                    self.centre2 + (Sym2::outer(part.mean) + part.psi * (part.lean / (self.nu - 3.0))) * part.weight;
                if let Some(between) = fit.between(u) {
                    self.centre2 = self.centre2 + between * part.weight;
                    part.lean += between.mean_variance() * (self.nu - 3.0) / part.psi.mean_variance();
                }
                // What is left out of the mixture is missing from neither the centre nor the spread.
                if part.weight > NEGLIGIBLE_PART {
                    self.parts.push(part);
                }
            }
        }
    }

    pub fn into_reading(mut self, points: &Points<'_>) -> Reading {
        let kept: f64 = self.parts.iter().map(|p| p.weight).sum();
        self.parts.iter_mut().for_each(|p| p.weight /= kept);
        Reading {
            shots: self.n,
            centre: self.centre,
            centre_cov: self.centre2 - Sym2::outer(self.centre),
            spread: self.spread,
            p_class: vec![[0.0; 3]; self.n],
            places: points.places.to_vec(),
            pattern: [0.0; 4],
            other_group: Vec::new(),
            jump_before: Vec::new(),
            log_evidence: [f64::NEG_INFINITY; 4],
            dropped_mass: 0.0,
            next: Predictive { nu: self.nu, parts: self.parts },
        }
    }
}

pub(super) fn read(points: &Points<'_>) -> Reading {
    let n = points.places.len();
    let log_odds = log_pattern_odds(n);
    let searched: Vec<(Pattern, Conjugate, Vec<Leaf>)> = Pattern::ALL
        .into_iter()
        .filter(|p| n >= p.allowed_from())
        .map(|p| {
            let (conjugate, leaves) = leaves_of(points, p);
            (p, conjugate, leaves)
        })
        .collect();
    let heaviest = searched
        .iter()
        .flat_map(|(p, _, leaves)| leaves.iter().map(|l| l.log_weight + log_odds[*p as usize]))
        .fold(f64::NEG_INFINITY, f64::max);

    let mut mass = [0.0; 4];
    for (pattern, _, leaves) in &searched {
        let shift = log_odds[*pattern as usize] - heaviest;
        mass[*pattern as usize] = leaves.iter().map(|l| (l.log_weight + shift).exp()).sum();
    }
    let total: f64 = mass.iter().sum();

    let nu = searched[0].1.nu(n);
    let mut tally = Tally::new(n, nu);
    let mut p_class = vec![[0.0; 3]; n];
    let mut other_group = vec![0.0; n];
    let mut jump_before = vec![0.0; n];
    let good: u16 = (0..n).filter(|&i| points.felt[i] != Felt::Bad).fold(0, |mask, i| mask | 1 << i);
    for (pattern, conjugate, leaves) in &searched {
        let shift = log_odds[*pattern as usize] - heaviest;
        for leaf in leaves {
            let log_weight = leaf.log_weight + shift;
            if log_weight < NEGLIGIBLE_LOG {
                continue;
            }
            let weight = log_weight.exp() / total;
            for (i, p) in p_class.iter_mut().enumerate() {
                p[(leaf.classes >> (2 * i) & 3) as usize] += weight;
            }
            let (mut first, mut second) = (0, 0);
            match pattern {
                Pattern::Split => {
                    first = (!leaf.tag & good).count_ones();
                    second = (leaf.tag & good).count_ones();
                    for (i, p) in other_group.iter_mut().enumerate() {
                        *p += f64::from(leaf.tag >> i & 1) * weight;
                    }
                }
                Pattern::Jumped => jump_before[leaf.tag as usize] += weight,
                Pattern::Steady | Pattern::Drifting => {}
            }
            tally.add(weight, &conjugate.fit(&leaf.sums), *pattern, f64::from(first), f64::from(second));
        }
    }

    let mut reading = tally.into_reading(points);
    reading.p_class = p_class;
    for (pattern, conjugate, _) in &searched {
        let i = *pattern as usize;
        reading.pattern[i] = mass[i] / total;
        reading.log_evidence[i] = mass[i].ln() + heaviest - log_odds[i] + conjugate.log_constant(n);
    }
    let given = |mut list: Vec<f64>, pattern: Pattern| {
        let p = reading.pattern[pattern as usize];
        if p > 0.0 {
            list.iter_mut().for_each(|x| *x /= p);
            list
        } else {
            Vec::new()
        }
    };
    reading.other_group = given(other_group, Pattern::Split);
    reading.jump_before = given(jump_before, Pattern::Jumped);
    reading
}
