//! Habits: what a reading makes of them, against every hypothesis visited by another method and against plain simulation, and what
//! ten kinds of archers gain by them who are drawn from none of our models (`checks::habits`).

use checks::enumerate::{self, Data};
use checks::habits::{EVENINGS, Habit, KINDS, Kind, Worth, archer, density, gain};
use checks::truth::{Mean, crowd, face};
use goldward_core::group::{ClassOdds, ClassShape, Pattern, Prior, Reading, read};
use goldward_core::plane::{Point, Sym2};
use goldward_core::random::Random;
use goldward_core::score::Scorer;
use goldward_core::shot::{Felt, Shot};
use goldward_core::units::Shaft;

/// An archer whose bad shots go there, one in five.
fn odds(x: f64, y: f64, factors: [f64; 2]) -> ClassOdds {
    let bad = ClassOdds::new([0.1, 0.89, 0.01]).unwrap();
    ClassOdds::new([0.79, 0.2, 0.01])
        .unwrap()
        .with_marks(bad, ClassOdds::GOOD)
        .with_bad_shots(ClassShape { mean_mm: Point::new(x, y), factors })
        .unwrap()
}

fn reading(shots: &[Shot], prior: &Prior, odds: ClassOdds) -> Reading {
    read(shots, prior, odds, face(), Shaft::default()).unwrap()
}

/// Groups of 5, 8 and 11 shots, some of them bad, against the chain of one-step densities over all hypotheses.
#[test]
fn every_hypothesis_says_the_same() {
    let mut random = Random::seeded(31);
    let prior = Prior::on_face(90.0, 4.0, 1.0).unwrap().as_told();
    // The chain knows the usual odds of a shot that felt bad.
    let odds = odds(260.0, -70.0, [1.8, 1.8]).with_marks(ClassOdds::BAD, ClassOdds::GOOD);
    for (n, close) in [(5, 1e-6), (8, 1e-6), (11, 0.03)] {
        let place = |i: usize| {
            let (x, y) = random.normal_pair();
            let off = if i % 4 == 2 { Point::new(260.0, -70.0) } else { Point::default() };
            Point::new(90.0 * x - 40.0, 90.0 * y + 60.0) + off
        };
        let places: Vec<Point> = (0..n).map(place).collect();
        let felt: Vec<Felt> = (0..n).map(|i| if i == 2 { Felt::Bad } else { Felt::Unmarked }).collect();
        let shots: Vec<Shot> = places.iter().zip(&felt).map(|(p, f)| Shot::at(p.x_mm, p.y_mm).felt(*f)).collect();
        let got = reading(&shots, &prior, odds);
        let (_, pattern, want) = enumerate::all(&Data { places, felt, prior, unmarked: odds });
        let sd = want.centre_cov.mean_sd();
        assert!((got.centre - want.centre).radius_mm() < close * sd, "{n}: {:?} {:?}", got.centre, want.centre);
        assert!((got.centre_cov.xx / want.centre_cov.xx - 1.0).abs() < close, "{n}");
        assert!((got.spread.yy / want.spread.yy - 1.0).abs() < close, "{n}");
        for (a, b) in got.pattern.iter().zip(pattern) {
            assert!((a - b).abs() < close, "{n}: {:?} {pattern:?}", got.pattern);
        }
        for (a, b) in got.p_class.iter().flatten().zip(want.p_class.iter().flatten()) {
            assert!((a - b).abs() < close, "{n}");
        }
    }
}

