//! Shots known only as a call: averages over their cells, weighted by the evidence.
//!
//! The cells of all called shots together are sampled by importance. A set of positions is drawn shot by shot, those that
//! say most first, each from what the shots drawn before it predict within its cell (so that three misses of one set go to
//! the same side, and the sets together to all sides), stratified over the sets. Each set's exact-position reading counts
//! with its evidence over the probability of having drawn it, and [`Reading::effective_draws`] tells how many sets carry the
//! weight; where they are few more are drawn. A miss is a cell too: everything outside the face. What no shot tells, the
//! answer does not: rings and misses without a clock are averaged over their mirror images.

use super::lattice::{self, Effort};
use super::steady::Filter;
use super::{Before, ClassOdds, EndEffect, PatternOdds, Points, Prior, Reading};
use crate::plane::{Point, Sym2};
use crate::random::Random;
use crate::shot::{Cell, Felt};
use crate::stats::log_sum;

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
    let rings = if cell.outer_mm.is_finite() { ((width / grain_mm).ceil() as usize).clamp(1, 4) } else { 14 };
    let mut out = Vec::new();
    for i in 0..rings {
        // Outside the face the rings widen, since the density only falls there.
        let edge = |i: usize| {
            let t = i as f64 / rings as f64;
            cell.inner_mm + width * if cell.outer_mm.is_finite() { t } else { t * t }
        };
        let (from, to) = (edge(i), edge(i + 1));
        let arc = 2.0 * cell.half_width_rad * 0.5 * (from + to);
        let sectors = ((arc / grain_mm).ceil() as usize).clamp(1, 24);
        for j in 0..sectors {
            let angle = |j: usize| cell.angle_rad + cell.half_width_rad * (2.0 * j as f64 / sectors as f64 - 1.0);
            out.push(Piece::new(from, to, angle(j), angle(j + 1)));
        }
    }
    out
}

/// Sets of positions drawn at most.
const MOST_DRAWS: usize = 768;

/// Up to so many shots a set is read hypothesis by hypothesis, which is cheap: where the weights grow uneven more sets are drawn.
const CHEAP_SHOTS: usize = 6;

/// How open to all sides the calls are.
#[derive(Clone, Copy, PartialEq)]
enum Open {
    /// Each names its side.
    None,
    /// A miss is among them: open to the outside.
    Miss,
    /// A ring without a clock is among them.
    Ring,
    /// No shot tells a side: four mirror images stand for each set.
    All,
}

/// Sets of positions drawn at first for so many shots. A call by ring and clock leaves a shot open by a quarter of the spread or so,
/// which the shots average and the sets average again; a reading of a few shots costs little.
fn draws(shots: usize, open: Open) -> usize {
    match (shots, open) {
        (..=CHEAP_SHOTS, Open::Miss) => 192,
        (..=CHEAP_SHOTS, Open::Ring) | (..=4, Open::None) => 128,
        (..=12, Open::Miss) => 48,
        (..=CHEAP_SHOTS, Open::All) | (..=12, Open::Ring) => 32,
        (_, Open::None) if shots > CHEAP_SHOTS => 12,
        _ => 24,
    }
}

/// Fewer equally weighted draws than this are not enough: of a few shots open to all sides draw more, up to the most.
const ENOUGH: f64 = 12.0;
/// Of all others the weights are evened until so large a share of the sets counts.
const ENOUGH_SHARE: f64 = 0.4;

/// Draws sets of positions, one called shot after another, those that say most first. What the proposal thinks of ends does not
/// matter, since the evidence of the whole set decides its weight.
struct Sampler<'a> {
    cells: &'a [Placed],
    /// Cells in the order in which they are drawn: those with a sector first.
    order: Vec<usize>,
    felt: &'a [Felt],
    unmarked: ClassOdds,
    /// Knowledge after the shots that were measured.
    measured: Filter,
}

