//! Arrow by arrow, comparing and tuning: pages, JSON objects and drawings.

mod common;
use common::{Outcome, run, run_with};
use serde_json::Value;

const MAY: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/demo/arrows-may.csv");
const JUNE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/demo/arrows-june.csv");

fn fine(got: Outcome) -> String {
    assert_eq!((got.code, got.err.as_str()), (0, ""), "{got:?}");
    got.out
}

fn json(args: &[&str]) -> Value {
    let out = fine(run(args));
    assert!(out.ends_with("}\n") && out.lines().count() == 1);
    serde_json::from_str(&out).unwrap()
}

/// A group about `(x, y)` mm as a CSV: `n` shots on a spiral, in ends of six, so that it is the same everywhere.
fn group(x: f64, y: f64, spread: f64, n: usize) -> String {
    let mut text = "end,x_mm,y_mm\n".to_owned();
    for i in 0..n {
        let (s, c) = (2.4 * i as f64).sin_cos();
        let r = spread * ((i as f64 + 0.5) / n as f64 * 3.0).sqrt();
        text.push_str(&format!("{},{:.1},{:.1}\n", 1 + i / 6, x + r * c, y + r * s));
    }
    text
}

#[test]
fn the_page_of_a_fleet_names_the_bad_arrow() {
    let out = fine(run(&["fleet", MAY, JUNE, "--distance", "70"]));
    assert!(
        out.contains("Inspect arrow 7: it lands") && out.contains("low-right") && out.contains("felt_bad = ["),
        "{out}"
    );
    let words = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("Never shoot a damaged arrow") && !out.contains("Inspect arrow 1:"), "{out}");
    insta::assert_snapshot!("fleet", out);
}

#[test]
fn the_object_of_a_fleet() {
    let got = json(&["fleet", MAY, JUNE, "-d", "70", "--json", "--amount", "0.5mrad", "--fdr", "5%"]);
    assert_eq!(
        (got["schema"].as_u64(), got["shots"].as_u64(), got["sessions"].as_u64()),
        (Some(1), Some(288), Some(2))
    );
    let arrows = got["arrows"].as_array().unwrap();
    let accused: Vec<&str> =
        arrows.iter().filter(|a| a["accused"] == true).map(|a| a["arrow"].as_str().unwrap()).collect();
    assert_eq!((arrows.len(), accused), (12, vec!["7"]));
    assert_eq!(arrows[9]["arrow"], "10", "numbers stand in their order");
    assert!((got["amount_mrad"].as_f64().unwrap() - 0.5).abs() < 1e-12);
    assert_eq!(got["trends"].as_array().unwrap().len(), 2);
    assert!(got["felt"]["likelihood_ratio"].as_f64().unwrap() > 1.0);
    // The same shots twice as far away, as angles, are the same.
    let far = json(&["fleet", MAY, JUNE, "-d", "140,140", "--json"]);
    let near = json(&["fleet", MAY, JUNE, "-d", "70", "--json"]);
    let ratio = near["spread_mrad"].as_f64().unwrap() / far["spread_mrad"].as_f64().unwrap();
    assert!((ratio - 2.0).abs() < 1e-3);
}

#[test]
fn calls_stand_for_the_middle_of_their_cells() {
    let mut csv = "arrow,call\n".to_owned();
    for i in 0..16 {
        csv.push_str(&format!("{},{}@{}\n", i % 4, 7 + i % 3, 1 + i % 12));
    }
    csv.push_str("1,M\n");
    let got = run_with(&["fleet", "-", "-d", "18", "-f", "40"], csv.as_bytes());
    assert_eq!(got.code, 0, "{got:?}");
    assert!(got.err.contains("1 shot without a place") && got.err.contains("16 shots called"), "{}", got.err);
    let got = run_with(&["fleet", "-", "-d", "18"], csv.as_bytes());
    assert!(got.code == 1 && got.err.contains("--face"), "{got:?}");
}

