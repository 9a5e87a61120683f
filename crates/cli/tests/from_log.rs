//! Commands that take their sessions from a log.

mod common;
use common::{Outcome, run, writing};

use goldward_core::face::Face;
use goldward_core::flight::{Gust, Wind};
use goldward_core::pace::rehearsal::{Rehearsal, Rule};
use goldward_core::score::Scorer;
use goldward_core::units::Distance;
use goldward_report::item::Item;
use goldward_report::pages::{aids, marks, pace};
use goldward_report::teller::Teller;
use goldward_report::text::text;
use goldward_report::words::Language;
use goldward_session::asked::{Asked, rehearsed};
use goldward_session::log::{Which, archer_named, known, marks_of, read};
use goldward_session::marks::answer::next;
use goldward_session::marks::quantity::Range;
use goldward_session::pace::{Played, parts};
use goldward_session::settings::Wishes;

use goldward_journal::{Archer, Body, Kit, Log, Mark, Note, Proven, Session, Shot, Touch, Uuid, Writer, id, jsonl};

const CSV: &str = "end,arrow,x_mm,y_mm,call,felt,touch_up_mm\n1,4,-60,110,,,\n1,7,,,9@3,,\n1,5,12.3,180,,bad,0.4\n2,4,-75,-20,,good,\n";

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().unwrap()
}

fn fine(got: Outcome) -> String {
    assert_eq!((got.code, got.err.as_str()), (0, ""), "{got:?}");
    got.out
}

/// What stands in the last segment of a path.
fn at(home: &tempfile::TempDir, name: &str) -> String {
    home.path().join(name).display().to_string()
}

#[test]
fn a_file_and_the_log_it_went_into_are_read_alike() {
    let home = folder();
    let (csv, db) = (at(&home, "evening.csv"), at(&home, "logs.db"));
    std::fs::write(&csv, CSV).unwrap();
    let archer = "01890a5d-ac96-774b-bcce-b302099a8057";
    let session = ["--date", "2025-06-02", "--distance", "70", "--face", "122"];
    fine(run(&[["log", "import", &csv, "--db", &db, "--archer", archer].as_slice(), &session].concat()));
    let of_file = ["read", &csv, "--distance", "70", "--face", "122", "--left", "30"];
    let from_file = fine(run(&[of_file.as_slice(), &["--json"]].concat()));
    let from_log = fine(run(&["read", "--log", &db, "--left", "30", "--json"]));
    assert_eq!(from_log, from_file);
    // The page too: the words before the numbers, the numbers and the drawing.
    assert_eq!(fine(run(&["read", "--log", &db, "--session", "latest", "--left", "30"])), fine(run(&of_file)));
    // Without being told the log counts what its session has still to come, as the shooting line does, and assumes nothing.
    let page = fine(run(&["read", "--log", &db]));
    assert!(!page.contains("are assumed") && page.contains("arrows left"), "{page}");
}

