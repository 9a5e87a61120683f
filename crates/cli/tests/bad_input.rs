//! Bad input is read correctly or refused with line, column and remedy.

mod common;
use common::{Outcome, read_csv, run, run_with};

/// The file is refused, and the message holds all of `parts`.
fn refused(csv: &[u8], parts: &[&str]) -> Outcome {
    let got = read_csv(csv, &[]);
    assert_eq!(got.code, 1, "{got:?}");
    assert!(got.out.is_empty(), "{got:?}");
    for part in parts {
        assert!(got.err.contains(part), "`{part}` is missing in\n{}", got.err);
    }
    assert!(got.err.contains("hint: "), "{}", got.err);
    got
}

/// Two files say the same.
fn same(csv: &[u8], as_csv: &[u8]) {
    let (a, b) = (read_csv(csv, &["--json"]), read_csv(as_csv, &["--json"]));
    assert_eq!((a.code, a.err.as_str()), (0, ""), "{a:?}");
    assert_eq!(a.out, b.out);
}

#[test]
fn numbers_that_are_none() {
    refused(b"x_mm,y_mm\n1,2\nabc,3\n", &["line 3, column x_mm", "`abc` is not a number", "-12.5"]);
    refused(b"x_mm,y_mm\n1,inf\n", &["line 2, column y_mm", "not finite"]);
    refused(b"x_mm,y_mm\nNaN,1\n", &["line 2, column x_mm", "not finite"]);
    refused(b"x_mm,y_mm\n1e9,1\n", &["line 2, column x_mm", "out of range"]);
    refused(b"x_mm,y_mm\n5 mm,1\n", &["line 2, column x_mm", "not a number"]);
    refused(b"x_mm,y_mm,touch_up_mm\n5,1,900\n", &["line 2, column touch_up_mm", "200 mm"]);
    refused(b"end,x_mm,y_mm\none,1,2\n", &["line 2, column end", "whole number"]);
}

#[test]
fn calls_and_marks() {
    refused(b"call\n12@13\n", &["line 2, column call", "`13` is not a clock direction", "4:30"]);
    refused(b"call\n11@3\n", &["line 2, column call", "no 11", "10, 9, 8"]);
    refused(b"call\nnine\n", &["line 2, column call", "is not a call", "M for a miss"]);
    refused(b"call,felt\n9@3,awful\n", &["line 2, column felt", "`awful`", "good, bad or nothing"]);
    refused(b"x_mm,y_mm,call\n1,2,9@3\n", &["line 2, column call", "both a position and a call", "empty the call"]);
    let long = format!("call\n{}\n", "9".repeat(100_000));
    assert!(refused(long.as_bytes(), &["line 2, column call"]).err.len() < 400);
}

#[test]
fn columns_and_rows() {
    refused(b"", &["the file is empty", "x_mm,y_mm"]);
    refused(b"\n\n", &["the file is empty"]);
    refused(b"x_mm,y_mm\n", &["no shots"]);
    refused(b"touch_right_mm,touch_up_mm,call\n1,1,\n", &["no shots"]);
    refused(b"1,2\n3,4\n", &["line 1", "holds numbers", "names the columns"]);
    refused(b"x_mm,y_mm,wind\n1,2,3\n", &["line 1, column 3", "unknown column `wind`", "touch_up_mm"]);
    refused(b"x_m,y_mm\n1,2\n", &["did you mean x_mm?"]);
    refused(b"x,y_mm\n1,2\n", &["unknown column `x`", "did you mean x_mm?"]);
    refused(b"q,call\n1,X\n", &["unknown column `q`", "delete the column"]);
    refused(b"x_mm,x_mm,y_mm\n1,2,3\n", &["two columns x_mm"]);
    refused(b"x_mm\n1\n", &["line 1", "none called y_mm"]);
    refused(b"end,arrow\n1,1\n", &["no column says where"]);
    refused(b"x_mm,y_mm\n1,\n", &["line 2, column y_mm", "give both"]);
    refused(b"x_mm,y_mm\n1,2\n3\n", &["line 3", "1 cells", "2 columns"]);
    refused(b"x_mm,y_mm\n1,5,2\n", &["line 2", "3 cells", "full stop"]);
    refused(b"end,x_mm,y_mm\n4,,\n", &["line 2, column x_mm", "neither a shot nor a touch"]);
    refused(b"x_mm,y_mm,felt,touch_up_mm\n1,2,,\n,,bad,1\n", &["line 3, column felt", "no shot"]);
    refused(b"x_mm,y_mm,\n1,2,3\n", &["line 2, column 3", "under no column name"]);
    refused(b"x_mm,y_mm\n\"1\n2\",3\n", &["line 2, column 1", "quotation mark"]);
}

#[test]
fn encodings() {
    refused(b"\xFF\xFEx\0", &["UTF-16", "UTF-8"]);
    refused(b"x_mm,y_mm\n1,2\n\xE9,3\n", &["line 3", "not UTF-8"]);
}

