//! The log on this device: IndexedDB, written durably.

use std::cell::Cell;
use std::collections::BTreeSet;

use goldward_journal::sync::Aside;
use goldward_journal::{Log, Record, Stamp, Uuid};
use js_sys::{Array, Function, Object, Promise, Reflect};
use serde::{Deserialize, Serialize};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;
use web_sys::{IdbDatabase, IdbObjectStore, IdbOpenDbRequest, IdbRequest, IdbTransaction};

use crate::prefs::Prefs;

const NAME: &str = "goldward";
/// 1 had the records by id alone, in which one archer's could take the place of another's; 2 had nothing that is read first.
const VERSION: u32 = 3;
/// Records by archer and id, as JSON.
const RECORDS: &str = "records";
/// The device's id, its preferences, and how far each archer is in step with the server.
const META: &str = "meta";
/// Of a long log what the first screen needs, once more as it is in the records: all that is no part of a session, and the parts of the
/// open one. What lingers there beyond does no harm, since the records are read too and the later version counts.
const FIRST: &str = "first";
/// What was set aside, as JSON: no part of any log, and never dropped.
const ASIDE: &str = "aside";
/// Key, in the database of nobody, of the account that is signed in here.
const ACCOUNT: &str = "account";
/// Key, in the database of nobody, of the accounts that have signed out and left their logs here.
const KEPT: &str = "kept";
/// Key, in the database of nobody, of a session that is still to be ended at the server.
const LOG_OUT: &str = "log-out";
/// Key of the sessions whose parts are all in what is read first, with a space between; empty for none, and nothing there when not all is
/// in it that should be.
const FIRST_FOR: &str = "first-for";
/// Key of the latest stamp that this device gave: time and counter.
const CLOCK: &str = "clock";
/// A log of more records is read in two goes.
pub(super) const LONG: u32 = 4_000;
/// So many records are read at a time while the app is being used.
const SLICE: u32 = 400;
/// More written at once is no act at the line, and is not kept to be read first.
const ACT: usize = 64;
/// Key of the logs that may only be read.
pub(super) const READERS: &str = "readers";
/// Key of the logs that were left.
pub(super) const LEFT: &str = "left";
/// Key of the preferences.
pub(super) const PREFS: &str = "prefs";

/// Whose database it is. There is one for each account that was ever signed in here, and one of nobody.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Account {
    pub(super) id: Uuid,
    pub(super) name: String,
}

/// What was found when the app started.
#[derive(Clone)]
pub(super) struct Opened {
    /// The database; nothing when the browser keeps none (a private window, say).
    pub(super) db: Result<IdbDatabase, String>,
    pub(super) log: Log,
    /// This device.
    pub(super) device: Uuid,
    /// Preferences, as text.
    pub(super) prefs: String,
    /// Records that could not be read; they are left alone.
    pub(super) unreadable: usize,
    /// Whether there is more to be read, by [`Slices`].
    pub(super) more: bool,
    /// The latest stamp that this device gave, where the rest of the log may know a later one than what is here.
    pub(super) clock: Option<Stamp>,
    /// Whose it is; nothing when it is nobody's.
    pub(super) account: Option<Account>,
    /// Accounts that have signed out and left their logs here.
    pub(super) kept: Vec<Account>,
    /// Whether a session is still to be ended at the server.
    pub(super) log_out: bool,
    /// What is set aside.
    pub(super) aside: Vec<Aside>,
    /// Logs that may only be read.
    pub(super) readers: BTreeSet<Uuid>,
    /// Logs that were left.
    pub(super) left: BTreeSet<Uuid>,
}

fn words(error: JsValue) -> String {
    let message = Reflect::get(&error, &"message".into()).ok().and_then(|m| m.as_string());
    message.unwrap_or_else(|| String::from(js_sys::Object::from(error).to_string()))
}

/// A promise that the request answers.
fn answer(request: &IdbRequest) -> Promise {
    Promise::new(&mut |resolve: Function, reject: Function| {
        let r = request.clone();
        let ok = Closure::once_into_js(move || {
            let _ = resolve.call1(&JsValue::NULL, &r.result().unwrap_or(JsValue::NULL));
        });
        let r = request.clone();
        let bad = Closure::once_into_js(move || {
            let error = r.error().ok().flatten().map_or(JsValue::NULL, JsValue::from);
            let _ = reject.call1(&JsValue::NULL, &error);
        });
        request.set_onsuccess(Some(ok.unchecked_ref()));
        request.set_onerror(Some(bad.unchecked_ref()));
    })
}

