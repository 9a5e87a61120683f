//! The file of a store: for its owner only, and read where it cannot be written.
#![cfg(unix)]

use std::os::unix::fs::PermissionsExt as _;
use std::path::Path;

use goldward_journal::{Body, Note, Record, Stamp, Uuid, id::new_id};
use goldward_store::ops::{Exchange, Owner, Pull, Quota, Version};
use goldward_store::{Backend as _, Place, Sqlite, Store, StoreError};

fn mode(path: &Path) -> u32 {
    std::fs::metadata(path).unwrap().permissions().mode() & 0o777
}

async fn filled(path: &Path) -> Store {
    let store = Store::open(&Place::File(path.to_owned())).await.unwrap();
    let archer = Uuid::from_u128(1);
    let stamp = Stamp { ms: 1, counter: 0, device: Uuid::from_u128(9) };
    let body = Body::Note(Note { about: None, text: "kept".to_owned(), at_ms: 1, ..Note::default() });
    let records = vec![Version::from(&Record::new(archer, new_id(1, [1; 10]), stamp, body))];
    let op = Exchange { archer, owner: Owner::Anyone, records, after: 0, limit: 0, quota: Quota::NONE };
    store.run(op).await.unwrap();
    store
}

#[tokio::test]
async fn a_store_and_its_copy_are_for_their_owner_only() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.db");
    let store = filled(&path).await;
    for suffix in ["", "-wal", "-shm"] {
        assert_eq!(mode(&folder.path().join(format!("log.db{suffix}"))), 0o600, "{suffix}");
    }
    let copy = folder.path().join("copy.db");
    store.backup(&copy).await.unwrap();
    assert_eq!(mode(&copy), 0o600);
    // One that everybody could read no longer is; what its owner has given to a group stays.
    drop(store);
    for (was, is) in [(0o644, 0o640), (0o660, 0o660)] {
        std::fs::set_permissions(&path, std::fs::Permissions::from_mode(was)).unwrap();
        drop(Store::open(&Place::File(path.clone())).await.unwrap());
        assert_eq!(mode(&path), is);
    }
}

#[tokio::test]
async fn a_store_that_is_only_read_gives_everything_and_takes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("odd name %41 ?#.db");
    drop(filled(&path).await);
    let before = std::fs::read(&path).unwrap();
    // As where neither the file nor its folder can be written: what the system refuses, this way of opening never asks for.
    let store = Store::Sqlite(Sqlite::open_to_read(&path).await.unwrap());
    let pull = || Pull { archer: Uuid::from_u128(1), after: 0, limit: 10 };
    assert_eq!(store.run(pull()).await.unwrap().json.len(), 1);
    assert_eq!(store.integrity().await.unwrap(), Vec::<String>::new());
    let op = goldward_store::ops::Probe { now_ms: 1 };
    assert_eq!(store.run(op).await, Err(StoreError::ReadOnly));
    store.backup(&folder.path().join("copy.db")).await.unwrap();
    drop(store);
    assert!(std::fs::read(&path).unwrap() == before);
    let missing = Store::open_to_read(&Place::File(folder.path().join("none.db"))).await.unwrap_err();
    assert!(matches!(missing, StoreError::CannotOpen(_)));
    assert!(!folder.path().join("none.db").exists(), "nothing is made");
}
