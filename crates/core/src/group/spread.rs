//! The spread of many shots, quickly: the same classes as the model of a group, one spread for both axes.

use super::{ClassOdds, KAPPA};
use crate::plane::Point;
use crate::shot::Cell;
use crate::stats::bessel;

/// What some shots say of spread and centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpreadEstimate {
    /// One standard deviation an axis of the clean process, in millimetres on the face.
    pub spread_mm: f64,
    /// Degrees of freedom of that, both axes together.
    pub dof: f64,
    /// Centre of the clean process, in millimetres, in the frame of the last setting.
    pub centre: Point,
    /// Shots it is from.
    pub shots: usize,
}

impl SpreadEstimate {
    /// An interval for the spread in millimetres that holds it with probability `1 - 2 tail` for normal shots.
    ///
    /// `s sqrt(dof / chi2)` with the chi-square quantiles after Wilson and Hilferty (1931): within 1 % from 4 degrees of
    /// freedom on.
    #[must_use]
    pub fn interval_mm(&self, z: f64) -> (f64, f64) {
        let h = 2.0 / (9.0 * self.dof);
        let ratio = |z: f64| (1.0 - h + z * h.sqrt()).max(0.05).powi(3);
        (self.spread_mm / ratio(z).sqrt(), self.spread_mm / ratio(-z).sqrt())
    }
}

/// What is known of where one shot landed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Landed {
    /// Its place, or the cell that was called.
    pub place: Spot,
    /// By how much touches since have moved the arrows, in the direction of the pin: it is taken off.
    pub carry: Point,
}

/// A place, or where it lies within.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spot {
    /// Here.
    At(Point),
    /// Somewhere in this cell.
    In(Cell),
}

/// Most rounds of the iteration; it gains a digit in two or three where every shot has a place.
const ROUNDS: usize = 40;
/// A session of which more than this share is missed says too little.
const MOST_MISSED: f64 = 0.5;

/// The spread and the centre of some shots, by expectation and maximisation over the classes clean, flyer and stray.
///
/// A call with a clock stands in the middle of its cell, and the variance that this adds is taken off (Sheppard's
/// correction). A ring without a clock and a miss are censored: all that is known is that they lie in a ring, or beyond the
/// face, and their squares and their middle are those of the part of each class that does (Dempster, Laird & Rubin 1977,
/// section 4.2). Where no shot has a direction the centre is taken to be the middle of the face: a ring says nothing else.
///
/// Nothing for fewer than three shots on the face, or when more than half missed. The degrees of freedom are 2 for a place, 1
/// for a ring, one half for a miss, less 2; flyers cost a little of that, which is left out.
#[must_use]
pub fn estimate(shots: &[Landed]) -> Option<SpreadEstimate> {
    let odds = ClassOdds::default().get();
    let (mut places, mut censored, mut quantisation) = (Vec::with_capacity(shots.len()), Vec::new(), 0.0);
    let mut missed = 0;
    for shot in shots {
        let cell = match shot.place {
            Spot::At(place) => {
                places.push(place - shot.carry);
                continue;
            }
            Spot::In(cell) => cell,
        };
        if let Some(middle) = cell.middle().filter(|_| cell.is_directed()) {
            places.push(middle - shot.carry);
            let width = cell.outer_mm - cell.inner_mm;
            let arc = 2.0 * middle.radius_mm() * cell.half_width_rad;
            quantisation += (width * width + arc * arc) / 24.0;
        } else {
            missed += usize::from(!cell.outer_mm.is_finite());
            match censored.iter_mut().find(|c: &&mut Censored| c.cell == cell && c.carry == shot.carry) {
                Some(same) => same.times += 1.0,
                None => censored.push(Censored { cell, carry: shot.carry, times: 1.0 }),
            }
        }
    }
    let (on_face, all) = (shots.len() - missed, shots.len());
    if on_face < 3 || missed as f64 > MOST_MISSED * all as f64 {
        return None;
    }
    let quantisation = quantisation / places.len().max(1) as f64;
    let directed = !places.is_empty();
    let (mut centre, mut variance) = begin(&places, &censored);
    // What lies 30 spreads out is no arrow of this archer: even strays are within 30 ninety-nine times in a hundred.
    let reach2 = 900.0 * variance.max(1.0);
    let far = |p: &Point| (*p - centre).radius_mm().powi(2) > reach2;
    let before = places.len();
    places.retain(|p| !far(p));
    let all = all - (before - places.len());
    if places.len() + on_face - before < 3 {
        return None;
    }
    let n = all as f64;
    for _ in 0..ROUNDS {
        let mut sums = Sums::default();
        for place in &places {
            let d2 = (*place - centre).radius_mm().powi(2) / variance;
            // Relative to the widest class, so that a stray far out does not underflow to nothing over nothing.
            let like: Vec<f64> =
                odds.iter().zip(KAPPA).map(|(p, k)| p / k * (0.5 * d2 * (1.0 / KAPPA[2] - 1.0 / k)).exp()).collect();
            let sum: f64 = like.iter().sum();
            let weight: f64 = like.iter().zip(KAPPA).map(|(l, k)| l / sum / k).sum();
            sums.add(weight, *place * weight, weight * place.radius_mm().powi(2));
        }
        for cell in &censored {
            cell.add_to(&mut sums, centre, variance, &odds);
        }
        if directed {
            centre = sums.first * (1.0 / sums.weight);
        }
        let square = sums.square - 2.0 * (sums.first.x_mm * centre.x_mm + sums.first.y_mm * centre.y_mm)
            + sums.weight * centre.radius_mm().powi(2);
        let next = (square / (2.0 * (n - 1.0))).max(1e-6);
        let settled = (next / variance - 1.0).abs() < 1e-6;
        variance = next;
        if settled {
            break;
        }
    }
    let rings = on_face - before;
    let dof = (2.0 * places.len() as f64 + rings as f64 + 0.5 * missed as f64 - 2.0).max(1.0);
    let spread_mm = (variance - quantisation).max(0.1 * variance).sqrt();
    Some(SpreadEstimate { spread_mm, dof, centre, shots: (0.5 * dof).round() as usize + 1 })
}

