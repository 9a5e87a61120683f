//! Common practice, no source: what any coach expects of the advice. Directions and orderings only, so no tolerances to
//! give a reason for, but for the calls: there the source is a plain grid over the cells, see `calls_average_over_their_cells`.

use checks::face_122;
use checks::model::pattern_prior;
use goldward_core::advice::{Action, Advice, Ahead, TOUCH_COST_DEFAULT, advise};
use goldward_core::face::DEFAULT_LIMITS;
use goldward_core::group::{ClassOdds, Prior, Reading, TRUST_PREDICTED, TRUST_UNKNOWN, TRUST_VERIFIED, read};
use goldward_core::notice::{Context, Notice, notices};
use goldward_core::plane::Point;
use goldward_core::score::Scorer;
use goldward_core::shot::{Cell, Felt, Shot};
use goldward_core::sight::Sight;
use goldward_core::units::{Distance, Shaft, Spread};

struct Answer {
    reading: Reading,
    advice: Advice,
}

/// At 70 m on the 122 cm face with 66 shots to come.
fn check_at(shots: &[Shot], spread_mrad: f64, trust: f64) -> Answer {
    let distance = Distance::from_metres(70.0).unwrap();
    let prior = Prior::new(Spread::from_mrad(spread_mrad).unwrap(), distance, 4.0, trust).unwrap();
    let odds = ClassOdds::default();
    let reading = read(shots, &prior, odds, face_122(), Shaft::default()).unwrap();
    let scorer = Scorer::new(face_122(), Shaft::default());
    let ahead = Ahead::new(66, TOUCH_COST_DEFAULT);
    let advice = advise(&reading, &scorer, &Sight::default(), distance, odds, &ahead);
    Answer { reading, advice }
}

fn check(places: &[(f64, f64)]) -> Answer {
    check_at(&shots(places), 1.5, TRUST_PREDICTED)
}

fn shots(places: &[(f64, f64)]) -> Vec<Shot> {
    places.iter().map(|(x, y)| Shot::at(*x, *y)).collect()
}

fn called(text: &str) -> Shot {
    Shot::called(text.parse().unwrap())
}

/// Six shots close about a point.
fn tight(x: f64, y: f64) -> Vec<(f64, f64)> {
    [(-22.0, 5.0), (14.0, -18.0), (3.0, 24.0), (-9.0, -12.0), (25.0, 8.0), (-11.0, -7.0)]
        .map(|(a, b)| (x + a, y + b))
        .into()
}

#[test]
fn six_tight_shots_high_ask_for_the_pin_up() {
    let high = check(&tight(0.0, 140.0));
    assert_eq!(high.advice.action, Action::Move);
    assert!(high.advice.clicks[1] > 0 && high.advice.clicks[0].abs() <= 2, "{:?}", high.advice);
    assert!(high.advice.best.gain_points > 20.0 && high.advice.p_better > 0.97, "{:?}", high.advice);
    let low = check(&tight(0.0, -140.0));
    assert!(low.advice.clicks[1] < 0, "{:?}", low.advice);
}

#[test]
fn a_group_to_the_left_asks_for_left_and_one_to_the_right_for_right() {
    assert!(check(&tight(-140.0, 0.0)).advice.clicks[0] < 0);
    assert!(check(&tight(140.0, 0.0)).advice.clicks[0] > 0);
}

#[test]
fn a_group_in_the_gold_leaves_the_sight() {
    let answer = check(&tight(4.0, -3.0));
    assert_ne!(answer.advice.action, Action::Move);
    assert_eq!(answer.advice.clicks, [0, 0]);
}

