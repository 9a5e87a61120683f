//! The search for strings of more than [`EXACT_SHOTS`](super::EXACT_SHOTS) shots.
//!
//! Each pattern is searched by itself, shot by shot. A node stands for all hypotheses on the shots so far that led to it;
//! its children are the classes (and labels, or the jump) of the next shot. When there are more children than the budget,
//! those that say nearly the same (same place, spread and evidence within a fraction of their own uncertainty) become one
//! node with the sum of their weights, their mean place and spread and the variance of both: the design keeps only the best, but a string
//! of 72 shots has some 2^30 hypotheses that matter a little each, and dropping them loses most of the probability, while
//! merging loses almost none. What is dropped all the same is counted. Walking the lattice backwards then gives every
//! shot its class, exact for the merged lattice.

use super::axis::Axis;
use super::evidence::log_constant;
use super::exact::{drift_row, rows};
use super::predictive::Component;
use super::prior::Base;
use super::tally::Tally;
use super::{GROUP_SIZE, Pattern, Points, Reading, Shape, log_pattern_odds};
use crate::plane::Sym2;
use crate::shot::Felt;

/// How hard to search.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Effort {
    /// For one set of exact positions: patterns that turn out to matter are searched again with more nodes.
    Full,
    /// For a long string: only the patterns that may be the answer are searched again.
    Long,
    /// For one of many sets of positions that calls allow.
    Light,
}

impl Effort {
    /// Nodes kept at a shot of a string of `n` in the first pass.
    fn first_budget(self, n: usize) -> usize {
        let full = (1000 / n).clamp(24, 72);
        match self {
            Self::Full => full,
            Self::Long | Self::Light => (full / 2).max(12),
        }
    }

    /// Patterns of at least this probability are searched again.
    const SECOND_FROM: f64 = 0.004;

    /// In long strings those of at least this probability.
    const LONG_FROM: f64 = 0.3;

    /// With so many times the nodes: labels and jumps leave more to keep apart than classes do, and what hardly matters need
    /// not be known as well.
    fn second_factor(pattern: Pattern, p: f64) -> usize {
        match pattern {
            Pattern::Steady | Pattern::Drifting => 3,
            _ if p < 0.05 => 1,
            Pattern::Jumped => 5,
            Pattern::Split if p < 0.3 => 3,
            Pattern::Split => 6,
        }
    }

    /// Further passes double the budget while a pattern still drops more than this, at most so many times.
    const MORE: (f64, usize) = (5e-4, 1);
}

/// Children lighter than this against the heaviest of their kind are dropped.
const DROP_LOG: f64 = -18.0;

/// Children this close, in posterior standard deviations, always become one.
const NEAR: f32 = 0.1;

/// When there is no room left, children farther than this from every node are dropped ...
const FAR: f32 = 30.0;

/// ... unless they are so light that they cannot move the node they join: weight times squared distance stays below this
/// share of its weight.
const SLIGHT: f64 = 0.5;

/// How many generations of nodes are kept apart.
const GENERATIONS: usize = 9;

/// How many features of a node are compared.
const FEATURES: usize = 16;

#[derive(Debug, Clone, Copy)]
struct Node {
    axes: [Axis; 2],
    psi: Sym2,
    /// Log determinant of `psi`.
    log_det: f64,
    /// How many shots strayed; a mean where paths were merged.
    strayed: f64,
    /// Whether this is not yet a hypothesis of its pattern: `split` with one group, `jumped` before the jump.
    unborn: bool,
    /// Shots in the second group (`split`), or since the jump (`jumped`).
    second: f64,
    /// Shots not marked bad in the first and in the second group.
    good: [f64; 2],
}