/// Centre and variance to begin with: the middle of all coordinates, and a spread that half of the shots agree with; without
/// places, half of the rings.
fn begin(places: &[Point], censored: &[Censored]) -> (Point, f64) {
    if places.is_empty() {
        let rings: Vec<f64> = censored
            .iter()
            .filter(|c| c.cell.outer_mm.is_finite())
            .map(|c| (0.5 * (c.cell.inner_mm + c.cell.outer_mm)).powi(2))
            .collect();
        let mean = rings.iter().sum::<f64>() / rings.len().max(1) as f64;
        return (Point::default(), (0.5 * mean).max(1e-6));
    }
    let median = |pick: fn(&Point) -> f64| {
        let mut all: Vec<f64> = places.iter().map(pick).collect();
        all.sort_unstable_by(f64::total_cmp);
        0.5 * (all[(all.len() - 1) / 2] + all[all.len() / 2])
    };
    let centre = Point::new(median(|p| p.x_mm), median(|p| p.y_mm));
    let mut squares: Vec<f64> = places.iter().map(|p| (*p - centre).radius_mm().powi(2)).collect();
    squares.sort_unstable_by(f64::total_cmp);
    // The median of a squared distance is 2 ln 2 variances. One place alone says nothing of it.
    let own = squares[squares.len() / 2] / (2.0 * std::f64::consts::LN_2);
    let least = if places.len() < 3 {
        (censored.iter().map(|c| c.cell.inner_mm).fold(0.0, f64::max) / 3.0).powi(2)
    } else {
        0.0
    };
    (centre, own.max(least).max(1e-6))
}

/// What the shots add up to: weights, weighted places and weighted squares.
#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    weight: f64,
    first: Point,
    square: f64,
}

impl Sums {
    fn add(&mut self, weight: f64, first: Point, square: f64) {
        self.weight += weight;
        self.first = self.first + first;
        self.square += square;
    }
}

/// Shots of which only a ring, or that they missed, is known.
struct Censored {
    cell: Cell,
    carry: Point,
    times: f64,
}

