//! How fast it is: a step of its own, with an optimised build (`cargo test --release -p goldward-server --test load -- --ignored`).

mod common;
#[path = "../../store/tests/common/postgres.rs"]
mod postgres;

use std::net::SocketAddr;
use std::time::{Duration, Instant};

use common::{JSON, big_log, note, send, sync};
use goldward_journal::sync::SyncResponse;
use goldward_journal::view::SessionView;
use goldward_journal::{Log, Record, Uuid, Writer};
use goldward_server::{Config, serve};
use goldward_store::ops::OneSession;
use goldward_store::{Backend as _, Place, Store};

#[allow(clippy::disallowed_methods, reason = "time is what is measured")]
fn now() -> Instant {
    Instant::now()
}

fn start(place: &str) -> (tokio::runtime::Runtime, SocketAddr, Store) {
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    let (addr, store) = runtime.block_on(async {
        let store = Store::open(&place.parse::<Place>().unwrap()).await.unwrap();
        let (told, listening) = tokio::sync::oneshot::channel();
        let config = Config { addr: "127.0.0.1:0".parse().unwrap(), web: None, secure_cookies: false };
        tokio::spawn(serve(store.clone(), config, move |addr| _ = told.send(addr), std::future::pending()));
        (listening.await.unwrap(), store)
    });
    (runtime, addr, store)
}

fn measure(what: &str, place: &str) {
    let (runtime, addr, store) = start(place);
    let archer = Uuid::from_u128(1);
    let records = big_log(archer, 100_000);
    let since = now();
    for part in records.chunks(10_000) {
        let answer = send(addr, "POST", "/api/v1/sync", JSON, &sync(archer, 1 << 40, part)).unwrap();
        assert_eq!(answer.status, 200, "{}", answer.text());
    }
    let pushed = since.elapsed();

    let since = now();
    let (mut after, mut log) = (0, Log::new());
    loop {
        let answer = send(addr, "POST", "/api/v1/sync", JSON, &sync(archer, after, &[])).unwrap();
        let page: SyncResponse = serde_json::from_slice(&answer.body).unwrap();
        log.extend(page.records);
        after = page.cursor;
        if !page.more {
            break;
        }
    }
    let pulled = since.elapsed();
    assert_eq!(log.len(), records.len());

    // Opening anew and reading the last session.
    let session = records.iter().rev().find_map(|r| r.body.session()).unwrap();
    drop(store);
    let since = now();
    let shots = runtime.block_on(async {
        let store = Store::open(&place.parse::<Place>().unwrap()).await.unwrap();
        let json = store.run(OneSession { archer, session: Some(session) }).await.unwrap();
        let log = Log::from_records(json.iter().map(|j| serde_json::from_str::<Record>(j).unwrap()));
        SessionView::of(&log, session).unwrap().shots().unwrap().len()
    });
    let opened = since.elapsed();
    assert!(shots > 0);

    // 200 devices, each pushing 36 shots' worth ten times with a breath between, all at once.
    let mut times: Vec<Duration> = std::thread::scope(|scope| {
        let devices: Vec<_> = (0..200u64)
            .map(|d| {
                scope.spawn(move || {
                    let mut writer = Writer::new(Uuid::from_u128(1000 + u128::from(d)), Uuid::from_u128(u128::from(d)));
                    let mut times = Vec::new();
                    std::thread::sleep(Duration::from_millis(d * 5));
                    for round in 0..10 {
                        let first = (d * 10 + round) * 100;
                        let records: Vec<Record> = (first..first + 36).map(|n| note(&mut writer, n)).collect();
                        let body = sync(writer.archer, 1 << 40, &records);
                        let since = now();
                        assert_eq!(send(addr, "POST", "/api/v1/sync", JSON, &body).unwrap().status, 200);
                        times.push(since.elapsed());
                        std::thread::sleep(Duration::from_secs(1));
                    }
                    times
                })
            })
            .collect();
        devices.into_iter().flat_map(|d| d.join().unwrap()).collect()
    });
    times.sort();
    let (p50, p99) = (times[times.len() / 2], times[times.len() * 99 / 100]);
    eprintln!(
        "{what}: push 100k {pushed:?}, pull 100k {pulled:?}, open and read a session {opened:?}, 200 devices p50 {p50:?} p99 {p99:?}"
    );
    assert!(pulled < Duration::from_secs(3), "{pulled:?}");
    assert!(opened < Duration::from_millis(150), "{opened:?}");
    assert!(p99 < Duration::from_millis(250), "{p99:?}");
}

#[test]
#[ignore = "slow: a step of its own"]
fn on_sqlite() {
    let folder = tempfile::tempdir().unwrap();
    measure("sqlite", folder.path().join("log.db").to_str().unwrap());
}

#[test]
#[ignore = "slow: a step of its own"]
fn on_postgres() {
    if let Some(server) = postgres::Postgres::start() {
        measure("postgres", &server.address());
    }
}
