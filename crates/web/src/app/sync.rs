//! In step with the server that the app came from, whenever it can be reached. Everything works without.
//!
//! What is to be exchanged is decided by `goldward_journal::sync::Device`; here is only how it is done in a browser.

use std::collections::BTreeSet;
use std::time::Duration;

use goldward_journal::sync::{Ask, Came, Conflict, Device, Failure, Report, Standing as LogStanding};
use goldward_journal::{Log, Record, Seen, Uuid};
use leptos::prelude::*;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::spawn_local;

use serde::Deserialize;
use serde_json::Value;

use super::db::{self, Account};
use super::peer::Standing;
use super::remote::send;
use super::state::{App, Saving};
use super::{device, drafts};

/// How often the server is asked while the app is looked at, in seconds.
const EVERY: u64 = 5;
/// While it is not looked at, or the server was not reached, only every so many times.
const SELDOM: u32 = 12;
/// Every so many times everything is compared, whatever the server's list says.
const THOROUGH: u32 = 120;
/// How soon after something was written it is sent, in milliseconds.
const SOON_MS: u64 = 1000;

async fn call(method: &str, path: &str, body: Option<String>) -> Result<String, Failure> {
    let reply = send(method, path, body).await.ok_or_else(|| Failure::Offline(String::new()))?;
    if reply.is_fine() {
        return Ok(reply.text);
    }
    let message = reply.said("message").unwrap_or_else(|| reply.status.to_string());
    Err(Failure::of(reply.status, message))
}

/// Keeps in step, once the archer has asked for it: now, every few seconds while the app is looked at, when the network comes back, and soon after
/// something was written. Until then nothing is sent anywhere.
pub(super) fn begin(app: App) {
    spawn_local(async move {
        let Some(db) = app.database() else { return };
        if let Some(text) = db::recall(&db, ROSTER).await {
            tell(app, ROSTER, &text);
        }
    });
    // What is on the disk is sent in a moment.
    Effect::new(move |begun: Option<()>| {
        app.kept.track();
        if begun.is_some() {
            soon(app);
        }
    });
    set_interval(move || tick(app), Duration::from_secs(EVERY));
    let online = Closure::<dyn Fn()>::new(move || quietly(app, false));
    let _ = device::window().add_event_listener_with_callback("online", online.as_ref().unchecked_ref());
    online.forget();
    let seen = Closure::<dyn Fn()>::new(move || {
        if !device::document().hidden() {
            quietly(app, true);
        }
    });
    let _ = device::document().add_event_listener_with_callback("visibilitychange", seen.as_ref().unchecked_ref());
    seen.forget();
}

/// All of the log is here.
pub(super) fn whole(app: App) {
    quietly(app, false);
}

fn tick(app: App) {
    let n = app.peer.ticks.get_value().wrapping_add(1);
    app.peer.ticks.set_value(n);
    let answers = matches!(app.standing.get_untracked(), Standing::Done(_) | Standing::Apart);
    if n % SELDOM == 0 || answers && !device::document().hidden() {
        quietly(app, n % THOROUGH != 0);
    }
}

/// Something is on the disk: it is sent in a moment, together with what comes until then.
fn soon(app: App) {
    if !app.peer.soon.get_value() {
        app.peer.soon.set_value(true);
        let go = move || {
            app.peer.soon.set_value(false);
            quietly(app, true);
        };
        set_timeout(go, Duration::from_millis(SOON_MS));
    }
}

/// Exchanges with the server if the archer has asked to be kept in step.
fn quietly(app: App, quick: bool) {
    if app.prefs.with_untracked(|p| p.sync) {
        start(app, quick);
    } else if app.peer.log_out.get_value() {
        spawn_local(async move { _ = end_session(app).await });
    }
}

/// Whether there is no session any more after that answer: it was ended, had ended by itself, or there are none at all.
fn is_over(answer: &Result<String, Failure>) -> bool {
    matches!(answer, Ok(_) | Err(Failure::LogIn | Failure::Forbidden(_) | Failure::NotFound(_)))
}

