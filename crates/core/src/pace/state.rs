//! One distance, carried event by event.

use super::filter::Filter;
use super::plan::{Ahead, Outlook, Plan, plan};
use super::{DEFAULT_TIME, DRIFT_DEFAULT_MRAD, JUMP_A_SHOT, TimeRule};
use crate::advice::{self, Action, Advice, advise};
use crate::face::Face;
use crate::group::{self, ClassOdds, EXACT_SHOTS, GroupError, Pattern, Prior, Reading, cells};
use crate::plane::{Point, Sym2};
use crate::score::Scorer;
use crate::shot::{Felt, Place, Shot};
use crate::sight::Sight;
use crate::units::{Distance, Shaft};

/// Beyond [`EXACT_SHOTS`] shots, this many latest ones are read under every pattern; what came before is their prior.
const WINDOW: usize = 8;

/// What is fixed for a distance.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Shooting distance.
    pub distance: Distance,
    /// The face.
    pub face: &'static Face,
    /// The shaft.
    pub shaft: Shaft,
    /// The sight.
    pub sight: Sight,
    /// What is known of spread and setting before the first shot.
    pub prior: Prior,
    /// Class probabilities of a shot that is not marked.
    pub unmarked: ClassOdds,
    /// What a touch costs, in points.
    pub touch_cost: f64,
    /// Sighting ends, shot before the ones that count.
    pub sighting_ends: usize,
    /// Ends that count.
    pub ends: usize,
    /// Shots an end.
    pub shots_per_end: usize,
    /// Drift between ends, one standard deviation an axis, in milliradians.
    pub drift_mrad_per_end: f64,
    /// Probability that the process jumps just before a shot.
    pub jump_a_shot: f64,
    /// The clock.
    pub time: TimeRule,
}

impl Settings {
    /// Settings for `shots_left` shots in one string, with everything else at its default.
    #[must_use]
    pub fn new(
        distance: Distance,
        face: &'static Face,
        shaft: Shaft,
        sight: Sight,
        prior: Prior,
        shots_left: usize,
    ) -> Self {
        Self {
            distance,
            face,
            shaft,
            sight,
            prior,
            unmarked: ClassOdds::default(),
            touch_cost: advice::TOUCH_COST_DEFAULT,
            sighting_ends: 0,
            ends: 1,
            shots_per_end: shots_left.max(1),
            drift_mrad_per_end: DRIFT_DEFAULT_MRAD,
            jump_a_shot: JUMP_A_SHOT,
            time: DEFAULT_TIME,
        }
    }

    /// Drift variance between ends on the face, an axis, in mm^2.
    fn drift_variance(&self) -> f64 {
        (self.drift_mrad_per_end * self.distance.metres()).powi(2)
    }

    fn setting_variance(&self) -> f64 {
        self.sight.setting_variance_on_face(self.distance)
    }
}

/// What can happen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Event {
    /// A shot, in the frame of the setting it was shot with; its `carry` is not looked at.
    Shot(Shot),
    /// The pin was moved, right and up as the archer sees it, in millimetres at the pin: what was really done.
    Touch(Point),
    /// An end is over.
    EndOfEnd,
    /// Shot number `shot` (from 1) felt as told, whatever was said before.
    Felt {
        /// Which shot, from 1.
        shot: usize,
        /// How it felt.
        was: Felt,
    },
    /// Seconds left on the clock of this end.
    TimeLeft(f64),
}

/// Why an event was not taken in. Nothing is changed by it.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PaceError {
    /// A shot that cannot be read.
    #[error(transparent)]
    Group(#[from] GroupError),
    /// A mark on a shot that was not shot.
    #[error("there is no shot {shot}: the shots so far are 1 to {shots}")]
    NoSuchShot {
        /// Which.
        shot: usize,
        /// How many there are.
        shots: usize,
    },
    /// Nothing to undo, or to do again.
    #[error("there is nothing to {0}")]
    Nothing(&'static str),
    /// A number that is none, or out of range.
    #[error("{what} is {value}: it must lie between {min} and {max}")]
    OutOfRange {
        /// Which number.
        what: &'static str,
        /// As given.
        value: f64,
        /// Smallest accepted.
        min: f64,
        /// Largest accepted.
        max: f64,
    },
}

/// What to do about the sight now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wait {
    /// Dial the advice's clicks now.
    Touch,
    /// Shoot on; a touch will pay when more is known.
    Wait,
    /// Leave it: it will not get much better.
    Leave,
}

