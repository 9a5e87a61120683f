//! Archers with and without habits, none of them drawn from the model that learns them: what an archer gains whose habits are learnt,
//! against one who is read with the values that all have in common and one whose habits are known from the start.
//!
//! Every archer shoots ten evenings; what they tell is told to the later ones. Everything goes through the public API of the core.

use goldward_core::advice::quick_move;
use goldward_core::group::spread::{Landed, Spot, estimate};
use goldward_core::group::{ClassOdds, EndEffect, EndsSeen, Prior, Reading, learn_ends, read};
use goldward_core::habits::{
    CourseSeen, CourseTold, DaySeen, Habits, SeenShot, SessionSeen, Stretch, learn, learn_course, learn_days,
};
use goldward_core::plane::Point;
use goldward_core::random::Random;
use goldward_core::score::Scorer;
use goldward_core::shot::{Felt, Shot};
use goldward_core::sight::Sight;
use goldward_core::units::{Shaft, Spread};

use crate::truth::{AHEAD, END, SPREAD_MM, distance, face};

/// Ends of an evening.
pub const ENDS: usize = 6;
/// Evenings that are learnt from.
pub const EVENINGS: usize = 10;
/// Evenings from which one is told who is told from the start.
const MANY: usize = 80;
/// Days from one evening to the next.
const DAYS: f64 = 7.0;
/// Arrows over which what a setting is worth is averaged: the same for every setting.
const ARROWS: usize = 4000;

/// How an archer shoots.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kind {
    /// Its name.
    pub name: &'static str,
    /// What is so about it.
    pub title: &'static str,
    /// Whether it has a habit that can be learnt.
    pub habit: bool,
    how: How,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum How {
    /// No bad shots at all.
    Plain,
    /// One in twelve three times as wide, one in a hundred ten times.
    Usual,
    /// One in eight is thrown to the right by an exponential of three spreads.
    Right,
    /// The same, of which seven in ten feel bad, and three in a hundred of all others.
    RightFelt,
    /// One in seven low left, as a Student t of four degrees of freedom.
    LowLeft,
    /// All shots a Student t of three degrees of freedom.
    Heavy,
    /// One in twelve thrown right, one in sixteen dropped low, clean ones a third taller than wide.
    Mixed,
    /// One in four, close together, two and a half spreads to the right.
    Often,
    /// No bad shots, and a wind that moves whole ends by four fifths of the spread.
    Wind,
    /// One in ten drops by a uniform of up to six spreads; the arm sinks by a spread and a half over the evening.
    Tired,
    /// Usual flyers; the arm sinks by three quarters of a spread over the evening.
    Sinking,
    /// Usual flyers; the sight is moved by what the end before tells, as it is told.
    Touchy,
    /// The same, and set by a uniform of up to 1.7 mm to each side.
    Coarse,
    /// The same as touchy, and a click gives a fifth more than printed.
    Click,
    /// Usual flyers; the spread of all days is the same within a fiftieth.
    EvenDays,
    /// Usual flyers; the spread of a day is off by a log-normal of one half.
    WildDays,
    /// Usual flyers; on two evenings of five the arrows go to two places five spreads apart, each as often.
    Double,
    /// Usual flyers; on every second evening the group moves by four spreads before one of the ends.
    Jumpy,
}

/// All of them.
pub const KINDS: [Kind; 18] = [
    Kind { name: "plain", title: "no bad shots", habit: false, how: How::Plain },
    Kind { name: "usual", title: "flyers to all sides", habit: false, how: How::Usual },
    Kind { name: "right", title: "one in eight thrown to the right, some far", habit: true, how: How::Right },
    Kind { name: "right-felt", title: "the same, and most of them felt", habit: true, how: How::RightFelt },
    Kind { name: "low-left", title: "one in seven low left, with long tails", habit: true, how: How::LowLeft },
    Kind { name: "heavy", title: "long tails to all sides", habit: false, how: How::Heavy },
    Kind { name: "mixed", title: "some right, some low, a tall group", habit: true, how: How::Mixed },
    Kind { name: "often", title: "one in four right, close together", habit: true, how: How::Often },
    Kind { name: "wind", title: "no bad shots, windy ends", habit: false, how: How::Wind },
    Kind { name: "tired", title: "one in ten drops, the arm sinks", habit: true, how: How::Tired },
    Kind { name: "sinking", title: "the arm sinks, flyers to all sides", habit: true, how: How::Sinking },
    Kind { name: "touchy", title: "touches by what an end tells", habit: false, how: How::Touchy },
    Kind { name: "coarse", title: "the same, set to a millimetre", habit: true, how: How::Coarse },
    Kind { name: "click", title: "the same, a click gives a fifth more", habit: true, how: How::Click },
    Kind { name: "even-days", title: "all days alike", habit: true, how: How::EvenDays },
    Kind { name: "wild-days", title: "days far apart", habit: false, how: How::WildDays },
    Kind { name: "double", title: "two groups on two evenings of five", habit: true, how: How::Double },
    Kind { name: "jumpy", title: "moves once on every second evening", habit: true, how: How::Jumpy },
];

