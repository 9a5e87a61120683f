//! Whole rounds of a simulated archer, played under every rule with the same random numbers.
//!
//! The archer's first setting is off by a normal error; each shot is normal about where the sight sends it, now and then a
//! flyer; the centre wanders between ends; a touch is made in whole clicks and is off by a setting error. A rule sees only
//! where the shots landed. A shot counts the score expected of where the sight truly was, so that rules differ by what
//! they do and not by luck.
//!
//! ```
//! use goldward_core::face::Face;
//! use goldward_core::pace::rehearsal::{Rehearsal, Rule, Scene};
//! use goldward_core::score::Scorer;
//! use goldward_core::units::Shaft;
//!
//! let scorer = Scorer::new(Face::named("122")?, Shaft::default());
//! // 72 arrows of an archer who spreads 147 mm, the first setting off by as much, eight flyers in a hundred.
//! let scene = Scene::ranking_round(147.0, 147.0, 0.08);
//! let rehearsal = Rehearsal::new(&scene, &scorer, 7);
//! let told = rehearsal.play(&[Rule::EveryArrow, Rule::Oracle], 0..4).outcomes(rehearsal.oracle_points());
//! assert!(told[0].points < told[1].points);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

use crate::advice::{Outlook, ShotAhead, plan, quick_move};
use crate::group::{ClassOdds, Doubt, EndEffect, Filter, KAPPA, Prior, WORTH_DEFAULT};
use crate::plane::Point;
use crate::random::Random;
use crate::score::Scorer;
use crate::stats::quadrature;

/// A way of deciding when and how far to touch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Rule {
    /// Never touch.
    Never,
    /// Correct fully after every arrow.
    EveryArrow,
    /// Correct fully by the mean of every three arrows.
    EveryThree,
    /// Correct fully by the mean of every six arrows.
    EverySix,
    /// Correct by the mean of the first three, then by the mean of every six.
    ThreeThenSix,
    /// Correct by the mean of the first three arrows, once.
    OnceAfterThree,
    /// Correct by the mean of the first six arrows, once.
    OnceAfterSix,
    /// Correct by the k-th part of what the k-th arrow is off (Grubbs 1954).
    Harmonic,
    /// Goldward, for which a touch costs nothing.
    Goldward,
    /// Goldward, for which a touch must gain what it costs.
    GoldwardCalm,
    /// Knows the spread and which arrows were flyers, and touches after every arrow without error: nobody who learns from
    /// arrows does better.
    PerfectLearner,
    /// Always knows where the centre is.
    Oracle,
}

impl Rule {
    /// All rules, the fixed ones first.
    pub const ALL: [Self; 12] = [
        Self::Never,
        Self::EveryArrow,
        Self::EveryThree,
        Self::EverySix,
        Self::ThreeThenSix,
        Self::OnceAfterThree,
        Self::OnceAfterSix,
        Self::Harmonic,
        Self::Goldward,
        Self::GoldwardCalm,
        Self::PerfectLearner,
        Self::Oracle,
    ];

    /// A short name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Never => "never",
            Self::EveryArrow => "every-arrow",
            Self::EveryThree => "every-three",
            Self::EverySix => "every-six",
            Self::ThreeThenSix => "three-then-six",
            Self::OnceAfterThree => "once-after-three",
            Self::OnceAfterSix => "once-after-six",
            Self::Harmonic => "harmonic",
            Self::Goldward => "goldward",
            Self::GoldwardCalm => "goldward-calm",
            Self::PerfectLearner => "perfect-learner",
            Self::Oracle => "oracle",
        }
    }

    /// The rule called `name`.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|r| r.name() == name)
    }

    /// Whether it is a rule of thumb that needs no computer.
    #[must_use]
    pub fn is_fixed(self) -> bool {
        !matches!(self, Self::Goldward | Self::GoldwardCalm | Self::PerfectLearner | Self::Oracle)
    }
}

