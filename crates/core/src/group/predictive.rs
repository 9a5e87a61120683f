//! The predictive distribution of the shots to come, as a mixture.

use super::{ClassOdds, ClassShape};
use crate::plane::{Point, Sym2};

/// Where a shot to come belongs: one process, or one of the two that take turns.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Row {
    /// Probability that a shot to come is of this process; those of a part add up to 1.
    pub share: f64,
    /// Where the process is, in millimetres.
    pub mean: Point,
    /// Variance of its centre along each axis in units of the spread: one over the arrows of evidence.
    pub lean: [f64; 2],
}

/// One part of a [`Predictive`]: the posterior of centre and spread under one hypothesis, or under several that say nearly
/// the same.
///
/// `Sigma ~ inverse-Wishart(nu, psi)`; a shot to come is of one of the `rows`, whose centre given `Sigma` is normal about
/// `mean` with each axis' variance `lean` times that of the spread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Component {
    /// Probability of this part; the parts of a mixture add up to 1.
    pub weight: f64,
    /// Scale matrix of the inverse-Wishart, in mm^2.
    pub psi: Sym2,
    /// The processes; the second has no share but where two take turns.
    pub rows: [Row; 2],
}

impl Component {
    /// A part of one process.
    #[must_use]
    pub fn single(weight: f64, mean: Point, lean: [f64; 2], psi: Sym2) -> Self {
        Self { weight, psi, rows: [Row { share: 1.0, mean, lean }, Row::default()] }
    }

    /// The processes that have a share.
    pub fn processes(&self) -> impl Iterator<Item = &Row> {
        self.rows.iter().filter(|r| r.share > 0.0)
    }
}

/// The predictive distribution of a shot of an end to come: given a class with covariance factor `kappa`, process `r` of part
/// `j` is a bivariate t with `nu - 1` degrees of freedom about its mean, with the scale matrix `psi_j / (nu - 1)` stretched
/// along each axis by the root of `kappa + lean + end`.
#[derive(Debug, Clone, PartialEq)]
pub struct Predictive {
    /// Degrees of freedom of the inverse-Wishart: `worth + 3 + shots`.
    pub nu: f64,
    /// Variance of the offset that the shots of an end share, along each axis in units of the spread: each end to come draws
    /// its own.
    pub end: [f64; 2],
    /// The parts.
    pub parts: Vec<Component>,
}

impl Predictive {
    /// Degrees of freedom of the bivariate t.
    #[must_use]
    pub fn dof(&self) -> f64 {
        self.nu - 1.0
    }

    /// Scale matrix of the t of a shot of a class with factor `kappa`.
    #[must_use]
    pub fn scale(&self, part: &Component, row: &Row, kappa: f64) -> Sym2 {
        self.scale_of(part, row, [kappa; 2])
    }

    /// The same of a class with a factor for each axis.
    #[must_use]
    pub fn scale_of(&self, part: &Component, row: &Row, factors: [f64; 2]) -> Sym2 {
        let wide = [0, 1].map(|c| (factors[c] + row.lean[c] + self.end[c]).sqrt());
        part.psi.stretched(wide) * (1.0 / self.dof())
    }

    /// Density of a shot to come at `place`, in mm^-2, for class probabilities `odds` over `kappa`.
    #[must_use]
    pub fn density(&self, place: Point, odds: [f64; 3], kappa: [f64; 3]) -> f64 {
        self.density_of(place, odds, &kappa.map(ClassShape::round))
    }

    /// The same for a shot of these `odds`, with the archer's own bad shots.
    #[must_use]
    pub fn density_by(&self, place: Point, odds: ClassOdds) -> f64 {
        self.density_of(place, odds.get(), &odds.shapes())
    }

