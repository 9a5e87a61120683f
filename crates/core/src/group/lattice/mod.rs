//! The search for strings of more than [`EXACT_SHOTS`](super::EXACT_SHOTS) shots.
//!
//! Each pattern is searched by itself, shot by shot. A node stands for all hypotheses on the shots so far that led to it;
//! its children are the classes (and labels, or the jump) of the next shot. When there are more children than the budget,
//! those that say nearly the same (same place, spread and evidence within a fraction of their own uncertainty) become one
//! node with the sum of their weights, their mean place and spread and the variance of both: the design keeps only the best, but a string
//! of 72 shots has some 2^30 hypotheses that matter a little each, and dropping them loses most of the probability, while
//! merging loses almost none. What is dropped all the same is counted. Walking the lattice backwards then gives every
//! shot its class, exact for the merged lattice.

mod memory;
mod nearest;
mod node;
mod search;

pub use memory::Memory;

use search::Found;

use super::evidence::log_constant;
use super::exact::rows;
use super::predictive::Component;
use super::tally::Tally;
use super::{Pattern, Points, Reading};
use crate::stats::log_sum;

/// How hard to search.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Effort {
    /// For one set of exact positions: patterns that turn out to matter are searched again with more nodes.
    Full,
    /// For a long string: only the patterns that may be the answer are searched again.
    Long,
    /// For one of many sets of positions that calls allow, with so many shots.
    Light(usize),
}

impl Effort {
    /// Nodes kept at shot `i` in the first pass: the fewer the more shots have told already.
    fn budget(self, i: usize) -> usize {
        let full = |shots: usize| (1000 / shots.max(1)).clamp(24, 72);
        match self {
            Self::Full => full(i + 1),
            Self::Long => 12,
            Self::Light(n) => full(n) / 2,
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

    /// A further pass doubles the budget while a pattern still drops more than this.
    const BEARABLE: f64 = 5e-4;
}

/// Searches every pattern allowed, those that matter as hard as they deserve; returns the patterns, each with the factor of its
/// last search.
fn search_all(points: &Points<'_>, effort: Effort, memory: &mut Memory) -> Vec<(Pattern, usize)> {
    let n = points.places.len();
    let log_odds = points.prior.patterns().log(n);
    let bases = points.prior.bases();
    let allowed = || Pattern::ALL.into_iter().filter(|p| n >= p.allowed_from());
    let log_weights: Vec<f64> =
        allowed().map(|p| memory.search(points, &bases, p, effort, 1).log_total + log_odds[p as usize]).collect();
    let log_total = log_sum(log_weights.iter().copied());
    let mut searched = Vec::with_capacity(log_weights.len());
    for (pattern, log_weight) in allowed().zip(&log_weights) {
        let p = (log_weight - log_total).exp();
        let deserves = match effort {
            Effort::Full => p >= Effort::SECOND_FROM,
            Effort::Long => p >= Effort::LONG_FROM,
            Effort::Light(_) => false,
        };
        let mut factor = 1;
        if deserves || effort == Effort::Full {
            factor = if deserves { Effort::second_factor(pattern, p) } else { 1 };
            let dropped = memory.search(points, &bases, pattern, effort, factor).dropped;
            if p * dropped > Effort::BEARABLE {
                factor *= 2;
                memory.search(points, &bases, pattern, effort, factor);
            }
        }
        searched.push((pattern, factor));
    }
    searched
}

/// Reads `points`; what `memory` knows of them is not searched again.
pub(super) fn read(points: &Points<'_>, effort: Effort, memory: &mut Memory) -> Reading {
    let n = points.places.len();
    let log_odds = points.prior.patterns().log(n);
    memory.turn_to(points);
    memory.keep(effort);
    let searched = search_all(points, effort, memory);
    let found: Vec<Found<'_>> = searched.iter().filter_map(|(p, factor)| memory.found(*p, effort, *factor)).collect();
    let log_total = log_sum(found.iter().map(|s| s.log_total + log_odds[s.pattern() as usize]));
    let mut tally = Tally::new(n, points.prior.nu() + n as f64, points.end);
    let mut p_class = vec![[0.0; 3]; n];
    let mut pattern = [0.0; 4];
    let mut log_evidence = [f64::NEG_INFINITY; 4];
    let mut other_group = vec![0.0; n];
    let mut jump_before = vec![0.0; n];
    let mut dropped_mass = 0.0;
    for s in &found {
        let i = s.pattern() as usize;
        let p = (s.log_total + log_odds[i] - log_total).exp();
        pattern[i] = p;
        log_evidence[i] = s.log_total + log_constant(points.prior.nu(), n);
        dropped_mass += p * s.dropped;
        let mut mass = vec![0.0; s.width()];
        for (at, node, m) in s.last() {
            mass[at] = m;
            if m * p > 1e-12 {
                let rows = rows(s.pattern(), n, node.good[0], node.good[1], &node.axes);
                tally.add(m * p, node.psi * (m * p), &rows);
                tally.part(Component { weight: m * p, psi: node.psi, rows });
            }
        }
        for (shot, step) in s.search.steps.iter().enumerate().rev() {
            let mut before = vec![0.0; step.parents];
            for e in &step.edges {
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
