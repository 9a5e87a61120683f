//! The readers of marks never panic: whatever comes in, they answer or refuse with a remedy.

use goldward::marks::{wire, write};
use goldward_report::words::Language;
use goldward_report::words::problem::tell;
use goldward_session::marks::book::Entry;
use goldward_session::marks::{quantity, toml as read};
use proptest::prelude::*;

/// A file that looks like marks: known and unknown keys with values of every kind.
fn file() -> impl Strategy<Value = String> {
    let value = prop_oneof![
        3 => (-500i32..500).prop_map(|n| n.to_string()),
        2 => any::<f64>().prop_map(|x| format!("{x:e}")),
        2 => "[0-9]{1,3}(m|yd|mm|cm|lb|fps|m/s)?".prop_map(|t| format!("\"{t}\"")),
        1 => prop::sample::select(vec![
            "\"up\"", "\"down\"", "\"shot\"", "\"predicted\"", "\"recurve\"", "2026-05-03", "2026-05-03T10:00:00Z", "true", "[1, 2]",
            "{a = 1}", "inf", "nan", "0x1F", "1_000", "\"\\u0007\"",
        ])
        .prop_map(str::to_owned),
        1 => ".{0,5}",
    ];
    let keys: Vec<&str> =
        [read::TOP, read::ARROW, read::AIR, read::MARK].concat().iter().map(|(k, _)| *k).chain(["mark", "x"]).collect();
    let line = prop_oneof![
        6 => (prop::sample::select(keys), value).prop_map(|(k, v)| format!("{k} = {v}")),
        3 => Just("[[mark]]".to_owned()),
        1 => prop::sample::select(vec!["[arrow]", "[air]", "[mark]", "# remark", "[[arrow]]", ""]).prop_map(str::to_owned),
    ];
    prop::collection::vec(line, 0..14).prop_map(|lines| lines.join("\n"))
}

fn question() -> impl Strategy<Value = String> {
    let number = |from: i32, to: i32| {
        prop_oneof![
            24 => (from..to).prop_map(|n| n.to_string()),
            1 => any::<f64>().prop_map(|x| format!("{x:e}")),
            1 => prop::sample::select(vec!["null", "1e999", "\"1\"", "[]", "-0", "{}"]).prop_map(str::to_owned),
        ]
    };
    let mark =
        (number(1, 90), number(-50, 200)).prop_map(|(d, r)| format!("{{\"distance_m\":{d},\"reading_mm\":{r}}}"));
    let (above, mass, wide) = (number(0, 180), number(12, 50), number(4, 12));
    (prop::collection::vec(mark, 0..6), above, mass, wide, prop::collection::vec(number(5, 90), 0..3)).prop_map(
        |(marks, above, mass, wide, predict)| {
            format!(
                "{{\"marks\":[{}],\"eye_to_pin_mm\":880,\"eye_above_arrow_mm\":{above},\"arrow\":{{\"mass_g\":{mass},\
                 \"diameter_mm\":{wide}}},\"predict_m\":[{}]}}",
                marks.join(","),
                predict.join(",")
            )
        },
    )
}

fn checked(text: &str) {
    match read::parse(text) {
        Ok(book) => {
            let _ = book.setup();
        }
        Err(problems) => {
            assert!(!problems.is_empty());
            for problem in problems {
                assert!(!tell(Language::French, &problem).remedy.is_empty(), "{problem:?}");
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    #[test]
    fn files_of_any_text(text in ".{0,120}") {
        checked(&text);
    }

    #[test]
    fn files_of_likely_lines(text in file()) {
        checked(&text);
    }

    #[test]
    fn what_is_added_is_there_and_nothing_else_is_lost(
        text in file(), metres in 1.0..120.0f64, reading in -300.0..300.0f64, note in ".{0,8}", replace in any::<bool>(),
    ) {
        let range = quantity::Range::metres(metres).unwrap();
        let entry = Entry { note: Some(note), ..Entry::shot(range, reading) };
        let twice = if replace { write::Twice::Replace } else { write::Twice::Both };
        if let Ok((out, book)) = write::added(&text, &entry, twice) {
            prop_assert_eq!(read::parse(&out).unwrap(), book.clone());
            prop_assert_eq!(book.marks.last(), Some(&entry));
            if !replace {
                prop_assert_eq!(book.marks.len(), read::parse(&text).unwrap().marks.len() + 1);
                prop_assert!(out.starts_with(&text));
            }
        }
    }

    #[test]
    fn questions_of_any_bytes(bytes in prop::collection::vec(any::<u8>(), 0..120)) {
        if let Err(problem) = wire::answer(&bytes) {
            prop_assert!(!tell(Language::German, &problem).remedy.is_empty(), "{:?}", problem);
        }
    }

    #[test]
    fn quantities_of_any_text(text in "(.{0,8}|[0-9,.]{0,4} ?(m|yd|lb|fps)?)") {
        let _ = (text.parse::<quantity::Range>(), quantity::parse_speed(&text), quantity::parse_draw_weight(&text));
        let _ = (quantity::parse_date(&text), quantity::parse_bow(&text));
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(150) })]

    #[test]
    fn questions_of_likely_objects(text in question()) {
        match wire::answer(text.as_bytes()) {
            Ok(line) => {
                let value: serde_json::Value = serde_json::from_str(&line).unwrap();
                prop_assert!(value["speed_m_s"].is_f64() && value["next_distance_m"].is_f64(), "{}", line);
                for p in value["predicted"].as_array().unwrap() {
                    prop_assert!(p["reading_mm"].is_f64() && p["sd_mm"].is_f64(), "{}", line);
                }
            }
            Err(problem) => prop_assert!(!tell(Language::English, &problem).what.is_empty(), "{:?}", problem),
        }
    }
}
