//! Sources: `checks::enumerate`, which visits every hypothesis of strings just beyond the exact limit, each by a chain of
//! one-step densities; and `checks::particles`, a Rao-Blackwellised particle filter, for strings of 24 and 72 shots.
//!
//! Tolerances (`Tolerance`): the search merges hypotheses that say nearly the same, so it is approximate by design. What an
//! archer may rely on is stated here: the centre within 2 % of its own standard deviation, the spread and the variance of the
//! centre within 2 %, class and pattern probabilities within 0.0075, the log evidence of the likeliest pattern within 0.02. Beyond 24 shots, where hypotheses are
//! far too many, still 2 % for the centre and the spread, but 25 % for the variance of the centre (6 % at 24), 0.06 for probabilities and 0.1
//! for the evidence. Against the particle filter 4 standard errors, from 16 repetitions, come on top. The mass that the search drops is bounded by 1e-3 over the grid of archers in `archers`, for 12 to 144 shots; by 2e-2
//! for strings of two groups longer than 24.

use checks::enumerate::{self, Answer, Data};
use checks::model::{self, inverse_wishart, normal};
use checks::{face_122, particles, prior};
use goldward_core::group::{ClassOdds, EXACT_SHOTS, KAPPA, Pattern, Reading, read};
use goldward_core::plane::{Point, Sym2};
use goldward_core::random::Random;
use goldward_core::shot::{Felt, Shot};
use goldward_core::units::Shaft;

fn read_data(data: &Data) -> Reading {
    let shots: Vec<Shot> = data.places.iter().zip(&data.felt).map(|(p, f)| Shot::at(p.x_mm, p.y_mm).felt(*f)).collect();
    read(&shots, &data.prior, data.unmarked, face_122(), Shaft::default()).unwrap()
}

/// How far the search may be off, see above.
struct Tolerance {
    of_sd: f64,
    relative: f64,
    centre_variance: f64,
    probability: f64,
    log_evidence: f64,
}

const PROMISED: Tolerance =
    Tolerance { of_sd: 0.02, relative: 0.02, centre_variance: 0.02, probability: 0.0075, log_evidence: 0.02 };
const PROMISED_24: Tolerance = Tolerance { centre_variance: 0.06, probability: 0.01, ..PROMISED };
const PROMISED_LONG: Tolerance = Tolerance { centre_variance: 0.25, probability: 0.06, log_evidence: 0.1, ..PROMISED };
/// Two groups that hardly part have the most labels that matter; over 72 shots the search knows the variance of the centre,
/// most of which is the distance between the groups, only roughly, and one shot's class to 0.06.
const PROMISED_SPLIT: Tolerance = Tolerance { centre_variance: 0.5, probability: 0.06, ..PROMISED_LONG };

/// Whether two groups are a serious explanation.
fn answer_is_split(pattern: &[f64; 4]) -> bool {
    pattern[Pattern::Split as usize] > 0.05
}

/// The numbers that are compared, in units of their tolerance, with what they are.
fn distances(got: &Reading, log_evidence: &[f64; 4], pattern: &[f64; 4], answer: &Answer) -> Vec<(String, f64)> {
    let t = match got.shots {
        0..=13 => PROMISED,
        14..=24 => PROMISED_24,
        _ if answer_is_split(pattern) => PROMISED_SPLIT,
        _ => PROMISED_LONG,
    };
    let mut out = Vec::new();
    let sd = answer.centre_cov.mean_sd();
    out.push(("centre x".to_owned(), (got.centre.x_mm - answer.centre.x_mm) / sd / t.of_sd));
    out.push(("centre y".to_owned(), (got.centre.y_mm - answer.centre.y_mm) / sd / t.of_sd));
    for (what, got, want, tolerance) in [
        ("variance of the centre", got.centre_cov, answer.centre_cov, t.centre_variance),
        ("spread", got.spread, answer.spread, t.relative),
    ] {
        let scale = want.mean_variance() * tolerance;
        out.push((format!("{what} xx"), (got.xx - want.xx) / scale));
        out.push((format!("{what} xy"), (got.xy - want.xy) / scale));
        out.push((format!("{what} yy"), (got.yy - want.yy) / scale));
    }
    for k in Pattern::ALL {
        let i = k as usize;
        out.push((format!("probability of {}", k.name()), (got.pattern[i] - pattern[i]) / t.probability));
        if k == got.likeliest() {
            let difference = (got.log_evidence[i] - log_evidence[i]) / t.log_evidence;
            out.push((format!("log evidence of {}", k.name()), difference));
        }
    }
    for (i, (got, want)) in got.p_class.iter().zip(&answer.p_class).enumerate() {
        for k in 0..3 {
            out.push((format!("class {k} of shot {i}"), (got[k] - want[k]) / t.probability));
        }
    }
    out
}