/// Two archers; the first has a kit with marks and `sessions` sessions of numbered arrows.
fn log(sessions: u64) -> (Log, Vec<Uuid>) {
    let name = |n: u8| id::new_id(u64::from(n), [n; 10]);
    let mut log = Log::new();
    let mut other = Writer::new(name(9), name(8));
    log.insert(other.write_archer(1, Archer { name: "Ilse".to_owned(), hand: None, counted: None }));
    let mut writer = Writer::new(name(1), name(2));
    log.insert(writer.write_archer(1, Archer { name: "Robin".to_owned(), hand: None, counted: None }));
    let mut n = 100_u64;
    let mut write = writing(&mut log, &mut writer, &mut n);
    let kit = write(Body::Kit(Box::new(Kit {
        name: "Outdoors".to_owned(),
        eye_above_arrow_mm: Some(115.0),
        arrow_mass_g: Some(21.0),
        spread_mrad: Some(1.5),
        trust: Some(4.0),
        ..Kit::default()
    })));
    for (metres, reading) in [(18.0, 49.9), (30.0, 64.4), (50.0, 92.2)] {
        write(Body::Mark(Mark {
            kit,
            distance_m: metres,
            elevation_reading: reading,
            windage_reading: None,
            reading_sd: None,
            proven: Proven::Shot,
            at_ms: 5,
            slope_deg: None,
            arrows: None,
        }));
    }
    let mut random = goldward_core::random::Random::stream(5, 1);
    let mut ids = Vec::new();
    for day in 0..sessions {
        let session = write(Body::Session(Session {
            at_ms: 1_750_000_000_000 + day * 86_400_000,
            distance_m: 50.0,
            face: "122".to_owned(),
            round: None,
            kit: Some(kit),
            mark: None,
            sighting_ends: 0,
            ends: 6,
            shots_per_end: 6,
            proven: None,
            match_by: None,
            opponent_arrow: None,
        }));
        ids.push(session);
        for shot in 0..36 {
            let (a, b) = random.normal_pair();
            write(Body::Shot(Shot {
                session,
                end: shot / 6 + 1,
                index: shot % 6 + 1,
                x_mm: Some(70.0 * a + if shot % 6 == 3 { 220.0 } else { 0.0 }),
                y_mm: Some(70.0 * b),
                call: None,
                felt: None,
                arrow: Some((shot % 6 + 1).to_string()),
                at_ms: None,
                spot: None,
            }));
        }
        write(Body::Touch(Touch {
            session,
            after_end: 3,
            after_index: 6,
            right_mm: 0.1,
            up_mm: 0.0,
            advised_right_mm: None,
            advised_up_mm: None,
            at_ms: None,
        }));
    }
    drop(write);
    (log, ids)
}

/// What the app puts on its screens of marks, of aids at the line and of the rehearsal is made of these calls.
#[test]
fn marks_aids_and_the_rehearsal_are_those_of_the_app_to_the_last_digit() {
    let home = folder();
    let file = at(&home, "log.jsonl");
    let (log, _) = log(1);
    std::fs::write(&file, jsonl::write(&log)).unwrap();
    let archer = archer_named(&log, Some("Robin")).unwrap();
    let program = |words: &str| {
        let words: Vec<&str> = words.split(' ').chain(["--log", &file, "--archer", "robin"]).collect();
        fine(run(&words))
    };
    let teller = Teller { language: Language::English, imperial: false, date: &|_| String::new() };
    let same = |told: String, items: &[Item], least: usize| {
        let app = text(items, 80, false);
        assert!(app.len() > least && told.ends_with(&app), "the program says\n{told}\nthe app says\n{app}");
    };

    let (kit_id, kit) = log.of(|b| if let Body::Kit(k) = b { Some(k.as_ref()) } else { None })[0];
    let marks: Vec<Mark> = marks_of(&log, archer, kit_id.id, kit).into_iter().map(|(_, m)| m).collect();
    let known = known(kit, &marks, false).unwrap().unwrap();
    let metres = [10.0, 18.0, 30.0, 70.0, 90.0];
    let expected = known.expect(&metres.map(|m| Range::metres(m).unwrap())).unwrap();
    let next = next(&known.fitted, &metres).ok();
    same(program("marks predict --at 10,18,30,70,90"), &marks::predict(&teller, &known, &expected, next.as_ref()), 300);

    let (here, wind) = (Range::metres(70.0).unwrap(), Wind::from_clock(3.0, 2.0).unwrap());
    let aid = aids::wind_at(&known, here, &Gust::new(wind, 0.0, 0.0).unwrap()).unwrap();
    let told = program(&format!("marks wind --distance 70 --cross={} --along={}", wind.right_m_s(), wind.tail_m_s()));
    same(told, &aids::wind(&teller, here, &aid, false), 100);
    let found = aids::slope_at(&known, here, 10.0).unwrap();
    same(program("marks slope --distance 70 --angle 10"), &aids::slope(&teller, &known, here, 10.0, &found), 100);
    let wrong = aids::wrong_at(&teller, &known, here, [400.0, 35.0], &[]).unwrap();
    let told = program("marks wrong --distance 70 --offset-mm 400 --sd-mm 35");
    same(told, &aids::wrong(&teller, &known, here, 400.0, &[], &wrong), 50);

    let wishes = read(&log, archer, Which::Latest, &Wishes::default()).unwrap().wishes;
    let wishes = Wishes { spread_mrad: Some(1.5), ..wishes };
    let asked = Asked { offset_mm: Some(75.0), flyers: Some(0.08), drift_mrad: Some(0.1), ..Asked::default() };
    let (distance, face) = (Distance::from_metres(50.0).unwrap(), Face::named("122").unwrap());
    let (settings, rehearsed) = rehearsed(distance, face, &wishes, &asked, 1).unwrap();
    let scorer = Scorer::new(face, settings.shaft);
    let rehearsal = Rehearsal::new(&rehearsed.scene, &scorer, 1);
    let tallies = parts(40).into_iter().map(|part| rehearsal.play(&Rule::ALL, part)).collect();
    let played = Played::of(40, rehearsal.oracle_points(), tallies);
    let app = text(&pace::page(&teller, &rehearsed, &played), 80, false);
    let told = program("pace --spread 1.5mrad --offset 75mm --flyers 8% --drift 0.1mrad --rounds 40");
    assert!(app.len() > 1000 && told.contains(&app), "the program says\n{told}\nthe app says\n{app}");
}

