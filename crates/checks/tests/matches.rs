//! Matches against what others have worked out, and against plain simulation.

use checks::duels::{cells, play};
use checks::{list, near, number, reference};
use goldward_core::advice::{Action, Outlook, ShotAhead, plan as by_points};
use goldward_core::face::Face;
use goldward_core::group::ClassOdds;
use goldward_core::matches::{Arrow, Duel, FORMATS, Format, Opponent, Part, Side, Standing, chance, nearer, plan};
use goldward_core::score::{Rings, Scorer};
use goldward_core::units::Shaft;
use statrs::distribution::{Binomial, Discrete, DiscreteCDF};

fn rings() -> Rings {
    Rings::new(Face::named("122").unwrap(), Shaft::default())
}

fn round(rings: &Rings, spread_mm: f64) -> Arrow {
    Arrow::of(rings, vec![Part { share: 1.0, off_mm: 0.0, variance_mm2: spread_mm * spread_mm }])
}

fn clean() -> ClassOdds {
    ClassOdds::new([1.0, 0.0, 0.0]).unwrap()
}

/// A face that is hit or missed makes a match a matter of the binomial distribution (statrs 0.18): arrows a hair's breadth wide that are far
/// outside with one chance and in the middle with the other.
#[test]
fn a_match_of_hits_and_misses_is_binomial() {
    let rings = rings();
    // Of the other's arrows none has its middle beside the centre: those that miss are scattered over half a kilometre.
    let hits = |p: f64, off_mm: f64, sd: f64| {
        let part = |share, off_mm, sd: f64| Part { share, off_mm, variance_mm2: sd * sd };
        Arrow::of(&rings, vec![part(p, 0.0, 1.0), part(1.0 - p, off_mm, sd)])
    };
    let (p, q) = (0.6, 0.55);
    let (mine, theirs) = (hits(p, 5000.0, 1.0), hits(q, 0.0, 5e5));
    let total = Format { ends: 5, ..FORMATS[1] };
    let [a, b] = [p, q].map(|p| Binomial::new(p, 15).unwrap());
    let more: f64 = (1..=15).map(|k| a.pmf(k) * b.cdf(k - 1)).sum();
    let level: f64 = (0..=15).map(|k| a.pmf(k) * b.pmf(k)).sum();
    // The single arrow: again while both miss, level chances where both hit.
    let (one, other) = (p * (1.0 - q), q * (1.0 - p));
    let shoot_off = (one + 0.5 * p * q) / (one + other + p * q);
    near("nearer", nearer(&rings, &mine, &theirs), shoot_off, 5e-6);
    near(
        "fifteen arrows",
        chance(&rings, &total, &Standing::default(), &mine, &theirs),
        more + level * shoot_off,
        1e-6,
    );
    // One set of three arrows that wins the match.
    let set = FORMATS[0].with(1, 3, Some(2)).unwrap();
    let [a, b] = [p, q].map(|p| Binomial::new(p, 3).unwrap());
    let more: f64 = (1..=3).map(|k| a.pmf(k) * b.cdf(k - 1)).sum();
    let level: f64 = (0..=3).map(|k| a.pmf(k) * b.pmf(k)).sum();
    near("one set", chance(&rings, &set, &Standing::default(), &mine, &theirs), more + level * shoot_off, 5e-6);
}

/// Who wins each set with chance p and never level wins best of five with `p^3 (10 - 15 p + 6 p^2)` (the problem of points: Pascal and Fermat
/// 1654; the polynomial from memory). Sets are never level where one arrow of two kinds that the other never makes decides them.
#[test]
fn without_level_sets_it_is_the_problem_of_points() {
    let rings = rings();
    let arrow = |parts: &[(f64, f64)]| {
        Arrow::of(
            &rings,
            parts.iter().map(|(share, off_mm)| Part { share: *share, off_mm: *off_mm, variance_mm2: 1.0 }).collect(),
        )
    };
    // Ten or seven against always nine.
    let (mine, theirs) = (arrow(&[(0.37, 0.0), (0.63, 210.0)]), arrow(&[(1.0, 95.0)]));
    let format = FORMATS[0].with(5, 1, None).unwrap();
    let p = 0.37_f64;
    let want = p.powi(3) * (10.0 - 15.0 * p + 6.0 * p * p);
    near("first to six", chance(&rings, &format, &Standing::default(), &mine, &theirs), want, 1e-7);
}

/// Two round normals about the centre: the nearer one is the first with the chance `t / (s + t)` (the ratio of two exponentials), given that
/// not both miss the face.
#[test]
fn the_nearest_arrow_is_a_race_of_exponentials() {
    let rings = rings();
    for (s, t) in [(60.0, 90.0), (150.0, 100.0)] {
        let got = nearer(&rings, &round(&rings, s), &round(&rings, t));
        near("nearer", got, t * t / (s * s + t * t), 1e-9);
    }
}

