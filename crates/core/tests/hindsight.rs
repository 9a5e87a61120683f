//! What the moves of the sight gave: what must hold whatever the arrows. Against the truth: `crates/checks/tests/hindsight.rs`.

use goldward_core::face::Face;
use goldward_core::group::{EndEffect, Prior};
use goldward_core::pace::hindsight::Hindsight;
use goldward_core::pace::{Event, Pace, Settings};
use goldward_core::plane::Point;
use goldward_core::random::Random;
use goldward_core::score::Scorer;
use goldward_core::shot::Shot;
use goldward_core::sight::Sight;
use goldward_core::units::{Distance, Shaft, Spread};

fn settings(ends: usize, drift_mrad: f64, trust: f64) -> Settings {
    let distance = Distance::from_metres(70.0).unwrap();
    let prior = Prior::new(Spread::from_mrad(1.5).unwrap(), distance, 4.0, trust).unwrap();
    let prior = prior.with_end_effect(EndEffect::usual(distance)).unwrap();
    let sight = Sight::new(880.0, [0.1, 0.1], 0.0).unwrap();
    let mut s = Settings::new(distance, Face::named("122").unwrap(), Shaft::default(), sight, prior, ends * 6);
    (s.ends, s.shots_per_end, s.drift_mrad_per_end) = (ends, 6, drift_mrad);
    s
}

/// A sight that is far off and is set once by six arrows: the move gave what it must, and Goldward, asked after the first arrows, would
/// have made it earlier.
#[test]
fn a_good_move_gave_much_and_an_earlier_one_more() {
    let s = settings(6, 0.0, 0.1);
    let mut random = Random::seeded(3);
    let scorer = Scorer::new(s.face, s.shaft);
    let mut pace = Pace::new(s.clone());
    for end in 0..6 {
        for _ in 0..6 {
            let (x, y) = random.normal_pair();
            let off = if end == 0 { 400.0 } else { 0.0 };
            pace.take(Event::Shot(Shot::at(off + 60.0 * x, 60.0 * y))).unwrap();
        }
        pace.take(Event::EndOfEnd).unwrap();
        if end == 0 {
            pace.take(Event::Touch(Point::new(400.0 * 880.0 / 70_000.0, 0.0))).unwrap();
        }
    }
    let back = Hindsight::of(&pace).unwrap().unwrap();
    let [made] = back.moves() else { panic!("{:?}", back.moves()) };
    assert_eq!((made.after, made.since, made.within_end), (6, 6, false));
    let gave = back.gave(|_, _| true);
    let truth = 30.0 * (scorer.isotropic(0.0, 60.0) - scorer.isotropic(400.0, 60.0));
    assert!((gave.points - truth).abs() < 0.1 * truth, "{gave:?} for {truth}");
    assert_eq!(back.gave_over_waiting(), None);
    let beyond = back.goldward_beyond().unwrap();
    assert!(beyond.points > 15.0 && beyond.p_gained > 0.9, "{beyond:?}");
    let [before, after] = [&back.stretches()[0], back.stretches().last().unwrap()];
    assert_eq!((before.sight, after.moves), (Point::default(), 1));
    assert!((before.centre.x_mm - 400.0).abs() < 60.0 && after.centre_sd_mm[0] < 40.0, "{before:?} {after:?}");
}

/// What cannot be told is not told; what follows the last arrow gave nothing; touches in a row are one.
#[test]
fn edges() {
    let s = settings(2, 0.1, 1.0);
    let shot = |x: f64| Event::Shot(Shot::at(x, 10.0));
    let call = |c: &str| Event::Shot(Shot::called(c.parse().unwrap()));
    let touch = |x: f64| Event::Touch(Point::new(x, 0.0));
    let look = |events: &[Event]| {
        let mut pace = Pace::new(s.clone());
        for e in events {
            pace.take(*e).unwrap();
        }
        Hindsight::of(&pace).unwrap().map(|h| (h.moves().to_vec(), h.gave(|_, _| true), h.gave_over_waiting()))
    };
    assert!(look(&[]).is_none());
    assert!(look(&[touch(1.0)]).is_none());
    assert!(look(&[touch(1.0), shot(1.0), shot(2.0), shot(3.0)]).is_none(), "the first setting is no move");
    assert!(look(&[shot(1.0), shot(2.0), shot(3.0), touch(1.0)]).is_none(), "nothing was shot after it");
    assert!(look(&[call("M"), call("9"), touch(1.0), call("8"), call("M")]).is_none(), "no shot has a place");
    assert!(look(&[shot(1.0), touch(1.0), shot(2.0)]).is_none(), "two shots are too few");
    let (moves, gave, waiting) = look(&[
        touch(0.5),
        shot(300.0),
        touch(1.0),
        touch(2.0),
        shot(60.0),
        shot(30.0),
        Event::EndOfEnd,
        touch(-0.5),
        call("9@3"),
        call("M"),
        touch(0.3),
    ])
    .unwrap();
    assert_eq!(moves.len(), 2);
    assert!((moves[0].pin_mm.x_mm - 3.0).abs() < 1e-12);
    assert_eq!((moves[0].after, moves[0].since, moves[0].within_end), (1, 1, true));
    assert_eq!((moves[1].after, moves[1].since, moves[1].within_end), (3, 2, false));
    assert!(
        gave.points.is_finite() && gave.interval_points[0] <= gave.points && gave.points <= gave.interval_points[1]
    );
    assert!(waiting.unwrap().points > 0.0, "a gross error is not waited with");
    // A move that is taken back at once gave nothing.
    let mut pace = Pace::new(s.clone());
    for e in [shot(1.0), shot(2.0), touch(1.0), touch(-1.0), shot(3.0), shot(4.0)] {
        pace.take(e).unwrap();
    }
    let back = Hindsight::of(&pace).unwrap().unwrap();
    assert!(back.gave(|_, _| true).points.abs() < 1e-9);
}

/// Sighting arrows tell of the sight and score nothing.
#[test]
fn sighting_ends_do_not_count() {
    let mut s = settings(1, 0.0, 1.0);
    s.sighting_ends = 1;
    let mut random = Random::seeded(8);
    let mut pace = Pace::new(s);
    for i in 0..12 {
        let (x, y) = random.normal_pair();
        pace.take(Event::Shot(Shot::at(60.0 * x, 60.0 * y))).unwrap();
        if i == 2 {
            pace.take(Event::Touch(Point::new(0.5, 0.0))).unwrap();
        }
        if i == 5 {
            pace.take(Event::EndOfEnd).unwrap();
        }
    }
    let back = Hindsight::of(&pace).unwrap().unwrap();
    let counted: Vec<(usize, usize)> = back.stretches().iter().map(|s| (s.shots, s.counted)).collect();
    assert_eq!(counted, [(3, 0), (3, 0), (6, 6)]);
    assert!(
        back.gave_over_waiting().unwrap().points.abs() < 1e-12,
        "nothing that counts was shot before the end was over"
    );
}
