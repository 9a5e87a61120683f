//! One distance, carried event by event.

use super::{DEFAULT_TIME, DRIFT_DEFAULT_MRAD, TimeRule};
use crate::advice::{self, Action, Advice, Course, PLANNED, Reason, ShotAhead, advise_over};
use crate::face::Face;
use crate::group::{self, ClassOdds, Filter, GroupError, JUMP_A_SHOT, Memory, Prior, Reading};
use crate::plane::Point;
use crate::range::{OutOfRange, within};
use crate::score::Scorer;
use crate::shot::{Felt, Place, Shot, USUAL_END};
use crate::sight::Sight;
use crate::units::{Distance, Shaft};

/// More shots than this are no end.
const MOST_IN_END: usize = 12;

/// Of a string that is longer than a reading takes, so many shots more become what is known before.
const LEFT_AT_ONCE: usize = 36;

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
            time: DEFAULT_TIME,
        }
    }

    /// Shots of an end. Where nobody tells of ends (a long string), six shots are taken to be one.
    fn end_size(&self) -> usize {
        if self.shots_per_end > MOST_IN_END { USUAL_END } else { self.shots_per_end.max(1) }
    }

    /// Drift variance between ends on the face, an axis, in mm^2.
    pub(super) fn drift_variance(&self) -> f64 {
        (self.drift_mrad_per_end * self.distance.metres()).powi(2)
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
    /// In a match: what the other archer has made in an end, the next one or, with more arrows, the one under way. It changes
    /// nothing of the shots; who decides by the chance to win looks at it.
    Theirs {
        /// Points of the end.
        points: u32,
        /// With so many arrows.
        shots: u32,
    },
    /// In a match that was level after its last end: whether the archer's single arrow was nearer. As little is changed by it.
    Nearer(bool),
}

/// Why an event was not taken in. Nothing is changed by it.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
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
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
}

/// The answer after an event.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// What the shots say, in the frame of the present setting.
    pub reading: Reading,
    /// Move, wait or leave, how far, and its worth.
    pub advice: Advice,
    /// Shots still to come, sighting shots included.
    pub shots_left: usize,
}

/// Where the events have led to.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Standing {
    /// Where the pin is, as a shift on the face from where it was at first.
    pin_shift: Point,
    /// Touches since the last shot.
    touches: u32,
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
    /// Of the latest reading, for the next.
    memory: Memory,
}

impl Pace {
    /// Before the first shot.
    #[must_use]
    pub fn new(settings: Settings) -> Self {
        let scorer = Scorer::new(settings.face, settings.shaft);
        Self { settings, scorer, events: Vec::new(), undone: Vec::new(), memory: Memory::default() }
    }

