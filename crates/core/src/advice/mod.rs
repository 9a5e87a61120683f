//! How far to move the sight, whether to move it at all, and what that is worth.
//!
//! One principle: choose the pin move, on the lattice of clicks, that maximises the expected score of the shots still to
//! come under the predictive distribution of the next shot. A move is itself uncertain by the sight's setting error.
//! Leaving the sight is the better advice while the gain stays below what a touch costs. The crate's first page has an example.

mod plan;
mod posterior;
mod search;
mod surface;

pub(crate) use plan::{Known, MID_END_SHARE};
pub use plan::{Outlook, Plan, ShotAhead, plan, settled_after};
pub use surface::{Detail, Surface};

use posterior::posterior_gains;
use search::{MOST_CLICKS, climb};
use surface::Figures;

use crate::group::{Bar, ClassOdds, Component, Predictive, Reading};
use crate::plane::Point;
use crate::score::Scorer;
use crate::sight::Sight;
use crate::stats::order_statistic;
use crate::units::Distance;

/// What the archer has ahead.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ahead {
    /// Shots still to come at this distance with this sight.
    pub shots_left: u32,
    /// A gain below this many points is not worth a touch.
    pub touch_cost_points: f64,
    /// Shots of an end, from 1.
    pub shots_per_end: u32,
    /// Shots of the present end that have been shot; 0 between ends.
    pub shots_in_end: u32,
    /// How far the centre wanders between ends, one standard deviation an axis, in millimetres on the face.
    pub drift_mm: f64,
}

impl Ahead {
    /// Between ends of six, without drift.
    #[must_use]
    pub fn new(shots_left: u32, touch_cost_points: f64) -> Self {
        Self { shots_left, touch_cost_points, shots_per_end: 6, shots_in_end: 0, drift_mm: 0.0 }
    }

    /// The shots to come, one by one.
    fn shots(&self) -> Vec<ShotAhead> {
        let per_end = self.shots_per_end.max(1);
        let done = self.shots_in_end % per_end;
        (1..=self.shots_left.min(PLANNED))
            .map(|i| ShotAhead { counts: true, ends: (done + i).is_multiple_of(per_end) })
            .collect()
    }
}

/// No plan looks farther ahead than so many shots: what is known then hardly depends on more.
pub(crate) const PLANNED: u32 = 144;

/// Points that a touch has to gain, unless the archer says otherwise.
pub const TOUCH_COST_DEFAULT: f64 = 0.5;

/// What to do with the sight.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Action {
    /// Move the pin by the clicks given.
    Move,
    /// Shoot on: a touch will serve better when more is known.
    Wait,
    /// Leave it where it is.
    Leave,
}

impl Action {
    /// Its name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Move => "move",
            Self::Wait => "wait",
            Self::Leave => "leave",
        }
    }
}

/// Why the sight is to be moved, left or shot on with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Reason {
    /// No shots are left at this distance.
    NoShots,
    /// The sight is within half a click of the best that is known.
    Within,
    /// There is no time for a touch in this end.
    NoTime,
    /// More arrows may show a touch worth making.
    MayShow,
    /// A touch would gain less than it costs, and waiting will not make it much better.
    TooLittle,
    /// Waiting would cost more than the next arrows can teach.
    Now,
    /// The next arrows teach more than they cost.
    Teach,
    /// A touch would gain less than it costs.
    LessThanCost,
    /// All shots missed: find the arrows first.
    OnlyMisses,
    /// The calls say how far out, but to no side.
    NoSide,
    /// Every shot felt bad: they speak of the shots, not of the sight.
    OnlyBad,
}

impl Reason {
    /// Whether the shots do not speak of the sight, so that no number follows from them or from more of the same.
    #[must_use]
    pub fn is_barred(self) -> bool {
        matches!(self, Self::OnlyMisses | Self::NoSide | Self::OnlyBad)
    }

    /// A stable name for machines.
    #[must_use]
    pub fn kind(self) -> &'static str {
        match self {
            Self::NoShots => "no_shots",
            Self::Within => "within",
            Self::NoTime => "no_time",
            Self::MayShow => "may_show",
            Self::TooLittle => "too_little",
            Self::Now => "now",
            Self::Teach => "teach",
            Self::LessThanCost => "less_than_cost",
            Self::OnlyMisses => "only_misses",
            Self::NoSide => "no_side",
            Self::OnlyBad => "only_bad",
        }
    }
}

