//! How far to move the sight, whether to move it at all, and what that is worth.
//!
//! One principle: choose the pin move, on the lattice of clicks, that maximises the expected score of the shots still to
//! come under the predictive distribution of the next shot. A move is itself uncertain by the sight's setting error.
//! Leaving the sight is the better advice while the gain stays below what a touch costs.

use std::sync::OnceLock;

use crate::group::{ClassOdds, Component, KAPPA, Predictive, Reading};
use crate::plane::{Point, Sym2};
use crate::random::Random;
use crate::score::{Prepared, Scorer, Spot};
use crate::sight::Sight;
use crate::stats::Z_80;
use crate::stats::distribution::normal_quantile;
use crate::stats::quadrature;
use crate::units::Distance;

/// What the archer has ahead.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ahead {
    /// Shots still to come at this distance with this sight.
    pub shots_left: u32,
    /// A gain below this many points is not worth a touch.
    pub touch_cost_points: f64,
}

/// Points that a touch has to gain, unless the archer says otherwise.
pub const TOUCH_COST_DEFAULT: f64 = 0.5;

/// What to do with the sight.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Action {
    /// Move the pin by the clicks given.
    Move,
    /// Leave it where it is.
    Leave,
}

/// A move and what it is expected to be worth over the shots left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Proposal {
    /// Whole clicks, right and up as the archer sees the pin.
    pub clicks: [i32; 2],
    /// Expected score after the move less that of leaving the sight, over the shots left.
    pub gain_points: f64,
}

/// The advice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Advice {
    /// Move or leave.
    pub action: Action,
    /// Whole clicks to make now, right and up as the archer sees the pin; zeros when the sight is to be left.
    pub clicks: [i32; 2],
    /// The same in millimetres at the pin.
    pub pin_mm: Point,
    /// The same on the face, in the direction of the pin: what is subtracted from the shots shot so far.
    pub shift_mm: Point,
    /// The best move there is, made or not.
    pub best: Proposal,
    /// 80 % interval of the best move's gain over the posterior of centre and spread.
    pub gain_interval_points: [f64; 2],
    /// Probability, over the posterior of centre and spread, that the best move makes things better.
    pub p_better: f64,
    /// How many more shots would settle the question; 0 when it is settled.
    pub more_shots: u32,
    /// Expected score of the next shot with the sight as it is.
    pub expected_score_now: f64,
    /// The rule of thumb for comparison: the plain mean of all shots moved fully.
    pub mean_rule: Proposal,
}

/// How closely a [`Surface`] follows the predictive distribution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Detail {
    /// Parts kept of the mixture for the classes clean, flyer and stray.
    parts: [usize; 3],
    /// Parts closer than this, in standard deviations of a clean shot, count as one.
    closeness: f64,
    /// Nodes of the gamma mixture that makes a t of normals, for the three classes.
    nodes: [usize; 3],
    /// Whether unequal axes are summed over fewer nodes.
    rough: bool,
}

impl Detail {
    /// For finding the neighbourhood of the best move.
    pub const COARSE: Self = Self { parts: [3, 1, 1], closeness: 0.5, nodes: [3, 2, 1], rough: true };
    /// For choosing among neighbouring moves.
    pub const MEDIUM: Self = Self { parts: [6, 2, 1], closeness: 0.15, nodes: [3, 2, 1], rough: true };
    /// For the figures that are shown: within about 1e-3 points an arrow of the full mixture (measured in the tests).
    pub const FINE: Self = Self { parts: [18, 5, 2], closeness: 0.07, nodes: [8, 5, 3], rough: false };
}