/// Bad shots of different widths along the axes, three shots, against draws from the prior weighted by their likelihood. What the axes
/// share is taken shot by shot there, as where ends move windage more than elevation: within a twentieth of a standard deviation.
#[test]
fn wide_one_way_against_plain_simulation() {
    let (odds, trust, worth, s) = (odds(200.0, 0.0, [6.0, 1.0]), 1.0, 4.0, 100.0);
    let prior = Prior::on_face(s, worth, trust).unwrap().as_told();
    let at = [Point::new(60.0, 20.0), Point::new(330.0, -50.0), Point::new(-30.0, 90.0)];
    let shots = at.map(|p| Shot::at(p.x_mm, p.y_mm));
    let got = reading(&shots, &prior, odds);
    let mut random = Random::seeded(33);
    let (mut weight, mut centre, mut second, mut bad) = (0.0, Point::default(), Sym2::default(), 0.0);
    for _ in 0..1_500_000 {
        // Sigma ~ IW(nu, psi): the inverse of a Wishart by Bartlett.
        let nu = worth + 3.0;
        let (a11, a22, a21) =
            ((2.0 * random.gamma(0.5 * nu)).sqrt(), (2.0 * random.gamma(0.5 * (nu - 1.0))).sqrt(), random.normal());
        let w = Sym2::new(a11 * a11, a11 * a21, a21 * a21 + a22 * a22);
        let k = s * s * worth / w.det();
        let sigma = Sym2::new(w.yy * k, -w.xy * k, w.xx * k);
        let (l11, l21, l22) = (sigma * (1.0 / trust)).cholesky();
        let (u, v) = random.normal_pair();
        let c = Point::new(l11 * u, l21 * u + l22 * v);
        let (mut like, mut second_bad) = (1.0, 0.0);
        for (i, z) in at.iter().enumerate() {
            let each = [0, 1, 2].map(|class| {
                let shape = odds.shapes()[class];
                let cov = shape.widened(sigma);
                let q = cov.mahalanobis2(*z - c - shape.mean_mm);
                odds.get()[class] * (-0.5 * q).exp() / cov.det().sqrt()
            });
            let sum: f64 = each.iter().sum();
            like *= sum;
            if i == 1 {
                second_bad = each[1] / sum;
            }
        }
        weight += like;
        centre = centre + c * like;
        second = second + Sym2::outer(c) * like;
        bad += like * second_bad;
    }
    let mean = centre * (1.0 / weight);
    let cov = second * (1.0 / weight) - Sym2::outer(mean);
    assert!((got.centre - mean).radius_mm() < 0.05 * cov.mean_sd(), "{:?} {mean:?} {}", got.centre, cov.mean_sd());
    assert!((got.centre_cov.xx / cov.xx - 1.0).abs() < 0.05, "{:?} {cov:?}", got.centre_cov);
    assert!((got.p_class[1][1] - bad / weight).abs() < 0.02, "{:?} {}", got.p_class[1], bad / weight);
}

/// A second cluster where the bad shots go is bad shots; the same cluster elsewhere is another group.
#[test]
fn a_cluster_where_bad_shots_go_is_no_split() {
    let mut random = Random::seeded(32);
    let prior = Prior::on_face(90.0, 20.0, 1.0).unwrap();
    let cluster = |off: Point, random: &mut Random| -> Vec<Shot> {
        (0..12)
            .map(|i| {
                let (x, y) = random.normal_pair();
                let at = Point::new(70.0 * x, 70.0 * y) + if i % 3 == 1 { off } else { Point::default() };
                Shot::at(at.x_mm, at.y_mm)
            })
            .collect()
    };
    let own = odds(450.0, 0.0, [1.5, 1.5]);
    for _ in 0..6 {
        let shots = cluster(Point::new(450.0, 0.0), &mut random);
        let (with, without) = (reading(&shots, &prior, own), reading(&shots, &prior, ClassOdds::default()));
        let split = |r: &Reading| r.probability(Pattern::Split);
        // No likelier than before any shot, which is 8 %.
        eprintln!("a split: {:.3} with habits, {:.3} without", split(&with), split(&without));
        assert!(split(&with) < 0.08 && split(&without) > 0.2, "{} {}", split(&with), split(&without));
        assert!((0..12).all(|i| (with.p_class[i][1] > 0.3) == (i % 3 == 1)), "{:?}", with.p_class);
        // The centre is that of the others, and not between the two.
        assert!(
            with.centre.x_mm < 60.0 && without.centre.x_mm > with.centre.x_mm + 20.0,
            "{:?} {:?}",
            with.centre,
            without.centre
        );
        let elsewhere = cluster(Point::new(-450.0, 0.0), &mut random);
        let read = reading(&elsewhere, &prior, own);
        assert!(split(&read) > 0.2, "{}", split(&read));
    }
}

