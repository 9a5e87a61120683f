//! Archers with and without habits, none of them drawn from the model that learns them: what an archer gains whose habits are learnt,
//! against one who is read with the values that all have in common and one whose habits are known from the start.
//!
//! Every archer shoots ten evenings; what they tell is told to the later ones. Everything goes through the public API of the core.

use goldward_core::advice::quick_move;
use goldward_core::group::spread::{Landed, Spot, estimate};
use goldward_core::group::{ClassOdds, EndEffect, EndsSeen, Prior, Reading, learn_ends, read};
use goldward_core::habits::{Habits, SeenShot, SessionSeen, learn};
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
}

/// All ten.
pub const KINDS: [Kind; 10] = [
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
            How::Usual if u < 0.01 => (own * 10.0, true),
            How::Usual if u < 0.09 => (own * 3.0, true),
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

    /// How far the arm has sunk at end `e`.
    fn sunk(self, e: usize) -> f64 {
        if self.how == How::Tired { -1.5 * e as f64 / (ENDS as f64 - 1.0) } else { 0.0 }
    }

    /// One evening: where the sight was off (in spreads), the day's spread, and the shots end by end.
    #[must_use]
    pub fn evening(self, trust: f64, random: &mut Random) -> Evening {
        let spread_mm = SPREAD_MM * (0.12 * random.normal()).exp();
        let (u, v) = random.normal_pair();
        let centre = Point::new(u, v) * (spread_mm / trust.sqrt());
        let mut shots = Vec::with_capacity(ENDS * END);
        for e in 0..ENDS {
            let (a, b) = random.normal_pair();
            let [windage, elevation] = self.wind();
            let end = Point::new(windage * a, elevation * b + self.sunk(e));
            for _ in 0..END {
                let (at, bad) = self.arrow(random);
                let place = centre + (end + at) * spread_mm;
                let felt = self.felt(bad, random);
                shots.push(Shot::at(place.x_mm, place.y_mm).in_end(e as u32).felt(felt));
            }
        }
        Evening { centre, spread_mm, shots }
    }
}

/// One evening.
#[derive(Debug, Clone)]
pub struct Evening {
    /// Where clean shots go on average at first.
    pub centre: Point,
    /// The day's spread.
    pub spread_mm: f64,
    /// The shots.
    pub shots: Vec<Shot>,
}

/// What is told of an archer before an evening.
#[derive(Debug, Clone, Copy)]
pub struct Told {
    /// Spread and its worth, what ends share.
    pub prior: Prior,
    /// Class odds.
    pub odds: ClassOdds,
    /// The habits, where they were learnt.
    pub habits: Option<Habits>,
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
    let mut ends = Vec::new();
    for (i, evening) in evenings.iter().enumerate() {
        let days = DAYS * (evenings.len() - i) as f64;
        let shot = |s: &Shot| SeenShot {
            landed: Landed { place: Spot::At(place(s)), carry: Point::default() },
            felt: s.felt,
            stretch: s.end,
        };
        let shots: Vec<SeenShot> = evening.shots.iter().map(shot).collect();
        let landed: Vec<Landed> = shots.iter().map(|s| s.landed).collect();
        let found = estimate(&landed).expect("a spread");
        let weight = found.shots as f64 * 0.5_f64.powf(days / 60.0);
        weights += weight;
        squares += weight * found.spread_mm * found.spread_mm;
        seen.push((SessionSeen::of(&shots).expect("a session"), 0.5_f64.powf(days / 180.0)));
        let of_end = |e: usize| evening.shots.iter().filter(|s| s.end == e as u32).map(place).collect();
        ends.push((EndsSeen::of(&(0..ENDS).map(of_end).collect::<Vec<_>>()).expect("ends"), 0.5_f64.powf(days / 60.0)));
    }
    let usual = EndEffect::usual(distance());
    let end = learn_ends(&ends.iter().map(|(e, w)| (e, *w, 0.0)).collect::<Vec<_>>(), usual);
    let habits = learn(&seen.iter().map(|(s, w)| (s, *w, usual)).collect::<Vec<_>>());
    let spread_mm = (squares / weights).sqrt();
    let prior = |spread_mm: f64| {
        let spread = Spread::from_mrad(spread_mm / distance().metres()).expect("a spread");
        Prior::new(spread, distance(), weights.min(60.0), trust).and_then(|p| p.with_end_effect(end)).expect("a prior")
    };
    let own = habits.spread_ratio * spread_mm;
    [
        Told { prior: prior(spread_mm), odds: ClassOdds::default(), habits: None },
        Told { prior: prior(own), odds: habits.class_odds(own).expect("odds"), habits: Some(habits) },
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
    let prior = Prior::new(spread, distance(), usual.prior.worth(), trust)
        .and_then(|p| p.with_end_effect(usual.prior.end_effect()))
        .expect("a prior");
    let odds = known.habits.and_then(|h| h.class_odds(prior.spread_mm()).ok()).unwrap_or_default();
    [usual, learnt, Told { prior, odds, habits: known.habits }]
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

fn reading(told: &Told, shots: &[Shot]) -> Reading {
    read(shots, &told.prior, told.odds, face(), Shaft::default()).expect("shots that can be read")
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
        let (before, rest) = evening.shots.split_at(e * END);
        for (sum, told) in sums.iter_mut().zip(told) {
            let next = reading(told, before).next;
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
    let sight = Sight::default();
    let best = worth.points(Point::default(), evening.spread_mm);
    let of = |told: &Told| {
        let next = reading(told, &evening.shots[..n]).next.collapsed(64, 0.04);
        let (clicks, _) = quick_move(scorer, &next, told.odds, sight.click_on_face_mm(distance()), 0.0);
        let shift = sight.shift_mm(sight.pin_mm(clicks), distance());
        // What the arm does later is not this setting's fault.
        let sunk = Point::new(0.0, kind.sunk((n - 1) / END)) * evening.spread_mm;
        worth.points(evening.centre + sunk - shift, evening.spread_mm) - best
    };
    told.iter().map(of).collect()
}
