//! What a reading of a string leaves for the reading of the same string with one shot more.

use super::Effort;
use super::search::{Found, Search};
use crate::group::prior::{Base, Prior};
use crate::group::{Before, ClassOdds, Pattern, Points};
use crate::plane::Point;
use crate::shot::Felt;

/// Searches of an earlier reading, to be carried on instead of being begun anew. The answers are the same to the last digit, whatever
/// was read before.
#[derive(Debug, Default)]
pub struct Memory {
    told: Option<Told>,
    searches: Vec<Search>,
}

/// What the searches were told.
#[derive(Debug)]
struct Told {
    prior: Prior,
    unmarked: ClassOdds,
    end: [f64; 2],
    shots: Vec<(Point, Felt, Before)>,
}

impl Memory {
    /// Forgets what does not hold for `points`.
    pub(super) fn turn_to(&mut self, points: &Points<'_>) {
        let shots = || points.places.iter().zip(points.felt).zip(points.before).map(|((p, f), b)| (*p, *f, *b));
        // The places are as seen from the prior's centre, which so does not matter.
        let prior = points.prior.about(Point::default());
        let told = self.told.take().filter(|t| (t.prior, t.unmarked, t.end) == (prior, points.unmarked, points.end));
        let same = told.map_or(0, |t| t.shots.iter().zip(shots()).take_while(|(a, b)| **a == *b).count());
        if same == 0 {
            self.searches.clear();
        }
        self.searches.iter_mut().for_each(|s| s.back_to(same));
        let (unmarked, end) = (points.unmarked, points.end);
        self.told = Some(Told { prior, unmarked, end, shots: shots().collect() });
    }

    /// Forgets the searches of any other effort.
    pub(super) fn keep(&mut self, effort: Effort) {
        self.searches.retain(|s| s.effort == effort);
    }

    /// Searches for `pattern`, with `factor` times the nodes of the first pass.
    pub(super) fn search(
        &mut self,
        points: &Points<'_>,
        bases: &[Base],
        pattern: Pattern,
        effort: Effort,
        factor: usize,
    ) -> Found<'_> {
        let found = self.searches.iter().position(|s| s.is(pattern, effort, factor));
        let at = found.unwrap_or_else(|| {
            self.searches.push(Search::new(pattern, effort, factor));
            self.searches.len() - 1
        });
        self.searches[at].run(points, bases);
        self.searches[at].found()
    }

    /// The search for `pattern` that was carried to the end before.
    pub(super) fn found(&self, pattern: Pattern, effort: Effort, factor: usize) -> Option<Found<'_>> {
        self.searches.iter().find(|s| s.is(pattern, effort, factor)).map(Search::found)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::face::Face;
    use crate::group::{MOST_SHOTS, read, read_on};
    use crate::random::Random;
    use crate::shot::Shot;
    use crate::units::{Distance, Shaft, Spread};

    /// A touch moves the shots and the prior alike: nothing is searched again.
    #[test]
    fn a_touch_is_no_other_string() {
        let distance = Distance::from_metres(70.0).unwrap();
        let prior = Prior::new(Spread::from_mrad(1.5).unwrap(), distance, 4.0, 1.0).unwrap();
        let mut random = Random::seeded(5);
        let (mut told, mut memory) = (prior, Memory::default());
        let mut shots: Vec<Shot> = (0..30)
            .map(|_| {
                let (x, y) = random.normal_pair();
                Shot::at(105.0 * x, 105.0 * y)
            })
            .collect();
        for touches in 0..5 {
            let by = Point::new(40.0 * random.uniform(), -20.0 * random.uniform());
            told = told.about(told.centre() - by);
            shots.iter_mut().for_each(|s| s.carry = s.carry + by);
            let before = memory.told.as_ref().map_or_else(Vec::new, |t| t.shots.clone());
            read_on(&shots, &told, ClassOdds::default(), &Face::all()[0], Shaft::default(), &mut memory).unwrap();
            let now = &memory.told.as_ref().unwrap().shots;
            let same = before.iter().zip(now).take_while(|(a, b)| a == b).count();
            assert!(touches == 0 || same == shots.len(), "{same} shots of {}", shots.len());
        }
    }

    /// However one came to a string, by shots, by taking back, by marks and corrections, its reading is that of the string alone.
    #[test]
    fn what_was_read_before_changes_no_digit() {
        let distance = Distance::from_metres(70.0).unwrap();
        let prior = |trust| Prior::new(Spread::from_mrad(1.5).unwrap(), distance, 4.0, trust).unwrap();
        let (face, shaft, odds) = (Face::named("122").unwrap(), Shaft::default(), ClassOdds::default());
        for seed in 0..4 {
            let mut random = Random::seeded(seed);
            let (mut told, mut shots, mut memory) = (prior(1.0), Vec::<Shot>::new(), Memory::default());
            let mut apart = if seed % 2 == 0 { 0.0 } else { 300.0 };
            for step in 0..60 {
                let draw = |random: &mut Random| {
                    let (x, y) = random.normal_pair();
                    Shot::at(apart * random.uniform().round() + 105.0 * x, 105.0 * y)
                };
                match (random.uniform() * 12.0) as usize {
                    0 => shots.truncate(shots.len().saturating_sub(1)),
                    1 => shots.truncate(shots.len().saturating_sub((random.uniform() * 12.0) as usize)),
                    2 if !shots.is_empty() => {
                        let i = (random.uniform() * shots.len() as f64) as usize;
                        shots[i].felt = if random.uniform() < 0.5 { Felt::Bad } else { Felt::Unmarked };
                    }
                    3 if !shots.is_empty() => shots.last_mut().unwrap().place = draw(&mut random).place,
                    4 if step % 3 == 0 => told = prior(0.5 + random.uniform()),
                    5 => apart = 400.0 - apart,
                    _ => {
                        for _ in 0..3.min(MOST_SHOTS - shots.len()) {
                            let end = shots.len() as u32 / 6;
                            shots.push(Shot { end, ..draw(&mut random) });
                        }
                    }
                }
                if random.uniform() < 0.1 {
                    // A touch moves the shots and what was told.
                    let by = Point::new(37.3 * random.uniform(), -11.9);
                    told = told.about(told.centre() - by);
                    shots.iter_mut().for_each(|s| s.carry = s.carry + by);
                }
                let carried = read_on(&shots, &told, odds, face, shaft, &mut memory).unwrap();
                assert_eq!(carried, read(&shots, &told, odds, face, shaft).unwrap(), "seed {seed}, step {step}");
            }
        }
    }
}
