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
    // What is bold for its own sake, not as the name of something on a screen.
    let plain = ["in bold", "First:", "fett", "Zuerst:", "en gras", "D’abord :", "What HTTPS is for."];
    let check = |name: &str, language: Language, least: usize| {
        let says: Vec<&str> = Word::ALL.iter().map(|w| w.text(language)).collect();
        let page = document(name);
        let bold: Vec<&str> = page.split("**").skip(1).step_by(2).filter(|b| !plain.contains(b)).collect();
        assert!(bold.len() >= least, "{name}: {bold:?}");
        for label in bold {
            let stands = |text: &&str| **text == *label || text.split(": {").next().map(str::trim_end) == Some(label);
            assert!(says.iter().any(stands), "{name}: no screen says {label:?}");
        }
    };
    check("guide.md", Language::English, 30);
    check("coach.md", Language::English, 5);
    check("archer/en.md", Language::English, 17);
    check("archer/de.md", Language::German, 17);
    check("archer/fr.md", Language::French, 17);
}

#[test]
fn one_page_says_how_the_rules_were_written_down() {
    let page = document("sources.md");
    assert_eq!(page.matches("**they are written down from memory**").count(), 1);
    let editions = [
        goldward_core::face::EDITION,
        goldward_core::face::DEFAULT_LIMITS.edition,
        goldward_core::pace::DEFAULT_TIME.edition,
        goldward_core::matches::EDITION,
        goldward_session::rounds::EDITION,
    ];
    for edition in editions {
        assert!(page.contains(edition), "{edition}");
        assert!(!edition.contains("memory"), "{edition}");
    }
    let told = run(&["face"]).out + &run(&["face", "122"]).out;
    assert!(told.contains(goldward_core::face::EDITION) && !told.contains("memory"), "{told}");
    for word in Word::ALL {
        assert!(!word.text(Language::English).contains("from memory"), "{word:?}");
    }
}
