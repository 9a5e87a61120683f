//! The examples of the documents are what the program takes.

mod common;
use common::{read_csv, run, run_with};
use goldward_report::words::{Language, Word};
use goldward_session::{csv, keys, toml};

fn document(name: &str) -> String {
    std::fs::read_to_string(format!("{}/../../docs/{name}", env!("CARGO_MANIFEST_DIR"))).unwrap()
}

fn example(text: &str, language: &str) -> String {
    let start = text.find(&format!("```{language}\n")).unwrap() + language.len() + 4;
    text[start..].split("```").next().unwrap().to_owned()
}

#[test]
fn the_kit_of_the_document_is_read_and_every_key_is_described() {
    let text = document("kit.md");
    toml::parse(&example(&text, "toml")).unwrap();
    for key in keys::of_kit_file().map(|f| f.file) {
        assert!(text.contains(&format!("`{key}`")) || text.contains(&format!("\n{key} = ")), "{key}");
    }
}

#[test]
fn the_session_of_the_document_is_read_and_every_column_is_described() {
    let text = document("formats.md");
    let got = read_csv(example(&text, "csv").as_bytes(), &[]);
    assert_eq!(got.code, 0, "{got:?}");
    assert!(
        got.out.contains("3 arrows") && got.out.contains("After shot 2 the pin was moved 0.5 mm up, 0.2 mm right"),
        "{}",
        got.out
    );
    for column in csv::COLUMNS {
        assert!(text.contains(&format!("`{column}`")), "{column}");
    }
}

#[test]
fn the_follow_of_the_document_is_followed() {
    let text = document("formats.md");
    let lines = example(&text, "jsonl");
    let got = run_with(&["follow"], lines.as_bytes());
    assert_eq!((got.code, got.err.as_str()), (0, ""), "{got:?}");
    assert_eq!(got.out.lines().count(), lines.lines().count());
}

#[test]
fn the_picture_of_the_readme_is_what_is_drawn_today() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).display().to_string();
    assert_eq!(run(&["demo", &at("")]).code, 0);
    let (table, kit, drawn) = (at("ilse.csv"), at("ilse.toml"), at("group.svg"));
    let words = ["read", &table, "--kit", &kit, "--distance", "70", "--face", "122", "--left", "66", "--plot", &drawn];
    assert_eq!(run(&words).code, 0);
    assert_eq!(std::fs::read_to_string(drawn).unwrap(), document("pictures/group.svg"));
}

#[test]
fn what_the_guide_calls_things_stands_on_the_screens() {
    let guide = document("guide.md");
    let says: Vec<&str> = Word::ALL.iter().map(|w| w.text(Language::English)).collect();
    let bold: Vec<&str> = guide.split("**").skip(1).step_by(2).filter(|b| *b != "in bold").collect();
    assert!(bold.len() > 30, "{bold:?}");
    for label in bold {
        let stands = |text: &&str| **text == *label || text.split(": {").next() == Some(label);
        assert!(says.iter().any(stands), "no screen says {label:?}");
    }
}