impl Node {
    /// The node that stands for `members`, `(node, share)` with shares adding up to 1: the same mean place and spread, and the
    /// same total variance of the place.
    fn merge<'a>(nu: f64, members: impl Iterator<Item = (&'a Self, f64)> + Clone) -> Self {
        let empty = Axis { m: [0.0; 3], p: [0.0; 6] };
        let mut node = Self {
            axes: [empty; 2],
            psi: Sym2::default(),
            log_det: 0.0,
            strayed: 0.0,
            unborn: false,
            second: 0.0,
            good: [0.0; 2],
        };
        for (n, share) in members.clone() {
            for (to, from) in node.axes.iter_mut().zip(&n.axes) {
                to.m.iter_mut().zip(from.m).for_each(|(to, m)| *to += share * m);
            }
            node.psi = node.psi + n.psi * share;
            node.strayed += share * n.strayed;
            node.unborn = n.unborn;
            node.second += share * n.second;
            node.good[0] += share * n.good[0];
            node.good[1] += share * n.good[1];
        }
        let mean = node.axes;
        let psi = [node.psi.xx, node.psi.yy];
        for (n, share) in members {
            for (c, of) in [n.psi.xx, n.psi.yy].into_iter().enumerate() {
                node.axes[c].add_share(&mean[c], &n.axes[c], share, of / psi[c], (nu - 3.0) / psi[c]);
            }
        }
        node.log_det = node.psi.det().ln();
        node
    }
}

/// What was decided at a shot: the class, whether it is in the other group, whether the jump came just before it.
#[derive(Debug, Clone, Copy)]
struct Choice {
    class: u8,
    other: bool,
    jump: bool,
}

struct Child {
    node: Node,
    log_weight: f64,
    parent: u32,
    choice: Choice,
}

/// One way into a node.
struct Edge {
    parent: u32,
    node: u32,
    choice: Choice,
    /// Share of the node's weight that came this way.
    share: f64,
}

struct Searched {
    pattern: Pattern,
    /// For each shot the number of nodes before it and the edges into the nodes after it.
    steps: Vec<(usize, Vec<Edge>)>,
    /// The nodes after the last shot, with their log weights.
    last: Vec<(Node, f64)>,
    log_total: f64,
    dropped: f64,
}

fn log_sum(values: impl Iterator<Item = f64> + Clone) -> f64 {
    let top = values.clone().fold(f64::NEG_INFINITY, f64::max);
    if top == f64::NEG_INFINITY { top } else { top + values.map(|v| (v - top).exp()).sum::<f64>().ln() }
}

struct Search<'a> {
    points: &'a Points<'a>,
    pattern: Pattern,
    bases: &'a [Base],
    shapes: [Shape; 3],
    n: usize,
    budget: usize,
}

