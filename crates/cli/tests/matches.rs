//! `goldward match`.

mod common;
use common::run;
use serde_json::Value;

/// Two ends of three arrows about 60 mm high.
fn shots(name: &str) -> (tempfile::TempDir, String) {
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join(name).display().to_string();
    let rows = [(1, 20, 110), (1, -60, 40), (1, 40, 30), (2, 10, 150), (2, -30, 20), (2, 70, 60)];
    let rows: String = rows.iter().map(|(end, x, y)| format!("{end},{x},{y}\n")).collect();
    std::fs::write(&file, format!("end,x_mm,y_mm\n{rows}")).unwrap();
    (home, file)
}

fn json(args: &[&str]) -> Value {
    let got = run(&[&["match"], args, &["--json"]].concat());
    assert_eq!((got.code, got.err.as_str()), (0, ""), "{got:?}");
    serde_json::from_str(&got.out).unwrap()
}

#[test]
fn a_match_is_told_in_words_and_as_json() {
    let (_home, file) = shots("final.csv");
    let at = [file.as_str(), "--distance", "70", "--face", "122", "--spread", "1.5mrad", "--opponent", "8.8"];
    let told = json(&[&at[..], &["--theirs", "27,28"]].concat());
    assert_eq!(
        (told["ends_done"].as_u64(), told["by"].as_str(), told["first_to"].as_u64()),
        (Some(2), Some("sets"), Some(6))
    );
    let chance = |told: &Value| told["chance"].as_f64().unwrap();
    assert!((0.0..=1.0).contains(&chance(&told)), "{told}");
    // The other an end behind: the second end of one's own is under way for the match.
    let waits = json(&[&at[..], &["--theirs", "27,10/1"]].concat());
    assert_eq!((waits["ends_done"].as_u64(), waits["mine"]["end_shots"].as_u64()), (Some(1), Some(3)));
    let better = json(&[&at[..], &["--theirs", "20,20"]].concat());
    assert!(chance(&better) > chance(&told), "{better} {told}");
    let total = json(&[&at[..], &["--by", "total", "--mine", "29,28,19/2", "--theirs", "27,28"]].concat());
    assert_eq!((total["mine"]["points"].as_u64(), total["mine"]["end_points"].as_u64()), (Some(57), Some(19)));
    let over = json(&[&at[..], &["--mine", "29,29,29", "--theirs", "20,20,20"]].concat());
    assert_eq!((over["verdict"].as_str(), over["advice"]["action"].as_str()), (Some("won"), Some("leave")));
    for (language, word) in [("en", "Chance to win"), ("de", "Chance zu gewinnen"), ("fr", "Chance de gagner")] {
        let got = run(&[&["match"], &at[..], &["--theirs", "27,28", "--language", language]].concat());
        assert_eq!((got.code, got.err.as_str()), (0, ""), "{got:?}");
        assert!(got.out.contains(word) && !got.out.contains('{'), "{}", got.out);
        assert!(got.out.lines().all(|l| l.chars().count() <= 80), "{}", got.out);
    }
}

#[test]
fn matches_are_rehearsed() {
    let at = ["--distance", "70", "--face", "122", "--spread", "2mrad", "--trust", "1", "--rehearse", "40"];
    let told = json(&at);
    assert_eq!(told["matches"].as_u64(), Some(40));
    let rules = told["rules"].as_array().unwrap();
    assert!(rules.len() > 8 && rules.iter().all(|r| (0.0..=1.0).contains(&r["won"].as_f64().unwrap())), "{told}");
    assert_eq!(told, json(&at), "the same seed gives the same matches");
    let got = run(&[&["match"], &at[..]].concat());
    assert!(got.code == 0 && got.out.contains("Simulated matches: 40"), "{got:?}");
}

#[test]
fn what_cannot_be_is_refused() {
    let (_home, file) = shots("final.csv");
    let check = |args: &[&str], code: u8, part: &str| {
        let got = run(&[&["match", &file, "--distance", "70", "--face", "122"], args].concat());
        assert_eq!(got.code, code, "{got:?}");
        assert!(got.out.is_empty() && got.err.starts_with("error:") && got.err.contains(part), "{got:?}");
    };
    check(&["--theirs", "31"], 2, "--theirs");
    check(&["--theirs", "x"], 2, "19/2");
    check(&["--theirs", "9/1,27"], 2, "only the last end");
    check(&["--theirs", "27,27,27,27,27,27"], 2, "more ends");
    check(&["--opponent", "10.5"], 1, "between");
    check(&["--ends", "5x2"], 2, "--mine");
    check(&["--ends", "30x6"], 2, "24x12");
    check(&["--by", "total", "--first-to", "6"], 2, "--first-to");
    check(&["--first-to", "11"], 1, "between");
    let got = run(&["match"]);
    assert_eq!(got.code, 2, "{got:?}");
}
