//! What can happen to the file of a store, as a person meets it: each time a clear error that names the file and the remedy, and
//! nothing lost.

use std::io::{BufRead as _, BufReader, Read as _};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use assert_cmd::cargo::CommandCargoExt as _;

fn program() -> Command {
    Command::cargo_bin("goldward").unwrap()
}

fn outcome(command: &mut Command, folder: &Path) -> (i32, String, String) {
    let out = command.current_dir(folder).stdin(Stdio::null()).output().unwrap();
    let text = |b: Vec<u8>| String::from_utf8(b).unwrap();
    (out.status.code().unwrap(), text(out.stdout), text(out.stderr))
}

fn goldward(folder: &Path, args: &[&str]) -> (i32, String, String) {
    outcome(program().args(args), folder)
}

/// A folder with `log.jsonl`, the demo's log, and `whole.db`, a store that holds it in one file.
fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let log = goldward::log::demo::log(1_750_000_000_000);
    std::fs::write(folder.path().join("log.jsonl"), goldward_journal::jsonl::write(&log)).unwrap();
    assert_eq!(goldward(folder.path(), &["log", "import", "log.jsonl", "--db", "first.db"]).0, 0);
    assert_eq!(goldward(folder.path(), &["log", "backup", "whole.db", "--db", "first.db"]).0, 0);
    folder
}

/// Every command that opens a store refuses `file` with exit code 1, names it, says `what` and `remedy`, and leaves it as it is.
fn check(folder: &Path, file: &str, what: &str, remedy: &str) {
    let before = std::fs::read(folder.join(file)).ok();
    for args in [
        &["log", "check", "--db", file][..],
        &["log", "export", "--db", file],
        &["progress", "--db", file],
        &["log", "backup", "copy.db", "--db", file],
        &["log", "import", "log.jsonl", "--db", file],
        &["serve", "--addr", "127.0.0.1:0", "--db", file],
    ] {
        let (code, out, err) = goldward(folder, args);
        assert_eq!((code, out.as_str()), (1, ""), "{args:?}: {err}");
        let title = format!("error: {file} cannot be used\n");
        assert!(err.starts_with(&title), "{args:?}: {err}");
        assert!(err.contains(what) && err.contains(&format!("hint: {remedy}")), "{args:?}: {err}");
    }
    assert!(std::fs::read(folder.join(file)).ok() == before, "{file} was changed");
    assert!(!folder.join("copy.db").exists());
}

#[test]
fn a_file_that_was_cut_off() {
    let folder = folder();
    let at = folder.path();
    let whole = std::fs::read(at.join("whole.db")).unwrap();
    std::fs::write(at.join("cut.db"), &whole[..whole.len() / 2]).unwrap();
    check(at, "cut.db", "damaged", "put a backup in its place");
}

#[test]
fn a_file_whose_inside_was_overwritten() {
    let folder = folder();
    let at = folder.path();
    let mut bytes = std::fs::read(at.join("whole.db")).unwrap();
    let length = bytes.len();
    bytes[4096..length - 4096].fill(0xA5);
    std::fs::write(at.join("rotten.db"), bytes).unwrap();
    let (code, _, err) = goldward(at, &["log", "check", "--db", "rotten.db"]);
    assert!(code == 1 && err.starts_with("error: rotten.db cannot be used\n") && err.contains("damaged"), "{err}");
}