impl Search<'_> {
    fn run(&self) -> Searched {
        let mut nodes = self.start();
        let mut steps = Vec::with_capacity(self.n);
        let mut kept = 1.0;
        for i in 0..self.n {
            let mut children = Vec::with_capacity(nodes.len() * 4);
            let before = &self.points.before[i];
            for (parent, (node, log_weight)) in nodes.iter_mut().enumerate() {
                for (c, axis) in node.axes.iter_mut().enumerate() {
                    if before.new_end {
                        axis.new_end(self.points.end[c]);
                    }
                    axis.loosen(before.loosened);
                }
                self.children(i, parent as u32, node, *log_weight, &mut children);
            }
            if i + 1 == self.n {
                children.retain(|c| !c.node.unborn && self.is_whole(&c.node));
            }
            kept *= self.drop_lightest(&mut children);
            let (next, edges, share) = self.merge(i, children);
            kept *= share;
            steps.push((nodes.len(), edges));
            nodes = next;
        }
        let log_total = log_sum(nodes.iter().map(|n| n.1));
        Searched { pattern: self.pattern, steps, last: nodes, log_total, dropped: 1.0 - kept }
    }

    /// Whether both groups of `split` have shots enough. Those of one shot are merged among themselves only.
    fn is_whole(&self, node: &Node) -> bool {
        let least = GROUP_SIZE as f64 - 0.5;
        self.pattern != Pattern::Split || (node.second > least && self.n as f64 - node.second > least)
    }

    /// A node for each part of the prior, with its log weight.
    fn start(&self) -> Vec<(Node, f64)> {
        let second = 1.0 / self.pattern.second_precision();
        let node = |base: &Base, psi: Sym2| Node {
            axes: [0, 1].map(|c| Axis::new(0.0, base.lean[c], second, self.points.end[c])),
            psi,
            log_det: psi.det().ln(),
            strayed: 0.0,
            unborn: matches!(self.pattern, Pattern::Split | Pattern::Jumped),
            second: 0.0,
            good: [0.0; 2],
        };
        let of = |base| {
            let base: &Base = base;
            base.scales[..base.count].iter().map(move |(log_weight, psi)| (node(base, *psi), *log_weight))
        };
        self.bases.iter().flat_map(of).collect()
    }

    /// The node and log weight after shot `i` in a row with `u` and of a class.
    #[inline]
    fn after(&self, i: usize, node: &Node, u: f64, class: &Shape) -> (Node, f64) {
        let z = self.points.places[i] - class.mean_mm;
        let mut next = *node;
        let x = next.axes[0].take(z.x_mm, u, class.factors[0]);
        let y = next.axes[1].take(z.y_mm, u, class.factors[1]);
        let v = x.v * y.v;
        next.psi = next.psi + Sym2::new(x.d * x.d / x.v, x.d * y.d / v.sqrt(), y.d * y.d / y.v);
        next.log_det = next.psi.det().ln();
        let nu = self.nu(i);
        (next, 0.5 * (nu * node.log_det - (nu + 1.0) * next.log_det - v.ln()))
    }

    /// Degrees of freedom before shot `i`.
    fn nu(&self, i: usize) -> f64 {
        self.points.prior.nu() + i as f64
    }

    fn children(&self, i: usize, parent: u32, node: &Node, log_weight: f64, out: &mut Vec<Child>) {
        let n = self.n;
        let log_classes = self.points.log_classes(i, self.pattern);
        let good = f64::from(u8::from(self.points.felt[i] != Felt::Bad));
        let mut take = |u: f64, log_prior: f64, other: bool, jump: bool, unborn: bool| {
            let counts = other || (self.pattern == Pattern::Jumped && !unborn);
            for class in 0..3_u8 {
                let strayed = node.strayed + f64::from(u8::from(class > 0));
                let log_class = log_classes[class as usize];
                if strayed > self.pattern.cap(n) as f64 + 0.5 || log_class == f64::NEG_INFINITY {
                    continue;
                }
                let (next, log_density) = self.after(i, node, u, &self.shapes[class as usize]);
                let mut good_of = node.good;
                good_of[usize::from(other)] += good;
                out.push(Child {
                    node: Node {
                        strayed,
                        unborn,
                        second: node.second + f64::from(u8::from(counts)),
                        good: good_of,
                        ..next
                    },
                    log_weight: log_weight + log_prior + log_class + log_density,
                    parent,
                    choice: Choice { class, other, jump },
                });
            }
        };
        match self.pattern {
            Pattern::Steady => take(0.0, 0.0, false, false, false),
            Pattern::Drifting => take(drift_row(i, n), 0.0, false, false, false),
            Pattern::Split if i == 0 => {
                // Shot 0 is in the first group. The constant turns ordered labels into unordered partitions into groups of two
                // and more.
                let constant = (2.0 * (n as f64 + 1.0) / (n as f64 - 3.0)).ln() - std::f64::consts::LN_2;
                take(0.5, constant, false, false, true);
            }
            Pattern::Split => {
                // The Beta(1,1)-binomial, one label at a time: (count + 1) / (shots so far + 2).
                let (m, so_far) = (node.second, i as f64);
                take(0.5, ((so_far - m + 1.0) / (so_far + 2.0)).ln(), false, false, node.unborn);
                take(-0.5, ((m + 1.0) / (so_far + 2.0)).ln(), true, false, false);
            }
            Pattern::Jumped => {
                let places = super::jump_places(n);
                let (first, last) = (*places.start(), *places.end());
                // Jumps that are still to come after shot `i`.
                let to_come = |i: usize| (last - (i.max(first - 1)).min(last)) as f64;
                if node.unborn {
                    if i < last {
                        let before = if i == 0 { places.count() as f64 } else { to_come(i - 1) };
                        take(-0.5, (to_come(i) / before).ln(), false, false, true);
                        if i >= first {
                            take(0.5, (1.0 / before).ln(), false, true, false);
                        }
                    } else if i == last {
                        take(0.5, 0.0, false, true, false);
                    }
                } else {
                    take(0.5, 0.0, false, false, false);
                }
            }
        }
    }

    /// Drops what is too light to matter and returns the share that is kept. Nodes that are not yet hypotheses of their
    /// pattern are compared among themselves, since their evidence is still to come.
    fn drop_lightest(&self, children: &mut Vec<Child>) -> f64 {
        let mut kept_share = 1.0;
        for unborn in [false, true] {
            let kind = || children.iter().filter(move |c| c.node.unborn == unborn);
            let top = kind().map(|c| c.log_weight).fold(f64::NEG_INFINITY, f64::max);
            if top == f64::NEG_INFINITY {
                continue;
            }
            let light = |c: &Child| c.log_weight - top < DROP_LOG;
            if !kind().any(light) {
                continue;
            }
            let (mut kept, mut dropped) = (0.0, 0.0);
            for c in kind() {
                let w = (c.log_weight - top).exp();
                if light(c) { dropped += w } else { kept += w }
            }
            children.retain(|c| c.node.unborn != unborn || !light(c));
            kept_share *= kept / (kept + dropped);
        }
        kept_share
    }

    /// Young hypotheses have little evidence yet and would lose every comparison with old ones, so nodes are only compared
    /// with, and merged into, those of their own generation: the doublings of the smaller group, or of the time since the
    /// jump.
    fn generation(&self, node: &Node, so_far: usize) -> usize {
        if node.unborn {
            return 0;
        }
        let size = match self.pattern {
            Pattern::Steady | Pattern::Drifting => return 0,
            Pattern::Split => node.second.min(so_far as f64 - node.second),
            Pattern::Jumped => node.second,
        };
        // A mean over paths that all have two is two but for the last digit.
        (1 + ((size.max(1.0) + 1e-6) as u32).ilog2() as usize).min(GENERATIONS - 1)
    }

    /// Nodes kept of one generation.
    fn quota(&self) -> usize {
        match self.pattern {
            Pattern::Steady | Pattern::Drifting => self.budget,
            Pattern::Split | Pattern::Jumped => (self.budget * 4 / 5).max(6),
        }
    }

    /// Brings the children down to the budget; returns the nodes, the edges into them and the share of weight kept.
    ///
    /// Heaviest first, a child joins the nearest node if that is close enough, else becomes a node of its own; once the
    /// budget is spent the light ones left join their nearest node, unless that is so far that they are dropped.
    fn merge(&self, i: usize, children: Vec<Child>) -> (Vec<(Node, f64)>, Vec<Edge>, f64) {
        if children.len() <= self.budget {
            let edges = children
                .iter()
                .enumerate()
                .map(|(node, c)| Edge { parent: c.parent, node: node as u32, choice: c.choice, share: 1.0 })
                .collect();
            return (children.into_iter().map(|c| (c.node, c.log_weight)).collect(), edges, 1.0);
        }
        // Children are large, so their order is sorted and not they.
        let mut order: Vec<u32> = (0..children.len() as u32).collect();
        order.sort_unstable_by(|a, b| children[*b as usize].log_weight.total_cmp(&children[*a as usize].log_weight));
        let children: Vec<&Child> = order.iter().map(|i| &children[*i as usize]).collect();
        let top = children[0].log_weight;
        let scale = FeatureScale::new(self.nu(i + 1), children[0], self.pattern);
        let mut seeds: Vec<Seed> = Vec::with_capacity(2 * self.budget);
        let mut of_generation: [Vec<u32>; GENERATIONS] = Default::default();
        let mut joined: Vec<u32> = Vec::with_capacity(children.len());
        let weights: Vec<f64> = children.iter().map(|c| (c.log_weight - top).exp()).collect();
        for (child, weight) in children.iter().zip(weights.iter().copied()) {
            let features = scale.features(child);
            let generation = self.generation(&child.node, i + 1);
            // A light child moves nothing: the first node that is close enough for its weight will do.
            let close = if weight > 0.02 { NEAR } else { (NEAR * (0.02 / weight).sqrt() as f32).min(0.8) };
            let mut nearest = (f32::INFINITY, 0);
            for &at in &of_generation[generation] {
                let d2 = distance2(&seeds[at as usize].features, &features, nearest.0);
                if d2 < nearest.0 {
                    nearest = (d2, at as usize);
                    if d2 <= close * close {
                        break;
                    }
                }
            }
            let room = of_generation[generation].len() < self.quota();
            let light = || f64::from(nearest.0) * weight <= SLIGHT * seeds[nearest.1].weight;
            if nearest.0 <= close * close || (!room && (nearest.0 <= FAR * FAR || light())) {
                joined.push(nearest.1 as u32);
                seeds[nearest.1].weight += weight;
            } else if room {
                of_generation[generation].push(seeds.len() as u32);
                joined.push(seeds.len() as u32);
                seeds.push(Seed { features, weight });
            } else {
                joined.push(u32::MAX);
            }
        }

        let totals: Vec<f64> = seeds.iter().map(|s| s.weight).collect();
        let dropped: f64 = joined.iter().zip(&weights).filter(|(at, _)| **at == u32::MAX).map(|(_, w)| w).sum();
        let mut members: Vec<Vec<u32>> = vec![Vec::new(); seeds.len()];
        let mut edges = Vec::with_capacity(children.len());
        for (i, (child, at)) in children.iter().zip(&joined).enumerate() {
            let Some(list) = members.get_mut(*at as usize) else { continue };
            list.push(i as u32);
            let share = weights[i] / totals[*at as usize];
            edges.push(Edge { parent: child.parent, node: *at, choice: child.choice, share });
        }
        let nodes = members
            .iter()
            .zip(&totals)
            .map(|(list, total)| match list.as_slice() {
                [one] => (children[*one as usize].node, children[*one as usize].log_weight),
                many => {
                    let shares = many.iter().map(|m| (&children[*m as usize].node, weights[*m as usize] / total));
                    (Node::merge(self.nu(i + 1), shares), top + total.ln())
                }
            })
            .collect();
        let kept: f64 = totals.iter().sum();
        (nodes, edges, kept / (kept + dropped))
    }
}

