//! What an archer tells the program, and what it answers: the one place where the core is asked.

use goldward_core::advice::{Advice, Ahead, TOUCH_COST_DEFAULT, advise, quick_move};
use goldward_core::group::{ClassOdds, Prior, Reading, read};
use goldward_core::pace::{Filter, Pace, Settings};
use goldward_core::plane::Point;
use goldward_core::score::Scorer;
use goldward_core::shot::Shot;
use goldward_core::sight::Sight;
use goldward_core::units::{Shaft, Spread};

use super::{AHEAD, Calls, END, Told, distance, face};

/// The shot that landed at `at` in the end `end` (from 0), as it is told.
///
/// # Panics
/// When a call cannot be made of it.
#[must_use]
pub fn shot(at: Point, end: usize, calls: Calls) -> Shot {
    let Some(with_hour) = calls.as_call(at) else { return Shot::at(at.x_mm, at.y_mm).in_end(end as u32) };
    let score = face().score(at, Shaft::default());
    let ring = if score.value == 0 { "M".to_owned() } else { score.value.to_string() };
    let call = if with_hour { format!("{ring}@{}", hour(at)) } else { ring };
    Shot::called(call.parse().expect("a call")).in_end(end as u32)
}

/// The hour at which `at` lies, 1 to 12, as on a clock that hangs on the face.
#[must_use]
pub fn hour(at: Point) -> i32 {
    let hours = (0.5 - at.y_mm.atan2(at.x_mm) / std::f64::consts::PI) * 6.0;
    ((hours.round() as i32).rem_euclid(12) + 11) % 12 + 1
}

/// The prior of what was told.
///
/// # Panics
/// When it cannot be one.
#[must_use]
pub fn prior(told: &Told) -> Prior {
    let spread = Spread::from_mrad(told.spread_mrad).expect("a spread");
    Prior::new(spread, distance(), told.worth, told.trust).expect("a prior")
}

/// A reading with its advice.
#[derive(Debug, Clone)]
pub struct Answer {
    /// What the shots say.
    pub reading: Reading,
    /// What to do.
    pub advice: Advice,
}

/// What the program answers to `shots`, with [`AHEAD`] arrows to come.
///
/// # Panics
/// When the shots cannot be read.
#[must_use]
pub fn answer(told: &Told, shots: &[Shot], scorer: &Scorer) -> Answer {
    let odds = ClassOdds::default();
    let reading = read(shots, &prior(told), odds, face(), Shaft::default()).expect("shots that can be read");
    let ahead = Ahead::new(AHEAD as u32, TOUCH_COST_DEFAULT);
    let advice = advise(&reading, scorer, &sight(), distance(), odds, &ahead);
    Answer { reading, advice }
}

/// The sight: clicks of a tenth of a millimetre.
#[must_use]
pub fn sight() -> Sight {
    Sight::default()
}

/// The shift of whole clicks.
#[must_use]
pub fn shift(clicks: [i32; 2]) -> Point {
    sight().shift_mm(sight().pin_mm(clicks), distance())
}

/// The shift in whole clicks that is nearest to `to`.
#[must_use]
pub fn in_clicks(to: Point) -> Point {
    let [x, y] = sight().click_on_face_mm(distance());
    Point::new((to.x_mm / x).round() * x, (to.y_mm / y).round() * y)
}

/// A round of `ends` ends that is followed arrow by arrow.
#[must_use]
pub fn pace(told: &Told, ends: usize, touch_cost: f64, drift_mrad: f64) -> Pace {
    let mut settings = Settings::new(distance(), face(), Shaft::default(), sight(), prior(told), ends * END);
    (settings.ends, settings.shots_per_end) = (ends, END);
    settings.touch_cost = touch_cost;
    settings.drift_mrad_per_end = drift_mrad;
    Pace::new(settings)
}

/// The rehearsal's Goldward, told what the archer tells: measured shots, and a touch after every arrow.
#[derive(Debug)]
pub struct Rehearsed(Filter);

impl Rehearsed {
    /// Before the first arrow.
    #[must_use]
    pub fn new(told: &Told) -> Self {
        Self(Filter::new(&prior(told), 0.0))
    }

    /// Takes in a shot at `at` and touches: by how much, if at all. `ends` says that the end is over with it.
    pub fn shift(&mut self, at: Point, ends: bool, scorer: &Scorer) -> Option<Point> {
        let odds = ClassOdds::default();
        self.0.shot(at, odds);
        let (clicks, _) = quick_move(scorer, &self.0.next(), odds, sight().click_on_face_mm(distance()), 0.0);
        if ends {
            self.0.end_of_end(0.0);
        }
        (clicks != [0, 0]).then(|| {
            self.0.touch(shift(clicks), 0.0);
            shift(clicks)
        })
    }
}
