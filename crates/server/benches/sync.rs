//! How fast a server takes in and hands out a log of 100 000 shots, and how long 200 devices wait that sync at once. `cargo xtask
//! bench` runs it; `--json` prints an object for it.

#[path = "../tests/common/mod.rs"]
mod common;
#[path = "../tests/common/load.rs"]
mod load;
#[path = "../../store/tests/common/postgres.rs"]
mod postgres;

use std::io::Write as _;
use std::time::Duration;

use load::{Size, Took, load};

const SIZE: Size = Size { shots: 100_000, devices: 200, rounds: 10, breath: Duration::from_secs(1) };

fn main() {
    let folder = tempfile::tempdir().unwrap();
    let mut measured = serde_json::Map::new();
    measured.insert("sqlite".to_owned(), object(&load(folder.path().join("log.db").to_str().unwrap(), SIZE)));
    if let Some(server) = postgres::Postgres::start() {
        measured.insert("postgres".to_owned(), object(&load(&server.address(), SIZE)));
    }
    let mut out = std::io::stdout().lock();
    if std::env::args().any(|a| a == "--json") {
        writeln!(out, "{}", serde_json::Value::Object(measured)).unwrap();
        return;
    }
    for (store, times) in measured {
        writeln!(out, "{store}").unwrap();
        for (what, seconds) in times.as_object().unwrap() {
            writeln!(out, "  {what:<34} {:>10.1} ms", seconds.as_f64().unwrap() * 1000.0).unwrap();
        }
    }
}

fn object(took: &Took) -> serde_json::Value {
    let part = |share: usize| took.requests[took.requests.len() * share / 100].as_secs_f64();
    serde_json::json!({
        "push_100k_s": took.push.as_secs_f64(),
        "pull_100k_s": took.pull.as_secs_f64(),
        "open_and_read_session_s": took.open.as_secs_f64(),
        "devices_200_median_s": part(50),
        "devices_200_p99_s": part(99),
    })
}
