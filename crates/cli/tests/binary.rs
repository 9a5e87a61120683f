//! The program itself, as a shell sees it: exit codes and streams.

use assert_cmd::Command;

fn goldward() -> Command {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("goldward"));
    command.env_remove("NO_COLOR");
    command
}

#[test]
fn exit_codes() {
    goldward().arg("--version").assert().code(0);
    goldward().arg("face").assert().code(0);
    goldward().assert().code(2);
    goldward().args(["read", "no-such.csv", "-d", "70", "-f", "122"]).assert().code(1);
    goldward().args(["read", "--batch"]).write_stdin("bad\n").assert().code(1);
    let good = "{\"distance_m\":70,\"face\":\"122\",\"shots\":[{\"call\":\"9@4:30\"}]}\n";
    goldward().args(["read", "--batch"]).write_stdin(good).assert().code(0).stderr("");
}

#[test]
fn no_colour_where_there_is_no_terminal() {
    let out = goldward().args(["face", "122"]).output().unwrap();
    assert!(!out.stdout.contains(&0x1b));
}

#[test]
fn follow_answers_at_once() {
    use std::io::{BufRead as _, BufReader, Write as _};
    use std::process::{Command, Stdio};
    let mut child = Command::new(assert_cmd::cargo::cargo_bin!("goldward"))
        .arg("follow")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut input = child.stdin.take().unwrap();
    let mut output = BufReader::new(child.stdout.take().unwrap());
    for line in ["{\"distance_m\":70,\"face\":\"122\"}", "{\"shot\":{\"call\":\"9@4:30\"}}", "bad", "{\"undo\":true}"] {
        // The next line is sent only when the last one has been answered.
        writeln!(input, "{line}").unwrap();
        let mut answer = String::new();
        output.read_line(&mut answer).unwrap();
        assert!(answer.starts_with("{\"schema\":1,") && answer.ends_with("}\n"), "{answer}");
    }
    drop(input);
    assert_eq!(child.wait().unwrap().code(), Some(1), "one line was bad");
}
