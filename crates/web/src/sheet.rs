//! A session as the log has it, ready for the shooting screen: its acts in order, what core makes of them, and the score.

use goldward_core::face::{Face, Score};
use goldward_core::group::ClassOdds;
use goldward_core::matches::{Duel, Verdict};
use goldward_core::pace::{Answer, Event, Pace, Settings};
use goldward_core::plane::Point;
use goldward_core::shot::{Felt, Place};
use goldward_core::sight::Sight;
use goldward_core::units::{Distance, Shaft};
use goldward_journal::{self as journal, Kit, Log, Record, Session, Uuid};
use goldward_session as session;
use goldward_session::log::{Learnt, SessionView};
use goldward_session::settings::{Round, Wishes};

/// A shot of the session.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Its record.
    pub id: Uuid,
    /// End, from 1.
    pub end: u32,
    /// Number in the end, from 1.
    pub index: u32,
    /// Where, in the frame it was shot in.
    pub place: Place,
    /// How it felt.
    pub felt: Felt,
    /// The spot aimed at on a face of several, from 1.
    pub spot: Option<u32>,
    /// Which arrow.
    pub arrow: Option<String>,
    /// Points.
    pub score: Score,
    /// Sum of the touches before it, in millimetres at the pin.
    pub touched_mm: Point,
}

/// A session laid out.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// The session's id.
    pub id: Uuid,
    /// The session.
    pub session: Session,
    /// The face.
    pub face: &'static Face,
    /// The kit, with defaults where nothing is known.
    pub kit: Kit,
    /// The shots, oldest first.
    pub rows: Vec<Row>,
    /// What core is told, in order.
    pub events: Vec<Event>,
    /// Ends that are over.
    pub ends_done: u32,
    /// Sum of all touches, in millimetres at the pin.
    pub touched_mm: Point,
    /// Record of the latest act at the line: a shot, a touch or the end of an end.
    pub last_act: Option<Uuid>,
    /// What a reading of it wishes for, before anything is learnt.
    pub wishes: Wishes,
    /// Its ends, for pacing them.
    pub round: Round,
    /// The match that it is, as it stands.
    pub duel: Option<Duel>,
    /// Points of the other archer in a match by end, from the first that counts, as far as they are told.
    pub theirs: Vec<Option<u32>>,
    /// What earlier sessions tell of the spread; the kit's number counts where it is not there.
    pub learnt: Option<Learnt>,
    /// Class odds of shots, with what the archer's felt marks have earned.
    pub odds: ClassOdds,
}

/// The sight of a kit, with defaults for what it does not say.
#[must_use]
pub fn sight(kit: &Kit) -> Sight {
    session::kit::Kit::from(kit).sight()
}

/// The shaft of a kit.
#[must_use]
pub fn shaft(kit: &Kit) -> Shaft {
    session::kit::Kit::from(kit).shaft()
}

/// What the sessions before session `id` tell; nothing when there are none at that distance, and none that tell of habits.
#[must_use]
pub fn learnt(log: &Log, archer: Uuid, id: Uuid) -> Option<Learnt> {
    let view = SessionView::of(log, archer, id).ok()?;
    view.learnt(log).ok().filter(|l| l.sessions > 0 || l.habits.is_some() || l.course.is_some())
}

impl Sheet {
    /// The session `id` of that archer in `log`; nothing when it is not there or its face is unknown.
    #[must_use]
    pub fn of(log: &Log, archer: Uuid, id: Uuid) -> Option<Self> {
        let view = SessionView::of(log, archer, id).ok()?;
        let row = |(i, (r, s)): (usize, &(&Record, &journal::Shot))| {
            let shot = view.placed()[i];
            let (place, felt, score) = (shot.place, shot.felt, view.score(i));
            let touched_mm = Point::default();
            Row {
                id: r.id,
                end: s.end,
                index: s.index,
                place,
                felt,
                spot: s.spot,
                arrow: s.arrow.clone(),
                score,
                touched_mm,
            }
        };
        let mut rows: Vec<Row> = view.shots.iter().enumerate().map(row).collect();
        let events = view.events();
        let (mut touched_mm, mut rest) = (Point::default(), rows.iter_mut());
        for event in &events {
            match event {
                Event::Shot(_) => rest.next().into_iter().for_each(|r| r.touched_mm = touched_mm),
                Event::Touch(pin) => touched_mm = touched_mm + *pin,
                _ => {}
            }
        }
        let last_act = match events.last() {
            Some(Event::Shot(_)) => rows.last().map(|r| r.id),
            Some(Event::Touch(_)) => view.touches.last().map(|(r, _)| r.id),
            Some(Event::EndOfEnd) => view.ends.last().map(|(r, _)| r.id),
            _ => None,
        };
        Some(Self {
            id,
            session: view.session.clone(),
            face: view.face,
            kit: view.kit.cloned().unwrap_or_default(),
            events,
            ends_done: view.ends_done(),
            touched_mm,
            last_act,
            wishes: view.wishes(None),
            round: view.round(),
            duel: view.duel(),
            theirs: view.theirs(),
            rows,
            learnt: None,
            odds: ClassOdds::default(),
        })
    }