    /// At the next distance of a round: what was learnt of windage and spread here comes along, elevation starts anew with the
    /// trust of `settings`.
    ///
    /// # Errors
    /// [`GroupError`], which [`Pace::take`] has ruled out for the events it took.
    pub fn at_next_distance(&self, mut settings: Settings) -> Result<Self, GroupError> {
        let ratio = settings.distance.metres() / self.settings.distance.metres();
        settings.prior = settings.prior.with_windage_of(&self.read()?.next, ratio);
        Ok(Self::new(settings))
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

    /// Goes through the events in order; `each` is told of every event and of where things stood before it.
    fn replay(&self, mut each: impl FnMut(&Event, &Standing)) -> Standing {
        let mut now =
            Standing { pin_shift: Point::default(), touches: 0, ends_done: 0, shots_in_end: 0, time_left: None };
        for event in &self.events {
            each(event, &now);
            match event {
                Event::Shot(_) => {
                    now.shots_in_end += 1;
                    now.touches = 0;
                }
                Event::Touch(pin) => {
                    now.pin_shift = now.pin_shift + self.settings.sight.shift_mm(*pin, self.settings.distance);
                    now.touches += 1;
                }
                Event::EndOfEnd => {
                    now.ends_done += 1;
                    now.shots_in_end = 0;
                    now.time_left = None;
                }
                Event::TimeLeft(seconds) => now.time_left = Some(*seconds),
                Event::Felt { .. } | Event::Theirs { .. } | Event::Nearer(_) => {}
            }
        }
        now
    }

    /// A number for the end of the next shot.
    fn end_number(&self, now: &Standing) -> u32 {
        (now.ends_done * 1000 + now.shots_in_end / self.settings.end_size()) as u32
    }

    fn standing(&self) -> Standing {
        self.replay(|_, _| {})
    }

    /// What has happened, each with the number of its end and whether a shot in it counts.
    pub(super) fn course(&self) -> Vec<(Event, u32, bool)> {
        let mut course = Vec::with_capacity(self.events.len());
        self.replay(|event, now| {
            course.push((*event, self.end_number(now), now.ends_done >= self.settings.sighting_ends));
        });
        course
    }

    /// Where the pin is, as a shift on the face from where it was at first.
    pub(super) fn pin_shift(&self) -> Point {
        self.standing().pin_shift
    }

    /// The expected scores on this face.
    pub(super) fn scorer(&self) -> &Scorer {
        &self.scorer
    }

    /// The shots so far with their latest marks, each carried to the present setting, with its end and with what the touches
    /// before it have loosened.
    #[must_use]
    pub fn shots(&self) -> Vec<Shot> {
        let setting_variance = self.settings.sight.setting_variance_on_face(self.settings.distance);
        let mut shots: Vec<Shot> = Vec::new();
        let present = self.replay(|event, now| match event {
            Event::Shot(shot) => shots.push(Shot {
                carry: now.pin_shift,
                end: self.end_number(now),
                loosened_mm2: f64::from(now.touches) * setting_variance,
                ..*shot
            }),
            Event::Felt { shot, was } => {
                if let Some(s) = shots.get_mut(shot - 1) {
                    s.felt = *was;
                }
            }
            Event::Touch(_) | Event::EndOfEnd | Event::TimeLeft(_) | Event::Theirs { .. } | Event::Nearer(_) => {}
        });
        for shot in &mut shots {
            shot.carry = present.pin_shift - shot.carry;
        }
        shots
    }

    /// Takes in an event.
    ///
    /// # Errors
    /// [`PaceError`]; nothing is changed then.
    pub fn take(&mut self, event: Event) -> Result<(), PaceError> {
        self.check(&event)?;
        self.events.push(event);
        self.undone.clear();
        Ok(())
    }

    /// Takes the last event back and returns it. It is kept for [`Pace::redo`] until another event comes in.
    ///
    /// # Errors
    /// [`PaceError::Nothing`].
    pub fn undo(&mut self) -> Result<Event, PaceError> {
        let event = self.events.pop().ok_or(PaceError::Nothing("undo"))?;
        self.undone.push(event);
        Ok(event)
    }

    /// Does the last undone event again and returns it.
    ///
    /// # Errors
    /// [`PaceError::Nothing`].
    pub fn redo(&mut self) -> Result<Event, PaceError> {
        let event = self.undone.pop().ok_or(PaceError::Nothing("do again"))?;
        self.events.push(event);
        Ok(event)
    }

    fn check(&self, event: &Event) -> Result<(), PaceError> {
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
            }
            Event::Touch(pin) => {
                within("the pin's move to the right in mm", pin.x_mm, "", -200.0, 200.0)?;
                within("the pin's move up in mm", pin.y_mm, "", -200.0, 200.0)?;
            }
            Event::Felt { shot, .. } if *shot == 0 || *shot > shots() => {
                return Err(PaceError::NoSuchShot { shot: *shot, shots: shots() });
            }
            Event::TimeLeft(seconds) => {
                within("the time left in seconds", *seconds, "", 0.0, 36_000.0)?;
            }
            Event::Theirs { points, shots } => {
                let per_end = self.settings.shots_per_end as f64;
                within("the arrows of the other's end", f64::from(*shots), "", 1.0, per_end)?;
                let most = f64::from(*shots) * f64::from(self.settings.face.highest_value());
                within("the points of the other's end", f64::from(*points), "", 0.0, most)?;
            }
            Event::EndOfEnd | Event::Felt { .. } | Event::Nearer(_) => {}
        }
        Ok(())
    }

    /// The shots still to come, the rest of this end first.
    fn ahead(&self, now: &Standing) -> Vec<ShotAhead> {
        let s = &self.settings;
        let ends = s.sighting_ends + s.ends;
        let mut out = Vec::new();
        for end in now.ends_done..ends {
            let shot = if end == now.ends_done { now.shots_in_end.min(s.shots_per_end) } else { 0 };
            for i in shot..s.shots_per_end {
                out.push(ShotAhead {
                    counts: end >= s.sighting_ends,
                    ends: (i + 1) % s.end_size() == 0 || i + 1 == s.shots_per_end,
                });
            }
        }
        out
    }

    /// What the shots say under every pattern, in the frame of the present setting. The prior speaks of the first setting.
    pub(super) fn read(&self) -> Result<Reading, GroupError> {
        self.read_on(&mut Memory::default())
    }

    fn read_on(&self, memory: &mut Memory) -> Result<Reading, GroupError> {
        let s = &self.settings;
        let shots = self.shots();
        let mut prior = s.prior.about(s.prior.centre() - self.standing().pin_shift);
        // What is more than one reading takes becomes its prior, some shots at a time so that the readings in between carry on.
        let from = shots.len().saturating_sub(group::MOST_SHOTS).next_multiple_of(LEFT_AT_ONCE);
        let mut before: Vec<(Point, [f64; 3])> = Vec::with_capacity(from);
        if from > 0 {
            let mut filter = Filter::new(&prior, JUMP_A_SHOT);
            for (i, shot) in shots[..from].iter().enumerate() {
                if i > 0 && shot.end != shots[i - 1].end {
                    filter.end_of_end(s.drift_variance());
                }
                filter.widen([shot.loosened_mm2; 2]);
                let place = shot.place.middle(s.face, s.shaft).map(|p| p - shot.carry);
                let class = place.map_or([1.0, 0.0, 0.0], |p| filter.shot(p, s.unmarked.felt(shot.felt)));
                before.push((place.unwrap_or_default(), class));
            }
            prior = prior.after(&filter.next());
        }
        let prior = prior.with_drift_mm(s.drift_variance().sqrt())?;
        let mut reading = group::read_on(&shots[from..], &prior, s.unmarked, s.face, s.shaft, memory)?;
        if from > 0 {
            reading.shots = shots.len();
            let (places, classes): (Vec<_>, Vec<_>) = before.into_iter().unzip();
            reading.places = [places, reading.places].concat();
            reading.p_class = [classes, reading.p_class].concat();
            for list in [&mut reading.other_group, &mut reading.jump_before] {
                if !list.is_empty() {
                    *list = [vec![0.0; from], std::mem::take(list)].concat();
                }
            }
        }
        Ok(reading)
    }

    /// The answer after what has happened so far.
    ///
    /// # Errors
    /// [`GroupError`], which [`Pace::take`] has ruled out for the events it took.
    pub fn answer(&mut self) -> Result<Answer, GroupError> {
        let mut memory = std::mem::take(&mut self.memory);
        let reading = self.read_on(&mut memory);
        self.memory = memory;
        let reading = reading?;
        let s = &self.settings;
        let now = self.standing();
        let ahead = self.ahead(&now);
        let course = Course {
            shots: &ahead[..ahead.len().min(PLANNED as usize)],
            left: ahead.iter().filter(|a| a.counts).count() as f64,
            touch_cost_points: s.touch_cost,
            between_ends: now.shots_in_end.is_multiple_of(s.end_size()),
            drift_variance: s.drift_variance(),
        };
        let mut advice = advise_over(&reading, &self.scorer, &s.sight, s.distance, s.unmarked, &course);
        if advice.action == Action::Move && self.is_short_of_time(&now) {
            let waiting = advice.plan.best_later().0.map_or(1, |k| k as u32);
            let none = Point::default();
            advice = Advice {
                action: Action::Wait,
                why: Reason::NoTime,
                clicks: [0, 0],
                pin_mm: none,
                shift_mm: none,
                look_after: Some(waiting),
                ..advice
            };
        }
        Ok(Answer { reading, advice, shots_left: ahead.len() })
    }

    fn is_short_of_time(&self, now: &Standing) -> bool {
        let (s, time) = (&self.settings, &self.settings.time);
        let shots = s.shots_per_end.saturating_sub(now.shots_in_end) as f64;
        now.time_left.is_some_and(|left| left < time.seconds_a_touch + 0.5 * shots * time.seconds_an_arrow)
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
        let shots: Vec<Shot> =
            shots(9, 80.0, -60.0, 1).into_iter().enumerate().map(|(i, s)| s.in_end(i as u32 / 6)).collect();
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
        assert_eq!(before.advice.action, Action::Move);
        pace.take(Event::Touch(before.advice.pin_mm)).unwrap();
        let after = pace.answer().unwrap();
        let moved = before.reading.centre - before.advice.shift_mm;
        assert!((after.reading.centre - moved).radius_mm() < 1e-6, "{:?} {moved:?}", after.reading.centre);
        assert_ne!(after.advice.action, Action::Move, "what was advised has been done");
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
        assert_eq!(answer.advice.action, Action::Move);
        assert!(answer.advice.clicks[0] < 0 && answer.advice.clicks[1] > 0);

        let mut pace = Pace::new(settings(0.0, 0.0, 6.0));
        pace.take(Event::Shot(Shot::at(20.0, 10.0))).unwrap();
        assert_ne!(pace.answer().unwrap().advice.action, Action::Move);
    }

    #[test]
    fn no_touch_when_there_is_no_time() {
        let mut pace = Pace::new(settings(0.0, 0.0, 0.1));
        for shot in shots(3, 300.0, 0.0, 5) {
            pace.take(Event::Shot(shot)).unwrap();
        }
        assert_eq!(pace.answer().unwrap().advice.action, Action::Move);
        pace.take(Event::TimeLeft(40.0)).unwrap();
        assert_eq!(pace.answer().unwrap().advice.action, Action::Wait);
        pace.take(Event::EndOfEnd).unwrap();
        assert_eq!(pace.answer().unwrap().advice.action, Action::Move);
    }

    #[test]
    fn windage_comes_along_to_the_next_distance() {
        let mut pace = Pace::new(settings(0.0, 0.0, 0.1));
        for shot in shots(6, 140.0, 140.0, 6) {
            pace.take(Event::Shot(shot)).unwrap();
        }
        let mut s = settings(0.0, 0.0, 1.0);
        s.distance = Distance::from_metres(35.0).unwrap();
        let next = pace.at_next_distance(s).unwrap().answer().unwrap();
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
