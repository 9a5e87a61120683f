//! What a club has in a store, on both backends: newcomers by a link, groups, notes, and those under age.

#[path = "common/postgres.rs"]
mod postgres;

use goldward_journal::{Body, Note, Record, Stamp, Uuid, id::new_id};
use goldward_store::guardian::{Agree, MinorSet, NameGuardian, Named, SetManager, SetMinor, StandingOf, Unguarded};
use goldward_store::notes::{MOST_NOTES_EACH, Notes, ReadNote, RemoveNote, WriteNote};
use goldward_store::ops::{EraseLog, Exchange, Logs, Owner, Quota, Version};
use goldward_store::roster::{Roster, SetGroups};
use goldward_store::signup::{CloseSignup, OpenSignup, OpenedSignup, SignUp, Signup};
use goldward_store::trail::Trail;
use goldward_store::who::*;
use goldward_store::{Backend as _, Place, Store, StoreError};

const ANNA: Uuid = Uuid::from_u128(11);
const BEN: Uuid = Uuid::from_u128(12);
const CARLA: Uuid = Uuid::from_u128(13);
const LOG: Uuid = Uuid::from_u128(1);

/// An id that nothing else has.
fn fresh() -> Uuid {
    use std::sync::atomic::{AtomicU64, Ordering};
    static LAST: AtomicU64 = AtomicU64::new(0);
    Uuid::from_u128(0xf7e5_0000 + u128::from(LAST.fetch_add(1, Ordering::Relaxed)))
}

fn account(id: Uuid, name: &str) -> Account {
    Account { id, name: name.to_owned(), password: "x".to_owned() }
}

async fn push(store: &Store, owner: Uuid) -> Result<u64, StoreError> {
    let stamp = Stamp { ms: 1, counter: 0, device: Uuid::from_u128(9) };
    let body = Body::Note(Note { about: None, text: "a record".to_owned(), at_ms: 1, ..Note::default() });
    let records = vec![Version::from(&Record::new(LOG, new_id(1, [1; 10]), stamp, body))];
    let op = Exchange { archer: LOG, owner: Owner::Account(owner), records, after: 0, limit: 9, quota: Quota::NONE };
    store.run(op).await.map(|done| done.accepted)
}

/// Coaches the log from now on; returns whether a guardian has to agree first.
async fn coaches(store: &Store, account: Uuid, writes: bool) -> bool {
    let hash = [u8::try_from(fresh().as_u128() & 0xff).unwrap(); 32];
    let invitation = Invitation { id: fresh(), writes, made_ms: 1, expires_ms: 100 };
    store.run(Invite { archer: LOG, hash, invitation }).await.unwrap();
    let op = Accept { hash, account, now_ms: 2, entries: [fresh(), fresh(), fresh()] };
    store.run(op).await.unwrap().unwrap().waits
}

async fn access(store: &Store, account: Uuid) -> Access {
    store.run(AskAccess { account, archer: LOG }).await.unwrap().access
}

async fn listed(store: &Store, account: Uuid) -> Vec<(bool, bool)> {
    let logs = store.run(Logs { owner: Owner::Account(account) }).await.unwrap();
    logs.iter().map(|l| (l.owner == Some(account), l.writes)).collect()
}

async fn told(store: &Store, account: Uuid) -> Vec<(String, String)> {
    store.run(Trail(account)).await.unwrap().into_iter().map(|e| (e.what, e.about)).collect()
}

async fn scenario(place: &Place) {
    let store = Store::open(place).await.unwrap();
    newcomers(&store).await;
    for id in [ANNA, BEN, CARLA] {
        let name = ["anna", "ben", "carla"][id.as_u128() as usize - 11];
        store.run(AddAccount { account: account(id, name), give: Vec::new() }).await.unwrap();
    }
    assert_eq!(push(&store, ANNA).await, Ok(1));
    groups_and_notes(&store).await;
    under_age(&store).await;
    assert_eq!(store.integrity().await.unwrap(), Vec::<String>::new());
}

