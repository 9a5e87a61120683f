//! Which session of a log is meant, and its reading's ingredients.

use std::str::FromStr;

use goldward_core::group::GroupError;
use goldward_core::matches::{Duel, Verdict};
use goldward_core::pace::{self, Event, Pace};
use goldward_core::score::Rings;
use goldward_core::shot::Felt;
use goldward_journal::{Body, Log, Note};
use uuid::Uuid;

use super::learnt::learnt_with;
use super::{SessionView, ViewError, odds, remarks, sessions, shared_spots};
use crate::answer::{Answer, InMatch, beside};
use crate::duel;
use crate::kit::Kit;
use crate::session::{Oddity, Session};
use crate::settings::{Settings, Wishes};

/// Which session.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Which {
    /// The latest one that has shots.
    #[default]
    Latest,
    /// The one with this id.
    Id(Uuid),
}

impl FromStr for Which {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text.trim() {
            "latest" => Ok(Self::Latest),
            id => id.parse().map(Self::Id).map_err(|_| "it is no session: write latest, or the id of one".to_owned()),
        }
    }
}

/// Why no session is picked.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PickError {
    /// Nobody is in the log.
    #[error("the log is empty: shoot a session, or import one")]
    Empty,
    /// Nobody is called so, or several are.
    #[error("{}: say whose with --archer and one of {}", match (.named, .several) {
        (true, true) => "several archers are called so",
        (true, false) => "no archer is called so",
        (false, _) => "there are several archers",
    }, .known.join(", "))]
    Archer {
        /// Whether a name was given.
        named: bool,
        /// Whether there are several.
        several: bool,
        /// Names and ids of those there are.
        known: Vec<String>,
    },
    /// There is no session with a shot.
    #[error("there is no session with a shot: shoot one, or import one")]
    NoSession,
    /// The session cannot be read.
    #[error(transparent)]
    View(#[from] ViewError),
}

/// The archer called `name` (or of that id); without a name the only one there is.
///
/// # Errors
/// [`PickError`] when it is not clear who is meant.
pub fn archer_named(log: &Log, name: Option<&str>) -> Result<Uuid, PickError> {
    let all: Vec<(Uuid, String)> = log
        .archers()
        .into_iter()
        .map(|id| match log.get(id, id).map(|r| &r.body) {
            Some(Body::Archer(a)) => (id, a.name.clone()),
            _ => (id, String::new()),
        })
        .collect();
    if all.is_empty() {
        return Err(PickError::Empty);
    }
    let meant = |(id, called): &&(Uuid, String)| {
        name.is_none_or(|n| called.trim().to_lowercase() == n.trim().to_lowercase() || id.to_string() == n.trim())
    };
    match all.iter().filter(meant).collect::<Vec<_>>().as_slice() {
        [(id, _)] => Ok(*id),
        some => {
            let known = all
                .iter()
                .map(|(id, called)| if called.is_empty() { id.to_string() } else { format!("{called} ({id})") });
            Err(PickError::Archer { named: name.is_some(), several: some.len() > 1, known: known.collect() })
        }
    }
}

/// A session of the log with everything a reading takes.
#[derive(Debug, Clone)]
pub struct Pick {
    /// Its id.
    pub id: Uuid,
    /// When it began, in milliseconds since 1970 UTC.
    pub at_ms: u64,
    /// The kit it was shot with.
    pub kit: Kit,
    /// What the reading wishes for.
    pub wishes: Wishes,
    /// The settings.
    pub settings: Settings,
    /// The shots and touches.
    pub session: Session,
    /// The session event by event, as the shooting line follows it; nothing when the arrows left were told.
    pub line: Option<Line>,
    /// What was remarked of it.
    pub notes: Vec<Note>,
}

/// A session as the shooting line follows it.
#[derive(Debug, Clone)]
pub struct Line {
    /// Its distance and its round.
    pub settings: pace::Settings,
    /// What happened.
    pub events: Vec<Event>,
    /// Whether it is practice, with no round's rules.
    pub free: bool,
    /// The match that it is, as it stands.
    pub duel: Option<Duel>,
}

impl Line {
    /// The session as core follows it; events that cannot be are left out.
    #[must_use]
    pub fn pace(&self) -> Pace {
        let mut pace = Pace::new(self.settings.clone());
        for event in &self.events {
            let _ = pace.take(*event);
        }
        pace
    }

