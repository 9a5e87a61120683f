//! A round of several distances: is what was learnt of windage at one distance worth carrying to the next?
//!
//! The pin's windage is the same at every distance, its elevation is not: each distance has its own mark. So the windage
//! that is wrong at one distance is wrong in proportion at the next, and what was learnt of it there still holds, while the
//! error of the next mark is new. Rounds are played as in [`super::rehearsal`], with the same random numbers for each
//! [`Memory`].

use crate::advice::{Outlook, ShotAhead, plan, quick_move};
use crate::group::{ClassOdds, Filter, KAPPA, Prior};
use crate::plane::Point;
use crate::random::Random;
use crate::score::Scorer;
use crate::sight::Sight;
use crate::units::Distance;

/// What the archer remembers at the next distance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Memory {
    /// Never touches the sight but to set the mark.
    Never,
    /// Goldward, starting anew at each distance.
    Anew,
    /// Goldward, carrying what was learnt of windage and of the spread.
    Windage,
}

impl Memory {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Never, Self::Anew, Self::Windage];

    /// A short name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Never => "never",
            Self::Anew => "start-anew",
            Self::Windage => "carry-windage",
        }
    }
}

/// One distance of the round.
#[derive(Debug, Clone, Copy)]
pub struct Stage<'a> {
    /// How far.
    pub distance: Distance,
    /// The face and shaft there.
    pub scorer: &'a Scorer,
    /// Ends.
    pub ends: usize,
    /// Shots an end.
    pub shots_per_end: usize,
}

/// The simulated archer and round.
#[derive(Debug, Clone)]
pub struct Course<'a> {
    /// The distances in the order in which they are shot.
    pub stages: Vec<Stage<'a>>,
    /// Spread of a clean shot, one standard deviation an axis, in milliradians.
    pub spread_mrad: f64,
    /// Trust of the windage at first, and of the mark of each distance: their errors have the variance of the spread over
    /// this.
    pub trust: f64,
    /// Share of shots that are flyers at three times the spread.
    pub flyers: f64,
    /// Drift between ends, one standard deviation an axis, in milliradians.
    pub drift_mrad: f64,
    /// The sight: its clicks and the error of a touch.
    pub sight: Sight,
    /// What a touch has to gain, in points.
    pub touch_cost: f64,
    /// What Goldward takes the spread to be worth, in arrows.
    pub worth: f64,
    /// Probability, as Goldward believes it, that the process jumps just before a shot.
    pub jump: f64,
}

/// What one memory came to.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Which.
    pub memory: Memory,
    /// Mean points a round.
    pub points: f64,
    /// Mean points given away at each distance against a sight that is always exact.
    pub given_away: Vec<f64>,
    /// Touches a round.
    pub touches: f64,
}

/// Everything random about one distance.
struct Luck {
    first: Point,
    noise: Vec<Point>,
    flyer: Vec<bool>,
    drift: Vec<Point>,
    setting: Vec<Point>,
}

/// The archer at one distance.
struct Line<'c, 'a> {
    course: &'c Course<'a>,
    stage: Stage<'a>,
    spread_mm: f64,
    drift_mm: f64,
    setting_mm: f64,
    click_mm: [f64; 2],
    odds: ClassOdds,
}

impl<'a> Course<'a> {
    /// Expected points with a sight that is always exact.
    #[must_use]
    pub fn oracle_points(&self) -> f64 {
        let lines = self.stages.iter().map(|stage| Line::new(self, *stage));
        lines.map(|line| line.value(Point::default()) * (line.stage.ends * line.stage.shots_per_end) as f64).sum()
    }

    /// Plays the rounds numbered `rounds`, drawn from `seed`, with each memory.
    #[must_use]
    pub fn play(&self, memories: &[Memory], seed: u64, rounds: std::ops::Range<u64>) -> Vec<Outcome> {
        let lines: Vec<Line<'_, 'a>> = self.stages.iter().map(|stage| Line::new(self, *stage)).collect();
        let n = rounds.end.saturating_sub(rounds.start).max(1) as f64;
        let mut out: Vec<Outcome> = memories
            .iter()
            .map(|memory| Outcome { memory: *memory, points: 0.0, given_away: vec![0.0; lines.len()], touches: 0.0 })
            .collect();
        for round in rounds {
            let mut random = Random::stream(seed, round);
            let luck: Vec<Luck> = lines.iter().map(|line| line.draw(&mut random)).collect();
            for outcome in &mut out {
                self.one(&lines, &luck, n, outcome);
            }
        }
        out
    }