#[test]
fn a_comparison() {
    let home = tempfile::tempdir().unwrap();
    let file = |name: &str, text: &str| {
        let path = home.path().join(name);
        std::fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_owned()
    };
    let before = file("before.csv", &group(0.0, 0.0, 100.0, 72));
    let after = file("after.csv", &group(60.0, 0.0, 60.0, 72));
    let plot = home.path().join("a.svg").to_str().unwrap().to_owned();
    let out = fine(run(&["compare", &before, &after, "--distance", "70", "--plot", &plot]));
    assert!(
        out.starts_with("B is tighter than A")
            && out.contains("over 99 times in 100")
            && out.contains("six arrows cannot"),
        "{out}"
    );
    insta::assert_snapshot!("compare", out.replace(&plot, "a.svg"));
    let svg = std::fs::read_to_string(&plot).unwrap();
    resvg::usvg::Tree::from_str(&svg, &resvg::usvg::Options::default()).unwrap();
    let got = json(&["compare", &before, &after, "-d", "70", "--json", "--in-turn"]);
    let ratio = got["spread"]["ratio"].as_f64().unwrap();
    assert!((ratio - 0.6).abs() < 0.06 && got["paired"]["pairs"] == 12, "{got}");
    assert!((got["centre"]["difference_mrad"][0].as_f64().unwrap() - 60.0 / 70.0).abs() < 0.1, "{got}");
    // The curve of 10 % reaches the chance asked for near the arrows that the page tells.
    let power = home.path().join("power.svg").to_str().unwrap().to_owned();
    let out = fine(run(&["compare", &before, &after, "-d", "70", "--tell", "15%", "--power", &power]));
    assert!(out.ends_with("power.svg\n"), "{out}");
    let svg = std::fs::read_to_string(&power).unwrap();
    resvg::usvg::Tree::from_str(&svg, &resvg::usvg::Options::default()).unwrap();
    assert!(svg.contains("15 %") && svg.contains("your 72") && svg.matches("<polyline").count() == 3, "{svg}");
    let short = file("short.csv", &group(0.0, 0.0, 100.0, 12));
    let got = run(&["compare", &short, &short, "-d", "70", "--in-turn"]);
    assert!(got.code == 1 && got.err.contains("2 ends are too few"), "{got:?}");
}

#[test]
fn tuning() {
    let home = tempfile::tempdir().unwrap();
    let file = |name: &str, text: &str| {
        let path = home.path().join(name);
        std::fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_owned()
    };
    let fletched = file("f.csv", &group(5.0, 0.0, 30.0, 6));
    let bare = file("b.csv", &group(-70.0, 4.0, 30.0, 6));
    let args = ["tune", &fletched, &bare, "-d", "18", "--spread", "1.7mrad"];
    let right = fine(run(&[&args[..], &["--hand", "right"]].concat()));
    assert!(right.contains("acts too stiff") && right.contains("Common practice, no source"), "{right}");
    let left = fine(run(&[&args[..], &["--hand", "left"]].concat()));
    assert!(left.contains("acts too weak") && !left.contains("acts too stiff"));
    assert!(fine(run(&args)).contains("hand that draws"));
    insta::assert_snapshot!("tune", right);
    let object = json(&[&args[..], &["--hand", "left", "--json"]].concat());
    assert_eq!(object["possibilities"][0][0], "acts_weak");
    let at = |d: f64, x: f64| file(&format!("{d}.csv"), &group(x, 0.0, 1.5 * d, 12));
    let files = [at(18.0, 0.0), at(30.0, 120.0), at(50.0, 320.0), at(70.0, 520.0)];
    let mut args = vec!["tune", "--walk", "-d", "18,30,50,70", "--spread", "1.5mrad"];
    args.extend(files.iter().map(String::as_str));
    let walk = fine(run(&args));
    assert!(walk.contains("slanting line"), "{walk}");
    insta::assert_snapshot!("walk", walk);
    args.push("--json");
    let plot = home.path().join("walk.png").to_str().unwrap().to_owned();
    args.extend(["--plot", &plot]);
    let object = json(&args);
    assert!((object["slope_mrad"].as_f64().unwrap() - 10.0).abs() < 0.5 && object["shape"] == "slant", "{object}");
    assert!(std::fs::read(&plot).unwrap().starts_with(b"\x89PNG"));
}

#[test]
fn what_cannot_be_is_refused() {
    let check = |args: &[&str], code: u8, part: &str| {
        let got = run(args);
        assert_eq!(got.code, code, "{got:?}");
        assert!(got.out.is_empty() && got.err.starts_with("error:") && got.err.contains(part), "{got:?}");
    };
    check(&["fleet", MAY], 2, "--distance");
    check(&["fleet", MAY, "-d", "70,50"], 2, "2 distances for 1 groups");
    check(&["fleet", MAY, "-d", "70", "--fdr", "20"], 2, "10%");
    check(&["fleet", MAY, "-d", "70", "--fdr", "90%"], 1, "--fdr");
    check(&["fleet", "no-such.csv", "-d", "70"], 1, "no-such.csv");
    check(&["compare", MAY, "-d", "70"], 2, "AFTER");
    check(&["tune", MAY, "-d", "70"], 2, "no pairs");
    check(&["tune", "--walk", MAY, "-d", "70"], 1, "two");
    let got = run_with(&["fleet", "-", "-d", "70"], b"x_mm,y_mm\n1,2\n3,4\n");
    assert!(got.code == 1 && got.err.contains("an arrow number"), "{got:?}");
}