/// A move and what it is expected to be worth over the shots left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Proposal {
    /// Whole clicks, right and up as the archer sees the pin.
    pub clicks: [i32; 2],
    /// Expected score after the move less that of leaving the sight, over the shots left.
    pub gain_points: f64,
}

/// The advice.
#[derive(Debug, Clone, PartialEq)]
pub struct Advice {
    /// Move, wait or leave.
    pub action: Action,
    /// Why.
    pub why: Reason,
    /// Whole clicks to make now, right and up as the archer sees the pin; zeros unless the action is to move.
    pub clicks: [i32; 2],
    /// The same in millimetres at the pin.
    pub pin_mm: Point,
    /// The same on the face, in the direction of the pin: what is subtracted from the shots shot so far.
    pub shift_mm: Point,
    /// The best move there is, made or not.
    pub best: Proposal,
    /// 80 % interval of the best move's gain over the posterior of centre and spread.
    pub gain_interval_points: [f64; 2],
    /// Probability, over the posterior of centre and spread, that the best move makes the shots to come score more.
    pub p_better: f64,
    /// After how many more shots the centre will be known so well that, four times in five, no further touch would gain more
    /// than it costs; 0 when that is so already, and at most 144.
    pub more_shots: u32,
    /// After how many shots to look at the sight again; nothing when it will hardly be worth a touch any more.
    pub look_after: Option<u32>,
    /// Expected points over the shots left of touching now (the cost of touches taken off), less those of the best of waiting
    /// and never touching.
    pub gain_over_waiting_points: f64,
    /// Expected points of touching now, of waiting for one, two, ... shots, and of never touching again.
    pub plan: Plan,
    /// Expected score of the next shot with the sight as it is.
    pub expected_score_now: f64,
    /// The rule of thumb for comparison: the plain mean of all shots moved fully.
    pub mean_rule: Proposal,
}

/// The best move under `next`, found roughly but fast: `(clicks, gain a shot)`, for simulations that ask it a million times.
///
/// `click_mm` is one click on the face, `setting_variance` what a touch adds an axis on the face, in mm^2.
#[must_use]
pub fn quick_move(
    scorer: &Scorer,
    next: &Predictive,
    odds: ClassOdds,
    click_mm: [f64; 2],
    setting_variance: f64,
) -> ([i32; 2], f64) {
    let surface = Surface::new(scorer, next, odds, setting_variance, &Detail::COARSE);
    let (centre, _) = next.centre();
    let (clicks, value) = climb(&surface, click_mm, &[centre], 0.3 * next.spread().mean_sd());
    let gain = value - surface.untouched();
    if gain > 0.0 { (clicks, gain) } else { ([0, 0], 0.0) }
}

/// Advises on the sight.
///
/// `reading` must have been taken with the class probabilities `unmarked`, and `scorer` be that of the face and shaft.
/// Gains and scores are points; the interval is over the posterior of centre and spread, drawn with a fixed seed, so the
/// same reading gives the same advice everywhere.
#[must_use]
pub fn advise(
    reading: &Reading,
    scorer: &Scorer,
    sight: &Sight,
    distance: Distance,
    unmarked: ClassOdds,
    ahead: &Ahead,
) -> Advice {
    let between_ends = ahead.shots_in_end.is_multiple_of(ahead.shots_per_end.max(1));
    let course = Course {
        shots: &ahead.shots(),
        left: f64::from(ahead.shots_left),
        touch_cost_points: ahead.touch_cost_points,
        between_ends,
        drift_variance: ahead.drift_mm * ahead.drift_mm,
    };
    advise_over(reading, scorer, sight, distance, unmarked, &course)
}

/// The shots to come, one by one.
pub(crate) struct Course<'a> {
    pub shots: &'a [ShotAhead],
    /// How many of them count, those beyond what is planned for too.
    pub left: f64,
    pub touch_cost_points: f64,
    /// Whether no end is under way.
    pub between_ends: bool,
    /// Variance by which the centre wanders between ends, an axis, in mm^2.
    pub drift_variance: f64,
}