fn student(dof: f64, random: &mut Random) -> Point {
    let k = 1.0 / (random.gamma(0.5 * dof) / (0.5 * dof)).sqrt();
    let (x, y) = random.normal_pair();
    Point::new(k * x, k * y)
}

impl Kind {
    /// The kind of that name.
    #[must_use]
    pub fn find(name: &str) -> Option<Self> {
        KINDS.into_iter().find(|k| k.name == name)
    }

    /// One arrow from where the end goes, in spreads, and whether it was a bad one.
    fn arrow(self, random: &mut Random) -> (Point, bool) {
        let (x, y) = random.normal_pair();
        let own = Point::new(x, y);
        let u = random.uniform();
        match self.how {
            How::Plain | How::Wind => (own, false),
            _ if self.is_usual() && u < 0.01 => (own * 10.0, true),
            _ if self.is_usual() && u < 0.09 => (own * 3.0, true),
            How::Right | How::RightFelt if u < 0.125 => {
                (own + Point::new(-3.0 * random.uniform().max(1e-12).ln(), 0.0), true)
            }
            How::LowLeft if u < 1.0 / 7.0 => (student(4.0, random) + Point::new(-2.2, -2.2), true),
            How::Heavy => (student(3.0, random) * 0.8, false),
            How::Mixed if u < 1.0 / 12.0 => (own * 1.3 + Point::new(3.0, 0.0), true),
            How::Mixed if u < 1.0 / 12.0 + 1.0 / 16.0 => (own * 1.3 + Point::new(0.0, -3.0), true),
            How::Mixed => (Point::new(own.x_mm, 1.33 * own.y_mm), false),
            How::Often if u < 0.25 => (own * 0.8 + Point::new(2.5, 0.0), true),
            How::Tired if u < 0.1 => (own + Point::new(0.0, -6.0 * random.uniform()), true),
            _ => (own, false),
        }
    }

    fn felt(self, bad: bool, random: &mut Random) -> Felt {
        let p = if bad { 0.7 } else { 0.03 };
        if self.how == How::RightFelt && random.uniform() < p { Felt::Bad } else { Felt::Unmarked }
    }

    fn wind(self) -> [f64; 2] {
        if self.how == How::Wind { [0.8, 0.2] } else { [0.2, 0.2] }
    }

    /// Whether flyers are as they usually are.
    fn is_usual(self) -> bool {
        use How::{Click, Coarse, Double, EvenDays, Jumpy, Sinking, Touchy, Usual, WildDays};
        matches!(self.how, Usual | Sinking | Touchy | Coarse | Click | EvenDays | WildDays | Double | Jumpy)
    }

    /// How far the arm has sunk at end `e`.
    fn sunk(self, e: usize) -> f64 {
        let whole = match self.how {
            How::Tired => -1.5,
            How::Sinking => -0.75,
            _ => 0.0,
        };
        whole * e as f64 / (ENDS as f64 - 1.0)
    }

    fn touches(self) -> bool {
        matches!(self.how, How::Touchy | How::Coarse | How::Click)
    }

    /// What a touch gives.
    fn gives(self) -> f64 {
        if self.how == How::Click { 1.2 } else { 1.0 }
    }

    /// What a setting is off by, in millimetres at the pin.
    fn error(self, random: &mut Random) -> Point {
        if self.how != How::Coarse {
            return Point::default();
        }
        let mut off = || 1.7 * (2.0 * random.uniform() - 1.0);
        Point::new(off(), off())
    }