#[test]
fn many_sessions_marks_and_rounds_come_from_a_log() {
    let home = folder();
    let file = at(&home, "log.jsonl");
    let (log, ids) = log(3);
    std::fs::write(&file, jsonl::write(&log)).unwrap();
    let of = |words: &[&str]| {
        let all = [words, &["--log", &file, "--archer", "robin", "--json"]].concat();
        serde_json::from_str::<serde_json::Value>(&fine(run(&all))).unwrap()
    };
    let fleet = of(&["fleet"]);
    let accused: Vec<&str> = fleet["arrows"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|a| a["accused"] == true)
        .map(|a| a["arrow"].as_str().unwrap())
        .collect();
    assert_eq!(accused, ["4"], "{fleet}");
    let two = format!("{},{}", ids[0], ids[1]);
    assert!(of(&["compare", "--session", &two])["schema"].is_u64());
    assert!(of(&["tune", "--session", &two])["schema"].is_u64());
    let one = ids[2].to_string();
    assert_eq!(of(&["read", "--session", &one]), of(&["read"]), "the third is the latest");
    assert_ne!(of(&["read", "--session", &ids[0].to_string()])["centre_mm"], of(&["read"])["centre_mm"]);
    let marks = of(&["marks", "predict", "--at", "40"]);
    assert!(marks["predicted"][0]["reading"].as_f64().is_some_and(|r| (64.4..92.2).contains(&r)), "{marks}");
    let paced = of(&["pace", "--round", "2x3", "--rounds", "20"]);
    assert!(paced["schema"].is_u64(), "{paced}");
}

#[test]
fn what_is_not_in_the_log_is_named_with_the_remedy() {
    let home = folder();
    let file = at(&home, "log.jsonl");
    let (log, ids) = log(1);
    std::fs::write(&file, jsonl::write(&log)).unwrap();
    let refused = |words: &[&str], code: u8, says: &[&str]| {
        let got = run(words);
        assert_eq!((got.code, got.out.as_str()), (code, ""), "{got:?}");
        assert!(says.iter().all(|s| got.err.contains(s)), "{says:?} {}", got.err);
    };
    refused(&["read", "--log", &file], 1, &["--archer", "several archers", "Robin"]);
    refused(&["read", "--log", &file, "--archer", "Anna"], 1, &["no archer", "Ilse"]);
    refused(&["read", "--log", &file, "--archer", "Ilse"], 1, &["no session with a shot"]);
    let nobody = "01890a5d-ac96-774b-bcce-b302099a8057";
    refused(&["read", "--log", &file, "--archer", "Robin", "--session", nobody], 1, &[nobody, "deleted"]);
    refused(&["read", "--log", &file, "--archer", "Robin", "--session", "first"], 2, &["latest"]);
    refused(&["compare", "--log", &file, "--archer", "Robin", "--session", &ids[0].to_string()], 2, &["two sessions"]);
    refused(&["marks", "fit", "--log", &file, "--archer", "Robin", "--bow", "Indoors"], 1, &["Indoors"]);
    refused(&["read", "--log", &at(&home, "no.db")], 1, &["no such file"]);
}