async fn newcomers(store: &Store) {
    let secretary = fresh();
    store.run(AddAccount { account: account(secretary, "Olga"), give: Vec::new() }).await.unwrap();
    let opened = async |hash, now_ms| store.run(OpenedSignup { now_ms, hash }).await.unwrap();
    let signs_up = async |hash, name: &str, now_ms| {
        let op = SignUp { hash, account: account(fresh(), name), minor: false, now_ms, entries: [fresh(), fresh()] };
        store.run(op).await
    };
    assert_eq!((opened(None, 1).await, signs_up([1; 32], "paul", 1).await), (None, Ok(false)), "it is off at first");
    let signup = Signup { made_ms: 1, expires_ms: 100, room: 2 };
    store.run(OpenSignup { hash: [1; 32], signup, by: Some(secretary) }).await.unwrap();
    assert_eq!((opened(None, 99).await, opened(Some([1; 32]), 99).await), (Some(signup), Some(signup)));
    assert_eq!((opened(None, 100).await, opened(Some([2; 32]), 9).await), (None, None));
    // Another link, one that has ended, a name that is taken: no account, and no room lost.
    assert_eq!(signs_up([2; 32], "paul", 5).await, Ok(false));
    assert_eq!(signs_up([1; 32], "paul", 100).await, Ok(false));
    assert_eq!(signs_up([1; 32], "OLGA", 5).await, Err(StoreError::NameTaken));
    assert_eq!(opened(None, 5).await, Some(signup));
    assert_eq!(signs_up([1; 32], "paul", 5).await, Ok(true));
    // Of two at once for the last place one comes in.
    let (one, two) = tokio::join!(signs_up([1; 32], "quinn", 5), signs_up([1; 32], "rosa", 5));
    assert_eq!(one.unwrap() as u8 + two.unwrap() as u8, 1);
    assert_eq!((opened(None, 5).await, signs_up([1; 32], "sven", 5).await), (None, Ok(false)), "it is full");
    let newcomers: Vec<String> = told(store, secretary).await.into_iter().map(|(what, _)| what).collect();
    assert_eq!(newcomers, ["newcomer", "newcomer"]);
    let paul = store.run(FindAccount("paul".to_owned())).await.unwrap().unwrap();
    assert_eq!(told(store, paul.id).await, [("signed_up".to_owned(), String::new())]);
    // A later link replaces it; off is off.
    let more = Signup { room: 5, ..signup };
    store.run(OpenSignup { hash: [3; 32], signup: more, by: None }).await.unwrap();
    assert_eq!((opened(Some([1; 32]), 5).await, opened(Some([3; 32]), 5).await), (None, Some(more)));
    assert_eq!((store.run(CloseSignup).await, store.run(CloseSignup).await), (Ok(true), Ok(false)));
    assert_eq!(signs_up([3; 32], "sven", 5).await, Ok(false));
}