/// A pull to the right that felt bad moves nothing where that is what bad shots do.
#[test]
fn a_pull_that_felt_bad_moves_nothing() {
    let prior = Prior::on_face(90.0, 20.0, 1.0).unwrap();
    let shots = [(10.0, 40.0), (-60.0, -30.0), (35.0, -55.0), (-5.0, 20.0)].map(|(x, y)| Shot::at(x, y));
    let pulled: Vec<Shot> = shots.into_iter().chain([Shot::at(265.0, 5.0).felt(Felt::Bad)]).collect();
    let by = |odds: ClassOdds| (reading(&pulled, &prior, odds).centre - reading(&shots, &prior, odds).centre).x_mm;
    let (with, without) = (by(odds(270.0, 0.0, [1.5, 1.5])), by(ClassOdds::default()));
    assert!(with.abs() < 0.5 && without > 4.0, "{with} {without}");
}

/// Rows of the table for some kinds.
fn rows(kind: Kind, archers: usize, n: &[usize]) -> Vec<Vec<f64>> {
    let (worth, scorer) = (Worth::of(kind), Scorer::new(face(), Shaft::default()));
    crowd(archers, |number| {
        let told = archer(kind, number, 1.0);
        let mut row = density(kind, &told, number, 1.0, 3);
        for n in n {
            row.extend(gain(kind, &told, &worth, number, 1.0, *n, &scorer));
        }
        row
    })
}

fn more(rows: &[Vec<f64>], block: usize, which: usize) -> Mean {
    Mean::of(rows.iter().map(move |r| r[3 * block + which] - r[3 * block]))
}

/// After ten evenings the density of later ones is nowhere lower than with the usual values, and higher where there is a habit; no kind
/// loses a fifth of a point. Four standard errors of paired differences.
#[test]
#[ignore = "slow: run by cargo xtask test"]
fn learnt_habits_never_harm_and_help_who_has_one() {
    for kind in KINDS {
        let rows = rows(kind, 60, &[6]);
        let (density, points) = (more(&rows, 0, 1), more(&rows, 1, 1));
        eprintln!("{}: density {density}, points after six {points}", kind.name);
        assert!(density.mean + 4.0 * density.error > 0.0, "{}: {density}", kind.name);
        assert!(points.mean + 4.0 * points.error > -0.2, "{}: {points}", kind.name);
        // What groups that are two or move gain by it is less than so few archers show: it has a test of its own.
        if kind.habit && !["double", "jumpy"].contains(&kind.name) {
            assert!(density.mean - 2.0 * density.error > 0.0, "{}: {density}", kind.name);
        }
    }
    assert_eq!(EVENINGS, 10);
}

/// One habit alone, all else being learnt: what the density gains by it where an archer has it (two standard errors of paired differences), and
/// that less than 0.003 an arrow is lost where not. Cases are a kind, whether it has the habit, and how many archers.
fn is_worth_having(habit: Habit, cases: &[(&'static str, bool, usize)]) {
    let mut worse = Vec::new();
    for &(kind, helps, archers) in cases {
        let found = Kind::find(kind).unwrap();
        let rows = crowd(archers, |number| {
            let [usual, learnt, _] = archer(found, number, 1.0);
            density(found, &[learnt.without(habit, &usual), learnt], number, 1.0, 1)
        });
        let gained = Mean::of(rows.iter().map(|r| r[1] - r[0]));
        eprintln!("{kind}, {habit:?}: {:.4} +- {:.4}", gained.mean, gained.error);
        let least = if helps { gained.mean - 2.0 * gained.error } else { gained.mean + 0.003 };
        if least <= 0.0 {
            worse.push(kind);
        }
    }
    assert!(worse.is_empty(), "{worse:?}");
}

/// What touches give and how precisely the sight is set.
#[test]
#[ignore = "slow: run by cargo xtask test"]
fn what_touches_tell_is_worth_having() {
    is_worth_having(Habit::Touch, &[("touchy", false, 80), ("coarse", true, 80), ("click", true, 240)]);
}

#[test]
#[ignore = "slow: run by cargo xtask test"]
fn how_often_groups_are_two_or_move_is_worth_having() {
    let own = [("double", true, 120), ("jumpy", true, 120)];
    let others = [("usual", false, 120), ("coarse", false, 120), ("wind", false, 120)];
    is_worth_having(Habit::Patterns, &[&own[..], &others].concat());
}