/// A node that others may join.
struct Seed {
    features: [f32; FEATURES],
    weight: f64,
}

/// Squared distance, four features at a time so that it can be vectorised; once it is more than `enough` the rest is left out.
fn distance2(a: &[f32; FEATURES], b: &[f32; FEATURES], enough: f32) -> f32 {
    let mut sum = 0.0;
    for (a, b) in a.chunks_exact(4).zip(b.chunks_exact(4)) {
        let mut part = [0.0; 4];
        for lane in 0..4 {
            let d = a[lane] - b[lane];
            part[lane] = d * d;
        }
        sum += (part[0] + part[1]) + (part[2] + part[3]);
        if sum > enough {
            return sum;
        }
    }
    sum
}

/// Turns a child into numbers that are each in units of their own posterior standard deviation.
struct FeatureScale {
    best: Node,
    /// For each axis and coordinate.
    place: [[f64; 3]; 2],
    cross: f64,
    log_scale: f64,
    cross_scale: f64,
    label_scale: f64,
    strayed_scale: f64,
}

impl FeatureScale {
    fn new(nu: f64, best: &Child, pattern: Pattern) -> Self {
        let node = best.node;
        let sd = [(node.psi.xx / nu).sqrt(), (node.psi.yy / nu).sqrt()];
        let place = [0, 1].map(|c| {
            [0, 3, 5].map(|k| {
                let variance = node.axes[c].p[k];
                if variance > 1e-12 { 1.0 / (sd[c] * variance.sqrt()) } else { 0.0 }
            })
        });
        Self {
            best: node,
            place,
            cross: node.psi.xy / (node.psi.xx * node.psi.yy).sqrt(),
            log_scale: (nu / 2.0).sqrt(),
            cross_scale: nu.sqrt(),
            // A count of labels matters through its log odds, whose standard deviation is about 2 over root n.
            label_scale: 2.0 / nu.sqrt(),
            // Where a cap looms, counts are not to be mixed lightly.
            strayed_scale: if pattern == Pattern::Steady { 0.0 } else { 0.35 },
        }
    }

