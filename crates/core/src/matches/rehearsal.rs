//! Whole matches of a simulated archer against another, played under every rule with the same random numbers.
//!
//! The archer is that of [`crate::pace::rehearsal`]; the other's sight is right, and their arrows are drawn as an average arrow says. Every
//! arrow lands somewhere and scores what it scores: what counts is who wins. The archers shoot in turn, the sight is looked at after each of
//! the archer's arrows. [`Rule::Goldward`], for which a touch costs nothing, makes the best move after every arrow: where touches are free, what
//! makes the next arrow score more makes winning likelier, and there is nothing to wait for. [`Rule::GoldwardCalm`] decides by the chance to
//! win, with what a touch costs.

use super::{Arrow, Duel, Format, LEAST_GAIN, Opponent, Side, Standing, Verdict, plan};
use crate::advice::{MID_END_SHARE, Outlook, ShotAhead, quick_move};
use crate::face::Face;
use crate::group::{Filter, KAPPA};
use crate::pace::rehearsal::{Luck, Player, Rehearsal, Rule, Scene};
use crate::plane::Point;
use crate::random::Random;
use crate::score::{Rings, Scorer};
use crate::units::Shaft;

/// What is played: an archer, a match, another archer.
#[derive(Debug, Clone)]
pub struct MatchScene {
    /// The archer; ends and arrows an end are those of the format.
    pub archer: Scene,
    /// How the match is counted.
    pub format: Format,
    /// The other's arrows.
    pub opponent: Arrow,
}

/// Matches won under each rule. Add those of several ranges to get the whole.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wins {
    /// The rules.
    pub rules: Vec<Rule>,
    /// Matches played.
    pub matches: u64,
    won: Vec<u64>,
    /// Matches won under both of two rules.
    both: Vec<Vec<u64>>,
    touches: Vec<u64>,
}

impl Wins {
    fn new(rules: &[Rule]) -> Self {
        let k = rules.len();
        Self { rules: rules.to_vec(), matches: 0, won: vec![0; k], both: vec![vec![0; k]; k], touches: vec![0; k] }
    }

    /// Adds the matches of `other`, played under the same rules.
    pub fn add(&mut self, other: &Self) {
        self.matches += other.matches;
        for k in 0..self.rules.len() {
            self.won[k] += other.won[k];
            self.touches[k] += other.touches[k];
            for l in 0..self.rules.len() {
                self.both[k][l] += other.both[k][l];
            }
        }
    }

    /// Share of the matches won under rule `k`, and its standard error.
    #[must_use]
    pub fn share(&self, k: usize) -> (f64, f64) {
        let n = self.matches.max(1) as f64;
        let p = self.won[k] as f64 / n;
        (p, (p * (1.0 - p) / n).sqrt())
    }

    /// By how much rule `k` wins a larger share than rule `l` in the same matches, and its standard error.
    #[must_use]
    pub fn ahead(&self, k: usize, l: usize) -> (f64, f64) {
        let n = self.matches.max(1) as f64;
        let (a, b, both) = (self.won[k] as f64, self.won[l] as f64, self.both[k][l] as f64);
        let mean = (a - b) / n;
        (mean, (((a + b - 2.0 * both) / n - mean * mean).max(0.0) / n).sqrt())
    }

    /// Touches a match under rule `k`.
    #[must_use]
    pub fn touches(&self, k: usize) -> f64 {
        self.touches[k] as f64 / self.matches.max(1) as f64
    }
}

/// Matches of one scene.
#[derive(Debug)]
pub struct Matches<'a> {
    scene: MatchScene,
    scorer: &'a Scorer,
    rings: &'a Rings,
    shaft: Shaft,
    seed: u64,
}

/// Arrows each that may decide a match that is level before a coin does: more never happens.
const SHOOT_OFFS: usize = 4;

impl<'a> Matches<'a> {
    /// Matches of `scene` on the face of `rings`, drawn from `seed`; `scorer` must be that of the same face and shaft.
    #[must_use]
    pub fn new(mut scene: MatchScene, scorer: &'a Scorer, rings: &'a Rings, shaft: Shaft, seed: u64) -> Self {
        let format = scene.format;
        scene.archer.shots_per_end = format.shots_per_end as usize;
        // Ends more for the arrows of a shoot-off.
        scene.archer.ends = format.ends as usize + SHOOT_OFFS.div_ceil(format.shots_per_end as usize);
        Self { scene, scorer, rings, shaft, seed }
    }

    /// Plays the matches numbered `matches` under each of `rules`.
    #[must_use]
    pub fn play(&self, rules: &[Rule], matches: std::ops::Range<u64>) -> Wins {
        let mut wins = Wins::new(rules);
        let rehearsal = Rehearsal::new(&self.scene.archer, self.scorer, self.seed);
        let ahead = self.scene.archer.ahead();
        for number in matches {
            let luck = Luck::draw(&self.scene.archer, self.seed, number);
            let theirs = self.theirs(number);
            let won: Vec<bool> = rules
                .iter()
                .enumerate()
                .map(|(k, rule)| {
                    let (won, touches) = self.one(&rehearsal, *rule, &luck, &theirs, &ahead);
                    wins.touches[k] += touches;
                    won
                })
                .collect();
            wins.matches += 1;
            for (k, a) in won.iter().enumerate().filter(|(_, a)| **a) {
                wins.won[k] += u64::from(*a);
                for (l, b) in won.iter().enumerate() {
                    wins.both[k][l] += u64::from(*b);
                }
            }
        }
        wins
    }

