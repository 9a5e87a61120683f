//! `goldward match`.

mod common;
use common::{run, run_with};
use serde_json::Value;

/// Two ends of three arrows about 60 mm high.
fn shots(name: &str) -> (tempfile::TempDir, String) {
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join(name).display().to_string();
    let rows = [(1, 20, 110), (1, -60, 40), (1, 40, 30), (2, 10, 150), (2, -30, 20), (2, 70, 60)];
    let rows: String = rows.iter().map(|(end, x, y)| format!("{end},{x},{y}\n")).collect();
    std::fs::write(&file, format!("end,x_mm,y_mm\n{rows}")).unwrap();
    (home, file)
}

fn json(args: &[&str]) -> Value {
    let got = run(&[&["match"], args, &["--json"]].concat());
    assert_eq!((got.code, got.err.as_str()), (0, ""), "{got:?}");
    serde_json::from_str(&got.out).unwrap()
}

#[test]
fn a_match_is_told_in_words_and_as_json() {
    let (_home, file) = shots("final.csv");
    let at = [file.as_str(), "--distance", "70", "--face", "122", "--spread", "1.5mrad", "--opponent", "8.8"];
    let told = json(&[&at[..], &["--theirs", "27,28"]].concat());
    assert_eq!(
        (told["ends_done"].as_u64(), told["by"].as_str(), told["first_to"].as_u64()),
        (Some(2), Some("sets"), Some(6))
    );
    let chance = |told: &Value| told["chance"].as_f64().unwrap();
    assert!((0.0..=1.0).contains(&chance(&told)), "{told}");
    // The other an end behind: the second end of one's own is under way for the match.
    let waits = json(&[&at[..], &["--theirs", "27,10/1"]].concat());
    assert_eq!((waits["ends_done"].as_u64(), waits["mine"]["end_shots"].as_u64()), (Some(1), Some(3)));
    let better = json(&[&at[..], &["--theirs", "20,20"]].concat());
    assert!(chance(&better) > chance(&told), "{better} {told}");
    let total = json(&[&at[..], &["--by", "total", "--mine", "29,28,19/2", "--theirs", "27,28"]].concat());
    assert_eq!((total["mine"]["points"].as_u64(), total["mine"]["end_points"].as_u64()), (Some(57), Some(19)));
    let over = json(&[&at[..], &["--mine", "29,29,29", "--theirs", "20,20,20"]].concat());
    assert_eq!((over["verdict"].as_str(), over["advice"]["action"].as_str()), (Some("won"), Some("leave")));
    for (language, word) in [("en", "Chance to win"), ("de", "Chance zu gewinnen"), ("fr", "Chance de gagner")] {
        let got = run(&[&["match"], &at[..], &["--theirs", "27,28", "--language", language]].concat());
        assert_eq!((got.code, got.err.as_str()), (0, ""), "{got:?}");
        assert!(got.out.contains(word) && !got.out.contains('{'), "{}", got.out);
        assert!(got.out.lines().all(|l| l.chars().count() <= 80), "{}", got.out);
    }
}

#[test]
fn matches_are_rehearsed() {
    let at = ["--distance", "70", "--face", "122", "--spread", "2mrad", "--trust", "1", "--rehearse", "40"];
    let told = json(&at);
    assert_eq!(told["matches"].as_u64(), Some(40));
    let rules = told["rules"].as_array().unwrap();
    assert!(rules.len() > 8 && rules.iter().all(|r| (0.0..=1.0).contains(&r["won"].as_f64().unwrap())), "{told}");
    assert_eq!(told, json(&at), "the same seed gives the same matches");
    let got = run(&[&["match"], &at[..]].concat());
    assert!(got.code == 0 && got.out.contains("Simulated matches: 40"), "{got:?}");
}

