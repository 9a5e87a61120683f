//! The readers never panic: whatever comes in, they answer or refuse.

use goldward::batch;
use goldward_core::face::Face;
use goldward_core::shot::Call;
use goldward_core::units::Distance;
use goldward_report::words::Language;
use goldward_report::words::problem::tell;
use goldward_session::answer::Scorers;
use goldward_session::settings::{Settings, Wishes};
use goldward_session::{csv, toml};
use proptest::prelude::*;

fn settings() -> Settings {
    Settings::new(Distance::from_metres(70.0).unwrap(), Face::named("122").unwrap(), &Wishes::default()).unwrap()
}

/// A file that looks like a table: known and unknown words, numbers and calls, in any arrangement.
fn table() -> impl Strategy<Value = String> {
    let cell = prop_oneof![
        4 => (-500i32..500).prop_map(|n| n.to_string()),
        2 => (-500i32..500).prop_map(|n| format!("{},{}", n, n.unsigned_abs() % 10)),
        2 => "(X|M|[0-9]{1,2})(@[0-9]{1,2}(:[0-9]{2})?)?",
        1 => prop::sample::select(vec!["end", "arrow", "x_mm", "y_mm", "call", "felt", "touch_up_mm", "bad", "inf", "\"", "", "\u{feff}"])
            .prop_map(str::to_owned),
        1 => ".{0,6}",
    ];
    let row = prop::collection::vec(cell, 0..6);
    let header = prop::sample::subsequence(csv::COLUMNS.to_vec(), 0..=8);
    let separator = prop::sample::select(vec![",", ";", "\t"]);
    let end = prop::sample::select(vec!["\n", "\r\n", "\r"]);
    (header, prop::collection::vec(row, 0..8), separator, end).prop_map(|(header, rows, separator, end)| {
        let mut text = header.join(separator) + end;
        for row in rows {
            text += &(row.join(separator) + end);
        }
        text
    })
}

fn json() -> impl Strategy<Value = String> {
    let value = prop_oneof![
        Just("null".to_owned()),
        Just("true".to_owned()),
        Just("[0.91,0.08,0.01]".to_owned()),
        Just("[[[".to_owned()),
        Just("1e999".to_owned()),
        any::<f64>().prop_map(|x| format!("{x:e}")),
        (-200i32..200).prop_map(|x| x.to_string()),
        "(X|M|[0-9]{1,2})(@[0-9]{1,2})?".prop_map(|c| format!("\"{c}\"")),
        prop::collection::vec((-900i32..900, -900i32..900), 0..4).prop_map(|shots| {
            let shots: Vec<String> = shots.iter().map(|(x, y)| format!("{{\"x_mm\":{x},\"y_mm\":{y}}}")).collect();
            format!("[{}]", shots.join(","))
        }),
    ];
    let key = prop::sample::select(vec![
        "shaft_mm",
        "spread_mrad",
        "worth",
        "trust",
        "eye_to_pin_mm",
        "click_mm",
        "setting_sd_mm",
        "shots_left",
        "touch_cost_points",
        "bow",
        "level",
        "unmarked",
        "touch_gives",
        "end_drift",
        "spread_doubt",
        "pattern_shares",
        "shots",
        "face",
        "other",
    ]);
    prop::collection::vec((key, value), 0..4).prop_map(|pairs| {
        let mut text = "{\"distance_m\":70".to_owned();
        if !pairs.iter().any(|(k, _)| *k == "face") {
            text += ",\"face\":\"122\"";
        }
        if !pairs.iter().any(|(k, _)| *k == "shots") {
            text += ",\"shots\":[{\"x_mm\":30,\"y_mm\":-40},{\"call\":\"8@3\"}]";
        }
        for (key, value) in pairs {
            text += &format!(",\"{key}\":{value}");
        }
        text + "}"
    })
}

fn answered(line: &[u8]) {
    let mut out = Vec::new();
    let code = batch::answer_line(line, false, 1, &Scorers::default(), &mut out);
    assert!(code < 2, "the program failed on {:?}", String::from_utf8_lossy(line));
    let text = String::from_utf8(out).unwrap();
    assert_eq!(text.matches('\n').count(), 1);
    let value: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(value["error"].is_null(), code == 0);
}

