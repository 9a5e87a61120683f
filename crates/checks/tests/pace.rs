//! When to touch: the laws of adjustment that others have published, and the rehearsal against them.
//!
//! Sources beside each check. Tolerances are standard errors of the simulated rounds (fixed seed), stated where used.

use checks::{list, near, number, reference};
use goldward_core::face::Face;
use goldward_core::group::{ClassOdds, Prior};
use goldward_core::pace::Filter;
use goldward_core::pace::rehearsal::{Outcome, Rehearsal, Rule, Scene};
use goldward_core::plane::Point;
use goldward_core::random::Random;
use goldward_core::score::Scorer;
use goldward_core::units::Shaft;

fn outcomes(scene: &Scene, rules: &[Rule], rounds: u64) -> Vec<Outcome> {
    let scorer = Scorer::new(Face::named("122").unwrap(), Shaft::default());
    let rehearsal = Rehearsal::new(scene, &scorer, 7);
    rehearsal.play(rules, 0..rounds).outcomes(rehearsal.oracle_points())
}

/// An archer without flyers on a sight of very fine clicks, as the papers assume.
fn plain(spread_mm: f64, first_offset_mm: f64) -> Scene {
    Scene { click_mm: [0.001; 2], ..Scene::ranking_round(spread_mm, first_offset_mm, 0.0) }
}

/// Mean squared offset before shot `k` (from 0) must be `want`; the mean over `n` rounds and two axes of a squared normal has
/// a relative standard error of 1/sqrt(n), so five of them.
fn offset_is(outcome: &Outcome, k: usize, want: f64, rounds: u64) {
    let what = format!("{}: squared offset before shot {}", outcome.rule.name(), k + 1);
    near(&what, outcome.offset2_at[k], want, want * 5.0 / (rounds as f64).sqrt());
}

/// Grubbs 1954/1983, "An optimum procedure for setting machines or adjusting processes": adjusting by 1/k of the k-th
/// deviation leaves a setting variance of sigma^2 / n after n.
#[test]
fn grubbs_harmonic_rule() {
    let got = outcomes(&plain(60.0, 80.0), &[Rule::Harmonic], 4000);
    for k in [1, 2, 3, 6, 12, 36, 71] {
        offset_is(&got[0], k, 3600.0 / k as f64, 4000);
    }
}

/// Grubbs 1983: with a prior offset variance sd^2 the gain is 1/(k + sigma^2/sd^2), which leaves 1/(1/sd^2 + k/sigma^2).
#[test]
fn grubbs_with_a_prior() {
    let got = outcomes(&plain(60.0, 30.0), &[Rule::PerfectLearner, Rule::Goldward], 2000);
    for k in [0, 1, 2, 6, 24, 71] {
        let want = 1.0 / (1.0 / 900.0 + k as f64 / 3600.0);
        offset_is(&got[0], k, want, 2000);
        // Goldward has to learn the spread as well, from a prior worth four arrows, looks out for flyers, and doubts what it was told of
        // the setting and of a spread that may be less: after the first arrows the variance is up to 35 % more than where nothing can
        // be wrong (what three arrows in a hole gain by it is in `docs/design/model.md`), later a quarter at most.
        near("Goldward", got[1].offset2_at[k] / want, 1.0, if k < 6 { 0.36 } else { 0.25 });
    }
}

/// Deming's funnel, rule 2 ("Out of the Crisis", 1982): full correction after every drop doubles the variance of the drops,
/// that is, the offset before each shot has the variance of one shot.
#[test]
fn deming_funnel() {
    let got = outcomes(&plain(60.0, 80.0), &[Rule::EveryArrow], 4000);
    for k in [1, 2, 10, 71] {
        offset_is(&got[0], k, 3600.0, 4000);
    }
}

/// Trietsch 1998, "The harmonic rule for process setup adjustment with quadratic loss": skipping small adjustments loses
/// next to nothing. Here: a handful of touches instead of some seventy give up less than two points of a round.
#[test]
fn few_touches_lose_little() {
    for (spread, offset, flyers) in [(60.0, 60.0, 0.03), (150.0, 150.0, 0.06)] {
        let got = outcomes(&Scene::ranking_round(spread, offset, flyers), &[Rule::Goldward, Rule::GoldwardCalm], 400);
        assert!(got[1].touches < 14.0 && got[0].touches > 40.0, "{} and {}", got[1].touches, got[0].touches);
        assert!(got[0].points - got[1].points < 2.0, "{} and {}", got[0].points, got[1].points);
    }
}

