//! A fault in every call of every operation, in turn, on both stores: what failed left nothing behind, and goes through afterwards.

#[path = "common/postgres.rs"]
mod postgres;

use goldward_journal::{Body, Note, Record, Stamp, Uuid, id::new_id};
use goldward_store::failures::{Attempt, Counted, Delay, Succeeded, Withdrawn};
use goldward_store::guardian::{Agree, NameGuardian, SetManager, SetMinor};
use goldward_store::notes::{ReadNote, RemoveNote, WriteNote};
use goldward_store::ops::{EraseLog, Exchange, Owner, Probe, Quota, Version};
use goldward_store::peers::{Reached, SetReached};
use goldward_store::roster::SetGroups;
use goldward_store::second::{Confirm, Prepare, RemoveSecond, UseRecovery, UseStep};
use goldward_store::signup::{CloseSignup, OpenSignup, SignUp, Signup};
use goldward_store::trail::{Entry, Noted, Trail};
use goldward_store::who::*;
use goldward_store::{Backend as _, Cell, Op, Options, Place, Row, Sqlite, Store, StoreError, Tx};

/// How a call fails.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Fault {
    /// It is never made.
    Before,
    /// It is made, and its answer is lost.
    After,
    /// The connection to the database breaks (PostgreSQL only).
    Broken,
}

/// An operation whose `at`th call fails.
struct Faulty<O> {
    op: O,
    at: usize,
    fault: Fault,
}

struct FaultyTx<'a, T> {
    tx: &'a mut T,
    left: usize,
    fault: Fault,
}

impl<T: Tx> Tx for FaultyTx<'_, T> {
    const FOR_UPDATE: &'static str = T::FOR_UPDATE;
    const MIGRATION_LOCK: Option<&'static str> = T::MIGRATION_LOCK;

    async fn rows(&mut self, sql: &str, params: &[Cell]) -> Result<Vec<Row>, StoreError> {
        let now = self.left == 0;
        self.left = self.left.wrapping_sub(1);
        let lost = || Err(StoreError::CannotWrite("a fault that was put in".to_owned()));
        match (now, self.fault) {
            (false, _) => self.tx.rows(sql, params).await,
            (true, Fault::Before) => lost(),
            (true, Fault::After) => self.tx.rows(sql, params).await.and(lost()),
            (true, Fault::Broken) => {
                let _ = self.tx.rows("SELECT 1 FROM (SELECT pg_terminate_backend(pg_backend_pid())) t", &[]).await;
                self.tx.rows(sql, params).await
            }
        }
    }
}

/// How often an operation calls, so that the faults know where to end.
struct Counting<O>(O);

struct CountingTx<'a, T> {
    tx: &'a mut T,
    calls: usize,
}

impl<T: Tx> Tx for CountingTx<'_, T> {
    const FOR_UPDATE: &'static str = T::FOR_UPDATE;
    const MIGRATION_LOCK: Option<&'static str> = T::MIGRATION_LOCK;

    async fn rows(&mut self, sql: &str, params: &[Cell]) -> Result<Vec<Row>, StoreError> {
        self.calls += 1;
        self.tx.rows(sql, params).await
    }
}

impl<O: Op> Op for Faulty<O> {
    type Out = O::Out;
    const WRITES: bool = O::WRITES;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<O::Out, StoreError> {
        self.op.run(&mut FaultyTx { tx, left: self.at, fault: self.fault }).await
    }
}

impl<O: Op> Op for Counting<O> {
    type Out = usize;
    const WRITES: bool = O::WRITES;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<usize, StoreError> {
        let mut tx = CountingTx { tx, calls: 0 };
        self.0.run(&mut tx).await?;
        Ok(tx.calls)
    }
}

/// Everything in the store.
struct Dump;

impl Op for Dump {
    type Out = Vec<Vec<Row>>;
    const WRITES: bool = false;