#[test]
fn all_bad_lines_are_told_at_once_and_at_most_twenty() {
    let got = refused(
        b"x_mm,y_mm\na,1\n\n2,2\n3,b\r\n4,4\nc,d\n",
        &["line 2, column x_mm", "line 5, column y_mm", "line 7, column x_mm", "line 7, column y_mm"],
    );
    assert_eq!(got.err.matches("hint: ").count(), 4);
    let many = format!("x_mm,y_mm\n{}", "a,1\n".repeat(50));
    let got = refused(many.as_bytes(), &["line 21", "and 30 more"]);
    assert!(!got.err.contains("line 22,"), "{}", got.err);
}

#[test]
fn too_many_shots() {
    let csv = format!("x_mm,y_mm\n{}", (0..10_000).map(|i| format!("{},{}\n", i % 90, i % 70)).collect::<String>());
    refused(csv.as_bytes(), &["10000 shots", "--last 144"]);
    let lines: Vec<&str> = csv.lines().collect();
    let tail = format!("x_mm,y_mm\n{}\n", lines[lines.len() - 5..].join("\n"));
    let (a, b) = (read_csv(csv.as_bytes(), &["--last", "5", "--json"]), read_csv(tail.as_bytes(), &["--json"]));
    assert_eq!((a.code, a.out), (0, b.out));
}

#[test]
fn odd_files_are_read() {
    let plain = b"end,arrow,x_mm,y_mm,felt\n1,1,-12.5,30,bad\n1,2,4,-7.25,\n";
    same(b"\xEF\xBB\xBFend,arrow,x_mm,y_mm,felt\r\n1,1,-12.5,30,bad\r\n1,2,4,-7.25,\r\n", plain);
    same(b"end;arrow;x_mm;y_mm;felt\n1;1;-12,5;30;bad\n1;2;4;-7,25;\n", plain);
    same(b"end\tarrow\tx_mm\ty_mm\tfelt\n1\t1\t-12,5\t30\tbad\n1\t2\t4\t-7.25\t\n", plain);
    same(b"end,arrow,x_mm,y_mm,felt\n1,1,\"-12,5\",\"30\",bad\n\n1,2,4,\"-7,25\",\n\n\n", plain);
    same(b"sep=;\r\n Felt ; Y_MM;x_mm\r\nBad;30;-12,5\r\n;-7,25;4\r\n;;\r\n", plain);
    same("x_mm,y_mm,felt\n\u{2212}12.5,30,bad\n4,\u{2212}7.25,".as_bytes(), plain);
    same(b"x_mm,y_mm,felt\r-12.5,30,bad\r4,-7.25,\r", plain);
}

#[test]
fn odd_order_of_ends_is_a_warning() {
    let got = read_csv(b"end,x_mm,y_mm\n2,1,2\n1,3,4\n", &[]);
    assert_eq!(got.code, 0);
    assert!(got.err.starts_with("warning: ") && got.err.contains("line 3"), "{}", got.err);
}

#[test]
fn a_wide_shaft_is_a_warning_on_the_page() {
    let got = read_csv(b"x_mm,y_mm\n1,2\n", &["--shaft", "10mm"]);
    assert_eq!(got.code, 0);
    assert!(got.out.contains("wider than the 9.3 mm"), "{}", got.out);
}

#[test]
fn impossible_settings_name_their_option() {
    for (option, value) in
        [("--worth", "0"), ("--trust", "0"), ("--eye-to-pin", "1"), ("--setting-sd", "30"), ("--touch-cost", "1e9")]
    {
        let got = read_csv(b"x_mm,y_mm\n1,2\n", &[option, value]);
        assert_eq!(got.code, 1, "{got:?}");
        assert!(got.err.contains(option) && got.err.contains("between"), "{}", got.err);
    }
}

#[test]
fn files_that_are_not_there() {
    let got = run(&["read", "no-such.csv", "-d", "70", "-f", "122"]);
    assert_eq!(got.code, 1);
    assert!(got.err.contains("no-such.csv cannot be opened"), "{}", got.err);
    let got = run_with(&["read", "-", "-d", "70", "-f", "122", "--kit", "no-such.toml"], b"x_mm,y_mm\n1,2\n");
    assert!(got.code == 1 && got.err.contains("no-such.toml"), "{got:?}");
}

#[test]
fn kit_files_are_refused_key_by_key() {
    let home = tempfile::tempdir().unwrap();
    let kit = home.path().join("kit.toml");
    std::fs::write(&kit, "hand = \"middle\"\nsight = 4\nshaft = \"1 furlong\"\n").unwrap();
    let got = read_csv(b"x_mm,y_mm\n1,2\n", &["--kit", kit.to_str().unwrap()]);
    assert_eq!(got.code, 1);
    for part in [
        "line 1, key hand",
        "line 2, key sight: unknown key",
        "touch_cost_points",
        "line 3, key shaft",
        "mm, cm, in or m",
    ] {
        assert!(got.err.contains(part), "`{part}` is missing in\n{}", got.err);
    }
}