/// An invented archer: spread on the face, share of flyers, and what happens to the centre.
#[derive(Clone, Copy, Debug)]
struct Archer {
    spread_mm: f64,
    flyers: f64,
    process: Process,
}

#[derive(Clone, Copy, Debug)]
enum Process {
    Steady,
    /// Travel over the string, in spreads.
    Drifting(f64),
    /// Length of the jump, in spreads.
    Jumped(f64),
    /// Distance of the two groups, in spreads.
    Split(f64),
}

impl Archer {
    fn shoot(&self, n: usize, seed: u64) -> Data {
        let mut random = Random::stream(seed, n as u64);
        let cov = Sym2::new(1.2, 0.2, 0.9) * self.spread_mm.powi(2);
        let centre = Point::new(0.8, -1.1) * self.spread_mm;
        let along = Point::new(0.6, 0.8) * self.spread_mm;
        let jump = n / 3 + (random.uniform() * (n as f64) / 3.0) as usize;
        let places = (0..n).map(|i| {
            let u = match self.process {
                Process::Steady => 0.0,
                Process::Drifting(travel) => travel * model::drift_row(i, n),
                Process::Jumped(length) => length * if i < jump { -0.5 } else { 0.5 },
                Process::Split(apart) => apart * if random.uniform() < 0.6 { 0.5 } else { -0.5 },
            };
            let class = random.choose(&[1.0 - self.flyers, self.flyers * 0.85, self.flyers * 0.15]);
            centre + along * u + normal(cov * KAPPA[class], &mut random)
        });
        let places: Vec<Point> = places.collect();
        let felt = vec![Felt::Unmarked; n];
        Data { places, felt, prior: prior(90.0, 4.0, 1.0), unmarked: ClassOdds::default() }
    }
}

/// A dozen archers that differ in what makes the search hard.
fn archers() -> Vec<(&'static str, Archer)> {
    let archer = |spread_mm: f64, flyers: f64, process: Process| Archer { spread_mm, flyers, process };
    vec![
        ("steady, tight", archer(45.0, 0.03, Process::Steady)),
        ("steady, as expected", archer(90.0, 0.03, Process::Steady)),
        ("steady, wide", archer(200.0, 0.03, Process::Steady)),
        ("steady, many flyers", archer(90.0, 0.10, Process::Steady)),
        ("drifting a little", archer(90.0, 0.05, Process::Drifting(1.5))),
        ("drifting", archer(90.0, 0.05, Process::Drifting(4.0))),
        ("jumped a little", archer(90.0, 0.05, Process::Jumped(1.5))),
        ("jumped", archer(90.0, 0.05, Process::Jumped(4.0))),
        ("split, clear", archer(60.0, 0.03, Process::Split(6.0))),
        ("split, unclear", archer(80.0, 0.03, Process::Split(3.0))),
        ("split, hardly", archer(90.0, 0.03, Process::Split(2.0))),
        ("split, with flyers", archer(60.0, 0.08, Process::Split(5.0))),
    ]
}