    /// Where the two groups of this evening lie, in spreads from the middle; from which end on the group has moved, and by how much.
    fn pattern(self, random: &mut Random) -> (Point, usize, Point) {
        let (apart, moved) = (Point::new(2.0, 1.5), Point::new(3.2, -2.4));
        match self.how {
            How::Double if random.uniform() < 0.4 => (apart, 0, Point::default()),
            How::Jumpy if random.uniform() < 0.5 => {
                let from = 1 + (random.uniform() * (ENDS as f64 - 1.0)) as usize;
                (Point::default(), from, moved)
            }
            _ => (Point::default(), 0, Point::default()),
        }
    }

    /// By how much the logarithms of the spreads of days scatter.
    fn days(self) -> f64 {
        match self.how {
            How::EvenDays => 0.02,
            How::WildDays => 0.5,
            _ => 0.12,
        }
    }

    /// One evening: where the sight was off (in spreads), the day's spread, and the shots end by end.
    #[must_use]
    pub fn evening(self, trust: f64, random: &mut Random) -> Evening {
        let spread_mm = SPREAD_MM * (self.days() * random.normal()).exp();
        let (u, v) = random.normal_pair();
        let centre = Point::new(u, v) * (spread_mm / trust.sqrt());
        let mut shots = Vec::with_capacity(ENDS * END);
        let (mut pin, mut error) = (Point::default(), Point::default());
        let (mut pins, mut errors) = (Vec::with_capacity(ENDS), Vec::with_capacity(ENDS));
        let (apart, from, moved) = self.pattern(random);
        for e in 0..ENDS {
            let shift = (pin * self.gives() + error) * per_pin();
            let (a, b) = random.normal_pair();
            let [windage, elevation] = self.wind();
            let end = Point::new(windage * a, elevation * b + self.sunk(e));
            for _ in 0..END {
                let (mut at, bad) = self.arrow(random);
                if apart != Point::default() {
                    at = at + apart * if random.uniform() < 0.5 { 1.0 } else { -1.0 };
                }
                if e >= from {
                    at = at + moved;
                }
                let place = centre + (end + at) * spread_mm - shift;
                let felt = self.felt(bad, random);
                shots.push(Shot::at(place.x_mm, place.y_mm).in_end(e as u32).felt(felt));
            }
            pins.push(pin);
            errors.push(error);
            if self.touches() && e % 2 == 0 {
                // By what this end tells, in whole clicks.
                let of_end =
                    shots[e * END..].iter().map(place).fold(Point::default(), |a, b| a + b) * (1.0 / END as f64);
                let click = |mm: f64| (0.8 * mm / per_pin() / 0.1).round() * 0.1;
                pin = pin + Point::new(click(of_end.x_mm), click(of_end.y_mm));
                error = error + self.error(random);
            }
        }
        Evening { centre, spread_mm, shots, pins, errors }
    }
}

/// Millimetres on the face for one at the pin.
fn per_pin() -> f64 {
    Sight::default().face_per_pin(distance())
}

/// One evening.
#[derive(Debug, Clone)]
pub struct Evening {
    /// Where clean shots go on average at first.
    pub centre: Point,
    /// The day's spread.
    pub spread_mm: f64,
    /// The shots, each as the sight stood.
    pub shots: Vec<Shot>,
    /// Where the pin stood at each end, as told.
    pub pins: Vec<Point>,
    /// What the settings so far were off by at each end, in millimetres at the pin.
    pub errors: Vec<Point>,
}

impl Evening {
    /// The shots of the ends before `n` shots, carried to where the pin stands at end `e` as `sight` tells, and where that is.
    fn carried(&self, n: usize, e: usize, sight: &Sight) -> (Vec<Shot>, Point) {
        let shift = |pin: Point| sight.shift_mm(pin, distance());
        let now = shift(self.pins[e]);
        let of = |(i, s): (usize, &Shot)| {
            let end = i / END;
            let touched = i % END == 0 && end > 0 && self.pins[end] != self.pins[end - 1];
            let loosened_mm2 = if touched { sight.setting_variance_on_face(distance()) } else { 0.0 };
            Shot { carry: now - shift(self.pins[end]), loosened_mm2, ..*s }
        };
        (self.shots[..n].iter().enumerate().map(of).collect(), now)
    }
}

