//! How long the answers take: medians, by a plain clock.
//!
//! `cargo bench -p checks` prints a table; `-- --json` prints the same as JSON, which `cargo xtask bench` puts beside the peers;
//! `-- --groups N` prints N six-shot groups as `goldward read --batch` takes them. All on one core, the scorer warm.
#![allow(clippy::disallowed_methods, reason = "a benchmark is there to look at the clock")]
#![allow(clippy::print_stdout, reason = "a benchmark prints")]

use std::hint::black_box;
use std::time::Instant;

use checks::{face_122, model, prior};
use goldward_core::advice::{Ahead, advise};
use goldward_core::fleet::{self, ArrowShot, Offset, Question};
use goldward_core::group::{ClassOdds, KAPPA, Prior, read};
use goldward_core::plane::{Point, Sym2};
use goldward_core::random::Random;
use goldward_core::score::{Scorer, expected_normal};
use goldward_core::shot::{Felt, Shot};
use goldward_core::sight::Sight;
use goldward_core::units::{Distance, Shaft};

/// Seconds for one run of `work`, which does its task `count` times over: median, lowest and highest of 21 samples.
fn measure(count: usize, mut work: impl FnMut()) -> [f64; 3] {
    work();
    let mut samples: Vec<f64> = (0..21)
        .map(|_| {
            let begun = Instant::now();
            work();
            begun.elapsed().as_secs_f64() / count as f64
        })
        .collect();
    samples.sort_by(f64::total_cmp);
    [samples[10], samples[0], samples[20]]
}

/// Groups of `n` shots from archers drawn from the prior.
fn groups(n: usize, count: usize, prior: &Prior) -> Vec<Vec<Shot>> {
    let mut random = Random::stream(6, n as u64);
    (0..count).map(|_| model::draw(prior, ClassOdds::default(), &vec![Felt::Unmarked; n], &mut random).shots).collect()
}

/// Places and spreads for the expected score, the same grid as in `scripts/bench_peers.py`.
fn score_grid() -> Vec<(f64, f64)> {
    (0..40).flat_map(|i| (0..25).map(move |j| (10.0 * f64::from(i), 40.0 + 6.0 * f64::from(j)))).collect()
}

/// Twelve numbered arrows, `each` shots of every one in ends of six that wander, one arrow off by 0.7 spreads.
fn fleet_shots(each: usize) -> Vec<ArrowShot> {
    let (mut random, mut shift) = (Random::seeded(3), (0.0, 0.0));
    (0..12 * each)
        .map(|k| {
            if k % 6 == 0 {
                shift = random.normal_pair();
            }
            let (x, y) = random.normal_pair();
            let wide = KAPPA[random.choose(&ClassOdds::default().get())].sqrt();
            let off = if k % 12 == 6 { 1.0 } else { 0.0 };
            let at =
                Offset { right_mrad: 0.3 * shift.0 + off + 1.4 * wide * x, up_mrad: 0.3 * shift.1 + 1.7 * wide * y };
            ArrowShot { session: k / 72, end: k / 6, arrow: k % 12, at, felt: Felt::Unmarked }
        })
        .collect()
}

fn print_groups(count: usize) {
    let prior = prior(105.0, 4.0, 1.0);
    for shots in groups(6, count, &prior) {
        let shots: Vec<serde_json::Value> = shots
            .iter()
            .filter_map(|s| match s.place {
                goldward_core::shot::Place::At(p) => Some(serde_json::json!({"x_mm": p.x_mm, "y_mm": p.y_mm})),
                goldward_core::shot::Place::Called(_) => None,
            })
            .collect();
        println!(
            "{}",
            serde_json::json!({
                "distance_m": 70, "face": "122", "spread_mrad": 1.5, "worth": 4, "trust": 1, "shots_left": 66, "shots": shots
            })
        );
    }
}

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    if let Some(at) = words.iter().position(|w| w == "--groups") {
        return print_groups(words.get(at + 1).and_then(|n| n.parse().ok()).unwrap_or(10_000));
    }
    let (face, shaft, odds) = (face_122(), Shaft::default(), ClassOdds::default());
    let distance = Distance::from_metres(70.0).expect("a distance");
    let prior = prior(105.0, 4.0, 1.0);
    let (sight, scorer) = (Sight::default(), Scorer::new(face, shaft));
    let ahead = Ahead::new(66, 0.5);
    let six = groups(6, 50, &prior);
    let twelve = groups(12, 10, &prior);
    let seventy_two = groups(72, 10, &prior);
    let read_all = |list: &[Vec<Shot>]| {
        for shots in list {
            black_box(read(black_box(shots), &prior, odds, face, shaft).expect("a group"));
        }
    };
    let grid = score_grid();
    let mut results = vec![
        (
            "read_advise_6",
            "read six shots, with advice",
            measure(six.len(), || {
                for shots in &six {
                    let reading = read(black_box(shots), &prior, odds, face, shaft).expect("a group");
                    black_box(advise(&reading, &scorer, &sight, distance, odds, &ahead));
                }
            }),
        ),
        ("read_6", "read six shots", measure(six.len(), || read_all(&six))),
        ("read_12", "read 12 shots", measure(twelve.len(), || read_all(&twelve))),
        ("read_72", "read 72 shots", measure(seventy_two.len(), || read_all(&seventy_two))),
    ];
    results.push((
        "score_contour",
        "expected score, to 1e-9 points",
        measure(grid.len(), || {
            for (d, s) in &grid {
                let _ = black_box(expected_normal(face, shaft, Point::new(*d, 0.0), Sym2::isotropic(s * s)));
            }
        }),
    ));
    results.push((
        "score_table",
        "expected score, by the table",
        measure(grid.len(), || {
            for (d, s) in &grid {
                black_box(scorer.isotropic(black_box(*d), *s));
            }
        }),
    ));
    for (name, title, each) in
        [("fleet_12x417", "12 arrows, 5 004 shots", 417), ("fleet_12x5000", "12 arrows, 60 000 shots", 5000)]
    {
        let shots = fleet_shots(each);
        let fit = || drop(black_box(fleet::read(black_box(&shots), &Question::default()).expect("a fleet")));
        results.push((name, title, measure(1, fit)));
    }
    if words.iter().any(|w| w == "--json") {
        let json: serde_json::Map<String, serde_json::Value> = results
            .iter()
            .map(|(name, title, s)| {
                let value = serde_json::json!({"title": title, "median_s": s[0], "lowest_s": s[1], "highest_s": s[2]});
                ((*name).to_owned(), value)
            })
            .collect();
        println!("{}", serde_json::Value::Object(json));
        return;
    }
    for (_, title, [median, lowest, highest]) in &results {
        let us = |s: &f64| s * 1e6;
        println!("{title:<32} {:>12.3} us  ({:.3} to {:.3})", us(median), us(lowest), us(highest));
    }
}