    async fn run<T: Tx>(self, tx: &mut T) -> Result<Self::Out, StoreError> {
        let mut all = Vec::new();
        for select in [
            "archer, owner, seq, records, hash_sum, bytes FROM logs ORDER BY archer",
            "archer, id, seq, ms, counter, device, hash, session, json FROM records ORDER BY archer, id",
            "id, name, password, name_key, totp, totp_new, totp_step, manages, minor, guardian FROM accounts ORDER BY id",
            "hash, id, account, kind, label, made_ms, expires_ms, used_ms FROM tokens ORDER BY hash",
            "archer, account, since_ms, writes, read_ms, agreed FROM coaches ORDER BY archer, account",
            "hash, archer, expires_ms FROM invitations ORDER BY hash",
            "one, hash, made_ms, expires_ms, room, account FROM signup",
            "account, archer, words FROM roster ORDER BY account, archer",
            "id, archer, author, at_ms, text, read_ms FROM notes ORDER BY id",
            "archer, peer, after_seq, pushed_seq FROM peers ORDER BY archer, peer",
            "pair, failed, until_ms, last_ms, good_ms FROM failures ORDER BY pair",
            "id, filler FROM probe ORDER BY id",
            "id, account, at_ms, what, about FROM trail ORDER BY id",
            "hash, account FROM recovery ORDER BY hash",
            "archer, account, at_ms FROM erased ORDER BY archer, account",
        ] {
            all.push(tx.rows(&format!("SELECT {select}"), &[]).await?);
        }
        Ok(all)
    }
}

/// Puts a fault into each call of the operation that `make` makes, in turn; then lets it through. Returns how many faults there were.
async fn each<O: Op>(store: &Store, make: impl Fn() -> O) -> usize {
    let title = std::any::type_name::<O>();
    let before = store.run(Dump).await.unwrap();
    let mut faults = vec![Fault::Before, Fault::After];
    if matches!(store, Store::Postgres(_)) {
        faults.push(Fault::Broken);
    }
    let mut done = 0;
    for at in 0.. {
        let mut through = false;
        for fault in &faults {
            let outcome = store.run(Faulty { op: make(), at, fault: *fault }).await;
            if outcome.is_ok() {
                through = true;
                break;
            }
            done += 1;
            assert_eq!(store.run(Dump).await.unwrap(), before, "{title}: call {at}, {fault:?}");
        }
        if through {
            break;
        }
        assert!(at < 100, "{title} never ends");
    }
    assert!(store.run(Dump).await.unwrap() != before, "{title} wrote nothing, so that nothing was tested");
    done
}

fn note(archer: Uuid, n: u8, text: &str) -> Version {
    let stamp = Stamp { ms: u64::from(n), counter: 0, device: Uuid::from_u128(9) };
    let body = Body::Note(Note { about: None, text: text.to_owned(), at_ms: 1, ..Note::default() });
    Version::from(&Record::new(archer, new_id(1, [n; 10]), stamp, body))
}

