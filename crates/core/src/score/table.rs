//! Expected scores fast: a table of the isotropic normal on one face, everything else composed from it.
//!
//! `F(d, sigma)`, the expected score of an isotropic normal of standard deviation `sigma` at distance `d` from the centre,
//! is tabulated with its derivatives along `d`, `ln sigma` and both, and interpolated by bicubic Hermite patches. A
//! covariance with unequal axes is the isotropic normal of its minor axis smeared along the major one: a Gauss-Hermite
//! sum over the table. A bivariate t is a mixture of normals over a gamma-distributed precision: a Gauss-Laguerre sum.

use std::sync::OnceLock;

use crate::face::Face;
use crate::plane::{Point, Sym2};
use crate::stats::bessel;
use crate::stats::quadrature::{self, Rule};
use crate::units::Shaft;

/// Smallest standard deviation in the table, in millimetres; a narrower one is taken as this.
const SIGMA_MIN_MM: f64 = 0.25;
/// Step of the table in `ln sigma`.
const LOG_STEP: f64 = 0.08;
/// Number of rows: up to about 8 m of standard deviation; a wider one is scaled down to it.
const ROWS: usize = 132;
/// Columns a standard deviation.
const COLUMNS_A_SIGMA: f64 = 5.0;
/// How the smearing along the major axis is summed: up to this much extra spread, in standard deviations of the minor axis,
/// by a Gauss-Hermite rule of so many nodes.
const GAUSS: [(f64, usize); 5] = [(0.003, 1), (0.25, 3), (0.5, 5), (0.8, 7), (1.25, 11)];
/// Beyond, by even steps of 1.2 minor standard deviations.
const EVENLY: [f64; 7] = [1.7, 2.3, 3.2, 5.0, 8.0, 13.0, 30.0];
/// Beyond this many standard deviations outside the face the expected score is nothing (below 1e-16 points).
const REACH_SIGMAS: f64 = 8.5;

/// Value and derivative along `ln sigma`, then both differentiated along `d`; a step of the table is the unit of `ln sigma`, a column
/// that of `d`.
type Entry = [f64; 4];

struct Row {
    columns_a_mm: f64,
    entries: Vec<Entry>,
}

/// Expected scores on one face for one shaft.
///
/// Absolute error below 5e-5 points for the round normal (measured in the tests against [`super::expected_normal`]). Rows are
/// filled on first use, so a scorer is cheap to make and gets faster; it can be shared between threads.
pub struct Scorer {
    circles: Vec<(f64, f64)>,
    outer_mm: f64,
    rows: Vec<OnceLock<Row>>,
    smear: Vec<Rule>,
}

/// One normal, prepared for many evaluations at different places.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// Standard deviation along the narrow axis, in millimetres.
    minor_sd_mm: f64,
    /// What the wide axis has beyond it, as a vector along that axis, in millimetres.
    extra: Point,
    rule: u8,
}

impl Spot {
    /// For a normal of covariance `cov` (mm^2).
    #[must_use]
    pub fn new(cov: Sym2) -> Self {
        let half_difference = 0.5 * (cov.xx - cov.yy);
        let radius = (half_difference * half_difference + cov.xy * cov.xy).sqrt();
        let major = cov.mean_variance() + radius;
        let minor = (cov.det() / major).max(SIGMA_MIN_MM * SIGMA_MIN_MM);
        let ratio = ((major - minor).max(0.0) / minor).sqrt();
        // The expected score is smooth on the scale of the minor axis: the more of those the major one spans, the more
        // nodes. Bounds measured in the tests.
        let bounds = GAUSS.iter().map(|g| g.0).chain(EVENLY);
        let rule = bounds.into_iter().position(|r| ratio < r).unwrap_or(GAUSS.len() + EVENLY.len() - 1);
        if rule == 0 {
            return Self { minor_sd_mm: major.max(minor).midpoint(minor).sqrt(), extra: Point::default(), rule: 0 };
        }
        // The major axis bisects the angle of (half_difference, xy); the half-angle formulae spare the trigonometry.
        let cos = (0.5 * (1.0 + half_difference / radius)).max(0.0).sqrt();
        let sin = (0.5 * (1.0 - half_difference / radius)).max(0.0).sqrt().copysign(cov.xy);
        let extra = (major - minor).max(0.0).sqrt();
        Self { minor_sd_mm: minor.sqrt(), extra: Point::new(extra * cos, extra * sin), rule: rule as u8 }
    }

