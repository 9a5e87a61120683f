//! One archer's large log, and many devices at once, over real connections: what they send must all be there. How long it took is
//! told, never judged.

use std::net::SocketAddr;
use std::time::{Duration, Instant};

use goldward_journal::sync::SyncResponse;
use goldward_journal::{Body, Log, Record, Uuid, Writer};
use goldward_server::{Config, serve};
use goldward_store::ops::OneSession;
use goldward_store::{Backend as _, Place, Store};

use crate::common::{JSON, big_log, note, send, sync};

/// How much of it.
#[derive(Debug, Clone, Copy)]
pub struct Size {
    pub shots: u32,
    pub devices: u64,
    pub rounds: u64,
    /// Between two requests of a device.
    pub breath: Duration,
}

/// What a device sends in one request: the shots of half a distance.
const SHOTS: u64 = 36;

/// How long it took.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Took {
    pub push: Duration,
    pub pull: Duration,
    pub open: Duration,
    /// Of the requests of all devices, shortest first.
    pub requests: Vec<Duration>,
}

#[allow(clippy::disallowed_methods, reason = "time is what is measured")]
fn now() -> Instant {
    Instant::now()
}

fn start(place: &str) -> (tokio::runtime::Runtime, SocketAddr, Store) {
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    let (addr, store) = runtime.block_on(async {
        let store = Store::open(&place.parse::<Place>().unwrap()).await.unwrap();
        let (told, listening) = tokio::sync::oneshot::channel();
        let config = Config::new("127.0.0.1:0".parse().unwrap());
        tokio::spawn(serve(store.clone(), config, move |at| _ = told.send(at.addr), std::future::pending()));
        (listening.await.unwrap(), store)
    });
    (runtime, addr, store)
}

fn pull(addr: SocketAddr, archer: Uuid) -> Log {
    let (mut after, mut log) = (0, Log::new());
    loop {
        let answer = send(addr, "POST", "/api/v1/sync", JSON, &sync(archer, after, &[])).unwrap();
        assert_eq!(answer.status, 200, "{}", answer.text());
        let page: SyncResponse = serde_json::from_slice(&answer.body).unwrap();
        log.extend(page.records);
        after = page.cursor;
        if !page.more {
            assert_eq!(log.digest(), page.log, "the digest is the log's");
            return log;
        }
    }
}

/// One device: it sends its rounds, and returns how long each took and what it sent.
fn device(addr: SocketAddr, d: u64, size: Size) -> (Vec<Duration>, Log) {
    let mut writer = Writer::new(Uuid::from_u128(1000 + u128::from(d)), Uuid::from_u128(u128::from(d)));
    let (mut times, mut sent) = (Vec::new(), Log::new());
    std::thread::sleep(size.breath * u32::try_from(d).unwrap() / u32::try_from(size.devices).unwrap());
    for round in 0..size.rounds {
        let first = (d * size.rounds + round) * 100;
        let records: Vec<Record> = (first..first + SHOTS).map(|n| note(&mut writer, n)).collect();
        let body = sync(writer.archer, 1 << 40, &records);
        let since = now();
        assert_eq!(send(addr, "POST", "/api/v1/sync", JSON, &body).unwrap().status, 200);
        times.push(since.elapsed());
        sent.extend(records);
        std::thread::sleep(size.breath);
    }
    (times, sent)
}

/// Does all of it on the store at `place`.
pub fn load(place: &str, size: Size) -> Took {
    let (runtime, addr, store) = start(place);
    let archer = Uuid::from_u128(1);
    let records = big_log(archer, size.shots);
    let since = now();
    for part in records.chunks(10_000) {
        let answer = send(addr, "POST", "/api/v1/sync", JSON, &sync(archer, 1 << 40, part)).unwrap();
        assert_eq!(answer.status, 200, "{}", answer.text());
    }
    let push = since.elapsed();
    let since = now();
    let there = pull(addr, archer);
    let pulled = since.elapsed();
    assert_eq!(there, Log::from_records(records.iter().cloned()));

    // Opening anew and reading the last session.
    let session = records.iter().rev().find_map(|r| r.body.session()).unwrap();
    let shots = records.iter().filter(|r| r.body.session() == Some(session)).count();
    drop(store);
    let since = now();
    let seen = runtime.block_on(async {
        let store = Store::open(&place.parse::<Place>().unwrap()).await.unwrap();
        let json = store.run(OneSession { archer, session: Some(session) }).await.unwrap();
        let log = Log::from_records(json.iter().map(|j| serde_json::from_str::<Record>(j).unwrap()));
        log.parts(archer, session).filter(|r| matches!(r.body, Body::Shot(_))).count()
    });
    let open = since.elapsed();
    assert_eq!(seen, shots);

    let done: Vec<(Vec<Duration>, Log)> = std::thread::scope(|scope| {
        let devices: Vec<_> = (0..size.devices).map(|d| scope.spawn(move || device(addr, d, size))).collect();
        devices.into_iter().map(|d| d.join().unwrap()).collect()
    });
    let mut requests = Vec::new();
    for (d, (times, sent)) in (0u128..).zip(done) {
        requests.extend(times);
        assert_eq!(pull(addr, Uuid::from_u128(1000 + d)), sent, "device {d}");
    }
    requests.sort();
    Took { push, pull: pulled, open, requests }
}