    /// One round, added to `outcome` in parts of `n`.
    fn one(&self, lines: &[Line<'_, 'a>], luck: &[Luck], n: f64, outcome: &mut Outcome) {
        let mut off = Point::default();
        let mut filter: Option<Filter> = None;
        for (k, (line, luck)) in lines.iter().zip(luck).enumerate() {
            if k == 0 {
                off = luck.first;
            } else {
                // The windage that was wrong is wrong in proportion; the mark is another one.
                let ratio = line.stage.distance.metres() / lines[k - 1].stage.distance.metres();
                off = Point::new(off.x_mm * ratio, luck.first.y_mm);
                filter = match (outcome.memory, filter) {
                    (Memory::Windage, Some(filter)) => Some(filter.at_next_distance(ratio, self.trust)),
                    _ => None,
                };
            }
            let mut knowledge = match outcome.memory {
                Memory::Never => None,
                _ => Some(filter.take().unwrap_or_else(|| line.stranger())),
            };
            let ahead = line.ahead();
            let exact = line.value(Point::default());
            let mut end = 0;
            // On arrival a touch may pay already, by what came along.
            let mut touch = |knowledge: &mut Option<Filter>, off: &mut Point, shots: usize| {
                let shift = knowledge.as_mut().and_then(|filter| line.decide(filter, &ahead[shots..]));
                if let Some(shift) = shift {
                    *off = *off - shift + luck.setting[shots];
                    outcome.touches += 1.0 / n;
                }
            };
            touch(&mut knowledge, &mut off, 0);
            for (i, shot) in ahead.iter().enumerate() {
                let value = line.value(off);
                outcome.points += value / n;
                outcome.given_away[k] += (exact - value) / n;
                let wide = if luck.flyer[i] { KAPPA[1].sqrt() } else { 1.0 };
                if let Some(filter) = &mut knowledge {
                    filter.shot(off + luck.noise[i] * wide, line.odds);
                }
                touch(&mut knowledge, &mut off, i + 1);
                if shot.ends {
                    off = off + luck.drift[end];
                    end += 1;
                    if let Some(filter) = &mut knowledge {
                        filter.end_of_end(line.drift_mm.powi(2));
                    }
                }
            }
            filter = knowledge;
        }
    }
}

impl<'c, 'a> Line<'c, 'a> {
    fn new(course: &'c Course<'a>, stage: Stage<'a>) -> Self {
        let metres = stage.distance.metres();
        let flyers = course.flyers.clamp(0.001, 0.5);
        Self {
            course,
            stage,
            spread_mm: course.spread_mrad * metres,
            drift_mm: course.drift_mrad * metres,
            setting_mm: course.sight.setting_variance_on_face(stage.distance).sqrt(),
            click_mm: course.sight.click_on_face_mm(stage.distance),
            odds: ClassOdds::new([1.0 - flyers - 0.001, flyers, 0.001]).unwrap_or_default(),
        }
    }

    fn draw(&self, random: &mut Random) -> Luck {
        let shots = self.stage.ends * self.stage.shots_per_end;
        let mut point = |k: f64| {
            let (x, y) = random.normal_pair();
            Point::new(x * k, y * k)
        };
        let first = point(self.spread_mm / self.course.trust.sqrt());
        let noise = (0..shots).map(|_| point(self.spread_mm)).collect();
        let drift = (0..self.stage.ends).map(|_| point(self.drift_mm)).collect();
        let setting = (0..=shots).map(|_| point(self.setting_mm)).collect();
        let flyer = (0..shots).map(|_| random.uniform() < self.course.flyers).collect();
        Luck { first, noise, flyer, drift, setting }
    }

    fn ahead(&self) -> Vec<ShotAhead> {
        let shots_per_end = self.stage.shots_per_end;
        (0..self.stage.ends * shots_per_end)
            .map(|i| ShotAhead { counts: true, ends: (i + 1) % shots_per_end == 0 })
            .collect()
    }

