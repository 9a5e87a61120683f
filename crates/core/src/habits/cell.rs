//! What is expected of a shot of which only a cell is known: a ring without a clock, or a miss.

use crate::plane::Point;
use crate::shot::Cell;

/// Probability of a cell, and first and second moments over it.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Part {
    pub mass: f64,
    pub mean: Point,
    pub square: [f64; 2],
}

/// Of a normal about `middle` with the standard deviations `sd` along the axes (mm), in the frame of the cell: its share in `cell`, and
/// the mean and the mean squares of what lies there, by the midpoint rule in polar coordinates (the normal is smooth and the cell goes
/// all round, so that the angles converge fast). A share below 1e-12 gives the middle itself.
pub(super) fn part(cell: &Cell, middle: Point, sd: [f64; 2]) -> Part {
    let wide = sd[0].max(sd[1]);
    let far = cell.inner_mm.max(middle.radius_mm()) + 5.0 * wide;
    let outer = if cell.outer_mm.is_finite() { cell.outer_mm } else { far };
    let narrow = sd[0].min(sd[1]);
    let steps = |length: f64, least: f64, most: f64| (2.0 * length / narrow).ceil().clamp(least, most) as usize;
    let radii = steps(outer - cell.inner_mm, 4.0, 24.0);
    let arc = 2.0 * cell.half_width_rad * 0.5 * (cell.inner_mm + outer.min(cell.inner_mm + wide));
    let angles = steps(arc, 12.0, 72.0);
    let (dr, da) = ((outer - cell.inner_mm) / radii as f64, 2.0 * cell.half_width_rad / angles as f64);
    let (precision, m) = (sd.map(|s| 1.0 / (s * s)), [middle.x_mm, middle.y_mm]);
    let own = precision[0] * m[0] * m[0] + precision[1] * m[1] * m[1];
    let (mut sin, mut cos) = (cell.angle_rad - cell.half_width_rad + 0.5 * da).sin_cos();
    let (turn_sin, turn_cos) = da.sin_cos();
    let mut out = Part::default();
    for _ in 0..angles {
        // Along a ray the logarithm of the density is a parabola in the distance, and its maximum is where the steps begin: on both sides
        // each is the one before times a factor that falls from step to step by the same share.
        let bend = precision[0] * cos * cos + precision[1] * sin * sin;
        let slope = precision[0] * m[0] * cos + precision[1] * m[1] * sin;
        let top = (((slope / bend - cell.inner_mm) / dr - 0.5).round().max(0.0) as usize).min(radii - 1);
        let at = |i: usize| cell.inner_mm + (i as f64 + 0.5) * dr;
        let r = at(top);
        let begin = (-0.5 * (bend * r * r - 2.0 * slope * r + own)).exp();
        let (mut sums, fall) = ([0.0; 3], (-bend * dr * dr).exp());
        let mut add = |i: usize, density: f64| {
            let r = at(i);
            let w = r * density;
            sums[0] += w;
            sums[1] += w * r;
            sums[2] += w * r * r;
        };
        add(top, begin);
        let (mut density, mut factor) = (begin, (slope * dr - bend * (r * dr + 0.5 * dr * dr)).exp());
        for i in top + 1..radii {
            density *= factor;
            factor *= fall;
            add(i, density);
        }
        (density, factor) = (begin, (-slope * dr + bend * (r * dr - 0.5 * dr * dr)).exp());
        for i in (0..top).rev() {
            density *= factor;
            factor *= fall;
            add(i, density);
        }
        out.mass += sums[0];
        out.mean = out.mean + Point::new(cos, sin) * sums[1];
        out.square[0] += cos * cos * sums[2];
        out.square[1] += sin * sin * sums[2];
        (cos, sin) = (cos * turn_cos - sin * turn_sin, sin * turn_cos + cos * turn_sin);
    }
    let k = 1.0 / out.mass;
    let mass = out.mass * dr * da / (std::f64::consts::TAU * sd[0] * sd[1]);
    if mass.is_nan() || mass <= 1e-12 {
        let square = [middle.x_mm * middle.x_mm + sd[0] * sd[0], middle.y_mm * middle.y_mm + sd[1] * sd[1]];
        return Part { mass: mass.max(1e-300), mean: middle, square };
    }
    Part { mass: mass.min(1.0), mean: out.mean * k, square: out.square.map(|s| s * k) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::Random;

    /// Step by step, each density by itself.
    #[test]
    fn the_factors_are_the_densities() {
        let mut random = Random::seeded(6);
        for _ in 0..300 {
            let inner_mm = (10.0 * random.uniform()).floor() * 61.0;
            let outer_mm = if random.uniform() < 0.2 { f64::INFINITY } else { inner_mm + 61.0 };
            let cell = Cell { inner_mm, outer_mm, angle_rad: 0.0, half_width_rad: std::f64::consts::PI };
            let middle = Point::new(600.0 * random.uniform() - 300.0, 600.0 * random.uniform() - 300.0);
            let sd = [30.0 + 300.0 * random.uniform(), 30.0 + 300.0 * random.uniform()];
            let got = part(&cell, middle, sd);
            // A grid of a hundred times as many points.
            let outer = outer_mm.min(inner_mm.max(middle.radius_mm()) + 7.0 * sd[0].max(sd[1]));
            let (radii, angles) = (240, 720);
            let (dr, da) = ((outer - inner_mm) / f64::from(radii), std::f64::consts::TAU / f64::from(angles));
            let (mut mass, mut mean) = (0.0, Point::default());
            for j in 0..angles {
                let (sin, cos) = (f64::from(j) * da).sin_cos();
                for i in 0..radii {
                    let r = inner_mm + (f64::from(i) + 0.5) * dr;
                    let (x, y) = ((r * cos - middle.x_mm) / sd[0], (r * sin - middle.y_mm) / sd[1]);
                    let w = r * (-0.5 * (x * x + y * y)).exp() * dr * da / (std::f64::consts::TAU * sd[0] * sd[1]);
                    mass += w;
                    mean = mean + Point::new(r * cos, r * sin) * w;
                }
            }
            if mass > 1e-3 {
                assert!(
                    (got.mass - mass).abs() < 0.02 * mass + 5e-4,
                    "{cell:?} {middle:?} {sd:?}: {} {mass}",
                    got.mass
                );
                let off = (got.mean - mean * (1.0 / mass)).radius_mm();
                assert!(off < 0.1 * sd[0].min(sd[1]), "{cell:?} {middle:?} {sd:?}: {off}");
            }
        }
    }

    /// Against a million arrows.
    #[test]
    fn a_miss_is_what_lies_beside_the_face() {
        let cell =
            Cell { inner_mm: 612.0, outer_mm: f64::INFINITY, angle_rad: 0.0, half_width_rad: std::f64::consts::PI };
        let (middle, sd) = (Point::new(220.0, -40.0), [300.0, 200.0]);
        let got = part(&cell, middle, sd);
        let mut random = Random::seeded(5);
        let (mut n, mut mean, mut square) = (0.0, Point::default(), 0.0);
        for _ in 0..1_000_000 {
            let (a, b) = random.normal_pair();
            let p = middle + Point::new(sd[0] * a, sd[1] * b);
            if p.radius_mm() > 612.0 {
                n += 1.0;
                mean = mean + p;
                square += p.x_mm * p.x_mm;
            }
        }
        assert!((got.mass - n / 1e6).abs() < 2e-3, "{} {}", got.mass, n / 1e6);
        assert!((got.mean - mean * (1.0 / n)).radius_mm() < 6.0, "{:?} {:?}", got.mean, mean * (1.0 / n));
        assert!((got.square[0] / (square / n) - 1.0).abs() < 0.02);
    }
}
