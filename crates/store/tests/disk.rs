//! Every call to the file system failed in turn, and the process killed in every one that writes: in a process of its own under strace,
//! which answers a system call on the files of the store with an error in place of the system. What was acknowledged is there
//! afterwards, and every commit is there whole or not at all.
//!
//! What a disk may do to bytes that were not flushed is in `power`.
#![cfg(target_os = "linux")]

use std::collections::BTreeSet;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use goldward_journal::{Body, Note, Record, Stamp, Uuid, id::new_id};
use goldward_store::audit::Audit;
use goldward_store::ops::{Exchange, Logs, Owner, Quota, Version};
use goldward_store::{Backend as _, Place, Store};

const ARCHER: Uuid = Uuid::from_u128(1);
/// Commits of a process, and records of each.
const COMMITS: u32 = 4;
const EACH: u32 = 3;
/// Tells a process that it is the one with the bad disk, and where its store is.
const FOLDER: &str = "GOLDWARD_BAD_DISK";

fn record(n: u32) -> Record {
    let mut random = [0; 10];
    random[6..].copy_from_slice(&n.to_be_bytes());
    let stamp = Stamp { ms: u64::from(n), counter: 0, device: Uuid::from_u128(9) };
    Record::new(
        ARCHER,
        new_id(1, random),
        stamp,
        Body::Note(Note { about: None, text: "x".repeat(1500), at_ms: 1, ..Note::default() }),
    )
}

/// Opens a store, writes into it, sends again once what was refused, and notes what was acknowledged.
async fn write(folder: &Path) {
    let place = Place::File(folder.join("log.db"));
    let mut noted = std::fs::File::create(folder.join("acknowledged")).unwrap();
    let store = match Store::open(&place).await {
        Ok(store) => store,
        Err(_) => match Store::open(&place).await {
            Ok(store) => store,
            Err(_) => return,
        },
    };
    for k in 0..COMMITS {
        for _ in 0..2 {
            let records = (k * EACH..(k + 1) * EACH).map(|n| Version::from(&record(n))).collect();
            let quota = Quota::NONE;
            let op = Exchange { archer: ARCHER, owner: Owner::Anyone, records, after: 0, limit: 9, quota };
            if store.run(op).await.is_ok() {
                writeln!(noted, "{k}").unwrap();
                break;
            }
        }
    }
}

/// What is there afterwards, in a process without faults.
async fn judge(folder: &Path, what: &str) -> usize {
    let noted = std::fs::read_to_string(folder.join("acknowledged")).unwrap();
    let acknowledged: BTreeSet<u32> = noted.lines().map(|l| l.parse().unwrap()).collect();
    let store = Store::open(&Place::File(folder.join("log.db"))).await.unwrap_or_else(|e| panic!("{what}: {e:?}"));
    assert_eq!(store.integrity().await.unwrap(), Vec::<String>::new(), "{what}");
    let mut there = BTreeSet::new();
    if !store.run(Logs { owner: Owner::Anyone }).await.unwrap().is_empty() {
        let audited = store.run(Audit { archer: ARCHER }).await.unwrap();
        assert_eq!(audited.findings, [], "{what}");
        let found: BTreeSet<Uuid> = audited.records.iter().map(|r| r.id).collect();
        for k in 0..COMMITS {
            let n = (k * EACH..(k + 1) * EACH).filter(|n| found.contains(&record(*n).id)).count();
            assert!(n == 0 || n == EACH as usize, "{what}: half of commit {k}");
            if n > 0 {
                there.insert(k);
            }
        }
    }
    assert!(there.is_superset(&acknowledged), "{what}: {acknowledged:?} acknowledged, {there:?} there");
    acknowledged.len()
}

/// How the nth call of a kind fails: whether it was made at all, and how many commits were acknowledged all the same.
async fn fail(strace: &Path, call: &str, how: &str, n: u32) -> Option<usize> {
    let folder = tempfile::tempdir().unwrap();
    let trace = folder.path().join("trace");
    let mut command = Command::new(strace);
    command.args(["-f", "-qq", "-o"]).arg(&trace).arg("-e").arg(format!("trace={call}"));
    let (how, on) = how.strip_suffix(" from then on").map_or((how, ""), |how| (how, "+"));
    command.arg("-e").arg(format!("inject={call}:{how}:when={n}{on}"));
    for file in ["log.db", "log.db-wal", "log.db-shm"] {
        command.arg("-P").arg(folder.path().join(file));
    }
    command.arg(std::env::current_exe().unwrap()).args(["--exact", TEST, "--test-threads=1"]);
    command.env(FOLDER, folder.path()).stdout(Stdio::null()).stderr(Stdio::null());
    command.status().unwrap();
    let trace = std::fs::read_to_string(&trace).unwrap();
    if !trace.contains("INJECTED") && !trace.contains("killed by SIGKILL") {
        return None;
    }
    Some(judge(folder.path(), &format!("{call} {how}, call {n}{on}")).await)
}

fn strace() -> Option<PathBuf> {
    let path = std::env::var_os("PATH").unwrap_or_default();
    let program = std::env::split_paths(&path).map(|f| f.join("strace")).find(|p| p.is_file())?;
    // Not everywhere may one process look at another.
    Command::new(&program).args(["-qq", "-o", "/dev/null", "true"]).status().ok()?.success().then_some(program)
}

const TEST: &str = "what_was_acknowledged_outlives_a_fault_in_every_call_to_the_file_system";

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_was_acknowledged_outlives_a_fault_in_every_call_to_the_file_system() {
    if let Some(folder) = std::env::var_os(FOLDER) {
        return write(Path::new(&folder)).await;
    }
    let Some(strace) = strace() else {
        eprintln!("\n*** NO STRACE THAT WORKS ON THIS MACHINE: THIS TEST DID NOT RUN (install Debian's strace) ***\n");
        return;
    };
    let (mut faults, mut whole, mut calls) = (0, 0, BTreeSet::new());
    // Of the many writes some, so that it takes seconds; every one fails once.
    for (call, how, step) in [
        ("read,pread64", "error=EIO", 1),
        ("write,pwrite64", "error=EIO", 1),
        ("write,pwrite64", "error=ENOSPC from then on", 5),
        ("write,pwrite64", "signal=KILL", 5),
        ("fsync,fdatasync", "error=EIO", 1),
        ("fsync,fdatasync", "signal=KILL", 1),
        ("ftruncate,fallocate", "error=ENOSPC", 1),
        ("ftruncate,fallocate", "signal=KILL", 1),
        ("unlink,unlinkat,rename", "error=EIO", 1),
        ("unlink,unlinkat,rename", "signal=KILL", 1),
        ("openat", "error=EMFILE", 1),
        ("mmap", "error=ENOMEM", 1),
    ] {
        for n in (1..).step_by(step) {
            assert!(n < 1_000, "{call} never ends");
            let Some(acknowledged) = fail(&strace, call, how, n).await else { break };
            calls.insert(call);
            faults += 1;
            whole += usize::from(acknowledged == COMMITS as usize);
        }
    }
    eprintln!(
        "{faults} calls failed, nothing acknowledged lost; {whole} times everything went through at the second try"
    );
    assert!(calls.len() >= 5 && faults > 100 && whole > 20, "{faults} faults in {calls:?}, {whole}");
}
