//! Following event by event: one answer a line, undo and redo, bad lines, and going on after a crash.

mod common;
use common::{Outcome, run, run_with};
use serde_json::{Value, json};

const SETTINGS: &str = "{\"distance_m\":70,\"face\":\"122\",\"spread_mrad\":1.5,\"trust\":1,\"ends\":12,\"shots_per_end\":6,\
                        \"sighting_ends\":1,\"drift_mrad_per_end\":0.1,\"setting_sd_mm\":0.02}";

/// A round with every kind of event.
const EVENTS: [&str; 22] = [
    SETTINGS,
    "{\"shot\":{\"x_mm\":-212.30000000000001,\"y_mm\":150.123456789012345}}",
    "{\"shot\":{\"call\":\"7@11\"}}",
    "{\"shot\":{\"x_mm\":-160,\"y_mm\":110,\"felt\":\"good\"}}",
    "{\"touch\":{\"right_mm\":-2.1,\"up_mm\":1.4}}",
    "{\"shot\":{\"x_mm\":-40,\"y_mm\":210}}",
    "{\"felt\":{\"shot\":4,\"was\":\"bad\"}}",
    "{\"undo\":true}",
    "{\"undo\":true}",
    "{\"redo\":true}",
    "{\"redo\":true}",
    "{\"end\":true}",
    "{\"shot\":{\"x_mm\":12,\"y_mm\":-30}}",
    "not an event",
    "{\"time_left_s\":20}",
    "{\"felt\":{\"shot\":5,\"was\":\"good\"}}",
    "{\"felt\":{\"shot\":5,\"was\":\"\"}}",
    "{\"touch\":{\"up_mm\":0.1}}",
    "{\"distance\":{\"distance_m\":50,\"face\":\"80\",\"ends\":2}}",
    "{\"shot\":{\"call\":\"X\"}}",
    "{\"shot\":{\"x_mm\":30,\"y_mm\":44}}",
    "{\"end\":true}",
];

fn follow(lines: &[&str]) -> Vec<Value> {
    let got = run_with(&["follow"], (lines.join("\n") + "\n").as_bytes());
    assert_eq!(got.err, "");
    let out = values(&got);
    assert_eq!(out.len(), lines.len(), "one line out for each line in");
    assert_eq!(got.code, u8::from(out.iter().any(|v| !v["error"].is_null())));
    out
}

fn values(got: &Outcome) -> Vec<Value> {
    assert!(got.out.is_empty() || got.out.ends_with('\n'));
    got.out.lines().map(|l| serde_json::from_str(l).unwrap()).collect()
}

/// An answer without what it echoes.
fn bare(answer: &Value) -> Value {
    let mut answer = answer.clone();
    for key in ["event", "undone", "redone"] {
        answer.as_object_mut().unwrap().remove(key);
    }
    answer
}

fn shot(x: f64, y: f64) -> String {
    format!("{{\"shot\":{{\"x_mm\":{x},\"y_mm\":{y}}}}}")
}