/// The answer after an event.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// What the shots say, in the frame of the present setting.
    pub reading: Reading,
    /// The best move and its worth, as for a reading by itself.
    pub advice: Advice,
    /// Touch, wait or leave.
    pub wait: Wait,
    /// Expected points over the shots left when touching now, less its cost.
    pub points_now: f64,
    /// The same when waiting one, two, ... shots before touching.
    pub points_wait: Vec<f64>,
    /// Expected points when the sight is never touched again.
    pub points_never: f64,
    /// Shots still to come, sighting shots included.
    pub shots_left: usize,
    /// Why.
    pub why: Reason,
}

/// Why the sight is to be touched, left or shot on with.
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
}

impl Reason {
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
        }
    }
}

/// What is known after some events.
#[derive(Debug, Clone)]
struct Knowledge {
    filter: Filter,
    /// Where the pin is, as a shift on the face from where it was at first.
    pin_shift: Point,
    /// Whether anything but shots has widened the centre.
    widened: bool,
    ends_done: usize,
    shots_in_end: usize,
    time_left: Option<f64>,
}

/// A distance in progress.
#[derive(Debug)]
pub struct Pace {
    settings: Settings,
    scorer: Scorer,
    events: Vec<Event>,
    undone: Vec<Event>,
    /// Knowledge before each event, and after the last.
    states: Vec<Knowledge>,
}

impl Pace {
    /// Before the first shot.
    #[must_use]
    pub fn new(settings: Settings) -> Self {
        let filter = Filter::new(
            settings.prior.spread_mm(),
            settings.prior.worth(),
            [settings.prior.trust(); 2],
            settings.jump_a_shot,
        );
        Self::with_filter(settings, filter)
    }

    /// At the next distance of a round: what was learnt of windage here comes along, elevation starts anew with the trust of
    /// `settings`.
    #[must_use]
    pub fn at_next_distance(&self, settings: Settings) -> Self {
        let ratio = settings.distance.metres() / self.settings.distance.metres();
        let filter = self.now().filter.at_next_distance(ratio, settings.prior.trust());
        let mut next = Self::with_filter(settings, filter);
        // The prior of the settings speaks of neither what came along nor its different axes.
        next.states[0].widened = true;
        next
    }

    fn with_filter(settings: Settings, filter: Filter) -> Self {
        let scorer = Scorer::new(settings.face, settings.shaft);
        let first = Knowledge {
            filter,
            pin_shift: Point::default(),
            widened: false,
            ends_done: 0,
            shots_in_end: 0,
            time_left: None,
        };
        Self { settings, scorer, events: Vec::new(), undone: Vec::new(), states: vec![first] }
    }

    /// The settings.
    #[must_use]
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// What has happened so far, undone events left out.
    #[must_use]
    pub fn events(&self) -> &[Event] {
        &self.events
    }

    fn now(&self) -> &Knowledge {
        self.states.last().unwrap_or_else(|| unreachable!("there is always the first state"))
    }

    /// The shots so far with their latest marks, each carried to the present setting.
    #[must_use]
    pub fn shots(&self) -> Vec<Shot> {
        let present = self.now().pin_shift;
        let mut shots: Vec<Shot> = Vec::new();
        for (event, state) in self.events.iter().zip(&self.states) {
            match event {
                Event::Shot(shot) => shots.push(Shot { carry: present - state.pin_shift, ..*shot }),
                Event::Felt { shot, was } => {
                    if let Some(s) = shots.get_mut(shot - 1) {
                        s.felt = *was;
                    }
                }
                Event::Touch(_) | Event::EndOfEnd | Event::TimeLeft(_) => {}
            }
        }
        shots
    }

    /// Takes in an event. One more shot costs one step, whatever came before; a mark on an earlier shot costs the steps since.
    ///
    /// # Errors
    /// [`PaceError`]; nothing is changed then.
    pub fn take(&mut self, event: Event) -> Result<(), PaceError> {
        self.check(&event)?;
        self.events.push(event);
        self.undone.clear();
        self.carry_on(event);
        Ok(())
    }

    /// Takes the last event back and returns it. It is kept for [`Pace::redo`] until another event comes in.
    ///
    /// # Errors
    /// [`PaceError::Nothing`].
    pub fn undo(&mut self) -> Result<Event, PaceError> {
        let event = self.events.pop().ok_or(PaceError::Nothing("undo"))?;
        self.undone.push(event);
        self.replay_from(match event {
            Event::Felt { shot, .. } => self.event_of_shot(shot),
            _ => self.events.len(),
        });
        Ok(event)
    }