/// Compares with every hypothesis; returns the largest distance in tolerances.
fn check_enumerated(name: &str, data: &Data) -> f64 {
    let got = read_data(data);
    assert!(data.places.len() > EXACT_SHOTS);
    let (log_evidence, pattern, answer) = enumerate::all(data);
    let all = distances(&got, &log_evidence, &pattern, &answer);
    let (what, worst) = all.iter().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs())).unwrap();
    let n = data.places.len();
    eprintln!("{name}, {n} shots: dropped {:.1e}, farthest {what}: {worst:.3} tolerances", got.dropped_mass);
    assert!(got.dropped_mass < 1e-3, "{name}, {n} shots: dropped {}", got.dropped_mass);
    for (what, d) in &all {
        assert!(d.abs() <= 1.0, "{name}, {n} shots: {what} is off by {d:.2} tolerances");
    }
    worst.abs()
}

#[test]
fn ten_shots_agree_with_every_hypothesis() {
    for (name, archer) in archers() {
        check_enumerated(name, &archer.shoot(10, 1));
    }
}

#[test]
fn ten_marked_shots_agree_with_every_hypothesis() {
    let mut random = Random::seeded(20);
    for _ in 0..6 {
        let felt = model::marks(10, &mut random);
        let (prior, unmarked) = (prior(90.0, 4.0, 1.0), ClassOdds::default());
        let places = model::draw(&prior, unmarked, &felt, &mut random).places;
        check_enumerated("marked", &Data { places, felt, prior, unmarked });
    }
}

#[test]
#[ignore = "slow: run by cargo xtask test"]
fn eleven_to_thirteen_shots_agree_with_every_hypothesis() {
    let mut worst: f64 = 0.0;
    for (n, every) in [(11, 2), (12, 5), (13, 12)] {
        for (name, archer) in archers().into_iter().step_by(every) {
            worst = worst.max(check_enumerated(name, &archer.shoot(n, 2)));
        }
    }
    eprintln!("farthest of all: {worst:.3} tolerances");
}

#[test]
#[ignore = "slow: run by cargo xtask test"]
fn fourteen_steady_shots_agree_with_every_hypothesis() {
    let data = archers()[3].1.shoot(14, 3);
    let got = read_data(&data);
    let want = enumerate::pattern(&data, Pattern::Steady).log_weight();
    let off = (got.log_evidence[0] - want) / PROMISED.log_evidence;
    eprintln!("14 shots: log evidence of steady off by {off:.3} tolerances");
    assert!(off.abs() <= 1.0, "{} against {want}", got.log_evidence[0]);
}

/// The mass dropped over `repeats` strings of `n` shots of every archer: prints the grid, then judges it.
fn check_dropped(sizes: &[(usize, u64)]) {
    let mut bad = Vec::new();
    for (n, repeats) in sizes {
        eprintln!("{n} shots: archer, dropped mass: median, largest");
        for (name, archer) in archers() {
            let mut dropped: Vec<f64> =
                (0..*repeats).map(|s| read_data(&archer.shoot(*n, 100 + s)).dropped_mass).collect();
            dropped.sort_by(f64::total_cmp);
            let (median, largest) = (dropped[dropped.len() / 2], dropped[dropped.len() - 1]);
            eprintln!("  {name:<22} {median:.1e} {largest:.1e}");
            // Long strings of two groups drop a little more than the rest.
            let bound = if name.starts_with("split") && *n > 24 { 2e-2 } else { 1e-3 };
            if largest >= bound {
                bad.push(format!("{name} ({n} shots): {largest:.2e}"));
            }
        }
    }
    assert!(bad.is_empty(), "dropped more than the bound: {}", bad.join("; "));
}

#[test]
fn the_search_drops_little() {
    check_dropped(&[(12, 4), (24, 4), (72, 2)]);
}