    /// The same for classes of those shapes.
    pub(super) fn density_of(&self, place: Point, odds: [f64; 3], shapes: &[ClassShape; 3]) -> f64 {
        let dof = self.dof();
        let t = |part: &Component, row: &Row, shape: &ClassShape| {
            let scale = self.scale_of(part, row, shape.factors);
            let q = scale.mahalanobis2(place - row.mean - shape.mean_mm);
            (1.0 + q / dof).powf(-0.5 * dof - 1.0) / (std::f64::consts::TAU * scale.det().sqrt())
        };
        let classes = |p: &Component, r: &Row| {
            (0..3).filter(|k| odds[*k] > 0.0).map(|k| odds[k] * t(p, r, &shapes[k])).sum::<f64>()
        };
        self.parts.iter().map(|p| p.weight * p.processes().map(|r| r.share * classes(p, r)).sum::<f64>()).sum()
    }

    /// Mean and covariance over all parts of the centre of a shot to come, without the offset of its end.
    #[must_use]
    pub fn centre(&self) -> (Point, Sym2) {
        let rows = || self.parts.iter().flat_map(|p| p.processes().map(move |r| (p.weight * r.share, p, r)));
        let mean = rows().fold(Point::default(), |sum, (w, _, r)| sum + r.mean * w);
        let cov = rows().fold(Sym2::default(), |sum, (w, p, r)| {
            let own = p.psi.stretched(r.lean.map(f64::sqrt)) * (1.0 / (self.nu - 3.0));
            sum + (own + Sym2::outer(r.mean - mean)) * w
        });
        (mean, cov)
    }

    /// Mean of the spread over all parts.
    #[must_use]
    pub fn spread(&self) -> Sym2 {
        self.parts.iter().fold(Sym2::default(), |sum, p| sum + p.psi * (p.weight / (self.nu - 3.0)))
    }

    /// The same distribution in at most `most` parts. Parts that differ by less than about `closeness` standard deviations
    /// in place, or that share in spread, become one with the same mean, the same mean spread and the same total
    /// variance of the centre; the lightest join their nearest neighbour whatever it takes. Parts of one process and parts of
    /// two are kept apart as long as there is room for both.
    #[must_use]
    pub fn collapsed(&self, most: usize, closeness: f64) -> Self {
        // Parts too light to matter do not deserve a bin or a long search: together they weigh less than 1e-2.
        let light = 1e-2 / self.parts.len().max(1) as f64;
        let mut order: Vec<u32> = (0..self.parts.len() as u32).collect();
        order.sort_unstable_by_key(|i| self.parts[*i as usize].weight <= light);
        let heavy = order.partition_point(|i| self.parts[*i as usize].weight > light);
        order[..heavy]
            .sort_unstable_by(|a, b| self.parts[*b as usize].weight.total_cmp(&self.parts[*a as usize].weight));
        let mut bins: Vec<Bin> = Vec::with_capacity(most);
        for (i, part) in order.iter().map(|i| &self.parts[*i as usize]).enumerate() {
            let candidates = if i < heavy { bins.len() } else { bins.len().min(4) };
            let nearest = bins[..candidates]
                .iter()
                .enumerate()
                .map(|(i, bin)| (i, bin.distance2(part, self.nu)))
                .min_by(|a, b| a.1.total_cmp(&b.1));
            match nearest {
                Some((at, d2)) if d2 <= closeness * closeness || bins.len() >= most || i >= heavy => {
                    bins[at].take(part)
                }
                _ => bins.push(Bin::new(part)),
            }
        }
        let mut parts: Vec<Component> = bins.iter().map(|b| b.close(self.nu)).collect();
        parts.sort_by(|a, b| b.weight.total_cmp(&a.weight));
        Self { nu: self.nu, end: self.end, parts }
    }
}

/// A part of two processes joins one of a single process, or the other way about, only when nothing else is left.
const OTHER_KIND: f64 = 1e6;

/// Running sums of the parts that become one. Places are kept relative to the first part's.
struct Bin {
    seed: Component,
    seed_inverse: Sym2,
    weight: f64,
    psi: Sym2,
    rows: [RowSums; 2],
}