    /// Expected score of a shot with the sight off by `off`.
    fn value(&self, off: Point) -> f64 {
        let d = off.radius_mm();
        (1.0 - self.course.flyers) * self.stage.scorer.isotropic(d, self.spread_mm)
            + self.course.flyers * self.stage.scorer.isotropic(d, self.spread_mm * KAPPA[1].sqrt())
    }

    /// What Goldward knows without a memory.
    fn stranger(&self) -> Filter {
        let c = self.course;
        let prior = Prior::on_face(self.spread_mm, c.worth, c.trust);
        Filter::new(&prior.unwrap_or_else(|e| unreachable!("a course that cannot be: {e}")), c.jump)
    }

    /// The shift to make before the shots `ahead`, if any.
    fn decide(&self, filter: &mut Filter, ahead: &[ShotAhead]) -> Option<Point> {
        if ahead.is_empty() {
            return None;
        }
        let setting_variance = self.setting_mm.powi(2);
        let (clicks, gain) = quick_move(self.stage.scorer, &filter.next(), self.odds, self.click_mm, setting_variance);
        let cost = self.course.touch_cost;
        if clicks == [0, 0] || gain * (ahead.len() as f64) < cost {
            return None;
        }
        if cost > 0.0 {
            let s = filter.summary();
            let outlook = Outlook {
                off_mm: s.centre.radius_mm(),
                centre_variance: 0.5 * (s.centre_variance[0] + s.centre_variance[1]),
                spread_variance: s.spread_variance,
                end_variance: 0.0,
                information: self.odds.information(),
                setting_variance,
                drift_variance: self.drift_mm.powi(2),
                ahead,
                touch_cost: cost,
            };
            if !plan(self.stage.scorer, &outlook).is_now(cost, ahead.len() % self.stage.shots_per_end) {
                return None;
            }
        }
        let shift = Point::new(f64::from(clicks[0]) * self.click_mm[0], f64::from(clicks[1]) * self.click_mm[1]);
        filter.touch(shift, setting_variance);
        Some(shift)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::face::Face;
    use crate::units::Shaft;

    fn scorers() -> [Scorer; 2] {
        ["122", "80"].map(|face| Scorer::new(Face::named(face).unwrap(), Shaft::default()))
    }

    fn course<'a>(scorers: &'a [Scorer; 2], metres: &[f64]) -> Course<'a> {
        let stages = metres
            .iter()
            .map(|m| Stage {
                distance: Distance::from_metres(*m).unwrap(),
                scorer: &scorers[usize::from(*m < 60.0)],
                ends: 2,
                shots_per_end: 6,
            })
            .collect();
        Course {
            stages,
            spread_mrad: 1.5,
            trust: 0.5,
            flyers: 0.03,
            drift_mrad: 0.1,
            sight: Sight::default(),
            touch_cost: 0.0,
            worth: 4.0,
            jump: 0.0,
        }
    }

    #[test]
    fn windage_is_worth_carrying() {
        let scorers = scorers();
        let course = course(&scorers, &[90.0, 70.0, 50.0, 30.0]);
        let got = course.play(&Memory::ALL, 1, 0..200);
        let [never, anew, windage] = [0, 1, 2].map(|k| got[k].points);
        assert!(windage > anew + 1.0 && anew > never + 5.0, "{never} {anew} {windage}");
        assert!(course.oracle_points() > windage);
        for outcome in &got {
            let given_away: f64 = outcome.given_away.iter().sum();
            assert!((course.oracle_points() - outcome.points - given_away).abs() < 1e-6);
        }
    }

    #[test]
    fn at_the_first_distance_nothing_came_along() {
        let scorers = scorers();
        let got = course(&scorers, &[70.0]).play(&[Memory::Anew, Memory::Windage], 3, 0..20);
        assert!((got[0].points - got[1].points).abs() < 1e-9);
    }

    #[test]
    fn rounds_are_numbered() {
        let scorers = scorers();
        let course = course(&scorers, &[70.0, 50.0]);
        let whole = course.play(&[Memory::Windage], 3, 0..20)[0].points;
        let halves: Vec<f64> = [0..10, 10..20].map(|r| course.play(&[Memory::Windage], 3, r)[0].points).to_vec();
        assert!((whole - 0.5 * (halves[0] + halves[1])).abs() < 1e-9);
    }
}
