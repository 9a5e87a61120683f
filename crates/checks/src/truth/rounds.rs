//! Whole rounds of twelve ends of six: Goldward followed arrow by arrow against the fixed rule "correct by one part in
//! k + trust of what the k-th arrow is off", on the same arrows.

use goldward_core::advice::Action;
use goldward_core::pace::Event;
use goldward_core::plane::Point;
use goldward_core::random::Random;
use goldward_core::score::{Scorer, Spot};

use super::trial::{Arrow, Source};
use super::{END, Mean, World, crowd, told};

/// Points of one round less those of a sight that is always right.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Round {
    /// Lost by who touches when told to.
    pub goldward: f64,
    /// Lost by the fixed rule.
    pub fixed: f64,
    /// Touches of Goldward.
    pub touches: u32,
}

/// Many rounds.
#[derive(Debug, Clone)]
pub struct Rounds {
    /// Each of them.
    pub rounds: Vec<Round>,
}

impl Rounds {
    /// Points that Goldward makes more than the fixed rule, paired.
    #[must_use]
    pub fn ahead(&self) -> Mean {
        Mean::of(self.rounds.iter().map(|r| r.fixed - r.goldward))
    }

    /// Points lost by Goldward.
    #[must_use]
    pub fn lost(&self) -> Mean {
        Mean::of(self.rounds.iter().map(|r| r.goldward))
    }

    /// Touches a round.
    #[must_use]
    pub fn touches(&self) -> Mean {
        Mean::of(self.rounds.iter().map(|r| f64::from(r.touches)))
    }
}

/// How Goldward is followed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Way {
    /// As in the rehearsal: the best move after every arrow.
    Rehearsed,
    /// Arrow by arrow, touching when told to, when a touch costs so many points.
    Followed(f64),
}

/// Ends of a round.
const ENDS: usize = 12;

/// Everything random about one round.
struct Luck {
    first: Point,
    arrows: Vec<(Arrow, usize, Point)>,
}

impl Luck {
    fn draw(world: &World, number: u64) -> Self {
        let mut random = Random::stream(0x12E6, number);
        let (x, y) = random.normal_pair();
        let k = 1.0 / world.trust.sqrt();
        let first = Point::new(x * k * world.spread_mm[0], y * k * world.spread_mm[1]);
        let mut source = Source::new(world, 0, &mut random);
        Self { first, arrows: (0..ENDS * END).map(|_| source.arrow(&mut random)).collect() }
    }

    /// Points lost and touches made when `decide` says after each arrow, told its number and place, how far to shift.
    fn play(&self, scorer: &Scorer, mut decide: impl FnMut(usize, Point) -> Option<Point>) -> (f64, u32) {
        let (mut lost, mut touches, mut off) = (0.0, 0, self.first);
        for (i, (arrow, _, at)) in self.arrows.iter().enumerate() {
            let spot = Spot::new(arrow.cov);
            lost += scorer.expected(arrow.mean, &spot) - scorer.expected(arrow.mean + off, &spot);
            if let Some(shift) = decide(i, off + *at) {
                touches += 1;
                off = off - shift;
            }
        }
        (lost, touches)
    }
}

/// Plays `sims` rounds of `world`; Goldward is told what the archer tells.
///
/// # Panics
/// When an arrow is refused.
#[must_use]
pub fn play(world: &World, sims: usize, way: Way, scorer: &Scorer) -> Rounds {
    let rounds = crowd(sims, |number| {
        let luck = Luck::draw(world, number);
        let (fixed, _) =
            luck.play(scorer, |i, at| Some(told::in_clicks(at * (1.0 / (i as f64 + 1.0 + world.told.trust)))));
        let (goldward, touches) = match way {
            Way::Rehearsed => {
                let mut rehearsed = told::Rehearsed::new(&world.told);
                luck.play(scorer, |i, at| rehearsed.shift(at, (i + 1) % END == 0, scorer))
            }
            Way::Followed(touch_cost) => {
                let mut pace = told::pace(&world.told, ENDS, touch_cost, 0.0);
                luck.play(scorer, |i, at| {
                    pace.take(Event::Shot(told::shot(at, i / END, world.calls))).expect("a shot that can be read");
                    if (i + 1) % END == 0 {
                        pace.take(Event::EndOfEnd).expect("an end");
                    }
                    let answer = pace.answer().expect("an answer");
                    (answer.advice.action == Action::Move).then(|| {
                        pace.take(Event::Touch(answer.advice.pin_mm)).expect("a touch");
                        answer.advice.shift_mm
                    })
                })
            }
        };
        Round { goldward, fixed, touches }
    });
    Rounds { rounds }
}