#[test]
fn every_line_is_answered_and_echoed() {
    let out = follow(&EVENTS);
    for (line, answer) in EVENTS.iter().zip(&out) {
        if line.starts_with('n') {
            assert_eq!(answer, &json!({ "schema": 1, "line": 14, "error": answer["error"] }));
            continue;
        }
        let mut keys: Vec<&str> = answer.as_object().unwrap().keys().map(String::as_str).collect();
        keys.retain(|k| !["undone", "redone"].contains(k));
        keys.sort_unstable();
        let want = [
            "advice",
            "centre_cov_mm2",
            "centre_mm",
            "dropped_mass",
            "event",
            "expected_score_now",
            "notices",
            "p_class",
            "pattern",
            "schema",
            "shots",
            "spread_cov_mm2",
            "wait",
        ];
        assert_eq!(keys, want, "{line}");
        let wait = &answer["wait"];
        assert!(wait["points_now"].is_f64() && wait["points_never"].is_f64() && wait["why"].is_string(), "{wait}");
        assert!(wait["points_wait"].as_array().unwrap().len() <= 12);
        assert_eq!(answer["p_class"].as_array().unwrap().len(), answer["shots"].as_u64().unwrap() as usize);
        if wait["action"] == "touch" {
            assert_eq!(answer["advice"]["action"], "move");
            assert_ne!(answer["advice"]["clicks"], json!([0, 0]));
        }
        assert!(["touch", "wait", "leave"].contains(&wait["action"].as_str().unwrap()));
    }
    assert_eq!(out[0]["shots"], 0);
    assert_eq!(out[0]["centre_mm"], json!([0.0, 0.0]), "the prior");
    let settings = &out[0]["event"]["settings"];
    assert_eq!((&settings["worth"], &settings["ends"]), (&json!(4.0), &json!(12)), "defaults are told: {settings}");
    assert_eq!(out[2]["event"], json!({ "shot": { "call": "7@11" } }));
    assert_eq!(out[3]["event"], json!({ "shot": { "x_mm": -160.0, "y_mm": 110.0, "felt": "good" } }));
    assert_eq!(out[7]["undone"], json!({ "felt": { "shot": 4, "was": "bad" } }));
    assert_eq!(out[8]["undone"], json!({ "shot": { "x_mm": -40.0, "y_mm": 210.0 } }));
    assert_eq!(out[9]["redone"], out[8]["undone"]);
    assert_eq!(bare(&out[10]), bare(&out[6]), "what was undone is there again");
    assert_eq!(bare(&out[8]), bare(&out[4]));
    assert_eq!(bare(&out[16]), bare(&out[14]), "a mark taken back leaves no trace");
    let next = &out[18]["event"]["distance"];
    assert_eq!((&next["spread_mrad"], &next["setting_sd_mm"]), (&json!(1.5), &json!(0.02)), "the kit comes along");
    assert_eq!((&next["ends"], &next["shots_per_end"], &next["sighting_ends"]), (&json!(2), &json!(6), &json!(0)));
    assert_eq!(out[18]["shots"], 0);
    assert_ne!(out[18]["centre_mm"][0], json!(0.0), "windage comes along");
}

#[test]
fn it_says_what_the_batch_says() {
    let shots = [
        "{\"x_mm\":-60.5,\"y_mm\":112}",
        "{\"call\":\"8@11\"}",
        "{\"x_mm\":-90,\"y_mm\":140,\"felt\":\"bad\"}",
        "{\"x_mm\":-70,\"y_mm\":90}",
        "{\"x_mm\":-75,\"y_mm\":120}",
        "{\"x_mm\":300,\"y_mm\":-20}",
    ];
    let head = "\"distance_m\":70,\"face\":\"122\",\"spread_mrad\":2";
    let mut lines = vec![format!("{{{head},\"shots_left\":40}}")];
    lines.extend(shots.iter().map(|s| format!("{{\"shot\":{s}}}")));
    let out = follow(&lines.iter().map(String::as_str).collect::<Vec<_>>());
    for n in 1..=shots.len() {
        let line = format!("{{{head},\"shots_left\":{},\"shots\":[{}]}}", 40 - n, shots[..n].join(","));
        let batch = values(&run_with(&["read", "--batch"], line.as_bytes()));
        let mut got = bare(&out[n]);
        got.as_object_mut().unwrap().remove("wait");
        assert_eq!(got, batch[0], "after shot {n}");
    }
}

