//! Source: simulation-based calibration (S. Talts, M. Betancourt, D. Simpson, A. Vehtari & A. Gelman 2018, "Validating
//! Bayesian inference algorithms with simulation-based calibration", arXiv:1804.06788). A truth is drawn from the prior of the
//! model as design.md writes it (`checks::model`, not core's own tables), shots are drawn from the truth, and core reads them.
//! Then the truth must rank uniformly in its posterior (the ranks are exact, through the distribution functions of
//! `checks::marginal`), and what is foretold with a probability must come with that frequency.
//!
//! Tolerance: none but chance. Each statistic may raise a false alarm with a probability of 1e-6, so that with the 80 or so
//! made here the whole stays under 1e-4; seeds are fixed. Only the advice has slack, because it draws a posterior of 160 and
//! merges hypotheses: 3 points of a hundred for its interval and for `p_better`, and 0.002 points an arrow for its mean gain.

use checks::marginal::{along, centre_cdf, det_cdf, variance_cdf};
use checks::statistics::{Forecasts, no_bias, uniform};
use checks::{face_122, model, prior};
use goldward_core::advice::{Ahead, advise};
use goldward_core::group::{ClassOdds, KAPPA, Pattern, Prior, read};
use goldward_core::plane::{Point, Sym2};
use goldward_core::random::Random;
use goldward_core::score::{Scorer, Spot};
use goldward_core::shot::{Felt, Shot};
use goldward_core::sight::Sight;
use goldward_core::units::{Distance, Shaft};

const FALSE_ALARM: f64 = 1e-6;
const EDGES: [f64; 9] = [0.0, 0.02, 0.1, 0.3, 0.5, 0.7, 0.9, 0.98, 1.0];
/// Directions along which the centre and the spread are ranked.
const DIRECTIONS: [(&str, Point); 3] =
    [("x", Point::new(1.0, 0.0)), ("y", Point::new(0.0, 1.0)), ("at 37 degrees", Point::new(0.8, 0.6))];

/// One study: how many shots, of which archer, how often.
struct Study {
    shots: usize,
    trust: f64,
    draws: usize,
    marks: bool,
    calls: bool,
}

#[derive(Default)]
struct Collected {
    centre: [Vec<f64>; 3],
    variance: [Vec<f64>; 3],
    det: Vec<f64>,
    classes: [Forecasts; 3],
    astray: Vec<f64>,
    patterns: [Forecasts; 4],
    interval: Forecasts,
    better: Forecasts,
    gain: Vec<f64>,
}

/// The shot as somebody would call it: ring and whole hour.
fn as_call(shot: &Shot, place: Point) -> Shot {
    let score = face_122().score(place, Shaft::default());
    let ring = if score.value == 0 { "M".to_owned() } else { score.value.to_string() };
    let hours = (0.5 - place.y_mm.atan2(place.x_mm) / std::f64::consts::PI) * 6.0;
    let hour = match (hours.round() as i32).rem_euclid(12) {
        0 => 12,
        h => h,
    };
    Shot::called(format!("{ring}@{hour}").parse().unwrap()).felt(shot.felt)
}

/// Points an arrow that the shift gains when centre and spread are as given.
fn true_gain(scorer: &Scorer, odds: ClassOdds, centre: Point, spread: Sym2, shift: Point) -> f64 {
    (0..3)
        .map(|k| {
            let spot = Spot::new(spread * KAPPA[k]);
            odds.get()[k] * (scorer.expected(centre - shift, &spot) - scorer.expected(centre, &spot))
        })
        .sum()
}

impl Study {
    fn new(shots: usize, trust: f64, draws: usize) -> Self {
        Self { shots, trust, draws, marks: false, calls: false }
    }