    fn features(&self, child: &Child) -> [f32; FEATURES] {
        // (a - b) / mean of both stands for ln(a / b).
        let log_ratio = |a: f64, b: f64| 2.0 * (a - b) / (a + b);
        let (node, best) = (&child.node, &self.best);
        let place = |c: usize, k: usize| (node.axes[c].m[k] - best.axes[c].m[k]) * self.place[c][k];
        let variance = |k: usize| {
            let (a, b) = (&node.axes, &best.axes);
            log_ratio(a[0].p[k] + a[1].p[k], b[0].p[k] + b[1].p[k]) * 2.0
        };
        [
            place(0, 0),
            place(1, 0),
            log_ratio(node.psi.xx, best.psi.xx) * self.log_scale,
            log_ratio(node.psi.yy, best.psi.yy) * self.log_scale,
            (node.psi.xy / (node.psi.xx * node.psi.yy).sqrt() - self.cross) * self.cross_scale,
            variance(0),
            place(0, 1),
            place(1, 1),
            variance(3),
            node.second * self.label_scale,
            node.strayed * self.strayed_scale,
            if node.unborn { 1e6 } else { 0.0 },
            place(0, 2),
            place(1, 2),
            0.0,
            0.0,
        ]
        .map(|x| x as f32)
    }
}