/// One set of positions on its way.
#[derive(Clone)]
struct Draw {
    places: Vec<Point>,
    known: Filter,
    /// Log density of the positions under `known`, and of what is still to be made good of how they were drawn.
    log_density: f64,
    log_weight: f64,
}

impl<'a> Sampler<'a> {
    fn new(places: &[Point], felt: &'a [Felt], cells: &'a [Placed], prior: &Prior, unmarked: ClassOdds) -> Self {
        let alone = prior.with_end_effect(EndEffect::NONE).unwrap_or(*prior).about(Point::default());
        let mut measured = Filter::new(&alone, 0.0);
        for (i, place) in places.iter().enumerate() {
            if !cells.iter().any(|c| c.shot == i) {
                measured.shot(*place, unmarked.felt(felt[i]));
            }
        }
        let mut order: Vec<usize> = (0..cells.len()).collect();
        let width = |i: &usize| if cells[*i].cell.outer_mm.is_finite() { cells[*i].cell.half_width_rad } else { 10.0 };
        order.sort_by(|a, b| width(a).total_cmp(&width(b)));
        Self { cells, order, felt, unmarked, measured }
    }

    /// `count` sets, and the fewest equally weighted ones that any shot left. Where the weights grow uneven the sets are drawn
    /// anew from among themselves (Gordon, Salmond & Smith 1993), so that the later shots find sets that can hold them.
    fn sets(&self, places: &[Point], count: usize, random: &mut Random) -> (Vec<Draw>, f64) {
        let known = self.measured.clone();
        let first = Draw { places: places.to_vec(), known, log_density: 0.0, log_weight: 0.0 };
        let mut sets = vec![first; count];
        let mut fewest = count as f64;
        for (step, &k) in self.order.iter().enumerate() {
            // Each set visits one of `count` equal slices of its own distribution.
            let mut slices: Vec<usize> = (0..count).collect();
            random.shuffle(&mut slices);
            for (set, slice) in sets.iter_mut().zip(slices) {
                let at = (slice as f64 + random.uniform()) / count as f64;
                self.draw(k, set, at, random);
            }
            let weights: Vec<f64> = sets.iter().map(|s| s.log_weight).collect();
            let effective = effective(&weights);
            if step + 1 < self.order.len() {
                fewest = fewest.min(effective);
                if effective < 0.5 * count as f64 {
                    sets = resampled(&sets, &weights, random.uniform());
                }
            }
        }
        (sets, fewest)
    }

    /// Draws the place of called shot `k` into a set; `at` is where in the unit interval.
    fn draw(&self, k: usize, set: &mut Draw, at: f64, random: &mut Random) {
        let placed = &self.cells[k];
        let odds = self.unmarked.felt(self.felt[placed.shot]);
        let next = set.known.next();
        let spread = next.spread().mean_sd();
        // As far as the centre may be, and a dozen spreads beyond.
        let unknown = next.centre().1.mean_sd();
        let reach = (4.0 * unknown).max(12.0 * spread.max(0.3 * placed.cell.inner_mm));
        let pieces = pieces(&placed.cell, 0.7 * spread, reach);
        let mut cumulative = Vec::with_capacity(pieces.len());
        let mut total = 0.0;
        // Rough is enough for choosing a piece; the place chosen is then weighed exactly.
        let rough = next.collapsed(3, 0.3);
        let [clean, flyer, stray] = odds.get();
        let shapes = odds.shapes();
        for piece in &pieces {
            let middle = piece.at(0.5, 0.5) - placed.carry;
            total += piece.area * rough.density_of(middle, [clean, flyer + stray, 0.0], &shapes);
            cumulative.push(total);
        }
        let area: f64 = pieces.iter().map(|p| p.area).sum();
        // A tenth goes by area alone, so that no part of a cell is out of reach; a miss is open-ended and its far pieces would
        // take it all, so there the predictive has to do.
        let flat = match total {
            t if !(t > 0.0 && t.is_finite()) => 1.0,
            _ if placed.cell.outer_mm.is_finite() => 0.1,
            _ => 0.0,
        };
        let (mut so_far, mut last) = (0.0, 0.0);
        for (c, piece) in cumulative.iter_mut().zip(&pieces) {
            let own = *c - last;
            last = *c;
            let by_weight = if flat < 1.0 { (1.0 - flat) * own / total } else { 0.0 };
            so_far += by_weight + flat * piece.area / area;
            *c = so_far;
        }
        let chosen = cumulative.partition_point(|c| *c < at * so_far).min(pieces.len() - 1);
        let p = (cumulative[chosen] - if chosen > 0 { cumulative[chosen - 1] } else { 0.0 }) / so_far;
        let piece = &pieces[chosen];
        let place = piece.at(random.uniform(), random.uniform()) - placed.carry;
        let log_density = next.density_of(place, odds.get(), &shapes).max(1e-300).ln();
        set.places[placed.shot] = place;
        set.log_density += log_density;
        set.log_weight += log_density + (piece.area / p.max(1e-300)).ln();
        set.known.shot(place, odds);
    }
}