#[test]
fn what_cannot_be_is_refused() {
    let (_home, file) = shots("final.csv");
    let check = |args: &[&str], code: u8, part: &str| {
        let got = run(&[&["match", &file, "--distance", "70", "--face", "122"], args].concat());
        assert_eq!(got.code, code, "{got:?}");
        assert!(got.out.is_empty() && got.err.starts_with("error:") && got.err.contains(part), "{got:?}");
    };
    check(&["--theirs", "31"], 2, "--theirs");
    check(&["--theirs", "x"], 2, "19/2");
    check(&["--theirs", "9/1,27"], 2, "only the last end");
    check(&["--theirs", "27,27,27,27,27,27"], 2, "more ends");
    check(&["--opponent", "10.5"], 2, "between");
    check(&["--ends", "5x2"], 2, "--mine");
    check(&["--ends", "30x6"], 2, "24x12");
    check(&["--by", "total", "--first-to", "6"], 2, "--first-to");
    check(&["--first-to", "11"], 2, "between");
    let got = run(&["match"]);
    assert_eq!(got.code, 2, "{got:?}");
}

/// What a line says of a match is what the command says of the same arrows and ends, to the last digit.
#[test]
fn a_batch_and_a_follow_decide_as_the_command_does() {
    let (_home, file) = shots("final.csv");
    let told = json(&[
        &file,
        "--distance",
        "70",
        "--face",
        "122",
        "--spread",
        "1.5mrad",
        "--opponent",
        "8.8",
        "--theirs",
        "27,28",
    ]);
    let rows = [(20, 110), (-60, 40), (40, 30), (10, 150), (-30, 20), (70, 60)];
    let one = |i: usize| format!("\"x_mm\":{},\"y_mm\":{}", rows[i].0, rows[i].1);
    let settings = "\"distance_m\":70,\"face\":\"122\",\"spread_mrad\":1.5";
    let batch: Vec<String> = (0..6).map(|i| format!("{{{},\"end\":{}}}", one(i), 1 + i / 3)).collect();
    // By hand, as the arrows lie on rings of 61 mm: 9, 9 and 10, then 8, 10 and 9.
    let ends = "[28,27]";
    assert_eq!((&told["mine"]["points"], &told["theirs"]["points"]), (&Value::from(2), &Value::from(2)));
    let line = format!(
        "{{{settings},\"match\":{{\"opponent_arrow\":8.8,\"mine\":{ends},\"theirs\":[27,28]}},\"shots\":[{}]}}",
        batch.join(",")
    );
    let value = |text: &str| serde_json::from_str::<Value>(text).unwrap();
    let got = run_with(&["read", "--batch"], line.as_bytes());
    let read = value(&got.out);
    let mut lines = vec![format!("{{{settings},\"match\":{{\"opponent_arrow\":8.8}}}}")];
    for end in 0..2 {
        lines.extend((0..3).map(|i| format!("{{\"shot\":{{{}}}}}", one(3 * end + i))));
        lines.push("{\"end\":true}".to_owned());
        lines.push(["{\"theirs\":27}", "{\"theirs\":\"28/3\"}"][end].to_owned());
    }
    let got = run_with(&["follow"], (lines.join("\n") + "\n").as_bytes());
    assert_eq!(got.code, 0, "{}", got.out);
    let followed: Vec<Value> = got.out.lines().map(value).collect();
    let last = followed.last().unwrap();
    for key in told.as_object().unwrap().keys().filter(|k| !["schema", "advice"].contains(&k.as_str())) {
        assert_eq!((&read["match"][key], key), (&told[key], key), "the batch");
        assert_eq!((&last["match"][key], key), (&told[key], key), "the follow");
    }
    for key in ["action", "reason", "clicks"] {
        assert_eq!(read["advice"][key], told["advice"][key], "the batch: {key}");
        assert_eq!(last["advice"][key], told["advice"][key], "the follow: {key}");
    }
    // What is echoed is enough to go on from.
    let echoed = |a: &Value| a["event"].get("settings").unwrap_or(&a["event"]).to_string() + "\n";
    let got = run_with(&["follow"], followed.iter().map(echoed).collect::<String>().as_bytes());
    assert_eq!(value(got.out.lines().last().unwrap())["match"], last["match"]);
    // An end under way is completed; what is undone is as if it had never come.
    let more = |events: &[&str]| {
        let all = [&lines.iter().map(String::as_str).collect::<Vec<_>>()[..], events].concat();
        let got = run_with(&["follow"], (all.join("\n") + "\n").as_bytes());
        got.out.lines().map(value).collect::<Vec<_>>()
    };
    let under = more(&["{\"theirs\":\"19/2\"}", "{\"theirs\":\"29/3\"}", "{\"undo\":true}", "{\"undo\":true}"]);
    let at = |n: usize| &under[lines.len() + n]["match"];
    assert_eq!((at(0)["theirs"]["end_points"].as_u64(), at(1)["theirs"]["end_points"].as_u64()), (Some(19), Some(29)));
    assert_ne!(at(0)["chance"], last["match"]["chance"]);
    assert_eq!((at(2), at(3)), (at(0), &last["match"]));
    // What cannot be is refused by its key and changes nothing.
    for (event, part) in
        [("{\"theirs\":31}", "theirs"), ("{\"theirs\":\"9/4\"}", "theirs"), ("{\"theirs\":-1}", "theirs")]
    {
        let got = more(&[event, "{\"undo\":true}", "{\"redo\":true}"]);
        let error = got[lines.len()]["error"].as_str().unwrap_or_else(|| panic!("{event}: {}", got[lines.len()]));
        assert!(error.contains(part), "{error}");
        assert_eq!(got.last().unwrap()["match"], last["match"]);
    }
    for (told, part) in [
        ("{\"by\":\"points\"}", "match.by"),
        ("{\"theirs\":[31]}", "match.theirs"),
        ("{\"mine\":[27,27,27,27,27,27]}", "match.mine"),
        ("{\"ends\":40}", "match.ends"),
        ("{\"by\":\"total\",\"first_to\":6}", "match.first_to"),
        ("{\"opponent_arrow\":11}", "match.opponent_arrow"),
        ("{\"mine\":[\"x\"]}", "match.mine"),
        ("7", "match"),
    ] {
        let line = format!("{{{settings},\"match\":{told},\"shots\":[{}]}}", batch.join(","));
        let got = run_with(&["read", "--batch"], line.as_bytes());
        let error = value(&got.out)["error"].as_str().unwrap_or_else(|| panic!("{told}: {}", got.out)).to_owned();
        assert!(error.starts_with(part), "{told}: {error}");
    }
    let got = run_with(&["follow"], format!("{{{settings}}}\n{{\"theirs\":27}}\n").as_bytes());
    let error = value(got.out.lines().nth(1).unwrap())["error"].as_str().unwrap().to_owned();
    assert!(error.starts_with("theirs: ") && error.contains("match"), "{error}");
}

