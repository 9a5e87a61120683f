//! The posterior of the arrows' offsets: a sum over how alike the arrows are and over which of them are odd.
//!
//! Given `lambda` and the set of odd arrows the offsets are normal with information `H + D^-1`; the scale of both axes'
//! variances has an inverse-gamma posterior. An odd arrow changes one entry of `D`, so its hypothesis follows from its
//! parent's by a rank-one update (Sherman & Morrison 1950). Sets grow arrow by arrow, the likeliest first, and are dropped
//! when they weigh less than [`DROP`] of the best.

use super::classes::{Fit, OWN_SPREAD_DOF, turn_back, turned};
use super::{AMOUNT_DEFAULT_SPREADS, Fleet, FleetError, Question, Verdict};
use crate::plane::{Point, Sym2};
use crate::score::normal_in_circle;
use crate::stats::cholesky::Cholesky;
use crate::stats::discovery::{accuse, benjamini_hochberg};
use crate::stats::distribution::{bisect, chi2_below, chi2_quantile, f_above, normal_above, normal_quantile};
use crate::stats::quadrature;

/// Probability beforehand that an arrow is of the odd kind: about one in a dozen (our choice).
pub const ODD_SHARE: f64 = 0.08;
/// Variance that being odd adds to an offset on each axis, in units of a shot's variance (our choice: 0.7 spreads an axis, so about
/// one spread off).
pub const LAMBDA_ODD: f64 = 0.5;
/// More shots than this are not asked for.
pub const MOST_MORE: usize = 500;

/// Ratio of the arrows' standard deviation to a shot's: half-Cauchy beforehand with this scale (our choice: a matched set
/// differs by a fifth of the spread).
const TAU_SCALE: f64 = 0.2;
const TAU_LEAST: f64 = 0.02;
const TAU_STEP: f64 = 1.4;
const TAU_NODES: usize = 14;
/// Hypotheses lighter than this share of the best are dropped.
const DROP: f64 = 1e-4;
/// Most hypotheses kept for one `lambda`.
const MOST_SETS: usize = 200;
/// An arrow whose `p_off` lies between these is unclear; outside them it is settled.
const UNCLEAR: [f64; 2] = [0.05, 0.95];

/// Offsets given a hypothesis, in units of each axis' standard deviation.
#[derive(Clone)]
struct State {
    log_weight: f64,
    odd: Vec<usize>,
    /// Sum of squares left, both axes.
    squares: f64,
    mean: [Vec<f64>; 2],
    cov: [Vec<f64>; 2],
}

struct Setup<'a> {
    fit: &'a Fit,
    n: usize,
    /// Degrees of freedom of both axes.
    dof: f64,
}

