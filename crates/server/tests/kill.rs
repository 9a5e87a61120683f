//! `kill -9` in a write storm: what was acknowledged is there.

mod common;
#[path = "../../store/tests/common/postgres.rs"]
mod postgres;
#[path = "common/storm.rs"]
mod storm;

/// Not a test: the server that the tests start and kill. By itself it does nothing.
#[test]
fn the_server_to_be_killed() {
    storm::be_the_server();
}

fn check(place: &str, kills: u32) {
    let told = storm::storm(place, kills, &["the_server_to_be_killed", "--exact", "--nocapture"]);
    eprintln!("{told:?}");
    assert_eq!(told.lost, 0);
    assert!(told.acknowledged > kills as usize, "the storm was none");
}

#[test]
fn ten_kills_lose_nothing_on_sqlite() {
    let folder = tempfile::tempdir().unwrap();
    check(folder.path().join("log.db").to_str().unwrap(), 10);
}

#[test]
fn ten_kills_lose_nothing_on_postgres() {
    if let Some(server) = postgres::Postgres::start() {
        check(&server.address(), 10);
    }
}

#[test]
#[ignore = "slow: a step of its own"]
fn two_hundred_kills_lose_nothing_on_sqlite() {
    let folder = tempfile::tempdir().unwrap();
    check(folder.path().join("log.db").to_str().unwrap(), 200);
}

#[test]
#[ignore = "slow: a step of its own"]
fn two_hundred_kills_lose_nothing_on_postgres() {
    if let Some(server) = postgres::Postgres::start() {
        check(&server.address(), 200);
    }
}