/// The simulated archer and round.
#[derive(Debug, Clone, PartialEq)]
pub struct Scene {
    /// Spread of a clean shot, one standard deviation an axis, in millimetres on the face.
    pub spread_mm: f64,
    /// Error of the first setting, one standard deviation an axis, in millimetres on the face.
    pub first_offset_mm: f64,
    /// Share of shots that are flyers at three times the spread.
    pub flyers: f64,
    /// Drift between ends, one standard deviation an axis, in millimetres on the face.
    pub drift_mm: f64,
    /// Error of a touch, one standard deviation an axis, in millimetres on the face.
    pub setting_mm: f64,
    /// One click on the face, in millimetres.
    pub click_mm: [f64; 2],
    /// Sighting ends, which do not count.
    pub sighting_ends: usize,
    /// Ends that count.
    pub ends: usize,
    /// Shots an end.
    pub shots_per_end: usize,
    /// Cost of a touch for the calm rule, in points.
    pub touch_cost: f64,
    /// What Goldward takes the spread to be worth, in arrows.
    pub worth: f64,
    /// Probability, as Goldward believes it, that the process jumps just before a shot. The simulated archer never jumps.
    pub jump: f64,
    /// The offset that the simulated archer's shots of an end share.
    pub end: EndEffect,
    /// What Goldward is told: as much as an archer would tell it, not the truth.
    pub told: Told,
}

/// What the archer tells Goldward before the round.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Told {
    /// Trust of the first setting.
    pub trust: f64,
    /// Spread, in millimetres on the face.
    pub spread_mm: f64,
    /// Share of flyers.
    pub flyers: f64,
    /// What the shots of an end share.
    pub end: EndEffect,
    /// How far all that may be wrong.
    pub doubt: Doubt,
}

impl Scene {
    /// A 72-arrow round of an archer of `spread_mm` whose first setting is off by `first_offset_mm`.
    #[must_use]
    pub fn ranking_round(spread_mm: f64, first_offset_mm: f64, flyers: f64) -> Self {
        Self {
            spread_mm,
            first_offset_mm,
            flyers,
            drift_mm: 0.0,
            setting_mm: 0.0,
            click_mm: [1.0; 2],
            sighting_ends: 0,
            ends: 12,
            shots_per_end: 6,
            touch_cost: crate::advice::TOUCH_COST_DEFAULT,
            worth: WORTH_DEFAULT,
            jump: 0.0,
            end: EndEffect::NONE,
            told: Told {
                trust: trust_of(spread_mm, first_offset_mm),
                spread_mm,
                flyers,
                end: EndEffect::NONE,
                doubt: Doubt::default(),
            },
        }
    }

    /// All shots of the round, sighting shots included.
    #[must_use]
    pub fn shots(&self) -> usize {
        (self.sighting_ends + self.ends) * self.shots_per_end
    }

    pub(crate) fn ahead(&self) -> Vec<ShotAhead> {
        (0..self.shots())
            .map(|i| ShotAhead {
                counts: i >= self.sighting_ends * self.shots_per_end,
                ends: (i + 1) % self.shots_per_end == 0,
            })
            .collect()
    }
}

/// Trust of a setting that is off by `first_offset_mm`, one standard deviation, for an archer of `spread_mm`.
#[must_use]
pub fn trust_of(spread_mm: f64, first_offset_mm: f64) -> f64 {
    (spread_mm / first_offset_mm.max(1e-3)).powi(2).clamp(1e-4, 1e4)
}

/// Sums over rounds; add those of several ranges to get the whole.
#[derive(Debug, Clone, PartialEq)]
pub struct Tally {
    /// The rules, in the order of the other lists.
    pub rules: Vec<Rule>,
    /// Rounds played.
    pub rounds: usize,
    points: Vec<f64>,
    points2: Vec<f64>,
    given_away2: Vec<f64>,
    worse: Vec<usize>,
    touches: Vec<f64>,
    /// For each rule and shot the sum of the points lost to the sight.
    lost_at: Vec<Vec<f64>>,
    /// For each rule and shot the sum of the squared offset, averaged over the axes.
    offset2_at: Vec<Vec<f64>>,
    /// For each rule how often the first touch came after so many shots; the last entry is never.
    first_touch: Vec<Vec<usize>>,
}

