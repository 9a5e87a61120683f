//! What touches give, how precisely the sight is set and how an archer drifts, from sessions that are not drawn from the model: archers who
//! touch by what they see, with flyers, and errors of setting in whole steps.

use goldward_core::face::Face;
use goldward_core::group::{ClassOdds, EndEffect, Prior, read};
use goldward_core::habits::{Course, CourseSeen, CourseTold, Stretch, learn_course};
use goldward_core::plane::Point;
use goldward_core::random::Random;
use goldward_core::shot::{Call, Shot};
use goldward_core::sight::Sight;
use goldward_core::units::{Distance, Shaft};

const SPREAD_MM: f64 = 105.0;
/// Millimetres on the face for one at the pin: 70 m over 880 mm.
const PER_PIN: f64 = 70_000.0 / 880.0;

/// How an archer shoots and sets the sight.
#[derive(Clone, Copy)]
struct Archer {
    /// What a touch gives.
    gives: f64,
    /// The error of a setting: uniform to both sides, in millimetres at the pin.
    error_mm: f64,
    /// From end to end, in spreads.
    step: f64,
    /// What an end shares, in spreads.
    wind: f64,
    /// How far off the sight is at first, in spreads.
    off: f64,
    /// Touches by so much of what the last end tells.
    chase: f64,
}

const PLAIN: Archer = Archer { gives: 1.0, error_mm: 0.0, step: 0.0, wind: 0.4, off: 1.0, chase: 0.8 };

fn session(random: &mut Random, archer: Archer, ends: u32) -> CourseSeen {
    let (a, b) = random.normal_pair();
    let mut centre = Point::new(a, b) * (archer.off * SPREAD_MM);
    let (mut pin, mut error) = (Point::default(), Point::default());
    let mut stretches = Vec::new();
    for end in 0..ends {
        let (a, b) = random.normal_pair();
        let wind = Point::new(archer.wind * a, 0.2 * b) * SPREAD_MM;
        let shot = |_| {
            let (x, y) = random.normal_pair();
            let k = if random.uniform() < 0.08 { 3.0 } else { 1.0 };
            centre + wind + Point::new(x, y) * (k * SPREAD_MM) - (pin * archer.gives + error) * PER_PIN
        };
        let places: Vec<Point> = (0..6).map(shot).collect();
        let mean = places.iter().fold(Point::default(), |a, b| a + *b) * (1.0 / 6.0);
        stretches.push(Stretch { places, end, pin_mm: pin });
        if end % 2 == 0 {
            // In whole clicks.
            let click = |mm: f64| (archer.chase * mm / PER_PIN / 0.1).round() * 0.1;
            pin = pin + Point::new(click(mean.x_mm), click(mean.y_mm));
            let mut off = || archer.error_mm * (2.0 * random.uniform() - 1.0);
            error = error + Point::new(off(), off());
        }
        centre = centre + Point::new(0.0, archer.step * SPREAD_MM);
    }
    CourseSeen::of(&stretches, PER_PIN).expect("a course")
}

fn learnt(random: &mut Random, archer: Archer, sessions: usize) -> Course {
    let seen: Vec<CourseSeen> = (0..sessions).map(|_| session(random, archer, 8)).collect();
    let end = EndEffect { windage: 0.5, elevation: 0.2 };
    let told = |seen| CourseTold { seen, weight: 1.0, end, drift_mm: 7.0, same_sight: true };
    learn_course(&seen.iter().map(told).collect::<Vec<_>>(), 0.0)
}

/// Mean and scatter over some archers of what `get` gets.
fn over(archer: Archer, sessions: usize, get: fn(&Course) -> f64) -> (f64, f64) {
    let mut random = Random::seeded(77);
    let all: Vec<f64> = (0..24).map(|_| get(&learnt(&mut random, archer, sessions))).collect();
    let mean = all.iter().sum::<f64>() / 24.0;
    (mean, (all.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / 23.0).sqrt())
}

/// Who chases the group with the sight sees it come back for two reasons, of which only one is the touch.
#[test]
fn luck_that_returns_is_not_taken_for_the_click() {
    for archer in [
        PLAIN,
        Archer { chase: 1.0, off: 0.3, ..PLAIN },
        Archer { wind: 0.9, ..PLAIN },
        Archer { wind: 0.0, off: 3.0, ..PLAIN },
    ] {
        let (windage, scatter) = over(archer, 10, |c| c.gives[0].told());
        let (elevation, _) = over(archer, 10, |c| c.gives[1].told());
        eprintln!("off {} wind {}: {windage:.3} {elevation:.3} +- {scatter:.3}", archer.off, archer.wind);
        assert!((windage - 1.0).abs() < 0.05 && (elevation - 1.0).abs() < 0.05 && scatter < 0.1);
    }
}

#[test]
fn a_click_that_gives_more_is_found() {
    for gives in [0.8, 1.2] {
        let (found, scatter) = over(Archer { gives, off: 2.0, ..PLAIN }, 10, |c| c.gives[1].told());
        eprintln!("{gives}: {found:.3} +- {scatter:.3}");
        // Drawn towards what is told, the more the less is known.
        assert!((found - 1.0) / (gives - 1.0) > 0.4 && (found - gives) / (gives - 1.0) < 0.1, "{gives}: {found}");
    }
}

