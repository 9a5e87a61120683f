//! `goldward log`, `goldward progress` and `goldward serve`, as a person would use them.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::path::Path;
use std::process::Stdio;

use assert_cmd::cargo::CommandCargoExt as _;

fn goldward(folder: &Path, args: &[&str]) -> (i32, String, String) {
    let mut command = std::process::Command::cargo_bin("goldward").unwrap();
    let out = command.args(args).current_dir(folder).stdin(Stdio::null()).output().unwrap();
    let text = |b: Vec<u8>| String::from_utf8(b).unwrap();
    (out.status.code().unwrap(), text(out.stdout), text(out.stderr))
}

fn demo(folder: &Path) {
    let log = goldward::log::demo::log(1_750_000_000_000);
    std::fs::write(folder.join("demo.jsonl"), goldward_journal::jsonl::write(&log)).unwrap();
}

#[test]
fn a_log_goes_in_and_comes_out_identically() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    demo(at);
    let (code, out, err) = goldward(at, &["log", "import", "demo.jsonl", "--json"]);
    assert_eq!((code, err.as_str()), (0, ""), "{out}");
    let (code, out, _) = goldward(at, &["log", "import", "demo.jsonl"]);
    assert!(code == 0 && out.contains(" 0 of them new"), "{out}");
    assert_eq!(goldward(at, &["log", "export", "--out", "out.jsonl"]).0, 0);
    let original = std::fs::read_to_string(at.join("demo.jsonl")).unwrap();
    assert_eq!(std::fs::read_to_string(at.join("out.jsonl")).unwrap(), original);
    // By way of CSV.
    assert_eq!(goldward(at, &["log", "export", "--out", "out.csv"]).0, 0);
    let (code, merged, _) = goldward(at, &["log", "merge", "out.csv", "demo.jsonl"]);
    assert_eq!(code, 0);
    assert_eq!(merged, original);
    let (code, out, _) = goldward(at, &["log", "check", "out.csv"]);
    assert!(code == 0 && out.contains("all is well"), "{out}");
    let (code, out, _) = goldward(at, &["log", "check", "--db", "goldward.db", "--json"]);
    assert!(code == 0 && out.contains("\"findings\":[]"), "{out}");
    assert_eq!(goldward(at, &["log", "backup", "copy.db"]).0, 0);
    let (code, _, err) = goldward(at, &["log", "backup", "copy.db"]);
    assert!(code == 1 && err.contains("exists already"), "{err}");
    assert_eq!(goldward(at, &["log", "export", "--db", "copy.db"]).1, original);
    let (code, out, _) = goldward(at, &["progress"]);
    assert!(code == 0 && out.contains("70 m") && out.contains("The spread has"), "{out}");
    let (code, out, _) = goldward(at, &["progress", "demo.jsonl", "--json"]);
    let object: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert_eq!((code, object["distances"][0]["sessions"].as_array().unwrap().len()), (0, 10));
    // What the moves of the sight gave: over the sessions, and in one of them.
    let season = &object["distances"][0]["moves"];
    let (moves, points) = (season["moves"].as_u64().unwrap(), season["gave"]["points"].as_f64().unwrap());
    assert!(moves > 0 && points > 0.0 && season["sessions"].as_u64().unwrap() <= moves, "{season}");
    let (code, out, _) = goldward(at, &["progress", "--session", "latest", "--language", "fr"]);
    assert!(code == 0 && out.contains("réglage du viseur") && out.contains("Goldward"), "{out}");
    let (_, out, _) = goldward(at, &["progress", "--session", "latest", "--json"]);
    let object: serde_json::Value = serde_json::from_str(&out).unwrap();
    let moves = &object["moves"];
    assert_eq!(moves["each"][0]["gave"], moves["gave"], "one move is all of them");
    assert!(moves["stretches"].as_array().unwrap().len() > 1 && moves["over_waiting_for_end"].is_null(), "{moves}");
    let (code, _, err) = goldward(at, &["progress", "--session", "first"]);
    assert!(code == 2 && err.contains("write latest"), "{err}");
    let (code, _, err) = goldward(at, &["progress", "--session", "01890a5d-ac96-774b-bcce-b302099a8057"]);
    assert!(code == 1 && err.contains("there is no session") && err.contains("--session"), "{err}");
}

#[test]
fn scores_and_shots_are_taken_over_once() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    std::fs::write(at.join("scores.csv"), "date,distance,face,shots,points\n2025-06-01,70,122,72,590\n").unwrap();
    std::fs::write(at.join("shots.csv"), "end,x_mm,y_mm,call,touch_up_mm\n1,10,-20,,\n1,,,9@3,0.2\n2,5,5,,\n").unwrap();
    let archer = "01890a5d-ac96-774b-bcce-b302099a8057";
    let (code, _, err) = goldward(at, &["log", "import", "scores.csv"]);
    assert!(code == 2 && err.contains("--archer"), "{err}");
    for _ in 0..2 {
        assert_eq!(goldward(at, &["log", "import", "scores.csv", "--archer", archer]).0, 0);
    }
    let shots = ["log", "import", "shots.csv", "--date", "2025-06-02", "--distance", "70", "--face", "122"];
    let (code, out, err) = goldward(at, &shots);
    assert!(code == 0 && out.contains("5 records read, 5 of them new"), "{out}{err}");
    let (_, out, _) = goldward(at, &["log", "check", "--db", "goldward.db"]);
    assert!(out.starts_with("6 records of 1 archer\n"), "{out}");
    std::fs::write(at.join("bad.jsonl"), "{\"format\":\"goldward-log\",\"schema\":1}\n{\"x\":1}\n").unwrap();
    let (code, _, err) = goldward(at, &["log", "import", "bad.jsonl"]);
    assert!(code == 1 && err.contains("line 2"), "{err}");
}