/// A promise that the transaction is on the disk.
fn complete(transaction: &IdbTransaction) -> Promise {
    Promise::new(&mut |resolve: Function, reject: Function| {
        let ok = Closure::once_into_js(move || {
            let _ = resolve.call0(&JsValue::NULL);
        });
        let t = transaction.clone();
        let bad = Closure::once_into_js(move || {
            let error = t.error().map_or(JsValue::NULL, JsValue::from);
            let _ = reject.call1(&JsValue::NULL, &error);
        });
        transaction.set_oncomplete(Some(ok.unchecked_ref()));
        transaction.set_onabort(Some(bad.unchecked_ref()));
    })
}

/// The name of an account's database.
fn name_of(account: Uuid) -> String {
    format!("{NAME}-{account}")
}

/// Opens the database of an account, or of nobody, once more.
pub(super) async fn again_of(account: Option<Uuid>) -> Result<IdbDatabase, JsValue> {
    match account {
        Some(account) => connect(&name_of(account)).await,
        None => connect(NAME).await,
    }
}

/// Opens a database.
async fn connect(name: &str) -> Result<IdbDatabase, JsValue> {
    let factory = super::offers::databases().ok_or("this browser keeps no databases")?;
    let request: IdbOpenDbRequest = factory.open_with_u32(name, VERSION)?;
    let r = request.clone();
    let upgrade = Closure::once_into_js(move || {
        let Ok(db) = r.result().and_then(JsCast::dyn_into::<IdbDatabase>) else { return };
        let _ = db.create_object_store(ASIDE);
        let _ = db.create_object_store(FIRST);
        if db.object_store_names().contains(RECORDS) {
            let Some(t) = r.transaction() else { return };
            let _ = move_records(db, &t);
        } else {
            let _ = db.create_object_store(RECORDS);
            let _ = db.create_object_store(META);
        }
    });
    request.set_onupgradeneeded(Some(upgrade.unchecked_ref()));
    let db: IdbDatabase = JsFuture::from(answer(&request)).await?.dyn_into()?;
    // A later app in another window is not to wait for this one; what is written here afterwards opens it anew.
    let d = db.clone();
    let yields = Closure::once_into_js(move || d.close());
    db.set_onversionchange(Some(yields.unchecked_ref()));
    Ok(db)
}

/// Where a record lies.
pub(super) fn key(record: &Record) -> JsValue {
    format!("{}/{}", record.archer, record.id).into()
}

/// Moves what version 1 kept, within the transaction that upgrades: all of it, or nothing and the old version stays.
fn move_records(db: IdbDatabase, t: &IdbTransaction) -> Result<(), JsValue> {
    let all = t.object_store(RECORDS)?.get_all()?;
    let r = all.clone();
    let moved = Closure::once_into_js(move || -> Result<(), JsValue> {
        let all: Array = r.result()?.dyn_into()?;
        db.delete_object_store(RECORDS)?;
        let new = db.create_object_store(RECORDS)?;
        for (n, line) in all.iter().enumerate() {
            let read = line.as_string().and_then(|l| goldward_journal::jsonl::read_line(&l).ok());
            // What cannot be read is kept as it is, and told at every start.
            let key = read.map_or_else(|| format!("unreadable/{n}").into(), |record| key(&record));
            new.put_with_key(&line, &key)?;
        }
        Ok(())
    });
    all.set_onsuccess(Some(moved.unchecked_ref()));
    Ok(())
}

/// A transaction that reports completion only when the data has reached the disk.
fn transaction(db: &IdbDatabase, write: bool) -> Result<IdbTransaction, JsValue> {
    let stores = Array::of4(&RECORDS.into(), &META.into(), &ASIDE.into(), &FIRST.into());
    let options = Object::new();
    Reflect::set(&options, &"durability".into(), &"strict".into())?;
    let begin: Function = Reflect::get(db, &"transaction".into())?.dyn_into()?;
    let mode = if write { "readwrite" } else { "readonly" };
    begin.call3(db, &stores, &mode.into(), &options)?.dyn_into()
}

