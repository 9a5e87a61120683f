//! The batch: order, bad lines, exit codes and the contract of the keys.

mod common;
use common::run_with;
use serde_json::Value;

fn group(x: i64, shots: usize) -> String {
    let shots: Vec<String> =
        (0..shots).map(|i| format!("{{\"x_mm\":{},\"y_mm\":{}}}", x + 7 * i as i64, 3 * i)).collect();
    format!("{{\"distance_m\":70,\"face\":\"122\",\"shots\":[{}]}}", shots.join(","))
}

fn run(input: &[u8], threads: &str) -> (u8, Vec<Value>) {
    let got = run_with(&["read", "--batch", "--threads", threads], input);
    assert!(got.err.is_empty(), "{}", got.err);
    assert!(got.out.is_empty() || got.out.ends_with('\n'));
    (got.code, got.out.lines().map(|l| serde_json::from_str(l).unwrap()).collect())
}

fn keys(value: &Value) -> Vec<&str> {
    value.as_object().unwrap().keys().map(String::as_str).collect()
}

#[test]
fn the_keys_are_the_contract() {
    let line = "{\"distance_m\":70,\"face\":\"122\",\"shaft_mm\":5.5,\"shots\":[{\"x_mm\":1.0,\"y_mm\":2.0,\"felt\":\"bad\"},\
                {\"call\":\"9@4:30\"}],\"spread_mrad\":1.5,\"worth\":4,\"trust\":1,\"eye_to_pin_mm\":880,\"click_mm\":[0.1,0.1],\
                \"setting_sd_mm\":0.0,\"shots_left\":66,\"touch_cost_points\":0.5,\"unmarked\":[0.91,0.08,0.01]}";
    let (code, out) = run(line.as_bytes(), "1");
    assert_eq!((code, out.len()), (0, 1));
    let mut got = keys(&out[0]);
    got.sort_unstable();
    assert_eq!(
        got,
        [
            "advice",
            "centre_cov_mm2",
            "centre_mm",
            "dropped_mass",
            "expected_score_now",
            "notices",
            "p_class",
            "pattern",
            "schema",
            "shots",
            "spread_cov_mm2",
        ]
    );
    let mut got = keys(&out[0]["advice"]);
    got.sort_unstable();
    assert_eq!(
        got,
        [
            "action",
            "best_clicks",
            "clicks",
            "gain_interval_points",
            "gain_over_waiting_points",
            "gain_points",
            "look_after",
            "more_shots",
            "p_better",
            "pin_mm",
            "reason",
            "shift_mm",
        ]
    );
    assert_eq!(out[0]["schema"], 1);
    assert_eq!(out[0]["shots"], 2);
    assert_eq!(out[0]["p_class"].as_array().unwrap().len(), 2);
    assert_eq!(keys(&out[0]["pattern"]).len(), 4);
}

#[test]
fn missing_keys_take_the_defaults() {
    let bare = "{\"distance_m\":70,\"face\":\"122\",\"shots\":[{\"x_mm\":90,\"y_mm\":120}]}\n";
    let full = "{\"distance_m\":70,\"face\":\"122\",\"shaft_mm\":5.5,\"shots\":[{\"x_mm\":90,\"y_mm\":120}],\"spread_mrad\":3,\
                \"worth\":4,\"trust\":0.1,\"eye_to_pin_mm\":880,\"click_mm\":[0.1,0.1],\"setting_sd_mm\":0,\"shots_left\":36,\
                \"touch_cost_points\":0.5,\"unmarked\":[0.91,0.08,0.01],\"unheard_of\":{\"x\":[1]}}\n";
    let (code, out) = run(format!("{bare}{full}").as_bytes(), "1");
    assert_eq!(code, 0);
    assert_eq!(out[0], out[1], "and keys that are not known are ignored");
}

#[test]
fn answers_come_in_order_whatever_the_threads() {
    let input: String = (0..600).map(|i| group(i, 1 + (i as usize * 7) % 5) + "\n").collect();
    let (code, one) = run(input.as_bytes(), "1");
    assert_eq!((code, one.len()), (0, 600));
    for (i, line) in one.iter().enumerate() {
        assert_eq!(line["shots"], 1 + (i * 7) % 5);
    }
    let (_, many) = run(input.as_bytes(), "7");
    assert_eq!(one, many);
}

#[test]
fn a_bad_line_is_told_in_its_place_and_the_rest_goes_on() {
    let lines = [
        group(1, 2),
        "not json".to_owned(),
        group(2, 3),
        String::new(),
        "{\"distance_m\":70,\"face\":\"122\",\"shots\":[]}".to_owned(),
        group(3, 1),
    ];
    let (code, out) = run((lines.join("\r\n") + "\n").as_bytes(), "3");
    assert_eq!((code, out.len()), (1, 6));
    for (i, line) in out.iter().enumerate() {
        if [1, 3, 4].contains(&i) {
            assert_eq!(keys(line), ["error", "line", "schema"], "{line}");
            assert_eq!(line["line"], i + 1);
        } else {
            assert!(line["error"].is_null(), "{line}");
        }
    }
}

