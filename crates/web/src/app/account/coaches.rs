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
use crate::roster::about;
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
    let shown = Memo::new(move |_| {
        state.with(|s| {
            // Whose it is, is told before anything of it has come.
            let of = |a: Uuid| text(about(&s["logs"], &a.to_string()), "of").to_owned();
            let guarded = logs_with(&s["logs"], "guards").map(|a| (a, Some(of(a))));
            logs_with(&s["logs"], "own").map(|a| (a, None)).chain(guarded).collect::<Vec<_>>()
        })
    });
    view! {
        {logs}
        <For each=move || shown.get() key=|a| a.clone() children=move |(archer, of)| untrack(|| of_log(app, archer, of))/>
    }
    .into_any()
}

/// The logs that are the account's own, of all that the server lists.
pub(super) fn own_logs(listed: &Value) -> Vec<Uuid> {
    logs_with(listed, "own").collect()
}

fn logs_with<'a>(listed: &'a Value, what: &'a str) -> impl Iterator<Item = Uuid> + 'a {
    all(listed).filter(move |l| l[what] == true).filter_map(|l| text(l, "archer").parse().ok())
}

fn draw_none(app: App, state: &Value) -> String {
    let none = state["logs"].is_array() && own_logs(&state["logs"]).is_empty();
    heading(app, Word::WhoSees) + &if none { say("", "", app.t(Word::NoLogsThere)) } else { String::new() }
}

/// One of them; a guardian invites nobody, and says who may see it.
fn of_log(app: App, archer: Uuid, of: Option<String>) -> AnyView {
    let guards = of.is_some();
    let begin = json!({
        "archer": archer.to_string(), "guards": guards, "of": of, "invitations": guards.then(Vec::<Value>::new),
    });
    let (state, view) = section(app, begin, false, draw, act);
    refresh(app, state, archer);
    view
}

fn refresh(app: App, state: State, archer: Uuid) {
    let guards = state.with_untracked(|s| s["guards"] == true);
    for kind in ["coaches", "invitations"].into_iter().take(if guards { 1 } else { 2 }) {
        look(app, state, kind, format!("logs/{archer}/{kind}"));
    }
}

fn draw(app: App, state: &Value) -> String {
    let archer = text(state, "archer");
    let guards = state["guards"] == true;
    let name = match text(state, "of") {
        "" => whose(app, archer.parse().unwrap_or_default()),
        of => of.to_owned(),
    };
    let row = |kind: &str, id: &str, more: &str, waits: bool| {
        let path = format!("logs/{archer}/{kind}/{id}");
        let agree = format!("{path}/agree");
        let agree = if waits { button("agree", &agree, app.t(Word::Agree), "") } else { String::new() };
        entry("", more, &(agree + &button("take-back", &path, app.t(Word::TakeBack), app.t(Word::TakeBackSure))))
    };
    let coach = |c: &Value| {
        let (writes, waits) = (c["write"] == true, c["agreed"] == false);
        let read = match c["read_ms"].is_u64() {
            _ if waits => app.t(Word::CoachWaits).to_owned(),
            true => app.f(Word::CoachHasRead, &[&when(app, &c["read_ms"])]),
            false => app.t(Word::CoachNotRead).to_owned(),
        };
        let told = app.f(
            if writes { Word::CoachWrites } else { Word::CoachReads },
            &[text(c, "name"), &when(app, &c["since_ms"])],
        );
        row("coaches", text(c, "account"), &format!("{told} · {read}"), guards && waits)
    };
    let open = |o: &Value| {
        let word = if o["write"] == true { Word::OpenWrite } else { Word::OpenRead };
        row("invitations", text(o, "id"), &app.f(word, &[&when(app, &o["expires_ms"])]), false)
    };
    let known = state["coaches"].is_array() && state["invitations"].is_array();
    let rows: Vec<String> = all(&state["coaches"]).map(coach).chain(all(&state["invitations"]).map(open)).collect();
    let rows = match known {
        true if rows.is_empty() => format!("<ul class=\"coaches entries\"><li>{}</li></ul>", app.t(Word::NobodySees)),
        true => list(app, "coaches", &rows).replacen(" id=\"coaches\"", "", 1),
        false => String::new(),
    };
    let invite = match guards {
        true => say("", "hint", app.t(Word::GuardianHint)),
        false => buttons(
            &(button("invite", archer, app.t(Word::InviteRead), "")
                + &button("invite-write", archer, app.t(Word::InviteWrite), "")),
        ),
    };
    let fresh = &state["fresh"];
    let hand =
        |f: &Value| handed(app, &app.f(Word::InviteHand, &[&when(app, &f["expires_ms"])]), "accept", text(f, "code"));
    let handed = if fresh.is_object() { hand(fresh) } else { String::new() };
    let heading = format!("<h3>{}</h3>", escape(&name));
    format!("<section class=\"stack card\" data-log=\"{archer}\">{heading}{rows}{invite}{handed}</section>")
}

/// A link to be handed on, for a place that takes a code.
pub(super) fn handed(app: App, told: &str, place: &str, code: &str) -> String {
    let link = link(place, code);
    let shown = escape(&link);
    format!(
        "<div class=\"stack handed\" role=\"status\">{}{}{}<p class=\"link\"><a href=\"{shown}\">{shown}</a></p>{}</div>",
        say("", "", told),
        picture(&link, app.t(Word::InvitePicture)),
        say("", "code", code),
        buttons(&button("copy", &link, app.t(Word::CopyLink), "")),
    )
}

/// The address of a place that takes a code.
fn link(place: &str, code: &str) -> String {
    let at = device::window().location();
    format!("{}{}#/{place}/{code}", at.origin().unwrap_or_default(), at.pathname().unwrap_or_default())
}

fn act(app: App, state: State, deed: Deed) {
    let archer: Uuid = state.with_untracked(|s| text(s, "archer").parse().unwrap_or_default());
    spawn_local(async move {
        let done = match deed.name.as_str() {
            "copy" => return copied(app, &deed.value).await,
            "agree" => ask("POST", &deed.value, Value::Null).await,
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

/// Puts a link where it can be pasted from.
pub(super) async fn copied(app: App, link: &str) {
    if offers::copy(link).await {
        app.say(app.t(Word::Copied).to_owned());
    }
}

/// The code of the address that the app was opened with, for that place.
pub(super) fn asked(place: &str) -> Option<String> {
    let hash = device::window().location().hash().unwrap_or_default();
    let code = hash.strip_prefix("#/")?.strip_prefix(place)?.strip_prefix('/')?;
    Some(code.to_owned()).filter(|c| !c.is_empty())
}

/// Takes an invitation, by its link or its code.
pub(super) fn accept(app: App) -> AnyView {
    section(app, json!({ "code": asked("accept") }), false, draw_accept, act_accept).1
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
                let mut said = app.f(word, &[text(&given, "from")]);
                if given["waits"] == true {
                    said = app.t(Word::AcceptedWaits).to_owned();
                }
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