fn store(transaction: &IdbTransaction, name: &str) -> Result<IdbObjectStore, JsValue> {
    transaction.object_store(name)
}

/// Opens the database and reads the log.
pub(super) async fn open() -> Opened {
    let fresh = super::device::fresh_id();
    let nothing = |why: String| Opened {
        db: Err(why),
        log: Log::new(),
        device: fresh,
        prefs: String::new(),
        unreadable: 0,
        more: false,
        clock: None,
        account: None,
        kept: Vec::new(),
        log_out: false,
        aside: Vec::new(),
        readers: BTreeSet::new(),
        left: BTreeSet::new(),
    };
    let db = match connect(NAME).await {
        Ok(db) => db,
        Err(error) => return nothing(words(error)),
    };
    let log_out = recall(&db, LOG_OUT).await.is_some_and(|t| t == "true");
    let kept = kept(&db).await;
    let account: Option<Account> = recall(&db, ACCOUNT).await.and_then(|t| serde_json::from_str(&t).ok());
    let db = match &account {
        None => db,
        Some(account) => match connect(&name_of(account.id)).await {
            Ok(db) => db,
            Err(error) => return nothing(words(error)),
        },
    };
    let prefs = recall(&db, PREFS).await.unwrap_or_default();
    let first = read_first(&db, &prefs).await.ok().flatten();
    let (more, got) = match first {
        Some(lines) => (true, taken(&lines)),
        None => match all_lines(&db).await {
            Ok(lines) => (false, taken(&lines)),
            Err(error) => return nothing(words(error)),
        },
    };
    let (mut log, unreadable) = got;
    match device(&db, fresh).await {
        Ok(device) => {
            let ids = |text: Option<String>| text.and_then(|t| serde_json::from_str(&t).ok()).unwrap_or_default();
            let (readers, left) = (ids(recall(&db, READERS).await), ids(recall(&db, LEFT).await));
            let aside = again(&db, &mut log).await.unwrap_or_default();
            let clock = recall(&db, CLOCK).await.and_then(|t| stamp(&t, device));
            let db = Ok(db);
            DEVICE.set(Some(device));
            Opened { db, log, device, prefs, unreadable, more, clock, account, kept, log_out, aside, readers, left }
        }
        Err(error) => nothing(words(error)),
    }
}

thread_local! {
    /// This device, once the database is open.
    static DEVICE: Cell<Option<Uuid>> = const { Cell::new(None) };
}

/// This device: the one that the database knows, or from now on `fresh`.
async fn device(db: &IdbDatabase, fresh: Uuid) -> Result<Uuid, JsValue> {
    let known = JsFuture::from(answer(&store(&transaction(db, false)?, META)?.get(&"device".into())?)).await?;
    if let Some(device) = known.as_string().and_then(|t| t.parse().ok()) {
        return Ok(device);
    }
    put_meta(db, "device", &fresh.to_string()).await?;
    Ok(fresh)
}

fn stamp(text: &str, device: Uuid) -> Option<Stamp> {
    let (ms, counter) = text.split_once(' ')?;
    Some(Stamp { ms: ms.parse().ok()?, counter: counter.parse().ok()?, device })
}

async fn all_lines(db: &IdbDatabase) -> Result<Array, JsValue> {
    let all = answer(&store(&transaction(db, false)?, RECORDS)?.get_all()?);
    JsFuture::from(all).await?.dyn_into()
}

/// Of a long log what is read first; nothing where all of it should be.
async fn read_first(db: &IdbDatabase, prefs: &str) -> Result<Option<Array>, JsValue> {
    let Some(complete_for) = recall(db, FIRST_FOR).await else { return Ok(None) };
    let count = JsFuture::from(answer(&store(&transaction(db, false)?, RECORDS)?.count()?)).await?;
    let open = Prefs::read(prefs).session.unwrap_or_default();
    if count.as_f64().unwrap_or_default() <= f64::from(LONG)
        || !open.is_empty() && !complete_for.split(' ').any(|id| id == open)
    {
        return Ok(None);
    }
    let all = answer(&store(&transaction(db, false)?, FIRST)?.get_all()?);
    JsFuture::from(all).await?.dyn_into().map(Some)
}

