//! The expected score of a shot to come as a function of the shift of the sight.

use crate::group::{ClassOdds, ClassShape, Predictive};
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
    /// How unequal axes are summed.
    smear: Smear,
}

/// Over how many nodes unequal axes are summed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Smear {
    Full,
    Rough,
    Coarse,
}

impl Smear {
    fn of(self, cov: Sym2) -> Spot {
        let spot = Spot::new(cov);
        match self {
            Self::Full => spot,
            Self::Rough => spot.roughly(),
            Self::Coarse => spot.coarsely(),
        }
    }
}

impl Detail {
    /// For finding the neighbourhood of the best move.
    pub const COARSE: Self = Self { parts: [3, 1, 1], closeness: 0.5, nodes: [3, 2, 1], smear: Smear::Rough };
    /// For choosing among neighbouring moves.
    pub(super) const MEDIUM: Self = Self { parts: [10, 3, 1], closeness: 0.15, nodes: [4, 3, 1], smear: Smear::Coarse };
    /// Many parts, each followed roughly.
    pub(super) const MANY: Self = Self { parts: [64, 16, 4], closeness: 0.04, nodes: [3, 2, 1], smear: Smear::Coarse };
    /// Few parts, each followed closely.
    const FEW: Self = Self { parts: [6, 2, 1], closeness: 0.2, nodes: [8, 5, 3], smear: Smear::Full };
    /// The same parts, each followed as in [`Detail::MANY`].
    const FEW_ROUGH: Self = Self { nodes: Self::MANY.nodes, smear: Self::MANY.smear, ..Self::FEW };
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
        Self::of(
            scorer,
            &Parts::of(next.collapsed(detail.parts[0], detail.closeness), odds, detail),
            setting_variance,
            detail,
        )
    }

    fn of(scorer: &'a Scorer, parts: &Parts, setting_variance: f64, detail: &Detail) -> Self {
        let mut surface = Self { atoms: Vec::new(), moved: Vec::new() };
        for (k, p_class, shape, next) in &parts.0 {
            // A t of `dof` is a normal whose covariance is the scale over a gamma(dof/2, rate dof/2) precision.
            let rule = quadrature::gamma(detail.nodes[*k], next.dof() / 2.0);
            for part in &next.parts {
                for row in part.processes() {
                    let scale = next.scale_of(part, row, shape.factors);
                    for (x, w) in rule.nodes.iter().zip(&rule.weights) {
                        let weight = p_class * part.weight * row.share * w;
                        if weight < 1e-7 {
                            continue;
                        }
                        let cov = scale * (next.dof() / (2.0 * x));
                        let atom = |cov| {
                            let spot = scorer.prepare(&detail.smear.of(cov));
                            Atom { weight, mean: row.mean + shape.mean_mm, spot }
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

/// The predictive distribution in few parts for each class that occurs: its number, its probability, its shape, and the parts.
struct Parts(Vec<(usize, f64, ClassShape, Predictive)>);

impl Parts {
    /// From the parts `first` of the first class.
    fn of(first: Predictive, odds: ClassOdds, detail: &Detail) -> Self {
        let mut all: Vec<(usize, f64, ClassShape, Predictive)> = Vec::with_capacity(3);
        let mut first = Some(first);
        for (k, (p, shape)) in odds.get().into_iter().zip(odds.shapes()).enumerate().filter(|(_, (p, _))| *p > 0.0) {
            let parts = if k == 0 {
                first.take()
            } else {
                // A wider class blurs more, so its parts may be coarser: closeness is in clean standard deviations.
                let closeness = detail.closeness * narrower(shape.factors).sqrt();
                all.last().map(|a| &a.3).or(first.as_ref()).map(|last| last.collapsed(detail.parts[k], closeness))
            };
            all.extend(parts.map(|parts| (k, p, shape, parts)));
        }
        Self(all)
    }
}

/// The figures that are shown: within about 1e-3 points an arrow of the full mixture (measured in the tests).
///
/// What a close look at a part adds to a rough one is nearly the same for all parts, so it is taken from a few and added to the rough
/// look at many: Giles (2008, "Multilevel Monte Carlo path simulation"), of quadratures instead of draws.
pub(super) struct Figures<'a> {
    many: Surface<'a>,
    few: Surface<'a>,
    few_rough: Surface<'a>,
}

impl<'a> Figures<'a> {
    /// For the predictive distribution `next`, in no more parts than [`Detail::MANY`] has; otherwise as [`Surface::new`].
    pub fn new(scorer: &'a Scorer, next: &Predictive, odds: ClassOdds, setting_variance: f64) -> Self {
        let few = next.collapsed(Detail::FEW.parts[0], Detail::FEW.closeness);
        let (many, few) = (Parts::of(next.clone(), odds, &Detail::MANY), Parts::of(few, odds, &Detail::FEW));
        let of = |parts, detail| Surface::of(scorer, parts, setting_variance, detail);
        Self { many: of(&many, &Detail::MANY), few: of(&few, &Detail::FEW), few_rough: of(&few, &Detail::FEW_ROUGH) }
    }

    /// As [`Surface::untouched`].
    pub fn untouched(&self) -> f64 {
        self.many.untouched() + self.few.untouched() - self.few_rough.untouched()
    }

    /// As [`Surface::after`].
    pub fn after(&self, shift: Point) -> f64 {
        self.many.after(shift) + self.few.after(shift) - self.few_rough.after(shift)
    }
}

fn narrower([a, b]: [f64; 2]) -> f64 {
    a.min(b)
}

fn sum(atoms: &[Atom<'_>], shift: Point) -> f64 {
    atoms.iter().map(|a| a.weight * a.spot.at(a.mean - shift)).sum()
}
