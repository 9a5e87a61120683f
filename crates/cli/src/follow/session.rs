//! The distances followed so far, and what the next line does to them.

use goldward_core::advice::Action;
use goldward_core::face::DEFAULT_LIMITS;
use goldward_core::notice::{self, Context, Notice};
use goldward_core::pace::{self, Event, Pace, PaceError};
use goldward_core::score::Rings;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

use super::event::{self, Wish};
use super::round::{Round, RoundIn, StrayShots};
use crate::failure::{Fault, said};
use crate::wire::ReadingOut;
use goldward_report::words::{self, Language, Wrong};
use goldward_session::answer::{self, InMatch};
use goldward_session::duel;
use goldward_session::json::{SettingsIn, parse};
use goldward_session::problem::What;

/// Most entries of `points_wait` that are written.
const MOST_WAITS: usize = 12;

/// One distance.
#[derive(Debug)]
struct Leg {
    round: Round,
    pace: Pace,
    /// The probabilities of points, filled as they are used, of a match alone.
    rings: Option<Rings>,
}

impl Leg {
    fn new(round: Round, pace: Pace) -> Self {
        let rings = round.duel().map(|_| Rings::new(round.settings.face, round.settings.shaft));
        Self { round, pace, rings }
    }

    /// What to do now: in a match by the chance to win.
    fn answer(&mut self) -> Result<(pace::Answer, Option<InMatch>), Fault> {
        let mut answer = self.pace.answer().map_err(|e| Fault::of("", e))?;
        let (Some(told), Some(rings)) = (self.round.duel(), &self.rings) else { return Ok((answer, None)) };
        let duel = told.followed(&self.pace).map_err(|p| p.under("match"))?;
        let told = duel::advise(&mut answer, self.pace.settings(), rings, &duel).map_err(|e| Fault::of("match", e))?;
        Ok((answer, Some(InMatch { duel, told })))
    }
}

/// What has been followed so far; empty before the settings.
#[derive(Debug, Default)]
pub struct Session {
    legs: Vec<Leg>,
    /// Distances that an undo took back, the latest last.
    undone: Vec<Leg>,
}

/// What a line did.
#[derive(Debug)]
pub enum Done {
    /// The settings came.
    Settings,
    /// An event was taken in.
    Taken(Event),
    /// The next distance came.
    Distance,
    /// An event, or the coming of a distance, was undone.
    Undone(Value),
    /// The same was done again.
    Redone(Value),
}

/// The settings of a next distance, inside their line.
#[derive(Debug, Deserialize)]
struct Nested<T> {
    distance: T,
}

fn round_echo(key: &str, round: &Round) -> Value {
    json!({ key: round })
}

impl Session {
    /// Takes in a line.
    ///
    /// # Errors
    /// A [`Fault`]; nothing is changed then.
    pub fn take(&mut self, text: &str) -> Result<Done, Fault> {
        let Some(leg) = self.legs.last_mut() else {
            let round = first_round(text)?;
            let pace = Pace::new(round.pace());
            self.legs.push(Leg::new(round, pace));
            return Ok(Done::Settings);
        };
        match event::read(text, &leg.round.settings, leg.round.shots_per_end())? {
            Wish::Take(event) => {
                leg.pace.take(event).map_err(|e| fault(&event, e))?;
                self.undone.clear();
                Ok(Done::Taken(event))
            }
            Wish::Distance => {
                let round = next_round(text, &leg.round)?;
                let pace = leg.pace.at_next_distance(round.pace()).map_err(|e| Fault::of("distance", e))?;
                self.legs.push(Leg::new(round, pace));
                self.undone.clear();
                Ok(Done::Distance)
            }
            Wish::Undo => self.undo().map(Done::Undone),
            Wish::Redo => self.redo().map(Done::Redone),
        }
    }

    fn undo(&mut self) -> Result<Value, Fault> {
        let nothing = || Fault::from(Wrong::NothingToUndo).at("undo");
        let leg = self.legs.last_mut().ok_or_else(nothing)?;
        if let Ok(event) = leg.pace.undo() {
            return Ok(event::echo(&event));
        }
        if self.legs.len() < 2 {
            return Err(nothing());
        }
        let leg = self.legs.pop().ok_or_else(nothing)?;
        let echo = round_echo("distance", &leg.round);
        self.undone.push(leg);
        Ok(echo)
    }

    fn redo(&mut self) -> Result<Value, Fault> {
        let nothing = || Fault::from(Wrong::NothingToRedo).at("redo");
        if let Some(event) = self.legs.last_mut().and_then(|leg| leg.pace.redo().ok()) {
            return Ok(event::echo(&event));
        }
        let leg = self.undone.pop().ok_or_else(nothing)?;
        let echo = round_echo("distance", &leg.round);
        self.legs.push(leg);
        Ok(echo)
    }

    /// Takes back what a line did, when it cannot be answered.
    pub fn take_back(&mut self, done: Done) {
        let last = self.legs.last_mut();
        // What has just been done can be taken back; if it cannot, the state before it is still a state.
        let _ = match done {
            Done::Settings | Done::Distance => {
                self.legs.pop();
                Ok(Value::Null)
            }
            Done::Taken(_) => {
                let _ = last.map(|leg| leg.pace.undo());
                Ok(Value::Null)
            }
            Done::Undone(_) => self.redo(),
            Done::Redone(_) => self.undo(),
        };
    }

