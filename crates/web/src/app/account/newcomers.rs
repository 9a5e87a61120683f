//! Newcomers: the link by which they make their own accounts, for whoever looks after the server; and the form that it leads to.

use leptos::prelude::*;
use serde_json::{Value, json};
use wasm_bindgen_futures::spawn_local;

use super::ask::{ask, look};
use super::coaches::{asked, copied, handed};
use super::section::{Deed, State, all, button, buttons, check, form, heading, input, say, section, text, when};
use super::sign_in::{came_in, way};
use crate::app::state::{App, Screen};
use crate::words::Word;

/// Whether the way in is open, and a switch.
pub(super) fn view(app: App) -> AnyView {
    let (state, view) = section(app, json!({}), false, draw, act);
    look(app, state, "way", "sign-up".to_owned());
    look(app, state, WARDS, WARDS.to_owned());
    view
}

/// Those under age who have no guardian, and where the server tells them.
const WARDS: &str = "guardians";
/// What begins the name of the form that names one.
const NAMES: &str = "guardian-";

fn draw(app: App, state: &Value) -> String {
    let way = &state["way"];
    let mut out = heading(app, Word::Newcomers);
    if !way.is_object() {
        return out;
    }
    let mut ways = button("way-open", "", app.t(Word::NewcomersOpen), "");
    if way["open"] == true {
        out += &say("", "", &app.f(Word::NewcomersTill, &[&when(app, &way["expires_ms"]), &way["room"].to_string()]));
        ways += &button("way-close", "", app.t(Word::SecondSwitchOff), "");
    } else {
        out += &say("", "", app.t(Word::NewcomersOff));
    }
    out += &buttons(&ways);
    if way["code"].is_string() {
        out += &handed(app, app.t(Word::NewcomersHand), "join", text(way, "code"));
    }
    let one = |ward: &Value| {
        let id = format!("{NAMES}{}", text(ward, "account"));
        let field = input(&format!("of-{id}"), &app.f(Word::GuardianOf, &[text(ward, "name")]), "off", "");
        form(&id, &field, &format!("name-{id}"), app.t(Word::Save), "")
    };
    let wards: String = all(&state[WARDS]).map(one).collect();
    if !wards.is_empty() {
        out += &(say("", "notice note", app.t(Word::WardsHint)) + &wards);
    }
    format!("<section class=\"stack\" id=\"newcomers\">{out}</section>")
}

fn act(app: App, state: State, deed: Deed) {
    deed.wrong("");
    spawn_local(async move {
        if let Some(account) = deed.name.strip_prefix(NAMES) {
            let body = json!({ "guardian": deed.field(&format!("of-{}", deed.name)).trim() });
            return match ask("PUT", &format!("{WARDS}/{account}"), body).await {
                Err(refusal) if refusal.status() == 422 => deed.wrong(app.t(Word::GuardianWrong)),
                Err(refusal) if refusal.status() != 404 => deed.wrong(&refusal.text(app)),
                // Somebody else may have named one meanwhile.
                _ => look(app, state, WARDS, WARDS.to_owned()),
            };
        }
        let done = match deed.name.as_str() {
            "copy" => return copied(app, &deed.value).await,
            "way-open" => ask("POST", "sign-up", json!({})).await,
            _ => ask("DELETE", "sign-up", Value::Null).await.map(|_| json!({ "open": false })),
        };
        match done {
            Ok(way) => state.update(|s| s["way"] = way),
            Err(refusal) => app.say(refusal.text(app)),
        }
    });
}

/// The form for whoever has the link, or was told its code.
pub(super) fn sign_up(app: App) -> AnyView {
    section(app, Value::Null, false, draw_sign_up, act_sign_up).1
}

fn draw_sign_up(app: App, _: &Value) -> String {
    let code = asked("join");
    let open = code.is_some();
    let inside = [
        input("join-code", app.t(Word::JoinCode), "off", &code.unwrap_or_default()),
        input("join-name", app.t(Word::ArcherName), "username", ""),
        input("join-password", app.t(Word::Password), "new-password", ""),
        say("", "hint", app.t(Word::JoinHint)),
        check("join-minor", app.t(Word::JoinMinor)),
    ];
    let form = form("sign-up", &inside.concat(), "join-now", app.t(Word::JoinNow), "");
    way(app, "join", Word::JoinTitle, open, &form)
}

fn act_sign_up(app: App, _: State, deed: Deed) {
    deed.wrong("");
    let name = deed.field("join-name").trim().to_owned();
    let body = json!({
        "code": deed.field("join-code"), "name": name, "password": deed.field("join-password"), "minor": deed.fields["join-minor"],
    });
    spawn_local(async move {
        match ask("POST", "accounts", body).await {
            Ok(_) => {
                app.places.settle(Screen::Account.path());
                came_in(app, name);
            }
            Err(refusal) => {
                let word = match refusal.status() {
                    404 => Word::JoinNone,
                    409 => Word::JoinTaken,
                    422 => Word::JoinHint,
                    _ => return deed.wrong(&refusal.text(app)),
                };
                deed.wrong(app.t(word));
            }
        }
    });
}
