//! `goldward accounts`, as whoever looks after a club's server meets it.

use std::path::Path;
use std::process::{Command, Stdio};

use assert_cmd::cargo::CommandCargoExt as _;

/// Exit code, standard output and error of the program with a first line of standard input.
fn goldward(at: &Path, args: &[&str], input: &str) -> (i32, String, String) {
    use std::io::Write as _;
    let mut command = Command::cargo_bin("goldward").unwrap();
    command.args(args).current_dir(at).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    // It may end without having read it.
    let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
    let out = child.wait_with_output().unwrap();
    let text = |b: Vec<u8>| String::from_utf8(b).unwrap();
    (out.status.code().unwrap(), text(out.stdout), text(out.stderr))
}

const PASSWORD: &str = "correct horse battery\n";

#[test]
fn from_the_first_account_to_the_last() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let accounts = |args: &[&str], input: &str| goldward(at, &[&["accounts"], args].concat(), input);
    let fine = |args: &[&str], input: &str| {
        let (code, out, err) = accounts(args, input);
        assert_eq!(code, 0, "{args:?}: {err}");
        out
    };
    let refused = |args: &[&str], input: &str, what: &str| {
        let (code, out, err) = accounts(args, input);
        assert!(code == 1 && out.is_empty() && err.contains(what), "{args:?}: {code} {out}{err}");
    };
    // Nothing is made by looking.
    refused(&["list"], "", "there is no such file");
    assert!(!at.join("goldward.db").exists());
    // A log from before there were accounts.
    let log = goldward::log::demo::log(1_750_000_000_000);
    std::fs::write(at.join("log.jsonl"), goldward_journal::jsonl::write(&log)).unwrap();
    assert_eq!(goldward(at, &["log", "import", "log.jsonl"], "").0, 0);
    assert!(fine(&["list"], "").starts_with("no accounts"));

    // All or nothing: neither a stray account nor a log of nobody.
    refused(&["add", "anna", "--give-log", "Nobody"], PASSWORD, "there is no log of Nobody");
    refused(&["add", "anna", "--give-log", "Ilse"], "short\n", "10 to 1000 characters");
    refused(&["add", "anna\u{202e}"], PASSWORD, "the name cannot be used");
    assert!(fine(&["list"], "").starts_with("no accounts"));
    assert_eq!(fine(&["add", "Anna", "--give-log", "Ilse"], PASSWORD), "account Anna added with 1 log\n");
    refused(&["add", "anna"], PASSWORD, "capitals make no difference");
    refused(&["add", "ben", "--give-log", "Ilse"], PASSWORD, "has an owner");
    assert_eq!(fine(&["add", "ben"], PASSWORD), "account ben added\n");
    refused(&["give-log", "BEN", "Ilse"], "", "has an owner");

    let listed = fine(&["list"], "");
    let lines: Vec<&str> = listed.lines().collect();
    assert!(
        lines[0] == "Anna, 0 devices" && lines[1].starts_with("  log of Ilse, ") && lines[2] == "ben, 0 devices",
        "{listed}"
    );
    let (token, listed) = (fine(&["device", "anna"], ""), fine(&["list", "--json"], ""));
    assert_eq!(token.trim().len(), 64);
    let listed: serde_json::Value = serde_json::from_str(&listed).unwrap();
    assert_eq!(listed["accounts"][0]["devices"], 1);
    assert_eq!(listed["accounts"][0]["logs"][0]["name"], "Ilse");

    // A second factor, shown in the terminal, and taken back.
    refused(&["add", "carl"], "password123\n", "among the first to be guessed");
    let shown = fine(&["second-factor", "anna"], "");
    assert!(shown.contains("otpauth://totp/Goldward:Anna?secret=") && shown.lines().count() > 15, "{shown}");
    refused(&["second-factor", "--off", "ben"], "", "has no second factor");
    // All that is kept of one person, and nothing that lets anybody in.
    let (first, second) = (fine(&["export", "ANNA"], ""), fine(&["export", "anna", "--out", "anna.json"], ""));
    assert!(second.contains("1 log with"), "{second}");
    assert_eq!(std::fs::read_to_string(at.join("anna.json")).unwrap(), first);
    let whole: serde_json::Value = serde_json::from_str(&first).unwrap();
    assert_eq!((&whole["account"]["name"], &whole["account"]["second_factor"]), (&"Anna".into(), &true.into()));
    assert_eq!(whole["devices"].as_array().unwrap().len(), 1);
    assert_eq!(whole["logs"][0]["records"].as_array().unwrap().len(), log.len());
    assert!(!first.contains(token.trim()) && !first.contains("argon2"), "a secret is in it");
    refused(&["export", "carl"], "", "there is no account carl");
    assert!(fine(&["second-factor", "anna", "--off"], "").contains("password alone"));

    // The way in for newcomers, and who opens it.
    assert!(fine(&["sign-up"], "").contains("no link is open"));
    refused(&["sign-up", "--open", "--room", "0"], "", "1 to 500 accounts");
    let code = fine(&["sign-up", "--open", "--room", "3"], "");
    assert_eq!(code.trim().len(), 14, "{code}");
    let told = fine(&["sign-up"], "");
    assert!(told.contains("3 more accounts") && !told.contains(code.trim()), "{told}");
    assert!(fine(&["sign-up", "--off"], "").contains("no more"));
    assert!(fine(&["sign-up", "--off"], "").contains("no link was open"));
    assert!(fine(&["manager", "anna"], "").contains("opens and closes"));
    assert!(fine(&["manager", "Anna", "--off"], "").contains("no longer"));
    // Under age, and of age.
    refused(&["guardian", "anna", "anna"], "", "cannot be the guardian");
    refused(&["guardian", "anna", "carl"], "", "there is no account carl");
    assert!(fine(&["guardian", "anna", "ben"], "").contains("ben sees the logs"));
    refused(&["guardian", "ben"], "", "ben is a guardian");
    let whole: serde_json::Value = serde_json::from_str(&fine(&["export", "anna"], "")).unwrap();
    assert_eq!((&whole["account"]["minor"], &whole["account"]["guardian"]), (&true.into(), &"ben".into()));
    assert!(fine(&["guardian", "anna"], "").contains("until there is a guardian"));
    assert!(fine(&["guardian", "anna", "--off"], "").contains("of age"));

    refused(&["rename", "ben", "ANNA"], "", "exists");
    refused(&["rename", "carl", "Carl"], "", "there is no account carl");
    assert_eq!(fine(&["rename", "BEN", "Ben"], ""), "ben is called Ben from now on\n");
    assert!(fine(&["password", "ben"], "another long password\n").contains("log in anew"));
    // What an account leaves goes to another, by the archer's name.
    assert!(fine(&["remove", "anna"], "").contains("1 log kept, without an owner"));
    assert!(fine(&["list"], "").contains("without an owner\n  log of Ilse"));
    assert!(fine(&["give-log", "Ben", "Ilse"], "").contains("belongs to Ben"));
    assert!(fine(&["remove", "ben", "--erase-logs"], "").contains("1 log erased"));
    assert_eq!(goldward(at, &["log", "export"], "").1.lines().count(), 1, "only the line that names the format");
}

#[cfg(unix)]
#[test]
fn a_device_or_a_pipe_is_written_to_and_not_replaced() {
    use std::os::unix::fs::FileTypeExt as _;
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let log = goldward::log::demo::log(1_750_000_000_000);
    std::fs::write(at.join("log.jsonl"), goldward_journal::jsonl::write(&log)).unwrap();
    assert!(Command::new("mkfifo").arg(at.join("pipe")).status().unwrap().success());
    let pipe = at.join("pipe");
    let reader = std::thread::spawn(move || std::fs::read(pipe).unwrap());
    let (code, _, err) = goldward(at, &["log", "merge", "log.jsonl", "--out", "pipe"], "");
    assert_eq!(code, 0, "{err}");
    assert_eq!(reader.join().unwrap(), std::fs::read(at.join("log.jsonl")).unwrap());
    assert!(std::fs::symlink_metadata(at.join("pipe")).unwrap().file_type().is_fifo(), "still a pipe");
}
