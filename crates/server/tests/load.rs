//! Many devices at once: everything arrives, on both stores. How fast it is, `cargo xtask bench` says.

mod common;
#[path = "common/load.rs"]
mod load;
#[path = "../../store/tests/common/postgres.rs"]
mod postgres;

use std::time::Duration;

use load::{Size, load};

const SIZE: Size = Size { shots: 25_000, devices: 50, rounds: 4, breath: Duration::from_millis(20) };

fn check(place: &str) {
    assert_eq!(load(place, SIZE).requests.len(), 200);
}

#[test]
fn everything_arrives_on_sqlite() {
    let folder = tempfile::tempdir().unwrap();
    check(folder.path().join("log.db").to_str().unwrap());
}

#[test]
fn everything_arrives_on_postgres() {
    if let Some(server) = postgres::Postgres::start() {
        check(&server.address());
    }
}