/// Searches every pattern allowed, those that matter as hard as they deserve.
fn search_all(points: &Points<'_>, effort: Effort) -> Vec<Searched> {
    let n = points.places.len();
    let log_odds = log_pattern_odds(n);
    let bases = points.prior.bases();
    let shapes = points.unmarked.shapes();
    let search = |pattern: Pattern, budget: usize| Search { points, pattern, bases: &bases, shapes, n, budget }.run();
    let first = effort.first_budget(n);
    let mut searched: Vec<Searched> =
        Pattern::ALL.into_iter().filter(|p| n >= p.allowed_from()).map(|p| search(p, first)).collect();
    if effort == Effort::Light {
        return searched;
    }
    let log_weight = |s: &Searched| s.log_total + log_odds[s.pattern as usize];
    let log_total = log_sum(searched.iter().map(log_weight));
    for s in &mut searched {
        let p = (log_weight(s) - log_total).exp();
        if effort == Effort::Long && p < Effort::LONG_FROM {
            continue;
        }
        let factor = Effort::second_factor(s.pattern, p);
        let mut budget = first * factor;
        if p >= Effort::SECOND_FROM && factor > 1 {
            *s = search(s.pattern, budget);
        }
        let (bearable, times) = Effort::MORE;
        for _ in 0..times {
            if p * s.dropped <= bearable {
                break;
            }
            budget *= 2;
            *s = search(s.pattern, budget);
        }
    }
    searched
}

pub(super) fn read(points: &Points<'_>, effort: Effort) -> Reading {
    let n = points.places.len();
    let log_odds = log_pattern_odds(n);
    let searched = search_all(points, effort);
    let log_total = log_sum(searched.iter().map(|s| s.log_total + log_odds[s.pattern as usize]));
    let mut tally = Tally::new(n, points.prior.nu() + n as f64, points.end);
    let mut p_class = vec![[0.0; 3]; n];
    let mut pattern = [0.0; 4];
    let mut log_evidence = [f64::NEG_INFINITY; 4];
    let mut other_group = vec![0.0; n];
    let mut jump_before = vec![0.0; n];
    let mut dropped_mass = 0.0;
    for s in &searched {
        let i = s.pattern as usize;
        let p = (s.log_total + log_odds[i] - log_total).exp();
        pattern[i] = p;
        log_evidence[i] = s.log_total + log_constant(points.prior.nu(), n);
        dropped_mass += p * s.dropped;
        let mut mass: Vec<f64> = s.last.iter().map(|(_, w)| (w - s.log_total).exp()).collect();
        for ((node, _), m) in s.last.iter().zip(&mass) {
            if *m * p > 1e-12 {
                let rows = rows(s.pattern, n, node.good[0], node.good[1], &node.axes);
                tally.add(m * p, node.psi * (m * p), &rows);
                tally.part(Component { weight: m * p, psi: node.psi, rows });
            }
        }
        for (shot, (parents, edges)) in s.steps.iter().enumerate().rev() {
            let mut before = vec![0.0; *parents];
            for e in edges {
                let m = mass[e.node as usize] * e.share;
                before[e.parent as usize] += m;
                p_class[shot][e.choice.class as usize] += m * p;
                if e.choice.other {
                    other_group[shot] += m;
                }
                if e.choice.jump {
                    jump_before[shot] += m;
                }
            }
            mass = before;
        }
    }
    let mut reading = tally.into_reading(points, 1.0);
    reading.p_class = p_class;
    reading.pattern = pattern;
    reading.log_evidence = log_evidence;
    reading.other_group = other_group;
    reading.jump_before = jump_before;
    reading.dropped_mass = dropped_mass;
    reading
}