/// The records of `lines`, and how many could not be read.
fn taken(lines: &Array) -> (Log, usize) {
    let mut log = Log::new();
    let mut unreadable = 0;
    for line in lines.iter() {
        match line.as_string().map(|l| goldward_journal::jsonl::read_line(&l)) {
            Some(Ok(record)) => {
                log.insert(record);
            }
            _ => unreadable += 1,
        }
    }
    (log, unreadable)
}

/// All records of the database, a few at a time.
pub(super) struct Slices {
    db: IdbDatabase,
    /// The key of the last one.
    after: Option<JsValue>,
}

impl Slices {
    pub(super) fn new(db: IdbDatabase) -> Self {
        Self { db, after: None }
    }

    /// The next ones, with how many could not be read; nothing when that was all.
    pub(super) async fn next(&mut self) -> Result<Option<(Log, usize)>, String> {
        self.lines().await.map(|lines| lines.map(|l| taken(&l))).map_err(words)
    }

    async fn lines(&mut self) -> Result<Option<Array>, JsValue> {
        let records = store(&transaction(&self.db, false)?, RECORDS)?;
        let range = match &self.after {
            Some(key) => web_sys::IdbKeyRange::lower_bound_with_open(key, true)?.into(),
            None => JsValue::UNDEFINED,
        };
        let lines = answer(&records.get_all_with_key_and_limit(&range, SLICE)?);
        let keys = answer(&records.get_all_keys_with_key_and_limit(&range, SLICE)?);
        let lines: Array = JsFuture::from(lines).await?.dyn_into()?;
        let keys: Array = JsFuture::from(keys).await?.dyn_into()?;
        let Some(last) = keys.length().checked_sub(1) else { return Ok(None) };
        self.after = Some(keys.get(last));
        Ok(Some(lines))
    }
}

/// Keeps what is read first anew: `records`, in which are all parts of `session` when one is open.
pub(super) async fn keep_first(db: &IdbDatabase, records: &[Record], session: &str) -> Result<(), String> {
    let write = || -> Result<Promise, JsValue> {
        let t = transaction(db, true)?;
        let first = store(&t, FIRST)?;
        first.clear()?;
        for record in records {
            first.put_with_key(&record.to_json().into(), &key(record))?;
        }
        store(&t, META)?.put_with_key(&session.into(), &FIRST_FOR.into())?;
        Ok(complete(&t))
    };
    match write() {
        Ok(done) => JsFuture::from(done).await.map(|_| ()).map_err(words),
        Err(error) => Err(words(error)),
    }
}

/// From now on all parts of `session`, of which there are none yet, are in what is read first, as every act is.
pub(super) fn begin_first(db: &IdbDatabase, session: String) -> Result<(), JsValue> {
    let meta = store(&transaction(db, true)?, META)?;
    let known = meta.get(&FIRST_FOR.into())?;
    let r = known.clone();
    let then = Closure::once_into_js(move || -> Result<(), JsValue> {
        if let Some(others) = r.result()?.as_string().filter(|o| !o.split(' ').any(|id| id == session)) {
            meta.put_with_key(&format!("{others} {session}").trim().into(), &FIRST_FOR.into())?;
        }
        Ok(())
    });
    known.set_onsuccess(Some(then.unchecked_ref()));
    Ok(())
}

/// Looks again at what was set aside: what has become sound, by time or by a later app, goes into the log. Returns the rest.
async fn again(db: &IdbDatabase, log: &mut Log) -> Result<Vec<Aside>, JsValue> {
    let t = transaction(db, false)?;
    let all: Array = JsFuture::from(answer(&store(&t, ASIDE)?.get_all()?)).await?.dyn_into()?;
    let (mut rest, mut ripe) = (Vec::new(), Vec::new());
    for line in all.iter() {
        let Some(aside) = line.as_string().and_then(|l| serde_json::from_str::<Aside>(&l).ok()) else { continue };
        match aside.retry(super::device::now_ms()) {
            Some(record) => {
                log.insert(record.clone());
                ripe.push((aside, log.get(record.archer, record.id).cloned().unwrap_or(record)));
            }
            None => rest.push(aside),
        }
    }
    if !ripe.is_empty() {
        let t = transaction(db, true)?;
        for (aside, record) in ripe {
            let line = record.to_json().into();
            store(&t, RECORDS)?.put_with_key(&line, &key(&record))?;
            store(&t, FIRST)?.put_with_key(&line, &key(&record))?;
            store(&t, ASIDE)?.delete(&aside.key().into())?;
        }
        JsFuture::from(complete(&t)).await?;
    }
    Ok(rest)
}

