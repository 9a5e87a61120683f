//! Help texts, the version and completions.

mod common;
use common::run;

fn check(args: &[&str]) -> String {
    let got = run(args);
    assert_eq!((got.code, got.err.as_str()), (0, ""), "{got:?}");
    got.out
}

#[test]
fn help_texts() {
    insta::assert_snapshot!("help", check(&["--help"]));
    insta::assert_snapshot!("help_read", check(&["read", "--help"]));
    insta::assert_snapshot!("help_pace", check(&["pace", "--help"]));
    insta::assert_snapshot!("help_match", check(&["match", "--help"]));
    insta::assert_snapshot!("help_follow", check(&["follow", "--help"]));
    insta::assert_snapshot!("help_face", check(&["face", "--help"]));
    insta::assert_snapshot!("help_demo", check(&["demo", "--help"]));
    insta::assert_snapshot!("help_completions", check(&["completions", "--help"]));
}

#[test]
fn version_and_completions() {
    assert_eq!(check(&["--version"]), format!("goldward {}\n", env!("CARGO_PKG_VERSION")));
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        assert!(check(&["completions", shell]).contains("batch"), "{shell}");
    }
}

#[test]
fn wrong_usage_is_2_and_on_standard_error() {
    for args in [
        &["shoot"][..],
        &["read"],
        &["read", "a.csv", "--face", "122"],
        &["read", "a.csv", "--distance", "70", "--face", "121"],
        &["read", "a.csv", "--distance", "seventy", "--face", "122"],
        &["read", "a.csv", "--distance", "70", "--face", "122", "--plot", "a.jpg"],
        &["read", "a.csv", "--distance", "70", "--face", "122", "--last", "145"],
        &["read", "a.csv", "--distance", "70", "--face", "122", "--trust", "some"],
        &["read", "a.csv", "--batch"],
        &["read", "--batch", "--threads", "0"],
        &["read", "--batch", "--json"],
        &["face", "--plot", "a.svg"],
        &["pace"],
        &["follow", "--resume"],
        &["follow", "a.jsonl"],
    ] {
        let got = run(args);
        assert_eq!(got.code, 2, "{args:?} {got:?}");
        assert!(got.out.is_empty() && got.err.starts_with("error:") || args.len() == 1, "{args:?} {got:?}");
    }
    assert!(run(&["read", "a", "-d", "70", "-f", "121"]).err.contains("field-20"), "the faces are listed");
}