    /// For a round normal with the mean variance of `cov` (mm^2): for what is blurred anyway.
    #[must_use]
    pub fn round(cov: Sym2) -> Self {
        let minor_sd_mm = cov.mean_variance().max(SIGMA_MIN_MM * SIGMA_MIN_MM).sqrt();
        Self { minor_sd_mm, extra: Point::default(), rule: 0 }
    }

    /// The same, summed over fewer nodes: for shares so small that a tenth of their error does not show.
    #[must_use]
    pub fn roughly(mut self) -> Self {
        self.rule = if self.rule > 2 { self.rule - 2 } else { self.rule };
        self
    }
}

impl Spot {
    /// The same, summed over three nodes where the axes differ little: where its error is made up for elsewhere.
    #[must_use]
    pub fn coarsely(self) -> Self {
        if (self.rule as usize) < GAUSS.len() { Self { rule: self.rule.min(1), ..self } } else { self.roughly() }
    }
}

impl std::fmt::Debug for Scorer {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Scorer").field("outer_mm", &self.outer_mm).finish_non_exhaustive()
    }
}

impl Scorer {
    /// A scorer for `face` and arrows of `shaft`.
    #[must_use]
    pub fn new(face: &Face, shaft: Shaft) -> Self {
        let circles = face
            .zones
            .iter()
            .enumerate()
            .map(|(i, zone)| {
                let next = face.zones.get(i + 1).map_or(0, |z| z.value);
                (zone.radius_mm + shaft.radius_mm(), f64::from(zone.value - next))
            })
            .collect();
        Self::of(circles, face.outer_radius_mm() + shaft.radius_mm())
    }

    /// The probability of falling within `radius_mm` of the origin, as an expected score.
    pub(super) fn circle(radius_mm: f64) -> Self {
        Self::of(vec![(radius_mm, 1.0)], radius_mm)
    }

    fn of(circles: Vec<(f64, f64)>, outer_mm: f64) -> Self {
        Self {
            circles,
            outer_mm,
            rows: (0..ROWS).map(|_| OnceLock::new()).collect(),
            smear: GAUSS
                .iter()
                .map(|(_, n)| quadrature::normal(*n))
                .chain(EVENLY.iter().map(|ratio| quadrature::normal_evenly(1.2 / ratio)))
                .collect(),
        }
    }

    /// Expected score of a shot that is normal about `mean` (mm, face frame).
    #[must_use]
    pub fn expected(&self, mean: Point, spot: &Spot) -> f64 {
        self.prepare(spot).at(mean)
    }

