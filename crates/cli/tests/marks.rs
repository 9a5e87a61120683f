//! Sight marks: the file, the pages, the JSON and the aids.

mod common;
use std::path::PathBuf;

use common::{Outcome, run, run_with};
use serde_json::Value;

/// An arrow of 57 m/s, its zero at 20 mm: what a flight by the midpoint rule (steps of 0.1 ms, drag
/// coefficient 1.85, air of 1.2214 kg/m3) gives, to a tenth.
const FILE: &str = "\
# outdoors
name = \"Recurve outdoors\"
eye_to_pin = \"88cm\"
eye_above_arrow = \"115mm\"

[arrow]
mass_g = 21
diameter_mm = 5.5

[[mark]]
distance = \"18m\"
reading = 49.9   # in the hall
sd = 0.2
date = 2026-03-02

[[mark]]
distance = \"30m\"
reading = 64.4
sd = 0.3

[[mark]]
distance = \"50m\"
reading = 91.8
sd = 0.3
date = 2026-05-03
note = \"evening, no wind\"

[[mark]]
distance = \"60m\"
reading = 106.4
proof = \"predicted\"
";

struct Home {
    dir: tempfile::TempDir,
}

impl Home {
    fn new(file: &str) -> Self {
        let dir = tempfile::tempdir().unwrap();
        std::fs::write(dir.path().join("marks.toml"), file).unwrap();
        Self { dir }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    fn run(&self, args: &[&str]) -> Outcome {
        let file = self.path("marks.toml");
        let at =
            |a: &&str| a.strip_prefix("DIR/").map_or_else(|| (*a).to_owned(), |n| self.path(n).display().to_string());
        let args: Vec<String> = args.iter().map(at).collect();
        let mut all = vec!["marks", args[0].as_str(), file.to_str().unwrap()];
        all.extend(args[1..].iter().map(String::as_str));
        run(&all)
    }

    fn page(&self, args: &[&str]) -> String {
        let got = self.run(args);
        assert_eq!((got.code, got.err.as_str()), (0, ""), "{got:?}");
        got.out.replace(self.dir.path().to_str().unwrap(), "DIR")
    }

    fn json(&self, args: &[&str]) -> Value {
        let out = self.page(&[args, &["--json"]].concat());
        assert!(out.ends_with("}\n") && out.lines().count() == 1, "{out}");
        let value: Value = serde_json::from_str(&out).unwrap();
        assert_eq!(value["schema"], 1);
        value
    }
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

#[test]
fn pages() {
    let home = Home::new(FILE);
    insta::assert_snapshot!("marks_list", home.page(&["list"]));
    insta::assert_snapshot!("marks_fit", home.page(&["fit"]));
    insta::assert_snapshot!("marks_predict", home.page(&["predict", "--at", "20,25,40,60yd,70"]));
    insta::assert_snapshot!("marks_wind", home.page(&["wind", "--distance", "70", "--cross", "3", "--gust", "1"]));
    insta::assert_snapshot!("marks_slope", home.page(&["slope", "--distance", "40", "--angle", "20"]));
    insta::assert_snapshot!("marks_wrong", home.page(&["wrong", "--distance", "30", "--offset-mm", "930"]));
    insta::assert_snapshot!("marks_not_wrong", home.page(&["wrong", "--distance", "30", "--offset-mm", "60"]));
}

#[test]
fn the_objects() {
    let home = Home::new(FILE);
    let list = home.json(&["list"]);
    assert_eq!(list["marks"].as_array().unwrap().len(), 4);
    assert_eq!(list["marks"][2]["note"], "evening, no wind");
    let fit = home.json(&["fit"]);
    assert_eq!(fit["marks"].as_array().unwrap().len(), 3, "a predicted mark is not fitted");
    assert!((number(&fit["speed_m_s"]) - 57.0).abs() < 3.0 && fit["suspect"].as_array().unwrap().is_empty(), "{fit}");
    let predict = home.json(&["predict", "--at", "50", "--every", "10", "--from", "20", "--to", "40"]);
    let distances: Vec<f64> =
        predict["predicted"].as_array().unwrap().iter().map(|p| number(&p["distance_m"])).collect();
    assert_eq!(distances, [20.0, 30.0, 40.0, 50.0]);
    assert!(number(&predict["predicted"][0]["interval_mm"][0]) < number(&predict["predicted"][0]["reading_mm"]));
    let wrong = home.json(&["wrong", "--distance", "30", "--offset-mm", "930"]);
    assert_eq!((&wrong["wrong"], &wrong["name"]), (&Value::Bool(true), &Value::from("50 m")));
    let low = home.json(&["wrong", "--distance", "50", "--offset-mm=-1540"]);
    assert_eq!(low["name"], "30 m", "{low}");
    let calm = home.json(&["wrong", "--distance", "30", "--offset-mm", "20"]);
    assert!(calm["wrong"] == false && calm["p"].is_null(), "{calm}");
    let wind = home.json(&["wind", "--distance", "70", "--cross", "3"]);
    assert!(number(&wind["drift_mm"][0]) > 50.0 && number(&wind["aim_off_mm"][0]) < -50.0, "{wind}");
    assert!(number(&wind["clicks"][0]) > 0.0, "the sight follows the arrows");
    let slope = home.json(&["slope", "--distance", "40", "--angle=-20"]);
    assert!(number(&slope["reading_mm"]) < number(&slope["level_reading_mm"]), "{slope}");
}

#[test]
fn a_mistyped_mark_is_named() {
    let home = Home::new(&FILE.replace("64.4", "94.4").replace(
        "[[mark]]\ndistance = \"60m\"\nreading = 106.4\nproof = \"predicted\"",
        "[[mark]]\ndistance = \"70m\"\nreading = 121.5",
    ));
    let fit = home.page(&["fit"]);
    assert!(fit.contains("Look at the 30 m mark again: 94.4"), "{fit}");
    assert!(home.page(&["predict", "--at", "40"]).contains("Look at the 30 m mark"));
    let card = home.json(&["card", "-o", "DIR/card.svg", "--every", "5"]);
    let at_30 =
        card["marks"].as_array().unwrap().iter().find(|m| (number(&m["distance_m"]) - 30.0).abs() < 1e-9).unwrap();
    assert!(at_30["suspect"] == true && at_30["standing"] == "predicted", "{at_30}");
}

#[test]
fn add_keeps_what_is_there() {
    let home = Home::new(FILE);
    let said = home.page(&["add", "--distance", "70", "--reading", "121.5", "--sd", "0.4", "--date", "2026-06-01"]);
    assert!(said.starts_with("Added 70 m at 121.5 (shot)") && said.contains("5 marks"), "{said}");
    let text = std::fs::read_to_string(home.path("marks.toml")).unwrap();
    assert!(text.starts_with(FILE), "{text}");
    let twice = home.run(&["add", "--distance", "70", "--reading", "134"]);
    assert!(twice.code == 1 && twice.err.contains("--replace") && twice.err.contains("121.5"), "{twice:?}");
    assert_eq!(std::fs::read_to_string(home.path("marks.toml")).unwrap(), text, "nothing was written");
    home.page(&["add", "--distance", "70", "--reading", "134", "--replace", "--note", "new \"string\""]);
    let list = home.json(&["list"]);
    assert_eq!(list["marks"].as_array().unwrap().len(), 5);
    assert_eq!(list["marks"][4]["note"], "new \"string\"");
    home.page(&["add", "--distance", "70", "--reading", "134.2", "--both"]);
    assert_eq!(home.json(&["list"])["marks"].as_array().unwrap().len(), 6);
    let names: Vec<_> = std::fs::read_dir(home.dir.path()).unwrap().map(|e| e.unwrap().file_name()).collect();
    assert_eq!(names, ["marks.toml"], "nothing is left behind");
}

#[test]
fn add_starts_a_file() {
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join("new.toml");
    let name = file.to_str().unwrap();
    let mark = ["marks", "add", name, "--distance", "60yd", "--reading=-14.9", "--predicted"];
    let got = run(&mark);
    assert!(got.code == 1 && got.err.contains("--eye-to-pin") && !file.exists(), "{got:?}");
    let kit = ["--eye-to-pin", "88cm", "--eye-above-arrow", "115mm", "--mass", "21", "--shaft", "5.5mm"];
    let got = run(&[&mark[..], &kit[..]].concat());
    assert!(got.code == 0 && got.out.contains("first shot close and safe"), "{got:?}");
    let got = run(&["marks", "list", name]);
    assert!(got.out.contains("60 yd") && got.out.contains("-14.9") && got.out.contains("predicted"), "{got:?}");
    let got = run(&["marks", "fit", name]);
    assert!(got.code == 1 && got.err.contains("shoot one distance in"), "{got:?}");
    let again = [&["marks", "add", name, "--distance", "20", "--reading", "3"][..], &kit[..]].concat();
    assert_eq!(run(&again).code, 2, "the file has its own geometry");
    let absurd = home.path().join("absurd.toml");
    let got =
        run(&[&["marks", "add", absurd.to_str().unwrap(), "-d", "20", "-r", "3"][..], &kit[..7], &["90mm"]].concat());
    assert!(got.code == 1 && !absurd.exists(), "{got:?}");
}

#[cfg(unix)]
#[test]
fn add_keeps_links_and_permissions_and_keeps_others_away() {
    use std::os::unix::fs::PermissionsExt as _;
    let home = Home::new(FILE);
    let (real, link) = (home.path("real.toml"), home.path("marks.toml"));
    std::fs::rename(&link, &real).unwrap();
    std::fs::set_permissions(&real, std::fs::Permissions::from_mode(0o640)).unwrap();
    std::os::unix::fs::symlink(&real, &link).unwrap();
    home.page(&["add", "-d", "70", "-r", "121.5"]);
    assert!(std::fs::symlink_metadata(&link).unwrap().is_symlink());
    assert_eq!(std::fs::metadata(&real).unwrap().permissions().mode() & 0o777, 0o640);
    std::fs::write(home.path("real.toml.new"), "another").unwrap();
    let got = home.run(&["add", "-d", "90", "-r", "170"]);
    assert!(got.code == 1 && got.err.contains("real.toml.new"), "{got:?}");
    assert_eq!(std::fs::read_to_string(home.path("real.toml.new")).unwrap(), "another");
}

#[test]
fn a_kit_file_fills_in() {
    let home = Home::new(&FILE.replace("eye_to_pin = \"88cm\"\n", "").replace("diameter_mm = 5.5\n", ""));
    let got = home.run(&["fit"]);
    assert!(got.code == 1 && got.err.contains("eye_to_pin") && got.err.contains("--kit"), "{got:?}");
    std::fs::write(home.path("kit.toml"), "eye_to_pin = \"88cm\"\nshaft = \"5.5mm\"\n").unwrap();
    assert_eq!(home.page(&["fit", "--kit", "DIR/kit.toml"]), Home::new(FILE).page(&["fit"]));
}

#[test]
fn scales_of_other_units_and_directions_tell_the_same() {
    let plain = Home::new(FILE).json(&["predict", "--at", "40"]);
    let turned = FILE.replace("name = ", "elevation_grows = \"up\"\nelevation_unit = \"1cm\"\nname = ");
    let turned = [
        ("49.9", "-4.99"),
        ("64.4", "-6.44"),
        ("91.8", "-9.18"),
        ("106.4", "-10.64"),
        ("sd = 0.2", "sd = 0.02"),
        ("sd = 0.3", "sd = 0.03"),
    ]
    .iter()
    .fold(turned.replace("115mm", "11.5cm"), |t, (a, b)| {
        t.replace(&format!("{a}\n"), &format!("{b}\n")).replace(&format!("{a} "), &format!("{b} "))
    });
    let other = Home::new(&turned).json(&["predict", "--at", "40"]);
    let (a, b) = (&plain["predicted"][0], &other["predicted"][0]);
    assert!((number(&a["reading_mm"]) - number(&b["reading_mm"])).abs() < 1e-6, "{plain} {other}");
    assert!((number(&a["reading"]) + 10.0 * number(&b["reading"])).abs() < 1e-6);
}

#[test]
fn what_is_wrong_is_named() {
    let check = |file: &str, args: &[&str], code: u8, part: &str| {
        let home = Home::new(file);
        let got = home.run(args);
        assert!(got.code == code && got.out.is_empty() && got.err.contains(part), "{part}: {got:?}");
        if code == 1 {
            let got = home.run(&[args, &["--json"]].concat());
            let value: Value = serde_json::from_str(&got.out).unwrap();
            assert!(got.code == 1 && value["schema"] == 1 && value["error"].is_string(), "{got:?}");
        }
    };
    check("eye_to_pinn = 880", &["list"], 1, "line 1, key eye_to_pinn: unknown key");
    check("eye_to_pinn = 880", &["list"], 1, "did you mean eye_to_pin?");
    check("[[mark]]\ndistance = \"18m\"\n", &["list"], 1, "key mark 1.reading: missing");
    check("[[mark]]\nreading = \"x\"\n", &["list"], 1, "line 2, key mark 1.reading: `x` cannot be used");
    check("[arrow]\nspeed = \"57 parsecs\"\n", &["list"], 1, "57m/s");
    check("arrow = 5\n", &["list"], 1, "[arrow]");
    check("= 3", &["list"], 1, "line 1");
    check(&FILE.replace("reading = 91.8", "reading = 918000"), &["list"], 1, "mark 3: 918000");
    check(&FILE.replace("mass_g = 21", "mass_g = 2100"), &["fit"], 1, "arrow.mass_g");
    check(FILE, &["predict", "--at", "390"], 1, "390 m");
    check(FILE, &["predict", "--at", "0"], 2, "between 1 and 400");
    check(FILE, &["predict", "--from", "50", "--to", "20"], 2, "--to beyond --from");
    check(FILE, &["card", "-o", "DIR/card.txt"], 2, ".svg");
    check(FILE, &["card", "-o", "no-such-folder/card.svg"], 1, "cannot be written");
    check(FILE, &["card", "-o", "DIR/card.svg", "--to", "390", "--every", "10"], 1, "--to");
    check(FILE, &["card", "-o", "DIR/card.svg", "--from", "10", "--to", "90", "--every", "0.5"], 2, "--every");
    check(FILE, &["wind", "--distance", "70", "--cross", "99"], 1, "--cross");
    check(FILE, &["slope", "--distance", "40", "--angle", "89"], 1, "--angle");
    check(FILE, &["wrong", "--distance", "30", "--offset-mm", "100", "--sd-mm", "0"], 1, "--sd-mm");
    let got = run(&["marks", "list", "no-such.toml"]);
    assert!(got.code == 1 && got.err.contains("goldward marks add"), "{got:?}");
    assert_eq!(run_with(&["marks", "list", "-"], b"").code, 2);
    assert_eq!(run_with(&["marks", "predict", "-"], b"{}").code, 2);
    assert_eq!(run_with(&["marks", "predict", "--json", "-", "--at", "20"], b"{}").code, 2);
}

#[test]
fn help_texts() {
    for (name, args) in [
        ("marks_help", &["marks", "--help"][..]),
        ("marks_help_add", &["marks", "add", "--help"]),
        ("marks_help_predict", &["marks", "predict", "--help"]),
        ("marks_help_card", &["marks", "card", "--help"]),
    ] {
        let got = run(args);
        assert_eq!((got.code, got.err.as_str()), (0, ""), "{got:?}");
        insta::assert_snapshot!(name, got.out);
    }
}

fn document(name: &str) -> String {
    std::fs::read_to_string(format!("{}/../../docs/{name}", env!("CARGO_MANIFEST_DIR"))).unwrap()
}

#[test]
fn the_documents_are_true() {
    let text = document("marks.md");
    let file = text.split("```toml\n").nth(1).unwrap().split("```").next().unwrap();
    let fit = Home::new(file).json(&["fit"]);
    assert!(fit["suspect"] == serde_json::json!([]) && fit["marks"].as_array().unwrap().len() == 2, "{fit}");
    use goldward_session::marks::toml as read;
    for (key, _) in [read::TOP, read::ARROW, read::AIR, read::MARK].concat() {
        assert!(text.contains(&format!("`{key}`")), "{key}");
    }
    // Every command of the document's first block does what it says.
    let home = tempfile::tempdir().unwrap();
    let commands = text.lines().filter_map(|l| l.strip_prefix("    goldward marks "));
    assert!(commands.clone().count() > 8);
    for command in commands {
        let mut words: Vec<String> = Vec::new();
        for (i, part) in command.split('"').enumerate() {
            if i % 2 == 1 {
                words.push(part.to_owned())
            } else {
                words.extend(part.split(' ').filter(|w| !w.is_empty()).map(str::to_owned))
            }
        }
        let at = |w: &String| if w == "card.pdf" { home.path().join(w).display().to_string() } else { w.clone() };
        let mut words: Vec<String> = words.iter().map(at).collect();
        words.insert(1, home.path().join("marks.toml").display().to_string());
        let args: Vec<&str> = std::iter::once("marks").chain(words.iter().map(String::as_str)).collect();
        let got = run(&args);
        assert_eq!((got.code, got.err.as_str()), (0, ""), "{args:?} {got:?}");
    }
    let formats = document("formats.md");
    let formats = formats.split("## JSON of sight marks").nth(1).unwrap();
    let question = formats.split("```json\n").nth(1).unwrap().split("```").next().unwrap();
    assert_eq!(run_with(&["marks", "predict", "--json", "-"], question.as_bytes()).code, 0);
}

/// Six arrows about 93 cm high at 30 m, where the mark of 50 m puts them.
const FAR_HIGH: &[u8] = b"x_mm,y_mm\n10,945\n-30,905\n25,932\n-12,921\n20,957\n-11,916\n";

#[test]
fn the_wrong_mark_is_told_before_any_click() {
    let home = Home::new(FILE);
    let marks = home.path("marks.toml");
    let read = |shots: &[u8], distance: &str, more: &[&str]| {
        let base = ["read", "-", "--distance", distance, "--face", "122", "--marks", marks.to_str().unwrap()];
        let got = run_with(&[&base, more].concat(), shots);
        assert_eq!((got.code, got.err.as_str()), (0, ""), "{got:?}");
        got.out
    };
    let page = read(FAR_HIGH, "30", &[]);
    assert!(page.starts_with("Check the mark first: this looks like the 50 m mark."), "{page}");
    let flat = page.replace("\n  ", " ");
    assert!(flat.contains("The mark of 30 m is") && flat.contains("safe overshoot"), "{page}");
    assert!(page.find("Check the mark first") < page.find("Move the sight"), "{page}");
    let out: Value = serde_json::from_str(&read(FAR_HIGH, "30", &["--json"])).unwrap();
    assert_eq!(out["wrong_mark"]["name"], "50 m");
    assert!(number(&out["wrong_mark"]["p"]) > 0.5, "{out}");
    // A group that is only high is no wrong mark.
    let high: Value = serde_json::from_str(&read(HIGH, "70", &["--json"])).unwrap();
    assert!(high["wrong_mark"].is_null() && high["elevation_refined"].is_object(), "{high}");
}

/// Six arrows about 41 cm high at 70 m.
const HIGH: &[u8] = b"x_mm,y_mm\n10,420\n-30,380\n55,455\n-12,401\n20,437\n-41,366\n";

#[test]
fn a_reading_tells_the_elevation_through_the_flight() {
    let home = Home::new(FILE);
    let marks = home.path("marks.toml");
    let read = |distance: &str, more: &[&str]| {
        let base = ["read", "-", "--distance", distance, "--face", "122", "--marks", marks.to_str().unwrap()];
        run_with(&[&base, more].concat(), HIGH)
    };
    let got = read("70", &["--json"]);
    assert_eq!((got.code, got.err.as_str()), (0, ""), "{got:?}");
    let out: Value = serde_json::from_str(&got.out).unwrap();
    let (refined, advice) = (&out["elevation_refined"], &out["advice"]);
    assert_eq!(refined["marks"], 3);
    // Similar triangles: what the advice says.
    assert!((number(&refined["similar_pin_up_mm"]) - number(&advice["pin_mm"][1])).abs() < 1e-9, "{out}");
    // A rising launch also turns the line from the bow to the middle: in a vacuum the height at D is D tan t - g D^2 / (2 v^2
    // cos^2 t), so a millimetre of height takes L / (D (1 - g D tan t / v^2)) of the tangent; at 70 m, 57 m/s and 7 degrees
    // 1.027 times the rule, with drag a little more.
    let ratio = number(&refined["pin_up_mm"]) / number(&refined["similar_pin_up_mm"]);
    assert!((1.015..1.06).contains(&ratio), "{ratio}");
    assert!((number(&refined["clicks_up"]) - (number(&refined["pin_up_mm"]) / 0.1).round()).abs() < 1e-9, "{out}");
    let page = read("70", &[]).out.replace("\n  ", " ");
    let line = format!("fitted to 3 marks, the elevation is {} clicks up", refined["clicks_up"]);
    assert!(page.contains(&line) && page.contains("by similar triangles it is"), "{page}");
    // A click is a click where the two agree.
    assert!(!read("18", &["--click", "1mm"]).out.contains("similar triangles"));
    // Nothing about marks where none were named.
    assert!(!read_without(&["--json"]).contains("elevation_refined"));
    let missing = run_with(
        &["read", "-", "--distance", "70", "--face", "122", "--marks", home.path("none.toml").to_str().unwrap()],
        HIGH,
    );
    assert!(
        missing.code == 1 && missing.err.contains("none.toml") && missing.err.contains("no such file"),
        "{missing:?}"
    );
    let far = read("400", &[]);
    assert!(far.code == 1 && far.err.contains("does not reach this far") && far.err.contains("--marks"), "{far:?}");
}

fn read_without(more: &[&str]) -> String {
    run_with(&[&["read", "-", "--distance", "70", "--face", "122"], more].concat(), HIGH).out
}
