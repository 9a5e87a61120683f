//! What the archer is told of the exchange with a server, and what can be done about it.

use goldward_journal::sync::{Conflict, Failure, LogDone, Standing as LogStanding};
use goldward_journal::{Body, Uuid};
use leptos::prelude::*;
use serde_json::Value;

use super::account::claim::{claiming, claims, whose};
use super::account::section::{Deed, State, button, buttons, say, section};
use super::account::sign_in;
use super::device;
use super::peer::Standing;
use super::state::App;
use super::sync::{ask, leave, take_up};
use crate::pages::escape;
use crate::words::Word;

/// What can be told and asked about it.
pub(super) fn panel(app: App) -> impl IntoView {
    let here = app.peer.account.with_value(|a| a.as_ref().map(|a| a.name.clone())).unwrap_or_default();
    let told = move || match app.standing.get() {
        Standing::None => app.t(Word::SyncNone).to_owned(),
        Standing::Busy => app.t(Word::Saving).to_owned(),
        Standing::Done(at) => app.f(Word::SyncDone, &[&device::date(at, app.language().code())]),
        Standing::Apart => app.t(Word::SyncApart).to_owned(),
        Standing::Offline => app.t(Word::SyncOffline).to_owned(),
        Standing::Claim(_) => app.t(Word::ClaimAsk).to_owned(),
        Standing::Other => app.f(Word::SyncOther, &[&here]),
        Standing::LogIn => app.t(Word::SyncLogIn).to_owned(),
        Standing::Refused(why) => app.f(Word::SyncRefused, &[&why]),
    };
    let asked = Memo::new(move |before: Option<&bool>| match app.standing.get() {
        // While it is busy the form stays as it was, so that nobody types into nothing.
        Standing::Busy => before.copied().unwrap_or(false),
        standing => standing == Standing::LogIn,
    });
    let claims = claims(app);
    view! {
        <h2>{app.t(Word::Sync)}</h2>
        <p id="standing" role="status">{told}</p>
        {section(app, Value::Null, true, draw, act).1}
        {move || claims.get().map(|account| claiming(app, account))}
        <Show when=move || asked.get()>{sign_in::view(app, false)}</Show>
        <div class="links"><a href="#/account" id="to-account">{app.t(Word::AccountLink)}</a></div>
    }
}

fn draw(app: App, _: &Value) -> String {
    let mut out = "<ul id=\"not-in-step\">".to_owned();
    app.peer.logs.with(|logs| logs.iter().for_each(|(archer, done)| out += &apart(app, *archer, done)));
    out += "</ul><ul id=\"set-aside\">";
    app.peer.aside.with(|all| {
        all.iter().take(20).for_each(|a| out += &format!("<li class=\"hint\">{}</li>", escape(&a.to_string())));
    });
    out += "</ul>";
    app.peer.conflicts.with(|all| out += &changed_apart(app, all));
    let mut ways = format!("<button type=\"button\" id=\"sync\" data-act=\"sync\">{}</button>", app.t(Word::SyncNow));
    if app.peer.left.with(|l| !l.is_empty()) {
        ways += &button("take-up", "", app.t(Word::TakeUpLog), "");
    }
    out += &buttons(&ways);
    if let Some(account) = app.peer.account.get_value() {
        out += &say("", "hint", &app.f(Word::SignedInAs, &[&account.name]));
    }
    out
}

fn act(app: App, _: State, deed: Deed) {
    match deed.name.as_str() {
        "sync" => ask(app),
        "take-up" => take_up(app),
        "leave" => leave(app, deed.value.parse().unwrap_or_default()),
        _ => {
            let conflicts = app.peer.conflicts.get_untracked();
            if let Some(Conflict { other, .. }) = conflicts.into_iter().find(|c| of(c) == deed.value) {
                app.use_version(other.archer, other.id, other.body);
                app.peer.conflicts.update(|all| all.retain(|c| of(c) != deed.value));
            }
        }
    }
}