#[derive(Clone, Copy, Default)]
struct RowSums {
    share: f64,
    offset: Point,
    /// Second moments along each axis.
    offset2: [f64; 2],
    lean: [f64; 2],
}

impl RowSums {
    fn take(&mut self, weight: f64, row: &Row, seed: Point, psi: Sym2) {
        let w = weight * row.share;
        let d = row.mean - seed;
        self.share += w;
        self.offset = self.offset + d * w;
        self.offset2[0] += w * d.x_mm * d.x_mm;
        self.offset2[1] += w * d.y_mm * d.y_mm;
        self.lean[0] += w * row.lean[0] * psi.xx;
        self.lean[1] += w * row.lean[1] * psi.yy;
    }
}

impl Bin {
    fn new(part: &Component) -> Self {
        let det = part.psi.det();
        let mut bin = Self {
            seed: *part,
            seed_inverse: Sym2::new(part.psi.yy / det, -part.psi.xy / det, part.psi.xx / det),
            weight: 0.0,
            psi: Sym2::default(),
            rows: [RowSums::default(); 2],
        };
        bin.take(part);
        bin
    }

    fn take(&mut self, part: &Component) {
        self.weight += part.weight;
        self.psi = self.psi + part.psi * part.weight;
        let two = self.seed.rows[1].share > 0.0;
        for (i, row) in part.rows.iter().enumerate() {
            if row.share > 0.0 {
                // Into a single process goes all; of two each joins its own.
                let into = if two { i } else { 0 };
                self.rows[into].take(part.weight, row, self.seed.rows[into].mean, part.psi);
            }
        }
    }

    /// Squared distance in standard deviations of a clean shot, places and log spreads together.
    fn distance2(&self, part: &Component, nu: f64) -> f64 {
        let i = &self.seed_inverse;
        let place = |a: &Row, b: &Row| {
            let d = a.mean - b.mean;
            (i.xx * d.x_mm * d.x_mm + 2.0 * i.xy * d.x_mm * d.y_mm + i.yy * d.y_mm * d.y_mm) * nu
        };
        // ln(a / b) is close enough to (a - b) / mean of a and b, and much cheaper.
        let log_ratio = |a: f64, b: f64| 2.0 * (a - b) / (a + b);
        let (dx, dy) = (log_ratio(part.psi.xx, self.seed.psi.xx), log_ratio(part.psi.yy, self.seed.psi.yy));
        let shape = 0.25 * (dx * dx + dy * dy);
        let (a, b) = (&self.seed.rows, &part.rows);
        match (a[1].share > 0.0, b[1].share > 0.0) {
            (false, false) => place(&a[0], &b[0]) + shape,
            (true, true) => {
                let share = a[0].share - b[0].share;
                place(&a[0], &b[0]) + place(&a[1], &b[1]) + share * share + shape
            }
            _ => OTHER_KIND + place(&a[0], &b[0]) + shape,
        }
    }

    fn close(&self, nu: f64) -> Component {
        let psi = self.psi * (1.0 / self.weight);
        let total: f64 = self.rows.iter().map(|r| r.share).sum();
        let mut rows = [Row::default(); 2];
        for (i, sums) in self.rows.iter().enumerate() {
            if sums.share > 0.0 {
                let k = 1.0 / sums.share;
                let mean = sums.offset * k;
                let between = |second: f64, first: f64| (second * k - first * first).max(0.0) * (nu - 3.0);
                let lean = [
                    (sums.lean[0] * k + between(sums.offset2[0], mean.x_mm)) / psi.xx,
                    (sums.lean[1] * k + between(sums.offset2[1], mean.y_mm)) / psi.yy,
                ];
                rows[i] = Row { share: sums.share / total, mean: self.seed.rows[i].mean + mean, lean };
            }
        }
        Component { weight: self.weight, psi, rows }
    }
}
