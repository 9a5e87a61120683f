//! How much a centre wanders between ends, learnt from ends that were shot without touching the sight.

use crate::plane::Point;

/// Drift learnt from history.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Learnt {
    /// Most likely drift between ends, one standard deviation an axis, in the unit of the shots.
    pub drift: f64,
    /// The drift whose likelihood falls to a seventh of the best on the upper side (about 95 %).
    pub upper: f64,
    /// How many ends it was learnt from.
    pub ends: usize,
}

/// Log likelihood of the end means under a random walk of variance `drift2` an end seen with noise of variance
/// `noise2 / shots`: the scalar Kalman filter's innovations, both axes.
fn log_likelihood(means: &[(Point, f64)], noise2: f64, drift2: f64) -> f64 {
    let mut total = 0.0;
    let (mut at, mut v) = (means[0].0, noise2 / means[0].1);
    for (mean, shots) in &means[1..] {
        v += drift2;
        let s = v + noise2 / shots;
        let d = *mean - at;
        total -= s.ln() + 0.5 * (d.x_mm * d.x_mm + d.y_mm * d.y_mm) / s;
        let k = v / s;
        at = at + d * k;
        v *= 1.0 - k;
    }
    total
}

/// Learns the drift from `ends`, each the places of one end's shots (any unit, one frame); at least four ends with at least
/// two shots are needed, else `None`. The spread within ends is taken from the ends themselves.
#[must_use]
pub fn learn(ends: &[Vec<Point>]) -> Option<Learnt> {
    let ends: Vec<&Vec<Point>> = ends.iter().filter(|e| e.len() >= 2).collect();
    if ends.len() < 4 {
        return None;
    }
    let (mut squares, mut freedom) = (0.0, 0.0);
    let means: Vec<(Point, f64)> = ends
        .iter()
        .map(|e| {
            let n = e.len() as f64;
            let mean = e.iter().fold(Point::default(), |a, b| a + *b) * (1.0 / n);
            squares += e.iter().map(|p| (*p - mean).radius_mm().powi(2)).sum::<f64>();
            freedom += 2.0 * (n - 1.0);
            (mean, n)
        })
        .collect();
    let noise2 = squares / freedom;
    if noise2 <= 0.0 {
        return None;
    }
    // A grid in steps of a fiftieth of the spread, up to three times the spread.
    let grid: Vec<(f64, f64)> = (0..=150)
        .map(|i| {
            let drift = f64::from(i) / 50.0 * noise2.sqrt();
            (drift, log_likelihood(&means, noise2, drift * drift))
        })
        .collect();
    let best = grid.iter().copied().fold(grid[0], |a, b| if b.1 > a.1 { b } else { a });
    let upper = grid.iter().rev().find(|(_, l)| *l > best.1 - 7.0_f64.ln()).map_or(best.0, |g| g.0);
    Some(Learnt { drift: best.0, upper, ends: ends.len() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::Random;

    #[test]
    fn drift_is_found_and_its_absence_too() {
        let mut random = Random::seeded(11);
        let mut ends_of = |drift: f64| -> Vec<Vec<Point>> {
            let mut at = Point::default();
            (0..60)
                .map(|_| {
                    let (a, b) = random.normal_pair();
                    at = at + Point::new(a, b) * drift;
                    (0..6)
                        .map(|_| {
                            let (x, y) = random.normal_pair();
                            at + Point::new(60.0 * x, 60.0 * y)
                        })
                        .collect()
                })
                .collect()
        };
        let still = learn(&ends_of(0.0)).unwrap();
        assert!(still.drift < 8.0 && still.upper < 20.0, "{still:?}");
        let moving = learn(&ends_of(25.0)).unwrap();
        assert!((moving.drift - 25.0).abs() < 8.0 && moving.upper > moving.drift, "{moving:?}");
        assert!(learn(&ends_of(25.0)[..3]).is_none());
    }
}