    /// Does the last undone event again and returns it.
    ///
    /// # Errors
    /// [`PaceError::Nothing`].
    pub fn redo(&mut self) -> Result<Event, PaceError> {
        let event = self.undone.pop().ok_or(PaceError::Nothing("do again"))?;
        self.events.push(event);
        self.carry_on(event);
        Ok(event)
    }

    fn carry_on(&mut self, event: Event) {
        if let Event::Felt { shot, .. } = event {
            self.replay_from(self.event_of_shot(shot));
        } else {
            let next = self.step(self.now(), &event, None);
            self.states.push(next);
        }
    }

    /// Index of the event that was shot number `shot`.
    fn event_of_shot(&self, shot: usize) -> usize {
        let mut shots = self.events.iter().enumerate().filter(|(_, e)| matches!(e, Event::Shot(_)));
        shots.nth(shot - 1).map_or(self.events.len(), |(i, _)| i)
    }

    fn replay_from(&mut self, from: usize) {
        self.states.truncate(from + 1);
        let felt: Vec<Felt> = self.shots_felt();
        let mut shot = self.events[..from].iter().filter(|e| matches!(e, Event::Shot(_))).count();
        for i in from..self.events.len() {
            let event = self.events[i];
            let mark = if matches!(event, Event::Shot(_)) {
                shot += 1;
                Some(felt[shot - 1])
            } else {
                None
            };
            let next = self.step(self.now(), &event, mark);
            self.states.push(next);
        }
    }

    /// The latest mark of every shot.
    fn shots_felt(&self) -> Vec<Felt> {
        let mut felt = Vec::new();
        for event in &self.events {
            match event {
                Event::Shot(shot) => felt.push(shot.felt),
                Event::Felt { shot, was } => {
                    if let Some(f) = felt.get_mut(shot - 1) {
                        *f = *was;
                    }
                }
                Event::Touch(_) | Event::EndOfEnd | Event::TimeLeft(_) => {}
            }
        }
        felt
    }

    fn check(&self, event: &Event) -> Result<(), PaceError> {
        let within = |what, value: f64, min: f64, max: f64| {
            if value.is_finite() && (min..=max).contains(&value) {
                Ok(())
            } else {
                Err(PaceError::OutOfRange { what, value, min, max })
            }
        };
        let shots = || self.events.iter().filter(|e| matches!(e, Event::Shot(_))).count();
        match event {
            Event::Shot(shot) => {
                let number = shots() + 1;
                match shot.place {
                    Place::At(p) if !(p.is_finite() && p.radius_mm() <= 100_000.0) => {
                        return Err(GroupError::Position { shot: number, x_mm: p.x_mm, y_mm: p.y_mm }.into());
                    }
                    Place::At(_) => {}
                    Place::Called(call) => {
                        call.cell(self.settings.face, self.settings.shaft)
                            .map_err(|source| GroupError::Call { shot: number, source })?;
                    }
                }
                Ok(())
            }
            Event::Touch(pin) => {
                within("the pin's move to the right in mm", pin.x_mm, -200.0, 200.0)?;
                within("the pin's move up in mm", pin.y_mm, -200.0, 200.0)
            }
            Event::Felt { shot, .. } if *shot == 0 || *shot > shots() => {
                Err(PaceError::NoSuchShot { shot: *shot, shots: shots() })
            }
            Event::TimeLeft(seconds) => within("the time left in seconds", *seconds, 0.0, 36_000.0),
            Event::EndOfEnd | Event::Felt { .. } => Ok(()),
        }
    }

    fn odds(&self, felt: Felt) -> ClassOdds {
        self.settings.unmarked.felt(felt)
    }

