//! Coaches: who was let into which log, and since when; invitations to them, and taking one.

use goldward_journal::Uuid;
use leptos::prelude::*;
use serde_json::{Value, json};
use wasm_bindgen_futures::spawn_local;

use super::ask::{ask, look};
use super::claim::whose;
use super::picture::picture;
use super::section::{Deed, State, all, button, buttons, entry, form, heading, input, list, say, section, text, when};
use crate::app::state::{App, Screen};
use crate::app::{device, offers, sync};
use crate::pages::escape;
use crate::words::Word;

/// Of each log of one's own: who sees it, and a way to let somebody in.
pub(super) fn view(app: App) -> AnyView {
    let (state, logs) = section(app, json!({}), false, draw_none, |_, _, _| ());
    // Again when a log has come to the server.
    let there = Memo::new(move |_| app.peer.logs.with(|l| l.keys().copied().collect::<Vec<_>>()));
    Effect::new(move || {
        // Asked for, not only followed: a memo that nobody has asked follows nothing itself.
        let _ = there.get();
        look(app, state, "logs", "logs".to_owned());
    });
    let own = Memo::new(move |_| state.with(|s| own_logs(&s["logs"])));
    view! {
        {logs}
        <For each=move || own.get() key=|a| *a children=move |archer| untrack(|| of_log(app, archer))/>
    }
    .into_any()
}

/// The logs that are the account's own, of all that the server lists.
pub(super) fn own_logs(listed: &Value) -> Vec<Uuid> {
    all(listed).filter(|l| l["own"] == true).filter_map(|l| text(l, "archer").parse().ok()).collect()
}

fn draw_none(app: App, state: &Value) -> String {
    let none = state["logs"].is_array() && own_logs(&state["logs"]).is_empty();
    heading(app, Word::WhoSees) + &if none { say("", "", app.t(Word::NoLogsThere)) } else { String::new() }
}

fn of_log(app: App, archer: Uuid) -> AnyView {
    let (state, view) = section(app, json!({ "archer": archer.to_string() }), false, draw, act);
    refresh(app, state, archer);
    view
}

fn refresh(app: App, state: State, archer: Uuid) {
    for kind in ["coaches", "invitations"] {
        look(app, state, kind, format!("logs/{archer}/{kind}"));
    }
}

fn draw(app: App, state: &Value) -> String {
    let archer = text(state, "archer");
    let name = whose(app, archer.parse().unwrap_or_default());
    let row = |kind: &str, id: &str, what: &str, more: &str| {
        let path = format!("logs/{archer}/{kind}/{id}");
        entry(what, more, &button("take-back", &path, app.t(Word::TakeBack), app.t(Word::TakeBackSure)))
    };
    let coach = |c: &Value| {
        let word = if c["write"] == true { Word::CoachWrites } else { Word::CoachReads };
        row("coaches", text(c, "account"), "", &app.f(word, &[text(c, "name"), &when(app, &c["since_ms"])]))
    };
    let open = |o: &Value| {
        let word = if o["write"] == true { Word::OpenWrite } else { Word::OpenRead };
        row("invitations", text(o, "id"), "", &app.f(word, &[&when(app, &o["expires_ms"])]))
    };
    let known = state["coaches"].is_array() && state["invitations"].is_array();
    let rows: Vec<String> = all(&state["coaches"]).map(coach).chain(all(&state["invitations"]).map(open)).collect();
    let rows = match known {
        true if rows.is_empty() => format!("<ul class=\"coaches entries\"><li>{}</li></ul>", app.t(Word::NobodySees)),
        true => list(app, "coaches", &rows).replacen(" id=\"coaches\"", "", 1),
        false => String::new(),
    };
    let invite = button("invite", archer, app.t(Word::InviteRead), "")
        + &button("invite-write", archer, app.t(Word::InviteWrite), "");
    let fresh = &state["fresh"];
    let handed = if fresh.is_object() { handed(app, fresh) } else { String::new() };
    let heading = format!("<h3>{}</h3>", escape(&name));
    format!("<section class=\"stack card\" data-log=\"{archer}\">{heading}{rows}{}{handed}</section>", buttons(&invite))
}

/// An invitation, to be handed on.
fn handed(app: App, fresh: &Value) -> String {
    let (code, link) = (text(fresh, "code"), link(text(fresh, "code")));
    let shown = escape(&link);
    format!(
        "<div class=\"stack handed\" role=\"status\">{}{}{}<p class=\"link\"><a href=\"{shown}\">{shown}</a></p>{}</div>",
        say("", "", &app.f(Word::InviteHand, &[&when(app, &fresh["expires_ms"])])),
        picture(&link, app.t(Word::InvitePicture)),
        say("", "code", code),
        buttons(&button("copy", &link, app.t(Word::CopyLink), "")),
    )
}

/// The address that takes an invitation.
fn link(code: &str) -> String {
    let at = device::window().location();
    format!("{}{}#/accept/{code}", at.origin().unwrap_or_default(), at.pathname().unwrap_or_default())
}

fn act(app: App, state: State, deed: Deed) {
    let archer: Uuid = state.with_untracked(|s| text(s, "archer").parse().unwrap_or_default());
    spawn_local(async move {
        let done = match deed.name.as_str() {
            "copy" => {
                if offers::copy(&deed.value).await {
                    app.say(app.t(Word::Copied).to_owned());
                }
                return;
            }
            "take-back" => ask("DELETE", &deed.value, Value::Null).await.map(|_| Value::Null),
            name => {
                let body = json!({ "write": name == "invite-write" });
                ask("POST", &format!("logs/{archer}/invitations"), body).await
            }
        };
        match done {
            // Its open invitations end with a coach.
            Ok(fresh) => state.update(|s| s["fresh"] = fresh),
            Err(refusal) => app.say(refusal.text(app)),
        }
        refresh(app, state, archer);
    });
}

/// The code of the address that the app was opened with.
pub(super) fn asked() -> Option<String> {
    let hash = device::window().location().hash().unwrap_or_default();
    hash.strip_prefix("#/accept/").map(str::to_owned).filter(|c| !c.is_empty())
}

/// Takes an invitation, by its link or its code.
pub(super) fn accept(app: App) -> AnyView {
    section(app, json!({ "code": asked() }), false, draw_accept, act_accept).1
}

fn draw_accept(app: App, state: &Value) -> String {
    let code = input("accept-code", app.t(Word::InviteCode), "off", text(state, "code"));
    heading(app, Word::AcceptTitle)
        + &form("accept", &code, "accept-now", app.t(Word::Accept), "")
        + &format!("<p role=\"status\" id=\"accepted\">{}</p>", escape(text(state, "said")))
}

fn act_accept(app: App, state: State, deed: Deed) {
    deed.wrong("");
    spawn_local(async move {
        match ask("POST", "invitations/accept", json!({ "code": deed.field("accept-code") })).await {
            Ok(given) => {
                app.places.settle(Screen::Account.path());
                let word = if given["write"] == true { Word::AcceptedWrite } else { Word::AcceptedRead };
                let said = app.f(word, &[text(&given, "from")]);
                deed.empty("#accept-code");
                state.set(json!({ "said": said }));
                if let Ok(archer) = text(&given, "archer").parse() {
                    sync::admit(app, archer, given["write"] == true);
                }
            }
            Err(refusal) if refusal.status() == 404 => deed.wrong(app.t(Word::AcceptNone)),
            Err(refusal) => deed.wrong(&refusal.text(app)),
        }
    });
}