#[test]
fn a_file_that_is_none() {
    let folder = folder();
    let at = folder.path();
    check(at, "log.jsonl", "no store of Goldward", "check the name");
    let other = rusqlite(at, "other.db", "CREATE TABLE theirs (a)");
    check(at, other, "no store of Goldward", "check the name");
    // The other way round.
    let (code, _, err) = goldward(at, &["log", "check", "whole.db"]);
    assert!(code == 1 && err.contains("whole.db cannot be read") && err.contains("hint: give it with --db"), "{err}");
    // A folder, and nothing at all: only what takes something in makes a store.
    std::fs::create_dir(at.join("folder.db")).unwrap();
    let (code, _, err) = goldward(at, &["log", "check", "--db", "folder.db"]);
    assert!(code == 1 && err.contains("folder.db cannot be used") && err.contains("hint: check the name"), "{err}");
    for args in [
        &["log", "check", "--db", "none.db"][..],
        &["log", "export", "--db", "none.db"],
        &["progress", "--db", "none.db"],
    ] {
        let (code, _, err) = goldward(at, args);
        assert!(code == 1 && err.contains("none.db cannot be used") && err.contains("there is no such file"), "{err}");
        assert!(!at.join("none.db").exists(), "{args:?} made one");
    }
}

fn rusqlite<'a>(folder: &Path, file: &'a str, sql: &str) -> &'a str {
    rusqlite::Connection::open(folder.join(file)).unwrap().execute_batch(sql).unwrap();
    file
}

#[test]
fn a_store_of_a_later_goldward() {
    let folder = folder();
    let later = rusqlite(folder.path(), "whole.db", "UPDATE goldward SET schema = 99");
    check(folder.path(), later, "schema 99", "update Goldward; nothing was changed");
}

/// The program as a user who must heed permissions, which root need not.
#[cfg(unix)]
fn unprivileged(folder: &Path) -> Command {
    let root = Command::new("id").arg("-u").output().is_ok_and(|o| o.stdout.starts_with(b"0\n"));
    if !root {
        return program();
    }
    // It may lie where only root can look.
    let copy: PathBuf = folder.join("goldward");
    // Not by this process: a child of another test would hold the file open for writing, and it could not be run.
    let copied = Command::new("cp").arg("-p").arg(program().get_program()).arg(&copy).status();
    assert!(copied.unwrap().success());
    let mut command = Command::new("setpriv");
    command.args(["--reuid=65534", "--regid=65534", "--clear-groups"]).arg(copy);
    command
}

#[cfg(unix)]
#[test]
fn a_file_that_cannot_be_written_and_one_that_cannot_be_read() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = folder();
    let at = folder.path();
    let mode =
        |name: &str, mode| std::fs::set_permissions(at.join(name), std::fs::Permissions::from_mode(mode)).unwrap();
    mode("", 0o555);
    for (bits, what) in [(0o444, "give this user the right to write"), (0o000, "check the path")] {
        mode("whole.db", bits);
        let before = std::fs::metadata(at.join("whole.db")).unwrap().modified().unwrap();
        // What can be read is read, checked and written elsewhere.
        for args in [
            &["log", "check", "--db", "whole.db"][..],
            &["log", "export", "--db", "whole.db"],
            &["progress", "--db", "whole.db"],
        ] {
            let (code, out, err) = outcome(unprivileged(at).args(args), at);
            assert_eq!((code == 0, out.is_empty()), (bits == 0o444, bits == 0), "{bits:o} {args:?}: {out}{err}");
        }
        for args in [
            &["log", "import", "log.jsonl", "--db", "whole.db"][..],
            &["serve", "--addr", "127.0.0.1:0", "--db", "whole.db"],
        ] {
            let (code, out, err) = outcome(unprivileged(at).args(args), at);
            assert_eq!((code, out.as_str()), (1, ""), "{bits:o} {args:?}: {err}");
            assert!(
                err.starts_with("error: whole.db cannot be used\n") && err.contains(what),
                "{bits:o} {args:?}: {err}"
            );
        }
        assert_eq!(std::fs::metadata(at.join("whole.db")).unwrap().modified().unwrap(), before);
    }
    mode("", 0o755);
    mode("whole.db", 0o600);
    let (code, out, _) = goldward(at, &["log", "check", "--db", "whole.db"]);
    assert!(code == 0 && out.contains("all is well"), "{out}");
}