    fn step(&self, before: &Knowledge, event: &Event, mark: Option<Felt>) -> Knowledge {
        let mut next = before.clone();
        match event {
            Event::Shot(shot) => {
                let odds = self.odds(mark.unwrap_or(shot.felt));
                match shot.place {
                    Place::At(p) => {
                        next.filter.shot(p, odds);
                    }
                    Place::Called(call) => {
                        if let Ok(cell) = call.cell(self.settings.face, self.settings.shaft) {
                            let spread = next.filter.summary().spread_variance.sqrt();
                            let reach = 12.0 * spread.max(0.3 * cell.inner_mm);
                            next.filter
                                .shot_within(&cells::middles(&cell, Point::default(), 0.8 * spread, reach), odds);
                        }
                    }
                }
                next.shots_in_end += 1;
            }
            Event::Touch(pin) => {
                let shift = self.settings.sight.shift_mm(*pin, self.settings.distance);
                next.filter.touch(shift, self.settings.setting_variance());
                next.pin_shift = next.pin_shift + shift;
                next.widened |= self.settings.setting_variance() > 0.0;
            }
            Event::EndOfEnd => {
                next.filter.widen([self.settings.drift_variance(); 2]);
                next.widened |= self.settings.drift_variance() > 0.0;
                next.ends_done += 1;
                next.shots_in_end = 0;
                next.time_left = None;
            }
            Event::TimeLeft(seconds) => next.time_left = Some(*seconds),
            Event::Felt { .. } => {}
        }
        next
    }

    /// The shots still to come, the rest of this end first.
    fn ahead(&self) -> Vec<Ahead> {
        let s = &self.settings;
        let now = self.now();
        let ends = s.sighting_ends + s.ends;
        let mut out = Vec::new();
        for end in now.ends_done..ends {
            let shot = if end == now.ends_done { now.shots_in_end.min(s.shots_per_end) } else { 0 };
            for i in shot..s.shots_per_end {
                out.push(Ahead { counts: end >= s.sighting_ends, ends: i + 1 == s.shots_per_end });
            }
        }
        out
    }

    /// What the shots say under every pattern, in the frame of the present setting.
    fn read(&self) -> Result<Reading, GroupError> {
        let shots = self.shots();
        let s = &self.settings;
        let present = self.now().pin_shift;
        if shots.len() <= EXACT_SHOTS && !self.states[0].widened {
            // The prior speaks of the first setting.
            return group::read(&shots, &s.prior.about(Point::default() - present), s.unmarked, s.face, s.shaft);
        }
        // Everything before the window becomes its prior.
        let from = shots.len().saturating_sub(WINDOW);
        let state = &self.states[self.event_of_shot(from + 1)];
        let before = state.filter.next().collapsed(1, 0.0);
        let Some(part) = before.parts.first() else { unreachable!("a filter has at least one part") };
        let prior = Prior::after(part, before.nu).about(part.mean + state.pin_shift - present);
        let mut reading = group::read(&shots[from..], &prior, s.unmarked, s.face, s.shaft)?;
        reading.shots = shots.len();
        // The shots before the window keep the class they had when they left it; see `classes_before`.
        let mut p_class = self.classes_before(from);
        p_class.append(&mut reading.p_class);
        reading.p_class = p_class;
        let mut places: Vec<Point> = shots[..from]
            .iter()
            .map(|shot| match shot.place {
                Place::At(p) => p - shot.carry,
                Place::Called(call) => {
                    call.cell(s.face, s.shaft).map_or(Point::default(), |cell| cell.start() - shot.carry)
                }
            })
            .collect();
        places.append(&mut reading.places);
        reading.places = places;
        for list in [&mut reading.other_group, &mut reading.jump_before] {
            if !list.is_empty() {
                let mut longer = vec![0.0; from];
                longer.append(list);
                *list = longer;
            }
        }
        Ok(reading)
    }

    /// Class probabilities of the first `shots` shots, as the filter saw each when it came in.
    fn classes_before(&self, shots: usize) -> Vec<[f64; 3]> {
        let felt = self.shots_felt();
        let mut out = Vec::with_capacity(shots);
        for (event, state) in self.events.iter().zip(&self.states) {
            if out.len() == shots {
                break;
            }
            if let Event::Shot(shot) = event {
                let place = match shot.place {
                    Place::At(p) => p,
                    Place::Called(_) => state.filter.summary().centre,
                };
                out.push(state.filter.clone().shot(place, self.odds(felt[out.len()])));
            }
        }
        out
    }

