//! Whole rounds of twelve ends of six: Goldward followed arrow by arrow against the fixed rule "correct by one part in
//! k + trust of what the k-th arrow is off", on the same arrows.

use goldward_core::advice::Action;
use goldward_core::pace::Event;
use goldward_core::plane::Point;
use goldward_core::random::Random;
use goldward_core::score::{Scorer, Spot};
use goldward_core::shot::{Place, Shot};

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

/// Plays `sims` rounds of `world`; Goldward is told what the archer tells, and that a touch costs `touch_cost` points.
///
/// # Panics
/// When an arrow is refused.
#[must_use]
pub fn play(world: &World, sims: usize, touch_cost: f64, scorer: &Scorer) -> Rounds {
    let ends = 12;
    let rounds = crowd(sims, |number| {
        let mut random = Random::stream(0x12E6, number);
        let (x, y) = random.normal_pair();
        let k = 1.0 / world.trust.sqrt();
        let first = Point::new(x * k * world.spread_mm[0], y * k * world.spread_mm[1]);
        let mut source = Source::new(world, 0, &mut random);
        let arrows: Vec<_> = (0..ends * END).map(|_| source.arrow(&mut random)).collect();
        let lost = |arrow: &Arrow, off: Point| {
            let spot = Spot::new(arrow.cov);
            scorer.expected(arrow.mean, &spot) - scorer.expected(arrow.mean + off, &spot)
        };
        let (mut fixed, mut off) = (0.0, first);
        for (i, (arrow, _, at)) in arrows.iter().enumerate() {
            fixed += lost(arrow, off);
            let shift = (off + *at) * (1.0 / (i as f64 + 1.0 + world.told.trust));
            off = off - told::in_clicks(shift);
        }
        let (mut goldward, mut off, mut touches) = (0.0, first, 0);
        let mut pace = told::pace(&world.told, ends, touch_cost, 0.0);
        for (i, (arrow, _, at)) in arrows.iter().enumerate() {
            goldward += lost(arrow, off);
            let shot: Shot = told::shot(off + *at, i / END, world.calls);
            debug_assert!(matches!(shot.place, Place::At(_) | Place::Called(_)));
            pace.take(Event::Shot(shot)).expect("a shot that can be read");
            if (i + 1) % END == 0 {
                pace.take(Event::EndOfEnd).expect("an end");
            }
            if i + 1 == arrows.len() {
                break;
            }
            let answer = pace.answer().expect("an answer");
            if answer.advice.action == Action::Move {
                touches += 1;
                off = off - answer.advice.shift_mm;
                pace.take(Event::Touch(answer.advice.pin_mm)).expect("a touch");
            }
        }
        Round { goldward, fixed, touches }
    });
    Rounds { rounds }
}