impl Course<'_> {
    /// Shots until the end that is under way is over; 0 between ends.
    fn until_end(&self) -> usize {
        let first = self.shots.iter().position(|s| s.ends).map_or(self.shots.len(), |i| i + 1);
        if self.between_ends { 0 } else { first }
    }
}

/// As [`advise`], for shots of which some may not count.
pub(crate) fn advise_over(
    reading: &Reading,
    scorer: &Scorer,
    sight: &Sight,
    distance: Distance,
    unmarked: ClassOdds,
    course: &Course<'_>,
) -> Advice {
    let setting_variance = sight.setting_variance_on_face(distance);
    let next = reading.next.collapsed(Detail::MANY.parts[0], Detail::MANY.closeness);
    let coarse = Surface::new(scorer, &next, unmarked, setting_variance, &Detail::COARSE);
    let figures = Figures::new(scorer, &next, unmarked, setting_variance);
    let click_mm = sight.click_on_face_mm(distance);
    let left = course.left;
    let now = figures.untouched();

    let few = next.collapsed(4, 0.5);
    let mut starts = vec![reading.centre];
    starts.extend(few.parts.iter().filter(|p| p.weight > 0.05).flat_map(Component::processes).map(|r| r.mean));
    let (clicks, gain_per_shot) = if reading.bar.is_some() {
        // The shots do not tell how far, or not to which side: no number of clicks follows from them.
        ([0, 0], 0.0)
    } else {
        let (near, _) = climb(&coarse, click_mm, &starts, 0.5 * reading.spread.mean_sd());
        let start = Point::new(f64::from(near[0]) * click_mm[0], f64::from(near[1]) * click_mm[1]);
        let medium = Surface::new(scorer, &next, unmarked, setting_variance, &Detail::MEDIUM);
        let (clicks, _) = climb(&medium, click_mm, &[start], 0.04 * reading.spread.mean_sd());
        let value = figures.after(Point::new(f64::from(clicks[0]) * click_mm[0], f64::from(clicks[1]) * click_mm[1]));
        // Standing still has no setting error, so it can beat every lattice point.
        if value > now { (clicks, value - now) } else { ([0, 0], 0.0) }
    };
    let best = Proposal { clicks, gain_points: gain_per_shot * left };
    let shift = sight.shift_mm(sight.pin_mm(clicks), distance);

    let (p_better, gain_interval_points) = if clicks == [0, 0] {
        (0.0, [0.0, 0.0])
    } else {
        let gains = posterior_gains(&next, scorer, unmarked, shift, setting_variance);
        let interval = [0.1, 0.9].map(|p| order_statistic(&gains, p) * left);
        (gains.iter().filter(|g| **g > 0.0).count() as f64 / gains.len() as f64, interval)
    };

    let mut outlook = outlook(reading, sight, distance, unmarked, course);
    if unmarked.bad_shots().mean_mm != Point::default() {
        // Bad shots that go to one side draw the best setting a little that way: it is what the sight is off from.
        outlook.off_mm = shift.radius_mm();
    }
    let plan = plan(scorer, &outlook);
    let more_shots = settled_after(scorer, &outlook);
    let (action, why) = decide(reading, &best, &plan, course);
    let made = if action == Action::Move { clicks } else { [0, 0] };
    let pin_mm = sight.pin_mm(made);
    let look_after = match action {
        Action::Move => plan.again,
        Action::Wait => plan.best_later().0.or(Some(1)),
        Action::Leave => None,
    };
    Advice {
        action,
        why,
        clicks: made,
        pin_mm,
        shift_mm: sight.shift_mm(pin_mm, distance),
        best,
        gain_interval_points,
        p_better,
        more_shots,
        look_after: look_after.map(|k| k as u32),
        gain_over_waiting_points: plan.gain_over_waiting(),
        plan,
        expected_score_now: now,
        mean_rule: mean_rule(reading, &figures, click_mm, now, left),
    }
}

