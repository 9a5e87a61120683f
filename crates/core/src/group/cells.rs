//! Shots known only as a call: averages over their cells, weighted by the evidence.
//!
//! The cells of all called shots together are sampled by importance. A pilot reading, with every called shot at the mean
//! of its cell under the predictive distribution, says how likely each part of a cell is; sets of positions are drawn
//! from that, stratified shot by shot, and each set's exact-position reading counts with its evidence over the
//! probability of having drawn it. A miss is a cell too: everything outside the face.

use super::lattice::Effort;
use super::{ClassOdds, KAPPA, Points, Prior, Reading, log_pattern_odds, read_points};
use crate::plane::{Point, Sym2};
use crate::random::Random;
use crate::shot::{Cell, Felt};

/// A called shot: which, where, and what the touches since have moved it by.
pub(super) struct Placed {
    pub shot: usize,
    pub cell: Cell,
    pub carry: Point,
}

/// A piece of a cell, small enough that the predictive density hardly changes across it.
#[derive(Clone, Copy)]
struct Piece {
    r2_from: f64,
    r2_to: f64,
    angle_from: f64,
    angle_to: f64,
    area: f64,
}

impl Piece {
    fn new(r_from: f64, r_to: f64, angle_from: f64, angle_to: f64) -> Self {
        let (r2_from, r2_to) = (r_from * r_from, r_to * r_to);
        Self { r2_from, r2_to, angle_from, angle_to, area: 0.5 * (r2_to - r2_from) * (angle_to - angle_from) }
    }

    /// The place at `(a, b)` in the unit square, area-preserving.
    fn at(&self, a: f64, b: f64) -> Point {
        let r = (self.r2_from + a * (self.r2_to - self.r2_from)).sqrt();
        let (s, c) = (self.angle_from + b * (self.angle_to - self.angle_from)).sin_cos();
        Point::new(r * c, r * s)
    }
}

/// Cuts a cell into pieces not much larger than `grain_mm`; a miss ends `reach_mm` beyond the face.
fn pieces(cell: &Cell, grain_mm: f64, reach_mm: f64) -> Vec<Piece> {
    let outer = if cell.outer_mm.is_finite() { cell.outer_mm } else { cell.inner_mm + reach_mm };
    let width = outer - cell.inner_mm;
    let rings = if cell.outer_mm.is_finite() { ((width / grain_mm).ceil() as usize).clamp(2, 8) } else { 14 };
    let mut out = Vec::new();
    for i in 0..rings {
        // Outside the face the rings widen, since the density only falls there.
        let edge = |i: usize| {
            let t = i as f64 / rings as f64;
            cell.inner_mm + width * if cell.outer_mm.is_finite() { t } else { t * t }
        };
        let (from, to) = (edge(i), edge(i + 1));
        let arc = 2.0 * cell.half_width_rad * 0.5 * (from + to);
        let sectors = ((arc / grain_mm).ceil() as usize).clamp(2, 32);
        for j in 0..sectors {
            let angle = |j: usize| cell.angle_rad + cell.half_width_rad * (2.0 * j as f64 / sectors as f64 - 1.0);
            out.push(Piece::new(from, to, angle(j), angle(j + 1)));
        }
    }
    out
}

/// Middles and areas of the pieces of `cell`, in the frame that `carry` leads to.
pub(crate) fn middles(cell: &Cell, carry: Point, grain_mm: f64, reach_mm: f64) -> Vec<(Point, f64)> {
    pieces(cell, grain_mm, reach_mm).iter().map(|p| (p.at(0.5, 0.5) - carry, p.area)).collect()
}

/// How a called shot is drawn: its pieces and the cumulative probability of choosing each.
struct Proposal {
    pieces: Vec<Piece>,
    cumulative: Vec<f64>,
    mean: Point,
}

fn propose(placed: &Placed, reading: &Reading, unmarked: ClassOdds) -> Proposal {
    let pilot = reading.next.collapsed(8, 0.3);
    let spread = reading.spread.mean_sd();
    let pieces = pieces(&placed.cell, 0.7 * spread, 12.0 * spread.max(0.3 * placed.cell.inner_mm));
    let mut cumulative = Vec::with_capacity(pieces.len());
    let mut total = 0.0;
    let mut mean = Point::default();
    for piece in &pieces {
        let middle = piece.at(0.5, 0.5) - placed.carry;
        let p = piece.area * pilot.density(middle, unmarked.get(), KAPPA);
        total += p;
        mean = mean + middle * p;
        cumulative.push(total);
    }
    if total > 0.0 && total.is_finite() {
        // A tenth of the weight goes by area alone, so that no part of a cell is out of reach; a miss is open-ended and
        // its far pieces would take it all, so there the predictive has to do.
        let area: f64 = pieces.iter().map(|p| p.area).sum();
        let flat = if placed.cell.outer_mm.is_finite() { 0.1 } else { 0.0 };
        let mut so_far = 0.0;
        let mut last = 0.0;
        for (c, piece) in cumulative.iter_mut().zip(&pieces) {
            let own = *c - last;
            last = *c;
            so_far += (1.0 - flat) * own / total + flat * piece.area / area;
            *c = so_far;
        }
        mean = mean * (1.0 / total);
    } else {
        let area: f64 = pieces.iter().map(|p| p.area).sum();
        let mut so_far = 0.0;
        for (c, piece) in cumulative.iter_mut().zip(&pieces) {
            so_far += piece.area / area;
            *c = so_far;
        }
        mean = pieces[0].at(0.5, 0.5) - placed.carry;
    }
    Proposal { pieces, cumulative, mean }
}