async fn groups_and_notes(store: &Store) {
    let set = async |account, groups: &str| {
        store.run(SetGroups { account, archer: LOG, groups: groups.to_owned() }).await.unwrap()
    };
    let writes = async |author, text: &str| {
        let (id, text) = (fresh(), text.to_owned());
        let op = WriteNote { archer: LOG, author, id, now_ms: 5, text, entries: [fresh(), fresh()] };
        store.run(op).await.map(|done| done.then_some(id))
    };
    assert!(!set(BEN, "juniors").await, "he does not see it");
    assert_eq!(writes(BEN, "hello").await, Ok(None));
    assert_eq!(writes(ANNA, "hello").await, Ok(None), "nobody writes to oneself");
    assert!(!coaches(store, BEN, false).await);
    // Each account has its own words.
    assert!(set(BEN, "juniors\nTuesday").await && set(ANNA, "me").await && set(BEN, "juniors").await);
    assert_eq!(store.run(Roster(BEN)).await.unwrap(), [(LOG, "juniors".to_owned())]);
    assert_eq!(store.run(Roster(CARLA)).await, Ok(Vec::new()));
    let first = writes(BEN, "Keep the \u{1f3af}\nin view").await.unwrap().unwrap();
    let logs = store.run(Logs { owner: Owner::Account(ANNA) }).await.unwrap();
    assert_eq!((logs[0].unread, logs[0].owner_name.as_deref()), (1, Some("anna")));
    coaches(store, CARLA, false).await;
    let second = writes(CARLA, "Well shot").await.unwrap().unwrap();
    let notes = async |author| -> Vec<(String, u64)> {
        let notes = store.run(Notes { archer: LOG, author }).await.unwrap();
        notes.into_iter().map(|n| (n.name, n.read_ms)).collect()
    };
    assert_eq!(notes(None).await.len(), 2);
    assert_eq!(notes(Some(CARLA)).await, [("carla".to_owned(), 0)], "a coach sees their own");
    let read = async |note, now_ms| store.run(ReadNote { archer: LOG, note, now_ms }).await;
    assert_eq!((read(second, 7).await, read(second, 9).await, read(fresh(), 9).await), (Ok(true), Ok(true), Ok(false)));
    assert_eq!(notes(Some(CARLA)).await, [("carla".to_owned(), 7)], "the first time counts");
    let remove = async |note, author| store.run(RemoveNote { archer: LOG, note, author }).await;
    assert_eq!((remove(first, Some(CARLA)).await, remove(first, Some(BEN)).await), (Ok(false), Ok(true)));
    assert_eq!(remove(second, None).await, Ok(true), "her archer removes it");
    assert!(told(store, ANNA).await.contains(&("note_came".to_owned(), "ben".to_owned())));
    assert!(told(store, BEN).await.contains(&("note_sent".to_owned(), LOG.to_string())));
    for _ in 0..MOST_NOTES_EACH {
        assert!(writes(BEN, "x").await.unwrap().is_some());
    }
    assert!(matches!(writes(BEN, "x").await, Err(StoreError::Quota { .. })));
    assert!(writes(CARLA, "x").await.unwrap().is_some(), "that is nothing to others");
    // What was revoked: the notes stay with the archer, the words go.
    store.run(RevokeCoach { archer: LOG, account: BEN }).await.unwrap();
    assert_eq!(store.run(Roster(BEN)).await, Ok(Vec::new()));
    assert_eq!(notes(Some(BEN)).await.len() as u64, MOST_NOTES_EACH);
    assert_eq!(writes(BEN, "x").await, Ok(None));
    // Who is removed takes along what they wrote.
    store.run(RemoveAccount { account: BEN, logs: LogsOf::Keep, now_ms: 6 }).await.unwrap();
    assert_eq!(notes(None).await, [("carla".to_owned(), 0)]);
    store.run(AddAccount { account: account(BEN, "ben"), give: Vec::new() }).await.unwrap();
    store.run(RevokeCoach { archer: LOG, account: CARLA }).await.unwrap();
}