    /// What core answers to the session as it stands: the same as on the shooting line, to the last digit.
    ///
    /// # Errors
    /// [`GroupError`]; events that cannot be are left out.
    pub fn answer(&self) -> Result<Answer, GroupError> {
        let mut pace = self.pace();
        let mut answer = pace.answer()?;
        let pace::Settings { face, shaft, prior, .. } = &self.settings;
        let duel = self.duel.and_then(|duel| {
            let rings = Rings::new(face, *shaft);
            let told = duel::advise(&mut answer, &self.settings, &rings, &duel).ok()?;
            Some(InMatch { duel, told })
        });
        let pace::Answer { reading, advice, .. } = answer;
        let notices = beside(&pace.shots(), &reading, &advice, face, *shaft, prior.trust(), self.free);
        Ok(Answer { reading, advice, notices, duel })
    }

    /// Shots of the round still to come.
    fn shots_left(&self) -> u32 {
        let (mut done, mut in_end) = (0, 0);
        for event in &self.events {
            match event {
                Event::EndOfEnd => (done, in_end) = (done + 1, 0),
                Event::Shot(_) => in_end += 1,
                _ => {}
            }
        }
        let s = &self.settings;
        if self.duel.is_some_and(|d| d.standing.settled(&d.format).verdict(&d.format) == Verdict::ShootOff) {
            return u32::from(in_end == 0);
        }
        let ends = (s.sighting_ends + s.ends).saturating_sub(done);
        let left = (ends * s.shots_per_end).saturating_sub(in_end.min(s.shots_per_end));
        u32::try_from(left).unwrap_or(u32::MAX)
    }
}

/// The session that is meant, which has shots.
///
/// # Errors
/// [`PickError`].
pub fn meant(log: &Log, archer: Uuid, which: Which) -> Result<SessionView<'_>, PickError> {
    let id = match which {
        Which::Id(id) => match log.get(archer, id) {
            Some(_) => id,
            None => return Err(ViewError::NoSession(id).into()),
        },
        Which::Latest => sessions(log, archer)
            .into_iter()
            .map(|(r, _)| r.id)
            .find(|id| SessionView::of(log, archer, *id).is_ok_and(|v| !v.shots.is_empty()))
            .ok_or(PickError::NoSession)?,
    };
    let view = SessionView::of(log, archer, id)?;
    if view.shots.is_empty() { Err(PickError::NoSession) } else { Ok(view) }
}

/// The session that is meant, read as the app reads it: with the kit's numbers, the spread and the felt marks that earlier
/// sessions have taught, and the trust that the session, its mark or the kit tells. What `over` says stands above all that.
///
/// # Errors
/// [`PickError`].
pub fn read(log: &Log, archer: Uuid, which: Which, over: &Wishes) -> Result<Pick, PickError> {
    let view = meant(log, archer, which)?;
    let id = view.record.id;
    let asked = over.habits.or(view.own.wishes.habits) != Some(false);
    let with = (view.kit, over.usual);
    let learnt = learnt_with(log, archer, view.distance, with, view.session.at_ms, asked)?;
    let mut wishes = over.or(view.wishes(Some(&learnt)));
    let odds = odds(log, archer, id);
    let told = |felt| Some(odds.felt(felt).get());
    // Felt marks earn nothing for shots that have none.
    wishes.unmarked = wishes.unmarked.or(wishes.usual.is_none().then(|| odds.get()));
    wishes.felt_bad = wishes.felt_bad.or(told(Felt::Bad));
    wishes.felt_good = wishes.felt_good.or(told(Felt::Good));
    let line = match over.shots_left {
        Some(_) => None,
        None => {
            let settings = Settings::new(view.distance, view.face, &wishes).map_err(ViewError::from)?;
            let line = Line {
                settings: view.round().pace(&settings),
                events: view.events(),
                free: view.session.ends == 0,
                duel: view.duel(),
            };
            wishes.shots_left = Some(line.shots_left());
            Some(line)
        }
    };
    let settings = Settings::new(view.distance, view.face, &wishes).map_err(ViewError::from)?;
    let mut session = view.session(&settings);
    if !view.unreadable.is_empty() {
        session.odd.push(Oddity::LeftOut(view.unreadable.len()));
    }
    let shared = shared_spots(view.shots.iter().map(|(_, s)| (s.end, s.spot)));
    if !shared.is_empty() {
        session.odd.push(Oddity::SharedSpots(shared));
    }
    let notes = remarks(log, archer, id).into_iter().map(|(_, note)| note.clone()).collect();
    Ok(Pick { id, at_ms: view.session.at_ms, kit: view.own, wishes, settings, session, line, notes })
}
