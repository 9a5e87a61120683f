//! One session, put in order.

use goldward_core::advice::TOUCH_COST_DEFAULT;
use goldward_core::face::Face;
use goldward_core::group::Prior;
use goldward_core::pace::{Event, Settings};
use goldward_core::plane::Point;
use goldward_core::shot::{self, Call, Place, Ring};
use goldward_core::sight::Sight;
use goldward_core::units::{Distance, Shaft};
use uuid::Uuid;

use super::learnt::{Learnt, trust_of};
use super::{ViewError, learnt};
use crate::body::{Body, End, Felt, Kit, Mark, Session, Shot, Touch};
use crate::log::Log;
use crate::record::Record;

/// One session with all that belongs to it, in the order in which it was shot.
#[derive(Debug, Clone)]
pub struct SessionView<'a> {
    /// The record of the session.
    pub record: &'a Record,
    /// What it says.
    pub session: &'a Session,
    /// Its kit, when it is there.
    pub kit: Option<&'a Kit>,
    /// Its mark, when it is there.
    pub mark: Option<&'a Mark>,
    /// Shots by end and number, sighting shots included.
    pub shots: Vec<(&'a Record, &'a Shot)>,
    /// Touches, in order.
    pub touches: Vec<(&'a Record, &'a Touch)>,
    /// Ends that are over, in order.
    pub ends: Vec<(&'a Record, &'a End)>,
    /// The face.
    pub face: &'static Face,
    /// The distance.
    pub distance: Distance,
    /// The shaft.
    pub shaft: Shaft,
    /// The sight.
    pub sight: Sight,
}

/// Points of some shots; sighting shots do not count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Total {
    /// Points.
    pub points: u32,
    /// Arrows.
    pub shots: u32,
    /// Inner tens.
    pub inner_tens: u32,
    /// Arrows with the highest value of the face, inner tens included.
    pub highest: u32,
    /// Misses.
    pub misses: u32,
}

/// The points of one end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EndTotal {
    /// Number, from 1, sighting ends included.
    pub end: u32,
    /// Whether it counts.
    pub counts: bool,
    /// Its points, also when it does not count.
    pub total: Total,
}

/// One act of a session.
enum Act<'a> {
    Shot(&'a Record, &'a Shot),
    Touch(&'a Touch),
}

impl<'a> SessionView<'a> {
    /// The session `id` of `log`.
    ///
    /// # Errors
    /// [`ViewError`] when it is not there, or names a face or numbers that are unknown here.
    pub fn of(log: &'a Log, id: Uuid) -> Result<Self, ViewError> {
        let record = log.get(id).ok_or(ViewError::NoSession(id))?;
        let Body::Session(session) = &record.body else { return Err(ViewError::NoSession(id)) };
        let kit = session.kit.and_then(|k| log.get(k)).and_then(|r| match &r.body {
            Body::Kit(kit) => Some(kit.as_ref()),
            _ => None,
        });
        let mark = session.mark.and_then(|m| log.get(m)).and_then(|r| match &r.body {
            Body::Mark(mark) => Some(mark),
            _ => None,
        });
        let (mut shots, mut touches, mut ends) = (Vec::new(), Vec::new(), Vec::new());
        for part in log.parts(id).filter(|r| r.archer == record.archer) {
            match &part.body {
                Body::Shot(b) => shots.push((part, b)),
                Body::Touch(b) => touches.push((part, b)),
                Body::End(b) => ends.push((part, b)),
                _ => {}
            }
        }
        shots.sort_unstable_by_key(|(r, s)| (s.end, s.index, r.id));
        touches.sort_unstable_by_key(|(r, t)| (t.after_end, t.after_index, r.id));
        ends.sort_unstable_by_key(|(r, e)| (e.end, r.id));
        let default = Sight::default();
        let kit_or = |pick: fn(&Kit) -> Option<f64>, or: f64| kit.and_then(pick).unwrap_or(or);
        Ok(Self {
            record,
            session,
            kit,
            mark,
            shots,
            touches,
            ends,
            face: Face::named(&session.face)?,
            distance: Distance::from_metres(session.distance_m)?,
            shaft: Shaft::from_diameter_mm(kit_or(|k| k.shaft_mm, Shaft::default().diameter_mm()))?,
            sight: Sight::new(
                kit_or(|k| k.eye_to_pin_mm, default.eye_to_pin_mm()),
                [
                    kit_or(|k| k.click_windage_mm, default.click_mm()[0]),
                    kit_or(|k| k.click_elevation_mm, default.click_mm()[1]),
                ],
                kit_or(|k| k.setting_sd_mm, default.setting_sd_mm()),
            )?,
        })
    }

