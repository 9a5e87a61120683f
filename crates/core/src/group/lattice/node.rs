//! What stands for hypotheses that say the same, and how one shot leads from one to the next.

use crate::group::axis::Axis;
use crate::plane::Sym2;

/// All hypotheses on the shots so far that led here.
#[derive(Debug, Clone, Copy)]
pub(super) struct Node {
    pub axes: [Axis; 2],
    pub psi: Sym2,
    /// Log determinant of `psi`.
    pub log_det: f64,
    /// Whether this is not yet a hypothesis of its pattern: `split` with one group, `jumped` before the jump.
    pub unborn: bool,
    /// Shots in the second group (`split`), or since the jump (`jumped`); a mean where paths were merged.
    pub second: f64,
    /// Shots not marked bad in the first and in the second group.
    pub good: [f64; 2],
}

impl Node {
    /// The node that stands for `members`, `(node, share)` with shares adding up to 1: the same mean place and spread, and the
    /// same total variance of the place.
    pub fn merge<'a>(nu: f64, members: impl Iterator<Item = (&'a Self, f64)> + Clone) -> Self {
        let empty = Axis { m: [0.0; 3], p: [0.0; 6] };
        let mut node =
            Self { axes: [empty; 2], psi: Sym2::default(), log_det: 0.0, unborn: false, second: 0.0, good: [0.0; 2] };
        for (n, share) in members.clone() {
            for (to, from) in node.axes.iter_mut().zip(&n.axes) {
                to.m.iter_mut().zip(from.m).for_each(|(to, m)| *to += share * m);
            }
            node.psi = node.psi + n.psi * share;
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
pub(super) struct Choice {
    pub class: u8,
    pub other: bool,
    pub jump: bool,
}

/// A node after one more shot, before those that say the same are merged.
pub(super) struct Child {
    pub node: Node,
    pub log_weight: f64,
    pub parent: u32,
    pub choice: Choice,
}

/// One way into a node.
#[derive(Debug)]
pub(super) struct Edge {
    pub parent: u32,
    pub node: u32,
    pub choice: Choice,
    /// Share of the node's weight that came this way.
    pub share: f64,
}