    /// The answer after what a line did.
    ///
    /// # Errors
    /// A [`Fault`] when the shots cannot be read, carried too far by touches.
    pub fn answer(&mut self, done: &Done) -> Result<Reply, Fault> {
        let leg = self.legs.last_mut().ok_or_else(no_settings)?;
        let (answer, duel) = leg.answer()?;
        let shots = leg.pace.shots();
        let settings = &leg.round.settings;
        let mut notices = notice::notices(&Context {
            shots: &shots,
            reading: &answer.reading,
            advice: &answer.advice,
            face: settings.face,
            shaft: settings.shaft,
            limits: &DEFAULT_LIMITS,
            trust: settings.prior.trust(),
        });
        // Before the first shot nobody expects evidence.
        notices.retain(|n| !(shots.is_empty() && matches!(n, Notice::TooFewShots { .. })));
        let (event, undone, redone) = match done {
            Done::Settings => (round_echo("settings", &leg.round), None, None),
            Done::Distance => (round_echo("distance", &leg.round), None, None),
            Done::Taken(event) => (event::echo(event), None, None),
            Done::Undone(what) => (json!({ "undo": true }), Some(what.clone()), None),
            Done::Redone(what) => (json!({ "redo": true }), None, Some(what.clone())),
        };
        let wait = WaitOut::new(&answer);
        let pace::Answer { reading, advice, .. } = answer;
        Ok(Reply { answer: answer::Answer { reading, advice, notices, duel }, wait, event, undone, redone })
    }
}

fn no_settings() -> Fault {
    let such = "{\"distance_m\":70,\"face\":\"122\",\"ends\":12,\"shots_per_end\":6}";
    said(Wrong::NoSettingsYet, [such.into()]).into()
}

fn first_round(text: &str) -> Result<Round, Fault> {
    let reading: SettingsIn = parse(text)?;
    if reading.distance_m.is_none() && reading.face.is_none() && is_event(text) {
        return Err(no_settings());
    }
    parse::<StrayShots>(text)?.none()?;
    Round::new(reading, parse::<RoundIn>(text)?, None)
}

/// Whether a line has the keys of an event rather than those of settings.
fn is_event(text: &str) -> bool {
    let line: Result<Value, _> = serde_json::from_str(text);
    line.is_ok_and(|line| event::EVENTS.split(", ").any(|key| line.get(key).is_some()))
}

fn next_round(text: &str, before: &Round) -> Result<Round, Fault> {
    parse::<Nested<StrayShots>>(text)?.distance.none()?;
    let reading = parse::<Nested<SettingsIn>>(text)?.distance;
    let round = parse::<Nested<RoundIn>>(text)?.distance;
    Round::new(reading, round, Some(before)).map_err(|fault| fault.under("distance"))
}

fn fault(event: &Event, error: PaceError) -> Fault {
    let place = match event {
        Event::Shot(_) => "shot",
        Event::Touch(_) => "touch",
        Event::EndOfEnd => "end",
        Event::Felt { .. } => "felt.shot",
        Event::TimeLeft(_) => "time_left_s",
        Event::Theirs { .. } => "theirs",
        Event::Nearer(_) => "nearer",
    };
    Fault::of(place, error)
}

/// The answer to a line.
#[derive(Debug)]
pub struct Reply {
    answer: answer::Answer,
    wait: WaitOut,
    event: Value,
    undone: Option<Value>,
    redone: Option<Value>,
}

/// What to do about the sight now.
#[derive(Debug, Clone, PartialEq, Serialize)]
struct WaitOut {
    action: &'static str,
    points_now: f64,
    points_wait: Vec<f64>,
    points_never: f64,
    /// A stable name for the reason.
    reason: &'static str,
    why: &'static str,
}

impl WaitOut {
    fn new(answer: &pace::Answer) -> Self {
        Self {
            action: match answer.advice.action {
                Action::Move => "touch",
                Action::Wait => "wait",
                Action::Leave => "leave",
            },
            points_now: answer.advice.plan.now + 0.0,
            points_wait: answer.advice.plan.wait.iter().take(MOST_WAITS).map(|p| p + 0.0).collect(),
            points_never: answer.advice.plan.never + 0.0,
            reason: answer.advice.why.kind(),
            why: words::why(Language::English, answer.advice.why),
        }
    }

    fn is_finite(&self) -> bool {
        self.points_wait.iter().chain([&self.points_now, &self.points_never]).all(|x| x.is_finite())
    }
}

/// One line of the answer.
#[derive(Serialize)]
struct Out<'a> {
    #[serde(flatten)]
    reading: ReadingOut<'a>,
    wait: &'a WaitOut,
    event: &'a Value,
    #[serde(skip_serializing_if = "Option::is_none")]
    undone: Option<&'a Value>,
    #[serde(skip_serializing_if = "Option::is_none")]
    redone: Option<&'a Value>,
}

impl Reply {
    /// Appends the answer as one line of JSON.
    ///
    /// # Errors
    /// A [`Fault`] when it cannot be written as JSON.
    ///
    /// # Panics
    /// When a number of the answer is none, which is a fault of the program.
    pub fn write(&self, out: &mut Vec<u8>) -> Result<(), Fault> {
        let reading = ReadingOut::new(&self.answer, false);
        assert!(reading.is_finite() && self.wait.is_finite(), "an answer that is not a number");
        let line = Out {
            reading,
            wait: &self.wait,
            event: &self.event,
            undone: self.undone.as_ref(),
            redone: self.redone.as_ref(),
        };
        serde_json::to_writer(&mut *out, &line).map_err(|e| Fault::of("", What::Reader(e.to_string())))?;
        out.push(b'\n');
        Ok(())
    }
}