/// Writes records and returns when they are on the disk.
pub(super) async fn save(db: &IdbDatabase, records: &[Record]) -> Result<(), String> {
    keep(db, records, &[]).await
}

/// Writes records, and what is set aside, and returns when all of it is on the disk.
pub(super) async fn keep(db: &IdbDatabase, records: &[Record], aside: &[Aside]) -> Result<(), String> {
    let write = || -> Result<Promise, JsValue> {
        let t = transaction(db, true)?;
        let (records_there, first) = (store(&t, RECORDS)?, store(&t, FIRST)?);
        let act = records.len() <= ACT;
        for record in records {
            let line = record.to_json().into();
            records_there.put_with_key(&line, &key(record))?;
            if act || record.body.session().is_none() {
                first.put_with_key(&line, &key(record))?;
            }
        }
        if !act {
            // It may be of the open session: the next start reads everything.
            store(&t, META)?.delete(&FIRST_FOR.into())?;
        }
        let own = records.iter().map(|r| r.stamp).filter(|s| Some(s.device) == DEVICE.get());
        if let Some(latest) = own.max_by_key(|s| (s.ms, s.counter)) {
            advance(store(&t, META)?, latest)?;
        }
        for aside in aside {
            let text = serde_json::to_string(aside).unwrap_or_default();
            store(&t, ASIDE)?.put_with_key(&text.into(), &aside.key().into())?;
        }
        Ok(complete(&t))
    };
    match write() {
        Ok(done) => JsFuture::from(done).await.map(|_| ()).map_err(words),
        Err(error) => Err(words(error)),
    }
}

/// Keeps in mind, in a transaction that is open, that this device gave the stamp `latest`.
fn advance(meta: IdbObjectStore, latest: Stamp) -> Result<(), JsValue> {
    let known = meta.get(&CLOCK.into())?;
    let r = known.clone();
    let then = Closure::once_into_js(move || -> Result<(), JsValue> {
        let known = r.result()?.as_string().and_then(|t| stamp(&t, latest.device));
        if known.is_none_or(|k| (k.ms, k.counter) < (latest.ms, latest.counter)) {
            meta.put_with_key(&format!("{} {}", latest.ms, latest.counter).into(), &CLOCK.into())?;
        }
        Ok(())
    });
    known.set_onsuccess(Some(then.unchecked_ref()));
    Ok(())
}

async fn put_meta(db: &IdbDatabase, key: &str, value: &str) -> Result<(), JsValue> {
    let t = transaction(db, true)?;
    store(&t, META)?.put_with_key(&value.into(), &key.into())?;
    JsFuture::from(complete(&t)).await.map(|_| ())
}

/// Remembers `value` under `key`.
pub(super) async fn remember(db: &IdbDatabase, key: &str, value: &str) {
    let _ = put_meta(db, key, value).await;
}

/// What was remembered under `key`.
pub(super) async fn recall(db: &IdbDatabase, key: &str) -> Option<String> {
    let t = transaction(db, false).ok()?;
    let request = store(&t, META).ok()?.get(&key.into()).ok()?;
    JsFuture::from(answer(&request)).await.ok()?.as_string()
}

/// Takes the log of one archer off this device, with what was set aside from it.
pub(super) async fn forget(db: &IdbDatabase, archer: Uuid) -> Result<(), String> {
    let write = || -> Result<Promise, JsValue> {
        let t = transaction(db, true)?;
        // All keys that begin with the archer's id.
        let range = web_sys::IdbKeyRange::bound(&format!("{archer}/").into(), &format!("{archer}0").into())?;
        store(&t, RECORDS)?.delete(&range)?;
        store(&t, FIRST)?.delete(&range)?;
        store(&t, ASIDE)?.delete(&range)?;
        store(&t, META)?.delete(&format!("reached-{archer}").into())?;
        store(&t, META)?.delete(&format!("moves-{archer}").into())?;
        Ok(complete(&t))
    };
    match write() {
        Ok(done) => JsFuture::from(done).await.map(|_| ()).map_err(words),
        Err(error) => Err(words(error)),
    }
}

