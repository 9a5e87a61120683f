//! One scenario, run on both backends, and what only a file can suffer.

#[path = "common/postgres.rs"]
mod postgres;

use std::sync::atomic::{AtomicU64, Ordering};

use goldward_journal::{Body, Log, Note, Record, Uuid, Writer};
use goldward_store::failures::{AskWait, Attempt, Counted, Delay, Forget, KNOWN_MS, REMEMBERED_MS, Succeeded};
use goldward_store::ops::{EraseLog, Exchange, Exchanged, Logs, OneSession, Owner, Ping, Pull, Quota, Version};
use goldward_store::peers::{AskReached, Reached, SetReached};
use goldward_store::trail::{Entry, Noted, Trail};
use goldward_store::who::*;
use goldward_store::{Backend as _, Options, Place, Store, StoreError};

fn note(writer: &mut Writer, n: u64, text: &str) -> Record {
    let mut random = [0; 10];
    random[2..].copy_from_slice(&n.to_be_bytes());
    let body = Body::Note(Note { about: None, text: text.to_owned(), at_ms: n, ..Note::default() });
    writer.write(1_700_000_000_000 + n, random, body)
}

/// Takes an invitation, with entries that nothing else has.
fn accept(hash: [u8; 32], account: Uuid, now_ms: u64) -> Accept {
    static LAST: AtomicU64 = AtomicU64::new(0);
    let fresh = || Uuid::from_u128(0xacce_0000 + u128::from(LAST.fetch_add(1, Ordering::Relaxed)));
    Accept { hash, account, now_ms, entries: [fresh(), fresh(), fresh()] }
}

async fn push(store: &Store, archer: Uuid, owner: Owner, records: Vec<Record>) -> Result<Exchanged, StoreError> {
    let records = records.iter().map(Version::from).collect();
    store.run(Exchange { archer, owner, records, after: 0, limit: 20_000, quota: Quota::NONE }).await
}