    /// The answer after what has happened so far.
    ///
    /// # Errors
    /// [`GroupError`], which [`Pace::take`] has ruled out for the events it took.
    pub fn answer(&self) -> Result<Answer, GroupError> {
        let s = &self.settings;
        let now = self.now();
        let mut reading = self.read()?;
        if now.widened || reading.shots > EXACT_SHOTS {
            // The filter knows of drift, of settings and of all shots; the patterns know what it does not.
            let steady = now.filter.next();
            let other = 1.0 - reading.probability(Pattern::Steady);
            if other <= 0.5 {
                let (centre, cov) = steady.centre();
                let [xx, yy] = now.filter.summary().centre_variance;
                reading.centre = centre;
                reading.centre_cov = Sym2::new(xx, cov.xy, yy);
                reading.spread = steady.spread();
                reading.next = steady;
            }
        }
        let ahead = self.ahead();
        let counted = ahead.iter().filter(|a| a.counts).count();
        let left = advice::Ahead { shots_left: counted as u32, touch_cost_points: s.touch_cost };
        let advice = advise(&reading, &self.scorer, &s.sight, s.distance, s.unmarked, &left);
        let click = s.sight.click_on_face_mm(s.distance);
        let plan = plan(
            &self.scorer,
            &Outlook {
                off_mm: reading.centre.radius_mm(),
                centre_variance: reading.centre_cov.mean_variance(),
                spread_variance: reading.spread.mean_variance(),
                information: s.unmarked.information(),
                // A touch is made in whole clicks: what is left over is up to half a click.
                setting_variance: s.setting_variance() + (click[0] * click[0] + click[1] * click[1]) / 24.0,
                drift_variance: s.drift_variance(),
                ahead: &ahead,
                touch_cost: s.touch_cost,
            },
        );
        let (wait, why) = self.decide(&advice, &plan, &ahead);
        Ok(Answer {
            reading,
            advice,
            wait,
            points_now: plan.now,
            points_wait: plan.wait,
            points_never: plan.never,
            shots_left: ahead.len(),
            why,
        })
    }

