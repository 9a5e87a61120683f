//! Pages in the languages of the app.

mod common;
use common::run;

const HEAD: &str = "end,arrow,x_mm,y_mm\n";

/// Six ends of six arrows; arrow 3 lands 200 mm to the right.
fn session(name: &str) -> (tempfile::TempDir, String) {
    let mut random = goldward_core::random::Random::stream(7, 3);
    let mut csv = HEAD.to_owned();
    for shot in 0..36 {
        let (a, b) = random.normal_pair();
        let off = if shot % 6 == 2 { 200.0 } else { 0.0 };
        csv.push_str(&format!("{},{},{:.1},{:.1}\n", shot / 6 + 1, shot % 6 + 1, 60.0 * a + off, 60.0 * b));
    }
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join(name).display().to_string();
    std::fs::write(&file, csv).unwrap();
    (home, file)
}

#[test]
fn fleet_compare_and_tune_speak_german_and_french() {
    let (_home, file) = session("abend.csv");
    let told = |words: &[&str]| {
        let got = run(&[words, &["--distance", "50"]].concat());
        assert_eq!((got.code, got.err.as_str()), (0, ""), "{got:?}");
        assert!(!got.out.contains('{') && got.out.lines().all(|l| l.chars().count() <= 80), "{}", got.out);
        got.out
    };
    let german = told(&["fleet", &file, "--language", "de"]);
    assert!(german.contains("Pfeil 3 prüfen") && german.contains("in 1 Einheit"), "{german}");
    let french = told(&["fleet", &file, "--language", "français"]);
    assert!(french.contains("Inspectez la flèche 3") && french.contains("en 1 séance"), "{french}");
    let english = told(&["fleet", &file, "--language", "en"]);
    assert!(english.contains("Inspect arrow 3") && english.contains("in 1 session."), "{english}");
    assert!(told(&["compare", &file, &file, "--language", "de"]).contains("Passen"));
    assert!(told(&["tune", &file, &file, "--language", "fr"]).contains("tubes nus"));
    let page = |l: &str| {
        let got = run(&["read", &file, "--distance", "50", "--face", "122", "--language", l]);
        assert!((got.code, got.err.as_str()) == (0, "") && !got.out.contains('{'), "{got:?}");
        got.out
    };
    let german = page("de");
    assert!(
        german.contains("Was es bringt") && german.contains("zählt als") && german.contains("Sicherheit: "),
        "{german}"
    );
    assert!(page("fr").contains("Ce que cela vaut") && page("en").contains("What it is worth"));
    let got = run(&["fleet", &file, "--distance", "50", "--language", "xx"]);
    assert!(got.code == 2 && got.err.contains("de (Deutsch)"), "{got:?}");
}

const MARKS: &str = "\
eye_to_pin = 880
eye_above_arrow = 115
[arrow]
mass_g = 21
diameter_mm = 5.5
[[mark]]
distance = 18
reading = 49.9
[[mark]]
distance = 30
reading = 67.4
[[mark]]
distance = 50
reading = 91.8
proof = \"predicted\"
[[mark]]
distance = 50
reading = 91.8
[[mark]]
distance = 60
reading = 106.3
";

/// Words of four letters and more that both texts have.
fn shared(one: &str, other: &str) -> Vec<String> {
    let words = |text: &str| -> std::collections::BTreeSet<String> {
        let split = text.split(|c: char| !c.is_alphabetic()).filter(|w| w.chars().count() > 3);
        split.map(str::to_lowercase).collect()
    };
    words(one).intersection(&words(other)).cloned().collect()
}

/// What stands in a drawing to be read.
fn read_in(svg: &str) -> String {
    svg.split('<').filter_map(|part| part.split_once('>')).map(|(_, text)| format!("{text} ")).collect()
}

