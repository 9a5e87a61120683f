//! In step with the server that the app came from, whenever it can be reached. Everything works without.

use std::collections::BTreeSet;
use std::time::Duration;

use goldward_journal::log::Digest;
use goldward_journal::sync::{SyncRequest, SyncResponse};
use goldward_journal::{Record, SCHEMA, Seen, Uuid};
use leptos::prelude::*;
use serde::{Deserialize, Serialize, de::DeserializeOwned};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::{JsFuture, spawn_local};

use super::state::{App, Saving};
use super::widgets::TextField;
use super::{db, device};
use crate::words::Word;

/// Records sent in one request.
const PART: usize = 4000;
/// How often the server is asked, in seconds.
const EVERY: u64 = 60;

/// How things stand with the server.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) enum Standing {
    /// Not asked yet, or no server of ours.
    #[default]
    None,
    Busy,
    /// In step since then.
    Done(u64),
    Offline,
    /// It wants a name and a password.
    LogIn,
    Refused(String),
}

/// How far one archer's log is in step.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(default)]
struct Reached {
    after: u64,
    /// Of each device, what the server is known to have.
    seen: Seen,
    /// Whether everything has been exchanged anew because the digests differed.
    anew: bool,
}

enum Failed {
    Offline,
    Status(u16, String),
}

async fn call<T: DeserializeOwned>(method: &str, path: &str, body: Option<String>) -> Result<Option<T>, Failed> {
    let options = web_sys::RequestInit::new();
    options.set_method(method);
    if let Some(body) = body {
        let headers = web_sys::Headers::new().map_err(|_| Failed::Offline)?;
        let _ = headers.set("content-type", "application/json");
        options.set_headers(&headers);
        options.set_body(&body.into());
    }
    let answer = JsFuture::from(device::window().fetch_with_str_and_init(path, &options)).await;
    let answer: web_sys::Response = answer.and_then(JsCast::dyn_into).map_err(|_| Failed::Offline)?;
    let text = match answer.text() {
        Ok(text) => JsFuture::from(text).await.ok().and_then(|t| t.as_string()).unwrap_or_default(),
        Err(_) => String::new(),
    };
    if !answer.ok() {
        let said = serde_json::from_str::<serde_json::Value>(&text).ok();
        let message = said.and_then(|v| v["message"].as_str().map(str::to_owned)).unwrap_or_default();
        return Err(Failed::Status(answer.status(), message));
    }
    Ok(serde_json::from_str(&text).ok())
}

#[derive(Deserialize)]
struct LogEntry {
    archer: Uuid,
    own: bool,
}

/// Keeps in step, once the archer has asked for it: at the start, every minute, when the network comes back and soon after something
/// was written. Until then nothing is sent anywhere.
pub(super) fn begin(app: App) {
    quietly(app);
    set_interval(move || quietly(app), Duration::from_secs(EVERY));
    let online = Closure::<dyn Fn()>::new(move || quietly(app));
    let _ = device::window().add_event_listener_with_callback("online", online.as_ref().unchecked_ref());
    online.forget();
    Effect::new(move |before: Option<usize>| {
        let n = app.log.with(goldward_journal::Log::len);
        if before.is_some_and(|b| b != n) && app.saving.get_untracked() != Saving::Saving {
            set_timeout(move || quietly(app), Duration::from_secs(3));
        }
        n
    });
}

/// Exchanges with the server if the archer has asked to be kept in step.
fn quietly(app: App) {
    if app.prefs.with_untracked(|p| p.sync) {
        run(app);
    }
}

/// The archer asks to be kept in step from now on.
fn ask(app: App) {
    app.prefer(|p| p.sync = true);
    run(app);
}

/// Exchanges with the server, unless that is going on already.
pub(super) fn run(app: App) {
    if app.standing.get_untracked() == Standing::Busy {
        return;
    }
    app.standing.set(Standing::Busy);
    spawn_local(async move {
        let standing = match everyone(app).await {
            Ok(true) => Standing::Done(device::now_ms()),
            Ok(false) => Standing::None,
            Err(Failed::Offline) => Standing::Offline,
            Err(Failed::Status(401, _)) => Standing::LogIn,
            // A plain file server, which knows nothing of logs.
            Err(Failed::Status(404 | 405 | 501, _)) => Standing::None,
            Err(Failed::Status(status, message)) => Standing::Refused(format!("{message} ({status})")),
        };
        app.standing.set(standing);
    });
}

async fn everyone(app: App) -> Result<bool, Failed> {
    let Some(db) = app.database() else { return Ok(false) };
    let Some(logs) = call::<Vec<LogEntry>>("GET", "./api/v1/logs", None).await? else { return Ok(false) };
    let coached: BTreeSet<Uuid> = logs.iter().filter(|l| !l.own).map(|l| l.archer).collect();
    let mut archers: BTreeSet<Uuid> = logs.iter().map(|l| l.archer).collect();
    archers.extend(app.log.with_untracked(goldward_journal::Log::archers));
    for archer in archers {
        one(app, &db, archer, coached.contains(&archer)).await?;
    }
    Ok(true)
}

