//! The contract of `goldward marks predict --json -`.

mod common;
use common::run_with;
use serde_json::{Value, json};

fn ask(question: &str) -> (u8, Value) {
    let got = run_with(&["marks", "predict", "--json", "-"], question.as_bytes());
    assert_eq!(got.err, "", "{got:?}");
    assert!(got.out.ends_with("}\n") && got.out.lines().count() == 1, "{got:?}");
    let value: Value = serde_json::from_str(&got.out).unwrap();
    assert!(got.out.starts_with("{\"schema\":1,"), "{got:?}");
    (got.code, value)
}

fn question(marks: &[(f64, f64)], predict: &[f64]) -> String {
    let marks: Vec<Value> =
        marks.iter().map(|(d, r)| json!({"distance_m": d, "reading_mm": r, "sd_mm": 0.3})).collect();
    json!({"marks": marks, "eye_to_pin_mm": 880, "eye_above_arrow_mm": 115,
           "arrow": {"mass_g": 21, "diameter_mm": 5.5}, "predict_m": predict})
    .to_string()
}

fn keys(value: &Value) -> Vec<&str> {
    value.as_object().unwrap().keys().map(String::as_str).collect()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

/// Marks of an arrow of 57 m/s with its zero at 20 mm, to a tenth of a millimetre: by the midpoint rule, as in `marks.rs`.
const TRUE: [(f64, f64); 4] = [(18.0, 49.9), (30.0, 64.4), (50.0, 91.8), (70.0, 121.5)];

#[test]
fn the_object_of_the_contract() {
    let example = "{\"marks\":[{\"distance_m\":18,\"reading_mm\":14.9,\"sd_mm\":0.3}],\"eye_to_pin_mm\":880,\
                   \"eye_above_arrow_mm\":115,\"arrow\":{\"mass_g\":21,\"diameter_mm\":5.5},\"predict_m\":[20,25,40]}";
    let (code, got) = ask(example);
    assert_eq!(code, 0, "{got}");
    let want =
        ["drag_per_m", "next_distance_m", "predicted", "scale_zero_mm", "schema", "speed_m_s", "speed_sd", "suspect"];
    let mut found = keys(&got);
    found.sort_unstable();
    assert_eq!(found, want);
    let predicted = got["predicted"].as_array().unwrap();
    assert_eq!(predicted.len(), 3);
    for (p, distance) in predicted.iter().zip([20.0, 25.0, 40.0]) {
        let mut found = keys(p);
        found.sort_unstable();
        assert_eq!(found, ["distance_m", "extrapolated", "reading_mm", "sd_mm"]);
        assert!((number(&p["distance_m"]) - distance).abs() < 1e-12);
    }
    // One mark alone: the next metres are near it, the far ones are open, and far is what to shoot.
    assert_eq!(predicted[0]["extrapolated"], false, "2 m from the mark");
    assert_eq!(predicted[2]["extrapolated"], true);
    assert!(number(&predicted[0]["sd_mm"]) < 2.0 && number(&predicted[2]["sd_mm"]) > 2.0, "{got}");
    assert!((number(&got["next_distance_m"]) - 40.0).abs() < 1e-9 && got["suspect"] == json!([]), "{got}");
}

#[test]
fn readings_grow_with_the_distance_and_marks_are_repeated() {
    let (code, got) = ask(&question(&TRUE, &[18.0, 30.0, 40.0, 50.0, 60.0, 70.0]));
    assert_eq!(code, 0);
    let readings: Vec<f64> = got["predicted"].as_array().unwrap().iter().map(|p| number(&p["reading_mm"])).collect();
    assert!(readings.windows(2).all(|w| w[0] < w[1]), "{readings:?}");
    for (i, want) in [(0, 49.9), (1, 64.4), (3, 91.8), (5, 121.5)] {
        assert!((readings[i] - want).abs() < 0.4, "{readings:?}");
    }
    assert!(got["suspect"] == json!([]) && number(&got["speed_sd"]) < 3.0, "{got}");
    assert!(got["predicted"].as_array().unwrap().iter().all(|p| p["extrapolated"] == false));
}

#[test]
fn two_marks_and_none_to_predict() {
    let (code, got) = ask(&question(&TRUE[..2], &[]));
    assert_eq!(code, 0, "{got}");
    assert!(got["predicted"] == json!([]) && [18.0, 30.0].contains(&number(&got["next_distance_m"])), "{got}");
}

#[test]
fn a_mistyped_mark_is_flagged_and_does_not_pull() {
    let mut marks = TRUE.to_vec();
    let (_, clean) = ask(&question(&marks, &[40.0]));
    marks[1].1 = 94.4;
    let (code, got) = ask(&question(&marks, &[40.0]));
    assert_eq!(code, 0);
    let suspect = got["suspect"].as_array().unwrap();
    assert_eq!(suspect.len(), 1, "{got}");
    assert!((number(&suspect[0]["distance_m"]) - 30.0).abs() < 1e-9);
    assert!((number(&suspect[0]["reading_mm"]) - 94.4).abs() < 1e-9 && number(&suspect[0]["p"]) > 0.9);
    assert!((number(&suspect[0]["expected_mm"]) - 64.4).abs() < 1.5, "{got}");
    let at = |v: &Value| number(&v["predicted"][0]["reading_mm"]);
    assert!((at(&got) - at(&clean)).abs() < 1.0, "{got} {clean}");
}

#[test]
fn bad_input_names_key_and_remedy() {
    let good: Value = serde_json::from_str(&question(&TRUE, &[40.0])).unwrap();
    let check = |text: &str, parts: &[&str]| {
        let (code, got) = ask(text);
        assert_eq!((code, keys(&got).len()), (1, 2), "{got}");
        let error = got["error"].as_str().unwrap();
        for part in parts {
            assert!(error.contains(part), "{part}: {error}");
        }
        assert!(error.contains(": "), "no remedy: {error}");
    };
    let with = |pointer: &str, value: Value| {
        let mut changed = good.clone();
        *changed.pointer_mut(pointer).unwrap() = value;
        changed.to_string()
    };
    check("", &["one JSON object"]);
    check("{", &["one JSON object"]);
    check("[]", &["JSON object"]);
    check(&with("/arrow", json!([21, 5.5])), &["arrow", "object"]);
    check(&with("/marks/0", json!([18, 14.9])), &["marks[0]", "object"]);
    check("{}", &["marks", "missing", "distance_m"]);
    check(&format!("{good}{good}"), &["nothing after it"]);
    for key in ["marks", "eye_to_pin_mm", "eye_above_arrow_mm", "arrow", "predict_m"] {
        check(&with(&format!("/{key}"), Value::Null), &[key, "missing", "give"]);
        check(&with(&format!("/{key}"), json!("word")), &[key, "give"]);
    }
    check(&with("/marks", json!([])), &["marks", "empty"]);
    check(&with("/marks/1/distance_m", json!(0)), &["marks[1].distance_m", "between 1 and 400"]);
    check(&with("/marks/1/distance_m", json!("30")), &["marks[1].distance_m", "in m"]);
    check(&with("/marks/1/reading_mm", Value::Null), &["marks[1].reading_mm", "missing"]);
    check(&with("/marks/2/sd_mm", json!(0)), &["marks[2].sd_mm", "0.005"]);
    check(&with("/eye_to_pin_mm", json!(5)), &["eye_to_pin_mm", "100"]);
    check(&with("/eye_above_arrow_mm", json!(900)), &["eye_above_arrow_mm", "400"]);
    check(&with("/arrow/mass_g", json!(-21)), &["arrow.mass_g", "between"]);
    check(&with("/arrow/diameter_mm", json!(55)), &["arrow.diameter_mm", "between"]);
    check(&with("/predict_m/0", json!(-4)), &["predict_m[0]", "between"]);
    check(&with("/predict_m/0", json!(399)), &["predict_m[0]", "reach"]);
    check(&question(&[(30.0, 10.0); 61], &[40.0]), &["marks", "60"]);
    check(&question(&TRUE, &[40.0; 1001]), &["predict_m", "1000"]);
}

#[test]
fn more_may_be_told() {
    let mut value: Value = serde_json::from_str(&question(&TRUE[..1], &[40.0])).unwrap();
    let (_, plain) = ask(&value.to_string());
    value["arrow"]["speed_m_s"] = json!(57);
    value["arrow"]["speed_sd_m_s"] = json!(0.4);
    value["air"] = json!({"temperature_c": 30, "pressure_pa": 95000});
    value["eye_above_arrow_sd_mm"] = json!(3);
    value["marks"][0]["sd_mm"] = Value::Null;
    value["comment"] = json!("keys that are not known are ignored");
    let (code, told) = ask(&value.to_string());
    assert_eq!(code, 0, "{told}");
    assert!(number(&told["predicted"][0]["sd_mm"]) < 0.5 * number(&plain["predicted"][0]["sd_mm"]), "{told} {plain}");
    value["arrow"]["bow"] = json!("crossbow");
    assert!(ask(&value.to_string()).1["error"].as_str().unwrap().contains("arrow.bow"));
}