#[test]
fn a_touch_is_carried_exactly() {
    let head = "\"distance_m\":70,\"face\":\"122\",\"spread_mrad\":2,\"drift_mrad_per_end\":0";
    let shots: Vec<String> = [(-210.0, 300.0), (-190.0, 280.0), (-200.0, 310.0)].map(|(x, y)| shot(x, y)).to_vec();
    let settings = format!("{{{head}}}");
    let lines: Vec<&str> = std::iter::once(settings.as_str()).chain(shots.iter().map(String::as_str)).collect();
    let out = follow(&lines);
    let before = out.last().unwrap();
    assert_eq!(before["wait"]["action"], "touch", "{before}");
    // What was dialled is not what was advised.
    let touched = [&lines[..], &["{\"touch\":{\"right_mm\":-2.5,\"up_mm\":3.3}}"]].concat();
    let after = follow(&touched).pop().unwrap();
    let number = |v: &Value, i: usize| v["centre_mm"][i].as_f64().unwrap();
    for (i, pin) in [-2.5, 3.3].into_iter().enumerate() {
        let want = number(before, i) - pin * 70.0 / 0.88;
        assert!((number(&after, i) - want).abs() < 1e-6, "{after}");
    }
}

#[test]
fn errors_name_the_place_and_the_remedy_and_change_nothing() {
    let good = follow(&[SETTINGS, "{\"shot\":{\"x_mm\":1,\"y_mm\":2}}", "{\"end\":true}"]);
    let check = |line: &str, parts: &[&str]| {
        let out = follow(&[SETTINGS, "{\"shot\":{\"x_mm\":1,\"y_mm\":2}}", line, "{\"end\":true}"]);
        let error = out[2]["error"].as_str().unwrap_or_else(|| panic!("{line} was taken: {}", out[2]));
        assert_eq!(out[2]["line"], 3);
        for part in parts {
            assert!(error.contains(part), "`{part}` is missing in `{error}`");
        }
        assert_eq!((&out[1], &out[3]), (&good[1], &good[2]));
    };
    check("", &["the line is empty"]);
    check("[1]", &["not a JSON object"]);
    check("{\"shot\":", &["not valid JSON"]);
    check(SETTINGS, &["taken already", "{\"distance\":{...}}"]);
    check("{}", &["no event", "time_left_s"]);
    check("{\"hit\":true}", &["no event", "send one of"]);
    check("{\"end\":true,\"undo\":true}", &["more than one"]);
    check("{\"end\":false}", &["end: ", "give true"]);
    check("{\"end\":1}", &["end: it cannot be read: `invalid type", "give true"]);
    check("{\"shot\":{\"x_mm\":1}}", &["shot.y_mm: missing"]);
    check("{\"shot\":{}}", &["shot: the shot has no position"]);
    check("{\"shot\":7}", &["shot: it cannot be read: `invalid type", "expected an object"]);
    check("{\"shot\":{\"call\":\"11@3\"}}", &["shot.call", "no 11"]);
    check("{\"shot\":{\"x_mm\":1,\"y_mm\":2,\"felt\":\"meh\"}}", &["shot.felt", "good, bad"]);
    check("{\"shot\":{\"x_mm\":90000,\"y_mm\":90000}}", &["shot: ", "within 100 m"]);
    check("{\"touch\":{}}", &["touch: the touch moves nothing", "right_mm"]);
    check("{\"touch\":{\"right_mm\":201}}", &["touch: ", "between -200 and 200"]);
    check("{\"felt\":{\"shot\":2,\"was\":\"bad\"}}", &["felt.shot", "no shot 2", "1 to 1"]);
    check("{\"felt\":{\"shot\":0,\"was\":\"bad\"}}", &["felt.shot"]);
    check("{\"felt\":{\"shot\":-1,\"was\":\"bad\"}}", &["felt.shot", "whole number"]);
    check("{\"felt\":{\"was\":\"bad\"}}", &["felt.shot: missing"]);
    check("{\"felt\":{\"shot\":1}}", &["felt.was: missing"]);
    check("{\"redo\":true}", &["nothing to do again", "undo"]);
    check("{\"time_left_s\":-1}", &["time_left_s", "between 0 and"]);
    check("{\"distance\":{\"face\":\"80\"}}", &["distance.distance_m: missing"]);
    check("{\"distance\":{\"distance_m\":50,\"face\":\"81\"}}", &["distance.face: unknown face"]);
    check("{\"distance\":5}", &["distance: it cannot be read: `invalid type", "object"]);
}