#[test]
#[ignore = "slow: run by cargo xtask test"]
fn the_search_drops_little_on_a_large_grid() {
    check_dropped(&[(24, 25), (72, 25), (144, 10)]);
}

/// Compares with the particle filter; returns what is too far off.
fn check_sampled(name: &str, data: &Data, particles: usize) -> Vec<String> {
    const REPEATS: usize = 16;
    let n = data.places.len();
    let got = read_data(data);
    let runs: Vec<Vec<(String, f64)>> = (0..REPEATS)
        .map(|r| {
            let mut random = Random::stream(77, r as u64);
            let (log_evidence, pattern, answer) =
                enumerate::mix(n, |p| particles::pattern(data, p, particles, &mut random));
            distances(&got, &log_evidence, &pattern, &answer)
        })
        .collect();
    let mut worst = (String::new(), 0.0, 0.0);
    let mut bad = Vec::new();
    for (i, (what, _)) in runs[0].iter().enumerate() {
        let values: Vec<f64> = runs.iter().map(|r| r[i].1).collect();
        let mean = values.iter().sum::<f64>() / REPEATS as f64;
        let variance = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (REPEATS - 1) as f64;
        let error = (variance / REPEATS as f64).sqrt();
        if mean.abs() > f64::abs(worst.1) {
            worst = (what.clone(), mean, error);
        }
        if mean.abs() > 1.0 + 4.0 * error {
            bad.push(format!("{name}, {n} shots: {what} off by {mean:.2} tolerances, standard error {error:.2}"));
        }
    }
    eprintln!("{name}, {n} shots: farthest {}: {:.2} tolerances, standard error {:.2}", worst.0, worst.1, worst.2);
    bad
}

#[test]
fn twenty_four_shots_agree_with_a_particle_filter() {
    let mut bad = Vec::new();
    for (name, archer) in [archers()[1], archers()[9]] {
        bad.extend(check_sampled(name, &archer.shoot(24, 5), 1000));
    }
    assert!(bad.is_empty(), "{}", bad.join("\n"));
}

#[test]
#[ignore = "slow: run by cargo xtask test"]
fn long_strings_agree_with_a_particle_filter() {
    let mut bad = Vec::new();
    for (name, archer) in archers() {
        bad.extend(check_sampled(name, &archer.shoot(24, 6), 3000));
    }
    for (name, archer) in archers().into_iter().skip(1).step_by(2) {
        bad.extend(check_sampled(name, &archer.shoot(72, 7), 3000));
    }
    assert!(bad.is_empty(), "{}", bad.join("\n"));
}

#[test]
fn the_particle_filter_agrees_with_every_hypothesis() {
    let data = archers()[4].1.shoot(9, 8);
    let (want, _, _) = enumerate::all(&data);
    for pattern in Pattern::ALL {
        let mut random = Random::seeded(9);
        let runs: Vec<f64> = (0..16)
            .map(|_| (particles::pattern(&data, pattern, 400, &mut random).log_weight() - want[pattern as usize]).exp())
            .collect();
        let mean = runs.iter().sum::<f64>() / 16.0;
        let error = (runs.iter().map(|r| (r - mean).powi(2)).sum::<f64>() / 15.0 / 16.0).sqrt();
        eprintln!("{}: evidence ratio {mean:.4}, standard error {error:.4}", pattern.name());
        assert!((mean - 1.0).abs() <= 4.5 * error + 1e-9, "{}: {mean} with {error}", pattern.name());
    }
    // The inverse-Wishart of the simulation has the mean that the model says: E[Sigma] = Psi / (nu - 3).
    let mut random = Random::seeded(10);
    let mean = (0..20_000).map(|_| inverse_wishart(12, Sym2::isotropic(9.0), &mut random).xx).sum::<f64>() / 20_000.0;
    assert!((mean - 1.0).abs() < 0.03, "{mean}");
}