/// What is told of an archer before an evening.
#[derive(Debug, Clone, Copy)]
pub struct Told {
    /// Spread and its worth, what ends share.
    pub prior: Prior,
    /// Class odds.
    pub odds: ClassOdds,
    /// The sight.
    pub sight: Sight,
    /// The habits, where they were learnt.
    pub habits: Option<Habits>,
}

/// One of the habits of how sessions go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Habit {
    /// What a touch gives, and how precisely the sight is set.
    Touch,
    /// The drift from end to end.
    Drift,
    /// How far the days lie apart.
    Days,
    /// How often groups are two or have moved.
    Patterns,
}

impl Told {
    /// The same without one habit, of which only what is `usual` is told.
    ///
    /// # Panics
    /// When the numbers cannot be told.
    #[must_use]
    pub fn without(self, habit: Habit, usual: &Self) -> Self {
        match habit {
            Habit::Touch => Self { sight: usual.sight, ..self },
            Habit::Drift => Self { prior: self.prior.with_end_drift_mm(Point::default()).expect("none"), ..self },
            Habit::Patterns => Self { prior: self.prior.with_patterns(usual.prior.patterns()), ..self },
            Habit::Days => {
                let (own, usual) = (self.prior, usual.prior);
                let prior = Prior::on_face(own.spread_mm(), usual.worth(), own.trust())
                    .and_then(|p| p.with_end_effect(own.end_effect()))
                    .and_then(|p| p.with_end_drift_mm(own.end_drift_mm()))
                    .expect("a prior");
                Self { prior: prior.with_patterns(own.patterns()), ..self }
            }
        }
    }
}

fn place(shot: &Shot) -> Point {
    match shot.place {
        goldward_core::shot::Place::At(p) => p,
        goldward_core::shot::Place::Called(_) => Point::default(),
    }
}

/// What `evenings`, the latest last, tell: as the log of an archer does, with the usual odds and with the archer's own.
///
/// # Panics
/// When the numbers cannot be told.
#[must_use]
pub fn told(evenings: &[Evening], trust: f64) -> [Told; 2] {
    let mut seen = Vec::new();
    // The archer's own guess: three milliradians worth four arrows.
    let (mut weights, mut squares) = (4.0, 4.0 * 210.0 * 210.0);
    let (mut ends, mut courses, mut days_seen) = (Vec::new(), Vec::new(), Vec::new());
    // The sums as they stood at the evening before.
    let (mut then, mut then_squares) = (0.0, 0.0);
    for (i, evening) in evenings.iter().enumerate() {
        let days = DAYS * (evenings.len() - i) as f64;
        let shot = |s: &Shot| SeenShot {
            landed: Landed { place: Spot::At(place(s) - s.carry), carry: Point::default() },
            felt: s.felt,
            stretch: s.end,
        };
        let carried = evening.carried(evening.shots.len(), ENDS - 1, &Sight::default()).0;
        let shots: Vec<SeenShot> = carried.iter().map(shot).collect();
        let landed: Vec<Landed> = shots.iter().map(|s| s.landed).collect();
        let found = estimate(&landed).expect("a spread");
        let weight = found.shots as f64 * 0.5_f64.powf(days / 60.0);
        weights += weight;
        squares += weight * found.spread_mm * found.spread_mm;
        seen.push((SessionSeen::of(&shots).expect("a session"), 0.5_f64.powf(days / 180.0)));
        let stretch = |e: usize| Stretch {
            places: evening.shots[e * END..(e + 1) * END].iter().filter(|s| s.felt != Felt::Bad).map(place).collect(),
            end: e as u32,
            pin_mm: evening.pins[e],
        };
        let counts = 0.5_f64.powf(days / 180.0);
        courses
            .push((CourseSeen::of(&(0..ENDS).map(stretch).collect::<Vec<_>>(), per_pin()).expect("a course"), counts));
        // By the next evening what was told before counts less, but for the archer's own guess.
        let fade = 0.5_f64.powf(DAYS / 60.0);
        (then, then_squares) = (fade * then, fade * then_squares);
        if i >= 2 {
            let told = (4.0 + then, 4.0 * 210.0 * 210.0 + then_squares);
            let ratio = found.spread_mm / (told.1 / told.0).sqrt();
            days_seen.push((DaySeen { ratio, dof: 2.0 * (found.shots as f64 - 1.0), worth: told.0 }, counts));
        }
        then += found.shots as f64;
        then_squares += found.shots as f64 * found.spread_mm * found.spread_mm;
        let of_end = |e: usize| carried[e * END..(e + 1) * END].iter().map(|s| place(s) - s.carry).collect();
        ends.push((EndsSeen::of(&(0..ENDS).map(of_end).collect::<Vec<_>>()).expect("ends"), 0.5_f64.powf(days / 60.0)));
    }
    let usual = EndEffect::usual(distance());
    let end = learn_ends(&ends.iter().map(|(e, w)| (e, *w, 0.0)).collect::<Vec<_>>(), usual);
    let habits = learn(&seen.iter().map(|(s, w)| (s, *w, usual)).collect::<Vec<_>>());
    let spread_mm = (squares / weights).sqrt();
    let prior = |spread_mm: f64, worth: f64| {
        let spread = Spread::from_mrad(spread_mm / distance().metres()).expect("a spread");
        Prior::new(spread, distance(), worth, trust).and_then(|p| p.with_end_effect(end)).expect("a prior")
    };
    let own = habits.spread_ratio * spread_mm;
    let course = courses.iter().map(|(seen, weight)| CourseTold {
        seen,
        weight: *weight,
        end: usual,
        drift_mm: 7.0,
        same_sight: true,
    });
    let course = learn_course(&course.collect::<Vec<_>>(), 0.0);
    let days = learn_days(&days_seen);
    let [x, y] = course.step.map(|s| s.mean * own);
    let learnt = prior(own, weights.min(days.worth))
        .doubted(days.doubt)
        .and_then(|p| p.with_end_drift_mm(Point::new(x, y)))
        .expect("a prior")
        .with_patterns(habits.patterns.odds);
    let mut sight = Sight::default();
    if course.tells_of_setting() {
        sight = Sight::new(sight.eye_to_pin_mm(), sight.click_mm(), course.error_mm).expect("a sight");
        sight = sight.with_gives(course.gives.map(|g| g.told())).expect("a sight");
    }
    let usual = prior(spread_mm, weights.min(60.0));
    [
        Told { prior: usual, odds: ClassOdds::default(), sight: Sight::default(), habits: None },
        Told { prior: learnt, odds: habits.class_odds(own).expect("odds"), sight, habits: Some(habits) },
    ]
}