/// Every operation that writes, each on what those before it left.
async fn scenario(store: &Store) -> usize {
    let (anna, ben) = (Uuid::from_u128(11), Uuid::from_u128(12));
    let (log, free) = (Uuid::from_u128(1), Uuid::from_u128(2));
    let account = |id, name: &str| Account { id, name: name.to_owned(), password: "x".to_owned() };
    let exchange = |archer, owner, range: std::ops::Range<u8>, text: &'static str| {
        let records = range.map(|n| note(archer, n, text)).collect();
        let quota = Quota { logs: 9, records: 900, bytes: 1 << 20 };
        Exchange { archer, owner, records, after: 0, limit: 10, quota }
    };
    let token = |n: u8, kind| Token {
        id: Uuid::from_u128(u128::from(n)),
        hash: [n; 32],
        account: anna,
        kind,
        label: "phone".to_owned(),
        made_ms: 5,
        expires_ms: 500,
    };
    let delay = Delay { free: 0, longest_ms: 1000 };
    let counted = Counted { pair: [1; 32], pair_delay: delay, address: [2; 32], address_delay: delay };
    let invitation = |n| Invitation { id: Uuid::from_u128(n), writes: true, made_ms: 1, expires_ms: 90 };
    let mut faults = each(store, || exchange(free, Owner::Anyone, 0..3, "free")).await;
    faults += each(store, || AddAccount { account: account(anna, "anna"), give: vec![free] }).await;
    faults += each(store, || AddAccount { account: account(ben, "ben"), give: Vec::new() }).await;
    // More than one statement's worth.
    faults += each(store, || exchange(log, Owner::Account(anna), 0..150, "first")).await;
    faults += each(store, || exchange(log, Owner::Account(anna), 100..200, "another text")).await;
    faults += each(store, || Rename { account: ben, name: "Benno".to_owned() }).await;
    faults += each(store, || AddToken(token(21, TokenKind::Session))).await;
    faults += each(store, || AddToken(token(22, TokenKind::Device))).await;
    faults += each(store, || Used { token: Uuid::from_u128(21), now_ms: 9 }).await;
    faults += each(store, || Invite { archer: log, hash: [30; 32], invitation: invitation(30) }).await;
    faults += each(store, || TakeBack { archer: log, invitation: Uuid::from_u128(30) }).await;
    faults += each(store, || Invite { archer: log, hash: [31; 32], invitation: invitation(31) }).await;
    faults +=
        each(store, || Accept { hash: [31; 32], account: ben, now_ms: 2, entries: [61, 62, 63].map(Uuid::from_u128) })
            .await;
    faults += each(store, || KeepRead { archer: log, account: ben, now_ms: 4_000_000 }).await;
    let two = |n: u128| [n, n + 1].map(Uuid::from_u128);
    let words = || "juniors\nTuesday".to_owned();
    faults += each(store, || SetGroups { account: ben, archer: log, groups: words() }).await;
    let write = |n: u128| WriteNote {
        archer: log,
        author: ben,
        id: Uuid::from_u128(n),
        now_ms: 3,
        text: "well shot".to_owned(),
        entries: two(n + 1),
    };
    faults += each(store, || write(70)).await;
    faults += each(store, || ReadNote { archer: log, note: Uuid::from_u128(70), now_ms: 4 }).await;
    faults += each(store, || RemoveNote { archer: log, note: Uuid::from_u128(70), author: Some(ben) }).await;
    faults += each(store, || write(80)).await;
    let opened = Signup { made_ms: 1, expires_ms: 90, room: 2 };
    faults += each(store, || OpenSignup { hash: [71; 32], signup: opened, by: Some(anna) }).await;
    let (dora, emil) = (Uuid::from_u128(13), Uuid::from_u128(14));
    for (id, name) in [(dora, "dora"), (emil, "emil")] {
        faults += each(store, || SignUp {
            hash: [71; 32],
            account: account(id, name),
            minor: true,
            now_ms: 5,
            entries: two(id.as_u128() * 100),
        })
        .await;
    }
    faults += each(store, || CloseSignup).await;
    faults += each(store, || SetManager { account: ben, manages: true }).await;
    let minor = |n: u128, account, minor, guardian| SetMinor { account, minor, guardian, now_ms: 6, entries: two(n) };
    // Emil is under age, has no guardian yet, and gets one.
    faults += each(store, || NameGuardian {
        account: emil,
        guardian: "BENNO".to_owned(),
        by: dora,
        now_ms: 6,
        entries: [94, 95, 96].map(Uuid::from_u128),
    })
    .await;
    faults += each(store, || minor(90, dora, false, None)).await;
    faults += each(store, || minor(92, anna, true, Some(dora))).await;
    faults += each(store, || Agree { archer: log, coach: ben, guardian: dora }).await;
    for id in [dora, emil] {
        faults += each(store, || RemoveAccount { account: id, logs: LogsOf::Keep, now_ms: 9 }).await;
    }
    faults += each(store, || RevokeCoach { archer: log, account: ben }).await;
    faults += each(store, || Attempt { counted, now_ms: 10 }).await;
    faults += each(store, || Succeeded { counted, now_ms: 11 }).await;
    faults += each(store, || Attempt { counted, now_ms: 12 }).await;
    faults += each(store, || Withdrawn(counted)).await;
    let secret = || b"12345678901234567890".to_vec();
    faults += each(store, || Prepare { account: anna, secret: secret() }).await;
    let recovery = || vec![[41; 32], [42; 32]];
    faults += each(store, || Confirm { account: anna, secret: secret(), step: 7, recovery: recovery() }).await;
    faults += each(store, || UseStep { account: anna, step: 8 }).await;
    assert!(!store.run(UseStep { account: anna, step: 8 }).await.unwrap(), "a code was taken twice");
    faults += each(store, || UseRecovery { account: anna, hash: [41; 32] }).await;
    assert!(!store.run(UseRecovery { account: anna, hash: [41; 32] }).await.unwrap(), "a code was taken twice");
    faults += each(store, || RemoveSecond(anna)).await;
    faults +=
        each(store, || SetPassword { account: anna, password: "y".to_owned(), keep: None, end_devices: false }).await;
    let entry = |n: u128| {
        let (what, about) = ("device_ended".to_owned(), "phone".to_owned());
        Entry { id: Uuid::from_u128(n), account: anna, at_ms: 1, what, about }
    };
    faults += each(store, || Noted {
        op: EndToken { account: anna, token: Uuid::from_u128(22), kind: TokenKind::Device },
        entry: entry(51),
    })
    .await;
    let told: Vec<String> = store.run(Trail(anna)).await.unwrap().into_iter().map(|e| e.what).collect();
    let wanted = ["guardian_set", "newcomer", "newcomer", "note_came", "note_came", "coach_joined", "device_ended"];
    assert_eq!(told, wanted);
    faults +=
        each(store, || SetReached { archer: log, peer: "p".to_owned(), reached: Reached { after: 1, pushed: 2 } })
            .await;
    faults += each(store, || Probe { now_ms: 7 }).await;
    faults += each(store, || EraseLog { archer: free, owner: Owner::Account(anna), now_ms: 9 }).await;
    faults += each(store, || RemoveAccount { account: anna, logs: LogsOf::Keep, now_ms: 9 }).await;
    faults += each(store, || GiveLog { archer: log, account: ben }).await;
    faults += each(store, || RemoveAccount { account: ben, logs: LogsOf::Erase, now_ms: 9 }).await;
    // Nothing that was kept is left, and the running totals never went astray.
    let left = store.run(Dump).await.unwrap();
    assert!(left[..9].iter().all(Vec::is_empty), "{left:?}");
    assert_eq!(store.integrity().await.unwrap(), Vec::<String>::new());
    faults
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn on_sqlite() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::open(&Place::File(folder.path().join("log.db"))).await.unwrap();
    eprintln!("{} faults on SQLite, nothing left behind by any", scenario(&store).await);
    assert!(store.run(Counting(Probe { now_ms: 1 })).await.unwrap() > 0);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn on_postgres() {
    if let Some(server) = postgres::Postgres::start() {
        let store = Store::open(&Place::Postgres(server.address())).await.unwrap();
        eprintln!("{} faults on PostgreSQL, nothing left behind by any", scenario(&store).await);
    }
}

/// Another process holds the file for a little longer than is waited for: what was told to have failed must not be done.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_was_answered_with_a_failure_is_not_done_behind_ones_back() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.db");
    let patience = std::time::Duration::from_millis(300);
    let store = Store::Sqlite(Sqlite::open_with(&path, Options { patience, ..Options::default() }).await.unwrap());
    let id = Uuid::from_u128(11);
    let account = Account { id, name: "anna".to_owned(), password: "old".to_owned() };
    store.run(AddAccount { account, give: Vec::new() }).await.unwrap();
    let other = rusqlite::Connection::open(&path).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let release = std::thread::spawn(move || {
        std::thread::sleep(patience + patience / 2);
        other.execute_batch("COMMIT").unwrap();
    });
    let op = SetPassword { account: id, password: "new".to_owned(), keep: None, end_devices: true };
    let told = store.run(op).await;
    release.join().unwrap();
    assert!(matches!(told, Err(StoreError::Unavailable(_))), "{told:?}");
    assert_eq!(store.run(AccountOf(id)).await.unwrap().unwrap().password, "old");
    // And the next one goes through.
    let op = SetPassword { account: id, password: "new".to_owned(), keep: None, end_devices: true };
    assert_eq!(store.run(op).await, Ok(()));
}