/// Clicks of a quarter millimetre, and clicks that go the other way: nothing is told to a reading, and it can be seen.
#[test]
fn a_click_that_cannot_be_is_told_and_not_used() {
    let mut random = Random::seeded(5);
    for gives in [2.5, -1.0] {
        let archer = Archer { gives, chase: 0.3, off: 2.0, ..PLAIN };
        let found = learnt(&mut random, archer, 10).gives[1];
        assert!(!found.is_near() && (found.mean - gives).abs() < 0.3, "{gives}: {found:?}");
        assert!((found.told() - 1.0).abs() < 1e-12);
    }
}

#[test]
fn who_sets_coarsely_is_told_from_who_does_not() {
    let (fine, _) = over(PLAIN, 10, |c| c.error_mm);
    // Uniform to 1.7 mm has a standard deviation of 1 mm: 80 mm on the face.
    let (coarse, scatter) = over(Archer { error_mm: 1.7, ..PLAIN }, 10, |c| c.error_mm);
    eprintln!("fine {fine:.3}, coarse {coarse:.3} +- {scatter:.3}");
    assert!(fine < 0.3 && (0.6..1.4).contains(&coarse), "{fine} {coarse}");
}

#[test]
fn a_tiring_arm_is_told_from_one_that_is_not() {
    let (still, scatter) = over(PLAIN, 10, |c| c.step[1].mean);
    let (sinking, _) = over(Archer { step: -0.2, ..PLAIN }, 10, |c| c.step[1].mean);
    eprintln!("still {still:.3} +- {scatter:.3}, sinking {sinking:.3}");
    assert!(still.abs() < 0.02 && scatter < 0.03 && (sinking + 0.2).abs() < 0.05, "{still} {sinking}");
}

#[test]
fn nothing_says_nothing() {
    let none = learn_course(&[], 0.2);
    assert!((none.error_mm - 0.2).abs() < 1e-12 && none.touches == 0 && none.ends == 0);
    for gives in none.gives {
        assert!((gives.told() - 1.0).abs() < 1e-12 && (gives.p_near - 0.95).abs() < 1e-9, "{gives:?}");
    }
    assert!(none.step.iter().all(|s| s.mean.abs() < 1e-12));
    let same = Stretch { places: vec![Point::default(); 6], end: 0, pin_mm: Point::default() };
    assert!(CourseSeen::of(&[same.clone(), Stretch { end: 1, ..same }], PER_PIN).is_none());
}

/// A drift that is known is taken off: the reading is that of the same shots without it, ends later; its places stay where they are.
#[test]
fn a_known_drift_is_taken_off_and_put_back() {
    let (face, shaft) = (Face::named("122").unwrap(), Shaft::default());
    let step = Point::new(4.0, -15.0);
    let prior = Prior::on_face(80.0, 20.0, 1.0).unwrap().with_drift_mm(6.0).unwrap();
    let drifting = prior.with_end_drift_mm(step).unwrap();
    let mut random = Random::seeded(9);
    for n in [0, 5, 9, 15] {
        let still: Vec<Shot> = (0..n)
            .map(|i| {
                let (x, y) = random.normal_pair();
                Shot::at(80.0 * x, 80.0 * y).in_end(i / 3)
            })
            .collect();
        let moved = |s: &Shot| Shot { carry: s.carry - step * f64::from(s.end), ..*s };
        let shots: Vec<Shot> = still.iter().map(moved).collect();
        let want = read(&still, &prior, ClassOdds::default(), face, shaft).unwrap();
        let got = read(&shots, &drifting, ClassOdds::default(), face, shaft).unwrap();
        let ends = if n == 0 { Point::default() } else { step * f64::from((n - 1) / 3 + 1) };
        assert!((got.centre - want.centre - ends).radius_mm() < 1e-6, "{n}: {:?} {:?}", got.centre, want.centre);
        assert!((got.centre_cov.yy - want.centre_cov.yy).abs() < 1e-6 * want.centre_cov.yy);
        for (i, (a, b)) in got.places.iter().zip(&want.places).enumerate() {
            assert!((*a - *b - step * f64::from(i as u32 / 3)).radius_mm() < 1e-6);
        }
    }
    // Called shots are taken along too.
    let call = |text: &str, end| Shot::called(text.parse::<Call>().unwrap()).in_end(end);
    let calls = [call("9@3", 0), call("8@12", 0), call("9@6", 1), call("9@3", 1)];
    let by = |prior: &Prior| read(&calls, prior, ClassOdds::default(), face, shaft).unwrap().centre;
    assert!(by(&drifting).y_mm < by(&prior).y_mm - 5.0, "{:?} {:?}", by(&drifting), by(&prior));
    assert!(prior.with_end_drift_mm(Point::new(f64::NAN, 0.0)).is_err());
}

/// What a touch gives stretches what it moves, and nothing else.
#[test]
fn a_sight_gives_what_it_is_told_to() {
    let (plain, metres) = (Sight::default(), Distance::from_metres(70.0).unwrap());
    let own = plain.with_gives([1.2, 0.9]).unwrap();
    let pin = own.pin_mm([10, -4]);
    assert_eq!(pin, plain.pin_mm([10, -4]), "clicks are as the kit says");
    let (a, b) = (own.shift_mm(pin, metres), plain.shift_mm(pin, metres));
    assert!((a.x_mm - 1.2 * b.x_mm).abs() < 1e-9 && (a.y_mm - 0.9 * b.y_mm).abs() < 1e-9);
    let (a, b) = (own.click_on_face_mm(metres), plain.click_on_face_mm(metres));
    assert!((a[0] - 1.2 * b[0]).abs() < 1e-9 && (a[1] - 0.9 * b[1]).abs() < 1e-9);
    for bad in [0.2, 4.1, f64::NAN] {
        assert!(plain.with_gives([1.0, bad]).is_err());
    }
}
