//! The fit of all shots: centres, offsets and variances with flyers and strays weighed down.
//!
//! The classes are those of the group model: a shot's covariance is `kappa` times that of a clean one. An expectation step
//! gives every shot the probabilities of its classes, and with them the weight `E[1 / kappa]`; a maximisation step refits the
//! components of both axes by REML under these weights. Both axes share the classes. The axes are the principal ones of the
//! shots about the centres of their ends, so that they are uncorrelated; results are turned back.

use super::components::{best_lambda, best_rho};
use super::ends::{Absorbed, Layout};
use super::{FleetError, Offset};
use crate::group::{ClassOdds, KAPPA};
use crate::plane::{Point, Sym2};

/// Most rounds of expectation and maximisation.
const MOST_ROUNDS: usize = 200;
/// It has settled when no logarithm of a variance changes by more than this.
const SETTLED: f64 = 2e-4;
/// What the common spread of the fleet is worth as evidence on each arrow's own, in degrees of freedom (two a shot): 22, so
/// that the own spread, one standard deviation, is within 15 % of the common one beforehand (our choice).
pub(super) const OWN_SPREAD_DOF: f64 = 22.0;

/// The fit.
#[derive(Debug, Clone)]
pub(super) struct Fit {
    pub(super) layout: Layout,
    /// The major axis, from right towards up.
    pub(super) angle_rad: f64,
    /// Class probabilities of each shot.
    pub(super) classes: Vec<[f64; 3]>,
    /// Weighted squares of each shot's residual over the variance of its axis, both axes added.
    pub(super) squares: Vec<f64>,
    /// Variance of a clean shot on each axis.
    pub(super) sigma2: [f64; 2],
    pub(super) lambda: [f64; 2],
    pub(super) absorbed: [Absorbed; 2],
    /// Squared ratio of each arrow's own spread to the common one.
    pub(super) own: Vec<f64>,
    /// Restricted degrees of freedom of one axis.
    pub(super) dof: f64,
    /// Residual degrees of freedom left for each shot, as a share of 2.
    pub(super) share: f64,
    /// Share of the information on the spread that is left when the classes are not known (Louis 1982, "Finding the observed
    /// information matrix when using the EM algorithm", J. R. Statist. Soc. B 44).
    pub(super) information: f64,
}

/// Turns by `-angle`: right and up into major and minor.
pub(super) fn turn(o: Offset, angle_rad: f64) -> [f64; 2] {
    let (s, c) = angle_rad.sin_cos();
    [c * o.right_mrad + s * o.up_mrad, c * o.up_mrad - s * o.right_mrad]
}

/// Turns back.
pub(super) fn turn_back([major, minor]: [f64; 2], angle_rad: f64) -> Offset {
    let (s, c) = angle_rad.sin_cos();
    Offset { right_mrad: c * major - s * minor, up_mrad: s * major + c * minor }
}

/// The matrix with variances `major` and `minor` along the turned axes.
pub(super) fn turned([major, minor]: [f64; 2], angle_rad: f64) -> Sym2 {
    let (s, c) = angle_rad.sin_cos();
    Sym2::new(c * c * major + s * s * minor, c * s * (major - minor), s * s * major + c * c * minor)
}

/// Class probabilities of a shot whose squared standardised residual is `q`.
pub(super) fn responsibilities(odds: ClassOdds, q: f64) -> [f64; 3] {
    let odds = odds.get();
    let mut p = [0.0; 3];
    for k in 0..3 {
        p[k] = odds[k] / KAPPA[k] * (-0.5 * q / KAPPA[k]).exp();
    }
    let sum: f64 = p.iter().sum();
    // Further out than any class can tell apart, the widest has it.
    if sum > 1e-290 { p.map(|v| v / sum) } else { [0.0, 0.0, 1.0] }
}

pub(super) fn weight(p: [f64; 3]) -> f64 {
    p.iter().zip(KAPPA).map(|(p, k)| p / k).sum()
}