/// Lines of a follow: settings, events, and what is neither.
fn event() -> impl Strategy<Value = Vec<u8>> {
    let number = prop_oneof![
        (-500i32..500).prop_map(|n| n.to_string()),
        any::<f64>().prop_map(|x| format!("{x:e}")),
        prop::sample::select(vec!["null", "1e999", "\"1\"", "[]", "-0", "99999999999"]).prop_map(str::to_owned),
    ];
    let small = || prop_oneof![4 => (0i32..9).prop_map(|n| n.to_string()), 1 => "[0-9]{1,12}|-1|null|\"\"|true".prop_map(|s| s)];
    prop_oneof![
        6 => (number.clone(), number.clone()).prop_map(|(x, y)| format!("{{\"shot\":{{\"x_mm\":{x},\"y_mm\":{y}}}}}")),
        2 => "[XM0-9]{1,2}(@[0-9]{1,2})?".prop_map(|call| format!("{{\"shot\":{{\"call\":\"{call}\",\"felt\":\"bad\"}}}}")),
        2 => (number.clone(), number.clone())
            .prop_map(|(x, y)| format!("{{\"touch\":{{\"right_mm\":{x},\"up_mm\":{y}}}}}")),
        2 => (small(), "good|bad||x").prop_map(|(n, was)| format!("{{\"felt\":{{\"shot\":{n},\"was\":\"{was}\"}}}}")),
        2 => prop::sample::select(vec!["{\"end\":true}", "{\"undo\":true}", "{\"redo\":true}", "{}", "", "[", "{\"end\":0}"])
            .prop_map(str::to_owned),
        1 => number.prop_map(|s| format!("{{\"time_left_s\":{s}}}")),
        1 => (1i32..120, small(), small()).prop_map(|(m, ends, shots)| {
            format!("{{\"distance\":{{\"distance_m\":{m},\"ends\":{ends},\"shots_per_end\":{shots}}}}}")
        }),
        1 => (small(), small(), small()).prop_map(|(ends, shots, left)| {
            format!("{{\"distance_m\":70,\"face\":\"122\",\"ends\":{ends},\"shots_per_end\":{shots},\"shots_left\":{left}}}")
        }),
        1 => "[^\n]{0,30}",
    ]
    .prop_map(String::into_bytes)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(100) })]

    #[test]
    fn follow_answers_every_line(settings in any::<bool>(), lines in prop::collection::vec(event(), 0..14)) {
        let mut session = goldward::follow::Session::default();
        let first = settings.then(|| b"{\"distance_m\":70,\"face\":\"122\",\"setting_sd_mm\":0.1}".to_vec());
        for (i, bytes) in first.into_iter().chain(lines).enumerate() {
            let mut out = Vec::new();
            let line = goldward::lines::Line { number: i as u64 + 1, bytes: &bytes, too_long: false };
            let code = goldward::follow::answer_line(line, &mut session, &mut out);
            prop_assert!(code < 2, "the program failed on {:?}", String::from_utf8_lossy(&bytes));
            let text = String::from_utf8(out).unwrap();
            prop_assert_eq!(text.matches('\n').count(), 1);
            let value: serde_json::Value = serde_json::from_str(&text).unwrap();
            prop_assert_eq!(value["error"].is_null(), code == 0);
            if value["wait"]["action"] == "touch" {
                prop_assert_eq!(&value["advice"]["action"], "move");
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    #[test]
    fn csv_of_any_bytes(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let _ = csv::read(&bytes, &settings());
    }

    #[test]
    fn csv_of_likely_tables(text in table()) {
        match csv::read(text.as_bytes(), &settings()) {
            Ok(session) => prop_assert!(!session.shots.is_empty()),
            Err(problems) => {
                prop_assert!(!problems.is_empty());
                for problem in problems {
                    let told = tell(Language::German, &problem);
                    prop_assert!(!told.remedy.is_empty(), "{:?}", problem);
                }
            }
        }
    }

    #[test]
    fn calls_of_any_text(text in "(.{0,8}|[XxMm0-9@: +-]{0,8})") {
        if let Ok(call) = text.parse::<Call>() {
            prop_assert_eq!(call.to_string().parse::<Call>(), Ok(call));
        }
    }

    #[test]
    fn kits_of_any_text(text in "(.{0,40}|[a-z_]{1,12} = [\"0-9a-z.]{0,8}\n)*") {
        let _ = toml::parse(&text);
    }

    #[test]
    fn json_of_any_bytes(bytes in prop::collection::vec(any::<u8>().prop_filter("one line", |b| *b != b'\n'), 0..200)) {
        answered(&bytes);
    }

    #[test]
    fn json_of_likely_objects(text in json()) {
        answered(text.as_bytes());
    }
}