/// The shell's limit on the size of a file stands for a disk that takes nothing more: a write beyond it fails.
#[cfg(unix)]
fn limited(kilobytes: u32, folder: &Path, args: &[&str]) -> Command {
    let mut command = Command::new("sh");
    // Blocks of 512 bytes.
    command.arg("-c").arg(format!("trap '' XFSZ; ulimit -f {}; exec \"$0\" \"$@\"", kilobytes * 2));
    command.arg(program().get_program()).args(args).current_dir(folder);
    command
}

#[cfg(unix)]
#[test]
fn a_disk_that_takes_nothing_more() {
    let folder = folder();
    let at = folder.path();
    let before = goldward(at, &["log", "export", "--db", "whole.db"]).1;
    // More than a megabyte of new notes.
    let mut notes = String::new();
    for n in 0..2000 {
        let note = format!("{{\"note\":{{\"text\":\"{}\",\"at_ms\":1}}}}", "x".repeat(1000));
        let device = "01890a5d-ac96-774b-bcce-b302099a8057";
        notes.push_str(&format!(
            "{{\"schema\":1,\"id\":\"017f22e2-79b0-7cc3-98c4-{n:012x}\",\"archer\":\"{device}\",\"stamp\":{{\"ms\":{n},\"counter\":0,\"device\":\"{device}\"}},\"body\":{note}}}\n"
        ));
    }
    std::fs::write(at.join("notes.jsonl"), notes).unwrap();
    let (code, out, err) = outcome(&mut limited(1000, at, &["log", "import", "notes.jsonl", "--db", "whole.db"]), at);
    assert_eq!((code, out.as_str()), (1, ""), "{err}");
    assert!(err.starts_with("error: whole.db cannot be used\n"), "{err}");
    assert!(err.contains("hint: look at quotas") && err.contains("what was acknowledged before is safe"), "{err}");
    // All is there, and when there is room again it goes in.
    assert_eq!(goldward(at, &["log", "export", "--db", "whole.db"]).1, before);
    let (code, out, err) = goldward(at, &["log", "import", "notes.jsonl", "--db", "whole.db"]);
    assert!(code == 0 && out.contains("2000 of them new"), "{out}{err}");
    // Writing a file: whole or not at all, and the old one stays.
    std::fs::write(at.join("out.jsonl"), "old").unwrap();
    let export = ["log", "export", "--db", "whole.db", "--out", "out.jsonl"];
    let (code, _, err) = outcome(&mut limited(1000, at, &export), at);
    assert!(code == 1 && err.contains("out.jsonl cannot be written") && err.contains("hint: make room"), "{err}");
    assert_eq!(std::fs::read_to_string(at.join("out.jsonl")).unwrap(), "old");
    let (code, _, err) = outcome(&mut limited(1000, at, &["log", "backup", "copy.db", "--db", "whole.db"]), at);
    assert!(
        code == 1
            && err.contains("no copy in copy.db")
            && err.contains("hint: look at quotas")
            && !at.join("copy.db").exists(),
        "{err}"
    );
}

/// A server tells the device, goes on, and takes the records once there is room.
#[cfg(unix)]
#[test]
fn a_server_on_a_full_disk_goes_on() {
    let folder = folder();
    let at = folder.path();
    let args = ["serve", "--addr", "127.0.0.1:0", "--db", "whole.db"];
    let mut child = limited(1000, at, &args).stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
    let mut line = String::new();
    BufReader::new(child.stdout.as_mut().unwrap()).read_line(&mut line).unwrap();
    let addr = line.trim().strip_prefix("listening on http://").unwrap().to_owned();
    let archer = "01890a5d-ac96-774b-bcce-b302099a8057";
    let send = |notes: usize, text: usize| {
        let records: Vec<serde_json::Value> = (0..notes)
            .map(|n| {
                serde_json::json!({
                    "schema": 1, "id": format!("017f22e2-79b0-7cc3-98c4-{n:012x}"), "archer": archer,
                    "stamp": { "ms": 1, "counter": n, "device": archer },
                    "body": { "note": { "text": "x".repeat(text), "at_ms": 1 } },
                })
            })
            .collect();
        let body = serde_json::json!({ "schema": 1, "archer": archer, "records": records }).to_string();
        let mut stream = std::net::TcpStream::connect(&addr).unwrap();
        let head = format!(
            "POST /api/v1/sync HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\nContent-Type: application/json\r\nContent-Length: {}\r\n\r\n",
            body.len()
        );
        std::io::Write::write_all(&mut stream, format!("{head}{body}").as_bytes()).unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        answer
    };
    let answer = send(2000, 1000);
    assert!(answer.starts_with("HTTP/1.1 507") && answer.contains("nothing was taken in"), "{answer}");
    let answer = send(3, 10);
    assert!(answer.starts_with("HTTP/1.1 200") && answer.contains("\"accepted\":3"), "{answer}");
    assert!(Command::new("kill").arg(child.id().to_string()).status().unwrap().success());
    assert_eq!(child.wait().unwrap().code(), Some(0));
    let (code, out, err) = goldward(at, &["log", "check", "--db", "whole.db"]);
    assert!(code == 0 && out.contains("all is well"), "{out}{err}");
}

