//! The log on this device: IndexedDB, written durably.

use goldward_journal::{Log, Record, Uuid};
use js_sys::{Array, Function, Object, Promise, Reflect};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;
use web_sys::{IdbDatabase, IdbObjectStore, IdbOpenDbRequest, IdbRequest, IdbTransaction};

const NAME: &str = "goldward";
const VERSION: u32 = 1;
/// Records by id, as JSON.
const RECORDS: &str = "records";
/// The device's id, its preferences, and how far each archer is in step with the server.
const META: &str = "meta";
/// Key of the preferences.
pub(super) const PREFS: &str = "prefs";

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
}

fn words(error: JsValue) -> String {
    let message = Reflect::get(&error, &"message".into()).ok().and_then(|m| m.as_string());
    message.unwrap_or_else(|| format!("{error:?}"))
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

/// Opens the database.
pub(super) async fn connect() -> Result<IdbDatabase, JsValue> {
    let factory = super::offers::databases().ok_or("this browser keeps no databases")?;
    let request: IdbOpenDbRequest = factory.open_with_u32(NAME, VERSION)?;
    let r = request.clone();
    let upgrade = Closure::once_into_js(move || {
        if let Ok(db) = r.result().and_then(JsCast::dyn_into::<IdbDatabase>) {
            let _ = db.create_object_store(RECORDS);
            let _ = db.create_object_store(META);
        }
    });
    request.set_onupgradeneeded(Some(upgrade.unchecked_ref()));
    JsFuture::from(answer(&request)).await?.dyn_into()
}

/// A transaction that reports completion only when the data has reached the disk.
fn transaction(db: &IdbDatabase, write: bool) -> Result<IdbTransaction, JsValue> {
    let stores = Array::of2(&RECORDS.into(), &META.into());
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
    let nothing =
        |why: String| Opened { db: Err(why), log: Log::new(), device: fresh, prefs: String::new(), unreadable: 0 };
    let db = match connect().await {
        Ok(db) => db,
        Err(error) => return nothing(words(error)),
    };
    match read(&db, fresh).await {
        Ok((log, device, unreadable)) => {
            let prefs = recall(&db, PREFS).await.unwrap_or_default();
            Opened { db: Ok(db), log, device, prefs, unreadable }
        }
        Err(error) => nothing(words(error)),
    }
}

async fn read(db: &IdbDatabase, fresh: Uuid) -> Result<(Log, Uuid, usize), JsValue> {
    let t = transaction(db, false)?;
    let all = answer(&store(&t, RECORDS)?.get_all()?);
    let device = answer(&store(&t, META)?.get(&"device".into())?);
    let all: Array = JsFuture::from(all).await?.dyn_into()?;
    let device = JsFuture::from(device).await?.as_string().and_then(|t| t.parse().ok());
    let mut log = Log::new();
    let mut unreadable = 0;
    for line in all.iter() {
        match line.as_string().map(|l| goldward_journal::jsonl::read_line(&l)) {
            Some(Ok(record)) => {
                log.insert(record);
            }
            _ => unreadable += 1,
        }
    }
    let device = match device {
        Some(device) => device,
        None => {
            put_meta(db, "device", &fresh.to_string()).await?;
            fresh
        }
    };
    Ok((log, device, unreadable))
}

/// Where a record lies.
pub(super) fn key(record: &Record) -> JsValue {
    record.id.to_string().into()
}

/// Writes records and returns when they are on the disk.
pub(super) async fn save(db: &IdbDatabase, records: &[Record]) -> Result<(), String> {
    let write = || -> Result<Promise, JsValue> {
        let t = transaction(db, true)?;
        let store = store(&t, RECORDS)?;
        for record in records {
            store.put_with_key(&record.to_json().into(), &key(record))?;
        }
        Ok(complete(&t))
    };
    match write() {
        Ok(done) => JsFuture::from(done).await.map(|_| ()).map_err(words),
        Err(error) => Err(words(error)),
    }
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