/// As many sets as before, each as often as its weight asks for, evenly spread; then all weigh the same.
fn resampled(sets: &[Draw], log_weights: &[f64], start: f64) -> Vec<Draw> {
    let top = log_weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let total: f64 = log_weights.iter().map(|l| (l - top).exp()).sum();
    let step = total / sets.len() as f64;
    let (mut out, mut upto, mut next) = (Vec::with_capacity(sets.len()), 0.0, start * step);
    for (set, log_weight) in sets.iter().zip(log_weights) {
        upto += (log_weight - top).exp();
        while next < upto && out.len() < sets.len() {
            out.push(Draw { log_weight: 0.0, ..set.clone() });
            next += step;
        }
    }
    while out.len() < sets.len() {
        out.push(Draw { log_weight: 0.0, ..sets[sets.len() - 1].clone() });
    }
    out
}

pub(super) fn read_cells(
    places: Vec<Point>,
    felt: &[Felt],
    before: &[Before],
    cells: &[Placed],
    prior: &Prior,
    unmarked: ClassOdds,
) -> Reading {
    let n = places.len();
    let sampler = Sampler::new(&places, felt, cells, prior, unmarked);
    let end = prior.end_effect().variances();
    let log_odds = prior.patterns().log(n);
    // Rings and misses without a clock say nothing of a side: what mirrors the face mirrors the answer.
    // Unless the archer's bad shots have a side of their own.
    let round = unmarked.bad_shots().mean_mm == Point::default();
    let mirrored =
        round && cells.len() == n && cells.iter().all(|c| !c.cell.is_directed() && c.carry == Point::default());
    let open = if mirrored {
        Open::All
    } else if cells.iter().any(|c| !c.cell.outer_mm.is_finite()) {
        Open::Miss
    } else if cells.iter().any(|c| !c.cell.is_directed()) {
        Open::Ring
    } else {
        Open::None
    };
    let mut count = draws(n, open);
    loop {
        let mut random = Random::seeded(0x601D);
        let (sets, fewest) = sampler.sets(&places, count, &mut random);
        let mut readings = Vec::with_capacity(count);
        let mut corrections = Vec::with_capacity(count);
        for set in &sets {
            let points = Points { places: &set.places, felt, before, prior, unmarked, end };
            let mut reading = read_light(&points);
            let evidence = log_sum((0..4).map(|i| reading.log_evidence[i] + log_odds[i]));
            corrections.push(evidence - set.log_density);
            reading.next = reading.next.collapsed(24, 0.1);
            readings.push(reading);
        }
        let own: Vec<f64> = sets.iter().map(|s| s.log_weight).collect();
        let log_weights = if n <= CHEAP_SHOTS && open != Open::None {
            let log_weights = tempered(&own, &corrections, 1.0);
            if effective(&log_weights).min(fewest) < ENOUGH && count < MOST_DRAWS {
                count = (count * 4).min(MOST_DRAWS);
                continue;
            }
            log_weights
        } else {
            evened(&own, &corrections)
        };
        let mut reading = combine(&readings, &log_weights, prior.patterns());
        reading.effective_draws = Some(effective(&log_weights).min(fewest));
        if mirrored {
            mirror(&mut reading);
        }
        return reading;
    }
}