#[test]
fn the_server_starts_answers_and_stops_in_order() {
    let folder = tempfile::tempdir().unwrap();
    let mut command = std::process::Command::cargo_bin("goldward").unwrap();
    let mut child = command
        .args(["serve", "--demo", "--addr", "127.0.0.1:0"])
        .current_dir(folder.path())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut line = String::new();
    BufReader::new(child.stdout.as_mut().unwrap()).read_line(&mut line).unwrap();
    let addr = line.trim().strip_prefix("listening on http://").unwrap();
    let mut stream = std::net::TcpStream::connect(addr).unwrap();
    stream.write_all(b"GET /api/v1/logs HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n").unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    assert!(answer.starts_with("HTTP/1.1 200") && answer.contains("\"own\":true"), "{answer}");
    let asked = std::process::Command::new("kill").arg(child.id().to_string()).status().unwrap();
    assert!(asked.success());
    let mut log = String::new();
    child.stderr.as_mut().unwrap().read_to_string(&mut log).unwrap();
    assert_eq!(child.wait().unwrap().code(), Some(0), "{log}");
    assert!(log.lines().all(|l| serde_json::from_str::<serde_json::Value>(l).is_ok()), "{log}");
    assert!(log.contains("/api/v1/logs"), "{log}");
    let (code, _, err) = goldward(folder.path(), &["serve", "--addr", "0.0.0.0:0"]);
    assert!(code == 2 && err.contains("add one first"), "{err}");
}

#[test]
fn importing_a_table_again_brings_nothing_back_that_was_deleted_or_put_right() {
    use goldward_journal::{Body, Record, Uuid, Writer, jsonl};
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let table = "date,distance,face,shots,points\n2025-06-01,70,122,72,590\n2025-06-08,70,122,72,600\n2025-06-15,70,122,72,610\n";
    std::fs::write(at.join("scores.csv"), table).unwrap();
    let archer = "01890a5d-ac96-774b-bcce-b302099a8057";
    let import = ["log", "import", "scores.csv", "--archer", archer];
    assert_eq!(goldward(at, &import).0, 0);
    let text = goldward(at, &["log", "export"]).1;
    let log = jsonl::read(&text).unwrap();
    let scores: Vec<Record> = log.sorted().into_iter().cloned().collect();
    let mut writer = Writer::new(archer.parse().unwrap(), Uuid::from_u128(7));
    let gone = writer.delete(scores[0].stamp.ms, &scores[0]);
    let Body::Score(mut right) = scores[1].body.clone() else { panic!("{text}") };
    right.points = 601;
    let right = writer.edit(scores[1].stamp.ms, &scores[1], Body::Score(right));
    let edits = goldward_journal::Log::from_records([gone.clone(), right.clone()]);
    std::fs::write(at.join("edits.jsonl"), jsonl::write(&edits)).unwrap();
    assert_eq!(goldward(at, &["log", "import", "edits.jsonl"]).0, 0);
    let before = goldward(at, &["log", "export"]).1;
    // The same table with a new row: only that is taken over.
    std::fs::write(at.join("scores.csv"), format!("{table}2025-06-22,70,122,72,620\n")).unwrap();
    let (code, out, _) = goldward(at, &import);
    assert!(code == 0 && out.contains("4 records read, 1 of them new; 3 were taken over before"), "{out}");
    let after = jsonl::read(&goldward(at, &["log", "export"]).1).unwrap();
    assert_eq!(after.get(gone.archer, gone.id), Some(&gone));
    assert_eq!(after.get(right.archer, right.id), Some(&right));
    assert_eq!((after.len(), jsonl::read(&before).unwrap().len()), (4, 3));
}

#[test]
fn archers_who_share_ids_are_exported_merged_and_synced_apart() {
    use goldward_journal::body::Deleted;
    use goldward_journal::{Body, Kind, Log, Record, Uuid, jsonl};
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let own = goldward::log::demo::log(1_750_000_000_000);
    // Another archer writes tombstones with the ids of the first one's records into an own log, stamped later.
    let hostile = Log::from_records(own.records().map(|r| Record {
        archer: Uuid::from_u128(0xbad),
        stamp: goldward_journal::Stamp { ms: r.stamp.ms + 1000, ..r.stamp },
        body: Body::Deleted(Deleted { was: Kind::Shot }),
        ..r.clone()
    }));
    std::fs::write(at.join("own.jsonl"), jsonl::write(&own)).unwrap();
    std::fs::write(at.join("hostile.jsonl"), jsonl::write(&hostile)).unwrap();
    for file in ["own.jsonl", "hostile.jsonl"] {
        assert_eq!(goldward(at, &["log", "import", file]).0, 0);
    }
    let both = jsonl::write(&own.merge(&hostile));
    assert_eq!(goldward(at, &["log", "export"]).1, both);
    assert_eq!(goldward(at, &["log", "merge", "own.jsonl", "hostile.jsonl"]).1, both);
    let archer = goldward::log::demo::archer().to_string();
    assert_eq!(goldward(at, &["log", "export", "--archer", &archer]).1, jsonl::write(&own));
    let (code, out, _) = goldward(at, &["progress", "--archer", &archer, "--json"]);
    let object: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert_eq!((code, object["distances"][0]["sessions"].as_array().unwrap().len()), (0, 10));
}