/// What a rule came to.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// The rule.
    pub rule: Rule,
    /// Mean points a round.
    pub points: f64,
    /// Its standard error.
    pub points_se: f64,
    /// Mean points given away against the oracle, in the same rounds.
    pub given_away: f64,
    /// Its standard error.
    pub given_away_se: f64,
    /// Share of rounds that ended with fewer points than never touching.
    pub worse: f64,
    /// Touches a round.
    pub touches: f64,
    /// Mean points lost to the sight at each shot.
    pub lost_at: Vec<f64>,
    /// Mean squared offset of the sight at each shot, an axis, in mm^2.
    pub offset2_at: Vec<f64>,
    /// Share of rounds whose first touch came after 1, 2, ... shots; the last entry is never.
    pub first_touch: Vec<f64>,
}

impl Tally {
    fn new(rules: &[Rule], shots: usize) -> Self {
        let k = rules.len();
        Self {
            rules: rules.to_vec(),
            rounds: 0,
            points: vec![0.0; k],
            points2: vec![0.0; k],
            given_away2: vec![0.0; k],
            worse: vec![0; k],
            touches: vec![0.0; k],
            lost_at: vec![vec![0.0; shots]; k],
            offset2_at: vec![vec![0.0; shots]; k],
            first_touch: vec![vec![0; shots + 1]; k],
        }
    }

    /// Adds the rounds of `other`, played under the same rules.
    pub fn add(&mut self, other: &Self) {
        self.rounds += other.rounds;
        let sum = |a: &mut [f64], b: &[f64]| a.iter_mut().zip(b).for_each(|(a, b)| *a += b);
        sum(&mut self.points, &other.points);
        sum(&mut self.points2, &other.points2);
        sum(&mut self.given_away2, &other.given_away2);
        sum(&mut self.touches, &other.touches);
        for k in 0..self.rules.len() {
            self.worse[k] += other.worse[k];
            sum(&mut self.lost_at[k], &other.lost_at[k]);
            sum(&mut self.offset2_at[k], &other.offset2_at[k]);
            self.first_touch[k].iter_mut().zip(&other.first_touch[k]).for_each(|(a, b)| *a += b);
        }
    }

    /// What each rule came to. The oracle's points are those of an exact sight, which is the same in every round.
    #[must_use]
    pub fn outcomes(&self, oracle_points: f64) -> Vec<Outcome> {
        let n = self.rounds.max(1) as f64;
        let se = |sum: f64, sum2: f64| ((sum2 / n - (sum / n).powi(2)).max(0.0) / n).sqrt();
        (0..self.rules.len())
            .map(|k| Outcome {
                rule: self.rules[k],
                points: self.points[k] / n,
                points_se: se(self.points[k], self.points2[k]),
                given_away: oracle_points - self.points[k] / n,
                given_away_se: se(oracle_points * n - self.points[k], self.given_away2[k]),
                worse: self.worse[k] as f64 / n,
                touches: self.touches[k] / n,
                lost_at: self.lost_at[k].iter().map(|x| x / n).collect(),
                offset2_at: self.offset2_at[k].iter().map(|x| x / n).collect(),
                first_touch: self.first_touch[k].iter().map(|x| *x as f64 / n).collect(),
            })
            .collect()
    }
}

/// Everything random about one round.
pub(crate) struct Luck {
    pub(crate) first: Point,
    pub(crate) noise: Vec<Point>,
    pub(crate) flyer: Vec<bool>,
    pub(crate) drift: Vec<Point>,
    /// The offset that the shots of each end share.
    pub(crate) end: Vec<Point>,
    pub(crate) setting: Vec<Point>,
}