fn cost_free(case: &serde_json::Value) -> Outlook<'static> {
    let sd = number(&case["centre_sd"]);
    Outlook {
        off_mm: number(&case["off"]),
        centre_variance: sd * sd,
        spread_variance: number(&case["spread"]).powi(2),
        end_variance: 0.0,
        information: 1.0,
        setting_variance: 0.0,
        drift_variance: 0.0,
        ahead: &[],
        touch_cost: 0.0,
    }
}

/// NumPy draws every arrow (`scripts/matches.py`): within 3.5 standard errors, and what the nodes of the quadrature leave.
#[test]
fn plain_simulation_agrees() {
    let rings = rings();
    for case in list(&reference("matches.json")["cases"]) {
        let n = |key: &str| number(&case[key]);
        let whole = |key: &str| n(key) as u32;
        let side = |i: usize, points: u32| Side {
            points,
            end_shots: number(&case["shot"][i][0]) as u32,
            end_points: number(&case["shot"][i][1]) as u32,
        };
        let format = Format::named(case["count"].as_str().unwrap()).unwrap();
        let standing = Standing {
            ends_done: whole("ends_done"),
            mine: side(0, whole("mine")),
            theirs: side(1, whole("theirs")),
            single: None,
        };
        let theirs = round(&rings, n("other"));
        let tolerance = 3.5 * n("se");
        if n("centre_sd") == 0.0 {
            let got = chance(&rings, &format, &standing, &round(&rings, n("spread")), &theirs);
            near(&case.to_string(), got, n("chance"), tolerance);
            continue;
        }
        let opponent = Opponent::averaging(theirs.points.mean());
        let p = plan(&rings, &cost_free(case), clean(), &Duel { format, standing, opponent }).unwrap();
        match n("touch_before") as u32 {
            // A touch now that leaves the centre as unknown as it is; later ones only help.
            0 => {
                assert!(p.now > n("chance") - tolerance && p.now < n("chance") + 0.05, "{case}: touched now {}", p.now)
            }
            1 => {
                let after = p.wait.iter().find(|(k, _)| *k == 3).unwrap().1;
                assert!(after > n("chance") - tolerance - 2e-3, "{case}: after the first end {after}");
            }
            _ => near(&case.to_string(), p.never, n("chance"), tolerance + 1e-3),
        }
    }
}

/// Far from its end a match by the sum of all arrows is about points: the same action as by points, where that is clear.
#[test]
fn far_from_the_end_a_match_agrees_with_points() {
    let (rings, scorer) = (rings(), Scorer::new(Face::named("122").unwrap(), Shaft::default()));
    let (spread, mut seen) = (130.0, [0; 2]);
    for off in [0.0, 10.0, 20.0, 30.0, 45.0, 60.0, 80.0, 120.0] {
        for centre_sd in [20.0, 40.0, 60.0, 90.0] {
            let shots: Vec<ShotAhead> = (0..15).map(|i| ShotAhead { counts: true, ends: i % 3 == 2 }).collect();
            let o = Outlook {
                off_mm: off,
                centre_variance: centre_sd * centre_sd,
                spread_variance: spread * spread,
                end_variance: 0.0,
                information: 1.0,
                setting_variance: 6.0,
                drift_variance: 0.0,
                ahead: &shots,
                touch_cost: 0.5,
            };
            let points = by_points(&scorer, &o);
            let settled = Arrow::shot(&rings, clean(), 0.0, spread * spread);
            let duel = Duel {
                format: FORMATS[1],
                standing: Standing::default(),
                opponent: Opponent::averaging(settled.points.mean()),
            };
            let chances = plan(&rings, &o, clean(), &duel).unwrap();
            let act = |ahead: f64| if ahead > 0.0 { Action::Move } else { Action::Wait };
            // Within a fifth of a point either is right.
            if points.gain_over_waiting().abs() < 0.2 {
                continue;
            }
            let by_points = act(points.gain_over_waiting());
            let by_chance = act(chances.now - chances.best_later().1);
            assert_eq!(by_points, by_chance, "off {off}, known to {centre_sd}: {points:?} {chances:?}");
            seen[usize::from(by_points == Action::Move)] += 1;
        }
    }
    assert!(seen[0] >= 3 && seen[1] >= 3, "both kinds of advice: {seen:?}");
}

/// A few cells of the table in docs/design/match.md: never below the best rule of thumb, by two standard errors of the same matches.
#[test]
fn goldward_wins_no_fewer_matches_than_the_best_rule_of_thumb() {
    // Those of an equal opponent and the middle spread.
    for cell in &cells()[12..15] {
        let t = play(cell, FORMATS[0], 1000, false);
        assert!(t.ahead.0 > -2.0 * t.ahead.1, "{cell:?}: {t:?}");
    }
}

/// All 27 cells, and matches by sums.
#[test]
#[ignore = "slow: run by cargo xtask test"]
fn goldward_wins_no_fewer_matches_in_any_cell() {
    for format in FORMATS {
        for cell in cells() {
            let t = play(&cell, format, 1000, false);
            // 54 cells of which each may fall short by chance: 3.3 standard errors.
            assert!(t.ahead.0 > -3.3 * t.ahead.1, "{} {cell:?}: {t:?}", format.key);
        }
    }
}