/// What the plan needs to know of a reading.
pub(crate) fn outlook<'a>(
    reading: &Reading,
    sight: &Sight,
    distance: Distance,
    unmarked: ClassOdds,
    course: &Course<'a>,
) -> Outlook<'a> {
    let click_mm = sight.click_on_face_mm(distance);
    Outlook {
        off_mm: reading.centre.radius_mm(),
        centre_variance: reading.centre_cov.mean_variance(),
        spread_variance: reading.spread.mean_variance(),
        end_variance: reading.spread.stretched(reading.next.end.map(f64::sqrt)).mean_variance(),
        information: unmarked.information(),
        // A touch is made in whole clicks: what is left over is up to half a click.
        setting_variance: sight.setting_variance_on_face(distance)
            + (click_mm[0] * click_mm[0] + click_mm[1] * click_mm[1]) / 24.0,
        drift_variance: course.drift_variance,
        ahead: course.shots,
        touch_cost: course.touch_cost_points,
    }
}

/// Move, wait or leave: one plan for every door. Touching now must gain what it costs against leaving, and more than waiting
/// does; waiting wins ties.
fn decide(reading: &Reading, best: &Proposal, plan: &Plan, course: &Course<'_>) -> (Action, Reason) {
    if course.shots.is_empty() {
        return (Action::Leave, Reason::NoShots);
    }
    match reading.bar {
        Some(Bar::OnlyMisses) => return (Action::Wait, Reason::OnlyMisses),
        Some(Bar::NoSide) => return (Action::Wait, Reason::NoSide),
        Some(Bar::OnlyBad) => return (Action::Wait, Reason::OnlyBad),
        None => {}
    }
    // Sighting shots cost nothing: between their ends the sight is set by what is known.
    let sighting = course.between_ends && !course.shots[0].counts;
    if sighting && best.clicks != [0, 0] && best.gain_points >= course.touch_cost_points {
        return (Action::Move, Reason::Now);
    }
    let (later, points) = plan.best_later();
    let waiting_pays = later.is_some() && points > plan.never;
    if best.clicks == [0, 0] {
        return if waiting_pays { (Action::Wait, Reason::MayShow) } else { (Action::Leave, Reason::Within) };
    }
    if best.gain_points < course.touch_cost_points {
        return if waiting_pays { (Action::Wait, Reason::MayShow) } else { (Action::Leave, Reason::TooLittle) };
    }
    if plan.is_now(course.touch_cost_points, course.until_end()) {
        (Action::Move, Reason::Now)
    } else if later.is_some() {
        (Action::Wait, Reason::Teach)
    } else {
        (Action::Leave, Reason::LessThanCost)
    }
}