#[test]
fn settings_come_first_and_can_be_sent_again_when_bad() {
    let check = |line: &str, part: &str| {
        let out = follow(&[line, SETTINGS, "{\"shot\":{\"x_mm\":1,\"y_mm\":2}}"]);
        assert!(out[0]["error"].as_str().unwrap().contains(part), "{}", out[0]);
        assert_eq!(out[2]["shots"], 1);
    };
    check("{\"shot\":{\"x_mm\":1,\"y_mm\":2}}", "no settings yet");
    check("{\"face\":\"122\"}", "distance_m: missing");
    check("{\"distance_m\":70,\"face\":\"122\",\"shots_per_end\":0}", "shots_per_end");
    check("{\"distance_m\":70,\"face\":\"122\",\"ends\":200}", "ends: 1200 shots are more");
    check("{\"distance_m\":70,\"face\":\"122\",\"shots_left\":721}", "ends: 721 shots are more");
    check("{\"distance_m\":70,\"face\":\"122\",\"ends\":-1}", "ends: ");
    check("{\"distance_m\":70,\"face\":\"122\",\"drift_mrad_per_end\":-1}", "drift_mrad_per_end: -1 is out of range");
    check(
        "{\"distance_m\":70,\"face\":\"122\",\"drift_mrad_per_end\":\"x\"}",
        "drift_mrad_per_end: it cannot be read: `invalid type",
    );
    check(
        "{\"distance_m\":70,\"face\":\"122\",\"shots\":[{\"call\":\"X\"}]}",
        "shots: the settings come without shots",
    );
    let out = follow(&["{\"distance_m\":70,\"face\":\"122\",\"shots\":[]}", "{\"undo\":true}"]);
    assert_eq!(out[0]["event"]["settings"]["ends"], 1);
    assert_eq!(out[0]["event"]["settings"]["shots_per_end"], 36);
    assert!(out[1]["error"].as_str().unwrap().contains("nothing to undo"));
}

#[test]
fn no_touch_without_time_and_none_without_arrows() {
    let lines = [
        "{\"distance_m\":70,\"face\":\"122\",\"ends\":2,\"shots_per_end\":3}",
        "{\"shot\":{\"x_mm\":400,\"y_mm\":0}}",
        "{\"time_left_s\":5}",
        "{\"end\":true}",
        "{\"end\":true}",
    ];
    let out = follow(&lines);
    let action = |i: usize| out[i]["wait"]["action"].as_str().unwrap();
    assert_eq!([1, 2, 3, 4].map(action), ["touch", "wait", "touch", "leave"]);
    assert!(out[2]["wait"]["why"].as_str().unwrap().contains("time"));
}

#[test]
fn the_next_distance_is_undone_and_redone_with_all_that_came_after() {
    let mut lines = EVENTS.to_vec();
    lines.extend(["{\"undo\":true}"; 5]);
    lines.extend(["{\"redo\":true}"; 5]);
    let out = follow(&lines);
    assert_eq!(out[25]["undone"], out[18]["event"], "the distance itself");
    assert_eq!(bare(&out[25]), bare(&out[17]));
    assert_eq!(bare(&out[31]), bare(&out[21]));
    assert_eq!(out[28]["redone"], out[18]["event"]);
}