/// Variance of `1 / kappa` under class probabilities.
fn weight_variance(p: [f64; 3]) -> f64 {
    p.iter().zip(KAPPA).map(|(p, k)| p / (k * k)).sum::<f64>() - weight(p).powi(2)
}

fn median(values: &mut [f64]) -> f64 {
    if values.is_empty() {
        return 0.0;
    }
    let middle = values.len() / 2;
    *values.select_nth_unstable_by(middle, f64::total_cmp).1
}

/// Robust start: each session's median as its centre, the median deviation as the spread.
fn start(layout: &Layout, at: &[Offset], odds: &[ClassOdds]) -> Vec<[f64; 3]> {
    let session = |i: usize| layout.session_of_end[layout.end[i]];
    let mut by: Vec<[Vec<f64>; 2]> = vec![[Vec::new(), Vec::new()]; layout.sessions];
    for (i, o) in at.iter().enumerate() {
        by[session(i)][0].push(o.right_mrad);
        by[session(i)][1].push(o.up_mrad);
    }
    let centres: Vec<[f64; 2]> = by.iter_mut().map(|b| [median(&mut b[0]), median(&mut b[1])]).collect();
    let off = |i: usize| {
        let c = centres[session(i)];
        [at[i].right_mrad - c[0], at[i].up_mrad - c[1]]
    };
    let scale: Vec<f64> = (0..2)
        .map(|axis| {
            let mut all: Vec<f64> = (0..at.len()).map(|i| off(i)[axis].abs()).collect();
            // The median of |N(0, 1)| is 0.6745.
            (median(&mut all) / 0.6745).max(1e-6)
        })
        .collect();
    (0..at.len())
        .map(|i| responsibilities(odds[i], (off(i)[0] / scale[0]).powi(2) + (off(i)[1] / scale[1]).powi(2)))
        .collect()
}

/// The direction in which shots scatter most about the weighted centres of their ends.
fn principal_angle(layout: &Layout, at: &[Offset], w: &[f64]) -> f64 {
    let ends = layout.session_of_end.len();
    let mut sums = vec![[0.0; 3]; ends];
    for ((o, w), e) in at.iter().zip(w).zip(&layout.end) {
        let s = &mut sums[*e];
        s[0] += w;
        s[1] += w * o.right_mrad;
        s[2] += w * o.up_mrad;
    }
    let mut cov = Sym2::default();
    for ((o, w), e) in at.iter().zip(w).zip(&layout.end) {
        let [total, x, y] = sums[*e];
        cov = cov + Sym2::outer(Point::new(o.right_mrad - x / total, o.up_mrad - y / total)) * *w;
    }
    cov.principal().angle_rad
}