/// Sets of positions drawn for `called` shots among `n`.
fn draws(n: usize) -> usize {
    if n <= 6 { 256 } else { (3072 / n).clamp(48, 256) }
}

pub(super) fn read_cells(
    mut places: Vec<Point>,
    felt: &[Felt],
    cells: &[Placed],
    prior: &Prior,
    unmarked: ClassOdds,
) -> Reading {
    let n = places.len();
    // Start each called shot at the middle of its cell; a miss just outside the face; in the centre where nothing tells a direction.
    for placed in cells {
        places[placed.shot] = placed.cell.start() - placed.carry;
    }
    let mut proposals = Vec::new();
    for _ in 0..3 {
        let pilot = read_points(&Points { places: &places, felt, prior, unmarked }, Effort::Light);
        proposals = cells.iter().map(|c| propose(c, &pilot, unmarked)).collect();
        for (placed, proposal) in cells.iter().zip(&proposals) {
            places[placed.shot] = proposal.mean;
        }
    }

    // Latin hypercube: each called shot visits each of `count` equal slices of its own distribution once.
    let count = draws(n);
    let mut random = Random::seeded(0x601D);
    let slices: Vec<Vec<usize>> = cells
        .iter()
        .map(|_| {
            let mut order: Vec<usize> = (0..count).collect();
            random.shuffle(&mut order);
            order
        })
        .collect();
    let log_odds = log_pattern_odds(n);
    let mut readings = Vec::with_capacity(count);
    let mut log_weights = Vec::with_capacity(count);
    for draw in 0..count {
        let mut log_weight = 0.0;
        for ((placed, proposal), slices) in cells.iter().zip(&proposals).zip(&slices) {
            let at = (slices[draw] as f64 + random.uniform()) / count as f64;
            let k = proposal.cumulative.partition_point(|c| *c < at).min(proposal.pieces.len() - 1);
            let p = proposal.cumulative[k] - if k > 0 { proposal.cumulative[k - 1] } else { 0.0 };
            let piece = &proposal.pieces[k];
            places[placed.shot] = piece.at(random.uniform(), random.uniform()) - placed.carry;
            log_weight += (piece.area / p.max(1e-300)).ln();
        }
        let mut reading = read_points(&Points { places: &places, felt, prior, unmarked }, Effort::Light);
        let evidence = log_add((0..4).map(|i| reading.log_evidence[i] + log_odds[i]));
        log_weights.push(log_weight + evidence);
        reading.next = reading.next.collapsed(24, 0.1);
        readings.push(reading);
    }
    combine(&readings, &log_weights)
}

fn log_add(values: impl Iterator<Item = f64> + Clone) -> f64 {
    let top = values.clone().fold(f64::NEG_INFINITY, f64::max);
    top + values.map(|v| (v - top).exp()).sum::<f64>().ln()
}

/// The mixture of readings with the given log weights.
fn combine(readings: &[Reading], log_weights: &[f64]) -> Reading {
    let total = log_add(log_weights.iter().copied());
    let mut out = readings[0].clone();
    let n = out.shots;
    out.centre = Point::default();
    out.spread = Sym2::default();
    out.pattern = [0.0; 4];
    out.p_class = vec![[0.0; 3]; n];
    out.places = vec![Point::default(); n];
    out.dropped_mass = 0.0;
    out.next.parts.clear();
    let mut second = Sym2::default();
    let mut other = vec![0.0; out.other_group.len()];
    let mut jump = vec![0.0; out.jump_before.len()];
    let mut evidence = [0.0; 4];
    for (r, lw) in readings.iter().zip(log_weights) {
        let w = (lw - total).exp();
        out.centre = out.centre + r.centre * w;
        second = second + (Sym2::outer(r.centre) + r.centre_cov) * w;
        out.spread = out.spread + r.spread * w;
        out.dropped_mass += w * r.dropped_mass;
        for ((pattern, evidence), p) in out.pattern.iter_mut().zip(&mut evidence).zip(r.pattern) {
            *pattern += w * p;
            *evidence += w * p;
        }
        for i in 0..n {
            out.places[i] = out.places[i] + r.places[i] * w;
            for k in 0..3 {
                out.p_class[i][k] += w * r.p_class[i][k];
            }
        }
        // The list of one reading is empty only when the pattern had no weight in it.
        for (sum, x) in other.iter_mut().zip(&r.other_group) {
            *sum += w * r.pattern[1] * x;
        }
        for (sum, x) in jump.iter_mut().zip(&r.jump_before) {
            *sum += w * r.pattern[3] * x;
        }
        out.next.parts.extend(r.next.parts.iter().map(|p| super::Component { weight: p.weight * w, ..*p }));
    }
    out.centre_cov = second - Sym2::outer(out.centre);
    out.other_group = other.into_iter().map(|x| x / out.pattern[1].max(1e-300)).collect();
    out.jump_before = jump.into_iter().map(|x| x / out.pattern[3].max(1e-300)).collect();
    let log_odds = log_pattern_odds(n);
    let log_mean = total - (readings.len() as f64).ln();
    for i in 0..4 {
        out.log_evidence[i] =
            if evidence[i] > 0.0 { evidence[i].ln() + log_mean - log_odds[i] } else { f64::NEG_INFINITY };
    }
    out.next = out.next.collapsed(64, 0.1);
    out
}