impl Setup<'_> {
    /// No arrow odd.
    fn base(&self, tau: f64, log_prior: f64) -> Option<State> {
        let lambda = tau * tau;
        let (mut squares, mut log_det) = (0.0, 0.0);
        let (mut mean, mut cov) = ([Vec::new(), Vec::new()], [Vec::new(), Vec::new()]);
        for axis in 0..2 {
            let absorbed = &self.fit.absorbed[axis];
            let c = absorbed.with_prior(lambda)?;
            let sd = self.fit.sigma2[axis].sqrt();
            let g: Vec<f64> = absorbed.g.iter().map(|g| g / sd).collect();
            squares += absorbed.squares / self.fit.sigma2[axis] - c.forward(&g).iter().map(|v| v * v).sum::<f64>();
            log_det += c.log_det() + self.n as f64 * lambda.ln();
            mean[axis] = c.solve(&g);
            cov[axis] = c.inverse();
        }
        let squares = squares.max(f64::MIN_POSITIVE);
        let log_weight =
            log_prior + self.n as f64 * (1.0 - ODD_SHARE).ln() - 0.5 * log_det - 0.5 * self.dof * squares.ln();
        Some(State { log_weight, odd: Vec::new(), squares, mean, cov })
    }

    /// How the weight and the squares change when `arrow` is odd too, and the change of its prior information.
    fn grown(&self, state: &State, arrow: usize, lambda: f64) -> (f64, f64, f64) {
        let delta = 1.0 / (lambda + LAMBDA_ODD) - 1.0 / lambda;
        let mut log_weight = state.log_weight + (ODD_SHARE / (1.0 - ODD_SHARE)).ln();
        let mut squares = state.squares;
        for axis in 0..2 {
            let v = state.cov[axis][arrow * self.n + arrow];
            let k = 1.0 + delta * v;
            log_weight -= 0.5 * (k.ln() + ((lambda + LAMBDA_ODD) / lambda).ln());
            squares += delta * state.mean[axis][arrow].powi(2) / k;
        }
        let squares = squares.max(f64::MIN_POSITIVE);
        (log_weight - 0.5 * self.dof * (squares / state.squares).ln(), squares, delta)
    }

    fn with_odd(&self, state: &State, arrow: usize, lambda: f64) -> State {
        let (log_weight, squares, delta) = self.grown(state, arrow, lambda);
        let mut next = state.clone();
        next.log_weight = log_weight;
        next.squares = squares;
        next.odd.push(arrow);
        for axis in 0..2 {
            let column: Vec<f64> = (0..self.n).map(|i| state.cov[axis][i * self.n + arrow]).collect();
            let k = delta / (1.0 + delta * column[arrow]);
            let m = state.mean[axis][arrow];
            for i in 0..self.n {
                next.mean[axis][i] -= k * column[i] * m;
                for j in 0..self.n {
                    next.cov[axis][i * self.n + j] -= k * column[i] * column[j];
                }
            }
        }
        next
    }

    /// All hypotheses of one `lambda` that matter.
    fn sets(&self, tau: f64, log_prior: f64) -> Vec<State> {
        let lambda = tau * tau;
        let Some(base) = self.base(tau, log_prior) else { return Vec::new() };
        // The arrows in the order in which each alone gains most: a set names its arrows in that order.
        let mut order: Vec<usize> = (0..self.n).collect();
        let alone: Vec<f64> = order.iter().map(|a| self.grown(&base, *a, lambda).0).collect();
        order.sort_by(|a, b| alone[*b].total_cmp(&alone[*a]));
        let most = (self.n / 3).max(1);
        let mut best = base.log_weight;
        let mut all = vec![base];
        let mut from = 0;
        for _ in 0..most {
            let to = all.len();
            let mut grown: Vec<(f64, usize, usize)> = Vec::new();
            for (s, state) in all.iter().enumerate().take(to).skip(from) {
                let first = state.odd.last().and_then(|l| order.iter().position(|a| a == l)).map_or(0, |p| p + 1);
                for &arrow in &order[first..] {
                    grown.push((self.grown(state, arrow, lambda).0, s, arrow));
                }
            }
            best = grown.iter().map(|g| g.0).fold(best, f64::max);
            grown.retain(|g| g.0 > best + DROP.ln());
            grown.sort_by(|a, b| b.0.total_cmp(&a.0));
            grown.truncate(MOST_SETS.saturating_sub(all.len()));
            let states: Vec<State> = grown.iter().map(|(_, s, a)| self.with_odd(&all[*s], *a, lambda)).collect();
            from = to;
            all.extend(states);
            if from == all.len() {
                break;
            }
        }
        all
    }

    /// F test of each arrow against the others, those in `odd` set aside.
    fn p_values(&self, odd: &[usize]) -> Vec<f64> {
        (0..self.n).map(|arrow| self.p_value(arrow, odd).unwrap_or(1.0)).collect()
    }

    fn p_value(&self, arrow: usize, odd: &[usize]) -> Option<f64> {
        let aside: Vec<usize> = odd.iter().copied().filter(|a| *a != arrow).collect();
        let mut f = 0.0;
        for axis in 0..2 {
            let absorbed = &self.fit.absorbed[axis];
            let h = |i: usize, j: usize| absorbed.h[i * self.n + j];
            let (mut info, mut score) = (h(arrow, arrow), absorbed.g[arrow]);
            if !aside.is_empty() {
                let m: Vec<f64> = aside.iter().flat_map(|i| aside.iter().map(move |j| h(*i, *j))).collect();
                let c = Cholesky::new(aside.len(), &m)?;
                let across: Vec<f64> = aside.iter().map(|i| h(*i, arrow)).collect();
                let x = c.solve(&across);
                info -= x.iter().zip(&across).map(|(x, y)| x * y).sum::<f64>();
                score -= x.iter().zip(&aside).map(|(x, i)| x * absorbed.g[*i]).sum::<f64>();
            }
            if info <= 1e-9 * h(arrow, arrow) {
                return None;
            }
            f += 0.5 * score * score / (info * self.fit.sigma2[axis]);
        }
        Some(f_above(f, 2.0, self.dof))
    }
}

/// Scales of the variances and their weights: the posterior of the common scale, with the share `information` of the degrees of
/// freedom.
fn scales(squares: f64, dof: f64, information: f64) -> Vec<(f64, f64)> {
    let (squares, dof) = (squares * information, dof * information);
    if dof > 400.0 {
        return vec![(squares / dof, 1.0)];
    }
    let rule = quadrature::gamma(5, 0.5 * dof);
    rule.nodes.iter().zip(rule.weights).map(|(x, w)| (0.5 * squares / x, w)).collect()
}

