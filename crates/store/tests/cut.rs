//! The connection to PostgreSQL cut at every message of its protocol, in turn, in both directions: before it, in the midst of it and
//! after it. What was acknowledged is there, what was not is there whole or not at all, and asking again makes it whole.
//!
//! Where a cut comes between a commit and its answer, nobody can tell from outside whether it was done: a failure is answered, and
//! asking again must do no harm.

#[path = "common/postgres.rs"]
mod postgres;

use std::io::{Read as _, Write as _};
use std::net::Shutdown;
use std::os::unix::net::{UnixListener, UnixStream};
use std::path::Path;
use std::sync::{Arc, Mutex};

use goldward_journal::{Body, Note, Record, Stamp, Uuid, id::new_id};
use goldward_store::audit::Audit;
use goldward_store::ops::{Exchange, Logs, Owner, Quota, Version};
use goldward_store::trail::{Entry, Noted, Trail};
use goldward_store::who::{Account, AddAccount, AddToken, Token, TokenKind, Tokens};
use goldward_store::{Backend as _, Place, Store, StoreError};

/// Where the connection is cut, seen from the message that it is cut at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum At {
    Before,
    Within,
    After,
}

/// After how many more messages to cut, and where; nothing while everything goes through.
type Cut = Arc<Mutex<Option<(u32, At)>>>;

/// Lets messages through from one end to the other until it is time to cut.
fn pump(mut from: UnixStream, mut to: UnixStream, mut greets: bool, cut: &Cut) {
    let mut whole = || -> std::io::Result<bool> {
        // The first message of a client has no letter before its length.
        let mut message = vec![0; if greets { 4 } else { 5 }];
        greets = false;
        from.read_exact(&mut message)?;
        let length = message.last_chunk::<4>().map_or(4, |l| u32::from_be_bytes(*l)) as usize;
        let head = message.len();
        message.resize(head + length.saturating_sub(4), 0);
        from.read_exact(&mut message[head..])?;
        let mut due = cut.lock().unwrap();
        let now = match due.as_mut() {
            Some((0, at)) => Some(*at),
            Some((left, _)) => {
                *left -= 1;
                None
            }
            None => None,
        };
        if now.is_some() {
            *due = None;
        }
        drop(due);
        let part = match now {
            Some(At::Before) => 0,
            Some(At::Within) => message.len() / 2,
            Some(At::After) | None => message.len(),
        };
        to.write_all(&message[..part])?;
        Ok(now.is_none())
    };
    while whole().is_ok_and(|goes_on| goes_on) {}
    for end in [from, to] {
        let _ = end.shutdown(Shutdown::Both);
    }
}

/// A server's socket in another folder, with a pair of scissors.
fn proxy(folder: &Path, server: &Path) -> Cut {
    let cut = Cut::default();
    let listener = UnixListener::bind(folder.join(".s.PGSQL.5432")).unwrap();
    let (scissors, server) = (cut.clone(), server.join(".s.PGSQL.5432"));
    std::thread::spawn(move || {
        for client in listener.incoming().flatten() {
            let Ok(server) = UnixStream::connect(&server) else { continue };
            let ends = [(client.try_clone(), server.try_clone(), true), (Ok(server), Ok(client), false)];
            for (from, to, greets) in ends {
                let (from, to, cut) = (from.unwrap(), to.unwrap(), scissors.clone());
                std::thread::spawn(move || pump(from, to, greets, &cut));
            }
        }
    });
    cut
}

const RECORDS: u8 = 6;

fn log(archer: Uuid) -> Exchange {
    let record = |n: u8| {
        let stamp = Stamp { ms: u64::from(n), counter: 0, device: Uuid::from_u128(9) };
        let body = Body::Note(Note { about: None, text: "x".repeat(400), at_ms: 1, ..Note::default() });
        Version::from(&Record::new(archer, new_id(1, [n; 10]), stamp, body))
    };
    let records = (0..RECORDS).map(record).collect();
    Exchange { archer, owner: Owner::Anyone, records, after: 0, limit: 10, quota: Quota::NONE }
}