impl Censored {
    /// Adds what is expected of the shots, each class being normal around `centre` with `variance` times its factor.
    fn add_to(&self, sums: &mut Sums, centre: Point, variance: f64, odds: &[f64; 3]) {
        let middle = centre + self.carry;
        let mut mass = 0.0;
        let mut own = Sums::default();
        for (p, kappa) in odds.iter().zip(KAPPA) {
            let (share, first, square) = self.part(middle, kappa * variance);
            mass += p * share;
            own.add(p * share / kappa, first * (p / kappa), p * square / kappa);
        }
        if mass <= f64::MIN_POSITIVE {
            return;
        }
        // Back from the frame of its own setting to that of the last.
        let k = self.times / mass;
        let (weight, first) = (own.weight, own.first - self.carry * own.weight);
        let cross = own.first.x_mm * self.carry.x_mm + own.first.y_mm * self.carry.y_mm;
        let square = own.square - 2.0 * cross + own.weight * self.carry.radius_mm().powi(2);
        sums.add(k * weight, first * k, k * square);
    }

    /// Probability of the cell, and the first and second moments over it, of a round normal around `middle`.
    fn part(&self, middle: Point, variance: f64) -> (f64, Point, f64) {
        if self.cell.is_directed() { self.sector(middle, variance) } else { self.ring(middle, variance) }
    }

    /// Where a cell without an end is over: nothing is expected there.
    fn outer_mm(&self, middle: Point, sd: f64) -> f64 {
        let Cell { inner_mm, outer_mm, .. } = self.cell;
        if outer_mm.is_finite() { outer_mm } else { inner_mm.max(middle.radius_mm()) + 6.0 * sd }
    }

    /// A whole ring: the distance from the middle of the face follows Rice (1944), and Rayleigh where the normal is in the middle.
    fn ring(&self, middle: Point, variance: f64) -> (f64, Point, f64) {
        let (sd, m, inner) = (variance.sqrt(), middle.radius_mm(), self.cell.inner_mm);
        if m < 1e-6 * sd {
            let beyond = |r: f64| (-0.5 * r * r / variance).exp();
            let square = |r: f64| if r.is_finite() { (r * r + 2.0 * variance) * beyond(r) } else { 0.0 };
            let outer = self.cell.outer_mm;
            return (beyond(inner) - beyond(outer), Point::default(), square(inner) - square(outer));
        }
        let outer = self.outer_mm(middle, sd);
        let steps = (3.0 * (outer - inner) / sd).ceil().clamp(4.0, 96.0) as usize;
        let dr = (outer - inner) / steps as f64;
        let (mut mass, mut along, mut square) = (0.0, 0.0, 0.0);
        for i in 0..steps {
            let r = inner + (i as f64 + 0.5) * dr;
            let near = r * dr / variance * (-0.5 * (r - m).powi(2) / variance).exp();
            let (i0, i1) = bessel::scaled(r * m / variance);
            mass += near * i0;
            along += near * i1 * r;
            square += near * i0 * r * r;
        }
        (mass, middle * (along / m), square)
    }