#[test]
fn five_left_and_one_in_the_gold_serve_the_five() {
    let five = -180.0;
    let mean = (5.0 * five + 5.0) / 6.0;
    for k in 0..6 {
        let mut places = tight(five, 0.0);
        places[k] = (5.0, 3.0);
        // Who is known to shoot groups this tight: the one in the gold is the odd one, wherever it came in the end.
        let known = check_at(&shots(&places), 0.6, TRUST_UNKNOWN);
        let shift = known.advice.shift_mm.x_mm;
        assert_eq!(known.advice.action, Action::Move);
        assert!(
            shift < mean - 5.0 && shift > five - 15.0,
            "shift {shift}, plain mean {mean}: {:?}",
            known.reading.p_class
        );
        assert!(known.reading.p_class[k][0] < 0.5, "{:?}", known.reading.p_class);
        // Who may well shoot wider, on a mark that is worth an arrow: most of the way all the same.
        let wider = check(&places);
        assert!(wider.advice.shift_mm.x_mm < 0.6 * five, "{:?}", wider.advice);
    }
}

#[test]
fn one_arrow_asks_for_less_than_a_full_correction() {
    let at = Point::new(-150.0, 210.0);
    let corrected = |trust: f64| {
        let answer = check_at(&[Shot::at(at.x_mm, at.y_mm)], 1.5, trust);
        // Made or not: the best move's clicks.
        let clicks = answer.advice.best.clicks;
        let shift = Sight::default().shift_mm(Sight::default().pin_mm(clicks), Distance::from_metres(70.0).unwrap());
        (shift.x_mm * at.x_mm + shift.y_mm * at.y_mm) / at.radius_mm().powi(2)
    };
    let (unknown, predicted, verified) =
        (corrected(TRUST_UNKNOWN), corrected(TRUST_PREDICTED), corrected(TRUST_VERIFIED));
    assert!(
        0.0 <= verified && verified < predicted && predicted < unknown && unknown < 1.0,
        "{verified} {predicted} {unknown}"
    );
    assert!(predicted < 0.7, "a predicted mark outweighs half an arrow: {predicted}");
}

#[test]
fn equal_clusters_stay_near_the_middle_unless_one_is_marked_bad() {
    let left = [(-205.0, 4.0), (-190.0, -16.0), (-198.0, 20.0)];
    let right = [(196.0, -9.0), (207.0, 12.0), (188.0, -2.0)];
    let mixed: Vec<Shot> = left.iter().zip(&right).flat_map(|(l, r)| [*l, *r]).map(|(x, y)| Shot::at(x, y)).collect();
    let answer = check_at(&mixed, 1.5, TRUST_UNKNOWN);
    assert!(answer.reading.centre.x_mm.abs() < 40.0, "{:?}", answer.reading.centre);
    let marked = |bad_to_the_right: bool| -> Vec<Shot> {
        mixed
            .iter()
            .map(|s| {
                let goldward_core::shot::Place::At(p) = s.place else { panic!("a measured shot") };
                s.felt(if (p.x_mm > 0.0) == bad_to_the_right { Felt::Bad } else { Felt::Unmarked })
            })
            .collect()
    };
    let serve_left = check_at(&marked(true), 1.5, TRUST_UNKNOWN);
    assert!(serve_left.reading.centre.x_mm < -80.0 && serve_left.advice.clicks[0] < 0, "{:?}", serve_left.advice);
    let serve_right = check_at(&marked(false), 1.5, TRUST_UNKNOWN);
    assert!(serve_right.reading.centre.x_mm > 80.0 && serve_right.advice.clicks[0] > 0, "{:?}", serve_right.advice);
}

#[test]
fn felt_marks_weigh_what_they_have_earned() {
    // Three arrows: with four a second group is possible, which has its own use for marks.
    let mut three = shots(&tight(0.0, 0.0)[..2]);
    three.push(Shot::at(0.0, 330.0).felt(Felt::Bad));
    let distance = Distance::from_metres(70.0).unwrap();
    let prior = Prior::new(Spread::from_mrad(1.5).unwrap(), distance, 4.0, TRUST_UNKNOWN).unwrap();
    let height =
        |odds: ClassOdds, shots: &[Shot]| read(shots, &prior, odds, face_122(), Shaft::default()).unwrap().centre.y_mm;
    let usual = ClassOdds::default();
    let worth_nothing = usual.with_marks(usual, usual);
    let plain: Vec<Shot> = three.iter().map(|s| s.felt(Felt::Unmarked)).collect();
    assert!((height(worth_nothing, &three) - height(usual, &plain)).abs() < 1e-9, "a mark that tells nothing");
    let sure = usual.with_marks(ClassOdds::new([0.02, 0.78, 0.20]).unwrap(), ClassOdds::GOOD);
    let (trusted, ordinary, ignored) = (height(sure, &three), height(usual, &three), height(worth_nothing, &three));
    assert!(trusted < ordinary && ordinary < ignored, "{trusted} {ordinary} {ignored}");
}

