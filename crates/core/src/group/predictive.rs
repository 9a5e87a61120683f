//! The predictive distribution of the next shot, as a mixture.

use crate::plane::{Point, Sym2};

/// One part of a [`Predictive`]: the posterior of the centre and spread under one hypothesis, or under several that say
/// nearly the same.
///
/// `Sigma ~ inverse-Wishart(nu, psi)` and the centre given `Sigma` is `N(mean, lean Sigma)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Component {
    /// Probability of this part; the parts of a mixture add up to 1.
    pub weight: f64,
    /// Where the process is, in millimetres.
    pub mean: Point,
    /// Variance of the centre in units of the spread: one over the arrows of evidence.
    pub lean: f64,
    /// Scale matrix of the inverse-Wishart, in mm^2.
    pub psi: Sym2,
}

/// The predictive distribution of the next shot: given a class with covariance factor `kappa`, part `j` is a bivariate t
/// with `nu - 1` degrees of freedom about `mean_j`, with scale matrix `(kappa + lean_j) psi_j / (nu - 1)`.
#[derive(Debug, Clone, PartialEq)]
pub struct Predictive {
    /// Degrees of freedom of the inverse-Wishart: `worth + 3 + shots`.
    pub nu: f64,
    /// The parts.
    pub parts: Vec<Component>,
}

impl Predictive {
    /// Degrees of freedom of the bivariate t.
    #[must_use]
    pub fn dof(&self) -> f64 {
        self.nu - 1.0
    }

    /// Density of the next shot at `place`, in mm^-2, for class probabilities `odds` over `kappa`.
    #[must_use]
    pub fn density(&self, place: Point, odds: [f64; 3], kappa: [f64; 3]) -> f64 {
        let dof = self.dof();
        let t = |part: &Component, kappa: f64| {
            let scale = part.psi * ((kappa + part.lean) / dof);
            let q = scale.mahalanobis2(place - part.mean);
            (1.0 + q / dof).powf(-0.5 * dof - 1.0) / (std::f64::consts::TAU * scale.det().sqrt())
        };
        self.parts.iter().map(|p| p.weight * (0..3).map(|k| odds[k] * t(p, kappa[k])).sum::<f64>()).sum()
    }

    /// Mean and covariance of the centre over all parts.
    #[must_use]
    pub fn centre(&self) -> (Point, Sym2) {
        let mut mean = Point::default();
        for p in &self.parts {
            mean = mean + p.mean * p.weight;
        }
        let mut cov = Sym2::default();
        for p in &self.parts {
            cov = cov + (p.psi * (p.lean / (self.nu - 3.0)) + Sym2::outer(p.mean - mean)) * p.weight;
        }
        (mean, cov)
    }

    /// Mean of the spread over all parts.
    #[must_use]
    pub fn spread(&self) -> Sym2 {
        self.parts.iter().fold(Sym2::default(), |sum, p| sum + p.psi * (p.weight / (self.nu - 3.0)))
    }

    /// The same distribution in at most `most` parts. Parts that differ by less than about `closeness` standard deviations
    /// in place, or that share in spread, become one with the same mean, the same mean spread and the same total
    /// variance of the centre; the lightest join their nearest neighbour whatever it takes.
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
        Self { nu: self.nu, parts }
    }
}

/// Running sums of the parts that become one. Places are kept relative to the first part's.
struct Bin {
    seed: Component,
    seed_inverse: Sym2,
    weight: f64,
    offset: Point,
    offset2: Sym2,
    psi: Sym2,
    lean_trace: f64,
}

impl Bin {
    fn new(part: &Component) -> Self {
        let det = part.psi.det();
        let mut bin = Self {
            seed: *part,
            seed_inverse: Sym2::new(part.psi.yy / det, -part.psi.xy / det, part.psi.xx / det),
            weight: 0.0,
            offset: Point::default(),
            offset2: Sym2::default(),
            psi: Sym2::default(),
            lean_trace: 0.0,
        };
        bin.take(part);
        bin
    }

    fn take(&mut self, part: &Component) {
        let d = part.mean - self.seed.mean;
        self.weight += part.weight;
        self.offset = self.offset + d * part.weight;
        self.offset2 = self.offset2 + Sym2::outer(d) * part.weight;
        self.psi = self.psi + part.psi * part.weight;
        self.lean_trace += part.weight * part.lean * part.psi.mean_variance();
    }

    /// Squared distance in standard deviations of a clean shot, places and log spreads together.
    fn distance2(&self, part: &Component, nu: f64) -> f64 {
        let d = part.mean - self.seed.mean;
        let i = &self.seed_inverse;
        let place = (i.xx * d.x_mm * d.x_mm + 2.0 * i.xy * d.x_mm * d.y_mm + i.yy * d.y_mm * d.y_mm) * nu;
        // ln(a / b) is close enough to (a - b) / mean of a and b, and much cheaper.
        let log_ratio = |a: f64, b: f64| 2.0 * (a - b) / (a + b);
        let (dx, dy) = (log_ratio(part.psi.xx, self.seed.psi.xx), log_ratio(part.psi.yy, self.seed.psi.yy));
        place + 0.25 * (dx * dx + dy * dy)
    }

    fn close(&self, nu: f64) -> Component {
        let mean = self.offset * (1.0 / self.weight);
        let psi = self.psi * (1.0 / self.weight);
        let between = (self.offset2 * (1.0 / self.weight) - Sym2::outer(mean)).mean_variance().max(0.0);
        let lean = (self.lean_trace / self.weight + between * (nu - 3.0)) / psi.mean_variance();
        Component { weight: self.weight, mean: self.seed.mean + mean, lean, psi }
    }
}