/// The plain mean of all shots, moved fully.
fn mean_rule(reading: &Reading, figures: &Figures<'_>, click_mm: [f64; 2], now: f64, left: f64) -> Proposal {
    if reading.places.is_empty() {
        return Proposal { clicks: [0, 0], gain_points: 0.0 };
    }
    let mean = reading.places.iter().fold(Point::default(), |a, b| a + *b) * (1.0 / reading.places.len() as f64);
    let clicks =
        [mean.x_mm / click_mm[0], mean.y_mm / click_mm[1]].map(|c| c.round().clamp(-MOST_CLICKS, MOST_CLICKS) as i32);
    if clicks == [0, 0] {
        return Proposal { clicks, gain_points: 0.0 };
    }
    let shift = Point::new(f64::from(clicks[0]) * click_mm[0], f64::from(clicks[1]) * click_mm[1]);
    Proposal { clicks, gain_points: (figures.after(shift) - now) * left }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::face::Face;
    use crate::group::{KAPPA, Prior, read};
    use crate::random::Random;
    use crate::score::expected_t;
    use crate::shot::Shot;
    use crate::units::{Shaft, Spread};

    fn scene(random: &mut Random, n: usize) -> Reading {
        let distance = Distance::from_metres(70.0).unwrap();
        let prior = Prior::new(Spread::from_mrad(1.0 + 2.0 * random.uniform()).unwrap(), distance, 4.0, 1.0).unwrap();
        let sd = 60.0 + 100.0 * random.uniform();
        let (x, y) = random.normal_pair();
        let centre = Point::new(80.0 * x, 80.0 * y);
        let shots: Vec<Shot> = (0..n)
            .map(|_| {
                let (x, y) = random.normal_pair();
                let wide = if random.uniform() < 0.08 { 3.0 } else { 1.0 };
                Shot::at(centre.x_mm + wide * sd * x, centre.y_mm + wide * sd * y)
            })
            .collect();
        read(&shots, &prior, ClassOdds::default(), Face::named("122").unwrap(), Shaft::default()).unwrap()
    }

    /// The full mixture, every part integrated by itself.
    fn full(reading: &Reading, shift: Point) -> f64 {
        let (face, dof) = (Face::named("122").unwrap(), reading.next.dof());
        let mut total = 0.0;
        for part in reading.next.parts.iter().filter(|p| p.weight > 1e-6) {
            for (kappa, p) in KAPPA.into_iter().zip(ClassOdds::default().get()) {
                for row in part.processes() {
                    let (scale, mean) = (reading.next.scale(part, row, kappa), row.mean - shift);
                    total +=
                        p * part.weight * row.share * expected_t(face, Shaft::default(), mean, scale, dof).unwrap();
                }
            }
        }
        total
    }

    #[test]
    fn the_figures_follow_the_full_mixture() {
        let scorer = Scorer::new(Face::named("122").unwrap(), Shaft::default());
        let distance = Distance::from_metres(70.0).unwrap();
        let sight = Sight::default();
        let ahead = Ahead::new(1, 0.0);
        let mut random = Random::seeded(21);
        let (mut of_now, mut of_gain) = (Vec::new(), Vec::new());
        for n in [1, 2, 3, 4, 5, 6] {
            for _ in 0..5 {
                let reading = scene(&mut random, n);
                let advice = advise(&reading, &scorer, &sight, distance, ClassOdds::default(), &ahead);
                let shift = sight.shift_mm(sight.pin_mm(advice.best.clicks), distance);
                let (now, moved) = (full(&reading, Point::default()), full(&reading, shift));
                of_now.push((advice.expected_score_now - now).abs());
                of_gain.push((advice.best.gain_points - (moved - now)).abs());
                // No neighbour a click away is better by more than the error of the figures.
                for d in [[1, 0], [-1, 0], [0, 1], [0, -1]] {
                    let near = [advice.best.clicks[0] + d[0], advice.best.clicks[1] + d[1]];
                    let near = full(&reading, sight.shift_mm(sight.pin_mm(near), distance));
                    assert!(near < moved + 5e-4, "{n} shots: {:?} {moved} but {d:?} away {near}", advice.best);
                }
            }
        }
        for (what, mut errors, median, largest) in [("score now", of_now, 1e-3, 2e-2), ("gain", of_gain, 3e-4, 4e-3)] {
            errors.sort_by(f64::total_cmp);
            let (mid, top) = (errors[errors.len() / 2], errors[errors.len() - 1]);
            assert!(mid < median && top < largest, "{what}: median {mid:e}, largest {top:e}");
        }
    }

    #[test]
    fn the_sight_follows_the_arrows() {
        let scorer = Scorer::new(Face::named("122").unwrap(), Shaft::default());
        let distance = Distance::from_metres(70.0).unwrap();
        let face = Face::named("122").unwrap();
        let prior = Prior::new(Spread::from_mrad(1.0).unwrap(), distance, 4.0, 1.0).unwrap();
        let shots: Vec<Shot> = (0..6).map(|i| Shot::at(-150.0 + f64::from(i), 200.0 - f64::from(i % 3))).collect();
        let reading = read(&shots, &prior, ClassOdds::default(), face, Shaft::default()).unwrap();
        let ahead = Ahead::new(30, 0.5);
        let advice = advise(&reading, &scorer, &Sight::default(), distance, ClassOdds::default(), &ahead);
        assert_eq!(advice.action, Action::Move);
        assert!(advice.clicks[0] < 0 && advice.clicks[1] > 0, "left and up: {advice:?}");
        assert!((advice.shift_mm - reading.centre).radius_mm() < 20.0, "the shift is taken from the shots");
    }

    #[test]
    fn a_tiny_gain_is_left_alone() {
        let scorer = Scorer::new(Face::named("122").unwrap(), Shaft::default());
        let distance = Distance::from_metres(70.0).unwrap();
        let mut random = Random::seeded(4);
        let reading = scene(&mut random, 6);
        let costly = Ahead::new(1, 5.0);
        let advice = advise(&reading, &scorer, &Sight::default(), distance, ClassOdds::default(), &costly);
        assert_eq!((advice.action, advice.clicks, advice.pin_mm), (Action::Leave, [0, 0], Point::default()));
    }
}
