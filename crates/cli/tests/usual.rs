//! `goldward usual`: a club's document from logs of archers who agree, and readings that start from it.

mod common;

use common::{Outcome, run, run_with, writing};
use goldward_core::random::Random;
use goldward_journal::{Archer, Body, Kit, Log, Session, Shot, Uuid, Writer, id, jsonl};
use serde_json::Value;

/// `archers` of a club who all shoot a recurve at 70 m with a spread of about 2 mrad, two evenings each within the last year; those who agree
/// come first.
fn club(archers: u32, agree: u32) -> Log {
    let mut random = Random::seeded(8);
    let now = goldward::terminal::now_ms();
    let mut log = Log::new();
    let mut n = 0_u64;
    for a in 0..archers {
        let own = id::new_id(u64::from(a) + 1, [7; 10]);
        let mut writer = Writer::new(own, Uuid::from_u128(u128::from(a) + 1));
        let counted = (a < agree).then_some(true);
        log.insert(writer.write_archer(1, Archer { name: format!("Archer {a}"), hand: None, counted }));
        let mut write = writing(&mut log, &mut writer, &mut n);
        let (bow, level) = (Some("recurve".to_owned()), Some("club".to_owned()));
        let kit = write(Body::Kit(Box::new(Kit { name: "K".to_owned(), bow, level, ..Kit::default() })));
        let spread_mm = 140.0 * (0.25 * random.normal()).exp();
        for evening in 1..=2 {
            let session = write(Body::Session(Session {
                at_ms: now - evening * 86_400_000 * 7,
                distance_m: 70.0,
                face: "122".to_owned(),
                round: None,
                kit: Some(kit),
                mark: None,
                sighting_ends: 0,
                ends: 0,
                shots_per_end: 6,
                proven: None,
                match_by: None,
                opponent_arrow: None,
            }));
            for i in 0..36 {
                let (x, y) = random.normal_pair();
                write(Body::Shot(Shot {
                    session,
                    end: i / 6 + 1,
                    index: i % 6 + 1,
                    x_mm: Some((spread_mm * x).clamp(-600.0, 600.0)),
                    y_mm: Some((spread_mm * y).clamp(-600.0, 600.0)),
                    call: None,
                    felt: None,
                    arrow: None,
                    spot: None,
                    at_ms: None,
                }));
            }
        }
    }
    log
}

fn fine(outcome: Outcome) -> String {
    assert_eq!((outcome.code, outcome.err.as_str()), (0, ""), "{}", outcome.out);
    outcome.out
}

#[test]
fn a_club_makes_a_document_and_a_newcomer_starts_from_it() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (all, out) = (at("all.jsonl"), at("usual.json"));
    std::fs::write(&all, jsonl::write(&club(70, 60))).unwrap();
    let page = fine(run(&["usual", "--log", &all, "--out", &out]));
    assert!(page.contains("recurve, club archer, beyond 55 m") && page.contains("epsilon 2 "), "{page}");
    assert!(!page.contains("Archer ") && !page.contains("argued"), "{page}");
    let document = std::fs::read_to_string(&out).unwrap();
    let told: Value = serde_json::from_str(&document).unwrap();
    assert_eq!(told["cells"].as_array().unwrap().len(), 1);
    let cell = &told["cells"][0];
    // 60 archers and noise of 1 / 0.8, of which 20 is 12 standard deviations; 2 mrad and noise of 1.2 * 2 / 60.
    assert!((40..=80).contains(&cell["archers"].as_u64().unwrap()), "{cell}");
    assert!((1.5..2.7).contains(&cell["spread_mrad"].as_f64().unwrap()), "{cell}");
    // Numbers and the names of cells only: no id, name or time of anyone.
    let texts = document.matches('"').count() / 2;
    assert!(texts < 30 && !document.contains("Archer"), "{document}");
    // Shown again, and the same archers of two logs are counted once.
    let again = fine(run(&["usual", &out]));
    assert!(again.contains("recurve, club archer, beyond 55 m"), "{again}");
    let twice: Value = serde_json::from_str(&fine(run(&["usual", "--log", &all, "--log", &all, "--json"]))).unwrap();
    assert!(twice["cells"][0]["archers"].as_u64().unwrap() <= 80, "{twice}");

    // A newcomer of the club.
    let (csv, kit) = (at("first.csv"), at("kit.toml"));
    std::fs::write(&csv, "x_mm,y_mm\n-60,310\n-20,350\n-75,295\n").unwrap();
    std::fs::write(&kit, "bow = \"recurve\"\nlevel = \"club\"\n").unwrap();
    let read =
        |more: &[&str]| fine(run(&[&["read", &csv, "-d", "70", "-f", "122", "-k", &kit, "--json"], more].concat()));
    assert_ne!(read(&[]), read(&["--usual", &out]));
    // What the archer tells stands above it but for how shots go astray: the level alone changes nothing then.
    let own = ["--spread", "2.5mrad", "--worth", "9"];
    let spread = |text: &str| serde_json::from_str::<Value>(text).unwrap()["spread_cov_mm2"].clone();
    assert!(spread(&read(&own)).is_array());
    assert_ne!(spread(&read(&own)), spread(&read(&[])));
    // A beginner starts wider without any document.
    std::fs::write(&kit, "level = \"beginner\"\n").unwrap();
    let beginner = read(&[]);
    std::fs::write(&kit, "spread_mrad = 5\n").unwrap();
    assert_eq!(beginner, read(&[]), "five milliradians, as the table has it");
}

#[test]
fn who_does_not_agree_or_is_under_age_is_not_counted() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (all, db) = (at("all.jsonl"), at("club.db"));
    std::fs::write(&all, jsonl::write(&club(60, 0))).unwrap();
    let page = fine(run(&["usual", "--log", &all]));
    assert!(page.contains("No kind of bow") && page.contains("20 at least"), "{page}");
    let log = club(60, 60);
    std::fs::write(&all, jsonl::write(&log)).unwrap();
    fine(run(&["log", "import", &all, "--db", &db]));
    let cells = |db: &str| {
        let told: Value = serde_json::from_str(&fine(run(&["usual", "--log", db, "--json"]))).unwrap();
        told["cells"].as_array().unwrap().len()
    };
    assert_eq!(cells(&db), 1);
    fine(run_with(&["accounts", "add", "anna", "--db", &db], b"correct horse battery\n"));
    for archer in log.archers() {
        fine(run(&["accounts", "give-log", "anna", &archer.to_string(), "--db", &db]));
    }
    assert_eq!(cells(&db), 1, "of age");
    fine(run(&["accounts", "guardian", "anna", "--db", &db]));
    assert_eq!(cells(&db), 0, "under age");
}

#[test]
fn what_is_wrong_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("usual.json").to_str().unwrap().to_owned();
    let refused = |args: &[&str], code: u8, what: &str| {
        let got = run(args);
        assert!(got.code == code && got.err.contains(what), "{args:?}: {} {}", got.code, got.err);
    };
    std::fs::write(&path, "{}").unwrap();
    refused(&["usual", &path], 1, "missing field");
    refused(&["usual", "--json"], 2, "no document");
    refused(&["usual", "--log", "x.db", "--epsilon", "9"], 2, "between 0.1 and 8");
    refused(&["usual", "--out", &path], 2, "--log");
    refused(&["read", "x.csv", "-d", "70", "-f", "122", "--usual", &path], 1, "missing field");
    let shipped = fine(run(&["usual"]));
    assert!(shipped.contains("argued, no source") && shipped.contains("barebow"), "{shipped}");
}
