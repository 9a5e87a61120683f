//! Machines differ in the last digit of a logarithm or a sine. What is told must not: no branch of the reading or the advice may
//! hang on such a digit. Here the input is moved by far more than that, and by far less than anybody can see.

use goldward_core::advice::{Advice, Ahead, advise};
use goldward_core::face::Face;
use goldward_core::group::{ClassOdds, Prior, Reading, read};
use goldward_core::random::Random;
use goldward_core::score::Scorer;
use goldward_core::shot::{Felt, Shot};
use goldward_core::sight::Sight;
use goldward_core::units::{Distance, Shaft, Spread};

/// A session of `n` shots, some of them called, moved by `nudge` of its size.
fn session(number: u64, n: usize, nudge: f64) -> Vec<Shot> {
    let mut random = Random::stream(0x0123, number);
    let (cx, cy) = random.normal_pair();
    let calls = [0.0, 0.15, 0.5, 1.0][(number % 4) as usize];
    (0..n)
        .map(|i| {
            let (x, y) = random.normal_pair();
            let wide = [1.0, 1.0, 1.0, 3.0][(random.uniform() * 4.0) as usize];
            let (x, y) = (150.0 * cx + wide * 90.0 * x, 150.0 * cy + wide * 90.0 * y);
            let called = random.uniform() < calls;
            let shot = if called {
                let ring = (10.0 - x.hypot(y) / 61.0).ceil().clamp(0.0, 10.0);
                let hour = 1 + (random.uniform() * 12.0) as u32;
                let ring = if ring < 1.0 { "M".to_owned() } else { format!("{ring:.0}") };
                let text = if number.is_multiple_of(3) { ring } else { format!("{ring}@{hour}") };
                Shot::called(text.parse().unwrap())
            } else {
                // Measured to a tenth of a millimetre, as the app writes it.
                let tenth = |v: f64| (10.0 * v).round() / 10.0 * (1.0 + nudge);
                Shot::at(tenth(x), tenth(y))
            };
            let felt = if random.uniform() < 0.1 { Felt::Bad } else { Felt::Unmarked };
            Shot { felt, ..shot.in_end((i / 3) as u32) }
        })
        .collect()
}

fn ask(number: u64, n: usize, nudge: f64) -> (Reading, Advice) {
    let distance = Distance::from_metres(70.0).unwrap();
    let face = Face::named("122").unwrap();
    let spread = Spread::from_mrad(1.5 * (1.0 + 0.3 * nudge)).unwrap();
    let prior = Prior::new(spread, distance, 4.0, [0.02, 0.6, 6.0][(number % 3) as usize]).unwrap();
    let odds = ClassOdds::default();
    let reading = read(&session(number, n, nudge), &prior, odds, face, Shaft::default()).unwrap();
    let scorer = Scorer::new(face, Shaft::default());
    let advice = advise(&reading, &scorer, &Sight::default(), distance, odds, &Ahead::new(36, 0.5));
    (reading, advice)
}

#[test]
fn what_is_told_does_not_hang_on_the_last_digit() {
    let mut wrong = Vec::new();
    for number in 0..60 {
        let n = 1 + (number % 11) as usize;
        let (reading, advice) = ask(number, n, 0.0);
        for nudge in [1e-13, -1e-13] {
            let (other, told) = ask(number, n, nudge);
            let off = reading.centre - other.centre;
            let off = off.x_mm.hypot(off.y_mm);
            let [low, high] = [0, 1].map(|i| (advice.gain_interval_points[i] - told.gain_interval_points[i]).abs());
            let same = off < 1e-6
                && (advice.p_better - told.p_better).abs() < 1e-9
                && low.max(high) < 1e-6
                && (advice.clicks, advice.best.clicks, advice.action, advice.more_shots, advice.look_after)
                    == (told.clicks, told.best.clicks, told.action, told.more_shots, told.look_after);
            if !same {
                wrong.push(format!(
                    "{number} ({n}): centre off by {off:.1e}, p {} {}, interval off by {low:.1e} {high:.1e}, {:?} {:?}, {:?} {:?}",
                    advice.p_better, told.p_better, advice.best.clicks, told.best.clicks, advice.more_shots, told.more_shots
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{} of 120:\n{}", wrong.len(), wrong.join("\n"));
}
