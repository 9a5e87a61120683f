//! One session of the log, put in order, and as core reads it.

use std::collections::BTreeSet;

use goldward_core::face::{Face, Score};
use goldward_core::group::ClassOdds;
use goldward_core::matches::{Duel, Verdict};
use goldward_core::pace::{self, Event};
use goldward_core::plane::Point;
use goldward_core::shot::{self, Call, Place};
use goldward_core::sight::Sight;
use goldward_core::units::{Distance, Shaft};
use goldward_journal::{self as journal, Body, End, Log, Mark, Record, Session, Shot};
use uuid::Uuid;

use super::learnt::{Learnt, trust_of};
use super::{ViewError, learnt};
use crate::duel::{self, Made};
use crate::group::Group;
use crate::kit::Kit;
use crate::session::{self, Builder, Listed};
use crate::settings::{Round, Settings, Wishes};

/// Free practice plans this many ends ahead.
pub const ENDS_AHEAD: u32 = 4;

/// One session with all that belongs to it, in the order in which it was shot.
#[derive(Debug, Clone)]
pub struct SessionView<'a> {
    /// The record of the session.
    pub record: &'a Record,
    /// What it says.
    pub session: &'a Session,
    /// Its kit, when it is there.
    pub kit: Option<&'a journal::Kit>,
    /// The same as every reading takes it; all defaults when there is none.
    pub own: Kit,
    /// Its mark, when it is there.
    pub mark: Option<&'a Mark>,
    /// Shots by end and number, sighting shots included.
    pub shots: Vec<(&'a Record, &'a Shot)>,
    /// Where each of them landed and how it felt.
    places: Vec<shot::Shot>,
    /// Shots left out, since nobody can say where they landed: neither place nor call, or a call that the face does not have.
    pub unreadable: Vec<Uuid>,
    /// Touches, in order.
    pub touches: Vec<(&'a Record, &'a journal::Touch)>,
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

/// Ends in which a spot of several has more than one arrow, of arrows by end and spot. By common rules only the lowest of them scores
/// there (common practice, no source); no score here takes that in, since it is the event's to say.
#[must_use]
pub fn shared_spots(arrows: impl Iterator<Item = (u32, Option<u32>)>) -> Vec<u32> {
    let mut all: Vec<(u32, u32)> = arrows.filter_map(|(end, spot)| Some((end, spot?))).collect();
    all.sort_unstable();
    let mut ends: Vec<u32> = all.windows(2).filter(|w| w[0] == w[1]).map(|w| w[0].0).collect();
    ends.dedup();
    ends
}

/// What happened, in order.
enum Act<'a> {
    Shot(usize),
    Touch(&'a journal::Touch),
}

impl<'a> SessionView<'a> {
    /// The session `id` of that archer in `log`.
    ///
    /// # Errors
    /// [`ViewError`] when it is not there, or names a face or numbers that are unknown here.
    pub fn of(log: &'a Log, archer: Uuid, id: Uuid) -> Result<Self, ViewError> {
        let record = log.get(archer, id).ok_or(ViewError::NoSession(id))?;
        let Body::Session(session) = &record.body else { return Err(ViewError::NoSession(id)) };
        let kit = session.kit.and_then(|k| log.get(archer, k)).and_then(|r| match &r.body {
            Body::Kit(kit) => Some(kit.as_ref()),
            _ => None,
        });
        let mark = session.mark.and_then(|m| log.get(archer, m)).and_then(|r| match &r.body {
            Body::Mark(mark) => Some(mark),
            _ => None,
        });
        let (mut all, mut touches, mut ends) = (Vec::new(), Vec::new(), Vec::new());
        for part in log.parts(archer, id) {
            match &part.body {
                Body::Shot(b) => all.push((part, b)),
                Body::Touch(b) => touches.push((part, b)),
                Body::End(b) => ends.push((part, b)),
                _ => {}
            }
        }
        all.sort_unstable_by_key(|(r, s)| (s.end, s.index, r.id));
        touches.sort_unstable_by_key(|(r, t)| (t.after_end, t.after_index, t.at_ms, r.id));
        ends.sort_unstable_by_key(|(r, e)| (e.end, r.id));
        let own = kit.map(Kit::from).unwrap_or_default();
        let (face, distance) = (Face::named(&session.face)?, Distance::from_metres(session.distance_m)?);
        let Settings { shaft, sight, .. } = Settings::new(distance, face, &own.wishes)?;
        let (mut shots, mut places, mut unreadable) = (Vec::new(), Vec::new(), Vec::new());
        for (record, shot) in all {
            match place(shot, face, shaft) {
                Some(place) => {
                    shots.push((record, shot));
                    places.push(place);
                }
                None => unreadable.push(record.id),
            }
        }
        Ok(Self {
            record,
            session,
            kit,
            own,
            mark,
            shots,
            places,
            unreadable,
            touches,
            ends,
            face,
            distance,
            shaft,
            sight,
        })
    }