/// Ends the session of whoever signed out here while the server was not reached.
pub(super) async fn end_session(app: App) -> Result<(), Failure> {
    if app.peer.log_out.get_value() {
        let answer = call("POST", "./api/v1/logout", None).await;
        if !is_over(&answer) {
            return answer.map(|_| ());
        }
        db::logged_out().await;
        app.peer.log_out.set_value(false);
    }
    Ok(())
}

/// The archer asks to be kept in step from now on.
pub(super) fn ask(app: App) {
    app.prefer(|p| p.sync = true);
    run(app);
}

/// Exchanges with the server because somebody asks for it.
pub(super) fn run(app: App) {
    if !app.peer.running.get_value() {
        app.standing.set(Standing::Busy);
    }
    start(app, false);
}

/// Exchanges with the server, or once more when that is going on already.
fn start(app: App, quick: bool) {
    // What two logs lack of each other is not known by a part of one.
    if !app.whole.get_untracked() {
        return;
    }
    if app.peer.running.get_value() {
        app.peer.again.set_value(true);
        return;
    }
    app.peer.running.set_value(true);
    spawn_local(async move {
        let mut quick = quick;
        loop {
            app.peer.again.set_value(false);
            let standing = match who(app).await {
                Ok(true) => told(app, drive(app, quick).await),
                Ok(false) => app.standing.get_untracked(),
                Err(failure) => told(app, Some(Report { stopped: Some(failure), ..Report::default() })),
            };
            if app.standing.get_untracked() != standing {
                app.standing.set(standing);
            }
            if !app.peer.again.get_value() {
                break;
            }
            quick = true;
        }
        app.peer.running.set_value(false);
    });
}

#[derive(Deserialize)]
struct Me {
    account: Option<Uuid>,
    name: Option<String>,
}

/// Whether the one whom the server knows is the one whose logs these are, so that nobody's log ever goes to another account.
async fn who(app: App) -> Result<bool, Failure> {
    end_session(app).await?;
    let text = call("GET", "./api/v1/me", None).await?;
    let me: Me = serde_json::from_str(&text).map_err(|_| Failure::NotFound(String::new()))?;
    if let Some(name) = me.name {
        app.peer.name.set_value(name);
    }
    let standing = match (app.peer.account.get_value().map(|a| a.id), me.account) {
        (own, there) if own == there => return Ok(true),
        (None, Some(there)) if app.log.with_untracked(Log::is_empty) => {
            claim(app, there, Log::new());
            Standing::Busy
        }
        (None, Some(there)) => Standing::Claim(there),
        _ => Standing::Other,
    };
    app.standing.set(standing);
    Ok(false)
}

/// From now on this device is that account's. These logs of nobody's become its own; the others stay with nobody.
pub(super) fn claim(app: App, account: Uuid, log: Log) {
    let Some(db) = app.database() else { return };
    let name = Some(app.peer.name.get_value()).filter(|n| !n.is_empty());
    let account = Account { id: account, name: name.unwrap_or_else(|| account.to_string()) };
    let aside = app.peer.aside.get_untracked();
    spawn_local(async move {
        match db::claim(&db, &account, &log, &aside).await {
            Ok(()) => device::restart(),
            Err(why) => app.say(why),
        }
    });
}

/// Ends the session here, and at the server when it is reached. `wipe` takes the account's logs off this device.
pub(super) fn sign_out(app: App, wipe: bool) {
    let (Some(db), Some(account)) = (app.database(), app.peer.account.get_value()) else { return };
    spawn_local(async move {
        let ended = is_over(&call("POST", "./api/v1/logout", None).await);
        match db::sign_out(&db, &account, wipe, ended).await {
            Ok(()) => {
                drafts::forget_those("");
                device::restart();
            }
            Err(why) => app.say(why),
        }
    });
}

