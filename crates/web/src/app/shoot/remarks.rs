//! Notes, wind and light of a session, told at its end, in its report or from the list of sessions.

use std::time::Duration;

use goldward_journal::{Body, Note, Uuid};
use goldward_session::log;
use leptos::prelude::*;

use crate::app::device;
use crate::app::state::{App, app};
use crate::app::told;
use crate::pages::{controls, escape};
use crate::words::{Language, WEATHER, Word, remark};

/// What was remarked of a session, in a line; empty where nothing was.
pub(in crate::app) fn remarked(app: App, of: Uuid) -> String {
    let l = app.language();
    let lines = app.in_log(|log, archer| {
        let notes = log::remarks(log, archer, of);
        Some(notes.iter().map(|(_, n)| remark(l, n)).filter(|line| !line.is_empty()).collect::<Vec<_>>().join(" · "))
    });
    lines.unwrap_or_default()
}

/// The latest note about a session.
fn latest(app: App, of: Uuid) -> Option<(Uuid, Note)> {
    app.in_log(|log, archer| log::remarks(log, archer, of).pop().map(|(id, note)| (id, note.clone())))
}

/// The controls with what `note` says.
fn controls_of(l: Language, note: &Note) -> String {
    let mut out = "<div class=\"typed\">".to_owned();
    for ((field, title, words), (_, kept)) in WEATHER.iter().zip(note.weather()) {
        let kept = kept.unwrap_or_default();
        let mut options = vec![(String::new(), Word::NotTold.text(l).to_owned())];
        options.extend(words.iter().map(|(name, word)| ((*name).to_owned(), word.text(l).to_owned())));
        if options.iter().all(|(name, _)| name != kept) {
            options.push((kept.to_owned(), kept.to_owned()));
        }
        out += &controls::select(field, title.text(l), &options, kept);
    }
    let (label, text) = (Word::Remark.text(l), escape(&note.text));
    out + &format!(
        "</div><div class=\"field\"><label for=\"remark\">{label}</label>\
         <textarea id=\"remark\" data-act=\"remark\" rows=\"3\" maxlength=\"1000\">\n{text}</textarea></div>"
    )
}

/// The form for it, folded: what is told is kept at once, in the latest note, and can be undone.
pub(in crate::app) fn remarks(of: Uuid) -> AnyView {
    let app = app();
    // What this form has told last.
    let told_last = StoredValue::new(None::<Note>);
    let tell = move |field: &str, value: &str| {
        let old = untrack(|| latest(app, of));
        let fresh = || Note { about: Some(of), at_ms: device::now_ms(), ..Note::default() };
        let mut new = old.as_ref().map_or_else(fresh, |(_, note)| note.clone());
        let word = Some(value.to_owned()).filter(|w| !w.is_empty());
        match field {
            "wind" => new.wind = word,
            "wind_from" => new.wind_from = word,
            "light" => new.light = word,
            _ => new.text = value.to_owned(),
        }
        told_last.set_value(Some(new.clone()));
        match old {
            Some((id, _)) => app.edit(id, Body::Note(new)),
            None => app.write(vec![Body::Note(new)]).is_some(),
        };
    };
    // What is typed is written when the hand rests, and at the latest when the form goes.
    let typed = RwSignal::new(None::<String>);
    let keep = move || {
        if let Some(text) = typed.try_update(Option::take).flatten() {
            tell("", &text);
        }
    };
    on_cleanup(keep);
    let act = move |field: &str, value: &str| {
        if field != "remark" {
            keep();
            tell(field, value);
            return;
        }
        let text = value.to_owned();
        typed.set(Some(text.clone()));
        app.types(keep);
        let rests = move || {
            if typed.try_with_untracked(|t| t.as_ref() == Some(&text)) == Some(true) {
                keep();
            }
        };
        set_timeout(rests, Duration::from_millis(700));
    };
    // Drawn anew when the note was changed by something else than this form: nothing is under a hand. Numbered, since what it was drawn
    // with may be what it is to say again.
    let html = Memo::new(move |was: Option<&(u32, String)>| {
        let note = latest(app, of).map(|(_, note)| note).unwrap_or_default();
        let own = told_last.try_update_value(|told| {
            *told = told.take().filter(|told| *told == note);
            told.is_some()
        });
        match was {
            Some(was) if own == Some(true) => was.clone(),
            was => (was.map_or(0, |w| w.0) + 1, controls_of(app.language(), &note)),
        }
    });
    let html = move || html.with(|(n, html)| format!("<!--{n}-->{html}"));
    view! {
        <details class="rest writes remarks">
            <summary><b>{app.t(Word::Remarks)}</b> <span>{app.t(Word::RemarkKept)}</span></summary>
            {told::region("spoken", Box::new(html), Box::new(act))}
        </details>
    }
    .into_any()
}