#[test]
fn a_beginners_wide_group_still_has_a_centre() {
    let wide = [(-260.0, 310.0), (190.0, -40.0), (-80.0, 420.0), (330.0, 250.0), (-310.0, -20.0), (60.0, 90.0)];
    let answer = check_at(&shots(&wide), 3.0, TRUST_UNKNOWN);
    let centre = answer.reading.centre;
    let mean = Point::new(-70.0 / 6.0, 1010.0 / 6.0);
    assert!((centre - mean).radius_mm() < 60.0, "{centre:?}");
    let sd = answer.reading.centre_cov.mean_sd();
    assert!(sd > 60.0 && sd < 200.0, "the centre is uncertain, yet not unknown: {sd}");
    assert!(
        answer.reading.p_class.iter().all(|p| p[0] > 0.5),
        "nobody's arrow is thrown out: {:?}",
        answer.reading.p_class
    );
    assert!(answer.advice.clicks[1] >= 0);
}

#[test]
fn a_miss_counts_and_its_side_counts_more() {
    let five = [(-90.0, -70.0), (-140.0, -130.0), (-60.0, -150.0), (-120.0, -40.0), (-30.0, -110.0)];
    let with = |last: Option<Shot>| {
        let mut all = shots(&five);
        all.extend(last);
        check_at(&all, 3.0, TRUST_UNKNOWN).reading
    };
    let (none, miss) = (with(None), with(Some(called("M"))));
    let (low_left, high_right) = (with(Some(called("M@7"))), with(Some(called("M@1"))));
    // Seven o'clock as a direction.
    let toward = |r: &Reading| -r.centre.x_mm * 0.5 - r.centre.y_mm * 0.75_f64.sqrt();
    assert!(toward(&low_left) > toward(&none), "{} {}", toward(&low_left), toward(&none));
    assert!(toward(&high_right) < toward(&none), "{} {}", toward(&high_right), toward(&none));
    // Nobody said where it went: the group says low left.
    assert!(miss.places[5].x_mm < 0.0 && miss.places[5].y_mm < 0.0, "{:?}", miss.places[5]);
    // The mean over a sector of an hour lies a little inside the arc.
    assert!(low_left.places[5].radius_mm() > 0.95 * 610.0, "{:?}", low_left.places[5]);
    assert!(miss.spread.mean_sd() > none.spread.mean_sd(), "a miss widens the spread");
}

/// Midpoints of `side * side` equal pieces of area of a cell, in polar coordinates; a miss ends at `reach_mm`.
fn grid(cell: &Cell, side: usize, reach_mm: f64) -> Vec<Point> {
    let outer = cell.outer_mm.min(reach_mm);
    let (from, to) = (cell.inner_mm.powi(2), outer.powi(2));
    let at = |i: usize| (i as f64 + 0.5) / side as f64;
    (0..side)
        .flat_map(|i| {
            let r = (from + (to - from) * at(i)).sqrt();
            (0..side).map(move |j| {
                let angle = cell.angle_rad + cell.half_width_rad * (2.0 * at(j) - 1.0);
                Point::new(r * angle.cos(), r * angle.sin())
            })
        })
        .collect()
}

