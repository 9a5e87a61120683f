//! Whether places scatter alike in all directions.

use crate::plane::{Point, Principal, Sym2};
use crate::stats::StatsError;

/// The shape of some places.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shape {
    /// Extent along the direction in which they scatter most, in their unit.
    pub long: f64,
    /// Extent across it.
    pub short: f64,
    /// That direction, in radians above +x, more than -pi/2 and at most pi/2.
    pub direction_rad: f64,
    /// How often places that scatter alike in all directions are as long as this, or longer.
    pub p: f64,
}

/// The shape of `places`.
///
/// With the eigenvalues `a >= b` of their scatter matrix, `W = 4 a b / (a + b)^2` is 1 for a round group and 0 for a line. For
/// `n` independent normal places of a round distribution `W^((n - 2) / 2)` is uniform (Mauchly 1940, the case of two
/// variates), so that is the probability of a shape as long as the one seen.
///
/// # Errors
/// [`StatsError::TooFew`] under three places, [`StatsError::NoSpread`] when they are all the same.
pub fn shape(places: &[Point]) -> Result<Shape, StatsError> {
    let n = places.len();
    if n < 3 {
        return Err(StatsError::TooFew { values: n, needed: 3 });
    }
    let count = n as f64;
    let middle = places.iter().fold(Point::default(), |sum, p| sum + *p) * (1.0 / count);
    let scatter = places.iter().fold(Sym2::default(), |sum, p| sum + Sym2::outer(*p - middle));
    let sum = scatter.xx + scatter.yy;
    if sum <= 0.0 || !sum.is_finite() {
        return Err(StatsError::NoSpread);
    }
    let Principal { major, angle_rad: direction_rad, .. } = scatter.principal();
    let (sin, cos) = direction_rad.sin_cos();
    let extent = |x: f64, y: f64| {
        let along = places.iter().map(|p| p.x_mm * x + p.y_mm * y);
        let (low, high) = along.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        high - low
    };
    // By what lies across: on a line the determinant would be lost in a difference.
    let across = |p: &Point| sin * (p.x_mm - middle.x_mm) - cos * (p.y_mm - middle.y_mm);
    let minor: f64 = places.iter().map(|p| across(p).powi(2)).sum();
    let w = (4.0 * major * minor / (sum * sum)).clamp(0.0, 1.0);
    Ok(Shape { long: extent(cos, sin), short: extent(-sin, cos), direction_rad, p: w.powf(0.5 * (count - 2.0)) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::Random;

    #[test]
    fn a_round_group_is_as_long_as_it_says_that_often() {
        // Mauchly 1940: W^((n-2)/2) is uniform. 4,000 groups of three, six and twelve, turned and wide.
        let mut random = Random::seeded(1940);
        for n in [3, 6, 12] {
            let mut below = [0.0; 3];
            for _ in 0..4000 {
                let places: Vec<Point> = (0..n)
                    .map(|_| {
                        let (a, b) = random.normal_pair();
                        Point::new(40.0 + 80.0 * a, -10.0 + 80.0 * b)
                    })
                    .collect();
                let p = shape(&places).unwrap().p;
                for (count, level) in below.iter_mut().zip([0.01, 0.1, 0.5]) {
                    *count += f64::from(u8::from(p < level)) / 4000.0;
                }
            }
            // Four standard errors of 4,000.
            for (share, level) in below.iter().zip([0.01_f64, 0.1, 0.5]) {
                assert!((share - level).abs() < 4.0 * (level * (1.0 - level) / 4000.0).sqrt(), "{n}: {below:?}");
            }
        }
    }

    #[test]
    fn a_line_is_told_whatever_its_direction() {
        for degrees in [-60.0_f64, 0.0, 30.0, 90.0] {
            let (sin, cos) = degrees.to_radians().sin_cos();
            let places: Vec<Point> =
                [(-125.0, 4.0), (-70.0, -6.0), (-20.0, 6.0), (30.0, -3.0), (80.0, 2.0), (125.0, -1.0)]
                    .map(|(u, v): (f64, f64)| Point::new(u * cos - v * sin, u * sin + v * cos))
                    .to_vec();
            let got = shape(&places).unwrap();
            assert!((got.direction_rad.to_degrees() - degrees).abs() < 3.0, "{got:?}");
            assert!((got.long - 250.0).abs() < 3.0 && (got.short - 12.0).abs() < 8.0 && got.p < 1e-3, "{got:?}");
        }
        let line: Vec<Point> = (0..5).map(|i| Point::new(f64::from(i), 2.0 * f64::from(i))).collect();
        assert!(shape(&line).unwrap().p < 1e-12);
        assert!(shape(&[Point::default(); 6]).is_err() && shape(&[Point::default(); 2]).is_err());
    }
}