/// The sets' own log weights with a share of their corrections.
fn tempered(own: &[f64], corrections: &[f64], share: f64) -> Vec<f64> {
    own.iter().zip(corrections).map(|(own, correction)| own + share * correction).collect()
}

/// Log weights with as much of the corrections as leaves [`ENOUGH_SHARE`] of the sets to count.
///
/// A correction is what the whole model says of a set against what the filter said that drew it. Over many shots the small
/// differences of the two add up until one set would stand for all, though all of them place the shots within the same cells.
/// Raised to a power below one (as in annealed importance sampling, Neal 2001) they still favour what the model favours.
fn evened(own: &[f64], corrections: &[f64]) -> Vec<f64> {
    let counts = |share: f64| effective(&tempered(own, corrections, share)) >= ENOUGH_SHARE * own.len() as f64;
    let (mut low, mut high) = (0.0, 1.0);
    if counts(high) {
        low = high;
    } else {
        for _ in 0..20 {
            let middle = 0.5 * (low + high);
            *if counts(middle) { &mut low } else { &mut high } = middle;
        }
    }
    tempered(own, corrections, low)
}

/// Kish's effective number of draws: `(sum w)^2 / sum w^2`.
fn effective(log_weights: &[f64]) -> f64 {
    let top = log_weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let w = log_weights.iter().map(|l| (l - top).exp());
    w.clone().sum::<f64>().powi(2) / w.map(|w| w * w).sum::<f64>()
}

/// The mean of a reading and its mirror images.
fn mirror(reading: &mut Reading) {
    let centre = reading.centre;
    let second = reading.centre_cov + Sym2::outer(centre);
    reading.centre = Point::default();
    reading.centre_cov = Sym2::new(second.xx, 0.0, second.yy);
    reading.spread.xy = 0.0;
    reading.places.iter_mut().for_each(|p| *p = Point::default());
    let parts = std::mem::take(&mut reading.next.parts);
    for part in &parts {
        for (x, y) in [(1.0, 1.0), (-1.0, 1.0), (1.0, -1.0), (-1.0, -1.0)] {
            let mut image = *part;
            image.weight *= 0.25;
            image.psi.xy *= x * y;
            image.rows.iter_mut().for_each(|r| r.mean = Point::new(r.mean.x_mm * x, r.mean.y_mm * y));
            reading.next.parts.push(image);
        }
    }
}

/// Reads one of many sets: hypothesis by hypothesis where that is cheap, but for those in which many shots strayed.
fn read_light(points: &Points<'_>) -> Reading {
    let n = points.places.len();
    if n <= CHEAP_SHOTS {
        super::exact::read(points, (n / 2).max(3))
    } else {
        lattice::read(points, Effort::Light(n), &mut lattice::Memory::default())
    }
}

/// The mixture of readings with the given log weights.
fn combine(readings: &[Reading], log_weights: &[f64], patterns: PatternOdds) -> Reading {
    let total = log_sum(log_weights.iter().copied());
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
    let log_odds = patterns.log(n);
    let log_mean = total - (readings.len() as f64).ln();
    for i in 0..4 {
        out.log_evidence[i] =
            if evidence[i] > 0.0 { evidence[i].ln() + log_mean - log_odds[i] } else { f64::NEG_INFINITY };
    }
    out.next = out.next.collapsed(64, 0.1);
    out
}