/// A called shot is its cell averaged over, weighted by the evidence. The other method: a plain grid over the cells, each
/// combination read with exact positions. Tolerance: 3 % of the posterior sd for the centre, 3 % of the spread, 0.01 for
/// probabilities, since core samples the cells some 256 times.
fn check_calls(exact: &[Shot], calls: &[&str], side: usize) {
    let prior = Prior::new(Spread::from_mrad(1.5).unwrap(), Distance::from_metres(70.0).unwrap(), 4.0, TRUST_PREDICTED)
        .unwrap();
    let of = |shots: &[Shot]| read(shots, &prior, ClassOdds::default(), face_122(), Shaft::default()).unwrap();
    let mut all = exact.to_vec();
    all.extend(calls.iter().map(|c| called(c)));
    let got = of(&all);
    let cells: Vec<Vec<Point>> = calls
        .iter()
        .map(|c| {
            grid(
                &c.parse::<goldward_core::shot::Call>().unwrap().cell(face_122(), Shaft::default()).unwrap(),
                side,
                4000.0,
            )
        })
        .collect();
    let odds = pattern_prior(all.len());
    let count: usize = cells.iter().map(Vec::len).product();
    let (mut total, mut centre, mut clean) = (0.0, Point::default(), vec![0.0; all.len()]);
    let mut spread = 0.0;
    let mut offset = None;
    for mut k in 0..count {
        let mut shots = exact.to_vec();
        for cell in &cells {
            let p = cell[k % cell.len()];
            k /= cell.len();
            shots.push(Shot::at(p.x_mm, p.y_mm));
        }
        let r = of(&shots);
        let offset = *offset.get_or_insert(r.log_evidence[0]);
        let w: f64 = (0..4).filter(|i| odds[*i] > 0.0).map(|i| odds[i] * (r.log_evidence[i] - offset).exp()).sum();
        total += w;
        centre = centre + r.centre * w;
        spread += w * r.spread.mean_variance();
        clean.iter_mut().zip(&r.p_class).for_each(|(sum, p)| *sum += w * p[0]);
    }
    let off = (got.centre - centre * (1.0 / total)).radius_mm() / got.centre_cov.mean_sd();
    let wide = got.spread.mean_variance() / (spread / total) - 1.0;
    eprintln!("{calls:?}: centre off by {off:.4} sd, spread by {:.2} %", 100.0 * wide);
    assert!(off < 0.03, "{calls:?}: {:?} against {:?}", got.centre, centre * (1.0 / total));
    assert!(wide.abs() < 0.03, "{calls:?}: spread off by {wide}");
    for (i, (p, sum)) in got.p_class.iter().zip(&clean).enumerate() {
        assert!((p[0] - sum / total).abs() < 0.01, "{calls:?}: shot {i} clean {} against {}", p[0], sum / total);
    }
}

#[test]
fn calls_average_over_their_cells() {
    let three = shots(&[(60.0, 110.0), (95.0, 75.0), (20.0, 130.0)]);
    check_calls(&three, &["9@1"], 24);
    check_calls(&three, &["7@2:30"], 24);
    check_calls(&three, &["8"], 32);
    check_calls(&three, &["M@1"], 240);
    check_calls(&three[..1], &["8@1", "9@2"], 10);
    check_calls(&[], &["X", "7@12"], 12);
}

#[test]
fn a_clear_stray_brings_the_safety_notice() {
    let mut places = tight(10.0, -20.0);
    places[4] = (-1900.0, 1500.0);
    let shots = shots(&places);
    let Answer { reading, advice } = check(&places);
    assert!(reading.p_class[4][2] > 0.9, "{:?}", reading.p_class[4]);
    let all = notices(&Context {
        shots: &shots,
        reading: &reading,
        advice: &advice,
        face: face_122(),
        shaft: Shaft::default(),
        limits: &DEFAULT_LIMITS,
        trust: TRUST_PREDICTED,
    });
    assert!(all.iter().any(|n| matches!(n, Notice::InspectArrow { shot: 5 })), "{all:?}");
    assert!(all.iter().any(|n| matches!(n, Notice::Stray { shot: 5, .. })), "{all:?}");
}