    /// Looks up what every evaluation of `spot` needs, once.
    #[must_use]
    pub fn prepare(&self, spot: &Spot) -> Prepared<'_> {
        Prepared { row: self.locate(spot.minor_sd_mm), extra: spot.extra, rule: &self.smear[spot.rule as usize] }
    }

    /// Expected score of an isotropic normal of standard deviation `sigma_mm`, `d_mm` from the centre.
    #[must_use]
    pub fn isotropic(&self, d_mm: f64, sigma_mm: f64) -> f64 {
        self.locate(sigma_mm).at(d_mm)
    }

    /// Expected score of a shot that lands exactly `d_mm` from the centre.
    #[must_use]
    pub fn exact(&self, d_mm: f64) -> f64 {
        self.circles.iter().filter(|(r, _)| d_mm <= *r).map(|(_, v)| v).sum()
    }

    fn locate(&self, sigma_mm: f64) -> Located<'_> {
        const LAST: f64 = (ROWS - 2) as f64;
        let wanted = ((sigma_mm / SIGMA_MIN_MM).ln() / LOG_STEP).max(0.0);
        let at = wanted.min(LAST);
        let shrink = if wanted > LAST { ((LAST - wanted) * LOG_STEP).exp() } else { 1.0 };
        let i = (at as usize).min(ROWS - 2);
        let t = at - i as f64;
        Located { lower: self.row(i), upper: self.row(i + 1), hermite: hermite(t), shrink }
    }

    fn row(&self, i: usize) -> &Row {
        self.rows[i].get_or_init(|| self.fill(SIGMA_MIN_MM * (i as f64 * LOG_STEP).exp()))
    }

    fn fill(&self, sigma: f64) -> Row {
        let step_mm = sigma / COLUMNS_A_SIGMA;
        let columns = ((self.outer_mm + REACH_SIGMAS * sigma) / step_mm).ceil() as usize + 2;
        let mut entries = vec![[0.0; 4]; columns];
        for &(radius, value) in &self.circles {
            // Nothing changes before `first` and all is over after `last`; in between the probability is carried from column
            // to column by the trapezoid rule with its end correction, h^2/12 times the change of slope.
            let first = (((radius - REACH_SIGMAS * sigma) / step_mm).ceil().max(0.0)) as usize;
            let last = (((radius + REACH_SIGMAS * sigma) / step_mm) as usize).min(columns - 1);
            for entry in &mut entries[..first.min(columns)] {
                entry[0] += value;
            }
            let mut p = if first == 0 { -(-0.5 * (radius / sigma).powi(2)).exp_m1() } else { 1.0 };
            let mut before: Option<Slopes> = None;
            for (j, entry) in entries.iter_mut().enumerate().take(last + 1).skip(first) {
                let s = Slopes::new(j as f64 * step_mm, radius, sigma);
                if let Some(b) = before {
                    p += step_mm * (0.5 * (b.d + s.d) + step_mm / 12.0 * (b.dd - s.dd));
                }
                entry[0] += value * p;
                entry[1] += value * s.log_sigma * LOG_STEP;
                entry[2] += value * s.d * step_mm;
                entry[3] += value * s.both * LOG_STEP * step_mm;
                before = Some(s);
            }
        }
        Row { columns_a_mm: 1.0 / step_mm, entries }
    }
}

/// A [`Spot`] on a [`Scorer`].
pub struct Prepared<'a> {
    row: Located<'a>,
    extra: Point,
    rule: &'a Rule,
}

impl std::fmt::Debug for Prepared<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Prepared").field("extra", &self.extra).finish_non_exhaustive()
    }
}

impl Prepared<'_> {
    /// Expected score of a shot that is normal about `mean` (mm, face frame).
    #[must_use]
    #[inline]
    pub fn at(&self, mean: Point) -> f64 {
        let radius = |p: Point| (p.x_mm * p.x_mm + p.y_mm * p.y_mm).sqrt();
        let mut total = 0.0;
        for (x, w) in self.rule.nodes.iter().zip(&self.rule.weights) {
            total += w * self.row.at(radius(mean + self.extra * *x));
        }
        total
    }
}

struct Located<'a> {
    lower: &'a Row,
    upper: &'a Row,
    hermite: [f64; 4],
    shrink: f64,
}

impl Located<'_> {
    #[inline]
    fn at(&self, d_mm: f64) -> f64 {
        let d = d_mm * self.shrink;
        let (h, lower, upper) = (&self.hermite, self.lower.at(d), self.upper.at(d));
        let value = h[0] * lower[0] + h[1] * lower[1] + h[2] * upper[0] + h[3] * upper[1];
        // Far wider than the face the expected score falls with the square of the standard deviation.
        value * self.shrink * self.shrink
    }
}

/// The cubic Hermite basis at `t` in [0, 1]: value and slope at 0, value and slope at 1.
fn hermite(t: f64) -> [f64; 4] {
    let u = 1.0 - t;
    [(1.0 + 2.0 * t) * u * u, t * u * u, t * t * (3.0 - 2.0 * t), -t * t * u]
}

