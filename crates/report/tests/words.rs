//! The catalogue holds what is said, and nothing else.

use std::path::Path;

use goldward_report::words::{Done, Phrase, Word, Wrong};

fn sources(folder: &Path, into: &mut String) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, into);
        } else if path.extension().is_some_and(|e| e == "rs")
            && path
                .file_name()
                .is_some_and(|n| !["table.rs", "phrases.rs", "wrong.rs", "done.rs"].iter().any(|t| n == *t))
        {
            into.push_str(&std::fs::read_to_string(&path).unwrap());
        }
    }
}

#[test]
fn every_word_is_said_somewhere() {
    let crates = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap();
    let mut text = String::new();
    for name in ["report", "web", "cli"] {
        sources(&crates.join(name).join("src"), &mut text);
    }
    // Names of fields and lists: `Word::Shoot`, and in the macros of forms the bare name.
    let mut said: std::collections::BTreeSet<&str> = text.split(|c: char| !c.is_alphanumeric()).collect();
    said.remove("");
    let phrases = Phrase::ALL.iter().map(|p| format!("{p:?}")).chain(Wrong::ALL.iter().map(|w| format!("{w:?}")));
    let phrases = phrases.chain(Done::ALL.iter().map(|d| format!("{d:?}")));
    let silent = Word::ALL.iter().map(|w| format!("{w:?}")).chain(phrases);
    let silent: Vec<String> = silent.filter(|w| !said.contains(w.as_str())).collect();
    assert!(silent.is_empty(), "nobody says {silent:?}: strike them from the table");
}
