//! The search for one pattern, shot by shot.
//!
//! What a shot does to the nodes does not depend on how many shots follow, so that a search can be carried on when more come.

use std::collections::VecDeque;

use super::Effort;
use super::nearest::{Scale, Seeds};
use super::node::{Child, Choice, Edge, Node};
use crate::group::axis::Axis;
use crate::group::exact::drift_row;
use crate::group::prior::Base;
use crate::group::{ClassShape, GROUP_SIZE, JUMP_SIDE, Pattern, Points, jump_places};
use crate::plane::Sym2;
use crate::shot::Felt;
use crate::stats::log_sum;

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

/// So many shots a search can go back without beginning anew: an end of six, and one.
const BACK: usize = 7;

/// What a shot has led to.
#[derive(Debug)]
pub(super) struct Step {
    /// Number of nodes before the shot.
    pub parents: usize,
    /// The ways into the nodes after it.
    pub edges: Vec<Edge>,
    /// Share of the weight that was kept.
    kept: f64,
}

/// A search for one pattern.
#[derive(Debug)]
pub(super) struct Search {
    pub pattern: Pattern,
    pub effort: Effort,
    /// Times the nodes of the first pass.
    pub factor: usize,
    /// For each shot taken in.
    pub steps: Vec<Step>,
    /// The nodes after the last of them, with their log weights.
    nodes: Vec<(Node, f64)>,
    /// The nodes before each of the latest steps.
    earlier: VecDeque<Vec<(Node, f64)>>,
    /// How many shots the rows are for, where they depend on it.
    of: usize,
}

/// A search at its end.
pub(super) struct Found<'a> {
    pub search: &'a Search,
    /// Log evidence, but for a constant of the prior and the number of shots.
    pub log_total: f64,
    /// Probability that was dropped.
    pub dropped: f64,
}

impl Found<'_> {
    pub fn pattern(&self) -> Pattern {
        self.search.pattern
    }

    /// The nodes after the last shot that are hypotheses of the pattern, with their shares of the evidence and their places
    /// among all nodes.
    pub fn last(&self) -> impl Iterator<Item = (usize, &Node, f64)> {
        let n = self.search.steps.len();
        let constant = log_constant(self.search.pattern, n);
        let whole = self.search.nodes.iter().enumerate().filter(move |(_, (node, _))| self.search.is_whole(node));
        whole.map(move |(i, (node, w))| (i, node, (w + constant - self.log_total).exp()))
    }

    /// How many nodes there are after the last shot.
    pub fn width(&self) -> usize {
        self.search.nodes.len()
    }
}

/// What makes of the weights the log prior of partitions, or of places for a jump.
fn log_constant(pattern: Pattern, n: usize) -> f64 {
    match pattern {
        Pattern::Steady | Pattern::Drifting => 0.0,
        // Turns ordered labels into unordered partitions into groups of two and more.
        Pattern::Split => (2.0 * (n as f64 + 1.0) / (n as f64 - 3.0)).ln() - std::f64::consts::LN_2,
        Pattern::Jumped => -(jump_places(n).count() as f64).ln(),
    }
}

impl Search {
    pub fn new(pattern: Pattern, effort: Effort, factor: usize) -> Self {
        Self { pattern, effort, factor, steps: Vec::new(), nodes: Vec::new(), earlier: VecDeque::new(), of: 0 }
    }

    /// Nodes kept at shot `i`.
    fn budget(&self, i: usize) -> usize {
        self.effort.budget(i) * self.factor
    }

    /// Whether `self` is the search for that pattern with that effort.
    pub fn is(&self, pattern: Pattern, effort: Effort, factor: usize) -> bool {
        (self.pattern, self.effort, self.factor) == (pattern, effort, factor)
    }

    /// Goes back to where only the first `same` shots were taken in; begins anew where that is too far back.
    pub fn back_to(&mut self, same: usize) {
        while self.steps.len() > same {
            match self.earlier.pop_back() {
                Some(nodes) => {
                    self.nodes = nodes;
                    self.steps.pop();
                }
                None => self.begin(0),
            }
        }
    }

    fn begin(&mut self, of: usize) {
        self.steps.clear();
        self.nodes.clear();
        self.earlier.clear();
        self.of = of;
    }

    /// Takes in the shots that are still to be taken in.
    pub fn run(&mut self, points: &Points<'_>, bases: &[Base]) {
        let n = points.places.len();
        if self.pattern == Pattern::Drifting && self.of != n {
            // Where a shot stands in a drift depends on how many there are.
            self.begin(n);
        }
        if self.steps.is_empty() {
            self.nodes = self.start(points, bases);
        }
        let shapes = points.unmarked.shapes();
        for i in self.steps.len()..n {
            if i + BACK >= n {
                self.earlier.push_back(self.nodes.clone());
                if self.earlier.len() > BACK {
                    self.earlier.pop_front();
                }
            }
            let mut nodes = std::mem::take(&mut self.nodes);
            let mut children = Vec::with_capacity(nodes.len() * 4);
            let before = &points.before[i];
            for (parent, (node, log_weight)) in nodes.iter_mut().enumerate() {
                for (c, axis) in node.axes.iter_mut().enumerate() {
                    if before.new_end {
                        axis.new_end(points.end[c]);
                    }
                    axis.loosen(before.loosened);
                }
                self.children(points, &shapes, i, (parent as u32, node, *log_weight), &mut children);
            }
            let lightest = drop_lightest(&mut children);
            let (next, edges, share) = self.merge(points, i, &children);
            self.steps.push(Step { parents: nodes.len(), edges, kept: lightest * share });
            self.nodes = next;
        }
    }

