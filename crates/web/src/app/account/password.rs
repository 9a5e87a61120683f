//! Another password.

use leptos::prelude::*;
use serde_json::{Value, json};
use wasm_bindgen_futures::spawn_local;

use super::ask::ask;
use super::section::{Deed, State, check, form, heading, input, say, section, text};
use crate::app::state::App;
use crate::pages::escape;
use crate::words::Word;

/// The form.
pub(super) fn view(app: App, name: &str) -> AnyView {
    section(app, json!({ "name": name }), false, draw, act).1
}

fn draw(app: App, state: &Value) -> String {
    let inside = [
        // For the password manager.
        format!("<input type=\"text\" autocomplete=\"username\" hidden value=\"{}\">", escape(text(state, "name"))),
        input("password-old", app.t(Word::PasswordNow), "current-password", ""),
        input("password-new", app.t(Word::PasswordNew), "new-password", ""),
        say("", "hint", app.t(Word::PasswordHint)),
        check("password-devices", app.t(Word::PasswordDevices)),
    ];
    heading(app, Word::ChangePassword)
        + &form("password", &inside.concat(), "password-set", app.t(Word::ChangePassword), "")
}

fn act(app: App, _: State, deed: Deed) {
    deed.wrong("");
    let body = json!({
        "old": deed.field("password-old"), "new": deed.field("password-new"), "end_devices": deed.fields["password-devices"],
    });
    spawn_local(async move {
        match ask("POST", "password", body).await {
            Ok(_) => {
                deed.empty("#password-old");
                deed.empty("#password-new");
                app.say(app.t(Word::PasswordSet).to_owned());
            }
            Err(refusal) if refusal.status() == 422 => deed.wrong(app.t(Word::PasswordWeak)),
            Err(refusal) => deed.wrong(&refusal.text(app)),
        }
    });
}