#[test]
fn errors_name_the_key_and_the_remedy() {
    let check = |line: &str, parts: &[&str]| {
        let (code, out) = run(line.as_bytes(), "1");
        assert_eq!((code, out.len()), (1, 1), "{line}");
        let error = out[0]["error"].as_str().unwrap();
        for part in parts {
            assert!(error.contains(part), "`{part}` is missing in `{error}`");
        }
    };
    let with =
        |more: &str| format!("{{\"distance_m\":70,\"face\":\"122\",\"shots\":[{{\"x_mm\":1,\"y_mm\":2}}],{more}}}");
    check("{\"face\":\"122\"}", &["distance_m: missing", "such as 70"]);
    check("{\"distance_m\":70}", &["face: missing"]);
    check("{\"distance_m\":70,\"face\":\"122\"}", &["shots: missing"]);
    check("{\"distance_m\":70,\"face\":122}", &["face: it cannot be read: `invalid type", "in quotes"]);
    check("{\"distance_m\":0,\"face\":\"122\"}", &["distance_m", "between 1 and 400 m"]);
    check("{\"distance_m\":70,\"face\":\"121\"}", &["face: unknown face `121`", "field-20"]);
    check(&with("\"shaft_mm\":\"thin\""), &["shaft_mm: ", "invalid type", "in mm"]);
    check(&with("\"click_mm\":[0.1]"), &["click_mm", "windage and elevation"]);
    check(&with("\"click_mm\":[0,0.1]"), &["click_mm", "between 0.001 and 20"]);
    check(&with("\"unmarked\":[0.5,0.1,0.1]"), &["unmarked", "add up to 1"]);
    check(&with("\"shots_left\":-1"), &["shots_left", "whole number"]);
    check(&with("\"worth\":1e999"), &["worth", "give a number"]);
    check(&with("\"worth\":1,\"worth\":2"), &["duplicate field"]);
    let shot =
        |shot: &str| format!("{{\"distance_m\":70,\"face\":\"122\",\"shots\":[{{\"x_mm\":1,\"y_mm\":2}},{shot}]}}");
    check(&shot("{\"x_mm\":1}"), &["shots[1].y_mm: missing"]);
    check(&shot("{\"y_mm\":1}"), &["shots[1].x_mm: missing"]);
    check(&shot("{\"x_mm\":\"1\",\"y_mm\":2}"), &["shots[1].x_mm: it cannot be read: `invalid type"]);
    check(
        &shot("{\"x_mm\":1,\"y_mm\":2,\"end\":\"1\"}"),
        &["shots[1].end: it cannot be read: `invalid type", "give a whole number"],
    );
    check(&shot("{\"call\":\"12@13\"}"), &["shots[1].call", "4:30"]);
    check(&shot("{\"call\":\"9@3\",\"x_mm\":1,\"y_mm\":2}"), &["shots[1].call", "both"]);
    check(&shot("{\"x_mm\":1,\"y_mm\":2,\"felt\":\"meh\"}"), &["shots[1].felt", "good, bad"]);
    check(&shot("{}"), &["shots[1]: the shot has no position"]);
    check(&shot("{\"x_mm\":1e7,\"y_mm\":2}"), &["shots[1].x_mm", "between"]);
    check("[1,2]", &["not a JSON object"]);
    check("{\"distance_m\":70", &["not valid JSON", "column"]);
    check(&group(0, 10_000), &["10000 shots", "144"]);
}

#[test]
fn bytes_that_are_no_text_and_lines_without_end_are_bad_lines() {
    let mut input = group(1, 1).into_bytes();
    input.extend(b"\n{\"face\":\"\xFF\"}\n");
    input.extend(std::iter::repeat_n(b'x', 5 << 20));
    input.push(b'\n');
    input.extend(group(2, 1).bytes());
    let (code, out) = run(&input, "2");
    assert_eq!((code, out.len()), (1, 4));
    assert!(out[1]["error"].as_str().unwrap().contains("UTF-8"));
    assert!(out[2]["error"].as_str().unwrap().contains("longer than"));
    assert_eq!(out[3]["shots"], 1, "the last line needs no line end");
}

#[test]
fn nothing_in_nothing_out_and_a_byte_order_mark_is_skipped() {
    assert_eq!(run(b"", "2"), (0, vec![]));
    let (code, out) = run(format!("\u{feff}{}\n", group(1, 1)).as_bytes(), "2");
    assert_eq!((code, out.len()), (0, 1));
}
