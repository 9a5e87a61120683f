//! What lies beside a log at the server: the groups that its reader puts the archer into, and what coaches write.

use goldward_journal::Uuid;
use leptos::prelude::*;
use serde_json::{Value, json};
use wasm_bindgen_futures::spawn_local;

use super::ask::{ask, look};
use super::claim::whose;
use super::section::{Deed, State, all, button, entry, form, heading, input, list, say, section, text, when};
use crate::app::state::{App, app};
use crate::app::sync;
use crate::pages::escape;
use crate::roster::{about, told};
use crate::words::Word;

/// The page, of the archer that it was opened for, else of who shoots.
pub(in crate::app) fn view() -> impl IntoView {
    let app = app();
    let Some(archer) = app.peer.beside.get_value().or(app.archer().map(|(id, _)| id)) else { return ().into_any() };
    let (state, view) = section(app, json!({ "archer": archer.to_string() }), false, draw, act);
    refresh(app, state, archer);
    view! { <div class="page" id="beside">{view}</div> }.into_any()
}

fn refresh(app: App, state: State, archer: Uuid) {
    look(app, state, "notes", format!("logs/{archer}/notes"));
    look(app, state, "roster", "roster".to_owned());
}

fn draw(app: App, state: &Value) -> String {
    let archer: Uuid = text(state, "archer").parse().unwrap_or_default();
    let is = |what: &str| app.peer.told.with(|t| about(&t["logs"], text(state, "archer"))[what] == true);
    let (own, guards) = (is("own"), is("guards"));
    let mut out = format!("<h2>{}</h2>", escape(&whose(app, archer)));
    // What would be overwritten is known first.
    if state["roster"].is_array() {
        let now = told(&state["roster"], archer);
        let inside = input("groups", app.t(Word::Groups), "off", &now) + &say("", "hint", app.t(Word::GroupsHint));
        out += &form("group", &inside, "group-save", app.t(Word::Save), "");
    }
    out += &heading(app, Word::Notes);
    if !state["notes"].is_array() {
        return out;
    }
    if !own && !guards {
        let area = format!(
            "<div class=\"field\"><label for=\"note\">{}</label><textarea id=\"note\" name=\"note\" rows=\"4\" maxlength=\"2000\"></textarea></div>",
            escape(app.t(Word::NoteTo))
        );
        out += &form("write", &area, "note-send", app.t(Word::NoteSend), "");
    }
    let one = |n: &Value| {
        let id = text(n, "id");
        let read = n["read_ms"].is_u64();
        let told =
            if read { app.f(Word::NoteRead, &[&when(app, &n["read_ms"])]) } else { app.t(Word::NoteNew).to_owned() };
        let title = format!("{}, {} · {told}", text(n, "from"), when(app, &n["at_ms"]));
        let mut done = String::new();
        if own && !read {
            done += &button("note-read", id, app.t(Word::NoteMark), "");
        }
        if own || n["own"] == true {
            done += &button("note-remove", id, app.t(Word::Delete), app.t(Word::NoteRemoveSure));
        }
        let entry = entry(&title, &format!("\n{}", text(n, "text")), &done);
        if read { entry } else { entry.replacen("<li>", "<li class=\"unread\">", 1) }
    };
    out + &list(app, "notes", &all(&state["notes"]).map(one).collect::<Vec<_>>())
}

fn act(app: App, state: State, deed: Deed) {
    deed.wrong("");
    let archer: Uuid = state.with_untracked(|s| text(s, "archer").parse().unwrap_or_default());
    spawn_local(async move {
        let note = format!("logs/{archer}/notes/{}", deed.value);
        let done = match deed.name.as_str() {
            "group" => {
                let typed = deed.field("groups");
                let groups: Vec<&str> = typed.split(',').map(str::trim).filter(|g| !g.is_empty()).collect();
                ask("PUT", &format!("roster/{archer}"), json!({ "groups": groups })).await
            }
            "write" => ask("POST", &format!("logs/{archer}/notes"), json!({ "text": deed.field("note") })).await,
            "note-read" => ask("POST", &format!("{note}/read"), Value::Null).await,
            _ => ask("DELETE", &note, Value::Null).await,
        };
        match done {
            Ok(_) => {
                match deed.name.as_str() {
                    "group" => app.say(app.t(Word::Changed).to_owned()),
                    "write" => deed.empty("textarea"),
                    _ => {}
                }
                refresh(app, state, archer);
                // The sign that there are new ones, and the groups that are shown.
                sync::look(app);
            }
            Err(refusal) => {
                let told =
                    if refusal.status() == 422 { app.t(Word::BesideWrong).to_owned() } else { refusal.text(app) };
                deed.wrong(&told);
                if !matches!(deed.name.as_str(), "group" | "write") {
                    app.say(told);
                }
            }
        }
    });
}