    /// Shots and touches in the order in which they happened: a touch after shot k comes before every later one.
    fn acts(&self) -> Vec<Act<'a>> {
        let mut acts = Vec::with_capacity(self.shots.len() + self.touches.len());
        let mut touches = self.touches.iter().peekable();
        for (i, (_, shot)) in self.shots.iter().enumerate() {
            while let Some((_, t)) = touches.next_if(|(_, t)| (t.after_end, t.after_index) < (shot.end, shot.index)) {
                acts.push(Act::Touch(t));
            }
            acts.push(Act::Shot(i));
        }
        acts.extend(touches.map(|(_, t)| Act::Touch(t)));
        acts
    }

    /// Number of the last end that is over; 0 when none is.
    #[must_use]
    pub fn ends_done(&self) -> u32 {
        self.ends.last().map_or(0, |(_, e)| e.end)
    }

    /// What happened, as [`goldward_core::pace::Pace`] takes it. An end is over when it is told to be or a later one began.
    #[must_use]
    pub fn events(&self) -> Vec<Event> {
        let mut events = Vec::new();
        // Ends nobody shot in do not count, so that a damaged number cannot make millions of them.
        let mut open: BTreeSet<u32> =
            self.shots.iter().map(|(_, s)| s.end).chain(self.ends.iter().map(|(_, e)| e.end)).collect();
        let mut over = |events: &mut Vec<Event>, before: u32| {
            while open.first().is_some_and(|end| *end < before) {
                open.pop_first();
                events.push(Event::EndOfEnd);
            }
        };
        for act in self.acts() {
            match act {
                Act::Shot(i) => {
                    over(&mut events, self.shots[i].1.end);
                    events.push(Event::Shot(self.places[i]));
                }
                Act::Touch(t) => {
                    // After the last arrow of an end it still belongs to it, whether or not that end is over by now.
                    over(&mut events, t.after_end);
                    events.push(Event::Touch(Point::new(t.right_mm, t.up_mm)));
                }
            }
        }
        over(&mut events, self.ends_done().saturating_add(1));
        events
    }

    /// The session as every reading takes it; its touches move the arrows as `settings` say.
    #[must_use]
    pub fn session(&self, settings: &Settings) -> session::Session {
        let mut builder = Builder::new(settings);
        for act in self.acts() {
            match act {
                Act::Shot(i) => {
                    let (_, shot) = self.shots[i];
                    builder.shot(Listed {
                        shot: self.places[i],
                        end: shot.end.to_string(),
                        arrow: shot.arrow.clone().unwrap_or_default(),
                        line: 0,
                    });
                }
                Act::Touch(t) => builder.touch(Point::new(t.right_mm, t.up_mm)),
            }
        }
        builder.done()
    }

    /// All shots, each with what the touches since have moved the arrows by as its `carry`.
    #[must_use]
    pub fn carried(&self) -> Vec<shot::Shot> {
        self.group_settings().map(|s| self.session(&s).core_shots()).unwrap_or_default()
    }

    /// The shots that have a place.
    ///
    /// # Errors
    /// As [`SessionView::group_settings`].
    pub fn group(&self) -> Result<Group, ViewError> {
        let settings = self.group_settings()?;
        Ok(Group::of(&self.session(&settings), &settings))
    }

    /// The settings before anything is learnt of the archer.
    ///
    /// # Errors
    /// [`ViewError`] when a number of the kit is out of range, which [`SessionView::of`] has ruled out.
    pub fn group_settings(&self) -> Result<Settings, ViewError> {
        Ok(Settings::new(self.distance, self.face, &self.own.wishes)?)
    }

    /// Whether that end counts.
    #[must_use]
    pub fn counts(&self, end: u32) -> bool {
        end > self.session.sighting_ends && !self.is_single(end)
    }

    /// Whether that end is beyond those of a match: a single arrow each, shot because both were level.
    #[must_use]
    pub fn is_single(&self, end: u32) -> bool {
        let s = self.session;
        s.match_by.is_some() && s.ends > 0 && end > s.sighting_ends.saturating_add(s.ends)
    }

    /// Where each of the shots landed and how it felt, not carried.
    #[must_use]
    pub fn placed(&self) -> &[shot::Shot] {
        &self.places
    }

    /// Points of shot `i` (from 0).
    #[must_use]
    pub fn score(&self, i: usize) -> Score {
        self.places[i].place.score(self.face, self.shaft)
    }

    fn total_of(&self, i: usize) -> Total {
        let score = self.score(i);
        Total {
            points: u32::from(score.value),
            shots: 1,
            inner_tens: u32::from(score.inner_ten),
            highest: u32::from(score.value == self.face.highest_value()),
            misses: u32::from(score.value == 0),
        }
    }

    /// Points of the ends that count.
    #[must_use]
    pub fn total(&self) -> Total {
        let counted = (0..self.shots.len()).filter(|i| self.counts(self.shots[*i].1.end));
        counted.map(|i| self.total_of(i)).sum()
    }

    /// Points end by end, of the ends that have shots.
    #[must_use]
    pub fn totals(&self) -> Vec<EndTotal> {
        let mut out: Vec<EndTotal> = Vec::new();
        for (i, (_, shot)) in self.shots.iter().enumerate() {
            let total = self.total_of(i);
            match out.last_mut() {
                Some(last) if last.end == shot.end => last.total = last.total + total,
                _ => out.push(EndTotal { end: shot.end, counts: self.counts(shot.end), total }),
            }
        }
        out
    }

    /// Points of the other archer in a match by end, from the first end that counts to the last that is over.
    #[must_use]
    pub fn theirs(&self) -> Vec<Option<u32>> {
        let last = self.ends_done().min(self.session.sighting_ends.saturating_add(self.session.ends));
        let of = |end: u32| self.ends.iter().find(|(_, e)| e.end == end).and_then(|(_, e)| e.their_points);
        (self.session.sighting_ends.saturating_add(1)..=last).map(of).collect()
    }

    /// The match that the session is, as it stands: ends of both until one is missing.
    #[must_use]
    pub fn duel(&self) -> Option<Duel> {
        let s = self.session;
        let format = duel::format(s.match_by.as_deref()?, s.ends, s.shots_per_end)?;
        let full = |end: u32, shots: u32| end <= self.ends_done() || shots >= s.shots_per_end;
        let mine: Vec<Made> = self
            .totals()
            .into_iter()
            .filter(|t| t.counts)
            .map(|t| Made { points: t.total.points, left: !full(t.end, t.total.shots), shots: t.total.shots })
            .collect();
        let whole = |points: u32| Made { points, left: false, shots: s.shots_per_end };
        let theirs: Vec<Made> = self.theirs().into_iter().map_while(|points| points.map(whole)).collect();
        let mut duel = duel::duel(format, &mine, &theirs, s.opponent_arrow);
        let judged = self.ends.iter().rev().filter(|(_, e)| self.is_single(e.end));
        duel.standing.single = judged.filter_map(|(_, e)| e.nearer).next();
        Some(duel)
    }

    /// How many ends of a single arrow were shot or are to be shot.
    fn singles(&self) -> u32 {
        let level = self.duel().is_some_and(|d| d.standing.settled(&d.format).verdict(&d.format) == Verdict::ShootOff);
        let last = self.shots.last().map_or(0, |(_, s)| s.end).max(self.ends_done());
        let shot = if self.is_single(last) { last - self.session.sighting_ends - self.session.ends } else { 0 };
        // The next one begins when the one before is over.
        let over = last == self.ends_done();
        shot + u32::from(level && over)
    }

    /// What a reading of this session wishes for: the kit, the spread and its worth as `learnt`, the trust from how the
    /// setting was proven.
    #[must_use]
    pub fn wishes(&self, learnt: Option<&Learnt>) -> Wishes {
        let mut wishes = self.own.wishes;
        if let Some(l) = learnt {
            l.tell(&mut wishes);
        }
        wishes.trust = Some(trust_of(self.session, self.mark, &self.own));
        wishes
    }

    /// The settings of a reading, with the archer's `odds`; habits that were learnt stand above these.
    ///
    /// # Errors
    /// [`ViewError`] when a number is out of range.
    pub fn settings(&self, learnt: Option<&Learnt>, odds: ClassOdds) -> Result<Settings, ViewError> {
        let settings = Settings::new(self.distance, self.face, &self.wishes(learnt))?;
        Ok(if learnt.is_some_and(|l| l.habits.is_some()) { settings } else { Settings { unmarked: odds, ..settings } })
    }

    /// What earlier sessions of the same log tell of the spread.
    ///
    /// # Errors
    /// [`ViewError`] when the kit's own spread is out of range.
    pub fn learnt(&self, log: &Log) -> Result<Learnt, ViewError> {
        learnt(log, self.record.archer, self.distance, self.kit, self.session.at_ms)
    }

    /// The ends of the distance; free practice goes on a few ends beyond what was shot.
    #[must_use]
    pub fn round(&self) -> Round {
        let s = self.session;
        Round {
            sighting_ends: s.sighting_ends,
            ends: if s.ends == 0 {
                self.ends_done().saturating_sub(s.sighting_ends).saturating_add(ENDS_AHEAD)
            } else {
                s.ends.saturating_add(self.singles())
            },
            shots_per_end: s.shots_per_end.max(1),
            ..Round::default()
        }
    }

    /// The settings for [`goldward_core::pace::Pace`]; feed it [`SessionView::events`].
    ///
    /// # Errors
    /// As [`SessionView::settings`].
    pub fn pace(&self, learnt: Option<&Learnt>, odds: ClassOdds) -> Result<pace::Settings, ViewError> {
        Ok(self.round().pace(&self.settings(learnt, odds)?))
    }
}

/// Where a shot landed and how it felt; nothing when that cannot be read on `face`.
fn place(shot: &Shot, face: &Face, shaft: Shaft) -> Option<shot::Shot> {
    let place = match (shot.x_mm, shot.y_mm, &shot.call) {
        (Some(x), Some(y), _) if Point::new(x, y).is_finite() => Place::At(Point::new(x, y)),
        (_, _, Some(call)) => Place::Called(Call::on_face(call, face, shaft).ok()?),
        _ => return None,
    };
    let felt = match shot.felt {
        None => shot::Felt::Unmarked,
        Some(journal::Felt::Bad) => shot::Felt::Bad,
        Some(journal::Felt::Good) => shot::Felt::Good,
    };
    Some(shot::Shot { place, felt, ..shot::Shot::at(0.0, 0.0) }.in_end(shot.end))
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