    /// A part of a ring, by a grid.
    fn sector(&self, middle: Point, variance: f64) -> (f64, Point, f64) {
        let (sd, cell) = (variance.sqrt(), &self.cell);
        let outer = self.outer_mm(middle, sd);
        let steps = |length: f64, least: f64| (3.0 * length / sd).ceil().clamp(least, 96.0) as usize;
        let radii = steps(outer - cell.inner_mm, 4.0);
        let arc = 2.0 * cell.half_width_rad * (0.5 * (cell.inner_mm + outer)).min(middle.radius_mm() + 4.0 * sd);
        let angles = steps(arc, 12.0);
        let (dr, da) = ((outer - cell.inner_mm) / radii as f64, 2.0 * cell.half_width_rad / angles as f64);
        let (mut mass, mut first, mut square) = (0.0, Point::default(), 0.0);
        for j in 0..angles {
            let angle = cell.angle_rad - cell.half_width_rad + (j as f64 + 0.5) * da;
            let (sin, cos) = angle.sin_cos();
            for i in 0..radii {
                let r = cell.inner_mm + (i as f64 + 0.5) * dr;
                let p = Point::new(r * cos, r * sin);
                let w = r * dr * da * (-0.5 * (p - middle).radius_mm().powi(2) / variance).exp()
                    / (std::f64::consts::TAU * variance);
                mass += w;
                first = first + p * w;
                square += w * r * r;
            }
        }
        (mass, first, square)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::face::Face;
    use crate::random::Random;
    use crate::shot::{Call, Ring};
    use crate::units::Shaft;

    fn landed(places: &[Point]) -> Vec<Landed> {
        places.iter().map(|p| Landed { place: Spot::At(*p), carry: Point::default() }).collect()
    }

    /// A ring by its distribution of distances is what a sector of all directions is by a grid.
    #[test]
    fn a_ring_is_a_sector_all_around() {
        for (inner_mm, outer_mm) in [(0.0, 30.0), (61.0, 122.0), (244.0, 305.0), (610.0, f64::INFINITY)] {
            let cell = Cell { inner_mm, outer_mm, angle_rad: 0.0, half_width_rad: std::f64::consts::PI };
            let ring = Censored { cell, carry: Point::default(), times: 1.0 };
            for middle in [Point::default(), Point::new(3.0, -4.0), Point::new(200.0, 90.0)] {
                for sd in [40.0_f64, 110.0, 300.0] {
                    let (a, b) = (ring.ring(middle, sd * sd), ring.sector(middle, sd * sd));
                    let scale = 1.0 + outer_mm.min(2_000.0).powi(2);
                    assert!((a.0 - b.0).abs() < 4e-3, "{cell:?} {middle:?} {sd}: {a:?} {b:?}");
                    assert!((a.1 - b.1).radius_mm() < 4e-3 * scale.sqrt(), "{cell:?} {middle:?} {sd}: {a:?} {b:?}");
                    assert!((a.2 - b.2).abs() < 4e-3 * scale, "{cell:?} {middle:?} {sd}: {a:?} {b:?}");
                }
            }
        }
    }

    fn shoot(random: &mut Random, centre: Point, spread_mm: f64) -> Point {
        let k = spread_mm * KAPPA[random.choose(&ClassOdds::default().get())].sqrt();
        let (a, b) = random.normal_pair();
        centre + Point::new(k * a, k * b)
    }

    /// What a card without clocks says of an arrow there.
    fn ring_only(place: Point) -> Cell {
        let (face, shaft) = (Face::named("122").unwrap(), Shaft::default());
        let value = face.score(place, shaft).value;
        let ring = if value == 0 { Ring::Miss } else { Ring::Value(value) };
        Call { ring, clock: None }.cell(face, shaft).unwrap()
    }

    #[test]
    fn the_spread_is_found_in_spite_of_flyers() {
        let mut random = Random::stream(7, 1);
        let mut ratio = 0.0;
        for _ in 0..200 {
            let places: Vec<Point> = (0..36).map(|_| shoot(&mut random, Point::new(30.0, -20.0), 80.0)).collect();
            ratio += estimate(&landed(&places)).unwrap().spread_mm / 80.0 / 200.0;
        }
        assert!((ratio - 1.0).abs() < 0.03, "{ratio}");
    }

    /// A quarter of the arrows misses the face: without them the spread comes out a quarter too small.
    #[test]
    fn misses_are_not_forgotten() {
        let mut random = Random::stream(7, 2);
        let (mut with, mut without, mut missed) = (0.0, 0.0, 0.0);
        for _ in 0..100 {
            let shots: Vec<Landed> = (0..36)
                .map(|_| {
                    let place = shoot(&mut random, Point::new(60.0, -40.0), 330.0);
                    let cell = ring_only(place);
                    let place = if cell.outer_mm.is_finite() { Spot::At(place) } else { Spot::In(cell) };
                    Landed { place, carry: Point::default() }
                })
                .collect();
            let seen: Vec<Landed> = shots.iter().filter(|s| matches!(s.place, Spot::At(_))).copied().collect();
            missed += (36 - seen.len()) as f64 / 3600.0;
            with += estimate(&shots).unwrap().spread_mm / 330.0 / 100.0;
            without += estimate(&seen).unwrap().spread_mm / 330.0 / 100.0;
        }
        assert!((0.15..0.35).contains(&missed), "{missed}");
        assert!((with - 1.0).abs() < 0.06 && without < 0.85, "{with} {without}");
    }

    /// A card of rings alone, of a sight that is set right.
    #[test]
    fn rings_alone_tell_the_spread() {
        let mut random = Random::stream(7, 3);
        for spread_mm in [60.0, 150.0] {
            let mut ratio = 0.0;
            for _ in 0..60 {
                let shots: Vec<Landed> = (0..36)
                    .map(|_| {
                        let place = shoot(&mut random, Point::default(), spread_mm);
                        Landed { place: Spot::In(ring_only(place)), carry: Point::default() }
                    })
                    .collect();
                let e = estimate(&shots).unwrap();
                assert!(e.centre.radius_mm() < 1e-9 && e.shots < 20, "{e:?}");
                ratio += e.spread_mm / spread_mm / 60.0;
            }
            assert!((ratio - 1.0).abs() < 0.05, "{spread_mm}: {ratio}");
        }
    }

    /// Half of the arrows before a touch: what the rings say is carried as places are.
    #[test]
    fn rings_are_carried_across_touches() {
        let mut random = Random::stream(7, 4);
        let (carry, mut ratio, mut off) = (Point::new(-160.0, 90.0), 0.0, Point::default());
        for _ in 0..60 {
            let shots: Vec<Landed> = (0..36)
                .map(|i| {
                    let before = i < 18;
                    let carry = if before { carry } else { Point::default() };
                    let place = shoot(&mut random, carry, 90.0);
                    let place = if i % 3 == 0 { Spot::In(ring_only(place)) } else { Spot::At(place) };
                    Landed { place, carry }
                })
                .collect();
            let e = estimate(&shots).unwrap();
            ratio += e.spread_mm / 90.0 / 60.0;
            off = off + e.centre * (1.0 / 60.0);
        }
        assert!((ratio - 1.0).abs() < 0.05 && off.radius_mm() < 8.0, "{ratio} {off:?}");
    }

    #[test]
    fn identical_shots_and_far_strays_are_no_trouble() {
        assert!(estimate(&landed(&[Point::default(); 2])).is_none());
        let same = estimate(&landed(&[Point::new(1.0, 1.0); 6])).unwrap();
        assert!(same.spread_mm.is_finite() && same.spread_mm > 0.0);
        let mut shots = vec![Point::new(1.0, 0.0), Point::new(-1.0, 0.0), Point::new(0.0, 1.0), Point::new(0.0, -1.0)];
        shots.push(Point::new(1e5, 1e5));
        assert!(estimate(&landed(&shots)).unwrap().centre.radius_mm() < 30.0);
        let miss = Landed { place: Spot::In(ring_only(Point::new(5000.0, 0.0))), carry: Point::default() };
        assert!(estimate(&[miss; 12]).is_none());
        let mut mixed = landed(&[Point::new(5.0, 5.0); 3]);
        mixed.extend([miss; 3]);
        let e = estimate(&mixed).unwrap();
        assert!(e.spread_mm.is_finite() && e.centre.is_finite(), "{e:?}");
        mixed.push(miss);
        assert!(estimate(&mixed).is_none());
    }

    #[test]
    fn intervals_agree_with_the_chi_square() {
        // chi2 quantiles at 10 % and 90 % for 10 degrees of freedom: 4.8652, 15.9872 (scipy.stats.chi2.ppf, 1.x).
        let e = SpreadEstimate { spread_mm: 1.0, dof: 10.0, centre: Point::default(), shots: 6 };
        let (low, high) = e.interval_mm(1.281_551_6);
        assert!((low - (10.0f64 / 15.9872).sqrt()).abs() < 2e-3 && (high - (10.0f64 / 4.8652).sqrt()).abs() < 5e-3);
    }
}