impl Row {
    /// Value and slope along `ln sigma` at `d`.
    #[inline]
    fn at(&self, d: f64) -> [f64; 2] {
        let x = d * self.columns_a_mm;
        let j = x as usize;
        let Some([a, b]) = self.entries.get(j..j + 2) else { return [0.0; 2] };
        let h = hermite(x - j as f64);
        [0, 1].map(|k| h[0] * a[k] + h[1] * a[k + 2] + h[2] * b[k] + h[3] * b[k + 2])
    }
}

/// Derivatives of `P(|z| <= radius)` for an isotropic normal at distance `d`: along `d` once and twice, along `ln sigma`,
/// and along both.
///
/// `P_d = -(R/s^2) E I1(x)`, `P_R = (R/s^2) E I0(x)` with `E = exp(-(R^2 + d^2)/(2 s^2))`, `x = R d / s^2`; `P` depends on
/// `d/s` and `R/s` only, so `s P_s = -(d P_d + R P_R)`.
struct Slopes {
    d: f64,
    dd: f64,
    log_sigma: f64,
    both: f64,
}

impl Slopes {
    fn new(d: f64, radius: f64, sigma: f64) -> Self {
        let s2 = sigma * sigma;
        let x = radius * d / s2;
        let near = (-(radius - d) * (radius - d) / (2.0 * s2)).exp() * radius / s2;
        let (i0, i1) = bessel::scaled(x);
        // I1'(x) = I0 - I1 / x, which tends to 1/2 at 0.
        let i1_slope = if x < 1e-8 { 0.5 } else { i0 - i1 / x };
        let p_d = -near * i1;
        let p_r = near * i0;
        let p_dd = -near * (-d / s2 * i1 + radius / s2 * i1_slope);
        let p_rd = near * (-d / s2 * i0 + radius / s2 * i1);
        Self { d: p_d, dd: p_dd, log_sigma: -(d * p_d + radius * p_r), both: -(p_d + d * p_dd + radius * p_rd) }
    }
}

#[cfg(test)]
mod tests {
    use super::super::expected_normal;
    use super::*;
    use crate::random::Random;

    /// Largest error of the table over random normals whose axes differ by up to `ratio`.
    fn worst(face: &str, ratio: f64, seed: u64) -> f64 {
        let face = Face::named(face).unwrap();
        let shaft = Shaft::default();
        let scorer = Scorer::new(face, shaft);
        let mut random = Random::seeded(seed);
        let mut worst: f64 = 0.0;
        for _ in 0..400 {
            let sd = face.outer_radius_mm() * (0.004_f64.ln() * random.uniform()).exp();
            let (a, b) = (sd, sd * ratio.powf(random.uniform()));
            let (s, c) = (random.uniform() * 3.2).sin_cos();
            let cov = Sym2::new(a * a * c * c + b * b * s * s, (a * a - b * b) * s * c, a * a * s * s + b * b * c * c);
            let reach = face.outer_radius_mm() * random.uniform() * 1.4;
            let (ds, dc) = (random.uniform() * 6.3).sin_cos();
            let mean = Point::new(reach * dc, reach * ds);
            let want = expected_normal(face, shaft, mean, cov).unwrap();
            let got = scorer.expected(mean, &Spot::new(cov));
            worst = worst.max((got - want).abs());
        }
        worst
    }

    #[test]
    fn the_table_is_accurate() {
        for (i, face) in ["122", "80-6", "40-3v-c", "field-40"].iter().enumerate() {
            let round = worst(face, 1.0, i as u64);
            assert!(round < 5e-5, "{face}, round: {round:e}");
            let oblong = worst(face, 3.0, 10 + i as u64);
            assert!(oblong < 3e-4, "{face}, axes up to 1 to 3: {oblong:e}");
            let long = worst(face, 10.0, 20 + i as u64);
            assert!(long < 3e-4, "{face}, axes up to 1 to 10: {long:e}");
        }
    }
}