/// Of what record it is.
fn of(conflict: &Conflict) -> String {
    format!("{} {}", conflict.kept.archer, conflict.kept.id)
}

/// A log that is not in step, and what to do; and one that may be left.
fn apart(app: App, archer: Uuid, done: &LogDone) -> String {
    let who = whose(app, archer);
    let text = match &done.standing {
        LogStanding::InStep => None,
        LogStanding::Aside => {
            let n = app.peer.aside.with(|all| all.iter().filter(|a| a.archer == archer).count());
            Some(app.f(Word::SyncAside, &[&who, &n.to_string()]))
        }
        LogStanding::Differs { .. } => Some(app.f(Word::SyncDiffers, &[&who])),
        LogStanding::Unsent => Some(app.f(Word::SyncUnsent, &[&who])),
        LogStanding::Erased => Some(app.f(Word::SyncErased, &[&who])),
        LogStanding::Refused(Failure::NotFound(_)) => Some(app.f(Word::SyncNotYours, &[&who])),
        LogStanding::Refused(
            Failure::Forbidden(what) | Failure::Bad(what) | Failure::TooLarge(what) | Failure::Other(_, what),
        ) => Some(app.f(Word::SyncLogRefused, &[&who, what])),
        _ => Some(app.f(Word::SyncUnfinished, &[&who])),
    };
    if text.is_none() && !done.reader {
        return String::new();
    }
    let class = if text.is_some() { "notice" } else { "" };
    let leave = if done.reader {
        button("leave", &archer.to_string(), app.t(Word::LeaveLog), app.t(Word::LeaveLogSure))
    } else {
        String::new()
    };
    format!("<li data-log=\"{archer}\"><span class=\"{class}\">{}</span> {leave}</li>", escape(&text.unwrap_or(who)))
}

/// What two devices changed apart, with a way to take the other version.
fn changed_apart(app: App, conflicts: &[Conflict]) -> String {
    if conflicts.is_empty() {
        return String::new();
    }
    let when = |ms: u64| device::date(ms, app.language().code());
    let told = app.f(Word::ChangedApart, &[&conflicts.len().to_string()]);
    let mut out = format!("<div id=\"changed-apart\"><p class=\"notice\" role=\"status\">{}</p><ul>", escape(&told));
    for c in conflicts.iter().rev().take(20) {
        let text = app.f(Word::ChangedApartOne, &[&when(c.kept.stamp.ms), &when(c.other.stamp.ms)]);
        let other = button("use-other", &of(c), app.t(Word::UseOther), "");
        out += &format!("<li><span>{} {}</span> {other}</li>", escape(&text), escape(&short(&c.other.body)));
    }
    out + "</ul></div>"
}

/// A version in a few characters.
fn short(body: &Body) -> String {
    match body {
        Body::Shot(s) => match (&s.call, s.x_mm, s.y_mm) {
            (Some(call), ..) => format!("{}.{}: {call}", s.end, s.index),
            (None, Some(x), Some(y)) => format!("{}.{}: {x:.0}, {y:.0} mm", s.end, s.index),
            _ => format!("{}.{}", s.end, s.index),
        },
        Body::Kit(k) => k.name.clone(),
        Body::Archer(a) => a.name.clone(),
        Body::Note(n) => n.text.chars().take(40).collect(),
        Body::Mark(m) => format!("{} m: {}", m.distance_m, m.elevation_reading),
        _ => String::new(),
    }
}

/// Told once on whatever screen is open, when two devices have changed the same apart.
pub(super) fn tell_conflicts(app: App) {
    Effect::new(move |before: Option<usize>| {
        let n = app.peer.conflicts.with(Vec::len);
        if before.is_some_and(|b| n > b) {
            app.say(app.f(Word::ChangedApart, &[&(n - before.unwrap_or(0)).to_string()]));
        }
        n
    });
}