/// Archer number `number` of a kind: what is told with the usual odds, with the learnt habits, and by one who knew this archer from the
/// start. All three know as much of the spread.
#[must_use]
pub fn archer(kind: Kind, number: u64, trust: f64) -> [Told; 3] {
    let mut random = Random::stream(0x4AB1, number);
    let evenings: Vec<Evening> = (0..EVENINGS).map(|_| kind.evening(1.0, &mut random)).collect();
    let [usual, learnt] = told(&evenings, trust);
    let known = known(kind, trust);
    let ratio = known.habits.map_or(1.0, |h| h.spread_ratio);
    let spread = Spread::from_mrad(ratio * usual.prior.spread_mm() / distance().metres()).expect("a spread");
    let prior = Prior::new(spread, distance(), usual.prior.worth().min(known.prior.worth()), trust)
        .and_then(|p| p.with_end_effect(usual.prior.end_effect()))
        .and_then(|p| p.doubted(known.prior.doubt()))
        .and_then(|p| p.with_end_drift_mm(known.prior.end_drift_mm()))
        .expect("a prior")
        .with_patterns(known.prior.patterns());
    let odds = known.habits.and_then(|h| h.class_odds(prior.spread_mm()).ok()).unwrap_or_default();
    [usual, learnt, Told { prior, odds, sight: known.sight, habits: known.habits }]
}

/// What many evenings tell of a kind, all weighing the same.
fn known(kind: Kind, trust: f64) -> Told {
    use std::collections::BTreeMap;
    use std::sync::{Mutex, OnceLock};
    static ALL: OnceLock<Mutex<BTreeMap<&'static str, Told>>> = OnceLock::new();
    let mut all = ALL.get_or_init(Mutex::default).lock().expect("nobody panicked");
    *all.entry(kind.name).or_insert_with(|| {
        let mut random = Random::stream(0x4AB2, 1);
        let evenings: Vec<Evening> = (0..MANY).map(|_| kind.evening(1.0, &mut random)).collect();
        told(&evenings, trust)[1]
    })
}