    fn decide(&self, advice: &Advice, plan: &Plan, ahead: &[Ahead]) -> (Wait, Reason) {
        if ahead.is_empty() {
            return (Wait::Leave, Reason::NoShots);
        }
        if advice.best.clicks == [0, 0] {
            return (Wait::Leave, Reason::Within);
        }
        let time = &self.settings.time;
        if let Some(left) = self.now().time_left {
            let shots = self.settings.shots_per_end.saturating_sub(self.now().shots_in_end) as f64;
            if left < time.seconds_a_touch + 0.5 * shots * time.seconds_an_arrow && advice.action == Action::Move {
                return (Wait::Wait, Reason::NoTime);
            }
        }
        if advice.action == Action::Leave {
            return match plan.best().0 {
                Some(k) if k > 0 && advice.more_shots > 0 => (Wait::Wait, Reason::MayShow),
                _ => (Wait::Leave, Reason::TooLittle),
            };
        }
        match plan.best_within(0.5 * self.settings.touch_cost) {
            Some(0) => (Wait::Touch, Reason::Now),
            Some(_) => (Wait::Wait, Reason::Teach),
            None => (Wait::Leave, Reason::LessThanCost),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::Random;
    use crate::units::Spread;

    fn settings(drift_mrad: f64, setting_sd_mm: f64, trust: f64) -> Settings {
        let distance = Distance::from_metres(70.0).unwrap();
        let prior = Prior::new(Spread::from_mrad(1.5).unwrap(), distance, 4.0, trust).unwrap();
        let sight = Sight::new(880.0, [0.1, 0.1], setting_sd_mm).unwrap();
        let mut s = Settings::new(distance, Face::named("122").unwrap(), Shaft::default(), sight, prior, 72);
        (s.ends, s.shots_per_end, s.drift_mrad_per_end) = (12, 6, drift_mrad);
        s
    }

    fn shots(n: usize, x: f64, y: f64, seed: u64) -> Vec<Shot> {
        let mut random = Random::seeded(seed);
        (0..n)
            .map(|_| {
                let (a, b) = random.normal_pair();
                Shot::at(x + 100.0 * a, y + 100.0 * b)
            })
            .collect()
    }

    #[test]
    fn up_to_nine_shots_it_is_a_reading_by_itself() {
        let s = settings(0.0, 0.0, 1.0);
        let mut pace = Pace::new(s.clone());
        let shots = shots(9, 80.0, -60.0, 1);
        for (i, shot) in shots.iter().enumerate() {
            pace.take(Event::Shot(*shot)).unwrap();
            let want = group::read(&shots[..=i], &s.prior, s.unmarked, s.face, s.shaft).unwrap();
            assert_eq!(pace.answer().unwrap().reading, want);
        }
    }

    #[test]
    fn a_touch_is_carried_exactly() {
        let mut pace = Pace::new(settings(0.0, 0.0, 1.0));
        for shot in shots(6, 180.0, -140.0, 2) {
            pace.take(Event::Shot(shot)).unwrap();
        }
        let before = pace.answer().unwrap();
        assert_eq!(before.wait, Wait::Touch);
        pace.take(Event::Touch(before.advice.pin_mm)).unwrap();
        let after = pace.answer().unwrap();
        let moved = before.reading.centre - before.advice.shift_mm;
        assert!((after.reading.centre - moved).radius_mm() < 1e-6, "{:?} {moved:?}", after.reading.centre);
        assert_ne!(after.wait, Wait::Touch, "what was advised has been done");
    }

    #[test]
    fn undo_and_redo_lose_nothing() {
        let mut pace = Pace::new(settings(0.1, 0.05, 1.0));
        let mut answers = Vec::new();
        let mut events: Vec<Event> = shots(14, 40.0, 10.0, 3).into_iter().map(Event::Shot).collect();
        events.insert(3, Event::Touch(Point::new(0.3, -0.2)));
        events.insert(7, Event::EndOfEnd);
        events.insert(10, Event::Felt { shot: 2, was: Felt::Bad });
        for event in &events {
            pace.take(*event).unwrap();
            answers.push(pace.answer().unwrap());
        }
        for i in (0..events.len()).rev() {
            assert_eq!(pace.answer().unwrap(), answers[i], "before undoing event {i}");
            assert_eq!(pace.undo().unwrap(), events[i]);
        }
        assert_eq!(pace.undo(), Err(PaceError::Nothing("undo")));
        for (event, answer) in events.iter().zip(&answers) {
            assert_eq!(pace.redo().unwrap(), *event);
            assert_eq!(pace.answer().unwrap(), *answer);
        }
        assert!(pace.redo().is_err());
    }

    #[test]
    fn a_gross_error_is_corrected_after_one_arrow_and_a_tiny_one_is_left() {
        let mut pace = Pace::new(settings(0.0, 0.0, 0.1));
        pace.take(Event::Shot(Shot::at(-450.0, 300.0))).unwrap();
        let answer = pace.answer().unwrap();
        assert_eq!(answer.wait, Wait::Touch);
        assert!(answer.advice.clicks[0] < 0 && answer.advice.clicks[1] > 0);

        let mut pace = Pace::new(settings(0.0, 0.0, 6.0));
        pace.take(Event::Shot(Shot::at(20.0, 10.0))).unwrap();
        assert_ne!(pace.answer().unwrap().wait, Wait::Touch);
    }

    #[test]
    fn no_touch_when_there_is_no_time() {
        let mut pace = Pace::new(settings(0.0, 0.0, 0.1));
        for shot in shots(3, 300.0, 0.0, 5) {
            pace.take(Event::Shot(shot)).unwrap();
        }
        assert_eq!(pace.answer().unwrap().wait, Wait::Touch);
        pace.take(Event::TimeLeft(40.0)).unwrap();
        assert_eq!(pace.answer().unwrap().wait, Wait::Wait);
        pace.take(Event::EndOfEnd).unwrap();
        assert_eq!(pace.answer().unwrap().wait, Wait::Touch);
    }

    #[test]
    fn windage_comes_along_to_the_next_distance() {
        let mut pace = Pace::new(settings(0.0, 0.0, 0.1));
        for shot in shots(6, 140.0, 140.0, 6) {
            pace.take(Event::Shot(shot)).unwrap();
        }
        let mut s = settings(0.0, 0.0, 1.0);
        s.distance = Distance::from_metres(35.0).unwrap();
        let next = pace.at_next_distance(s).answer().unwrap();
        let here = pace.answer().unwrap().reading.centre;
        assert!((next.reading.centre.x_mm - 0.5 * here.x_mm).abs() < 5.0 && next.reading.centre.y_mm.abs() < 1e-9);
        assert!(next.reading.centre_cov.xx < 0.5 * next.reading.centre_cov.yy);
    }

    #[test]
    fn bad_events_change_nothing() {
        let mut pace = Pace::new(settings(0.0, 0.0, 1.0));
        pace.take(Event::Shot(Shot::at(1.0, 2.0))).unwrap();
        for event in [
            Event::Shot(Shot::at(f64::NAN, 0.0)),
            Event::Felt { shot: 2, was: Felt::Bad },
            Event::Felt { shot: 0, was: Felt::Bad },
            Event::Touch(Point::new(f64::INFINITY, 0.0)),
            Event::TimeLeft(-1.0),
        ] {
            assert!(pace.take(event).is_err());
        }
        assert_eq!(pace.events().len(), 1);
    }
}