#[test]
fn a_killed_follow_goes_on_from_its_own_output() {
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join("out.jsonl");
    let name = file.to_str().unwrap();
    let input = |lines: &[&str]| (lines.join("\n") + "\n").into_bytes();
    let whole = run_with(&["follow"], &input(&EVENTS)).out;
    let answers: Vec<&str> = whole.lines().collect();
    for cut in 0..=EVENTS.len() {
        let mut kept: String = answers[..cut].iter().map(|l| format!("{l}\n")).collect();
        // Killed while writing the next answer.
        let half = answers.get(cut).map_or("", |next| &next[..next.len() / 2]);
        kept.push_str(half);
        std::fs::write(&file, &kept).unwrap();
        let got = run_with(&["follow", "--resume", name], &input(&EVENTS[cut..]));
        let warned = got.err.starts_with("warning: ") && got.err.contains(&format!("line {} is cut off", cut + 1));
        assert_eq!(warned, !half.is_empty(), "{}", got.err);
        let rest: Vec<&str> = got.out.lines().collect();
        for (i, (got, want)) in rest.iter().zip(&answers[cut..]).enumerate() {
            if !want.contains("\"error\"") {
                assert_eq!(got, want, "line {i} after {cut}");
            }
        }
        // Appended to the same file, the first answer stands behind the half one; it is found there.
        std::fs::write(&file, kept + &got.out).unwrap();
        let once_more = "{\"shot\":{\"x_mm\":5,\"y_mm\":6}}\n";
        let again = run_with(&["follow", "--resume", name], once_more.as_bytes());
        let direct = run_with(&["follow"], &[input(&EVENTS), once_more.into()].concat()).out;
        assert_eq!(again.out.lines().next(), direct.lines().last(), "after {cut}");
    }
}

#[test]
fn what_is_no_output_of_a_follow_is_refused() {
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join("out.jsonl");
    let name = file.to_str().unwrap();
    let check = |text: &str, parts: &[&str]| {
        std::fs::write(&file, text).unwrap();
        let got = run(&["follow", "--resume", name]);
        assert_eq!((got.code, got.out.as_str()), (1, ""), "{got:?}");
        for part in parts {
            assert!(got.err.contains(part), "`{part}` is missing in\n{}", got.err);
        }
    };
    check("hello\nworld\n", &["line 1", "no answer"]);
    check("{\"schema\":1}\n", &["line 1: event: missing"]);
    check("{\"schema\":1,\"event\":{\"end\":true}}\n", &["line 1", "no settings yet"]);
    let got = run(&["follow", "--resume", "no-such.jsonl"]);
    assert!(got.code == 1 && got.err.contains("no-such.jsonl"), "{got:?}");
    std::fs::write(&file, "").unwrap();
    let got = run_with(&["follow", "--resume", name], SETTINGS.as_bytes());
    assert_eq!((got.code, got.out.lines().count()), (0, 1), "an empty file is a fresh start");
}

#[test]
fn a_touch_that_carries_shots_out_of_reach_is_refused_and_forgotten() {
    let far = "{\"touch\":{\"right_mm\":200}}";
    let mut lines = vec![SETTINGS, "{\"shot\":{\"x_mm\":1,\"y_mm\":2}}"];
    lines.extend([far; 8]);
    lines.push("{\"end\":true}");
    let out = follow(&lines);
    let refused = out.iter().filter(|v| !v["error"].is_null()).count();
    assert!((1..8).contains(&refused), "{refused}");
    assert!(out.last().unwrap()["error"].is_null());
}

/// What goes away when the first line is written.
struct Gone;

impl std::io::Write for Gone {
    fn write(&mut self, _: &[u8]) -> std::io::Result<usize> {
        Err(std::io::ErrorKind::BrokenPipe.into())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

#[test]
fn it_ends_quietly_when_nobody_reads() {
    let (mut input, mut err) = (SETTINGS.as_bytes(), Vec::new());
    let code = goldward::run(
        ["goldward", "follow"].map(Into::into),
        &mut goldward::terminal::Terminal {
            input: &mut input,
            out: &mut Gone,
            err: &mut err,
            colour: false,
            width: 80,
            out_is_terminal: false,
            err_is_terminal: false,
            cores: 1,
            token: None,
            language: None,
        },
    );
    assert_eq!((code, err.as_slice()), (0, &b""[..]));
}
