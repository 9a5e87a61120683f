//! The end of a log on the server, or of the account.

use leptos::prelude::*;
use serde_json::{Value, json};
use wasm_bindgen_futures::spawn_local;

use super::ask::{ask, look};
use super::claim::whose;
use super::coaches::own_logs;
use super::section::{Deed, State, button, buttons, form, heading, input, say, section};
use crate::app::state::App;
use crate::app::sync;
use crate::pages::controls;
use crate::words::Word;

/// Asks what, and for the password.
pub(super) fn view(app: App) -> AnyView {
    section(app, json!({}), false, draw, act).1
}

fn draw(app: App, state: &Value) -> String {
    let title = heading(app, Word::Erase);
    if !state["logs"].is_array() {
        return title + &buttons(&button("erase-open", "", app.t(Word::Erase), ""));
    }
    // Without a log, the account.
    let mut what = vec![(String::new(), app.t(Word::EraseAccount).to_owned())];
    let own = own_logs(&state["logs"]);
    what.extend(own.into_iter().map(|a| (a.to_string(), app.f(Word::EraseLogOf, &[&whose(app, a)]))));
    let what = controls::select("erase-what", app.t(Word::EraseWhat), &what, "").replacen(
        "<select ",
        "<select name=\"erase-what\" ",
        1,
    );
    let inside = say("", "notice safety", app.t(Word::EraseNote))
        + &what
        + &input("erase-password", app.t(Word::Password), "current-password", "");
    title
        + &form("erase", &inside, "erase-now", app.t(Word::Erase), app.t(Word::EraseSure))
        + &buttons(&button("erase-close", "", app.t(Word::Cancel), ""))
}

fn act(app: App, state: State, deed: Deed) {
    match deed.name.as_str() {
        "erase-open" => return look(app, state, "logs", "logs".to_owned()),
        "erase-close" => return state.set(json!({})),
        _ => deed.wrong(""),
    }
    let log = deed.field("erase-what");
    let path = if log.is_empty() { "account/erase".to_owned() } else { format!("logs/{log}/erase") };
    spawn_local(async move {
        match ask("POST", &path, json!({ "password": deed.field("erase-password") })).await {
            Ok(_) => {
                app.say(app.t(Word::Erased).to_owned());
                state.set(json!({}));
                if log.is_empty() {
                    sync::release(app);
                } else {
                    sync::run(app);
                }
            }
            Err(refusal) => deed.wrong(&refusal.text(app)),
        }
    });
}
