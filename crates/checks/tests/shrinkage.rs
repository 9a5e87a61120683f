//! Sources: W. James & C. Stein 1961, "Estimation with quadratic loss", Proceedings of the fourth Berkeley symposium 1, and
//! B. Efron & C. Morris 1975, "Data analysis using Stein's estimator and its generalizations", Journal of the American
//! Statistical Association 70. The baseball data of the latter are written down from memory, without the players: batting
//! averages over the first 45 at bats and over the rest of the season. So are the published figures: a factor of 0.209, and an
//! estimator 3.50 times as efficient as the averages themselves.

use checks::{face_122, near};
use goldward_core::group::{ClassOdds, Prior, read};
use goldward_core::plane::Point;
use goldward_core::random::Random;
use goldward_core::shot::Shot;
use goldward_core::units::Shaft;

const FIRST: [f64; 18] = [
    0.400, 0.378, 0.356, 0.333, 0.311, 0.311, 0.289, 0.267, 0.244, 0.244, 0.222, 0.222, 0.222, 0.222, 0.222, 0.200,
    0.178, 0.156,
];
const REST: [f64; 18] = [
    0.346, 0.298, 0.276, 0.222, 0.273, 0.270, 0.263, 0.210, 0.269, 0.230, 0.264, 0.256, 0.303, 0.264, 0.226, 0.285,
    0.316, 0.200,
];
/// Millimetres for one standard deviation.
const SD: f64 = 100.0;

/// Where the model puts the centre behind shots of a known spread, told that the setting is worth `trust` of them, and without
/// flyers.
fn centre(places: &[Point], trust: f64) -> Point {
    let prior = told(trust);
    let shots: Vec<Shot> = places.iter().map(|p| Shot::at(p.x_mm, p.y_mm)).collect();
    let clean = ClassOdds::new([1.0, 0.0, 0.0]).unwrap();
    read(&shots, &prior, clean, face_122(), Shaft::default()).unwrap().centre
}

/// A spread known to one part in a hundred, and both taken at their word.
fn told(trust: f64) -> Prior {
    checks::prior(SD, 10_000.0, trust).as_told()
}

/// Pairs of players as one shot: the variance-stabilised average less the mean of all, in standard deviations.
#[test]
fn batting_averages_are_shrunk_as_published() {
    let stable = |p: &f64| 45_f64.sqrt() * (2.0 * p - 1.0).asin();
    let y = FIRST.map(|p| stable(&p));
    let truth = REST.map(|p| stable(&p));
    let mean = y.iter().sum::<f64>() / 18.0;
    let sum: f64 = y.iter().map(|v| (v - mean).powi(2)).sum();
    // James & Stein about the mean of all: 1 - (k - 3) / S is left of each distance.
    let left = 1.0 - 15.0 / sum;
    near("the factor of the paper", left, 0.209, 5e-4);
    // One shot with a setting worth `trust` leaves 1 / (1 + trust).
    let trust = 1.0 / left - 1.0;
    let (mut raw, mut shrunk) = (0.0, 0.0);
    for i in (0..18).step_by(2) {
        let shot = Point::new(y[i] - mean, y[i + 1] - mean) * SD;
        let got = centre(&[shot], trust) * (1.0 / SD);
        let (a, b) = (truth[i] - mean, truth[i + 1] - mean);
        raw += (y[i] - mean - a).powi(2) + (y[i + 1] - mean - b).powi(2);
        shrunk += (got.x_mm - a).powi(2) + (got.y_mm - b).powi(2);
    }
    // Three digits are published, of averages with three digits.
    near("efficiency against the averages themselves", raw / shrunk, 3.50, 0.03);
}

/// For `p` centres of variance `A` seen with variance 1, who knows `A` has the risk `p A / (1 + A)`, and James & Stein's rule,
/// which does not, `p A / (1 + A) + 2 / (1 + A)` (Efron & Morris 1973, from memory). The model, told the truth, must have the
/// former and so be better than the latter. Tolerance: four standard errors of the simulation.
#[test]
fn told_the_truth_it_beats_james_and_stein() {
    let (a, pairs, rounds) = (0.7_f64, 5, 2000_u64);
    let p = 2.0 * f64::from(pairs);
    let (mut model, mut james) = (Vec::new(), Vec::new());
    for round in 0..rounds {
        let mut random = Random::stream(1961, round);
        let mut point = |sd: f64| {
            let (x, y) = random.normal_pair();
            Point::new(x, y) * sd
        };
        let truth: Vec<Point> = (0..pairs).map(|_| point(a.sqrt() * SD)).collect();
        let seen: Vec<Point> = truth.iter().map(|t| *t + point(SD)).collect();
        let norm: f64 = seen.iter().map(|z| z.radius_mm().powi(2)).sum::<f64>() / (SD * SD);
        let left = 1.0 - (p - 2.0) / norm;
        let risk = |of: &dyn Fn(&Point) -> Point| -> f64 {
            seen.iter().zip(&truth).map(|(z, t)| (of(z) - *t).radius_mm().powi(2)).sum::<f64>() / (SD * SD)
        };
        model.push(risk(&|z| centre(&[*z], 1.0 / a)));
        james.push(risk(&|z| *z * left));
    }
    let of = |v: &[f64]| checks::truth::Mean::of(v.iter().copied());
    let (model, james) = (of(&model), of(&james));
    eprintln!("risk: the model {model}, James & Stein {james}");
    let bayes = p * a / (1.0 + a);
    near("risk of the model", model.mean, bayes, 4.0 * model.error);
    near("risk of James & Stein", james.mean, bayes + 2.0 / (1.0 + a), 4.0 * james.error);
}