/// What a report means for the archer.
fn told(app: App, report: Option<Report>) -> Standing {
    let Some(report) = report else { return Standing::None };
    let in_step = report.is_in_step();
    let conflicts: Vec<Conflict> = report.logs.values().flat_map(|l| l.conflicts.iter().cloned()).collect();
    if !conflicts.is_empty() {
        app.peer.conflicts.update(|all| all.extend(conflicts));
    }
    match report.stopped {
        Some(Failure::Offline(_)) => Standing::Offline,
        Some(Failure::LogIn) => Standing::LogIn,
        // A plain file server, which knows nothing of logs.
        Some(Failure::NotFound(_) | Failure::Other(405 | 501, _)) => Standing::None,
        Some(Failure::Forbidden(what) | Failure::Bad(what) | Failure::TooLarge(what)) => Standing::Refused(what),
        Some(Failure::Other(status, what)) => Standing::Refused(format!("{what} ({status})")),
        Some(_) => Standing::Offline,
        None => {
            for (archer, done) in &report.logs {
                readers(app, *archer, done.reader);
            }
            if app.peer.logs.with_untracked(|l| *l != report.logs) {
                app.peer.logs.set(report.logs);
            }
            if in_step { Standing::Done(device::now_ms()) } else { Standing::Apart }
        }
    }
}

/// Does what the machine asks. Nothing when there is no server of ours, or no database.
async fn drive(app: App, quick: bool) -> Option<Report> {
    let db = app.database()?;
    let here = app.log.with_untracked(Log::archers);
    let mut device = Device::<Seen>::new(device::now_ms(), here).without(app.peer.left.get_untracked());
    if quick {
        device = device.quick();
    }
    let mut ask = Ask::List;
    loop {
        let came = match ask {
            Ask::List => match call("GET", "./api/v1/logs", None).await {
                Ok(text) => {
                    tell(app, "logs", &text);
                    if !quick {
                        roster(app).await;
                    }
                    Came::Logs(serde_json::from_str(&text).ok()?)
                }
                Err(failure) => Came::Failed(failure),
            },
            Ask::Recall(archer) => {
                let text = db::recall(&db, &format!("reached-{archer}")).await;
                Came::Recalled(text.and_then(|t| serde_json::from_str(&t).ok()))
            }
            Ask::Remember(archer, reached) => {
                readers(app, archer, reached.reader);
                let text = serde_json::to_string(&reached).unwrap_or_default();
                db::remember(&db, &format!("reached-{archer}"), &text).await;
                Came::Remembered
            }
            Ask::Mine { archer, since, most } => {
                let mut mine: Vec<Record> =
                    app.log.with_untracked(|log| log.since(archer, &since).into_iter().cloned().collect());
                mine.truncate(most as usize);
                let mut upto = since;
                for stamp in mine.iter().map(|r| r.stamp) {
                    let seen = upto.entry(stamp.device).or_default();
                    *seen = (*seen).max((stamp.ms, stamp.counter));
                }
                Came::Mine(mine, upto)
            }
            Ask::Send(request) => {
                let body = serde_json::to_string(&request).unwrap_or_default();
                call("POST", "./api/v1/sync", Some(body)).await.map_or_else(Came::Failed, Came::Answer)
            }
            Ask::Keep { archer, records, aside } => {
                app.peer.show(&aside);
                match app.take_in_durably(records, aside).await {
                    Ok(new) => app.log.with_untracked(|log| Came::Kept(new, log.digest_of(archer), log.seen(archer))),
                    // The disk does not take it: it comes again the next time.
                    Err(why) => Came::Failed(Failure::Other(0, why)),
                }
            }
            Ask::Done => return Some(device.into_report()),
        };
        ask = device.step(came);
    }
}

/// Under what the groups are kept, also for the times without a network.
const ROSTER: &str = "roster";

/// Looks at what the server has beside the logs: groups, and whether there are new notes.
pub(super) fn look(app: App) {
    spawn_local(roster(app));
    quietly(app, true);
}

async fn roster(app: App) {
    if app.peer.account.with_value(Option::is_none) {
        return;
    }
    if let (Ok(text), Some(db)) = (call("GET", "./api/v1/roster", None).await, app.database()) {
        tell(app, ROSTER, &text);
        db::remember(&db, ROSTER, &text).await;
    }
}

/// Keeps what the server tells, and says so when it is something else than before.
fn tell(app: App, key: &str, text: &str) {
    let now: Value = serde_json::from_str(text).unwrap_or_default();
    if app.peer.told.with_untracked(|t| t[key] != now) {
        app.peer.told.update(|t| t[key] = now);
    }
}