/// Level after the last end, one arrow each decides: told as an option, as a key, or as an event, it is the same match.
#[test]
fn a_single_arrow_decides_at_every_door() {
    let rows = [(1, 20, 110), (1, -60, 40), (2, 40, 30), (2, 10, 150), (3, 25, -15)];
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join("level.csv").display().to_string();
    let text: String = rows.iter().map(|(end, x, y)| format!("{end},{x},{y}\n")).collect();
    std::fs::write(&file, format!("end,x_mm,y_mm\n{text}")).unwrap();
    // Two ends of two arrows: 9 and 9, then 10 and 8, then the single arrow.
    let of_match = ["--distance", "70", "--face", "122", "--spread", "1.5mrad", "--opponent", "8.8", "--ends", "2x2"];
    let at = [&[file.as_str()], &of_match[..], &["--theirs", "18,18,9/1"]].concat();
    let settings = "\"distance_m\":70,\"face\":\"122\",\"spread_mrad\":1.5";
    let format = "\"opponent_arrow\":8.8,\"ends\":2,\"shots_per_end\":2";
    let value = |text: &str| serde_json::from_str::<Value>(text).unwrap();
    let shots: Vec<String> =
        rows.iter().map(|(end, x, y)| format!("{{\"x_mm\":{x},\"y_mm\":{y},\"end\":{end}}}")).collect();
    let batch = |more: &str| {
        let ends = "\"mine\":[18,18,\"10/1\"],\"theirs\":[18,18,\"9/1\"]";
        let line = format!("{{{settings},\"match\":{{{format},{ends}{more}}},\"shots\":[{}]}}", shots.join(","));
        let got = run_with(&["read", "--batch"], line.as_bytes());
        value(&got.out)
    };
    let mut lines = vec![format!("{{{settings},\"match\":{{{format}}}}}")];
    for (i, (_, x, y)) in rows.iter().enumerate() {
        lines.push(format!("{{\"shot\":{{\"x_mm\":{x},\"y_mm\":{y}}}}}"));
        if i == 1 || i == 3 {
            lines.extend(["{\"end\":true}".to_owned(), "{\"theirs\":18}".to_owned()]);
        }
    }
    let follow = |events: &[&str]| {
        let all = [&lines.iter().map(String::as_str).collect::<Vec<_>>()[..], events].concat();
        let got = run_with(&["follow"], (all.join("\n") + "\n").as_bytes());
        got.out.lines().map(value).collect::<Vec<_>>()
    };
    let check = |verdict: &str, args: &[&str], key: &str, events: &[&str]| {
        let told = json(&[&at[..], args].concat());
        let followed = follow(events);
        assert_eq!(told["verdict"], verdict, "{told}");
        for (door, answer) in [("the batch", batch(key)), ("the follow", followed.last().unwrap().clone())] {
            for what in ["verdict", "ends_done", "mine", "theirs", "chance", "chance_leaving"] {
                assert_eq!(answer["match"][what], told[what], "{door}: {what} of {answer}");
            }
        }
    };
    check("shoot_off", &[], "", &[]);
    check("won", &["--nearer", "mine"], ",\"nearer\":\"mine\"", &["{\"nearer\":\"mine\"}"]);
    check("lost", &["--nearer", "theirs"], ",\"nearer\":\"theirs\"", &["{\"nearer\":\"theirs\"}"]);
    // What is undone is as if it had never come; the last word counts.
    let events = ["{\"nearer\":\"theirs\"}", "{\"nearer\":\"mine\"}", "{\"undo\":true}", "{\"undo\":true}"];
    let verdicts: Vec<String> =
        follow(&events)[lines.len()..].iter().map(|a| a["match"]["verdict"].as_str().unwrap().to_owned()).collect();
    assert_eq!(verdicts, ["lost", "won", "lost", "shoot_off"]);
    // Nobody wins an arrow of a match that is not level, and no end of more arrows comes after the last.
    let refused = |args: &[&str], part: &str| {
        let got = run(&[&["match", &file], &of_match[..], args].concat());
        assert!(got.code == 2 && got.out.is_empty() && got.err.contains(part), "{got:?}");
    };
    refused(&["--theirs", "18,17", "--nearer", "mine"], "both are level");
    refused(&["--theirs", "18", "--nearer", "mine"], "both are level");
    refused(&["--theirs", "18,17"], "more ends");
    refused(&["--theirs", "18,18,18"], "more ends");
    refused(&["--theirs", "18,9/1,9/1"], "only the last end");
    refused(&["--mine", "18,18,10/1", "--theirs", "10,10"], "more ends");
    refused(&["--nearer", "nobody"], "mine, theirs");
    let got = batch(",\"nearer\":\"both\"");
    assert!(got["error"].to_string().contains("nearer"), "{got}");
    let first = format!("{{{settings}}}\n{{\"nearer\":\"mine\"}}\n");
    let got = run_with(&["follow"], first.as_bytes());
    assert!(got.out.contains("goes with a match") && got.out.contains("nearer"), "{}", got.out);
    let early = follow(&["{\"undo\":true}", "{\"undo\":true}", "{\"nearer\":\"mine\"}"]);
    assert!(early.last().unwrap().to_string().contains("both are level"), "{}", early.last().unwrap());
}