impl Luck {
    pub(crate) fn draw(scene: &Scene, seed: u64, round: u64) -> Self {
        let mut random = Random::stream(seed, round);
        let mut point = |k: f64| {
            let (x, y) = random.normal_pair();
            Point::new(x * k, y * k)
        };
        let shots = scene.shots();
        let first = point(scene.first_offset_mm);
        let noise = (0..shots).map(|_| point(scene.spread_mm)).collect();
        let drift = (0..scene.sighting_ends + scene.ends).map(|_| point(scene.drift_mm)).collect();
        let setting = (0..shots).map(|_| point(scene.setting_mm)).collect();
        let flyer = (0..shots).map(|_| random.uniform() < scene.flyers).collect();
        let end = (0..scene.sighting_ends + scene.ends)
            .map(|_| {
                let (x, y) = random.normal_pair();
                Point::new(x * scene.spread_mm * scene.end.windage, y * scene.spread_mm * scene.end.elevation)
            })
            .collect();
        Self { first, noise, flyer, drift, end, setting }
    }
}

/// A table of the expected score by how far the sight is off: what the archer's clean shots and flyers together score.
struct ByOffset {
    step_mm: f64,
    values: Vec<f64>,
}

impl ByOffset {
    fn new(scene: &Scene, scorer: &Scorer) -> Self {
        let ends = 6.0 * scene.spread_mm * (scene.end.windage + scene.end.elevation);
        let reach = 4.0 * scene.spread_mm + 6.0 * scene.first_offset_mm + 60.0 * scene.drift_mm + ends + 400.0;
        let step_mm = (scene.spread_mm / 40.0).max(0.05);
        let values = (0..=(reach / step_mm) as usize + 1)
            .map(|i| {
                let d = i as f64 * step_mm;
                (1.0 - scene.flyers) * scorer.isotropic(d, scene.spread_mm)
                    + scene.flyers * scorer.isotropic(d, scene.spread_mm * KAPPA[1].sqrt())
            })
            .collect();
        Self { step_mm, values }
    }

    fn at(&self, off_mm: f64) -> f64 {
        let x = off_mm / self.step_mm;
        let i = (x as usize).min(self.values.len() - 2);
        let t = (x - i as f64).min(1.0);
        self.values[i] * (1.0 - t) + self.values[i + 1] * t
    }
}

/// A rule at work in one round.
pub(crate) enum Player {
    Still,
    Mean { sum: Point, count: usize, first: usize, then: Option<usize> },
    Harmonic { k: f64 },
    Goldward { filter: Box<Filter>, cost: f64 },
    Learner { mean: Point, lean: f64 },
}

/// Rounds of one scene.
#[derive(Debug)]
pub struct Rehearsal<'a> {
    scene: &'a Scene,
    scorer: &'a Scorer,
    seed: u64,
}

impl<'a> Rehearsal<'a> {
    /// Rounds of `scene` on the face of `scorer`, drawn from `seed`.
    #[must_use]
    pub fn new(scene: &'a Scene, scorer: &'a Scorer, seed: u64) -> Self {
        Self { scene, scorer, seed }
    }

    /// Expected points of a round with a sight that is always exact.
    #[must_use]
    pub fn oracle_points(&self) -> f64 {
        let by_offset = ByOffset::new(self.scene, self.scorer);
        // Over the offsets of ends, by a rule of so many nodes an axis.
        let rule = quadrature::normal(24);
        let end = self.scene.end;
        let mut mean = 0.0;
        for (x, wx) in rule.nodes.iter().zip(&rule.weights) {
            for (y, wy) in rule.nodes.iter().zip(&rule.weights) {
                let off = Point::new(x * end.windage, y * end.elevation) * self.scene.spread_mm;
                mean += wx * wy * by_offset.at(off.radius_mm());
            }
        }
        mean * (self.scene.ends * self.scene.shots_per_end) as f64
    }

