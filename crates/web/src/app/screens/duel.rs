//! A match: the other's points end by end, how it stands, the chance to win.

use std::cell::RefCell;

use goldward_core::face::Face;
use goldward_core::matches::MatchAdvice;
use goldward_core::pace::Answer;
use goldward_core::score::Rings;
use goldward_core::units::trim_number;
use goldward_journal::{Body, End, Session, Uuid};
use leptos::prelude::*;

use super::super::state::{App, Screen, app};
use super::super::{device, told};
use crate::pages::{Item, controls, duel};
use crate::sheet::{Sheet, shaft};
use crate::words::Word;

/// Points below the most that stand as buttons of their own; fewer are chosen from a list.
const LIKELY: u32 = 15;

thread_local! {
    /// The probabilities of the face and shaft that were asked for last: filled as they are used.
    static RINGS: RefCell<Option<(&'static str, u64, Rings)>> = const { RefCell::new(None) };
}

/// Decides by the chance to win what `answer` had decided by points.
pub(in crate::app) fn judge(sheet: &Sheet, answer: &mut Answer) -> Option<MatchAdvice> {
    let (duel, settings) = (sheet.duel?, sheet.settings()?);
    let key = (sheet.face.name, shaft(&sheet.kit).diameter_mm().to_bits());
    RINGS.with_borrow_mut(|kept| {
        let fits = kept.as_ref().is_some_and(|k| (k.0, k.1) == key);
        if !fits {
            *kept = Some((key.0, key.1, Rings::new(sheet.face, shaft(&sheet.kit))));
        }
        let (_, _, rings) = kept.as_ref()?;
        goldward_session::duel::advise(answer, &settings, rings, &duel).ok()
    })
}

/// The record of an end that is over.
fn end_record(app: App, sheet: &Sheet, end: u32) -> Option<(Uuid, End)> {
    app.in_log(|log, archer| {
        log.parts(archer, sheet.id).find_map(|r| match &r.body {
            Body::End(e) if e.end == end => Some((r.id, e.clone())),
            _ => None,
        })
    })
}

/// Writes the points of the other in an end that is over, or takes them away.
fn tell(app: App, end: u32, points: Option<u32>) {
    let Some(sheet) = app.sheet.get_untracked() else { return };
    let record = untrack(|| end_record(app, &sheet, end));
    match record {
        Some((id, old)) => {
            app.edit(id, Body::End(End { their_points: points, ..old }));
        }
        None => {
            let at_ms = Some(device::now_ms());
            let end = End { session: sheet.id, end, at_ms, card_points: None, their_points: points, nearer: None };
            app.write(vec![Body::End(end)]);
        }
    }
}

/// The single arrow that was shot last, or is to be shot: its end.
fn single(sheet: &Sheet) -> Option<u32> {
    let shot = sheet.rows.last().map(|r| r.end).filter(|end| sheet.is_single(*end));
    shot.or_else(|| sheet.is_level().then(|| sheet.end_now()))
}

/// Writes whose single arrow was nearer, or that it was nobody's.
fn judged(app: App, nearer: Option<bool>) {
    let Some(sheet) = app.sheet.get_untracked() else { return };
    let Some(end) = single(&sheet) else { return };
    let record = untrack(|| end_record(app, &sheet, end));
    match record {
        Some((id, old)) => {
            app.edit(id, Body::End(End { nearer, ..old }));
        }
        None => {
            let at_ms = Some(device::now_ms());
            let end = End { session: sheet.id, end, at_ms, card_points: None, their_points: None, nearer };
            app.write(vec![Body::End(end)]);
        }
    }
}

/// Asks whose single arrow was nearer, once it is shot.
fn asked_single(app: App, sheet: &Sheet) -> String {
    let Some(end) = single(sheet) else { return String::new() };
    let told = sheet.duel.and_then(|d| d.standing.single);
    let shot = sheet.shots_of(end) > 0;
    let mut out = controls::text("hint", app.t(if shot { Word::MatchNearer } else { Word::MatchSingleNext }));
    if shot || told.is_some() {
        for (value, word, on) in [
            ("mine", Word::MatchNearerMine, told == Some(true)),
            ("theirs", Word::MatchNearerTheirs, told == Some(false)),
            ("again", Word::MatchNearerAgain, told.is_none() && end <= sheet.ends_done),
        ] {
            out += &controls::button("nearer", value, Some(on), app.t(word), app.t(word));
        }
    }
    out
}

/// Says what decides, or how the other shoots.
fn change(app: App, with: impl FnOnce(&mut Session)) {
    let Some(sheet) = app.sheet.get_untracked() else { return };
    let mut session = sheet.session.clone();
    with(&mut session);
    app.edit(sheet.id, Body::Session(session));
}

/// The ends of a match that the archer has shot, each with the other's points where they are told; the last may be full without being
/// over in the log.
fn ends(sheet: &Sheet) -> Vec<(u32, u32, Option<u32>)> {
    let first = sheet.session.sighting_ends + 1;
    let full = sheet.end_now() + u32::from(sheet.end_full());
    let last = full.min(first + sheet.session.ends);
    (first..last)
        .map(|end| (end, sheet.of_end(end).0, sheet.theirs.get((end - first) as usize).copied().flatten()))
        .collect()
}

/// What the other made in one end, in a tap.
fn asked(app: App, sheet: &Sheet, end: u32, shown: u32, told: Option<u32>) -> String {
    let most = sheet.session.shots_per_end * u32::from(sheet.face.highest_value());
    let likely = most.saturating_sub(LIKELY - 1);
    let mut out =
        format!("<div class=\"points-of\" role=\"group\" aria-label=\"{}\">", app.f(Word::EndN, &[&shown.to_string()]));
    for points in (likely..=most).rev() {
        let n = points.to_string();
        out += &controls::button("theirs", &format!("{end}:{n}"), Some(told == Some(points)), &n, &n);
    }
    out += "</div>";
    let mut few = vec![(format!("{end}:"), "–".to_owned())];
    few.extend((0..likely).rev().map(|n| (format!("{end}:{n}"), n.to_string())));
    let chosen = told.map_or_else(|| few[0].0.clone(), |n| format!("{end}:{n}"));
    out + &controls::select("theirs", &format!("< {likely}"), &few, &chosen)
}

fn controls_of(app: App, open: Option<u32>) -> String {
    let Some(sheet) = app.sheet.get() else { return controls::text("hint", app.t(Word::NoShotsYet)) };
    let by = sheet.session.match_by.clone().unwrap_or_default();
    let kinds = [("", Word::MatchNone), ("sets", Word::MatchBySets), ("total", Word::MatchByTotal)];
    let kinds = kinds.map(|(key, word)| (key, app.t(word).to_owned()));
    let mut out = String::new();
    if sheet.duel.is_some() {
        let all = ends(&sheet);
        let missing = all.iter().find(|e| e.2.is_none()).map(|e| e.0);
        out += &controls::text("hint", app.t(Word::MatchTheirs));
        for (end, mine, theirs) in all {
            let shown = end - sheet.session.sighting_ends;
            let name = app.f(Word::EndN, &[&shown.to_string()]);
            let text = format!("{name}: {mine} : {}", theirs.map_or("?".to_owned(), |n| n.to_string()));
            let here = open.or(missing) == Some(end);
            out += &controls::button("end", &end.to_string(), Some(here), &text, &text);
            if here {
                out += &asked(app, &sheet, end, shown, theirs);
            }
        }
        out += &asked_single(app, &sheet);
        let average = sheet.session.opponent_arrow.map_or(String::new(), |a| app.language().number(&trim_number(a)));
        out += &controls::field("average", app.t(Word::MatchAverage), &average, " ");
    }
    out + &controls::choice("by", app.t(Word::MatchTitle), &kinds, &by)
}

/// Reads an average that can be one on that face; nothing typed is nothing told.
fn average(text: &str, face: &Face) -> Option<Option<f64>> {
    if text.trim().is_empty() {
        return Some(None);
    }
    let most = f64::from(face.highest_value()) - 0.01;
    goldward_core::units::parse_decimal(text).filter(|x| (0.1..=most).contains(x)).map(Some)
}

/// The page.
pub(in crate::app) fn view() -> AnyView {
    let app = app();
    let open = RwSignal::new(None::<u32>);
    // What is typed does not draw the field anew under the hand: only ends, kind and what is open do.
    let drawn = Memo::new(move |_| {
        let shape = app.sheet.with(|s| {
            let one = |s: &Sheet| {
                (single(s).map(|end| (end, s.shots_of(end), s.ends_done)), s.duel.and_then(|d| d.standing.single))
            };
            s.as_ref().map(|s| (s.id, s.session.match_by.clone(), ends(s), one(s)))
        });
        (shape, open.get())
    });
    let act = move |name: &str, value: &str| match name {
        "end" => open.set(value.parse().ok().filter(|e| open.get_untracked() != Some(*e))),
        "theirs" => {
            let Some((end, points)) = value.split_once(':') else { return };
            if let Ok(end) = end.parse() {
                tell(app, end, points.parse().ok());
                open.set(None);
            }
        }
        "average" => {
            let face = app.sheet.with_untracked(|s| s.as_ref().map(|s| s.face));
            if let Some(told) = face.and_then(|f| average(value, f)) {
                change(app, |s| s.opponent_arrow = told);
            }
        }
        "nearer" => judged(
            app,
            match value {
                "mine" => Some(true),
                "theirs" => Some(false),
                _ => None,
            },
        ),
        "by" => change(app, |s| s.match_by = (!value.is_empty()).then(|| value.to_owned())),
        _ => {}
    };
    let said = move || {
        let (sheet, said) = (app.sheet.get(), app.said.get());
        let Some(duel) = sheet.and_then(|s| s.duel) else { return Vec::new() };
        told::tell(app, |t| match (&said.answer, &said.duel) {
            (Some(answer), Some(told)) if answer.reading.shots > 0 => duel::page(t, &duel, &answer.advice, told),
            _ => vec![Item::Text(duel::standing(t, &duel)), Item::Note(t.t(Word::MatchRules))],
        })
    };
    told::page(
        Box::new(move || {
            let (_, open) = drawn.get();
            untrack(|| controls_of(app, open))
        }),
        None,
        Box::new(act),
        Box::new(said),
        &[Screen::Shoot],
    )
}