#[test]
fn what_was_remarked_of_a_session_is_told_and_travels_in_every_file() {
    let home = folder();
    let (mut log, ids) = log(1);
    let archer = log.archers().into_iter().find(|a| log.get(*a, ids[0]).is_some()).unwrap();
    let mut writer = Writer::new(archer, id::new_id(3, [3; 10]));
    let remark = Note {
        about: Some(ids[0]),
        text: "A new string, 2 cm lower.".to_owned(),
        wind: Some("gusty".to_owned()),
        wind_from: Some("left".to_owned()),
        light: None,
        at_ms: 1_750_000_000_000,
    };
    let record = writer.write(1_750_000_000_000, [7; 10], Body::Note(remark.clone()));
    assert_eq!(record.schema(), 2);
    log.insert(record);
    let plain = Note { wind: None, wind_from: None, about: None, ..remark };
    let record = writer.write(1_750_000_000_001, [8; 10], Body::Note(plain));
    assert_eq!(record.schema(), 1, "what says nothing of the weather any app can read");
    log.insert(record);
    for (name, text) in [("log.jsonl", jsonl::write(&log)), ("log.csv", goldward_journal::table::write(&log))] {
        let file = at(&home, name);
        std::fs::write(&file, text).unwrap();
        let of = |more: &[&str]| fine(run(&[&["read", "--log", &file, "--archer", "robin"], more].concat()));
        let page = of(&["--language", "de"]);
        assert!(page.contains("Notizen, Wind und Licht"), "{page}");
        assert!(page.contains("Wind: böig · Wind von: links · A new string, 2 cm lower."), "{page}");
        let json: serde_json::Value = serde_json::from_str(&of(&["--json"])).unwrap();
        assert_eq!(json["notes"][0]["wind"], "gusty", "{json}");
        assert_eq!(json["notes"].as_array().map(Vec::len), Some(1), "of this session alone");
    }
}

#[test]
fn two_arrows_on_one_spot_are_told_and_the_event_decides() {
    let home = folder();
    let (log, ids) = log(1);
    let file = at(&home, "log.jsonl");
    // The first end of the session, on a face of three spots: two of its arrows on the second spot.
    let (mut spots, mut ends) = (Log::new(), 0);
    for mut record in log.sorted().into_iter().cloned() {
        match &mut record.body {
            Body::Session(s) => s.face = "40-3v".to_owned(),
            Body::Shot(s) if s.session == ids[0] && s.end == 1 => {
                (s.x_mm, s.spot) = (Some(5.0), Some(s.index.min(2)));
                ends += 1;
            }
            _ => {}
        }
        spots.insert(record);
    }
    assert_eq!(ends, 6);
    std::fs::write(&file, jsonl::write(&spots)).unwrap();
    let got = run(&["read", "--log", &file, "--archer", "robin"]);
    assert!(got.err.contains("one spot in end 1: ") && got.err.contains("rules decide"), "{}", got.err);
}

/// One arrow in six lands far right in every session.
#[test]
fn habits_are_told_with_what_they_are_from() {
    let home = folder();
    let file = at(&home, "log.jsonl");
    std::fs::write(&file, jsonl::write(&log(4).0)).unwrap();
    let told = ["habits", "--log", &file, "--archer", "robin"];
    let page = fine(run(&told));
    assert!(page.contains("Your bad shots land") && page.contains("right") && page.contains("at 50 m"), "{page}");
    let german = fine(run(&[&told[..], &["--language", "de"]].concat()));
    assert!(german.contains("Deine schlechten Schüsse landen") && german.contains("rechts"), "{german}");
    let json: serde_json::Value = serde_json::from_str(&fine(run(&[&told[..], &["--json"]].concat()))).unwrap();
    assert_eq!((json["sessions"].as_u64(), json["used"].as_bool()), (Some(4), Some(true)), "{json}");
    assert_eq!(json["unmarked"]["shots"].as_u64(), Some(144), "{json}");
    let right = json["bad_mean"][0].as_f64().unwrap() * json["spread_mrad"].as_f64().unwrap() * 50.0;
    assert!((150.0..250.0).contains(&right), "{right}: {json}");
    let none = fine(run(&["habits", "--log", &file, "--archer", "ilse"]));
    assert!(none.contains("No session tells of habits yet"), "{none}");
}
