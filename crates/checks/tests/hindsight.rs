//! What the moves of the sight gave, against simulated archers of whom the truth is known, and against the funnel of Deming, *Out of the
//! Crisis* (1986), rule 2.

use goldward_core::face::Face;
use goldward_core::group::{EndEffect, Prior};
use goldward_core::pace::hindsight::{Hindsight, Worth};
use goldward_core::pace::{Event, Pace, Settings};
use goldward_core::plane::Point;
use goldward_core::random::Random;
use goldward_core::score::Scorer;
use goldward_core::shot::Shot;
use goldward_core::sight::Sight;
use goldward_core::units::{Distance, Shaft, Spread};
use rayon::prelude::*;

const SPREAD_MM: f64 = 105.0;
const ROUNDS: usize = 300;

fn settings(ends: usize, drift_mrad: f64, trust: f64) -> Settings {
    let distance = Distance::from_metres(70.0).unwrap();
    let prior = Prior::new(Spread::from_mrad(1.5).unwrap(), distance, 4.0, trust).unwrap();
    let prior = prior.with_end_effect(EndEffect::usual(distance)).unwrap();
    let sight = Sight::new(880.0, [0.1, 0.1], 0.0).unwrap();
    let mut s = Settings::new(distance, Face::named("122").unwrap(), Shaft::default(), sight, prior, ends * 6);
    (s.ends, s.shots_per_end, s.drift_mrad_per_end) = (ends, 6, drift_mrad);
    s
}

/// A round of an archer who touches as `wish` says of the shots since the last touch; what the sight really cost against never
/// touching comes with it.
fn round(
    random: &mut Random,
    s: &Settings,
    flyers: f64,
    first_mm: f64,
    wish: impl Fn(&[Point], usize) -> Option<Point>,
) -> (Pace, f64) {
    fn pair(random: &mut Random, k: f64) -> Point {
        let (x, y) = random.normal_pair();
        Point::new(x * k, y * k)
    }
    let scorer = Scorer::new(s.face, s.shaft);
    let mut pace = Pace::new(s.clone());
    let of = |d: f64| (1.0 - flyers) * scorer.isotropic(d, SPREAD_MM) + flyers * scorer.isotropic(d, 3.0 * SPREAD_MM);
    let mut centre = pair(random, first_mm);
    let (mut sight, mut gave, mut since) = (Point::default(), 0.0, Vec::new());
    for _ in 0..s.ends {
        let share = pair(random, SPREAD_MM);
        let end = s.prior.end_effect();
        let here = centre + Point::new(share.x_mm * end.windage, share.y_mm * end.elevation);
        for i in 0..s.shots_per_end {
            gave += of((here - sight).radius_mm()) - of(here.radius_mm());
            let wide = if random.uniform() < flyers { 3.0 } else { 1.0 };
            let place = here - sight + pair(random, wide * SPREAD_MM);
            since.push(place);
            pace.take(Event::Shot(Shot::at(place.x_mm, place.y_mm))).unwrap();
            if i + 1 == s.shots_per_end {
                pace.take(Event::EndOfEnd).unwrap();
            }
            if let Some(shift) = wish(&since, i + 1) {
                let pin = shift * (880.0 / 70_000.0);
                pace.take(Event::Touch(pin)).unwrap();
                sight = sight + s.sight.shift_mm(pin, s.distance);
                since.clear();
            }
        }
        centre = centre + pair(random, s.drift_mrad_per_end * s.distance.metres());
    }
    (pace, gave)
}

fn mean(of: &[Point]) -> Point {
    of.iter().fold(Point::default(), |a, b| a + *b) * (1.0 / of.len() as f64)
}

/// The archer's first setting is off by what the prior says, the ends share what it says, and the sight follows every arrow, the mean of
/// every three, or of every end: four times in five the interval holds what the moves truly gave, and on average the points are right.
#[test]
#[ignore = "slow: run by cargo xtask test"]
fn the_interval_holds_the_truth_and_the_points_are_not_biased() {
    let s = settings(6, 0.1, 1.0);
    let worlds = [("every arrow", 1, 0.05), ("every three", 3, 0.05), ("every end", 6, 0.05), ("no flyers", 6, 0.0)];
    for (seed, (name, every, flyers)) in worlds.into_iter().enumerate() {
        let mut random = Random::seeded(40 + seed as u64);
        let wish = |since: &[Point], _| (since.len() >= every).then(|| mean(since));
        let rounds: Vec<_> = (0..ROUNDS).map(|_| round(&mut random, &s, flyers, SPREAD_MM, wish)).collect();
        let told: Vec<(bool, f64)> = rounds
            .par_iter()
            .map(|(pace, truth)| {
                let told = Hindsight::of(pace).unwrap().unwrap().gave(|_, _| true);
                ((told.interval_points[0]..=told.interval_points[1]).contains(truth), told.points - truth)
            })
            .collect();
        let errors: Vec<f64> = told.iter().map(|t| t.1).collect();
        let n = ROUNDS as f64;
        let (held, bias) = (told.iter().filter(|t| t.0).count() as f64 / n, errors.iter().sum::<f64>() / n);
        let sd = (errors.iter().map(|e| (e - bias).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
        let told = format!("{name}: the interval holds {held:.3}, bias {bias:+.2} +- {:.2} points", sd / n.sqrt());
        assert!((held - 0.8).abs() < 3.3 * (0.16 / n).sqrt(), "{told}");
        assert!(bias.abs() < 3.3 * sd / n.sqrt(), "{told}");
    }
}

/// The funnel of Deming, *Out of the Crisis* (1986), rule 2: who corrects a centred process by its last result doubles the variance. So each
/// arrow after the first costs `F(0, s) - F(0, sqrt(2) s)` points on average.
#[test]
#[ignore = "slow: run by cargo xtask test"]
fn fidgeting_costs_what_the_funnel_says() {
    let mut s = settings(12, 0.0, 1e4);
    s.prior = s.prior.with_end_effect(EndEffect::NONE).unwrap();
    let scorer = Scorer::new(s.face, s.shaft);
    let an_arrow = scorer.isotropic(0.0, SPREAD_MM) - scorer.isotropic(0.0, SPREAD_MM * 2.0_f64.sqrt());
    let mut random = Random::seeded(11);
    let told: Vec<Worth> = (0..20)
        .map(|_| {
            let (pace, _) = round(&mut random, &s, 0.0, 0.0, |since, _| since.last().copied());
            Hindsight::of(&pace).unwrap().unwrap().gave(|_, _| true)
        })
        .collect();
    let n = told.len() as f64;
    let points: Vec<f64> = told.iter().map(|w| w.points).collect();
    let mean = points.iter().sum::<f64>() / n;
    let sd = (points.iter().map(|p| (p - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
    let funnel = -71.0 * an_arrow;
    assert!((mean - funnel).abs() < 3.3 * sd / n.sqrt(), "{mean} +- {} for {funnel}", sd / n.sqrt());
    assert!(told.iter().all(|w| w.interval_points[1] < 0.0 && w.p_gained < 0.01));
    let season = Worth::sum(&told).unwrap();
    assert!((season.points - n * mean).abs() < 1e-6 && season.interval_points[1] < 0.0);
}