/// All records of a database.
pub(super) async fn all(db: &IdbDatabase) -> Result<Log, String> {
    all_lines(db).await.map(|lines| taken(&lines).0).map_err(words)
}

/// From the next start on the database of `account` is used. These records of nobody's go along: they are on the disk there before
/// they leave `nobody`, so that a device that is switched off in between has them twice and not never.
pub(super) async fn claim(nobody: &IdbDatabase, account: &Account, log: &Log, aside: &[Aside]) -> Result<(), String> {
    let own = connect(&name_of(account.id)).await.map_err(words)?;
    let mut there = Log::from_records(log.records().cloned());
    there.extend(all(&own).await?.records().cloned());
    let aside: Vec<Aside> = aside.iter().filter(|a| log.archers().contains(&a.archer)).cloned().collect();
    let records: Vec<Record> = there.records().cloned().collect();
    keep(&own, &records, &aside).await?;
    if recall(&own, PREFS).await.is_none() {
        let prefs = recall(nobody, PREFS).await.unwrap_or_default();
        put_meta(&own, PREFS, &prefs).await.map_err(words)?;
    }
    for archer in log.archers() {
        forget(nobody, archer).await?;
    }
    keep_for(nobody, account, false).await?;
    put_meta(nobody, ACCOUNT, &serde_json::to_string(account).unwrap_or_default()).await.map_err(words)
}

async fn kept(nobody: &IdbDatabase) -> Vec<Account> {
    recall(nobody, KEPT).await.and_then(|t| serde_json::from_str(&t).ok()).unwrap_or_default()
}

/// Keeps in mind whether an account that is not signed in has left its logs here.
async fn keep_for(nobody: &IdbDatabase, account: &Account, there: bool) -> Result<(), String> {
    let mut all = kept(nobody).await;
    all.retain(|a| a.id != account.id);
    if there {
        all.push(account.clone());
    }
    put_meta(nobody, KEPT, &serde_json::to_string(&all).unwrap_or_default()).await.map_err(words)
}

/// Takes the logs that an account has left here off this device.
pub(super) async fn remove_kept(account: &Account) -> Result<(), String> {
    let nobody = connect(NAME).await.map_err(words)?;
    remove(account).await?;
    keep_for(&nobody, account, false).await
}

async fn remove(account: &Account) -> Result<(), String> {
    let factory = super::offers::databases().ok_or("this browser keeps no databases")?;
    let request = factory.delete_database(&name_of(account.id)).map_err(words)?;
    JsFuture::from(answer(&request)).await.map(|_| ()).map_err(words)
}

/// From the next start on the database of nobody is used again. That of the account stays for its next time, or goes with all that
/// is in it.
pub(super) async fn sign_out(own: &IdbDatabase, account: &Account, wipe: bool, ended: bool) -> Result<(), String> {
    let nobody = connect(NAME).await.map_err(words)?;
    put_meta(&nobody, ACCOUNT, "").await.map_err(words)?;
    put_meta(&nobody, LOG_OUT, if ended { "" } else { "true" }).await.map_err(words)?;
    keep_for(&nobody, account, true).await?;
    if wipe {
        own.close();
        remove(account).await?;
        keep_for(&nobody, account, false).await?;
    }
    Ok(())
}

/// The account is no more: these logs of its become nobody's, and are on the disk there before its database goes.
pub(super) async fn release(own: &IdbDatabase, account: &Account, log: &Log) -> Result<(), String> {
    let nobody = connect(NAME).await.map_err(words)?;
    let mut there = Log::from_records(log.records().cloned());
    there.extend(all(&nobody).await?.records().cloned());
    let records: Vec<Record> = there.records().cloned().collect();
    keep(&nobody, &records, &[]).await?;
    sign_out(own, account, true, true).await
}

/// The session at the server was ended after all.
pub(super) async fn logged_out() {
    if let Ok(nobody) = connect(NAME).await {
        remember(&nobody, LOG_OUT, "").await;
    }
}
