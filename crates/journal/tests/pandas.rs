//! Outside check: what pandas reads from the files of a log, cell by cell, and what it writes back.
//!
//! Source: `scripts/log_pandas.py` (pandas 3.1.1), which reads `pandas/log.csv` and `pandas/log.jsonl` and stores what it saw in
//! `pandas/read.json` and the table as pandas itself writes it in `pandas/written.csv`. The test writes the same log anew, compares
//! the two files byte by byte with those that pandas was given, and all numbers and texts without tolerance.

use std::path::{Path, PathBuf};

use goldward_journal::body::Deleted;
use goldward_journal::*;
use serde_json::Value;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/pandas")
}

fn file(name: &str) -> String {
    std::fs::read_to_string(folder().join(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
}

/// One record of every kind, with texts and numbers that tables stumble over.
fn log() -> Log {
    let mut writer = Writer::new(Uuid::from_u128(0x0189_0a5d_ac96_774b_bcce_b302_099a_8057), Uuid::from_u128(77));
    let texts = [
        "Ilse",
        "",
        "NA",
        "nan",
        "None",
        "true",
        "007",
        "1e5",
        "=1+1",
        "\\x",
        "-5",
        " spaces ",
        "a,b;\"c\"",
        "two\nlines",
        "of\r\nWindows",
        "\u{1f3af} é \u{feff}ß",
        "tab\there",
    ];
    let numbers = [0.1 + 0.2, -0.0, 1e-300, 70.0, 89_999.999_999_999_99, -1.0 / 3.0, 123_456.789e-7];
    let session = id::new_id(1_700_000_000_000, [1; 10]);
    let mut bodies = vec![
        Body::Archer(Archer { name: "Ilse".to_owned(), hand: Some(Hand::Left), counted: None }),
        Body::Kit(Box::new(Kit {
            name: "recurve".to_owned(),
            shaft_mm: Some(5.5),
            windage_grows_right: Some(false),
            elevation_grows_up: Some(true),
            elevation_reading: Some(53.25),
            verified_at_ms: Some(1_700_000_000_001),
            ..Kit::default()
        })),
        Body::Arrow(Arrow { kit: session, name: "12".to_owned(), retired: true }),
        Body::Mark(Mark {
            kit: session,
            distance_m: 54.864,
            elevation_reading: 0.1,
            windage_reading: None,
            reading_sd: Some(0.2),
            proven: Proven::Shot,
            at_ms: 3,
            slope_deg: Some(-4.5),
            arrows: None,
        }),
        Body::Session(Session {
            at_ms: 253_402_300_799_999,
            distance_m: 70.0,
            face: "122".to_owned(),
            round: Some("1440".to_owned()),
            kit: Some(session),
            mark: None,
            sighting_ends: 1,
            ends: 12,
            shots_per_end: 6,
            proven: Some(Proven::Guessed),
            match_by: None,
            opponent_arrow: None,
        }),
        Body::End(End { session, end: 1, at_ms: None, card_points: Some(57), their_points: None, nearer: None }),
        Body::Shot(Shot {
            session,
            end: 1,
            index: 7,
            x_mm: None,
            y_mm: None,
            call: Some("9@4:30".to_owned()),
            felt: Some(Felt::Bad),
            arrow: Some("3".to_owned()),
            spot: None,
            at_ms: None,
        }),
        Body::Touch(Touch {
            session,
            after_end: 0,
            after_index: 0,
            right_mm: -0.1,
            up_mm: 0.30000000000000004,
            advised_right_mm: None,
            advised_up_mm: Some(0.3),
            at_ms: Some(9),
        }),
        Body::Score(Score {
            at_ms: 1,
            distance_m: 18.0,
            face: "40".to_owned(),
            shots: 60,
            points: 571,
            round: None,
            kit: None,
        }),
        Body::Deleted(Deleted { was: Kind::Shot }),
        Body::Later { schema: 4, body: serde_json::json!({ "wind": { "b": "x,\"y\"", "a": [0.1, null, true] } }) },
    ];
    bodies.extend(
        texts.map(|t| Body::Note(Note { about: Some(session), text: t.to_owned(), at_ms: 1, ..Note::default() })),
    );
    bodies.extend(numbers.iter().zip(1..).map(|(x, index)| {
        Body::Shot(Shot {
            session,
            end: 2,
            index,
            x_mm: Some(*x),
            y_mm: Some(-x),
            call: None,
            felt: None,
            arrow: None,
            spot: None,
            at_ms: Some(9),
        })
    }));
    let records = bodies.into_iter().zip(0u8..).map(|(body, n)| {
        let at_ms = 1_700_000_000_000 + u64::from(n);
        writer.write(at_ms, [n; 10], body)
    });
    Log::from_records(records)
}

/// When the format changes on purpose: rename what this leaves beside the files, and run the script.
#[test]
fn the_files_are_those_that_pandas_was_given() {
    for (name, text) in [("log.csv", table::write(&log())), ("log.jsonl", jsonl::write(&log()))] {
        if std::fs::read_to_string(folder().join(name)).ok().as_ref() != Some(&text) {
            std::fs::write(folder().join(format!("{name}.new")), text).unwrap();
            panic!("{name} is not what is written now: see {name}.new");
        }
    }
}

#[test]
fn pandas_reads_every_cell_as_it_was_written() {
    let read: Value = serde_json::from_str(&file("read.json")).unwrap();
    let log = log();
    let records = log.sorted();
    for source in ["csv", "jsonl"] {
        let rows = read[source].as_array().unwrap();
        assert_eq!(rows.len(), records.len(), "{source}");
        let mut cells = 0;
        for (row, record) in rows.iter().zip(&records) {
            let wire: Value = serde_json::from_str(&record.to_json()).unwrap();
            let body = wire["body"].as_object().unwrap().values().next().unwrap();
            let mut seen = row.as_object().unwrap().clone();
            let mut check = |name: &str, want: &Value| {
                cells += 1;
                let got = seen.remove(name).unwrap_or_else(|| panic!("{source}, {}: no {name}", record.id));
                let same = match (got.as_f64(), want.as_f64()) {
                    // Bit by bit, the sign of zero too.
                    (Some(got), Some(want)) => got.to_bits() == want.to_bits(),
                    _ => got == *want,
                };
                assert!(same, "{source}, {}, {name}: {got} for {want}", record.id);
            };
            for name in ["schema", "id", "archer"] {
                check(name, &wire[name]);
            }
            for name in ["ms", "counter", "device"] {
                check(name, &wire["stamp"][name]);
            }
            check("kind", &Value::from(record.body.kind().name()));
            if let Body::Later { body, .. } = &record.body {
                check("later_json", &Value::from(body.to_string()));
            } else {
                for (name, value) in body.as_object().unwrap() {
                    check(name, value);
                }
            }
            assert!(seen.is_empty(), "{source}, {}: {seen:?} was not written", record.id);
        }
        assert!(cells > 300, "only {cells} cells");
    }
}

#[test]
fn what_pandas_writes_back_is_the_same_log() {
    let back = table::read(&file("written.csv")).unwrap();
    assert_eq!(jsonl::write(&back), jsonl::write(&log()));
}