    /// Plays the rounds numbered `rounds` under each of `rules`.
    #[must_use]
    pub fn play(&self, rules: &[Rule], rounds: std::ops::Range<u64>) -> Tally {
        let by_offset = ByOffset::new(self.scene, self.scorer);
        let ahead = self.scene.ahead();
        let mut tally = Tally::new(rules, ahead.len());
        for round in rounds {
            let luck = Luck::draw(self.scene, self.seed, round);
            let oracle = self.one(Rule::Oracle, &luck, &ahead, &by_offset, None);
            let never = self.one(Rule::Never, &luck, &ahead, &by_offset, None);
            tally.rounds += 1;
            for (k, rule) in rules.iter().enumerate() {
                let points = self.one(*rule, &luck, &ahead, &by_offset, Some((&mut tally, k)));
                tally.points[k] += points;
                tally.points2[k] += points * points;
                tally.given_away2[k] += (oracle - points).powi(2);
                tally.worse[k] += usize::from(points < never - 1e-9);
            }
        }
        tally
    }

    pub(crate) fn player(&self, rule: Rule) -> Player {
        let scene = self.scene;
        let mean = |first, then| Player::Mean { sum: Point::default(), count: 0, first, then };
        let trust = trust_of(scene.spread_mm, scene.first_offset_mm);
        match rule {
            Rule::Never | Rule::Oracle => Player::Still,
            Rule::EveryArrow => mean(1, Some(1)),
            Rule::EveryThree => mean(3, Some(3)),
            Rule::EverySix => mean(6, Some(6)),
            Rule::ThreeThenSix => mean(3, Some(6)),
            Rule::OnceAfterThree => mean(3, None),
            Rule::OnceAfterSix => mean(6, None),
            Rule::Harmonic => Player::Harmonic { k: 0.0 },
            Rule::Goldward | Rule::GoldwardCalm => Player::Goldward {
                filter: Box::new(Filter::new(&self.prior(), scene.jump)),
                cost: if rule == Rule::Goldward { 0.0 } else { scene.touch_cost },
            },
            Rule::PerfectLearner => Player::Learner { mean: Point::default(), lean: 1.0 / trust },
        }
    }

    /// What Goldward is told.
    fn prior(&self) -> Prior {
        let told = &self.scene.told;
        let prior = Prior::on_face(told.spread_mm.max(0.001), self.scene.worth, told.trust)
            .and_then(|p| p.with_end_effect(told.end))
            .and_then(|p| p.doubted(told.doubt));
        prior.unwrap_or_else(|e| unreachable!("a scene that cannot be: {e}"))
    }

    /// Points of one round under one rule; what happens at each shot goes into row `k` of the tally.
    fn one(
        &self,
        rule: Rule,
        luck: &Luck,
        ahead: &[ShotAhead],
        by_offset: &ByOffset,
        mut record: Option<(&mut Tally, usize)>,
    ) -> f64 {
        let mut player = self.player(rule);
        // Where the shots of a perfect archer would land with the present setting.
        let mut off = luck.first;
        let mut points = 0.0;
        let mut touches = 0;
        let mut end = 0;
        for (i, shot) in ahead.iter().enumerate() {
            // Even an exact sight is off by what the end does.
            let here = if rule == Rule::Oracle { Point::default() } else { off };
            let (value, off2) = (by_offset.at((here + luck.end[end]).radius_mm()), 0.5 * here.radius_mm().powi(2));
            let exact = if rule == Rule::Oracle { value } else { by_offset.at(luck.end[end].radius_mm()) };
            if shot.counts {
                points += value;
            }
            if let Some((tally, k)) = &mut record {
                tally.lost_at[*k][i] += exact - value;
                tally.offset2_at[*k][i] += off2;
            }
            let wide = if luck.flyer[i] { KAPPA[1].sqrt() } else { 1.0 };
            let z = off + luck.end[end] + luck.noise[i] * wide;
            let shift = self.decide(&mut player, z, luck.flyer[i], &ahead[i + 1..]);
            if let Some(shift) = shift {
                touches += 1;
                off = off - shift + if rule == Rule::PerfectLearner { Point::default() } else { luck.setting[i] };
                if touches == 1
                    && let Some((tally, k)) = &mut record
                {
                    tally.first_touch[*k][i] += 1;
                }
            }
            if shot.ends {
                off = off + luck.drift[end];
                end += 1;
                self.end_of_end(&mut player);
            }
        }
        if let Some((tally, k)) = &mut record {
            tally.touches[*k] += f64::from(touches);
            if touches == 0 {
                tally.first_touch[*k][ahead.len()] += 1;
            }
        }
        points
    }