    fn run(&self) -> Collected {
        let distance = Distance::from_metres(70.0).unwrap();
        let prior: Prior = prior(105.0, 4.0, self.trust);
        let unmarked = ClassOdds::default();
        let scorer = Scorer::new(face_122(), Shaft::default());
        let sight = Sight::default();
        let ahead = Ahead::new(36, 0.5);
        let mut random = Random::stream(2018, (self.shots * 1000) as u64 + (self.trust * 10.0) as u64);
        let mut out = Collected::default();
        for _ in 0..self.draws {
            let n = self.shots;
            let felt = if self.marks { model::marks(n, &mut random) } else { vec![Felt::Unmarked; n] };
            let truth = model::draw(&prior, unmarked, &felt, &mut random);
            let shots: Vec<Shot> = if self.calls {
                truth.shots.iter().zip(&truth.places).map(|(s, p)| as_call(s, *p)).collect()
            } else {
                truth.shots.clone()
            };
            let reading = read(&shots, &prior, unmarked, face_122(), Shaft::default()).unwrap();
            for (i, (_, d)) in DIRECTIONS.iter().enumerate() {
                let at = truth.centre.x_mm * d.x_mm + truth.centre.y_mm * d.y_mm;
                out.centre[i].push(centre_cdf(&reading.next, *d, at));
                out.variance[i].push(variance_cdf(&reading.next, *d, along(truth.spread, *d)));
            }
            out.det.push(det_cdf(&reading.next, truth.spread.det()));
            // One shot a group, so that the forecasts are independent.
            let one = random.choose(&vec![1.0 / n as f64; n]);
            for k in 0..3 {
                out.classes[k].add(reading.p_class[one][k], truth.classes[one] == k);
            }
            let foretold: f64 = reading.p_class.iter().map(|p| 1.0 - p[0]).sum();
            out.astray.push(truth.classes.iter().filter(|k| **k > 0).count() as f64 - foretold);
            for p in Pattern::ALL {
                out.patterns[p as usize].add(reading.probability(p), truth.pattern == p);
            }
            let advice = advise(&reading, &scorer, &sight, distance, unmarked, &ahead);
            if advice.best.clicks != [0, 0] {
                let shift = sight.shift_mm(sight.pin_mm(advice.best.clicks), distance);
                let gain = true_gain(&scorer, unmarked, truth.centre, truth.spread, shift);
                let points = gain * f64::from(ahead.shots_left);
                let [low, high] = advice.gain_interval_points;
                out.interval.add(0.8, (low..=high).contains(&points));
                out.better.add(advice.p_better, points > 0.0);
                out.gain.push((points - advice.best.gain_points) / f64::from(ahead.shots_left));
            }
        }
        out
    }
}

fn check(study: &Study) {
    let got = study.run();
    let of = |what: &str| format!("{} shots, trust {}: {what}", study.shots, study.trust);
    for (i, (name, _)) in DIRECTIONS.iter().enumerate() {
        uniform(&of(&format!("centre {name}")), &got.centre[i], FALSE_ALARM);
        uniform(&of(&format!("spread {name}")), &got.variance[i], FALSE_ALARM);
    }
    uniform(&of("determinant of the spread"), &got.det, FALSE_ALARM);
    for (k, name) in ["clean", "flyer", "stray"].iter().enumerate() {
        got.classes[k].honest(&of(name), &EDGES, FALSE_ALARM, 0.0);
    }
    // Five standard errors: 6e-7 by the normal law.
    no_bias(&of("shots astray in a group"), &got.astray, 5.0, 0.0);
    for p in Pattern::ALL {
        got.patterns[p as usize].honest(&of(p.name()), &EDGES, FALSE_ALARM, 0.0);
    }
    got.interval.honest(&of("80 % interval of the gain"), &[0.0, 1.0], FALSE_ALARM, 0.03);
    got.better.honest(&of("the move makes things better"), &[0.0, 0.5, 0.7, 0.8, 0.9, 0.97, 1.0], FALSE_ALARM, 0.03);
    no_bias(&of("gain an arrow"), &got.gain, 5.0, 0.002);
}

#[test]
fn three_shots() {
    check(&Study::new(3, 1.0, 1500));
}

#[test]
fn six_shots() {
    check(&Study { marks: true, ..Study::new(6, 0.1, 600) });
}

#[test]
fn twelve_shots() {
    check(&Study { marks: true, ..Study::new(12, 1.0, 200) });
}

#[test]
#[ignore = "slow: run by cargo xtask test"]
fn three_shots_often() {
    check(&Study { marks: true, ..Study::new(3, 0.1, 8000) });
    check(&Study::new(3, 1.0, 8000));
}

#[test]
#[ignore = "slow: run by cargo xtask test"]
fn six_shots_often() {
    check(&Study::new(6, 0.1, 4000));
    check(&Study { marks: true, ..Study::new(6, 1.0, 4000) });
}

#[test]
#[ignore = "slow: run by cargo xtask test"]
fn eight_shots_often() {
    check(&Study { marks: true, ..Study::new(8, 1.0, 1200) });
}

#[test]
#[ignore = "slow: run by cargo xtask test"]
fn twelve_shots_often() {
    check(&Study { marks: true, ..Study::new(12, 1.0, 1200) });
}

#[test]
#[ignore = "slow: run by cargo xtask test"]
fn twenty_four_shots_often() {
    check(&Study { marks: true, ..Study::new(24, 0.1, 900) });
}

#[test]
#[ignore = "slow: run by cargo xtask test"]
fn seventy_two_shots_often() {
    check(&Study::new(72, 1.0, 300));
}

#[test]
#[ignore = "slow: run by cargo xtask test"]
fn called_shots_often() {
    check(&Study { calls: true, ..Study::new(3, 1.0, 1500) });
    check(&Study { calls: true, marks: true, ..Study::new(6, 1.0, 200) });
}
