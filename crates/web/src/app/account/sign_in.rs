//! Signing in: a form that a password manager knows, and that Enter sends. And signing out.

use leptos::prelude::*;
use serde_json::{Value, json};
use wasm_bindgen_futures::spawn_local;

use super::ask::ask;
use super::coaches::asked;
use super::section::{Deed, State, button, buttons, form, input, say, section};
use crate::app::peer::Standing;
use crate::app::state::App;
use crate::app::sync;
use crate::pages::escape;
use crate::words::Word;

/// The form. Once somebody is signed in everything is exchanged. It stands `beside_another`, the one for newcomers, and one of them is open at a time.
pub(in crate::app) fn view(app: App, beside_another: bool) -> AnyView {
    section(app, beside_another.into(), false, draw, act).1
}

fn draw(app: App, state: &Value) -> String {
    let known = app.peer.account.with_value(|a| a.as_ref().map(|a| a.name.clone())).unwrap_or_default();
    let code = format!("<div hidden>{}</div>", input("login-code", app.t(Word::SecondEither), "one-time-code", ""));
    let inside = input("login-name", app.t(Word::ArcherName), "username", &known)
        + &input("login-password", app.t(Word::Password), "current-password", "")
        + &code;
    let form = form("sign-in", &inside, "login", app.t(Word::SignIn), "");
    if *state == true { way(app, "with-account", Word::SignInTitle, asked("join").is_none(), &form) } else { form }
}

/// One of several ways in, of which one is open at a time.
pub(super) fn way(app: App, id: &str, title: Word, open: bool, form: &str) -> String {
    let open = if open { " open" } else { "" };
    let title = escape(app.t(title));
    format!("<details class=\"rest\" name=\"way\" id=\"{id}\"{open}><summary>{title}</summary>{form}</details>")
}

fn act(app: App, _: State, deed: Deed) {
    deed.wrong("");
    let name = deed.field("login-name").trim().to_owned();
    let body = json!({ "name": name, "password": deed.field("login-password"), "code": deed.field("login-code") });
    spawn_local(async move {
        // Before the next one begins: afterwards it would be the next one that ends.
        let _ = sync::end_session(app).await;
        match ask("POST", "login", body).await {
            Ok(_) => came_in(app, name),
            Err(refusal) => {
                deed.empty("#login-code");
                match refusal.error().as_str() {
                    // The password was right, and stays for the code that is asked for now.
                    "code_needed" | "wrong_code" => deed.more(),
                    _ => deed.empty("#login-password"),
                }
                deed.wrong(&refusal.text(app));
            }
        }
    });
}

/// Somebody has signed in under that name: everything is exchanged.
pub(super) fn came_in(app: App, name: String) {
    app.peer.name.set_value(name);
    app.standing.set(Standing::None);
    sync::ask(app);
    app.peer.signed.update(|n| *n += 1);
}

/// Who is signed in, and a way out that asks what stays on this device.
pub(super) fn out(app: App, told: &str) -> AnyView {
    section(app, json!({ "told": told }), true, draw_out, act_out).1
}

fn draw_out(app: App, state: &Value) -> String {
    let told = say("signed-in", "", state["told"].as_str().unwrap_or_default());
    if state["leaving"] != true {
        return told + &buttons(&button("sign-out", "", app.t(Word::SignOut), ""));
    }
    let ways = [("sign-out-keep", Word::SignOutKeep), ("sign-out-wipe", Word::SignOutWipe), ("stay", Word::Cancel)];
    let ways: String = ways.map(|(act, word)| button(act, "", app.t(word), "")).concat();
    // What may change while it is asked stands below, so that no button moves under a finger.
    let unsent = if sync::all_sent(app) { String::new() } else { say("", "notice", app.t(Word::SignOutUnsent)) };
    told + &say("", "notice", app.t(Word::SignOutAsk)) + &buttons(&ways) + &unsent
}

fn act_out(app: App, state: State, deed: Deed) {
    match deed.name.as_str() {
        "sign-out-keep" => sync::sign_out(app, false),
        "sign-out-wipe" => sync::sign_out(app, true),
        name => state.update(|s| s["leaving"] = (name == "sign-out").into()),
    }
}