    /// An end is over.
    pub(crate) fn end_of_end(&self, player: &mut Player) {
        let scene = self.scene;
        match player {
            Player::Goldward { filter, .. } => filter.end_of_end(scene.drift_mm.powi(2)),
            Player::Learner { lean, .. } => *lean += (scene.drift_mm / scene.spread_mm).powi(2),
            _ => {}
        }
    }

    /// The shift to make after a shot that landed at `z`, if any.
    pub(crate) fn decide(&self, player: &mut Player, z: Point, flyer: bool, ahead: &[ShotAhead]) -> Option<Point> {
        let scene = self.scene;
        if ahead.is_empty() {
            return None;
        }
        let whole_clicks = |p: Point| {
            let c = [p.x_mm / scene.click_mm[0], p.y_mm / scene.click_mm[1]].map(f64::round);
            (c[0].abs() + c[1].abs() > 0.5).then(|| Point::new(c[0] * scene.click_mm[0], c[1] * scene.click_mm[1]))
        };
        match player {
            Player::Still => None,
            Player::Mean { sum, count, first, then } => {
                *sum = *sum + z;
                *count += 1;
                if *count < *first {
                    return None;
                }
                let mean = *sum * (1.0 / *count as f64);
                *sum = Point::default();
                *count = 0;
                *first = then.unwrap_or(usize::MAX);
                whole_clicks(mean)
            }
            Player::Harmonic { k } => {
                *k += 1.0;
                whole_clicks(z * (1.0 / *k))
            }
            Player::Learner { mean, lean } => {
                let kappa = if flyer { KAPPA[1] } else { KAPPA[0] };
                let gain = *lean / (kappa + *lean);
                let shift = *mean + (z - *mean) * gain;
                *lean = gain * kappa;
                *mean = Point::default();
                Some(shift)
            }
            Player::Goldward { filter, cost } => {
                let odds = self.odds();
                filter.shot(z, odds);
                let setting_variance = scene.setting_mm.powi(2);
                let (clicks, gain) = quick_move(self.scorer, &filter.next(), odds, scene.click_mm, setting_variance);
                let until_end = ahead.len() % scene.shots_per_end;
                if clicks == [0, 0] || (*cost > 0.0 && !self.worth_it(filter, gain, *cost, ahead, until_end)) {
                    return None;
                }
                let shift =
                    Point::new(f64::from(clicks[0]) * scene.click_mm[0], f64::from(clicks[1]) * scene.click_mm[1]);
                filter.touch(shift, setting_variance);
                Some(shift)
            }
        }
    }

    /// What Goldward believes of flyers: what the scene says, and a few strays.
    pub(crate) fn odds(&self) -> ClassOdds {
        let flyers = self.scene.told.flyers.clamp(0.001, 0.5);
        ClassOdds::new([1.0 - flyers - 0.001, flyers, 0.001]).unwrap_or_default()
    }

    fn worth_it(&self, filter: &Filter, gain: f64, cost: f64, ahead: &[ShotAhead], until_end: usize) -> bool {
        let counted = ahead.iter().filter(|a| a.counts).count() as f64;
        if gain * counted < cost {
            return false;
        }
        let s = filter.summary();
        let plan = plan(
            self.scorer,
            &Outlook {
                off_mm: s.centre.radius_mm(),
                centre_variance: 0.5 * (s.centre_variance[0] + s.centre_variance[1]),
                spread_variance: s.spread_variance,
                end_variance: s.spread_variance * 0.5 * self.scene.told.end.variances().iter().sum::<f64>(),
                information: self.odds().information(),
                setting_variance: self.scene.setting_mm.powi(2),
                drift_variance: self.scene.drift_mm.powi(2),
                ahead,
                touch_cost: cost,
            },
        );
        plan.is_now(cost, until_end)
    }
}
