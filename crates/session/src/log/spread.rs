//! The spread of many shots, quickly: the same classes as the model of a group, on one axis for both.

use goldward_core::group::{ClassOdds, KAPPA};
use goldward_core::plane::Point;

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

/// Most rounds of the iteration; it gains a digit in two or three.
const ROUNDS: usize = 25;

/// The spread and the centre of `places`, by expectation and maximisation over the classes clean, flyer and stray.
///
/// `quantisation_mm2` is the variance an axis that calls add, and is taken off (Sheppard's correction). Nothing for fewer
/// than three shots. The degrees of freedom are `2 (n - 1)`; flyers cost a little of that, which is left out.
#[must_use]
pub fn estimate(places: &[Point], quantisation_mm2: f64) -> Option<SpreadEstimate> {
    if places.len() < 3 {
        return None;
    }
    let odds = ClassOdds::default().get();
    // The middle of all coordinates, and a spread that half of the shots agree with, to begin with.
    let median = |pick: fn(&Point) -> f64| {
        let mut all: Vec<f64> = places.iter().map(pick).collect();
        all.sort_unstable_by(f64::total_cmp);
        0.5 * (all[(all.len() - 1) / 2] + all[all.len() / 2])
    };
    let mut centre = Point::new(median(|p| p.x_mm), median(|p| p.y_mm));
    let mut squares: Vec<f64> = places.iter().map(|p| (*p - centre).radius_mm().powi(2)).collect();
    squares.sort_unstable_by(f64::total_cmp);
    // The median of a squared distance is 2 ln 2 variances.
    let mut variance = (squares[squares.len() / 2] / (2.0 * std::f64::consts::LN_2)).max(1e-6);
    // What lies 30 spreads out is no arrow of this archer: even strays are within 30 ninety-nine times in a hundred.
    let reach2 = 900.0 * variance.max(1.0);
    let places: Vec<Point> = places.iter().copied().filter(|p| (*p - centre).radius_mm().powi(2) <= reach2).collect();
    if places.len() < 3 {
        return None;
    }
    let n = places.len() as f64;
    for _ in 0..ROUNDS {
        let (mut weights, mut middle) = (0.0, Point::default());
        let mut weight_of = Vec::with_capacity(places.len());
        for place in &places {
            let d2 = (*place - centre).radius_mm().powi(2) / variance;
            // Relative to the widest class, so that a stray far out does not underflow to nothing over nothing.
            let like: Vec<f64> =
                odds.iter().zip(KAPPA).map(|(p, k)| p / k * (0.5 * d2 * (1.0 / KAPPA[2] - 1.0 / k)).exp()).collect();
            let sum: f64 = like.iter().sum();
            let weight: f64 = like.iter().zip(KAPPA).map(|(l, k)| l / sum / k).sum();
            weights += weight;
            middle = middle + *place * weight;
            weight_of.push(weight);
        }
        centre = middle * (1.0 / weights);
        let sum: f64 = places.iter().zip(&weight_of).map(|(p, w)| w * (*p - centre).radius_mm().powi(2)).sum();
        let next = (sum / (2.0 * (n - 1.0))).max(1e-6);
        let settled = (next / variance - 1.0).abs() < 1e-6;
        variance = next;
        if settled {
            break;
        }
    }
    let spread_mm = (variance - quantisation_mm2).max(0.1 * variance).sqrt();
    Some(SpreadEstimate { spread_mm, dof: 2.0 * (n - 1.0), centre, shots: places.len() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use goldward_core::random::Random;

    #[test]
    fn the_spread_is_found_in_spite_of_flyers() {
        let mut random = Random::stream(7, 1);
        let mut ratio = 0.0;
        for _ in 0..200 {
            let places: Vec<Point> = (0..36)
                .map(|_| {
                    let k = KAPPA[random.choose(&ClassOdds::default().get())].sqrt();
                    let (a, b) = random.normal_pair();
                    Point::new(30.0 + 80.0 * k * a, -20.0 + 80.0 * k * b)
                })
                .collect();
            ratio += estimate(&places, 0.0).unwrap().spread_mm / 80.0 / 200.0;
        }
        assert!((ratio - 1.0).abs() < 0.03, "{ratio}");
    }

    #[test]
    fn identical_shots_and_far_strays_are_no_trouble() {
        assert!(estimate(&[Point::default(); 2], 0.0).is_none());
        let same = estimate(&[Point::new(1.0, 1.0); 6], 0.0).unwrap();
        assert!(same.spread_mm.is_finite() && same.spread_mm > 0.0);
        let mut shots = vec![Point::new(1.0, 0.0), Point::new(-1.0, 0.0), Point::new(0.0, 1.0), Point::new(0.0, -1.0)];
        shots.push(Point::new(1e5, 1e5));
        assert!(estimate(&shots, 0.0).unwrap().centre.radius_mm() < 30.0);
    }

    #[test]
    fn intervals_agree_with_the_chi_square() {
        // chi2 quantiles at 10 % and 90 % for 10 degrees of freedom: 4.8652, 15.9872 (scipy.stats.chi2.ppf, 1.x).
        let e = SpreadEstimate { spread_mm: 1.0, dof: 10.0, centre: Point::default(), shots: 6 };
        let (low, high) = e.interval_mm(1.281_551_6);
        assert!((low - (10.0f64 / 15.9872).sqrt()).abs() < 2e-3 && (high - (10.0f64 / 4.8652).sqrt()).abs() < 5e-3);
    }
}