/// FilterPy, `scripts/kalman.py`: the variance of the centre before each of six shots, in the steady state of a drift between
/// ends. Our spread is learnt too: with a prior worth 10 000 arrows it is known within a few parts in a hundred.
#[test]
fn kalman_steady_state() {
    for case in list(&reference("kalman.json")["cases"]) {
        let [spread, drift, first] = ["spread_mm", "drift_mm", "first_mm"].map(|key| number(&case[key]));
        let prior = Prior::on_face(spread, 10_000.0, (spread / first).powi(2)).unwrap().as_told();
        let mut filter = Filter::new(&prior, 0.0);
        let odds = ClassOdds::new([1.0, 0.0, 0.0]).unwrap();
        let mut random = Random::seeded(5);
        let mut centre = Point::default();
        let mut seen = Vec::new();
        for _ in 0..120 {
            seen.clear();
            for _ in 0..6 {
                let s = filter.summary();
                seen.push(0.5 * (s.centre_variance[0] + s.centre_variance[1]));
                let (x, y) = random.normal_pair();
                filter.shot(centre + Point::new(x, y) * spread, odds);
            }
            let (x, y) = random.normal_pair();
            centre = centre + Point::new(x, y) * drift;
            filter.end_of_end(drift * drift);
        }
        for (got, want) in seen.iter().zip(list(&case["variance_before_shot_mm2"])) {
            near("variance before a shot", *got, number(want), 0.04 * number(want));
        }
    }
}

/// The figures that an earlier, simpler program reached on the same archers (a single-Gaussian filter), with its
/// oracle: 72 arrows at 70 m on the 122 cm face. A regression, not an outside reference.
#[test]
#[ignore = "slow: run by cargo xtask test"]
fn better_than_before() {
    for (spread, offset, flyers, drift, filter, oracle) in [
        (60.0, 60.0, 0.03, 0.0, 661.9, 664.3),
        (150.0, 150.0, 0.06, 0.0, 509.4, 515.5),
        (60.0, 30.0, 0.03, 25.0, 657.2, 663.5),
    ] {
        let scene = Scene { drift_mm: drift, ..Scene::ranking_round(spread, offset, flyers) };
        let got = outcomes(&scene, &Rule::ALL, 3000);
        let best = got.iter().filter(|o| o.rule.is_fixed()).max_by(|a, b| a.points.total_cmp(&b.points)).unwrap();
        let of = |rule| got.iter().find(|o| o.rule == rule).unwrap();
        let goldward = of(Rule::Goldward);
        // Its figures were simulated shot by shot, with errors of about a point; so was its oracle, which is known here.
        assert!((of(Rule::Oracle).points - oracle).abs() < 1.5, "oracle {}", of(Rule::Oracle).points);
        assert!(goldward.points > filter - 1.5, "{} against {filter}", goldward.points);
        assert!(goldward.points > best.points);
    }
}

/// The grid of simulated archers: Goldward above every fixed rule in every cell (ties within two standard errors and what it
/// costs to doubt a promise that was true, at most half a point of a round), and close
/// to the best that anyone can do who learns from arrows.
#[test]
#[ignore = "slow: run by cargo xtask test"]
fn better_than_every_fixed_rule() {
    for spread in [60.0, 150.0, 300.0] {
        for offset in [20.0, 60.0, 200.0] {
            for (flyers, drift) in [(0.03, 0.0), (0.1, 0.0), (0.03, 10.0), (0.1, 25.0)] {
                let scene = Scene { drift_mm: drift, ..Scene::ranking_round(spread, offset, flyers) };
                let got = outcomes(&scene, &Rule::ALL, 400);
                let of = |rule| got.iter().find(|o| o.rule == rule).unwrap();
                let goldward = of(Rule::Goldward);
                let learner = of(Rule::PerfectLearner).points;
                for fixed in got.iter().filter(|o| o.rule.is_fixed()) {
                    let se = goldward.points_se.hypot(fixed.points_se);
                    let cell = format!("spread {spread}, offset {offset}, flyers {flyers}, drift {drift}");
                    assert!(
                        goldward.points > fixed.points - 2.0 * se - 0.5,
                        "{cell}: {} {} against {}",
                        fixed.rule.name(),
                        fixed.points,
                        goldward.points
                    );
                    // Of what a perfect learner gains over this rule, at least three quarters.
                    let gap = learner - fixed.points;
                    if gap > 2.0 {
                        let share = (goldward.points - fixed.points) / gap;
                        assert!(share > 0.75, "{cell}: {share} of what there is to gain over {}", fixed.rule.name());
                    }
                }
            }
        }
    }
}