    /// Whether it is free practice, without an end in sight.
    #[must_use]
    pub fn is_free(&self) -> bool {
        self.session.ends == 0
    }

    /// The end being shot, from 1.
    #[must_use]
    pub fn end_now(&self) -> u32 {
        self.ends_done + 1
    }

    /// The end that is told to the archer: of a round that is over the last one, not one more.
    #[must_use]
    pub fn end_shown(&self) -> u32 {
        let planned = self.session.sighting_ends + self.session.ends;
        if self.is_free() || self.is_level() { self.end_now() } else { self.end_now().min(planned) }
    }

    /// Whether it is a match that is level after its last end: a single arrow each decides.
    #[must_use]
    pub fn is_level(&self) -> bool {
        self.duel.is_some_and(|d| d.standing.settled(&d.format).verdict(&d.format) == Verdict::ShootOff)
    }

    /// Whether that end is a single arrow each, after the last end of a match.
    #[must_use]
    pub fn is_single(&self, end: u32) -> bool {
        self.duel.is_some() && !self.is_free() && end > self.session.sighting_ends + self.session.ends
    }

    /// Arrows of that end.
    #[must_use]
    pub fn arrows_of(&self, end: u32) -> u32 {
        if self.is_single(end) { 1 } else { self.session.shots_per_end }
    }

    /// Shots of one end.
    #[must_use]
    pub fn shots_of(&self, end: u32) -> u32 {
        self.rows.iter().filter(|r| r.end == end).count() as u32
    }

    /// Shots in the end being shot.
    #[must_use]
    pub fn shots_in_end(&self) -> u32 {
        self.rows.iter().filter(|r| r.end > self.ends_done).count() as u32
    }

    /// Whether the end being shot has all its arrows.
    #[must_use]
    pub fn end_full(&self) -> bool {
        self.shots_in_end() >= self.arrows_of(self.end_now())
    }

    /// Whether everything planned has been shot.
    #[must_use]
    pub fn is_over(&self) -> bool {
        let planned = self.session.sighting_ends + self.session.ends;
        !self.is_free()
            && !self.is_level()
            && (self.ends_done >= planned || (self.ends_done + 1 == planned && self.end_full()))
    }

    /// Number of the next shot: end and index.
    #[must_use]
    pub fn next_place(&self) -> (u32, u32) {
        if self.end_full() {
            return (self.end_now() + 1, 1);
        }
        let last = self.rows.iter().filter(|r| r.end == self.end_now()).map(|r| r.index).max().unwrap_or(0);
        (self.end_now(), last + 1)
    }

    /// Arrows still to come, as they are planned or, in free practice, assumed.
    #[must_use]
    pub fn shots_to_come(&self) -> u32 {
        if self.is_single(self.end_now()) {
            return u32::from(self.is_level() && !self.end_full());
        }
        let all = (self.round.sighting_ends + self.round.ends).saturating_sub(self.ends_done);
        (all * self.round.shots_per_end).saturating_sub(self.shots_in_end())
    }

    /// How many arrows the setting at the beginning is worth.
    #[must_use]
    pub fn trust(&self) -> f64 {
        self.wishes.trust.unwrap_or(goldward_core::group::TRUST_UNKNOWN)
    }

