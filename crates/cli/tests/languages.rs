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