/// Draws from the posterior for the interval.
const DRAWS: usize = 199;
/// Most clicks ever advised on one axis.
const MOST_CLICKS: f64 = 20_000.0;

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
        for (k, p_class) in odds.get().into_iter().enumerate() {
            if p_class <= 0.0 {
                continue;
            }
            if k > 0 {
                // A wider class blurs more, so its parts may be coarser: closeness is in clean standard deviations.
                parts = parts.collapsed(detail.parts[k], detail.closeness * KAPPA[k].sqrt());
            }
            // A t of `dof` is a normal whose covariance is the scale over a gamma(dof/2, rate dof/2) precision.
            let rule = quadrature::gamma(detail.nodes[k], next.dof() / 2.0);
            for part in &parts.parts {
                let scale = part.psi * ((KAPPA[k] + part.lean) / next.dof());
                for (x, w) in rule.nodes.iter().zip(&rule.weights) {
                    let weight = p_class * part.weight * w;
                    if weight < 1e-7 {
                        continue;
                    }
                    let cov = scale * (next.dof() / (2.0 * x));
                    let atom = |cov| {
                        let spot = if detail.rough { Spot::new(cov).roughly() } else { Spot::new(cov) };
                        Atom { weight, mean: part.mean, spot: scorer.prepare(&spot) }
                    };
                    surface.atoms.push(atom(cov));
                    if setting_variance > 0.0 {
                        surface.moved.push(atom(cov + Sym2::isotropic(setting_variance)));
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

fn sum(atoms: &[Atom<'_>], shift: Point) -> f64 {
    atoms.iter().map(|a| a.weight * a.spot.at(a.mean - shift)).sum()
}

/// The best lattice point near `starts`, by a pattern search that halves its step: `(clicks, value)`.
///
/// The surface is smooth on the scale of the spread, so the search steps by about that much first and ends when none of
/// the eight neighbours one click away is better. At most `EVALUATIONS` values are computed.
fn climb(surface: &Surface<'_>, click_mm: [f64; 2], starts: &[Point], step_mm: f64) -> ([i32; 2], f64) {
    const EVALUATIONS: usize = 400;
    let value = |c: [i32; 2]| surface.after(Point::new(f64::from(c[0]) * click_mm[0], f64::from(c[1]) * click_mm[1]));
    let to_clicks = |x: f64, click: f64| (x / click).round().clamp(-MOST_CLICKS, MOST_CLICKS) as i32;
    let mut best = ([0, 0], f64::NEG_INFINITY);
    let mut seen: Vec<([i32; 2], f64)> = Vec::with_capacity(64);
    let mut ask = |c: [i32; 2]| {
        if let Some((_, v)) = seen.iter().find(|(k, _)| *k == c) {
            return *v;
        }
        let v = value(c);
        seen.push((c, v));
        v
    };
    for start in starts {
        let c = [to_clicks(start.x_mm, click_mm[0]), to_clicks(start.y_mm, click_mm[1])];
        let v = ask(c);
        if v > best.1 {
            best = (c, v);
        }
    }
    let mut step = [0, 1].map(|i| ((step_mm / click_mm[i]).round() as i32).max(1));
    let mut used = 0;
    loop {
        let at = best.0;
        let mut axis = |i: usize| {
            let neighbour = |sign: i32| {
                let mut c = at;
                c[i] += sign * step[i];
                c
            };
            (ask(neighbour(-1)), ask(neighbour(1)))
        };
        let (left, right) = axis(0);
        let (down, up) = axis(1);
        used += 4;
        // The top of the parabola through the three values of each axis, at most one step away.
        let top = |low: f64, high: f64, step: i32| {
            let bend = low + high - 2.0 * best.1;
            let to = if bend < 0.0 { 0.5 * (low - high) / bend } else { (high - low).signum() };
            (to.clamp(-1.0, 1.0) * f64::from(step)).round() as i32
        };
        let guess = [at[0] + top(left, right, step[0]), at[1] + top(down, up, step[1])];
        let mut candidates = vec![
            ([at[0] - step[0], at[1]], left),
            ([at[0] + step[0], at[1]], right),
            ([at[0], at[1] - step[1]], down),
            ([at[0], at[1] + step[1]], up),
        ];
        if guess != at {
            candidates.push((guess, ask(guess)));
            used += 1;
        }
        let found = candidates.into_iter().fold(best, |a, b| if b.1 > a.1 { b } else { a });
        if found.0 == at {
            if step == [1, 1] {
                // Corners last: the surface may rise along a diagonal only.
                let corners = [[-1, -1], [-1, 1], [1, -1], [1, 1]].map(|d| [at[0] + d[0], at[1] + d[1]]);
                let found = corners.map(|c| (c, ask(c))).into_iter().fold(best, |a, b| if b.1 > a.1 { b } else { a });
                used += 4;
                if found.0 == at || used > EVALUATIONS {
                    return best;
                }
                best = found;
            }
            step = step.map(|s| (s / 4).max(1));
        } else {
            let moved = (found.0[0] - at[0]).abs().max((found.0[1] - at[1]).abs());
            best = found;
            // Once the parabola lands close by, the step need not be wider than what is left.
            step = step.map(|s| s.min((moved / 2).max(1)));
        }
        if used > EVALUATIONS {
            return best;
        }
    }
}

/// The best move under `next`, found roughly but fast: `(clicks, gain a shot)`, for simulations that ask it a million times.
///
/// `click_mm` is one click on the face, `setting_variance` what a touch adds an axis on the face, in mm^2.
#[must_use]
pub fn quick_move(
    scorer: &Scorer,
    next: &Predictive,
    odds: ClassOdds,
    click_mm: [f64; 2],
    setting_variance: f64,
) -> ([i32; 2], f64) {
    let surface = Surface::new(scorer, next, odds, setting_variance, &Detail::COARSE);
    let (centre, _) = next.centre();
    let (clicks, value) = climb(&surface, click_mm, &[centre], 0.3 * next.spread().mean_sd());
    let gain = value - surface.untouched();
    if gain > 0.0 { (clicks, gain) } else { ([0, 0], 0.0) }
}

/// One draw of the truth from the posterior, made of five standard normal deviates: the centre and the spread of the next
/// shot's process.
fn draw(part: &Component, nu: f64, z: &[f64; 5]) -> (Point, Sym2) {
    // Bartlett: Sigma = L A^-T A^-1 L' with A lower triangular, chi on its diagonal, psi = L L'.
    let (l11, l21, l22) = part.psi.cholesky();
    let (a11, a22) = (chi(nu, z[0]), chi(nu - 1.0, z[1]));
    let a21 = z[2];
    // T = L A^-T, so that Sigma = T T' ; A^-T = [[1/a11, -a21/(a11 a22)], [0, 1/a22]].
    let (u11, u12, u22) = (1.0 / a11, -a21 / (a11 * a22), 1.0 / a22);
    let (t11, t12) = (l11 * u11, l11 * u12);
    let (t21, t22) = (l21 * u11, l21 * u12 + l22 * u22);
    let sigma = Sym2::new(t11 * t11 + t12 * t12, t11 * t21 + t12 * t22, t21 * t21 + t22 * t22);
    let k = part.lean.sqrt();
    let off = Point::new(t11 * z[3] + t12 * z[4], t21 * z[3] + t22 * z[4]) * k;
    (part.mean + off, sigma)
}

/// A chi deviate of `dof` degrees of freedom from a standard normal one: the cube of Wilson & Hilferty (1931), good to a few
/// parts in a thousand for the four degrees and more that occur here.
fn chi(dof: f64, z: f64) -> f64 {
    let v = 2.0 / (9.0 * dof);
    (dof * (1.0 - v + z * v.sqrt()).max(0.05).powi(3)).sqrt()
}

/// Balanced draws of five standard normal deviates: a Latin hypercube, so that each deviate takes every one of
/// [`DRAWS`] equal slices once, in an order that is the same everywhere.
fn balanced() -> &'static [[f64; 5]] {
    static TABLE: OnceLock<Vec<[f64; 5]>> = OnceLock::new();
    TABLE.get_or_init(|| {
        let mut random = Random::seeded(0x5EED);
        let mut table = vec![[0.0; 5]; DRAWS];
        for i in 0..5 {
            let mut slices: Vec<usize> = (0..DRAWS).collect();
            random.shuffle(&mut slices);
            for (row, slice) in table.iter_mut().zip(slices) {
                row[i] = normal_quantile((slice as f64 + 0.5) / DRAWS as f64);
            }
        }
        table
    })
}

/// Advises on the sight.
///
/// `reading` must have been taken with the class probabilities `unmarked`, and `scorer` be that of the face and shaft.
/// Gains and scores are points; the interval is over the posterior of centre and spread, drawn with a fixed seed, so the
/// same reading gives the same advice everywhere.
#[must_use]
pub fn advise(
    reading: &Reading,
    scorer: &Scorer,
    sight: &Sight,
    distance: Distance,
    unmarked: ClassOdds,
    ahead: &Ahead,
) -> Advice {
    let setting_variance = sight.setting_variance_on_face(distance);
    let next = reading.next.collapsed(Detail::FINE.parts[0], Detail::FINE.closeness);
    let coarse = Surface::new(scorer, &next, unmarked, setting_variance, &Detail::COARSE);
    let surface = Surface::new(scorer, &next, unmarked, setting_variance, &Detail::FINE);
    let click_mm = sight.click_on_face_mm(distance);
    let left = f64::from(ahead.shots_left);
    let now = surface.untouched();

    let few = next.collapsed(4, 0.5);
    let mut starts = vec![reading.centre];
    starts.extend(few.parts.iter().filter(|p| p.weight > 0.05).map(|p| p.mean));
    let (near, _) = climb(&coarse, click_mm, &starts, 0.5 * reading.spread.mean_sd());
    let start = Point::new(f64::from(near[0]) * click_mm[0], f64::from(near[1]) * click_mm[1]);
    let medium = Surface::new(scorer, &next, unmarked, setting_variance, &Detail::MEDIUM);
    let (clicks, _) = climb(&medium, click_mm, &[start], 0.04 * reading.spread.mean_sd());
    let value = surface.after(Point::new(f64::from(clicks[0]) * click_mm[0], f64::from(clicks[1]) * click_mm[1]));
    // Standing still has no setting error, so it can beat every lattice point.
    let (clicks, gain_per_shot) = if value > now { (clicks, value - now) } else { ([0, 0], 0.0) };
    let best = Proposal { clicks, gain_points: gain_per_shot * left };
    let shift = sight.shift_mm(sight.pin_mm(clicks), distance);

    let gains = posterior_gains(&next, scorer, unmarked, shift, setting_variance);
    // Order statistic k of n stands for the share k / (n + 1).
    let quantile = |p: f64| gains[((gains.len() + 1) as f64 * p).round() as usize - 1] * left;
    let (p_better, gain_interval_points) = if clicks == [0, 0] {
        (0.0, [0.0, 0.0])
    } else {
        (gains.iter().filter(|g| **g > 0.0).count() as f64 / gains.len() as f64, [quantile(0.1), quantile(0.9)])
    };

    // Where no move is better than none, what is open is what a centre at the edge of its 80 % would be worth.
    let half_width = if clicks == [0, 0] {
        let edge = Z_80 * reading.centre_cov.mean_sd();
        (now - surface.after(Point::new(edge, 0.0))) * left
    } else {
        0.5 * (gain_interval_points[1] - gain_interval_points[0])
    };
    let action =
        if clicks != [0, 0] && best.gain_points >= ahead.touch_cost_points { Action::Move } else { Action::Leave };
    let made = if action == Action::Move { clicks } else { [0, 0] };
    let pin_mm = sight.pin_mm(made);
    Advice {
        action,
        clicks: made,
        pin_mm,
        shift_mm: sight.shift_mm(pin_mm, distance),
        best,
        gain_interval_points,
        p_better,
        more_shots: more_shots(reading, &best, half_width, ahead),
        expected_score_now: now,
        mean_rule: mean_rule(reading, &surface, click_mm, now, left),
    }
}

/// Gain a shot of the move over draws from the posterior, sorted.
fn posterior_gains(
    next: &Predictive,
    scorer: &Scorer,
    odds: ClassOdds,
    shift: Point,
    setting_variance: f64,
) -> Vec<f64> {
    let mut gains = Vec::with_capacity(DRAWS);
    // Stratified over the parts: draw k stands for the k-th slice of the mixture.
    let (mut part, mut upto) = (0, next.parts[0].weight);
    for (k, deviates) in balanced().iter().enumerate() {
        let at = (k as f64 + 0.5) / DRAWS as f64;
        while at > upto && part + 1 < next.parts.len() {
            part += 1;
            upto += next.parts[part].weight;
        }
        let (centre, sigma) = draw(&next.parts[part], next.nu, deviates);
        // A stray gains a hundredth of nothing from a better centre; leaving it out moves no quantile visibly.
        let gain: f64 = (0..2)
            .map(|k| {
                let cov = sigma * KAPPA[k];
                let before = scorer.prepare(&Spot::new(cov).roughly());
                let after = if setting_variance > 0.0 {
                    scorer.expected(centre - shift, &Spot::new(cov + Sym2::isotropic(setting_variance)).roughly())
                } else {
                    before.at(centre - shift)
                };
                odds.get()[k] * (after - before.at(centre))
            })
            .sum();
        gains.push(gain);
    }
    gains.sort_by(f64::total_cmp);
    gains
}

/// How many more shots would settle whether to touch.
///
/// The question is settled when the gain's 80 % interval is no wider, to each side, than the distance of the expected gain
/// from what a touch costs, or than the cost itself. The width shrinks with the variance of the centre, which after `k`
/// more clean shots is `evidence / (evidence + k)` of what it is, `evidence` being the arrows that the present posterior is
/// worth. At most 144.
fn more_shots(reading: &Reading, best: &Proposal, half_width: f64, ahead: &Ahead) -> u32 {
    let cost = ahead.touch_cost_points.max(0.01);
    let bearable = (best.gain_points - ahead.touch_cost_points).abs().max(cost);
    if half_width <= bearable {
        return 0;
    }
    let evidence = reading.spread.mean_variance() / reading.centre_cov.mean_variance().max(1e-12);
    let more = evidence * ((half_width / bearable).powi(2) - 1.0);
    (more.ceil().clamp(1.0, 144.0)) as u32
}

/// The plain mean of all shots, moved fully.
fn mean_rule(reading: &Reading, surface: &Surface<'_>, click_mm: [f64; 2], now: f64, left: f64) -> Proposal {
    if reading.places.is_empty() {
        return Proposal { clicks: [0, 0], gain_points: 0.0 };
    }
    let mean = reading.places.iter().fold(Point::default(), |a, b| a + *b) * (1.0 / reading.places.len() as f64);
    let clicks =
        [mean.x_mm / click_mm[0], mean.y_mm / click_mm[1]].map(|c| c.round().clamp(-MOST_CLICKS, MOST_CLICKS) as i32);
    if clicks == [0, 0] {
        return Proposal { clicks, gain_points: 0.0 };
    }
    let shift = Point::new(f64::from(clicks[0]) * click_mm[0], f64::from(clicks[1]) * click_mm[1]);
    Proposal { clicks, gain_points: (surface.after(shift) - now) * left }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::face::Face;
    use crate::group::{Prior, read};
    use crate::score::expected_t;
    use crate::shot::Shot;
    use crate::units::{Shaft, Spread};

    fn scene(random: &mut Random, n: usize) -> Reading {
        let distance = Distance::from_metres(70.0).unwrap();
        let prior = Prior::new(Spread::from_mrad(1.0 + 2.0 * random.uniform()).unwrap(), distance, 4.0, 1.0).unwrap();
        let sd = 60.0 + 100.0 * random.uniform();
        let (x, y) = random.normal_pair();
        let centre = Point::new(80.0 * x, 80.0 * y);
        let shots: Vec<Shot> = (0..n)
            .map(|_| {
                let (x, y) = random.normal_pair();
                let wide = if random.uniform() < 0.08 { 3.0 } else { 1.0 };
                Shot::at(centre.x_mm + wide * sd * x, centre.y_mm + wide * sd * y)
            })
            .collect();
        read(&shots, &prior, ClassOdds::default(), Face::named("122").unwrap(), Shaft::default()).unwrap()
    }

    /// The full mixture, every part integrated by itself.
    fn full(reading: &Reading, shift: Point) -> f64 {
        let (face, dof) = (Face::named("122").unwrap(), reading.next.dof());
        let mut total = 0.0;
        for part in reading.next.parts.iter().filter(|p| p.weight > 1e-6) {
            for (kappa, p) in KAPPA.into_iter().zip(ClassOdds::default().get()) {
                let scale = part.psi * ((kappa + part.lean) / dof);
                total += p * part.weight * expected_t(face, Shaft::default(), part.mean - shift, scale, dof).unwrap();
            }
        }
        total
    }

    #[test]
    fn the_figures_follow_the_full_mixture() {
        let scorer = Scorer::new(Face::named("122").unwrap(), Shaft::default());
        let distance = Distance::from_metres(70.0).unwrap();
        let sight = Sight::default();
        let ahead = Ahead { shots_left: 1, touch_cost_points: 0.0 };
        let mut random = Random::seeded(21);
        let (mut of_now, mut of_gain) = (Vec::new(), Vec::new());
        for n in [1, 2, 3, 4, 5, 6] {
            for _ in 0..5 {
                let reading = scene(&mut random, n);
                let advice = advise(&reading, &scorer, &sight, distance, ClassOdds::default(), &ahead);
                let shift = sight.shift_mm(sight.pin_mm(advice.best.clicks), distance);
                let (now, moved) = (full(&reading, Point::default()), full(&reading, shift));
                of_now.push((advice.expected_score_now - now).abs());
                of_gain.push((advice.best.gain_points - (moved - now)).abs());
                // No neighbour a click away is better by more than the error of the figures.
                for d in [[1, 0], [-1, 0], [0, 1], [0, -1]] {
                    let near = [advice.best.clicks[0] + d[0], advice.best.clicks[1] + d[1]];
                    let near = full(&reading, sight.shift_mm(sight.pin_mm(near), distance));
                    assert!(near < moved + 5e-4, "{n} shots: {:?} {moved} but {d:?} away {near}", advice.best);
                }
            }
        }
        for (what, mut errors, median, largest) in [("score now", of_now, 1e-3, 5e-3), ("gain", of_gain, 3e-4, 4e-3)] {
            errors.sort_by(f64::total_cmp);
            let (mid, top) = (errors[errors.len() / 2], errors[errors.len() - 1]);
            assert!(mid < median && top < largest, "{what}: median {mid:e}, largest {top:e}");
        }
    }

    #[test]
    fn the_sight_follows_the_arrows() {
        let scorer = Scorer::new(Face::named("122").unwrap(), Shaft::default());
        let distance = Distance::from_metres(70.0).unwrap();
        let face = Face::named("122").unwrap();
        let prior = Prior::new(Spread::from_mrad(1.0).unwrap(), distance, 4.0, 1.0).unwrap();
        let shots: Vec<Shot> = (0..6).map(|i| Shot::at(-150.0 + f64::from(i), 200.0 - f64::from(i % 3))).collect();
        let reading = read(&shots, &prior, ClassOdds::default(), face, Shaft::default()).unwrap();
        let ahead = Ahead { shots_left: 30, touch_cost_points: 0.5 };
        let advice = advise(&reading, &scorer, &Sight::default(), distance, ClassOdds::default(), &ahead);
        assert_eq!(advice.action, Action::Move);
        assert!(advice.clicks[0] < 0 && advice.clicks[1] > 0, "left and up: {advice:?}");
        assert!((advice.shift_mm - reading.centre).radius_mm() < 20.0, "the shift is taken from the shots");
    }

    #[test]
    fn a_tiny_gain_is_left_alone() {
        let scorer = Scorer::new(Face::named("122").unwrap(), Shaft::default());
        let distance = Distance::from_metres(70.0).unwrap();
        let mut random = Random::seeded(4);
        let reading = scene(&mut random, 6);
        let costly = Ahead { shots_left: 1, touch_cost_points: 5.0 };
        let advice = advise(&reading, &scorer, &Sight::default(), distance, ClassOdds::default(), &costly);
        assert_eq!((advice.action, advice.clicks, advice.pin_mm), (Action::Leave, [0, 0], Point::default()));
    }
}
