//! The pages for people, as snapshots at a fixed width without colour.

mod common;
use common::{read_csv, run, run_with};

#[test]
fn the_demo_writes_and_reads_an_evening() {
    let home = tempfile::tempdir().unwrap();
    let dir = home.path().join("evening");
    let name = dir.to_str().unwrap();
    let got = run(&["demo", name]);
    assert_eq!((got.code, got.err.as_str()), (0, ""), "{got:?}");
    insta::assert_snapshot!("demo", got.out.replace(name, "DIR"));
    assert_eq!(std::fs::read_dir(&dir).unwrap().count(), 10);

    assert_eq!(run(&["demo", name]).code, 0, "the same files may stand there");
    std::fs::write(dir.join("noor.csv"), "mine").unwrap();
    let got = run(&["demo", name]);
    assert_eq!(got.code, 1);
    assert!(got.err.contains("noor.csv") && got.err.contains("--force"), "{got:?}");
    assert_eq!(std::fs::read(dir.join("noor.csv")).unwrap(), b"mine", "nothing was overwritten");
    assert_eq!(run(&["demo", name, "--force"]).code, 0);
    assert_ne!(std::fs::read(dir.join("noor.csv")).unwrap(), b"mine");

    // The command that the page shows gives the page that it shows.
    let file = |n: &str| dir.join(n).to_str().unwrap().to_owned();
    let again = run(&["read", &file("ilse.csv"), "--kit", &file("ilse.toml"), "-d", "70", "-f", "122", "--left", "54"]);
    assert!(run(&["demo", name]).out.contains(&again.out));
}

#[test]
fn faces() {
    insta::assert_snapshot!("faces", run(&["face"]).out);
    insta::assert_snapshot!("face_122", run(&["face", "122"]).out);
    insta::assert_snapshot!("face_40_3v", run(&["face", "40-3v", "--width", "40"]).out);
}

#[test]
fn a_group_in_the_middle_is_left_alone() {
    let csv = b"x_mm,y_mm\n3,2\n-30,20\n25,-31\n-4,-40\n10,38\n2,-1\n";
    let got = read_csv(csv, &["--spread", "0.5", "--worth", "50", "--trust", "verified", "--width", "72"]);
    assert_eq!((got.code, got.err.as_str()), (0, ""), "{got:?}");
    insta::assert_snapshot!("leave", got.out);
}

#[test]
fn the_pin_follows_the_arrows() {
    let high_left = b"x_mm,y_mm\n-200,300\n-210,310\n-190,290\n-205,295\n-195,305\n-200,302\n";
    let got = read_csv(high_left, &["--left", "66"]);
    let first = got.out.lines().next().unwrap();
    assert!(first.contains("up") && first.contains("left"), "{first}");
    // A touch that did just this leaves nothing to do: 300 mm at 70 m are 3.77 mm at a pin 880 mm from the eye.
    let touched = [&high_left[..], b""].concat();
    let csv = String::from_utf8(touched).unwrap().replace("x_mm,y_mm", "x_mm,y_mm,touch_right_mm,touch_up_mm");
    let mut lines: Vec<String> =
        csv.lines().map(|l| if l.starts_with('x') { l.to_owned() } else { format!("{l},,") }).collect();
    lines.push(",,-2.51,3.77".to_owned());
    let got = read_csv(lines.join("\n").as_bytes(), &["--left", "66"]);
    assert!(!got.out.starts_with("Move the sight"), "{}", got.out);
    // The same with the touch in the row of the last shot.
    lines.pop();
    let last = lines.pop().unwrap();
    lines.push(last.strip_suffix(",,").unwrap().to_owned() + ",-2.51,3.77");
    let same = read_csv(lines.join("\n").as_bytes(), &["--left", "66"]);
    assert_eq!(same.out, got.out);
}

#[test]
fn the_number_of_arrows_left_is_named_when_assumed() {
    let csv = b"x_mm,y_mm\n1,2\n";
    assert!(read_csv(csv, &[]).out.contains("36 arrows left are assumed"));
    assert!(!read_csv(csv, &["--left", "36"]).out.contains("assumed"));
    assert!(read_csv(csv, &["--left", "0"]).out.contains("No arrows are left"));
}

#[test]
fn the_kit_names_scales_and_options_stand_above_it() {
    let home = tempfile::tempdir().unwrap();
    let kit = home.path().join("kit.toml");
    let path = kit.to_str().unwrap();
    let csv = "x_mm;y_mm\n100;150\n102;148\n98;152\n101;151\n";
    let read = |text: &str, more: &[&str]| {
        std::fs::write(&kit, text).unwrap();
        let args: Vec<&str> =
            ["read", "-", "-d", "70", "-f", "122", "--kit", path].iter().chain(more).copied().collect();
        let got = run_with(&args, csv.as_bytes());
        assert_eq!(got.code, 0, "{got:?}");
        got.out
    };
    assert!(read("elevation_grows = \"down\"\n", &[]).contains("Elevation scale: the number falls"));
    let whole = "elevation_grows = \"up\"\nelevation_reading = 10\nelevation_unit = \"1cm\"\nclick_elevation = 1\n";
    assert!(read(whole, &[]).contains("Elevation scale: 10 -> 10.2"), "{}", read(whole, &[]));
    assert!(read(whole, &["--click", "2"]).contains("1 click up"), "{}", read(whole, &["--click", "2"]));
}

#[test]
fn the_json_is_the_batch_line_with_the_rule_of_thumb() {
    let got = read_csv(b"x_mm,y_mm\n100,150\n102,148\n", &["--json", "--left", "66"]);
    let line = b"{\"distance_m\":70,\"face\":\"122\",\"shots_left\":66,\"shots\":[{\"x_mm\":100,\"y_mm\":150},{\"x_mm\":102,\"y_mm\":148}]}\n";
    let batch = run_with(&["read", "--batch"], line);
    let (rest, rule) = got.out.split_once(",\"mean_rule\":").unwrap();
    assert_eq!(format!("{rest}}}\n"), batch.out);
    assert!(rule.starts_with("{\"clicks\":["), "{rule}");
}