pub(super) fn read(fit: &Fit, names: &[usize], question: &Question) -> Result<Fleet, FleetError> {
    let setup = Setup { fit, n: names.len(), dof: 2.0 * fit.dof };
    let n = setup.n;
    let mut by_tau: Vec<Vec<State>> = Vec::with_capacity(TAU_NODES);
    for k in 0..TAU_NODES {
        let tau = TAU_LEAST * TAU_STEP.powi(k as i32);
        // Density times the node's share of a logarithmic grid.
        by_tau.push(setup.sets(tau, (tau / (1.0 + (tau / TAU_SCALE).powi(2))).ln()));
    }
    let all = || by_tau.iter().flatten();
    let best = all().map(|s| s.log_weight).fold(f64::NEG_INFINITY, f64::max);
    let total: f64 = all().map(|s| (s.log_weight - best).exp()).sum();
    if !(total > 0.0 && total.is_finite()) {
        return Err(FleetError::NoSpread);
    }
    let weight = |s: &State| (s.log_weight - best).exp() / total;

    let within = turned(fit.sigma2, fit.angle_rad);
    let spread = within.mean_sd();
    let amount_mrad = question.amount_mrad.unwrap_or(AMOUNT_DEFAULT_SPREADS * spread);
    let sd = fit.sigma2.map(f64::sqrt);
    let mut moments = vec![([0.0; 2], [0.0; 3], 0.0, 0.0); n];
    for states in &by_tau {
        for (arrow, m) in moments.iter_mut().enumerate() {
            for odd in [false, true] {
                let of = || states.iter().filter(|s| s.odd.contains(&arrow) == odd);
                let Some(part) = Part::of(of().map(|s| (s, weight(s))), arrow, n) else { continue };
                for (scale, share) in scales(part.squares, setup.dof, fit.information) {
                    let w = part.weight * share;
                    let mean = [0, 1].map(|k| sd[k] * part.mean[k]);
                    let var = [0, 1].map(|k| fit.sigma2[k] * (scale * part.var[k] + part.between[k]));
                    for k in 0..2 {
                        m.0[k] += w * mean[k];
                        m.1[k] += w * (var[k] + mean[k] * mean[k]);
                    }
                    m.1[2] += w * mean[0] * mean[1];
                    m.2 += w * beyond(mean, var, amount_mrad);
                }
                m.3 += if odd { part.weight } else { 0.0 };
            }
        }
    }
    let p_none_odd = all().filter(|s| s.odd.is_empty()).map(weight).sum();
    let p_off: Vec<f64> = moments.iter().map(|m| m.2.clamp(0.0, 1.0)).collect();
    let likely: Vec<usize> = (0..n).filter(|a| moments[*a].3 > 0.5).collect();
    let p_values = setup.p_values(&likely);
    let adjusted = benjamini_hochberg(&p_values);
    let accused = accuse(&p_off, question.fdr);
    let mut counts = vec![(0_usize, 0.0, 0.0); n];
    for (i, p) in fit.classes.iter().enumerate() {
        let c = &mut counts[fit.layout.arrow[i]];
        c.0 += 1;
        c.1 += p[1] + p[2];
        c.2 += fit.squares[i];
    }
    let arrows = (0..n)
        .map(|a| {
            let (mean, second, _, p_odd) = moments[a];
            let var = [second[0] - mean[0] * mean[0], second[1] - mean[1] * mean[1]].map(|v| v.max(1e-12));
            let mixed = second[2] - mean[0] * mean[1];
            let (shots, flyers, squares) = counts[a];
            let (spread_ratio, p_wide) =
                own_spread(squares / fit.share * fit.information, shots as f64 * fit.information);
            Verdict {
                arrow: names[a],
                shots,
                flyers,
                offset: turn_back(mean, fit.angle_rad),
                offset_cov_mrad2: turned_full(var, mixed, fit.angle_rad),
                p_off: p_off[a],
                p_odd,
                p_value: p_values[a],
                p_adjusted: adjusted[a],
                accused: accused[a],
                more_shots: more_shots(mean, var, mixed, p_off[a], amount_mrad, spread * fit.own[a].sqrt()),
                spread_ratio,
                p_wide,
            }
        })
        .collect();
    let of = |ratio: [f64; 2]| turned([ratio[0] * fit.sigma2[0], ratio[1] * fit.sigma2[1]], fit.angle_rad);
    Ok(Fleet {
        arrows,
        amount_mrad,
        within_mrad2: within,
        between_mrad2: of(fit.lambda),
        ends_mrad2: of([fit.absorbed[0].rho, fit.absorbed[1].rho]),
        p_none_odd,
        classes: fit.classes.clone(),
        sessions: fit.layout.sessions,
        ends: fit.layout.session_of_end.len(),
    })
}