/// How many records of that log there are: all or none, and sound.
async fn kept(store: &Store, archer: Uuid) -> usize {
    if store.run(Logs { owner: Owner::Anyone }).await.unwrap().iter().all(|l| l.archer != archer) {
        return 0;
    }
    let audited = store.run(Audit { archer }).await.unwrap();
    assert_eq!(audited.findings, []);
    assert_eq!(audited.records.len(), usize::from(RECORDS), "half a push");
    audited.records.len()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_connection_that_is_cut_at_any_message_loses_nothing_and_leaves_nothing_half_written() {
    let Some(server) = postgres::Postgres::start() else { return };
    let folder = tempfile::tempdir().unwrap();
    let cut = proxy(folder.path(), server.folder());
    let plain = Store::open(&Place::Postgres(server.address())).await.unwrap();
    let host = folder.path().display().to_string().replace('/', "%2F");
    let address = format!("postgres://goldward@localhost/postgres?host={host}&sslmode=disable");
    let store = Store::open(&Place::Postgres(address)).await.unwrap();
    let clear = |e: &StoreError, what: &str| {
        assert!(matches!(e, StoreError::Unavailable(_) | StoreError::NotReached(_)), "{what}: {e:?}");
    };
    // So that every round finds its statements prepared.
    store.run(log(Uuid::from_u128(1))).await.unwrap();
    let (mut cuts, mut done_untold) = (0, 0);
    for at in [At::Before, At::Within, At::After] {
        for n in 0.. {
            assert!(n < 2_000, "it never ends");
            let archer = Uuid::from_u128(1_000_000 * (1 + at as u128) + u128::from(n));
            let what = format!("{at:?} message {n}");
            *cut.lock().unwrap() = Some((n, at));
            let told = store.run(log(archer)).await;
            let through = cut.lock().unwrap().take().is_some();
            let there = kept(&plain, archer).await;
            match &told {
                Ok(done) => assert_eq!((done.accepted, there), (u64::from(RECORDS), usize::from(RECORDS)), "{what}"),
                Err(e) => {
                    clear(e, &what);
                    done_untold += usize::from(there > 0);
                }
            }
            if through {
                assert!(told.is_ok(), "{what}");
                break;
            }
            cuts += 1;
            store.run(log(archer)).await.unwrap_or_else(|e| panic!("{what}, again: {e:?}"));
            assert_eq!(kept(&plain, archer).await, usize::from(RECORDS), "{what}");
        }
    }
    eprintln!("{cuts} cuts of a push, nothing lost; {done_untold} times it was done and could not be told");
    assert!(cuts > 60, "{cuts}");
    assert!(done_untold > 0, "no cut came between a commit and its answer");

    // What must not be done twice is done once or not at all, and its entry with it.
    let account = Uuid::from_u128(7);
    let anna = Account { id: account, name: "anna".to_owned(), password: "x".to_owned() };
    plain.run(AddAccount { account: anna, give: Vec::new() }).await.unwrap();
    let counts = async || {
        let made = plain.run(Tokens { account, kind: TokenKind::Device, now_ms: 2 }).await.unwrap().len();
        (made, plain.run(Trail(account)).await.unwrap().len())
    };
    // What was on its way when the connection was cut may still be done, also between the two looks: until they agree and stay.
    let entries = async || {
        let mut seen = counts().await;
        for _ in 0..100 {
            tokio::time::sleep(std::time::Duration::from_millis(20)).await;
            let again = counts().await;
            if again == seen && seen.0 == seen.1 {
                break;
            }
            seen = again;
        }
        assert_eq!(seen.0, seen.1, "one without the other");
        seen.0
    };
    let add = |n: u32| {
        let id = Uuid::from_u128(u128::from(n) + 1);
        let mut hash = [0; 32];
        hash[..4].copy_from_slice(&n.to_be_bytes());
        let label = "phone".to_owned();
        let token = Token { id, hash, account, kind: TokenKind::Device, label, made_ms: 1, expires_ms: 9 };
        let what = "device_added".to_owned();
        Noted { op: AddToken(token), entry: Entry { id, account, at_ms: 1, what, about: String::new() } }
    };
    store.run(add(0)).await.unwrap();
    let mut before = entries().await;
    for n in 1..90 {
        *cut.lock().unwrap() = Some((2 * (n - 1), At::After));
        let told = store.run(add(n)).await;
        let through = cut.lock().unwrap().take().is_some();
        let after = entries().await;
        match told {
            Ok(()) => assert_eq!(after, before + 1),
            Err(e) => {
                clear(&e, "a device");
                assert!(after == before || after == before + 1);
            }
        }
        before = after;
        if through {
            return;
        }
    }
    panic!("it never ends");
}