    /// What core is told before the first shot.
    #[must_use]
    pub fn settings(&self) -> Option<Settings> {
        let mut wishes = self.wishes;
        if let Some(l) = self.learnt {
            l.tell(&mut wishes);
        }
        let distance = Distance::from_metres(self.session.distance_m).ok()?;
        let settings = session::settings::Settings::new(distance, self.face, &wishes).ok()?;
        let own = self.learnt.is_some_and(|l| l.habits.is_some());
        let unmarked = if own { settings.unmarked } else { self.odds };
        Some(self.round.pace(&session::settings::Settings { unmarked, ..settings }))
    }

    /// Brings `pace` to this sheet, keeping what it has already worked out; a new one when the settings differ.
    pub fn carry(&self, pace: &mut Option<Pace>) -> Option<()> {
        let settings = self.settings()?;
        if pace.as_ref().is_none_or(|p| *p.settings() != settings) {
            *pace = Some(Pace::new(settings));
        }
        let p = pace.as_mut()?;
        let same = p.events().iter().zip(&self.events).take_while(|(a, b)| a == b).count();
        while p.events().len() > same {
            p.undo().ok()?;
        }
        for event in &self.events[same..] {
            // What core refuses (a damaged record) is left out rather than blocking the session.
            let _ = p.take(*event);
        }
        Some(())
    }

    /// Points and arrows of one end.
    #[must_use]
    pub fn of_end(&self, end: u32) -> (u32, u32) {
        let rows = self.rows.iter().filter(|r| r.end == end);
        rows.fold((0, 0), |(p, n), r| (p + u32::from(r.score.value), n + 1))
    }

    /// Points and arrows that count.
    #[must_use]
    pub fn total(&self) -> (u32, u32) {
        let rows = self.rows.iter().filter(|r| r.end > self.session.sighting_ends && !self.is_single(r.end));
        rows.fold((0, 0), |(p, n), r| (p + u32::from(r.score.value), n + 1))
    }

    /// Whether the sight was moved after shot `i` (from 0).
    #[must_use]
    pub fn is_before_touch(&self, i: usize) -> bool {
        self.rows[i].touched_mm != self.touched_mm
    }

    /// Where shot `i` (from 0) hit, whatever was done to the sight since; of a call the likely place.
    #[must_use]
    pub fn shot_at(&self, i: usize, answer: Option<&Answer>) -> Point {
        let row = &self.rows[i];
        match row.place {
            Place::At(p) => p,
            Place::Called(_) => {
                // Core carries places into the present frame: here back into their own.
                let now = answer.and_then(|a| a.reading.places.get(i)).copied().unwrap_or_default();
                let sight = self.settings().map_or_else(|| sight(&self.kit), |s| s.sight);
                let shift = Distance::from_metres(self.session.distance_m)
                    .map(|d| sight.shift_mm(self.touched_mm - row.touched_mm, d));
                now + shift.unwrap_or_default()
            }
        }
    }

    /// The same on the sheet of the face: as [`Self::shot_at`] of the spot that was aimed at.
    #[must_use]
    pub fn on_sheet(&self, i: usize, answer: Option<&Answer>) -> Point {
        self.shot_at(i, answer) + self.face.spot_centre(self.rows[i].spot)
    }

    /// The spot that has no arrow of this end yet, the first in the order of the face; nothing on a plain face, or when all have one.
    #[must_use]
    pub fn next_spot(&self) -> Option<u32> {
        if self.face.spots.len() < 2 {
            return None;
        }
        let end = self.next_place().0;
        let taken = |n: u32| self.rows.iter().any(|r| r.end == end && r.spot == Some(n));
        (1..=self.face.spots.len() as u32).find(|n| !taken(*n))
    }

    /// How many ends have two arrows on one spot.
    #[must_use]
    pub fn shared_spots(&self) -> usize {
        goldward_session::log::shared_spots(self.rows.iter().map(|r| (r.end, r.spot))).len()
    }

    /// Units of the kit's scales for a millimetre of the pin to the right and up.
    fn scales(&self) -> (f64, f64) {
        let one = |unit: Option<f64>, grows: bool| {
            let sign = if grows { 1.0 } else { -1.0 };
            sign / unit.filter(|u| *u > 0.0).unwrap_or(1.0)
        };
        let k = &self.kit;
        let windage = one(k.windage_unit_mm, k.windage_grows_right.unwrap_or(true));
        (windage, one(k.elevation_unit_mm, k.elevation_grows_up.unwrap_or(false)))
    }

