//! Events as they are read and echoed.

use goldward_core::pace::Event;
use goldward_core::plane::Point;
use goldward_core::shot::{Felt, Place, Shot};
use serde::Deserialize;
use serde::de::IgnoredAny;
use serde_json::{Value, json};

use goldward_session::duel::{self, NEARER, Typed};
use goldward_session::json::{ShotIn, good, parse};

use crate::failure::{Fault, said};
use goldward_report::words::Wrong;
use goldward_session::keys::Good;
use goldward_session::problem::{Problem, What, short};
use goldward_session::settings::Settings;

/// A line that is an event: one of these keys.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct EventIn {
    shot: Option<ShotIn>,
    touch: Option<TouchIn>,
    end: Option<bool>,
    felt: Option<FeltIn>,
    undo: Option<bool>,
    redo: Option<bool>,
    time_left_s: Option<f64>,
    theirs: Option<Typed>,
    nearer: Option<String>,
    distance: Option<IgnoredAny>,
    // A line of settings has these.
    distance_m: Option<IgnoredAny>,
    face: Option<IgnoredAny>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct TouchIn {
    right_mm: Option<f64>,
    up_mm: Option<f64>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct FeltIn {
    shot: Option<u32>,
    was: Option<String>,
}

/// What a line asks for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Wish {
    /// Take this in.
    Take(Event),
    /// Take the last event back.
    Undo,
    /// Do the last undone event again.
    Redo,
    /// Go on to the next distance; its settings are read apart.
    Distance,
}

/// The keys of events.
pub(super) const EVENTS: &str = "shot, touch, end, felt, theirs, nearer, undo, redo, time_left_s, distance";

/// Reads a line; `settings` are those of the present distance, of so many shots an end.
///
/// # Errors
/// A [`Fault`].
pub(super) fn read(text: &str, settings: &Settings, shots_per_end: u32) -> Result<Wish, Fault> {
    let line: EventIn = parse(text)?;
    let mut wishes = Vec::new();
    let wanted = |key: &str, told: Option<bool>| match told {
        Some(false) => Err(Fault::from(Wrong::FalseSaysNothing).at(key)),
        told => Ok(told.is_some()),
    };
    if let Some(shot) = &line.shot {
        wishes.push(Wish::Take(Event::Shot(shot.shot("shot", settings)?)));
    }
    if let Some(touch) = &line.touch {
        if touch.right_mm.is_none() && touch.up_mm.is_none() {
            return Err(
                Fault::from(said(Wrong::MovesNothing, ["{\"right_mm\":0.2,\"up_mm\":-0.5}".into()])).at("touch")
            );
        }
        let pin = Point::new(touch.right_mm.unwrap_or(0.0), touch.up_mm.unwrap_or(0.0));
        wishes.push(Wish::Take(Event::Touch(pin)));
    }
    if wanted("end", line.end)? {
        wishes.push(Wish::Take(Event::EndOfEnd));
    }
    if let Some(felt) = &line.felt {
        let shot = felt.shot.ok_or_else(|| Problem::new("felt.shot", What::Missing).good(Good::Whole("4")))?;
        let was = felt.was.as_ref().ok_or_else(|| Problem::new("felt.was", What::Missing).good(good("was")))?;
        let was = short(was).parse::<Felt>().map_err(|e| Fault::of("felt.was", e))?;
        wishes.push(Wish::Take(Event::Felt { shot: shot as usize, was }));
    }
    if let Some(seconds) = line.time_left_s {
        wishes.push(Wish::Take(Event::TimeLeft(seconds)));
    }
    for (key, told) in [("theirs", line.theirs.is_some()), ("nearer", line.nearer.is_some())] {
        if told && settings.duel.is_none() {
            return Err(Fault::from(said(Wrong::MatchAlone, ["{\"match\":{\"by\":\"sets\"}}".into()])).at(key));
        }
    }
    if let Some(whose) = &line.nearer {
        wishes.push(Wish::Take(Event::Nearer(duel::nearer(whose)?)));
    }
    if let Some(theirs) = line.theirs {
        wishes.push(Wish::Take(Event::Theirs { points: theirs.points, shots: theirs.shots.unwrap_or(shots_per_end) }));
    }
    if wanted("undo", line.undo)? {
        wishes.push(Wish::Undo);
    }
    if wanted("redo", line.redo)? {
        wishes.push(Wish::Redo);
    }
    if line.distance.is_some() {
        wishes.push(Wish::Distance);
    }
    match wishes[..] {
        [wish] => Ok(wish),
        [] if line.distance_m.is_some() || line.face.is_some() => {
            Err(said(Wrong::SettingsTaken, ["{\"distance\":{...}}".into()]).into())
        }
        [] => Err(said(Wrong::NoEvent, [EVENTS.into()]).into()),
        _ => Err(Wrong::SeveralEvents.into()),
    }
}

fn felt_word(felt: Felt) -> &'static str {
    match felt {
        Felt::Unmarked => "",
        Felt::Bad => "bad",
        Felt::Good => "good",
    }
}

/// An event as a line could have brought it.
pub(super) fn echo(event: &Event) -> Value {
    match event {
        Event::Shot(shot) => json!({ "shot": echo_shot(shot) }),
        Event::Touch(pin) => json!({ "touch": { "right_mm": pin.x_mm, "up_mm": pin.y_mm } }),
        Event::EndOfEnd => json!({ "end": true }),
        Event::Felt { shot, was } => json!({ "felt": { "shot": shot, "was": felt_word(*was) } }),
        Event::TimeLeft(seconds) => json!({ "time_left_s": seconds }),
        Event::Nearer(own) => json!({ "nearer": NEARER[usize::from(!own)] }),
        Event::Theirs { points, shots } => json!({ "theirs": format!("{points}/{shots}") }),
    }
}

fn echo_shot(shot: &Shot) -> Value {
    let mut out = match shot.place {
        Place::At(p) => json!({ "x_mm": p.x_mm, "y_mm": p.y_mm }),
        Place::Called(call) => json!({ "call": call.to_string() }),
    };
    if shot.felt != Felt::Unmarked {
        out["felt"] = json!(felt_word(shot.felt));
    }
    out
}
