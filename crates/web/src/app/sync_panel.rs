//! What the archer is told of the exchange with a server, and what can be done about it.

use goldward_journal::sync::{Conflict, Failure, LogDone, Standing as LogStanding};
use goldward_journal::{Body, Uuid};
use leptos::prelude::*;

use super::account::sign_in;
use super::claim::{claiming, whose};
use super::device;
use super::state::App;
use super::sync::{Standing, ask, leave, take_up};
use crate::words::Word;

/// What can be told and asked about it.
pub(super) fn panel(app: App) -> impl IntoView {
    let account = app.peer.account.get_value();
    let whose_here = account.as_ref().map(|a| a.name.clone()).unwrap_or_default();
    let here = whose_here.clone();
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
    let signed_in = account.is_some();
    view! {
        <h2>{app.t(Word::Sync)}</h2>
        <p id="standing" role="status">{told}</p>
        <ul id="not-in-step">{move || app.peer.logs.get().into_iter().filter_map(|(archer, done)| apart(app, archer, &done)).collect_view()}</ul>
        <ul id="set-aside">{move || app.peer.aside.with(|all| {
            all.iter().take(20).map(|a| view! { <li class="hint">{a.to_string()}</li> }).collect_view()
        })}</ul>
        {move || changed_apart(app, app.peer.conflicts.get())}
        <div class="buttons">
            <button type="button" id="sync" on:click=move |_| ask(app)>{app.t(Word::SyncNow)}</button>
            <Show when=move || app.peer.left.with(|l| !l.is_empty())>
                <button type="button" id="take-up" on:click=move |_| take_up(app)>{app.t(Word::TakeUpLog)}</button>
            </Show>
        </div>
        {signed_in.then(|| view! { <p class="hint">{app.f(Word::SignedInAs, &[&whose_here])}</p> })}
        {move || match app.standing.get() {
            Standing::Claim(account) => Some(claiming(app, account)),
            _ => None,
        }}
        <Show when=move || asked.get()>{sign_in::view(app)}</Show>
        <div class="links"><a href="#/account" id="to-account">{app.t(Word::AccountLink)}</a></div>
    }
}

/// A log that is not in step, and what to do; and one that may be left.
fn apart(app: App, archer: Uuid, done: &LogDone) -> Option<impl IntoView + use<>> {
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
        return None;
    }
    let (sure, wrong) = (RwSignal::new(false), text.is_some());
    let reader = done.reader;
    Some(view! {
        <li data-log=archer.to_string()>
            <span class:notice=wrong>{text.unwrap_or(who)}</span>
            <Show when=move || reader>
                <button type="button" class="leave" on:click=move |_| if sure.get_untracked() { leave(app, archer) } else { sure.set(true) }>
                    {move || app.t(if sure.get() { Word::LeaveLogSure } else { Word::LeaveLog })}
                </button>
            </Show>
        </li>
    })
}

/// What two devices changed apart, with a way to take the other version.
fn changed_apart(app: App, conflicts: Vec<Conflict>) -> Option<impl IntoView> {
    if conflicts.is_empty() {
        return None;
    }
    let when = move |ms: u64| device::date(ms, app.language().code());
    let rows = conflicts.iter().rev().take(20).cloned().map(move |c| {
        let text = app.f(Word::ChangedApartOne, &[&when(c.kept.stamp.ms), &when(c.other.stamp.ms)]);
        let show = short(&c.other.body);
        let use_other = move |_| {
            app.use_version(c.other.archer, c.other.id, c.other.body.clone());
            app.peer.conflicts.update(|all| all.retain(|x| x.kept.id != c.kept.id || x.kept.archer != c.kept.archer));
        };
        view! {
            <li><span>{text} " " {show}</span>
                <button type="button" on:click=use_other>{app.t(Word::UseOther)}</button></li>
        }
    });
    Some(view! {
        <div id="changed-apart">
            <p class="notice" role="status">{app.f(Word::ChangedApart, &[&conflicts.len().to_string()])}</p>
            <ul>{rows.collect_view()}</ul>
        </div>
    })
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
