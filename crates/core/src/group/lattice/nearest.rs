//! Which of the nodes says nearly the same as a child does.

use super::node::Node;
use crate::group::Pattern;

/// Numbers of a node that are compared; the first [`OF_ONE`] are all that patterns of one coefficient have.
pub(super) const FEATURES: usize = 12;
const OF_ONE: usize = 8;

/// Seeds that are compared in one go.
const LANES: usize = 8;

/// Turns a node into numbers that are each in units of their own posterior standard deviation.
pub(super) struct Scale {
    best: Node,
    /// For each axis and coordinate.
    place: [[f64; 3]; 2],
    cross: f64,
    log_scale: f64,
    cross_scale: f64,
    label_scale: f64,
}

impl Scale {
    /// Against the likeliest node, with `nu` degrees of freedom.
    pub fn new(nu: f64, best: &Node) -> Self {
        let node = *best;
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
        }
    }

    pub fn features(&self, node: &Node) -> [f32; FEATURES] {
        // (a - b) / mean of both stands for ln(a / b).
        let log_ratio = |a: f64, b: f64| 2.0 * (a - b) / (a + b);
        let best = &self.best;
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
            place(0, 2),
            place(1, 2),
            place(0, 1),
            place(1, 1),
            variance(3),
            node.second * self.label_scale,
        ]
        .map(|x| x as f32)
    }
}

/// Seeds of one generation, so laid out that several are compared at once: for each feature the numbers of [`LANES`] seeds.
#[derive(Default)]
pub(super) struct Seeds {
    blocks: Vec<[[f32; LANES]; FEATURES]>,
    /// Index of each among all seeds.
    ids: Vec<u32>,
}

impl Seeds {
    pub fn len(&self) -> usize {
        self.ids.len()
    }

    pub fn push(&mut self, id: u32, features: &[f32; FEATURES]) {
        let lane = self.ids.len() % LANES;
        if lane == 0 {
            // Nothing is near an empty lane.
            self.blocks.push([[f32::MAX.sqrt() / 8.0; LANES]; FEATURES]);
        }
        if let Some(block) = self.blocks.last_mut() {
            block.iter_mut().zip(features).for_each(|(to, x)| to[lane] = *x);
        }
        self.ids.push(id);
    }

    /// `(squared distance, id)`: of the first seed within `close`, or else of the nearest one.
    pub fn nearest(&self, features: &[f32; FEATURES], close: f32, pattern: Pattern) -> (f32, u32) {
        match pattern {
            Pattern::Steady => self.nearest_of::<OF_ONE>(features, close),
            _ => self.nearest_of::<FEATURES>(features, close),
        }
    }

    fn nearest_of<const N: usize>(&self, features: &[f32; FEATURES], close: f32) -> (f32, u32) {
        let close2 = close * close;
        let mut nearest = (f32::INFINITY, 0);
        for (b, block) in self.blocks.iter().enumerate() {
            let mut d2 = [0.0_f32; LANES];
            for (of_seeds, x) in block.iter().zip(features).take(N) {
                for (sum, y) in d2.iter_mut().zip(of_seeds) {
                    let d = y - x;
                    *sum += d * d;
                }
            }
            let least = d2.iter().copied().fold(f32::INFINITY, f32::min);
            if least < nearest.0 {
                let found = if least <= close2 { d2.iter().position(|d| *d <= close2) } else { None };
                let lane = found.or_else(|| d2.iter().position(|d| *d <= least)).unwrap_or(0);
                nearest = (d2[lane], (b * LANES + lane) as u32);
                if found.is_some() {
                    break;
                }
            }
        }
        (nearest.0, self.ids.get(nearest.1 as usize).copied().unwrap_or(0))
    }
}
