//! The expected score of a shot to come as a function of the shift of the sight.

use crate::group::{ClassOdds, Predictive};
use crate::plane::{Point, Sym2};
use crate::score::{Prepared, Scorer, Spot};
use crate::stats::quadrature;

/// How closely a [`Surface`] follows the predictive distribution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Detail {
    /// Parts kept of the mixture for the classes clean, flyer and stray.
    pub(super) parts: [usize; 3],
    /// Parts closer than this, in standard deviations of a clean shot, count as one.
    pub(super) closeness: f64,
    /// Nodes of the gamma mixture that makes a t of normals, for the three classes.
    nodes: [usize; 3],
    /// Whether unequal axes are summed over fewer nodes.
    rough: bool,
}

impl Detail {
    /// For finding the neighbourhood of the best move.
    pub const COARSE: Self = Self { parts: [3, 1, 1], closeness: 0.5, nodes: [3, 2, 1], rough: true };
    /// For choosing among neighbouring moves.
    pub const MEDIUM: Self = Self { parts: [10, 3, 1], closeness: 0.15, nodes: [4, 3, 1], rough: true };
    /// For the figures that are shown: within about 1e-3 points an arrow of the full mixture (measured in the tests).
    pub const FINE: Self = Self { parts: [64, 16, 4], closeness: 0.04, nodes: [8, 5, 3], rough: false };
}

/// The expected score of the next shot as a function of the shift of the sight.
pub struct Surface<'a> {
    atoms: Vec<Atom<'a>>,
    moved: Vec<Atom<'a>>,
}

struct Atom<'a> {
    weight: f64,
    mean: Point,
    spot: Prepared<'a>,
}

impl std::fmt::Debug for Surface<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Surface").field("atoms", &self.atoms.len()).finish_non_exhaustive()
    }
}

impl<'a> Surface<'a> {
    /// For the predictive distribution `next` with class probabilities `odds`; a touch adds `setting_variance` mm^2 an
    /// axis on the face.
    #[must_use]
    pub fn new(scorer: &'a Scorer, next: &Predictive, odds: ClassOdds, setting_variance: f64, detail: &Detail) -> Self {
        let mut surface = Self { atoms: Vec::new(), moved: Vec::new() };
        let mut parts = next.collapsed(detail.parts[0], detail.closeness);
        let shapes = odds.shapes();
        for (k, p_class) in odds.get().into_iter().enumerate() {
            if p_class <= 0.0 {
                continue;
            }
            if k > 0 {
                // A wider class blurs more, so its parts may be coarser: closeness is in clean standard deviations.
                parts = parts.collapsed(detail.parts[k], detail.closeness * narrower(shapes[k].factors).sqrt());
            }
            // A t of `dof` is a normal whose covariance is the scale over a gamma(dof/2, rate dof/2) precision.
            let rule = quadrature::gamma(detail.nodes[k], next.dof() / 2.0);
            for part in &parts.parts {
                for row in part.processes() {
                    let scale = next.scale_of(part, row, shapes[k].factors);
                    for (x, w) in rule.nodes.iter().zip(&rule.weights) {
                        let weight = p_class * part.weight * row.share * w;
                        if weight < 1e-7 {
                            continue;
                        }
                        let cov = scale * (next.dof() / (2.0 * x));
                        let atom = |cov| {
                            let spot = if detail.rough { Spot::new(cov).roughly() } else { Spot::new(cov) };
                            Atom { weight, mean: row.mean + shapes[k].mean_mm, spot: scorer.prepare(&spot) }
                        };
                        surface.atoms.push(atom(cov));
                        if setting_variance > 0.0 {
                            surface.moved.push(atom(cov + Sym2::isotropic(setting_variance)));
                        }
                    }
                }
            }
        }
        // What was too light to keep is shared out, so that the weights add up to 1.
        let total: f64 = surface.atoms.iter().map(|a| a.weight).sum();
        for atom in surface.atoms.iter_mut().chain(&mut surface.moved) {
            atom.weight /= total;
        }
        surface
    }

    /// Expected score of the next shot with the sight as it is.
    #[must_use]
    pub fn untouched(&self) -> f64 {
        sum(&self.atoms, Point::default())
    }

    /// Expected score of the next shot after a touch of `shift` (mm on the face, in the direction of the pin).
    #[must_use]
    pub fn after(&self, shift: Point) -> f64 {
        sum(if self.moved.is_empty() { &self.atoms } else { &self.moved }, shift)
    }
}

fn narrower([a, b]: [f64; 2]) -> f64 {
    a.min(b)
}

fn sum(atoms: &[Atom<'_>], shift: Point) -> f64 {
    atoms.iter().map(|a| a.weight * a.spot.at(a.mean - shift)).sum()
}