    /// Shots and touches in the order in which they happened.
    fn acts(&self) -> Vec<Act<'a>> {
        let mut acts = Vec::with_capacity(self.shots.len() + self.touches.len());
        let mut touches = self.touches.iter().peekable();
        for (record, shot) in &self.shots {
            // A touch after shot k comes before every shot later than k.
            while let Some((_, t)) = touches.next_if(|(_, t)| (t.after_end, t.after_index) < (shot.end, shot.index)) {
                acts.push(Act::Touch(t));
            }
            acts.push(Act::Shot(record, shot));
        }
        acts.extend(touches.map(|(_, t)| Act::Touch(t)));
        acts
    }

    /// What happened, as [`goldward_core::pace::Pace`] takes it. An end is over when it is told to be or a later one began.
    ///
    /// # Errors
    /// [`ViewError`] for a shot that has no place, or a call that the face does not have.
    pub fn events(&self) -> Result<Vec<Event>, ViewError> {
        let mut events = Vec::new();
        let mut end = self.shots.first().map_or(1, |(_, s)| s.end.max(1));
        for act in self.acts() {
            match act {
                Act::Shot(record, shot) => {
                    if shot.end > end {
                        events.push(Event::EndOfEnd);
                        end = shot.end;
                    }
                    events.push(Event::Shot(self.shot(record, shot)?));
                }
                Act::Touch(touch) => events.push(Event::Touch(Point::new(touch.right_mm, touch.up_mm))),
            }
        }
        if self.ends.iter().any(|(_, e)| e.end >= end) {
            events.push(Event::EndOfEnd);
        }
        Ok(events)
    }

    fn shot(&self, record: &Record, shot: &Shot) -> Result<shot::Shot, ViewError> {
        let place = match (shot.x_mm, shot.y_mm, &shot.call) {
            (Some(x), Some(y), _) => Place::At(Point::new(x, y)),
            (_, _, Some(call)) => {
                let call: Call = call.parse()?;
                call.cell(self.face, self.shaft)?;
                Place::Called(call)
            }
            _ => return Err(ViewError::NoPlace(record.id)),
        };
        let felt = match shot.felt {
            None => shot::Felt::Unmarked,
            Some(Felt::Bad) => shot::Felt::Bad,
            Some(Felt::Good) => shot::Felt::Good,
        };
        Ok(shot::Shot { place, felt, carry: Point::default() })
    }

    /// All shots, each with what the touches since have moved the arrows by as its `carry`.
    ///
    /// # Errors
    /// As [`SessionView::events`].
    pub fn shots(&self) -> Result<Vec<shot::Shot>, ViewError> {
        let mut shots = Vec::with_capacity(self.shots.len());
        // From the last act back, the carry grows with every touch met.
        let mut carry = Point::default();
        for act in self.acts().into_iter().rev() {
            match act {
                Act::Touch(t) => carry = carry + self.sight.shift_mm(Point::new(t.right_mm, t.up_mm), self.distance),
                Act::Shot(record, shot) => shots.push(shot::Shot { carry, ..self.shot(record, shot)? }),
            }
        }
        shots.reverse();
        Ok(shots)
    }

    /// Whether that end counts.
    #[must_use]
    pub fn counts(&self, end: u32) -> bool {
        end > self.session.sighting_ends
    }

    /// Points of one shot; nothing when its place cannot be read.
    #[must_use]
    pub fn total_of(&self, shot: &Shot) -> Total {
        let (value, inner) = match (shot.x_mm, shot.y_mm, &shot.call) {
            (Some(x), Some(y), _) => {
                let score = self.face.score(Point::new(x, y), self.shaft);
                (score.value, score.inner_ten)
            }
            (_, _, Some(call)) => match call.parse::<Call>() {
                Ok(call) => (call.value(self.face), call.ring == Ring::InnerTen),
                Err(_) => return Total::default(),
            },
            _ => return Total::default(),
        };
        Total {
            points: u32::from(value),
            shots: 1,
            inner_tens: u32::from(inner),
            highest: u32::from(value == self.face.highest_value()),
            misses: u32::from(value == 0),
        }
    }

    /// Points of the ends that count.
    #[must_use]
    pub fn total(&self) -> Total {
        self.shots.iter().filter(|(_, s)| self.counts(s.end)).map(|(_, s)| self.total_of(s)).sum()
    }

    /// Points end by end, of the ends that have shots.
    #[must_use]
    pub fn totals(&self) -> Vec<EndTotal> {
        let mut out: Vec<EndTotal> = Vec::new();
        for (_, shot) in &self.shots {
            let total = self.total_of(shot);
            match out.last_mut() {
                Some(last) if last.end == shot.end => last.total = last.total + total,
                _ => out.push(EndTotal { end: shot.end, counts: self.counts(shot.end), total }),
            }
        }
        out
    }

    /// What is known before the first shot: spread and worth as `learnt`, trust from how the setting was proven.
    ///
    /// # Errors
    /// [`ViewError`] when a number of the kit is out of range.
    pub fn prior(&self, learnt: &Learnt) -> Result<Prior, ViewError> {
        let trust = trust_of(self.session, self.mark, self.kit);
        Ok(Prior::new(learnt.spread, self.distance, learnt.worth, trust)?)
    }

    /// What earlier sessions of the same log tell of the spread.
    ///
    /// # Errors
    /// [`ViewError`] when the kit's own spread is out of range.
    pub fn learnt(&self, log: &Log) -> Result<Learnt, ViewError> {
        learnt(log, self.record.archer, self.distance, self.kit, self.session.at_ms)
    }

    /// The settings for [`goldward_core::pace::Pace`]; feed it [`SessionView::events`].
    ///
    /// # Errors
    /// As [`SessionView::prior`].
    pub fn settings(&self, learnt: &Learnt) -> Result<Settings, ViewError> {
        let (session, per_end) = (self.session, self.session.shots_per_end.max(1) as usize);
        let mut settings =
            Settings::new(self.distance, self.face, self.shaft, self.sight, self.prior(learnt)?, per_end);
        settings.sighting_ends = session.sighting_ends as usize;
        settings.ends = session.ends as usize;
        settings.shots_per_end = per_end;
        settings.touch_cost = self.kit.and_then(|k| k.touch_cost_points).unwrap_or(TOUCH_COST_DEFAULT);
        Ok(settings)
    }
}

impl std::ops::Add for Total {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self {
            points: self.points + o.points,
            shots: self.shots + o.shots,
            inner_tens: self.inner_tens + o.inner_tens,
            highest: self.highest + o.highest,
            misses: self.misses + o.misses,
        }
    }
}

impl std::iter::Sum for Total {
    fn sum<I: Iterator<Item = Self>>(totals: I) -> Self {
        totals.fold(Self::default(), |a, b| a + b)
    }
}