async fn one(app: App, db: &web_sys::IdbDatabase, archer: Uuid, only_read: bool) -> Result<(), Failed> {
    let key = format!("reached-{archer}");
    let mut reached: Reached =
        db::recall(db, &key).await.and_then(|t| serde_json::from_str(&t).ok()).unwrap_or_default();
    // Bounded: a server that always has more would otherwise keep us here.
    for _ in 0..1000 {
        let mut mine: Vec<Record> = app.log.with_untracked(|log| {
            log.since(&reached.seen).into_iter().filter(|r| r.archer == archer).cloned().collect()
        });
        if only_read {
            mine.clear();
        }
        let rest = mine.len() > PART;
        mine.truncate(PART);
        let sent: Vec<_> = mine.iter().map(|r| r.stamp).collect();
        let request = SyncRequest { schema: SCHEMA, archer, after: reached.after, limit: 10_000, records: mine };
        let body = serde_json::to_string(&request).unwrap_or_default();
        let Some(answer) = call::<SyncResponse>("POST", "./api/v1/sync", Some(body)).await? else { return Ok(()) };
        let come = answer.records.iter().map(|r| r.stamp).collect::<Vec<_>>();
        app.take_in(answer.records);
        for stamp in sent.into_iter().chain(come) {
            let latest = reached.seen.entry(stamp.device).or_insert((0, 0));
            *latest = (*latest).max((stamp.ms, stamp.counter));
        }
        reached.after = answer.cursor;
        let more = answer.more || rest;
        if !more {
            let own = app.log.with_untracked(|log| {
                log.records().filter(|r| r.archer == archer).fold(Digest::default(), |d, r| d.with(r.hash()))
            });
            if own == answer.log {
                reached.anew = false;
            } else if !reached.anew && !only_read {
                // Something is lacking on one side, whatever the reason: everything once more.
                reached = Reached { anew: true, ..Reached::default() };
                continue;
            }
        }
        db::remember(db, &key, &serde_json::to_string(&reached).unwrap_or_default()).await;
        if !more {
            return Ok(());
        }
    }
    Ok(())
}

/// What can be told and asked about it.
pub(super) fn panel(app: App) -> impl IntoView {
    let name = RwSignal::new(String::new());
    let password = RwSignal::new(String::new());
    let log_in = move |_| {
        let body =
            serde_json::json!({ "name": name.get_untracked(), "password": password.get_untracked() }).to_string();
        password.set(String::new());
        spawn_local(async move {
            match call::<serde_json::Value>("POST", "./api/v1/login", Some(body)).await {
                Ok(_) => {
                    app.standing.set(Standing::None);
                    run(app);
                }
                Err(Failed::Offline) => app.say(app.t(Word::SyncOffline).to_owned()),
                Err(Failed::Status(_, message)) => app.say(app.f(Word::SyncRefused, &[&message])),
            }
        });
    };
    let log_out = move |_| {
        spawn_local(async move {
            let _ = call::<serde_json::Value>("POST", "./api/v1/logout", None).await;
            app.prefer(|p| p.sync = false);
            app.standing.set(Standing::LogIn);
        });
    };
    let told = move || match app.standing.get() {
        Standing::None => app.t(Word::SyncNone).to_owned(),
        Standing::Busy => app.t(Word::Saving).to_owned(),
        Standing::Done(at) => app.f(Word::SyncDone, &[&device::date(at, app.language().code())]),
        Standing::Offline => app.t(Word::SyncOffline).to_owned(),
        Standing::LogIn => app.t(Word::SyncLogIn).to_owned(),
        Standing::Refused(why) => app.f(Word::SyncRefused, &[&why]),
    };
    let asked = Memo::new(move |before: Option<&bool>| match app.standing.get() {
        // While it is busy the form stays as it was, so that nobody types into nothing.
        Standing::Busy => before.copied().unwrap_or(false),
        standing => standing == Standing::LogIn,
    });
    view! {
        <h2>{app.t(Word::Sync)}</h2>
        <p id="standing" role="status">{told}</p>
        <div class="buttons">
            <button type="button" id="sync" on:click=move |_| ask(app)>{app.t(Word::SyncNow)}</button>
            <Show when=move || matches!(app.standing.get(), Standing::Done(_))>
                <button type="button" on:click=log_out>{app.t(Word::SignOut)}</button>
            </Show>
        </div>
        <Show when=move || asked.get()>
            <TextField id="login-name" label=Word::ArcherName value=name/>
            <TextField id="login-password" label=Word::Password value=password kind="password"/>
            <button type="button" class="main" id="login" on:click=log_in>{app.t(Word::SignIn)}</button>
        </Show>
    }
}
