//! How fast a server takes in and hands out a log of 100 000 shots, how long 200 devices wait that sync at once, and how many of the
//! records that were acknowledged are lost when the server is killed. `cargo xtask bench` runs it; `--json` prints an object for it,
//! `--kills` measures the last alone.

#[path = "../tests/common/mod.rs"]
mod common;
#[path = "../tests/common/load.rs"]
mod load;
#[path = "../../store/tests/common/postgres.rs"]
mod postgres;
#[path = "../tests/common/storm.rs"]
mod storm;

use std::io::Write as _;
use std::time::Duration;

use load::{Size, Took, load};

const SIZE: Size = Size { shots: 100_000, devices: 200, rounds: 10, breath: Duration::from_secs(1) };

/// How often a server is killed.
const KILLS: u32 = 50;

fn main() {
    storm::be_the_server();
    let folder = tempfile::tempdir().unwrap();
    let mut measured = serde_json::Map::new();
    let file = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let all = !std::env::args().any(|a| a == "--kills");
    let measure = |loaded: &str, killed: &str| if all { object(loaded, killed) } else { kills(killed) };
    measured.insert("sqlite".to_owned(), measure(&file("load.db"), &file("kill.db")));
    // Each on a server of its own, whose database is empty.
    if let (Some(one), Some(other)) = (postgres::Postgres::start(), postgres::Postgres::start()) {
        measured.insert("postgres".to_owned(), measure(&one.address(), &other.address()));
    }
    let mut out = std::io::stdout().lock();
    if std::env::args().any(|a| a == "--json") {
        writeln!(out, "{}", serde_json::Value::Object(measured)).unwrap();
        return;
    }
    for (store, times) in measured {
        writeln!(out, "{store}").unwrap();
        for (what, seconds) in times.as_object().unwrap() {
            if what.ends_with("_s") {
                writeln!(out, "  {what:<34} {:>10.1} ms", seconds.as_f64().unwrap() * 1000.0).unwrap();
            } else {
                writeln!(out, "  {what:<34} {seconds:>10}").unwrap();
            }
        }
    }
}

fn object(loaded: &str, killed: &str) -> serde_json::Value {
    let took: Took = load(loaded, SIZE);
    let part = |share: usize| took.requests[took.requests.len() * share / 100].as_secs_f64();
    let mut measured = serde_json::json!({
        "push_100k_s": took.push.as_secs_f64(),
        "pull_100k_s": took.pull.as_secs_f64(),
        "open_and_read_session_s": took.open.as_secs_f64(),
        "devices_200_median_s": part(50),
        "devices_200_p99_s": part(99),
    });
    if let (Some(all), Some(kills)) = (measured.as_object_mut(), kills(killed).as_object()) {
        all.extend(kills.clone());
    }
    measured
}

fn kills(killed: &str) -> serde_json::Value {
    let told = storm::storm(killed, KILLS, &[]);
    serde_json::json!({ "kills": told.kills, "acknowledged": told.acknowledged, "lost": told.lost })
}