/// What the hypotheses of one `lambda` say of one arrow, those in which it is odd or those in which it is not: their moments. They
/// differ only in which of the others are odd, which moves this one little.
struct Part {
    weight: f64,
    squares: f64,
    mean: [f64; 2],
    var: [f64; 2],
    /// Variance between the hypotheses' means.
    between: [f64; 2],
}

impl Part {
    fn of<'a>(states: impl Iterator<Item = (&'a State, f64)>, arrow: usize, n: usize) -> Option<Self> {
        let mut p = Self { weight: 0.0, squares: 0.0, mean: [0.0; 2], var: [0.0; 2], between: [0.0; 2] };
        for (s, w) in states {
            p.weight += w;
            p.squares += w * s.squares;
            for k in 0..2 {
                let mean = s.mean[k][arrow];
                p.mean[k] += w * mean;
                p.var[k] += w * s.cov[k][arrow * n + arrow];
                p.between[k] += w * mean * mean;
            }
        }
        if p.weight < 1e-9 {
            return None;
        }
        p.squares /= p.weight;
        for k in 0..2 {
            p.mean[k] /= p.weight;
            p.var[k] /= p.weight;
            p.between[k] = (p.between[k] / p.weight - p.mean[k] * p.mean[k]).max(0.0);
        }
        Some(p)
    }
}

fn turned_full(var: [f64; 2], mixed: f64, angle_rad: f64) -> Sym2 {
    let (s, c) = angle_rad.sin_cos();
    turned(var, angle_rad) + Sym2::new(-2.0 * c * s * mixed, (c * c - s * s) * mixed, 2.0 * c * s * mixed)
}

/// Probability that a normal of uncorrelated axes lies further than `amount` from nothing.
fn beyond(mean: [f64; 2], var: [f64; 2], amount: f64) -> f64 {
    let distance = mean[0].hypot(mean[1]);
    let widest = var[0].max(var[1]).sqrt();
    // Nine standard deviations leave nothing to integrate.
    if (distance - amount).abs() > 9.0 * widest {
        return if distance > amount { 1.0 } else { 0.0 };
    }
    let inside = normal_in_circle(Point::new(mean[0], mean[1]), Sym2::new(var[0], 0.0, var[1]), amount);
    inside.map_or_else(|_| normal_above((amount - distance) / widest), |p| 1.0 - p)
}

/// Own spread over the common one, with an 80 % interval, and the probability that it is more than a fifth above, when
/// `squares` is what was left for two degrees of freedom a shot.
fn own_spread(squares: f64, shots: f64) -> ([f64; 3], f64) {
    let dof = OWN_SPREAD_DOF + 2.0 * shots;
    let sum = OWN_SPREAD_DOF + squares;
    let ratio = |p: f64| (sum / chi2_quantile(p, dof)).sqrt();
    ([(sum / dof).sqrt(), ratio(0.9), ratio(0.1)], chi2_below(sum / 1.44, dof))
}

/// How many more shots settle an unclear arrow in half of the cases.
///
/// Towards or away from the others its offset is about normal; it will be settled when it is `z = 1.645` of its standard
/// errors from the amount. The true distance to the amount is drawn from what is known now: half of the cases lie further
/// than its median `|r|`, and information grows by `1 / spread^2` a shot.
fn more_shots(mean: [f64; 2], var: [f64; 2], mixed: f64, p_off: f64, amount: f64, spread: f64) -> Option<usize> {
    if !(UNCLEAR[0]..=UNCLEAR[1]).contains(&p_off) {
        return None;
    }
    let distance = mean[0].hypot(mean[1]);
    let variance = if distance > 0.0 {
        let u = [mean[0] / distance, mean[1] / distance];
        u[0] * u[0] * var[0] + 2.0 * u[0] * u[1] * mixed + u[1] * u[1] * var[1]
    } else {
        0.5 * (var[0] + var[1])
    };
    let (gap, sd) = (distance - amount, variance.sqrt());
    let median =
        bisect(0.0, gap.abs() + 10.0 * sd, |r| normal_above((-r - gap) / sd) - normal_above((r - gap) / sd) < 0.5);
    let z = normal_quantile(UNCLEAR[1]);
    let more = ((z / median).powi(2) - 1.0 / variance) * spread * spread;
    Some((more.ceil().max(1.0) as usize).min(MOST_MORE))
}