/// Keeps in mind which logs may only be read.
fn readers(app: App, archer: Uuid, reader: bool) {
    if app.peer.readers.with_untracked(|r| r.contains(&archer)) == reader {
        return;
    }
    app.peer.readers.update(|r| {
        if reader {
            r.insert(archer);
        } else {
            r.remove(&archer);
        }
    });
    remember(app, db::READERS, app.peer.readers.get_untracked());
}

fn remember(app: App, key: &'static str, ids: BTreeSet<Uuid>) {
    if let Some(db) = app.database() {
        let text = serde_json::to_string(&ids).unwrap_or_default();
        spawn_local(async move { db::remember(&db, key, &text).await });
    }
}

/// Leaves a log that is only read: its copy goes from this device, and it is not fetched again.
pub(super) fn leave(app: App, archer: Uuid) {
    app.peer.left.update(|l| {
        l.insert(archer);
    });
    remember(app, db::LEFT, app.peer.left.get_untracked());
    forget(app, archer);
    app.peer.logs.update(|l| {
        l.remove(&archer);
    });
    start(app, false);
}

/// Takes up all logs again that were left.
pub(super) fn take_up(app: App) {
    app.peer.left.set(BTreeSet::new());
    remember(app, db::LEFT, BTreeSet::new());
    run(app);
}

/// A log that an invitation was taken to: fetched at once, also when it was left before.
pub(super) fn admit(app: App, archer: Uuid, write: bool) {
    readers(app, archer, !write);
    app.peer.left.update(|l| {
        l.remove(&archer);
    });
    remember(app, db::LEFT, app.peer.left.get_untracked());
    ask(app);
}

/// Takes a log off this device; where logs are exchanged it is not fetched again.
pub(super) fn remove_here(app: App, archer: Uuid) {
    if app.prefs.with_untracked(|p| p.sync) {
        leave(app, archer);
    } else {
        forget(app, archer);
    }
}

/// The log goes from this device, with what was typed for it.
fn forget(app: App, archer: Uuid) {
    drafts::forget_those(&format!("{archer:?}"));
    app.forget(archer);
}

/// Whether all of that log is known to be on the server.
pub(super) fn sent(app: App, archer: Uuid) -> bool {
    let in_step = app.peer.logs.with(|l| l.get(&archer).is_some_and(|l| l.standing == LogStanding::InStep));
    in_step && nothing_waits(app)
}

/// Whether everything here is known to be on the server.
pub(super) fn all_sent(app: App) -> bool {
    matches!(app.standing.get(), Standing::Done(_)) && nothing_waits(app)
}

/// Whether nothing was written since the last exchange, and it reached the server.
fn nothing_waits(app: App) -> bool {
    let saved = app.saving.get() == Saving::Saved;
    let reached = matches!(app.standing.get(), Standing::Done(_) | Standing::Apart);
    saved && reached && !app.peer.soon.get_value()
}

/// The account is no more: its own logs stay on this device, and are nobody's.
pub(super) fn release(app: App) {
    let (Some(db), Some(account)) = (app.database(), app.peer.account.get_value()) else { return };
    let mut log = app.log.get_untracked();
    for archer in log.archers() {
        if !app.may_write(archer) || app.peer.logs.with_untracked(|l| l.get(&archer).is_some_and(|l| l.others)) {
            let _ = log.take_out(archer);
        }
    }
    spawn_local(async move {
        match db::release(&db, &account, &log).await {
            Ok(()) => device::restart(),
            Err(why) => app.say(why),
        }
    });
}

/// Takes the logs that an account has left here off this device.
pub(super) fn remove_kept(app: App, id: Uuid) {
    let Some(account) = app.peer.kept.with_untracked(|k| k.iter().find(|a| a.id == id).cloned()) else { return };
    spawn_local(async move {
        match db::remove_kept(&account).await {
            Ok(()) => app.peer.kept.update(|k| k.retain(|a| a.id != id)),
            Err(why) => app.say(why),
        }
    });
}