/// The first `n` shots of an evening as they are read at end `e`, whose first arrow is still to come where `n` ends before it.
fn reading(told: &Told, evening: &Evening, n: usize, e: usize) -> Reading {
    let (shots, now) = evening.carried(n, e, &told.sight);
    let prior = told.prior.about(told.prior.centre() - now).with_drift_mm(7.0).expect("a drift");
    let mut reading = read(&shots, &prior, told.odds, face(), Shaft::default()).expect("shots that can be read");
    if n == e * END && e > 0 {
        // What loosens the centre before the end to come: a touch, and drift.
        let touched = evening.pins[e] != evening.pins[e - 1];
        let setting = if touched { told.sight.setting_variance_on_face(distance()) } else { 0.0 };
        let loosened = (setting + 49.0) / prior.spread_mm().powi(2);
        reading.next.parts.iter_mut().flat_map(|p| &mut p.rows).for_each(|r| r.lean = r.lean.map(|l| l + loosened));
    }
    reading
}

/// Mean log density an arrow (of a place in spreads of the truth), of the ends of a later evening given those before it, for each of
/// `told`; each end of so many is asked.
#[must_use]
pub fn density(kind: Kind, told: &[Told], number: u64, trust: f64, every: usize) -> Vec<f64> {
    let mut random = Random::stream(0x4AB3, number);
    let evening = kind.evening(trust, &mut random);
    let mut sums = vec![0.0; told.len()];
    let mut arrows = 0.0;
    for e in (0..ENDS).step_by(every) {
        let rest = &evening.shots[e * END..];
        for (sum, told) in sums.iter_mut().zip(told) {
            let next = reading(told, &evening, e * END, e).next;
            for shot in &rest[..END] {
                let log = next.density_by(place(shot), told.odds.felt(shot.felt)).max(1e-300).ln();
                *sum += log + 2.0 * evening.spread_mm.ln();
            }
        }
        arrows += END as f64;
    }
    sums.iter().map(|s| s / arrows).collect()
}

/// What settings of the sight are worth to a kind: arrows drawn once, in spreads about where clean shots go.
#[derive(Debug)]
pub struct Worth {
    arrows: Vec<Point>,
}

impl Worth {
    /// Of a kind.
    #[must_use]
    pub fn of(kind: Kind) -> Self {
        let mut random = Random::stream(0x4AB4, 1);
        let arrow = |_| {
            let (a, b) = random.normal_pair();
            let [windage, elevation] = kind.wind();
            Point::new(windage * a, elevation * b) + kind.arrow(&mut random).0
        };
        Self { arrows: (0..ARROWS).map(arrow).collect() }
    }

    /// Expected points of the arrows to come where clean ones go `off` the middle.
    #[must_use]
    pub fn points(&self, off: Point, spread_mm: f64) -> f64 {
        let score = |a: &Point| f64::from(face().score(off + *a * spread_mm, Shaft::default()).value);
        self.arrows.iter().map(score).sum::<f64>() / ARROWS as f64 * AHEAD as f64
    }
}

/// Points of [`AHEAD`] arrows after the sight was set by the first `n` shots of a later evening, for each of `told`, less those with
/// clean shots in the middle.
#[must_use]
pub fn gain(kind: Kind, told: &[Told], worth: &Worth, number: u64, trust: f64, n: usize, scorer: &Scorer) -> Vec<f64> {
    let mut random = Random::stream(0x4AB5, number);
    let evening = kind.evening(trust, &mut random);
    let error = kind.error(&mut random);
    let best = worth.points(Point::default(), evening.spread_mm);
    let of = |told: &Told| {
        let (e, sight) = ((n - 1) / END, &told.sight);
        let next = reading(told, &evening, n, e).next.collapsed(64, 0.04);
        let (clicks, _) = quick_move(scorer, &next, told.odds, sight.click_on_face_mm(distance()), 0.0);
        // Where the pin is then, and what that truly gives.
        let pin = evening.pins[e] + sight.pin_mm(clicks);
        let shift = (pin * kind.gives() + evening.errors[e] + error) * per_pin();
        // The next end; what the arm does later is not this setting's fault.
        let sunk = Point::new(0.0, kind.sunk(e + 1)) * evening.spread_mm;
        worth.points(evening.centre + sunk - shift, evening.spread_mm) - best
    };
    told.iter().map(of).collect()
}