async fn scenario(place: &Place) {
    let store = Store::open(place).await.unwrap();
    let again = Store::open(place).await.unwrap();
    store.run(Ping).await.unwrap();
    let (archer, other) = (Uuid::from_u128(1), Uuid::from_u128(2));
    let (anna, ben) = (Uuid::from_u128(11), Uuid::from_u128(12));
    for (id, name) in [(anna, "anna"), (ben, "ben")] {
        let account = Account { id, name: name.to_owned(), password: "x".to_owned() };
        store.run(AddAccount { account, give: Vec::new() }).await.unwrap();
    }
    for name in ["anna", "Anna", "ANNA"] {
        let account = Account { id: other, name: name.to_owned(), password: "y".to_owned() };
        assert_eq!(store.run(AddAccount { account, give: Vec::new() }).await, Err(StoreError::NameTaken), "{name}");
    }
    assert_eq!(store.run(CountAccounts).await, Ok(2));
    for name in ["ben", "Ben", "BEN"] {
        assert_eq!(store.run(FindAccount(name.to_owned())).await.unwrap().unwrap().id, ben);
    }
    assert_eq!(store.run(FindAccount("be\0n".to_owned())).await, Ok(None));

    // Records come in once, in any number of parts, and come back in order.
    let mut writer = Writer::new(archer, Uuid::from_u128(100));
    let records: Vec<Record> = (0..450).map(|n| note(&mut writer, n, "é\u{0}\u{1f3af}'\"")).collect();
    let mut log = Log::from_records(records.clone());
    let done = push(&store, archer, Owner::Account(anna), records[..300].to_vec()).await.unwrap();
    assert_eq!((done.accepted, done.cursor, done.more, done.json.len()), (300, 300, false, 0));
    let done = push(&again, archer, Owner::Account(anna), records[200..].to_vec()).await.unwrap();
    assert_eq!((done.accepted, done.cursor, done.json.len()), (150, 450, 200));
    assert_eq!(done.digest, log.digest());
    assert_eq!(push(&store, archer, Owner::Account(anna), records.clone()).await.unwrap().accepted, 0);
    assert_eq!(push(&store, archer, Owner::Account(ben), records[..1].to_vec()).await, Err(StoreError::NotYours));

    // Page by page.
    let (mut after, mut got) = (0, Log::new());
    loop {
        let page = again.run(Pull { archer, after, limit: 64 }).await.unwrap();
        got.extend(page.json.iter().map(|j| serde_json::from_str::<Record>(j).unwrap()));
        after = page.cursor;
        if !page.more {
            break;
        }
    }
    assert_eq!(got, log);

    // An edit moves to the end; an older version changes nothing.
    let edit = writer.edit(
        5,
        &records[3],
        Body::Note(Note { about: None, text: "new".to_owned(), at_ms: 0, ..Note::default() }),
    );
    log.insert(edit.clone());
    let done = push(&store, archer, Owner::Account(anna), vec![edit.clone(), records[3].clone()]).await.unwrap();
    assert_eq!((done.accepted, done.cursor), (1, 451));
    assert_eq!(done.digest, log.digest());
    let news = store.run(Pull { archer, after: 450, limit: 10 }).await.unwrap();
    assert_eq!(news.json, [edit.to_json()]);
    assert_eq!(store.run(OneSession { archer, session: None }).await.unwrap().len(), 450);

    // Two processes push at once.
    let mut tasks = Vec::new();
    for k in 0..20u64 {
        let store = if k % 2 == 0 { store.clone() } else { again.clone() };
        tasks.push(tokio::spawn(async move {
            let mut writer = Writer::new(other, Uuid::from_u128(u128::from(k)));
            let records: Vec<Record> = (0..30).map(|n| note(&mut writer, 1000 * k + n, "at once")).collect();
            push(&store, other, Owner::Account(ben), records).await.unwrap().accepted
        }));
    }
    for task in tasks {
        assert_eq!(task.await.unwrap(), 30);
    }
    let all = store.run(Pull { archer: other, after: 0, limit: 20_000 }).await.unwrap();
    assert_eq!((all.json.len(), all.cursor), (600, 600));
    let log: Log = Log::from_records(all.json.iter().map(|j| serde_json::from_str::<Record>(j).unwrap()));
    assert_eq!(all.digest, log.digest());

    // Who sees what.
    let access = async |account, archer| store.run(AskAccess { account, archer }).await.unwrap().access;
    assert_eq!(access(anna, archer).await, Access::Owner);
    assert_eq!(access(ben, archer).await, Access::None);
    assert_eq!(access(ben, Uuid::from_u128(3)).await, Access::Free);
    let invitation = |n: u128, writes| Invitation { id: Uuid::from_u128(n), writes, made_ms: 1, expires_ms: 100 };
    store.run(Invite { archer, hash: [1; 32], invitation: invitation(1, false) }).await.unwrap();
    store.run(Invite { archer, hash: [2; 32], invitation: invitation(2, false) }).await.unwrap();
    store.run(Invite { archer, hash: [9; 32], invitation: invitation(9, true) }).await.unwrap();
    let open = async |now_ms| store.run(Invitations { archer, now_ms }).await.unwrap();
    assert_eq!(open(99).await, [invitation(1, false), invitation(2, false), invitation(9, true)]);
    assert_eq!(open(100).await, []);
    assert_eq!(store.run(TakeBack { archer: ben, invitation: Uuid::from_u128(9) }).await, Ok(false));
    assert_eq!(store.run(TakeBack { archer, invitation: Uuid::from_u128(9) }).await, Ok(true));
    assert_eq!(store.run(TakeBack { archer, invitation: Uuid::from_u128(9) }).await, Ok(false));
    assert_eq!(store.run(accept([9; 32], ben, 2)).await, Ok(None), "it was taken back");
    assert_eq!(store.run(accept([2; 32], anna, 2)).await, Ok(None), "it is for others");
    assert_eq!(store.run(accept([1; 32], ben, 100)).await, Ok(None), "it has ended");
    let given = |writes| Accepted { archer, from: Some("anna".to_owned()), writes, waits: false };
    assert_eq!(store.run(accept([2; 32], ben, 99)).await, Ok(Some(given(false))));
    assert_eq!(store.run(accept([2; 32], anna, 99)).await, Ok(None), "it works once");
    assert_eq!(access(ben, archer).await, Access::Coach);
    let coach = |writes| Coach { account: ben, name: "ben".to_owned(), since_ms: 99, writes, read_ms: 0, agreed: true };
    assert_eq!(store.run(Coaches(archer)).await.unwrap(), [coach(false)]);
    let seen = [note(&mut Writer::new(archer, Uuid::from_u128(77)), 7000, "seen by the coach")];
    let sent = push(&store, archer, Owner::Account(ben), seen.to_vec()).await;
    assert_eq!(sent, Err(StoreError::NotYours));
    // A later invitation gives more, and one that gives less takes nothing away.
    for (n, writes) in [(10, true), (11, false)] {
        let hash = [n; 32];
        store.run(Invite { archer, hash, invitation: invitation(n.into(), writes) }).await.unwrap();
        assert_eq!(store.run(accept(hash, ben, 50)).await, Ok(Some(given(true))));
    }
    assert_eq!(store.run(Coaches(archer)).await.unwrap(), [coach(true)]);
    let read = async |account| store.run(AskAccess { account, archer }).await.unwrap().read_ms;
    assert_eq!((read(anna).await, read(ben).await), (None, Some(0)), "her own is nobody's business");
    store.run(KeepRead { archer, account: ben, now_ms: 4_000_000 }).await.unwrap();
    assert_eq!(read(ben).await, Some(4_000_000));
    assert_eq!(store.run(Coaches(archer)).await.unwrap(), [Coach { read_ms: 4_000_000, ..coach(true) }]);
    assert!(is_read_anew(0, 4_000_000) && !is_read_anew(4_000_000, 4_000_001), "a moment ago");
    assert!(is_read_anew(4_000_000, 8_000_000), "an hour later");
    assert_eq!(access(ben, archer).await, Access::Writer);
    assert_eq!(push(&store, archer, Owner::Account(ben), seen.to_vec()).await.unwrap().accepted, 1);
    let listed = store.run(Logs { owner: Owner::Account(ben) }).await.unwrap();
    let listed: Vec<_> = listed.iter().map(|l| (l.archer, l.owner == Some(ben), l.writes)).collect();
    assert_eq!(listed, [(archer, false, true), (other, true, true)]);
    assert_eq!(store.run(Logs { owner: Owner::Account(ben) }).await.unwrap().len(), 2);
    assert_eq!(store.run(Logs { owner: Owner::Account(anna) }).await.unwrap().len(), 1);
    // Both can read of it, three times, and of nothing that came to nothing.
    let told = async |of| -> Vec<(String, String)> {
        store.run(Trail(of)).await.unwrap().into_iter().map(|e| (e.what, e.about)).collect()
    };
    let joined = ("coach_joined".to_owned(), "ben".to_owned());
    assert_eq!(told(anna).await, [joined.clone(), joined.clone(), joined]);
    assert_eq!(told(ben).await.first(), Some(&("coach_accepted".to_owned(), archer.to_string())));
    assert_eq!(told(ben).await.len(), 3);
    assert_eq!(store.run(RevokeCoach { archer, account: ben }).await, Ok(true));
    let entry = Entry {
        id: Uuid::from_u128(4),
        account: anna,
        at_ms: 1,
        what: "coach_revoked".to_owned(),
        about: String::new(),
    };
    assert_eq!(store.run(Noted { op: RevokeCoach { archer, account: ben }, entry }).await, Ok(false));
    assert_eq!(told(anna).await.len(), 3, "nothing was done");
    assert_eq!(access(ben, archer).await, Access::None);

    // Tokens end.
    let token = |hash: u8, kind, made_ms, expires_ms| Token {
        id: Uuid::from_u128(u128::from(hash)),
        hash: [hash; 32],
        account: anna,
        kind,
        label: "phone".to_owned(),
        made_ms,
        expires_ms,
    };
    store.run(AddToken(token(7, TokenKind::Device, 10, 50))).await.unwrap();
    store.run(AddToken(token(8, TokenKind::Session, 10, 20))).await.unwrap();
    let found = async |hash, now_ms| {
        store
            .run(FindToken { hash: [hash; 32], now_ms, idle_ms: 1000 })
            .await
            .unwrap()
            .map(|b| (b.account, b.kind, b.token))
    };
    assert_eq!(found(7, 49).await, Some((anna, TokenKind::Device, Uuid::from_u128(7))));
    assert_eq!((found(7, 50).await, found(8, 20).await, found(9, 1).await), (None, None, None));
    let tokens = async |kind, now_ms| store.run(Tokens { account: anna, kind, now_ms }).await.unwrap();
    let info =
        |used_ms| TokenInfo { id: Uuid::from_u128(7), label: "phone".to_owned(), made_ms: 10, expires_ms: 50, used_ms };
    assert_eq!(tokens(TokenKind::Device, 11).await, [info(10)]);
    store.run(Used { token: Uuid::from_u128(7), now_ms: 15 }).await.unwrap();
    store.run(Used { token: Uuid::from_u128(7), now_ms: 12 }).await.unwrap();
    assert_eq!(tokens(TokenKind::Device, 11).await, [info(15)]);
    let idle = |now_ms| store.run(FindToken { hash: [8; 32], now_ms, idle_ms: 5 });
    assert!(idle(14).await.unwrap().is_some() && idle(15).await.unwrap().is_none(), "idle for too long");
    assert_eq!(tokens(TokenKind::Session, 11).await.len(), 1);
    assert_eq!(tokens(TokenKind::Session, 20).await, [], "it has ended");
    let end = async |account, kind| store.run(EndToken { account, token: Uuid::from_u128(7), kind }).await;
    assert_eq!(end(ben, TokenKind::Device).await, Ok(false), "not ben's");
    assert_eq!(end(anna, TokenKind::Session).await, Ok(false), "no session");
    assert_eq!(end(anna, TokenKind::Device).await, Ok(true));
    // A new password ends the sessions but the one that stays, and the devices when asked to.
    for (hash, kind) in [(7, TokenKind::Device), (9, TokenKind::Session)] {
        store.run(AddToken(token(hash, kind, 10, 50))).await.unwrap();
    }
    let set = async |keep, end_devices| {
        let password = "z".to_owned();
        store.run(SetPassword { account: anna, password, keep, end_devices }).await.unwrap();
        (found(7, 11).await.is_some(), found(8, 11).await.is_some(), found(9, 11).await.is_some())
    };
    assert_eq!(set(Some(Uuid::from_u128(9)), false).await, (true, false, true));
    assert_eq!(set(None, true).await, (false, false, false));
    assert_eq!(store.run(AccountOf(anna)).await.unwrap().unwrap().password, "z");
    assert_eq!(store.run(AccountOf(other)).await, Ok(None));

    // Failed logins: some are free, then each makes wait for longer; a right one starts anew, and a name that has logged in from
    // an address does not wait for others there.
    let counted = |name: u8, address: u8| Counted {
        pair: [name ^ address; 32],
        pair_delay: Delay { free: 2, longest_ms: 3000 },
        address: [address; 32],
        address_delay: Delay { free: 4, longest_ms: 60_000 },
    };
    let attempt = async |name, now_ms| store.run(Attempt { counted: counted(name, 200), now_ms }).await.unwrap();
    // Of two at once the later may be looked at first, which is no reason to wait.
    let tries = [(100, 0), (99, 0), (100, 0), (101, 999), (1100, 0), (1100, 2000), (3100, 0), (3200, 2900)];
    for (i, (now_ms, wait)) in tries.into_iter().enumerate() {
        assert_eq!(attempt(1, now_ms).await, wait, "try {i}");
        assert!(again.run(AskWait { counted: counted(1, 200), now_ms }).await.unwrap() >= wait, "on another server");
    }
    assert_eq!(attempt(2, 3200).await, 900, "the address has failed too often for a name that is not known there");
    store.run(Succeeded { counted: counted(1, 200), now_ms: 6200 }).await.unwrap();
    assert_eq!(attempt(2, 6200).await, 0);
    assert!(attempt(3, 6201).await > 0);
    assert_eq!(attempt(1, 6201).await, 0, "she is known there");
    assert_eq!(attempt(3, 6201 + REMEMBERED_MS).await, 0, "a day later it is forgotten");
    store.run(Forget { now_ms: 6202 + REMEMBERED_MS + KNOWN_MS }).await.unwrap();

    // How far a log is in step with a server elsewhere.
    let peer = || "https://club.example".to_owned();
    assert_eq!(store.run(AskReached { archer, peer: peer() }).await, Ok(Reached::default()));
    for reached in [Reached { after: 3, pushed: 4 }, Reached { after: 5, pushed: 2 }] {
        store.run(SetReached { archer, peer: peer(), reached }).await.unwrap();
        assert_eq!(again.run(AskReached { archer, peer: peer() }).await, Ok(reached));
    }
    assert_eq!(store.run(AskReached { archer: other, peer: peer() }).await, Ok(Reached::default()));

    // A log from before there were accounts is given once.
    let orphan = Uuid::from_u128(4);
    let mut writer = Writer::new(orphan, Uuid::from_u128(100));
    push(&store, orphan, Owner::Anyone, vec![note(&mut writer, 1, "")]).await.unwrap();
    assert_eq!(store.run(GiveLog { archer: orphan, account: anna }).await, Ok(true));
    assert_eq!(store.run(GiveLog { archer: orphan, account: ben }).await, Ok(false));

    // A log that was erased does not come back from the devices of those who had it; nobody else learns of it.
    let invitation = Invitation { id: Uuid::from_u128(3), writes: false, made_ms: 1, expires_ms: 100 };
    store.run(Invite { archer, hash: [3; 32], invitation }).await.unwrap();
    store.run(accept([3; 32], ben, 2)).await.unwrap();
    assert_eq!(store.run(CoachedBy(ben)).await.unwrap(), [(archer, 2, false)]);
    let erase = |archer, account, now_ms| store.run(EraseLog { archer, owner: Owner::Account(account), now_ms });
    assert_eq!(erase(archer, ben, 5).await, Ok(false), "not ben's");
    assert_eq!(erase(archer, anna, 5).await, Ok(true));
    assert_eq!((access(anna, archer).await, access(ben, archer).await), (Access::Erased, Access::Erased));
    assert_eq!(access(Uuid::from_u128(77), archer).await, Access::Free);
    let mut writer = Writer::new(archer, Uuid::from_u128(100));
    for account in [anna, ben] {
        let told = push(&store, archer, Owner::Account(account), vec![note(&mut writer, 1, "")]).await;
        assert_eq!(told, Err(StoreError::Erased));
    }
    assert!(store.run(Logs { owner: Owner::Anyone }).await.unwrap().iter().all(|l| l.archer != archer));
    // Whoever removes the account removes that too.
    store.run(RemoveAccount { account: ben, logs: LogsOf::Keep, now_ms: 6 }).await.unwrap();
    assert_eq!((access(anna, archer).await, access(ben, archer).await), (Access::Erased, Access::Free));
    // Two years later no device is left that could have it.
    assert_eq!(erase(orphan, anna, 6 + 730 * 86_400_000).await, Ok(true));
    assert_eq!((access(anna, archer).await, access(anna, orphan).await), (Access::Free, Access::Erased));
    assert_eq!(store.integrity().await.unwrap(), Vec::<String>::new());
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn on_sqlite() {
    let folder = tempfile::tempdir().unwrap();
    scenario(&Place::File(folder.path().join("log.db"))).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn on_postgres() {
    if let Some(server) = postgres::Postgres::start() {
        scenario(&Place::Postgres(server.address())).await;
    }
}

async fn filled(path: &std::path::Path) -> Log {
    let store = Store::open(&Place::File(path.to_owned())).await.unwrap();
    let archer = Uuid::from_u128(1);
    let mut writer = Writer::new(archer, Uuid::from_u128(100));
    let records: Vec<Record> = (0..500).map(|n| note(&mut writer, n, &"x".repeat(200))).collect();
    push(&store, archer, Owner::Anyone, records.clone()).await.unwrap();
    Log::from_records(records)
}

#[tokio::test]
async fn a_backup_is_whole_and_never_overwrites() {
    let folder = tempfile::tempdir().unwrap();
    let (path, copy) = (folder.path().join("log.db"), folder.path().join("copy.db"));
    let log = filled(&path).await;
    let store = Store::open(&Place::File(path)).await.unwrap();
    store.backup(&copy).await.unwrap();
    assert!(matches!(store.backup(&copy).await, Err(StoreError::CannotOpen(_))));
    let copy = Store::open(&Place::File(copy)).await.unwrap();
    let all = copy.run(Pull { archer: Uuid::from_u128(1), after: 0, limit: 20_000 }).await.unwrap();
    assert_eq!(all.digest, log.digest());
    assert_eq!(all.json.len(), 500);
}

#[tokio::test]
async fn after_an_orderly_end_the_one_file_holds_everything() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("log.db");
    // Written and dropped, which ends the writer.
    let log = filled(&file).await;
    let beside: Vec<_> = std::fs::read_dir(folder.path()).unwrap().map(|e| e.unwrap().file_name()).collect();
    assert_eq!(beside, ["log.db"], "nothing is left beside it");
    let copy = folder.path().join("copy.db");
    std::fs::copy(&file, &copy).unwrap();
    let store = Store::open(&Place::File(copy)).await.unwrap();
    let page = store.run(Pull { archer: Uuid::from_u128(1), after: 0, limit: 20_000 }).await.unwrap();
    let got: Log = Log::from_records(page.json.iter().map(|j| serde_json::from_str::<Record>(j).unwrap()));
    assert_eq!(got, log);
}

#[tokio::test]
async fn a_cut_file_a_strange_file_and_a_newer_schema_are_refused_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.db");
    filled(&path).await;
    // A backup has everything in the one file.
    let whole = folder.path().join("whole.db");
    Store::open(&Place::File(path)).await.unwrap().backup(&whole).await.unwrap();
    let bytes = std::fs::read(&whole).unwrap();
    let text =
        b"these are no records, but a text that is longer than one hundred bytes, as a head of a file would be, too.";
    for (name, content, damaged) in [
        ("half", &bytes[..bytes.len() / 2], true),
        ("stub", &bytes[..50], true),
        ("speck", &bytes[..5], true),
        ("other", text.as_slice(), false),
        ("word", b"a text of twenty four b.", false),
    ] {
        let cut = folder.path().join(name);
        std::fs::write(&cut, content).unwrap();
        let error = Store::open(&Place::File(cut.clone())).await.unwrap_err();
        let right = if damaged { matches!(error, StoreError::Damaged(_)) } else { error == StoreError::NotAStore };
        assert!(right, "{name}: {error:?}");
        assert_eq!(std::fs::read(&cut).unwrap(), content, "{name} was changed");
    }
    // Another program's tables stay as they are.
    let foreign = folder.path().join("foreign");
    rusqlite::Connection::open(&foreign)
        .unwrap()
        .execute_batch("CREATE TABLE theirs (a); INSERT INTO theirs VALUES (1)")
        .unwrap();
    assert_eq!(Store::open(&Place::File(foreign.clone())).await.unwrap_err(), StoreError::NotAStore);
    let tables = "SELECT group_concat(name) FROM sqlite_schema";
    let left: String = rusqlite::Connection::open(&foreign).unwrap().query_row(tables, [], |r| r.get(0)).unwrap();
    assert_eq!(left, "theirs");
    let connection = rusqlite::Connection::open(&whole).unwrap();
    connection.execute("UPDATE goldward SET schema = 99", []).unwrap();
    drop(connection);
    let error = Store::open(&Place::File(whole)).await.unwrap_err();
    assert_eq!(error, StoreError::Newer { found: 99, known: goldward_store::SCHEMA });
}