#[test]
fn marks_card_and_pace_leave_no_english_in_german_and_french() {
    let home = tempfile::tempdir().unwrap();
    let path = |name: &str| home.path().join(name).display().to_string();
    let file = path("marks.toml");
    std::fs::write(&file, MARKS).unwrap();
    let (card, strip, curves) = (path("card.svg"), path("strip.svg"), path("curves.svg"));
    let pace = ["pace", "--spread", "2.1mrad", "--rounds", "20", "--distance", "70", "--face", "122"];
    let commands: Vec<(Vec<&str>, Option<&str>)> = vec![
        (vec!["marks", "list", &file], None),
        (vec!["marks", "fit", &file], None),
        (vec!["marks", "predict", &file, "--at", "18,25,40,90"], None),
        (vec!["marks", "wrong", &file, "--distance", "30", "--offset-mm", "930"], None),
        (vec!["marks", "wrong", &file, "--distance", "30", "--offset-mm", "0"], None),
        (vec!["marks", "wind", &file, "--distance", "50", "--cross", "3", "--gust", "1"], None),
        (vec!["marks", "slope", &file, "--distance", "40", "--angle", "-20"], None),
        (vec!["marks", "card", &file, "-o", &card], Some(&card)),
        (vec!["marks", "card", &file, "-o", &strip, "--strip"], Some(&strip)),
        ([&pace[..], &["--sighting", "2x6", "--round", "4x6", "--plot", &curves]].concat(), Some(&curves)),
        (vec!["pace", "--match", "four-distances", "--spread", "2mrad", "--rounds", "6"], None),
    ];
    // The program's own name and its options, and what is the same word in both.
    let same: [&[&str]; 2] = [
        &["goldward", "mrad", "card", "strip", "curves", "drift", "among", "median", "chance", "wind", "band"],
        &[
            "goldward",
            "mrad",
            "card",
            "strip",
            "curves",
            "among",
            "distance",
            "distances",
            "points",
            "simple",
            "point",
            "centre",
            "oracle",
            "rafales",
            "chance",
            "essai",
        ],
    ];
    let mut wrong = Vec::new();
    for (command, drawn) in &commands {
        let told = |language: &str| {
            let got = run(&[&command[..], &["--language", language]].concat());
            assert_eq!((got.code, got.err.as_str()), (0, ""), "{command:?}: {got:?}");
            let text = got.out.replace(home.path().to_str().unwrap(), "");
            assert!(!text.contains('{') && text.lines().all(|l| l.chars().count() <= 100), "{text}");
            text + &drawn.map_or(String::new(), |file| read_in(&std::fs::read_to_string(file).unwrap()))
        };
        let english = told("en");
        for (language, same) in [("de", same[0]), ("fr", same[1])] {
            let other = told(language);
            let left: Vec<String> =
                shared(&english, &other).into_iter().filter(|w| !same.contains(&w.as_str())).collect();
            if !left.is_empty() {
                wrong.push(format!("{command:?} in {language} still says {left:?}:\n{other}"));
            }
            assert!(english.len() > 60 && other.len() > 60);
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    // A new mark, in a file of its own.
    let fresh = path("fresh.toml");
    std::fs::write(&fresh, MARKS).unwrap();
    let got =
        run(&["marks", "add", &fresh, "--distance", "70", "--reading", "121.6", "--predicted", "--language", "de"]);
    assert!(got.out.contains("121,6 (vorhergesagt)") && got.out.contains("erst nah und sicher geschossen"), "{got:?}");
}

/// What was done, and the faces, are told in the language that the environment asks for.
#[test]
fn work_that_is_done_is_told_in_german_and_french() {
    use goldward_report::words::Language;
    let home = tempfile::tempdir().unwrap();
    let at = |name: &str| home.path().join(name).display().to_string();
    let log = goldward::log::demo::log(1_750_000_000_000);
    std::fs::write(at("log.jsonl"), goldward_journal::jsonl::write(&log)).unwrap();
    let told = |language: Language, words: &[&str], input: &str| {
        let words: Vec<String> = words.iter().map(|w| (*w).to_owned()).collect();
        let got = common::run_in(language, &words, input.as_bytes());
        assert_eq!((got.code, got.err.as_str()), (0, ""), "{words:?} {got:?}");
        assert!(!got.out.contains('{'), "{}", got.out);
        got.out
    };
    let (de, fr) = (Language::German, Language::French);
    let db = at("goldward.db");
    let read = told(de, &["log", "import", &at("log.jsonl"), "--db", &db], "");
    assert!(read.contains("Einträge gelesen, davon"), "{read}");
    assert!(told(fr, &["log", "check", "--db", &db], "").ends_with("tout va bien\n"));
    let list = told(de, &["accounts", "list", "--db", &db], "");
    assert!(list.contains("keine Konten") && list.contains("ohne Besitzer\n  Protokoll von "), "{list}");
    let words = ["accounts", "add", "Anna", "--give-log", "Ilse", "--db", db.as_str()];
    assert_eq!(told(fr, &words, "correct horse battery\n"), "compte Anna créé avec 1 journal\n");
    let second = told(de, &["accounts", "second-factor", "Anna", "--db", &db], "");
    assert!(second.starts_with("Anna wird von jetzt an") && second.contains("  Geheimnis  "), "{second}");
    assert!(told(de, &["accounts", "sign-up", "--db", &db], "").starts_with("kein Link ist offen"));
    let face = told(de, &["face", "40-3v"], "");
    assert!(face.contains("drei Spots untereinander") && face.contains("  Zone  Farbe  Durchmesser\n"), "{face}");
    assert!(face.contains("Gold      40 mm") || face.contains("Gold     40 mm"), "{face}");
    assert!(told(fr, &["face"], "").contains("campagne, 80 cm"));
}

/// What is wrong with a log, and how a server is reached, are told in the reader's language.
#[test]
fn what_is_wrong_with_a_log_is_told_in_german_and_french() {
    use goldward_journal::{Body, Kind};
    use goldward_report::words::Language;
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join("log.jsonl").display().to_string();
    let all = goldward::log::demo::log(1_750_000_000_000).sorted().into_iter().cloned().collect::<Vec<_>>();
    // A session is missing, a shot is numbered as the one before it, and a kit stands where a session should.
    let gone = all.iter().find(|r| r.body.kind() == Kind::Session).unwrap().id;
    let kit = all.iter().find(|r| r.body.kind() == Kind::Kit).unwrap().id;
    let mut log = goldward_journal::Log::new();
    let mut changed = 0;
    for mut record in all.into_iter().filter(|r| r.id != gone) {
        if let Body::Shot(shot) = &mut record.body
            && shot.session != gone
            && changed < 2
        {
            if changed == 0 {
                shot.session = kit;
            } else {
                shot.index += 1;
            }
            changed += 1;
        }
        log.extend([record]);
    }
    std::fs::write(&file, goldward_journal::jsonl::write(&log)).unwrap();
    let told = |language: Language| {
        let words = ["log", "check", &file].map(str::to_owned);
        let got = common::run_in(language, &words, b"");
        assert_eq!((got.code, got.err.as_str()), (1, ""), "{got:?}");
        got.out
    };
    for (language, parts) in [
        (Language::German, ["das nicht hier ist", "bei diesem Schützen kein", "zwei Schüsse mit der Nummer"]),
        (Language::French, ["qui n’est pas ici", "de cet archer", "deux tirs numéro"]),
    ] {
        let out = told(language);
        assert!(parts.iter().all(|p| out.contains(p)), "{out}");
        let english = ["shots", "record", "refers", "which", "delete"];
        assert!(out.split([' ', '\n']).all(|word| !english.contains(&word)), "{out}");
    }
    assert!(told(Language::English).contains("which is not here: sync again"));
}
