//! How the work grows: with shots (readings), with marks (their fit), with distance (a flight), with arrows and shots (a fleet).
//!
//! `cargo bench -p checks --bench growth`; words after `--` are criterion's own. Each is to be held beside
//! work in proportion to the number. One core, the scorer warm.
#![allow(missing_docs, reason = "criterion's own functions")]

use std::hint::black_box;

use checks::{face_122, model, prior};
use criterion::{BatchSize, BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use goldward_core::advice::{Ahead, advise};
use goldward_core::fleet::{self, ArrowShot, Offset, Question};
use goldward_core::flight::{Air, Arrow, Conditions, Drag, Flight, Weather, Wind};
use goldward_core::group::{ClassOdds, KAPPA, Memory, read, read_on};
use goldward_core::marks::{Mark, Rig, Sighting, fit};
use goldward_core::random::Random;
use goldward_core::score::Scorer;
use goldward_core::shot::{Felt, Shot};
use goldward_core::sight::Sight;
use goldward_core::units::{Distance, Shaft};

/// A group of `n` shots of an archer drawn from the model.
fn group(n: usize, k: u64) -> Vec<Shot> {
    let mut random = Random::stream(6, 1000 * k + n as u64);
    model::draw(&prior(105.0, 4.0, 1.0), ClassOdds::default(), &vec![Felt::Unmarked; n], &mut random).shots
}

fn readings(c: &mut Criterion) {
    let (face, shaft, odds, prior) = (face_122(), Shaft::default(), ClassOdds::default(), prior(105.0, 4.0, 1.0));
    let mut all = c.benchmark_group("reading");
    for n in [3_usize, 6, 12, 24, 48, 72, 144] {
        let groups: Vec<Vec<Shot>> = (0..8).map(|k| group(n, k)).collect();
        all.throughput(Throughput::Elements(n as u64));
        let mut k = 0;
        all.bench_with_input(BenchmarkId::new("afresh", n), &groups, |b, groups| {
            b.iter(|| {
                k = (k + 1) % groups.len();
                read(black_box(&groups[k]), &prior, odds, face, shaft).expect("a group")
            });
        });
        // One more arrow of a string, as at the shooting line.
        let mut k = 0;
        all.bench_with_input(BenchmarkId::new("one more", n), &groups, |b, groups| {
            b.iter_batched(
                || {
                    k = (k + 1) % groups.len();
                    let mut memory = Memory::default();
                    read_on(&groups[k][..n - 1], &prior, odds, face, shaft, &mut memory).expect("a group");
                    (memory, k)
                },
                |(mut memory, k)| read_on(&groups[k], &prior, odds, face, shaft, &mut memory).expect("a group"),
                BatchSize::SmallInput,
            );
        });
    }
    all.finish();
    let scorer = Scorer::new(face, shaft);
    let distance = Distance::from_metres(70.0).expect("a distance");
    let mut advice = c.benchmark_group("advice");
    for n in [3_usize, 6, 12, 24] {
        let readings: Vec<_> =
            (0..8).map(|k| read(&group(n, k), &prior, odds, face, shaft).expect("a group")).collect();
        let mut k = 0;
        advice.bench_with_input(BenchmarkId::from_parameter(n), &readings, |b, readings| {
            b.iter(|| {
                k = (k + 1) % readings.len();
                advise(black_box(&readings[k]), &scorer, &Sight::default(), distance, odds, &Ahead::new(66, 0.5))
            });
        });
    }
    advice.finish();
}

fn flight() -> Flight {
    let arrow = Arrow::new(21.0, 5.5, Drag::slim_arrow()).expect("an arrow");
    let air = Air::of(Weather::new(18.0, 100_500.0, 0.5).expect("a day"));
    let wind = Wind::new(-1.0, 2.0).expect("a wind");
    Flight::new(arrow, Conditions::in_air(air).with_wind(wind), 57.0, 115.0).expect("a flight")
}

fn flights(c: &mut Criterion) {
    let flight = flight();
    let mut all = c.benchmark_group("flight");
    for metres in [18.0, 30.0, 50.0, 70.0, 90.0] {
        all.throughput(Throughput::Elements(metres as u64));
        all.bench_with_input(BenchmarkId::new("aimed", metres), &metres, |b, metres| {
            b.iter(|| flight.angle_for(black_box(*metres)).expect("an angle"));
        });
    }
    all.finish();
}

fn marks(c: &mut Criterion) {
    let arrow = Arrow::new(21.0, 5.5, Drag::slim_arrow()).expect("an arrow");
    let rig = Rig::new(Sighting::new(880.0, 115.0).expect("a sight"), arrow);
    let mut all = c.benchmark_group("marks");
    for n in [1_usize, 2, 4, 8, 12] {
        // What an arrow of 57 m/s shows, to a tenth, with a wrong one among many.
        let marks: Vec<Mark> = (0..n)
            .map(|k| {
                let metres = 18.0 + 72.0 * k as f64 / 11.0;
                let reading = 25.0 + 0.55 * metres + 0.006 * metres * metres + if k == 6 { 3.0 } else { 0.0 };
                let distance = Distance::from_metres(metres).expect("a distance");
                Mark::new(distance, (10.0 * reading).round() / 10.0, 0.2).expect("a mark")
            })
            .collect();
        all.throughput(Throughput::Elements(n as u64));
        all.bench_with_input(BenchmarkId::new("fit and predict", n), &marks, |b, marks| {
            b.iter(|| fit(&rig, black_box(marks)).and_then(|f| f.predict(60.0)).expect("a fit"));
        });
    }
    all.finish();
}

/// Numbered arrows, `each` shots of every one in ends of six that wander, one arrow off by 0.7 spreads.
fn shots(arrows: usize, each: usize) -> Vec<ArrowShot> {
    let (mut random, mut shift) = (Random::seeded(3), (0.0, 0.0));
    (0..arrows * each)
        .map(|k| {
            if k % 6 == 0 {
                shift = random.normal_pair();
            }
            let (x, y) = random.normal_pair();
            let wide = KAPPA[random.choose(&ClassOdds::default().get())].sqrt();
            let off = if k % arrows == arrows / 2 { 1.0 } else { 0.0 };
            let at =
                Offset { right_mrad: 0.3 * shift.0 + off + 1.4 * wide * x, up_mrad: 0.3 * shift.1 + 1.7 * wide * y };
            ArrowShot { session: k / 72, end: k / 6, arrow: k % arrows, at, felt: Felt::Unmarked }
        })
        .collect()
}

fn fleets(c: &mut Criterion) {
    let mut all = c.benchmark_group("fleet");
    all.sample_size(20);
    for (arrows, each) in [(12, 50), (12, 500), (12, 5000), (3, 500), (6, 500), (24, 500), (72, 500)] {
        let shots = shots(arrows, each);
        all.throughput(Throughput::Elements(shots.len() as u64));
        all.bench_with_input(BenchmarkId::new(format!("{arrows} arrows"), shots.len()), &shots, |b, shots| {
            b.iter(|| fleet::read(black_box(shots), &Question::default()).expect("a fleet"));
        });
    }
    all.finish();
}

criterion_group!(benches, readings, flights, marks, fleets);
criterion_main!(benches);