async fn under_age(store: &Store) {
    let sets = async |account, minor, guardian| {
        store.run(SetMinor { account, minor, guardian, now_ms: 5, entries: [fresh(), fresh()] }).await.unwrap()
    };
    let parent = fresh();
    store.run(AddAccount { account: account(parent, "paula"), give: Vec::new() }).await.unwrap();
    // Who reads already sees nothing until the guardian agrees.
    assert!(!coaches(store, BEN, true).await);
    assert_eq!(access(store, BEN).await, Access::Writer);
    assert_eq!(sets(ANNA, true, Some(ANNA)).await, MinorSet::NoGuardian);
    assert_eq!(sets(ANNA, true, Some(fresh())).await, MinorSet::NoGuardian);
    assert_eq!(access(store, BEN).await, Access::Writer, "nothing was done");
    assert_eq!(sets(ANNA, true, Some(parent)).await, MinorSet::Done);
    assert_eq!((access(store, BEN).await, listed(store, BEN).await), (Access::None, Vec::new()));
    assert_eq!(push(store, BEN).await, Err(StoreError::NotYours));
    assert_eq!(push(store, ANNA).await, Ok(0), "her own is as it was");
    assert_eq!((access(store, parent).await, listed(store, parent).await), (Access::Guardian, vec![(false, false)]));
    assert_eq!(push(store, parent).await, Err(StoreError::NotYours), "a guardian reads");
    let anna = store.run(StandingOf(ANNA)).await.unwrap().unwrap();
    assert_eq!((anna.minor, anna.guardian), (true, Some((parent, "paula".to_owned()))));
    assert_eq!(store.run(StandingOf(parent)).await.unwrap().unwrap().guards, [(ANNA, "anna".to_owned())]);
    assert!(told(store, ANNA).await.contains(&("guardian_set".to_owned(), "paula".to_owned())));
    // Nobody under age is a guardian, and no guardian is under age.
    assert_eq!(sets(CARLA, true, Some(ANNA)).await, MinorSet::NoGuardian);
    assert_eq!(sets(parent, true, Some(CARLA)).await, MinorSet::Guards);
    let agrees = async |guardian, coach| store.run(Agree { archer: LOG, coach, guardian }).await;
    for nobody in [ANNA, BEN, CARLA] {
        assert_eq!(agrees(nobody, BEN).await, Ok(false));
    }
    assert_eq!((agrees(parent, BEN).await, agrees(parent, BEN).await), (Ok(true), Ok(false)));
    assert_eq!(access(store, BEN).await, Access::Writer);
    // A new coach waits; one who was agreed to for reading waits again before writing.
    assert!(coaches(store, CARLA, false).await);
    assert_eq!(access(store, CARLA).await, Access::None);
    assert!(told(store, parent).await.contains(&("consent_asked".to_owned(), "carla".to_owned())));
    assert_eq!(agrees(parent, CARLA).await, Ok(true));
    assert!(!coaches(store, CARLA, false).await, "nothing more was asked for");
    assert!(coaches(store, CARLA, true).await);
    assert_eq!(access(store, CARLA).await, Access::None);
    // A guardian who coaches too decides still.
    assert!(coaches(store, parent, false).await);
    assert_eq!(agrees(parent, parent).await, Ok(true));
    let sight = store.run(AskAccess { account: parent, archer: LOG }).await.unwrap();
    assert_eq!((sight.access, sight.guards), (Access::Coach, true));
    // Without a guardian everything new waits; what was agreed to stays.
    store.run(RemoveAccount { account: parent, logs: LogsOf::Keep, now_ms: 6 }).await.unwrap();
    let anna = store.run(StandingOf(ANNA)).await.unwrap().unwrap();
    assert_eq!((anna.minor, anna.guardian), (true, None));
    assert_eq!((access(store, BEN).await, access(store, CARLA).await), (Access::Writer, Access::None));
    // Whoever looks after the server names one where there is none, and nobody else anew.
    assert_eq!(store.run(Unguarded).await.unwrap(), [(ANNA, "anna".to_owned())]);
    let names = async |account, guardian: &str, by| {
        let entries = [fresh(), fresh(), fresh()];
        store.run(NameGuardian { account, guardian: guardian.to_owned(), by, now_ms: 7, entries }).await.unwrap()
    };
    let olga = store.run(FindAccount("olga".to_owned())).await.unwrap().unwrap().id;
    assert_eq!(names(ANNA, "Olga", olga).await, Named::NoGuardian, "not whoever names");
    assert_eq!(names(ANNA, "nobody", olga).await, Named::NoGuardian);
    assert_eq!(names(BEN, "carla", olga).await, Named::NotWaiting, "of age");
    assert_eq!(names(ANNA, "CARLA", olga).await, Named::Done);
    assert_eq!(names(ANNA, "quinn", olga).await, Named::NotWaiting, "there is one");
    assert_eq!((store.run(Unguarded).await.unwrap(), access(store, CARLA).await), (Vec::new(), Access::Guardian));
    assert!(told(store, olga).await.contains(&("guardian_named".to_owned(), "anna".to_owned())));
    assert!(told(store, ANNA).await.contains(&("guardian_set".to_owned(), "carla".to_owned())));
    assert!(told(store, CARLA).await.contains(&("guardian_of".to_owned(), "anna".to_owned())));
    // Of age: what nobody agreed to is gone and is asked for anew.
    assert_eq!(sets(ANNA, false, None).await, MinorSet::Done);
    let there: Vec<Uuid> = store.run(Coaches(LOG)).await.unwrap().into_iter().map(|c| c.account).collect();
    assert_eq!(there, [BEN]);
    assert!(!coaches(store, CARLA, false).await);
    store.run(SetManager { account: CARLA, manages: true }).await.unwrap();
    assert!(store.run(StandingOf(CARLA)).await.unwrap().unwrap().manages);
    assert_eq!(store.run(SetManager { account: fresh(), manages: true }).await, Err(StoreError::NotYours));
    // With the log everything about it is gone.
    store.run(SetGroups { account: CARLA, archer: LOG, groups: "old".to_owned() }).await.unwrap();
    store.run(EraseLog { archer: LOG, owner: Owner::Account(ANNA), now_ms: 9 }).await.unwrap();
    assert_eq!(store.run(Roster(CARLA)).await, Ok(Vec::new()));
    assert_eq!(store.run(Notes { archer: LOG, author: None }).await, Ok(Vec::new()));
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