impl Fit {
    /// Fits places `at` with class odds for each shot.
    pub(super) fn new(layout: Layout, at: &[Offset], odds: &[ClassOdds]) -> Result<Self, FleetError> {
        let n = at.len();
        let needed = layout.sessions + 3;
        if n < needed {
            return Err(FleetError::TooFew { shots: n, needed });
        }
        let dof = (n - layout.sessions) as f64;
        let mut classes = start(&layout, at, odds);
        let mut w: Vec<f64> = classes.iter().map(|p| weight(*p)).collect();
        let angle_rad = principal_angle(&layout, at, &w);
        let mut y = [vec![0.0; n], vec![0.0; n]];
        for (i, o) in at.iter().enumerate() {
            let [major, minor] = turn(*o, angle_rad);
            y[0][i] = major;
            y[1][i] = minor;
        }
        let mut own = vec![1.0; layout.arrows];
        let counts = layout.arrow.iter().fold(vec![0.0; layout.arrows], |mut c, a| {
            c[*a] += 1.0;
            c
        });
        let (mut before, mut step) = ([f64::INFINITY; 2], [0.0_f64; 2]);
        // The ratio of the ends is searched at first, then kept until all else has settled, then searched once more.
        let mut rho = [0.0_f64; 2];
        let mut last_search = false;
        let mut search = Some(0.05);
        let mut squares = vec![0.0; n];
        let mut change = f64::INFINITY;
        for round in 0..MOST_ROUNDS {
            let weights: Vec<f64> = w.iter().zip(&layout.arrow).map(|(w, a)| w / own[*a]).collect();
            let q = [0, 1].map(|axis| {
                let gathered = layout.gather(&y[axis], &weights);
                let around = (rho[axis] > 0.0).then(|| [rho[axis].ln() - 0.5, rho[axis].ln() + 0.5]);
                let absorbed = match search {
                    Some(tolerance) => best_rho(&gathered, &layout, dof, around, tolerance),
                    None => gathered.absorb(&layout, rho[axis]),
                };
                let (lambda, value) = best_lambda(&absorbed, dof, 1e-4);
                (gathered, absorbed, lambda, value.sigma2)
            });
            let sigma2 = [q[0].3, q[1].3];
            if !sigma2.iter().all(|v| *v > 1e-12 && v.is_finite()) {
                return Err(FleetError::NoSpread);
            }
            // Expectation and maximisation creep towards the end in steps of a steady ratio: every third round the classes are
            // taken from where the steps lead (Aitken's extrapolation). The end is the same.
            let steps = [0, 1].map(|k| sigma2[k].ln() - before[k]);
            let ahead = [0, 1].map(|k| {
                let ratio = steps[k] / step[k];
                let usable = round % 3 == 2 && ratio.is_finite() && (0.0..0.95).contains(&ratio);
                sigma2[k] * if usable { (steps[k] * ratio / (1.0 - ratio)).clamp(-0.5, 0.5).exp() } else { 1.0 }
            });
            step = steps;
            squares.iter_mut().for_each(|s| *s = 0.0);
            for (axis, (gathered, absorbed, lambda, _)) in q.iter().enumerate() {
                let offsets = absorbed.offsets(*lambda);
                let sessions = absorbed.sessions(&offsets);
                let ends = absorbed.ends(&layout, gathered, &offsets, &sessions);
                for (i, s) in squares.iter_mut().enumerate() {
                    let (end, arrow) = (layout.end[i], layout.arrow[i]);
                    let r = y[axis][i] - sessions[layout.session_of_end[end]] - ends[end] - offsets[arrow];
                    *s += r * r / ahead[axis];
                }
                rho[axis] = absorbed.rho;
            }
            let mut own_squares = vec![0.0; layout.arrows];
            let (mut total, mut missing) = (0.0, 0.0);
            for (i, s) in squares.iter_mut().enumerate() {
                let arrow = layout.arrow[i];
                classes[i] = responsibilities(odds[i], *s / own[arrow]);
                w[i] = weight(classes[i]);
                missing += 0.5 * (*s / own[arrow]).powi(2) * weight_variance(classes[i]);
                *s *= w[i];
                own_squares[arrow] += *s;
                total += *s / own[arrow];
            }
            let share = (total / (2.0 * n as f64)).clamp(0.05, 1.0);
            if layout.arrows > 1 {
                for a in 0..layout.arrows {
                    own[a] = (OWN_SPREAD_DOF + own_squares[a] / share) / (OWN_SPREAD_DOF + 2.0 * counts[a]);
                }
            }
            change = (0..2).map(|k| (sigma2[k].ln() - before[k]).abs()).fold(0.0, f64::max);
            before = sigma2.map(f64::ln);
            search = (round == 2).then_some(0.05);
            if change < SETTLED && !last_search {
                last_search = true;
                search = Some(0.01);
            } else if change < SETTLED {
                let lambda = [q[0].2, q[1].2];
                let [(_, first, ..), (_, second, ..)] = q;
                let absorbed = [first, second];
                let information = (1.0 - missing / total).clamp(0.2, 1.0);
                return Ok(Self {
                    layout,
                    angle_rad,
                    classes,
                    squares,
                    sigma2,
                    lambda,
                    absorbed,
                    own,
                    dof,
                    share,
                    information,
                });
            }
        }
        Err(FleetError::NotSettled { rounds: MOST_ROUNDS, change })
    }
}