#[tokio::test]
async fn no_folder_is_a_clear_error() {
    let folder = tempfile::tempdir().unwrap();
    let error = Store::open(&Place::File(folder.path().join("none/log.db"))).await.unwrap_err();
    assert!(matches!(error, StoreError::CannotOpen(_)), "{error:?}");
}

/// A full disk, as SQLite sees it: no page more than there are.
#[tokio::test]
async fn a_full_disk_refuses_and_loses_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.db");
    let log = filled(&path).await;
    let store = goldward_store::Sqlite::open_with(&path, Options { most_pages: Some(150), ..Options::default() })
        .await
        .unwrap();
    let store = Store::Sqlite(store);
    let archer = Uuid::from_u128(1);
    let mut writer = Writer::new(archer, Uuid::from_u128(101));
    let records: Vec<Record> = (10_000..20_000).map(|n| note(&mut writer, n, &"y".repeat(500))).collect();
    assert_eq!(push(&store, archer, Owner::Anyone, records).await, Err(StoreError::Full));
    let all = store.run(Pull { archer, after: 0, limit: 20_000 }).await.unwrap();
    assert_eq!(all.digest, log.digest());
    assert_eq!(push(&store, archer, Owner::Anyone, vec![note(&mut writer, 1, "small")]).await.unwrap().accepted, 1);
}