    /// How far from the centre each arrow of the other lands, in millimetres.
    fn theirs(&self, number: u64) -> Vec<f64> {
        let mut random = Random::stream(self.seed ^ 0x0DDE, number);
        let shots = self.scene.archer.shots();
        (0..shots)
            .map(|_| {
                let mut u = random.uniform();
                let parts = &self.scene.opponent.parts;
                let part = parts.iter().find(|p| {
                    u -= p.share;
                    u < 0.0
                });
                let (x, y) = random.normal_pair();
                let sd = part.unwrap_or(&parts[0]).variance_mm2.sqrt();
                Point::new(x * sd, y * sd).radius_mm()
            })
            .collect()
    }

    fn value(&self, face: &Face, place: Point) -> u32 {
        u32::from(face.score(place, self.shaft).value)
    }

    /// Whether the match is won under `rule`, and how many touches that took.
    fn one(
        &self,
        rehearsal: &Rehearsal<'_>,
        rule: Rule,
        luck: &Luck,
        theirs: &[f64],
        ahead: &[ShotAhead],
    ) -> (bool, u64) {
        let (scene, format, face) = (&self.scene.archer, &self.scene.format, self.rings.face());
        let mut player = rehearsal.player(rule);
        let sighting = scene.sighting_ends as u32 * format.shots_per_end;
        let (mut off, mut touches, mut standing) = (luck.first, 0, Standing::default());
        for (i, other) in theirs.iter().enumerate() {
            let end = i / format.shots_per_end as usize;
            let here = if rule == Rule::Oracle { Point::default() } else { off };
            let wide = if luck.flyer[i] { KAPPA[1].sqrt() } else { 1.0 };
            let place = here + luck.end[end] + luck.noise[i] * wide;
            if i as u32 >= sighting {
                match standing.verdict(format) {
                    Verdict::Won => return (true, touches),
                    Verdict::Lost => return (false, touches),
                    Verdict::ShootOff => {
                        let (mine, out) = (place.radius_mm(), self.rings.outer_mm());
                        if mine.min(*other) <= out {
                            return (mine < *other, touches);
                        }
                    }
                    Verdict::Open => {
                        let add = |side: Side, value: u32| Side {
                            end_shots: side.end_shots + 1,
                            end_points: side.end_points + value,
                            ..side
                        };
                        standing.mine = add(standing.mine, self.value(face, place));
                        standing.theirs = add(standing.theirs, self.value(face, Point::new(*other, 0.0)));
                        standing = standing.settled(format);
                    }
                }
            }
            let shift = match &mut player {
                Player::Goldward { filter, cost } => {
                    filter.shot(place, rehearsal.odds());
                    self.goldward(rehearsal, filter, *cost, &standing)
                }
                player => rehearsal.decide(player, place, luck.flyer[i], &ahead[i + 1..]),
            };
            if let Some(shift) = shift {
                touches += 1;
                off = off - shift + if rule == Rule::PerfectLearner { Point::default() } else { luck.setting[i] };
            }
            if ahead[i].ends {
                off = off + luck.drift[end];
                rehearsal.end_of_end(&mut player);
            }
        }
        // Every arrow of every shoot-off missed the face.
        (standing.mine.points > standing.theirs.points, touches)
    }

    /// The shift that Goldward makes, if any.
    fn goldward(&self, rehearsal: &Rehearsal<'_>, filter: &mut Filter, cost: f64, now: &Standing) -> Option<Point> {
        let (scene, format) = (&self.scene.archer, self.scene.format);
        let (odds, setting_variance) = (rehearsal.odds(), scene.setting_mm.powi(2));
        let (clicks, gain) = quick_move(self.scorer, &filter.next(), odds, scene.click_mm, setting_variance);
        if clicks == [0, 0] {
            return None;
        }
        if cost > 0.0 {
            // Far below what could be worth it in any standing.
            if gain * f64::from(format.ends * format.shots_per_end) < 0.5 * cost {
                return None;
            }
            let s = filter.summary();
            let o = Outlook {
                off_mm: s.centre.radius_mm(),
                centre_variance: 0.5 * (s.centre_variance[0] + s.centre_variance[1]),
                spread_variance: s.spread_variance,
                end_variance: s.spread_variance * 0.5 * scene.told.end.variances().iter().sum::<f64>(),
                information: odds.information(),
                setting_variance,
                drift_variance: scene.drift_mm.powi(2),
                ahead: &[],
                touch_cost: cost,
            };
            let opponent = Opponent::averaging(self.scene.opponent.points.mean());
            let plan = plan(self.rings, &o, odds, &Duel { format, standing: *now, opponent }).ok()?;
            let left = format.shots_per_end - now.mine.end_shots;
            let at_end = plan.wait.iter().find(|(k, _)| *k == left).map_or(plan.never, |w| w.1);
            let clearly = now.mine.end_shots == 0 || plan.now - at_end > MID_END_SHARE * plan.cost;
            if !(clearly && plan.now > plan.best_later().1 && plan.now > plan.never + LEAST_GAIN) {
                return None;
            }
        }
        let shift = Point::new(f64::from(clicks[0]) * scene.click_mm[0], f64::from(clicks[1]) * scene.click_mm[1]);
        filter.touch(shift, setting_variance);
        Some(shift)
    }
}