#[cfg(target_os = "linux")]
#[test]
fn output_into_a_full_disk_is_no_fault_of_the_program() {
    let folder = folder();
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let args = ["log", "export", "--db", "whole.db"];
    let out = program().args(args).current_dir(folder.path()).stdout(full).output().unwrap();
    let err = String::from_utf8(out.stderr).unwrap();
    assert!(out.status.code() == Some(1) && err.contains("hint: make room"), "{err}");
}

/// One bit of a store is turned over, somewhere. Either it does not matter, and the log is as it was, or `log check` says so.
#[test]
fn a_bit_that_fell_over_is_found_or_does_not_matter() {
    let folder = folder();
    let at = folder.path();
    let whole = std::fs::read(at.join("whole.db")).unwrap();
    let log = std::fs::read_to_string(at.join("log.jsonl")).unwrap();
    let mut random = goldward_core::random::Random::stream(60, 1);
    let (mut found, mut harmless) = (0, 0);
    for _ in 0..60 {
        let mut bytes = whole.clone();
        let bit = (random.uniform() * (8 * bytes.len()) as f64) as usize;
        bytes[bit / 8] ^= 1 << (bit % 8);
        std::fs::write(at.join("bit.db"), &bytes).unwrap();
        let (code, out, _) = goldward(at, &["log", "check", "--db", "bit.db"]);
        if code == 0 {
            assert!(out.contains("all is well"), "{out}");
            let (code, export, _) = goldward(at, &["log", "export", "--db", "bit.db"]);
            assert!(code == 0 && export == log, "bit {bit} changed the log, and nothing was said");
            harmless += 1;
        } else {
            found += 1;
        }
        for rest in ["bit.db", "bit.db-wal", "bit.db-shm"] {
            let _ = std::fs::remove_file(at.join(rest));
        }
    }
    assert!(found > 30, "{found} found, {harmless} harmless");
}

#[test]
fn nothing_is_not_all_is_well() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    for text in ["", "\n", "{\"format\":\"goldward-log\",\"schema\":1}\n"] {
        std::fs::write(at.join("empty.jsonl"), text).unwrap();
        let (code, out, _) = goldward(at, &["log", "check", "empty.jsonl"]);
        assert!(code == 1 && out.contains("there is no record in it") && !out.contains("all is well"), "{out}");
    }
}

#[test]
fn a_copy_of_a_store_that_does_not_add_up_is_not_called_one() {
    let folder = folder();
    let at = folder.path();
    let sql = "UPDATE records SET json = replace(json, '\"x_mm\":', '\"x_mm\":1') WHERE json LIKE '%\"index\":3,%'";
    rusqlite::Connection::open(at.join("whole.db")).unwrap().execute_batch(sql).unwrap();
    let (code, _, err) = goldward(at, &["log", "backup", "copy.db", "--db", "whole.db"]);
    assert!(code == 1 && err.contains("changed on the disk") && err.contains("not to be trusted"), "{err}");
}
