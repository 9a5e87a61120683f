//! When to touch: the page, the JSON object and the drawing, from few rounds and a fixed seed.

mod common;
use common::run;
use serde_json::Value;

const ARCHER: [&str; 9] = ["pace", "--spread", "2.1mrad", "--distance", "70", "--face", "122", "--rounds", "40"];

fn pace(more: &[&str]) -> String {
    let got = run(&[&ARCHER[..], more].concat());
    assert_eq!((got.code, got.err.as_str()), (0, ""), "{got:?}");
    got.out
}

fn json(args: &[&str]) -> Value {
    let got = run(args);
    assert_eq!((got.code, got.err.as_str()), (0, ""), "{got:?}");
    assert!(got.out.ends_with("}\n") && got.out.lines().count() == 1);
    serde_json::from_str(&got.out).unwrap()
}

#[test]
fn the_page() {
    insta::assert_snapshot!("pace", pace(&["--sighting", "2x6", "--round", "4x6", "--trust", "unknown"]));
}

#[test]
fn the_page_of_four_distances() {
    let got = run(&["pace", "--match", "four-distances", "--spread", "2mrad", "--rounds", "20"]);
    assert_eq!((got.code, got.err.as_str()), (0, ""), "{got:?}");
    insta::assert_snapshot!("pace_four_distances", got.out);
}

#[test]
fn the_same_seed_gives_the_same_on_any_threads() {
    let one = pace(&["--json", "--round", "3x6", "--threads", "1"]);
    assert_eq!(one, pace(&["--json", "--round", "3x6", "--threads", "5"]));
    assert_ne!(one, pace(&["--json", "--round", "3x6", "--seed", "2"]));
    let four = ["pace", "--match", "four-distances", "--rounds", "6", "--json", "--threads"];
    assert_eq!(json(&[&four[..], &["1"]].concat()), json(&[&four[..], &["3"]].concat()));
}

#[test]
fn the_object() {
    let args = [
        &ARCHER[..],
        &["--json", "--round", "6x6", "--rules", "oracle,never,goldward,harmonic,never", "--offset", "30cm"],
        &["--flyers", "3%", "--drift", "0", "--click-on-face", "1mm"],
    ];
    let got = json(&args.concat());
    let mut keys: Vec<&str> = got.as_object().unwrap().keys().map(String::as_str).collect();
    keys.sort_unstable();
    let want = [
        "best_fixed",
        "first_touch",
        "goldward_gain_points",
        "goldward_gain_se_points",
        "oracle_points",
        "rounds",
        "rules",
        "scene",
        "schema",
        "seed",
        "share_of_possible",
    ];
    assert_eq!(keys, want);
    let near = |v: &Value, want: f64| assert!((v.as_f64().unwrap() - want).abs() < 1e-9, "{v} {want}");
    near(&got["scene"]["spread_mm"], 147.0);
    near(&got["scene"]["first_offset_mm"], 300.0);
    near(&got["scene"]["flyers"], 0.03);
    near(&got["scene"]["drift_mm_per_end"], 0.0);
    near(&got["scene"]["click_on_face_mm"][1], 1.0);
    let rules = got["rules"].as_array().unwrap();
    let names: Vec<&str> = rules.iter().map(|r| r["rule"].as_str().unwrap()).collect();
    assert_eq!(names, ["oracle", "never", "goldward", "harmonic"], "in the order asked for, each once");
    near(&rules[0]["given_away_points"], 0.0);
    for rule in rules {
        let given = got["oracle_points"].as_f64().unwrap() - rule["points"].as_f64().unwrap();
        near(&rule["given_away_points"], given);
        assert_eq!(rule["lost_points_by_shot"].as_array().unwrap().len(), 36);
    }
    assert!(rules[2]["points"].as_f64() > rules[1]["points"].as_f64());
    assert!(got["share_of_possible"].is_null(), "the perfect learner was not asked for");
    let first = got["first_touch"].as_array().unwrap();
    assert_eq!(first.len(), 9);
    assert_eq!(first[0]["median_shots"], 1, "half the spread, an unknown mark: {}", first[0]);
}

#[test]
fn situations_fill_in_the_round() {
    let round = |situation: &str, more: &[&str]| {
        let fixed = ["--rules", "never", "--rounds", "1", "--json"];
        let scene = json(&[&["pace", "--match", situation], &fixed[..], more].concat())["scene"].clone();
        ["distance_m", "face", "ends", "shots_per_end", "sighting_ends"].map(|key| scene[key].to_string()).join(" ")
    };
    assert_eq!(round("sets", &[]), "70.0 \"122\" 5 3 0");
    assert_eq!(round("fifteen", &[]), "50.0 \"80-6\" 5 3 0");
    assert_eq!(round("indoor", &[]), "18.0 \"40-3v\" 20 3 0");
    assert_eq!(round("ranking", &["--distance", "60"]), "60.0 \"122\" 12 6 2");
    assert_eq!(round("ranking", &["--round", "6x6"]), "70.0 \"122\" 6 6 0");
}

#[test]
fn drawings() {
    let home = tempfile::tempdir().unwrap();
    let file = |name: &str| home.path().join(name).to_str().unwrap().to_owned();
    let out = pace(&["--round", "2x6", "--sighting", "1x6", "--plot", &file("a.svg")]);
    assert!(out.contains("Drawn into"));
    let svg = std::fs::read_to_string(file("a.svg")).unwrap();
    resvg::usvg::Tree::from_str(&svg, &resvg::usvg::Options::default()).unwrap();
    for part in ["sighting", "Never touch", "Goldward, touches cost", "stroke-dasharray", "<title>"] {
        assert!(svg.contains(part), "{part}");
    }
    // One curve in each panel and one dash beside each label.
    assert_eq!(svg.matches("<polyline").count(), 11 * 4);
    pace(&["--round", "1x1", "--rules", "oracle,never", "--plot", &file("b.png"), "--json"]);
    assert!(std::fs::read(file("b.png")).unwrap().starts_with(b"\x89PNG"));
}

#[test]
fn what_cannot_be_is_refused() {
    let check = |args: &[&str], code: u8, part: &str| {
        let got = run(&[&["pace"], args].concat());
        assert_eq!(got.code, code, "{got:?}");
        assert!(got.out.is_empty() && got.err.starts_with("error:") && got.err.contains(part), "{got:?}");
    };
    let at = ["-d", "70", "-f", "122"];
    let with = |more: &[&'static str]| [&at[..], more].concat();
    check(&["-d", "70"], 2, "--face");
    check(&with(&["--round", "12"]), 2, "12x6");
    check(&with(&["--round", "200x6"]), 2, "720");
    check(&with(&["--round", "120x6", "--sighting", "1x6"]), 2, "720");
    check(&with(&["--sighting", "2x3"]), 2, "write 2x6");
    check(&with(&["--rules", "luck"]), 2, "three-then-six");
    check(&with(&["--rounds", "0"]), 2, "1..=1000000");
    check(&with(&["--flyers", "60%"]), 2, "at most 50%");
    check(&with(&["--drift=-1"]), 2, "--drift");
    check(&with(&["--offset", "11m"]), 2, "10000 mm");
    check(&with(&["--click-on-face", "0mm"]), 2, "--click-on-face");
    check(&with(&["--click-on-face", "1mm", "--click", "0.1mm"]), 2, "--click");
    check(&with(&["--trust", "0"]), 1, "between");
    check(&with(&["--kit", "no-such.toml"]), 1, "no-such.toml");
    check(&["--match", "four-distances", "--distance", "70"], 2, "four-distances");
    check(&["--match", "duel"], 2, "ranking");
}