    /// The readings of the kit's scales after all touches, `(windage, elevation)`, where the kit has them.
    #[must_use]
    pub fn readings(&self, further_mm: Point) -> (Option<f64>, Option<f64>) {
        let (moved, scales) = (self.touched_mm + further_mm, self.scales());
        let one = |start: Option<f64>, scale: f64, by: f64| Some(start? + scale * by);
        (one(self.kit.windage_reading, scales.0, moved.x_mm), one(self.kit.elevation_reading, scales.1, moved.y_mm))
    }

    /// How far the pin is moved from where it is now when the scales read so afterwards, in millimetres; a scale that the kit
    /// does not know, or that is not told, moves nothing. The way back of [`Self::readings`].
    #[must_use]
    pub fn move_to(&self, windage: Option<f64>, elevation: Option<f64>) -> Point {
        let (now, scales) = (self.readings(Point::default()), self.scales());
        let one =
            |to: Option<f64>, now: Option<f64>, scale: f64| to.zip(now).map_or(0.0, |(to, now)| (to - now) / scale);
        Point::new(one(windage, now.0, scales.0), one(elevation, now.1, scales.1))
    }
}

/// A short word for a score: `X`, `9`, `M`.
#[must_use]
pub fn score_word(score: Score) -> String {
    match score {
        Score { inner_ten: true, .. } => "X".to_owned(),
        Score { value: 0, .. } => "M".to_owned(),
        Score { value, .. } => value.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use goldward_journal::{Archer, Body, End, Touch, Writer};

    fn log(shots: u32) -> (Log, Uuid) {
        let id = |n: u8| goldward_journal::id::new_id(u64::from(n), [n; 10]);
        let mut writer = Writer::new(id(1), id(2));
        let mut log = Log::new();
        log.insert(writer.write_archer(1, Archer { name: "A".into(), hand: None, counted: None }));
        let kit = Kit {
            elevation_reading: Some(52.0),
            elevation_unit_mm: Some(2.0),
            elevation_grows_up: Some(false),
            ..Kit::default()
        };
        let kit = writer.write(2, [3; 10], Body::Kit(Box::new(kit)));
        let session = Session {
            at_ms: 3,
            distance_m: 70.0,
            face: "122".into(),
            round: None,
            kit: Some(kit.id),
            mark: None,
            sighting_ends: 1,
            ends: 2,
            shots_per_end: 3,
            proven: None,
            match_by: None,
            opponent_arrow: None,
        };
        let session = writer.write(3, [4; 10], Body::Session(session));
        let sid = session.id;
        log.insert(kit);
        log.insert(session);
        for i in 0..shots {
            let shot = journal::Shot {
                session: sid,
                end: i / 3 + 1,
                index: i % 3 + 1,
                x_mm: Some(f64::from(i) * 10.0),
                y_mm: Some(150.0),
                call: None,
                felt: None,
                arrow: None,
                spot: None,
                at_ms: None,
            };
            log.insert(writer.write(10 + u64::from(i), [i as u8; 10], Body::Shot(shot)));
            if i % 3 == 2 {
                let end = End {
                    session: sid,
                    end: i / 3 + 1,
                    at_ms: None,
                    card_points: None,
                    their_points: None,
                    nearer: None,
                };
                log.insert(writer.write(10 + u64::from(i), [100 + i as u8; 10], Body::End(end)));
            }
        }
        let touch = Touch {
            session: sid,
            after_end: 1,
            after_index: 2,
            right_mm: 0.0,
            up_mm: 1.0,
            advised_right_mm: None,
            advised_up_mm: None,
            at_ms: None,
        };
        log.insert(writer.write(50, [7; 10], Body::Touch(touch)));
        (log, sid)
    }

    /// The line is told what a reading of the log is told: spread, wind of the ends, habits.
    #[test]
    fn what_was_learnt_reaches_the_line() {
        let (mut log, id) = log(4);
        let archer = log.archers()[0];
        let mut writer = Writer::new(archer, goldward_journal::id::new_id(9, [9; 10]));
        let Body::Session(now) = log.get(archer, id).unwrap().body.clone() else { unreachable!() };
        let earlier = writer.write(3, [44; 10], Body::Session(Session { at_ms: 2, ends: 6, shots_per_end: 6, ..now }));
        let mut random = goldward_core::random::Random::seeded(4);
        for i in 0..36_u32 {
            let (x, y) = random.normal_pair();
            let wind = if i / 6 % 2 == 0 { 150.0 } else { -150.0 };
            let thrown = if i % 6 == 3 { 400.0 } else { 0.0 };
            let shot = journal::Shot {
                session: earlier.id,
                end: i / 6 + 1,
                index: i % 6 + 1,
                x_mm: Some(wind + thrown + 80.0 * x),
                y_mm: Some(80.0 * y),
                call: None,
                felt: None,
                arrow: None,
                spot: None,
                at_ms: None,
            };
            log.insert(writer.write(20 + u64::from(i), [60 + i as u8; 10], Body::Shot(shot)));
        }
        log.insert(earlier);
        let learnt = learnt(&log, archer, id).unwrap();
        assert!(learnt.ends.is_some() && learnt.habits.is_some());
        let sheet = Sheet { learnt: Some(learnt), ..Sheet::of(&log, archer, id).unwrap() };
        let view = SessionView::of(&log, archer, id).unwrap();
        let line = sheet.settings().unwrap();
        assert_eq!(line, view.pace(Some(&learnt), ClassOdds::default()).unwrap());
        assert!(line.prior.end_effect().windage > 0.6 && line.unmarked != ClassOdds::default());
    }

    #[test]
    fn acts_come_in_the_order_of_the_line() {
        let (log, id) = log(4);
        let sheet = Sheet::of(&log, log.archers()[0], id).unwrap();
        let kinds: String = sheet
            .events
            .iter()
            .map(|e| match e {
                Event::Shot(_) => 's',
                Event::Touch(_) => 't',
                Event::EndOfEnd => 'e',
                _ => '?',
            })
            .collect();
        assert_eq!(kinds, "sstses");
        assert_eq!((sheet.end_now(), sheet.shots_in_end(), sheet.next_place()), (2, 1, (2, 2)));
        assert_eq!(sheet.total(), (8, 1), "the sighting end does not count");
        assert_eq!(sheet.readings(Point::default()), (None, Some(51.5)), "one millimetre up on a scale that falls");
    }

    #[test]
    fn a_reading_that_is_typed_is_the_move_that_leads_to_it() {
        let (log, id) = log(4);
        let mut sheet = Sheet::of(&log, log.archers()[0], id).unwrap();
        assert_eq!(sheet.move_to(None, Some(50.5)), Point::new(0.0, 2.0), "the scale falls, two millimetres a unit");
        assert_eq!(sheet.move_to(Some(3.0), None), Point::default(), "a scale that the kit does not know");
        sheet.kit.windage_reading = Some(1.0);
        for (right, up) in [(0.0, 0.0), (0.7, -3.2), (-12.5, 0.1)] {
            let (w, e) = sheet.readings(Point::new(right, up));
            let back = sheet.move_to(w, e);
            assert!((back.x_mm - right).hypot(back.y_mm - up) < 1e-9, "{back:?}");
        }
    }

    #[test]
    fn arrows_stay_where_they_hit_when_the_sight_is_moved() {
        let (log, id) = log(4);
        let sheet = Sheet::of(&log, log.archers()[0], id).unwrap();
        let mut pace = None;
        sheet.carry(&mut pace).unwrap();
        let answer = pace.unwrap().answer().unwrap();
        for i in 0..4 {
            assert_eq!(sheet.shot_at(i, Some(&answer)), Point::new(10.0 * i as f64, 150.0));
            // The touch came after the second.
            assert_eq!(sheet.is_before_touch(i), i < 2);
        }
        let carried = answer.reading.places[0];
        assert!((carried.y_mm - 150.0).abs() > 1.0, "core reads it in the present frame");
        // A call is brought back the way core carries it.
        let mut called = sheet.clone();
        called.rows[0].place = Place::Called("9@12".parse().unwrap());
        let back = called.shot_at(0, Some(&answer));
        assert!((back.x_mm).hypot(back.y_mm - 150.0) < 1e-9, "{back:?}");
    }

    #[test]
    fn a_round_that_is_over_stays_at_its_last_end() {
        // A sighting end and two that count, of three shots each.
        for (shots, over, shown) in [(0, false, 1), (3, false, 2), (8, false, 3), (9, true, 3)] {
            let (log, id) = log(shots);
            let sheet = Sheet::of(&log, log.archers()[0], id).unwrap();
            assert_eq!((sheet.is_over(), sheet.end_shown()), (over, shown), "{shots}");
            let last = sheet.last_act.and_then(|id| log.get(log.archers()[0], id)).map(|r| r.body.clone());
            match shots {
                // The end is over: that is what would be taken back first.
                3 | 9 => assert!(matches!(last, Some(Body::End(_))), "{shots}: {last:?}"),
                8 => assert!(matches!(last, Some(Body::Shot(_))), "{shots}: {last:?}"),
                _ => assert!(matches!(last, Some(Body::Touch(_))), "{shots}: {last:?}"),
            }
        }
    }

    #[test]
    fn the_pace_is_carried_forth_and_back() {
        let mut pace = None;
        for n in [0, 1, 3, 2, 7, 4] {
            let (log, id) = log(n);
            let sheet = Sheet::of(&log, log.archers()[0], id).unwrap();
            sheet.carry(&mut pace).unwrap();
            let fresh = {
                let mut p = None;
                sheet.carry(&mut p).unwrap();
                p.unwrap().answer().unwrap()
            };
            assert_eq!(pace.as_mut().unwrap().answer().unwrap(), fresh, "{n}");
        }
    }

    #[test]
    fn a_match_that_is_level_has_one_arrow_more() {
        // A sighting end and two sets of three shots each; the other makes the same.
        let (mut log, id) = log(9);
        let archer = log.archers()[0];
        let mut writer = Writer::new(archer, Uuid::from_u128(77));
        writer.observe(&log, 100);
        let edit = |log: &mut Log, writer: &mut Writer, id: Uuid, body: Body| {
            let old = log.get(archer, id).unwrap().clone();
            log.insert(writer.edit(200, &old, body));
        };
        let Body::Session(session) = log.get(archer, id).unwrap().body.clone() else { panic!() };
        edit(&mut log, &mut writer, id, Body::Session(Session { match_by: Some("sets".into()), ..session }));
        let sheet = |log: &Log| Sheet::of(log, archer, id).unwrap();
        assert!(sheet(&log).is_over() && !sheet(&log).is_level(), "nobody knows what the other made");
        for end in 2..=3 {
            let points = sheet(&log).of_end(end).0;
            let parts: Vec<Record> = log.parts(archer, id).cloned().collect();
            let (record, body) = parts
                .iter()
                .find_map(|r| match &r.body {
                    Body::End(e) if e.end == end => Some((r.id, e.clone())),
                    _ => None,
                })
                .unwrap();
            edit(&mut log, &mut writer, record, Body::End(End { their_points: Some(points), ..body }));
        }
        let level = sheet(&log);
        assert!(level.is_level() && !level.is_over() && !level.end_full());
        assert_eq!(
            (level.next_place(), level.end_shown(), level.arrows_of(4), level.shots_to_come()),
            ((4, 1), 4, 1, 1)
        );
        let total = level.total();
        let shot = journal::Shot {
            session: id,
            end: 4,
            index: 1,
            x_mm: Some(5.0),
            y_mm: Some(5.0),
            call: None,
            felt: None,
            arrow: None,
            spot: None,
            at_ms: None,
        };
        log.insert(writer.write(300, [200; 10], Body::Shot(shot)));
        let shot = sheet(&log);
        assert!(shot.is_level() && shot.end_full() && !shot.is_over(), "the judge has not spoken");
        assert_eq!((shot.total(), shot.next_place()), (total, (5, 1)), "it makes no points");
        let end = End { session: id, end: 4, at_ms: None, card_points: None, their_points: None, nearer: Some(true) };
        log.insert(writer.write(301, [201; 10], Body::End(end)));
        assert!(sheet(&log).is_over() && !sheet(&log).is_level());
    }
}