    /// What the shots taken in say.
    pub fn found(&self) -> Found<'_> {
        let constant = log_constant(self.pattern, self.steps.len());
        let whole = self.nodes.iter().filter(|(node, _)| self.is_whole(node));
        Found {
            search: self,
            log_total: constant + log_sum(whole.map(|n| n.1)),
            dropped: 1.0 - self.steps.iter().map(|s| s.kept).product::<f64>(),
        }
    }

    /// Whether a node is a hypothesis of the pattern: both groups of `split` have shots enough, or so has either side of the jump.
    fn is_whole(&self, node: &Node) -> bool {
        let least = |shots: usize| shots as f64 - 0.5;
        !node.unborn
            && match self.pattern {
                Pattern::Steady | Pattern::Drifting => true,
                Pattern::Split => {
                    node.second > least(GROUP_SIZE) && self.steps.len() as f64 - node.second > least(GROUP_SIZE)
                }
                Pattern::Jumped => node.second > least(JUMP_SIDE),
            }
    }

    /// A node for each part of the prior, with its log weight.
    fn start(&self, points: &Points<'_>, bases: &[Base]) -> Vec<(Node, f64)> {
        let second = 1.0 / self.pattern.second_precision();
        let node = |base: &Base, psi: Sym2| Node {
            axes: [0, 1].map(|c| Axis::new(0.0, base.lean[c], second, points.end[c])),
            psi,
            log_det: psi.det().ln(),
            unborn: matches!(self.pattern, Pattern::Split | Pattern::Jumped),
            second: 0.0,
            good: [0.0; 2],
        };
        let of = |base| {
            let base: &Base = base;
            base.scales[..base.count].iter().map(move |(log_weight, psi)| (node(base, *psi), *log_weight))
        };
        bases.iter().flat_map(of).collect()
    }

    /// The children of a node, `(its place, itself, its log weight)`.
    fn children(
        &self,
        points: &Points<'_>,
        shapes: &[ClassShape; 3],
        i: usize,
        (parent, node, log_weight): (u32, &Node, f64),
        out: &mut Vec<Child>,
    ) {
        let log_classes = points.log_classes(i, self.pattern);
        let good = f64::from(u8::from(points.felt[i] != Felt::Bad));
        let mut take = |u: f64, log_prior: f64, other: bool, jump: bool, unborn: bool| {
            let counts = other || (self.pattern == Pattern::Jumped && !unborn);
            for class in 0..3_u8 {
                let log_class = log_classes[class as usize];
                if log_class == f64::NEG_INFINITY {
                    continue;
                }
                let (next, log_density) = after(points, i, node, u, &shapes[class as usize]);
                let mut good_of = node.good;
                good_of[usize::from(other)] += good;
                out.push(Child {
                    node: Node { unborn, second: node.second + f64::from(u8::from(counts)), good: good_of, ..next },
                    log_weight: log_weight + log_prior + log_class + log_density,
                    parent,
                    choice: Choice { class, other, jump },
                });
            }
        };
        match self.pattern {
            Pattern::Steady => take(0.0, 0.0, false, false, false),
            Pattern::Drifting => take(drift_row(i, self.of), 0.0, false, false, false),
            // Shot 0 is in the first group.
            Pattern::Split if i == 0 => take(0.5, 0.0, false, false, true),
            Pattern::Split => {
                // The Beta(1,1)-binomial, one label at a time: (count + 1) / (shots so far + 2).
                let (m, so_far) = (node.second, i as f64);
                take(0.5, ((so_far - m + 1.0) / (so_far + 2.0)).ln(), false, false, node.unborn);
                take(-0.5, ((m + 1.0) / (so_far + 2.0)).ln(), true, false, false);
            }
            Pattern::Jumped if node.unborn => {
                // Every place for the jump weighs the same; how many there are is known at the end.
                take(-0.5, 0.0, false, false, true);
                if i >= JUMP_SIDE {
                    take(0.5, 0.0, false, true, false);
                }
            }
            Pattern::Jumped => take(0.5, 0.0, false, false, false),
        }
    }

    /// Young hypotheses have little evidence yet and would lose every comparison with old ones, so nodes are only compared
    /// with, and merged into, those of their own generation: the doublings of the smaller group, or of the time since the
    /// jump. What is too small to be whole at the end is apart from what is not.
    fn generation(&self, node: &Node, so_far: usize) -> usize {
        if node.unborn {
            return 0;
        }
        // A mean over paths that all have two is two but for the last digit.
        let doublings = |size: f64| ((size.max(1.0) + 1e-6) as u32).ilog2() as usize;
        let generation = match self.pattern {
            Pattern::Steady | Pattern::Drifting => 0,
            Pattern::Split => 1 + doublings(node.second.min(so_far as f64 - node.second)),
            Pattern::Jumped if node.second < JUMP_SIDE as f64 - 0.5 => node.second.round() as usize,
            Pattern::Jumped => JUMP_SIDE + doublings(node.second / JUMP_SIDE as f64),
        };
        generation.min(GENERATIONS - 1)
    }

    /// Nodes kept of one generation at shot `i`.
    fn quota(&self, i: usize) -> usize {
        let budget = self.budget(i);
        match self.pattern {
            Pattern::Steady | Pattern::Drifting => budget,
            Pattern::Split | Pattern::Jumped => (budget * 4 / 5).max(6),
        }
    }

    /// Brings the children down to the budget; returns the nodes, the edges into them and the share of weight kept.
    ///
    /// Heaviest first, a child joins the nearest node if that is close enough, else becomes a node of its own; once the
    /// budget is spent the light ones left join their nearest node, unless that is so far that they are dropped.
    fn merge(&self, points: &Points<'_>, i: usize, children: &[Child]) -> (Vec<(Node, f64)>, Vec<Edge>, f64) {
        if children.len() <= self.budget(i) {
            let edges = children
                .iter()
                .enumerate()
                .map(|(node, c)| Edge { parent: c.parent, node: node as u32, choice: c.choice, share: 1.0 })
                .collect();
            return (children.iter().map(|c| (c.node, c.log_weight)).collect(), edges, 1.0);
        }
        // Children are large, so their order is sorted and not they.
        let mut order: Vec<u32> = (0..children.len() as u32).collect();
        order.sort_unstable_by(|a, b| children[*b as usize].log_weight.total_cmp(&children[*a as usize].log_weight));
        let children: Vec<&Child> = order.iter().map(|i| &children[*i as usize]).collect();
        let top = children[0].log_weight;
        let nu = nu(points, i + 1);
        let scale = Scale::new(nu, &children[0].node);
        let quota = self.quota(i);
        let mut totals: Vec<f64> = Vec::with_capacity(2 * quota);
        let mut of_generation: [Seeds; GENERATIONS] = Default::default();
        let mut joined: Vec<u32> = Vec::with_capacity(children.len());
        let weights: Vec<f64> = children.iter().map(|c| (c.log_weight - top).exp()).collect();
        for (child, weight) in children.iter().zip(weights.iter().copied()) {
            let features = scale.features(&child.node);
            let seeds = &mut of_generation[self.generation(&child.node, i + 1)];
            // A light child moves nothing: the first node that is close enough for its weight will do.
            let close = if weight > 0.02 { NEAR } else { (NEAR * (0.02 / weight).sqrt() as f32).min(0.8) };
            let (d2, nearest) = seeds.nearest(&features, close, self.pattern);
            let room = seeds.len() < quota;
            let light = || f64::from(d2) * weight <= SLIGHT * totals[nearest as usize];
            if d2 <= close * close || (!room && (d2 <= FAR * FAR || light())) {
                joined.push(nearest);
                totals[nearest as usize] += weight;
            } else if room {
                let id = totals.len() as u32;
                seeds.push(id, &features);
                joined.push(id);
                totals.push(weight);
            } else {
                joined.push(u32::MAX);
            }
        }

        let dropped: f64 = joined.iter().zip(&weights).filter(|(at, _)| **at == u32::MAX).map(|(_, w)| w).sum();
        let mut members: Vec<Vec<u32>> = vec![Vec::new(); totals.len()];
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
                    (Node::merge(nu, shares), top + total.ln())
                }
            })
            .collect();
        let kept: f64 = totals.iter().sum();
        (nodes, edges, kept / (kept + dropped))
    }
}

/// Degrees of freedom before shot `i`.
fn nu(points: &Points<'_>, i: usize) -> f64 {
    points.prior.nu() + i as f64
}

/// The node and log weight after shot `i` in a row with `u` and of a class.
#[inline]
fn after(points: &Points<'_>, i: usize, node: &Node, u: f64, class: &ClassShape) -> (Node, f64) {
    let z = points.places[i] - class.mean_mm;
    let mut next = *node;
    let x = next.axes[0].take(z.x_mm, u, class.factors[0]);
    let y = next.axes[1].take(z.y_mm, u, class.factors[1]);
    let v = x.v * y.v;
    next.psi = next.psi + Sym2::new(x.d * x.d / x.v, x.d * y.d / v.sqrt(), y.d * y.d / y.v);
    next.log_det = next.psi.det().ln();
    let nu = nu(points, i);
    (next, 0.5 * (nu * node.log_det - (nu + 1.0) * next.log_det - v.ln()))
}

/// Drops what is too light to matter and returns the share that is kept. Nodes that are not yet hypotheses of their
/// pattern are compared among themselves, since their evidence is still to come.
fn drop_lightest(children: &mut Vec<Child>) -> f64 {
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
