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
    let radii = steps(outer - cell.inner_mm, 6.0, 24.0);
    let arc = 2.0 * cell.half_width_rad * 0.5 * (cell.inner_mm + outer.min(cell.inner_mm + wide));
    let angles = steps(arc, 16.0, 72.0);
    let (dr, da) = ((outer - cell.inner_mm) / radii as f64, 2.0 * cell.half_width_rad / angles as f64);
    let mut out = Part::default();
    for j in 0..angles {
        let (sin, cos) = (cell.angle_rad - cell.half_width_rad + (j as f64 + 0.5) * da).sin_cos();
        for i in 0..radii {
            let r = cell.inner_mm + (i as f64 + 0.5) * dr;
            let (x, y) = ((r * cos - middle.x_mm) / sd[0], (r * sin - middle.y_mm) / sd[1]);
            let w = r * (-0.5 * (x * x + y * y)).exp();
            out.mass += w;
            out.mean = out.mean + Point::new(r * cos, r * sin) * w;
            out.square[0] += w * r * cos * r * cos;
            out.square[1] += w * r * sin * r * sin;
        }
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
