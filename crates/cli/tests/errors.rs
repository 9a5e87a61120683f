//! Whatever is wrong is told in the reader's language at every door: files of shots, kits and marks, logs, options, lines of JSON.

mod common;
use std::collections::BTreeSet;
use std::path::Path;

use common::{Outcome, run_in};
use goldward_report::words::Language;
use goldward_session::keys::{COLUMNS, FIELDS};

/// A wrong call of the program: its words, and what stands on standard input.
type Case = (Vec<String>, &'static [u8]);

fn words(line: &str) -> Vec<String> {
    line.split_whitespace().map(str::to_owned).collect()
}

/// Puts `text` into a file of its own and gives its name.
fn file(home: &Path, name: &str, text: &[u8]) -> String {
    let path = home.join(name);
    std::fs::write(&path, text).unwrap();
    path.display().to_string()
}

fn cases(home: &Path) -> Vec<Case> {
    let mut all: Vec<Case> = Vec::new();
    let read = "read - --distance 70 --face 122";
    let csv: [&'static [u8]; 26] = [
        b"",
        b"x_mm,y_mm\n",
        b"x_mm,y_mm\nabc,3\n",
        b"x_mm,y_mm\n1,inf\n",
        b"x_mm,y_mm\n1e9,1\n",
        b"x_mm,y_mm,touch_up_mm\n5,1,900\n",
        b"end,x_mm,y_mm\none,1,2\n",
        b"call\n12@13\n",
        b"call\n11@3\n",
        b"call\nnine\n",
        b"call,felt\n9@3,awful\n",
        b"x_mm,y_mm,call\n1,2,9@3\n",
        b"1,2\n3,4\n",
        b"x_mm,y_mm,wind\n1,2,3\n",
        b"q,call\n1,X\n",
        b"x_mm,x_mm,y_mm\n1,2,3\n",
        b"x_mm\n1\n",
        b"end,arrow\n1,1\n",
        b"x_mm,y_mm\n1,\n",
        b"x_mm,y_mm\n1,2\n3\n",
        b"x_mm,y_mm\n1,5,2\n",
        b"end,x_mm,y_mm\n4,,\n",
        b"x_mm,y_mm,felt,touch_up_mm\n1,2,,\n,,bad,1\n",
        b"x_mm,y_mm,\n1,2,3\n",
        b"\xFF\xFEx\0",
        b"x_mm,y_mm\n1,2\n\xE9,3\n",
    ];
    all.extend(csv.map(|bytes| (words(read), bytes)));
    all.push((words(read), b"sep=|\nx_mm|y_mm\n1|2\n"));
    all.push((words(read), b"x_mm,y_mm\n\"1\n2\",3\n"));

    // Every key of a kit file with a value that cannot be.
    let good: &'static [u8] = b"x_mm,y_mm\n1,2\n";
    for (i, field) in FIELDS.iter().filter(|f| !f.file.is_empty()).enumerate() {
        for (j, value) in ["\"q\"", "true", "-1e7"].iter().enumerate() {
            let kit = file(home, &format!("{i}-{j}.toml"), format!("{} = {value}\n", field.file).as_bytes());
            let args = [words(read), vec!["--kit".to_owned(), kit]].concat();
            // A reading may be any number.
            if run_in(Language::English, &args, good).code != 0 {
                all.push((args, good));
            }
        }
    }
    for (name, text) in [
        ("a.toml", "shafft = 5\n"),
        ("b.toml", "elevationn = 5\n"),
        ("c.toml", "hand = right\n"),
        ("d.toml", "windage_reading = 3\n"),
        ("e.toml", "shaft = \"5 parsecs\"\n"),
    ] {
        let kit = file(home, name, text.as_bytes());
        all.push(([words(read), vec!["--kit".to_owned(), kit]].concat(), good));
    }
    for option in
        ["--shaft 40mm", "--touch-cost=-1", "--left 100001", "--eye-to-pin 1mm", "--worth 0", "--setting-sd 9m"]
    {
        all.push((words(&format!("{read} {option}")), good));
    }
    let gone = home.join("gone").display().to_string();
    let folder = home.display().to_string();
    let mixed = file(home, "mixed.csv", b"call\n9@3\n");
    let shots = file(home, "shots.csv", b"x_mm,y_mm\n1,2\n3,4\n5,9\n");
    let text = file(home, "text.jsonl", b"{\"format\":\"other\"}\n");
    let broken = file(home, "broken.db", b"SQLite format 3\0 and more that is none");
    let marks = file(
        home,
        "marks.toml",
        b"eye_to_pin = 880\neye_above_arrow = 115\n[arrow]\nmass_g = 21\ndiameter_mm = 5.5\n[[mark]]\ndistance = 18\nreading = 14.9\n",
    );
    for call in [
        format!("read {gone} --distance 70 --face 122"),
        format!("read {folder} --distance 70 --face 122"),
        format!("read --log {gone}"),
        format!("read --log {text}"),
        format!("fleet {mixed} --distance 70"),
        format!("fleet {shots} {shots} {shots} --distance 70,50"),
        format!("fleet {shots} --distance 70"),
        format!("compare {shots} --distance 70"),
        format!("tune {shots} --distance 70"),
        format!("tune {shots} --walk --distance 70"),
        "pace".to_owned(),
        "pace --distance 70 --face 122 --round 12x6 --sighting 2x3".to_owned(),
        "pace --distance 70 --face 122 --flyers 0.9".to_owned(),
        "pace --match four-distances --round 3x6".to_owned(),
        "match --mine 27".to_owned(),
        format!("match {shots} --distance 70 --face 122 --ends 99x99"),
        format!("match {shots} --distance 70 --face 122 --mine 99"),
        format!("match {shots} --distance 70 --face 122 --theirs 27,28 --nearer mine"),
        format!("match {shots} --distance 70 --face 122 --by points --first-to 5"),
        format!("progress {text}"),
        format!("log check {text}"),
        format!("log import {shots} --db {gone}.db"),
        format!("log erase 0190b8a0-0000-7000-8000-000000000001 --db {gone}"),
        format!("log check --db {broken}"),
        format!("accounts list --db {gone}"),
        format!("marks list {gone}"),
        format!("marks predict {marks} --from 20 --to 10"),
        format!("marks add {marks} --distance 18 --reading 15"),
        format!("marks add {gone}.toml --distance 18 --reading 15"),
        format!("marks add {gone}.toml --distance 18 --reading 15 --mass 21"),
        format!("marks wind {marks} --distance 70 --cross 99"),
        format!("marks predict {marks} --at 399"),
        format!("demo {marks}"),
        format!("follow --resume {shots}"),
        format!("read {shots} --distance 70 --face 122 --plot {gone}/a.svg"),
    ] {
        all.push((words(&call), b""));
    }
    for (name, text) in [
        ("f.toml", "[arrow]\nmass = 21\n"),
        ("g.toml", "arrow = 3\n"),
        ("h.toml", "mark = 3\n"),
        ("i.toml", "[[mark]]\ndistance = 18\n"),
        ("j.toml", "[[mark]]\ndistance = \"q\"\nreading = 1\n"),
        ("k.toml", "[arrow]\nspeed = \"q\"\nbow = \"q\"\ndraw_weight = 3\n"),
        ("l.toml", "eye_above_arrow = 115\n"),
        ("m.toml", "eye_to_pin = 880\neye_above_arrow = 115\n[arrow]\nmass_g = 900\ndiameter_mm = 5.5\n"),
        ("n.toml", "eye_to_pin = 880\neye_above_arrow = 115\n[arrow]\nmass_g = 21\ndiameter_mm = 5.5\n"),
        ("o.toml", "eye_to_pin = 880\n[[mark]\n"),
    ] {
        let marks = file(home, name, text.as_bytes());
        all.push((words(&format!("marks fit {marks}")), b""));
    }
    all.push((words("marks predict -"), b""));
    all
}

/// The words of a sentence: not what is quoted, an option, a name of a file or of a key.
fn said(text: &str, names: &BTreeSet<String>) -> BTreeSet<String> {
    let mut bare = String::new();
    for (i, part) in text.split(['`', '"']).enumerate() {
        bare.push_str(if i % 2 == 0 { part } else { " " });
    }
    let plain = |w: &&str| {
        !w.starts_with('-') && !w.contains(['_', '/', '=', '[', '{']) && !w.chars().any(|c| c.is_ascii_digit())
    };
    let trim = |w: &str| w.trim_matches(|c: char| !c.is_alphabetic()).to_owned();
    let of = bare.split_whitespace().filter(plain).map(trim);
    of.filter(|w| w.chars().count() > 3 && w.to_uppercase() != *w && !w.contains('.'))
        .map(|w| w.to_lowercase())
        .filter(|w| !names.contains(w))
        .collect()
}

#[test]
fn nothing_wrong_is_told_in_english_to_a_german_or_a_frenchman() {
    let home = tempfile::tempdir().unwrap();
    let mut names: BTreeSet<String> = FIELDS.iter().map(|f| f.file.to_owned()).collect();
    names.extend(COLUMNS.map(str::to_owned));
    // Names of keys, commands and words of a file; and words that the languages share.
    let also = "goldward accounts list marks predict read match compare pace demo tune fleet mark name mass speed arrow format \
                json csv good bad unknown predicted verified distance distances points position date note bow \
                proof reading more standard mrad value table place minutes centre follow ring wind shafft elevationn four-distances \
                 humidity air sd slope file files true false latest import export session help \
                text zone zones direction app mode symbol option options before after fletched bare system page";
    names.extend(also.split_whitespace().map(str::to_owned));
    let (mut left, mut parser) = (Vec::new(), 0);
    let all = cases(home.path());
    assert!(all.len() > 100, "{}", all.len());
    for (args, input) in all {
        let told = Language::ALL.map(|l| run_in(l, &args, input));
        let [english, others @ ..] = &told;
        // What is wrong with the options themselves is told by their parser, in English.
        if english.err.contains("For more information") {
            parser += 1;
            continue;
        }
        assert!(english.code == 1 || english.code == 2, "{args:?}: {english:?}");
        let of = said(&english.err, &names);
        for other in others {
            let Outcome { code, err, .. } = other;
            assert_eq!(
                (*code, err.lines().count()),
                (english.code, english.err.lines().count()),
                "{args:?}: {other:?}"
            );
            assert!(!err.contains('{') || err.contains("{\""), "{err}");
            let same: Vec<_> = said(err, &names).intersection(&of).cloned().collect();
            if !same.is_empty() || err.contains("error") || err.contains("hint") {
                left.push(format!("{same:?} in {err}"));
            }
        }
    }
    assert!(parser < 10, "{parser}");
    assert!(left.is_empty(), "{} left: {}", left.len(), left.join("\n"));
}

#[test]
fn the_option_stands_above_the_environment() {
    let args = ["read", "-", "--distance", "70", "--face", "122", "--language", "de"].map(str::to_owned);
    let got = run_in(Language::French, &args, b"");
    assert!(
        got.code == 1 && got.err.contains("Fehler: die Standardeingabe") && got.err.contains("Abhilfe: "),
        "{got:?}"
    );
}

#[test]
fn programs_are_told_in_english() {
    let args = ["read", "--batch"].map(str::to_owned);
    let got = run_in(Language::German, &args, b"{\"distance_m\":70}\n");
    assert!(got.code == 1 && got.out.contains("face: missing"), "{got:?}");
}
