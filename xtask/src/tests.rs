//! The test and bench commands.

use std::path::{Path, PathBuf};

use crate::run::{cargo, run};
use crate::{arrows, wasm};

/// What becomes the wheel has nothing that Rust could test: `wheel` does.
const WHEEL: &str = "goldward-python";

/// Every check and test, the quick ones first.
pub(crate) fn test() -> Result<(), String> {
    run("formatting", cargo(&["fmt", "--all", "--check"]))?;
    arrows::check()?;
    postgres()?;
    // A usual proxy, which a server stands behind as docs/club.md says; and what fails the calls of a process.
    needed("nginx", "nginx-light", "the tests of the server")?;
    if cfg!(target_os = "linux") {
        needed("strace", "strace", "the tests of the store")?;
    }
    run("lints", cargo(&["clippy", "--workspace", "--all-targets", "--locked", "--", "--deny", "warnings"]))?;
    let mut docs = cargo(&["doc", "--workspace", "--exclude", WHEEL, "--no-deps", "--locked"]);
    docs.env("RUSTDOCFLAGS", "--deny warnings");
    run("documentation", docs)?;
    // All of them, so that one run tells everything that fails.
    run("tests", cargo(&["test", "--workspace", "--exclude", WHEEL, "--locked", "--no-fail-fast"]))?;
    // The numbers that take many simulated archers, in the optimised build.
    run("slow tests", cargo(&["test", "--release", "--locked", "--package", "checks", "--", "--ignored"]))?;
    // Two hundred kills, one store after the other.
    let slow = [
        "test",
        "--release",
        "--locked",
        "--package",
        "goldward-server",
        "--test",
        "kill",
        "--",
        "--ignored",
        "--test-threads",
        "1",
    ];
    run("slow tests of the server", cargo(&slow))?;
    crate::wheel::test(crate::wheel::Built::Quickly)?;
    crate::browser::test(&[])
}

/// PostgreSQL's programs, from Debian when they are not there: the tests of the store start a server of their own.
pub(crate) fn postgres() -> Result<(), String> {
    if has_postgres() {
        return Ok(());
    }
    let refused = |e: String| {
        format!(
            "{e}\nthe tests of the store need PostgreSQL's initdb, postgres and pg_isready: install Debian's package postgresql"
        )
    };
    wasm::install(&["postgresql"]).map_err(refused)?;
    if has_postgres() { Ok(()) } else { Err(refused("they are still not there".to_owned())) }
}

/// A program that tests start, from Debian when it is not there.
fn needed(name: &str, package: &str, what: &str) -> Result<(), String> {
    let path = std::env::var_os("PATH").unwrap_or_default();
    let there = || {
        let mut folders = std::env::split_paths(&path).chain([PathBuf::from("/usr/sbin")]);
        folders.any(|f| f.join(name).is_file())
    };
    if there() {
        return Ok(());
    }
    let refused = |e: String| format!("{e}\n{what} need {name}: install Debian's package {package}");
    wasm::install(&[package]).map_err(refused)?;
    if there() { Ok(()) } else { Err(refused("it is still not there".to_owned())) }
}

fn has_postgres() -> bool {
    let debian = std::fs::read_dir("/usr/lib/postgresql").into_iter().flatten().flatten().map(|e| e.path().join("bin"));
    let path = std::env::var_os("PATH").unwrap_or_default();
    let all = |folder: &Path| ["initdb", "postgres", "pg_isready"].iter().all(|p| folder.join(p).is_file());
    debian.chain(std::env::split_paths(&path)).any(|f: PathBuf| all(&f))
}

/// The benchmarks.
pub(crate) fn bench(rest: &[String]) -> Result<(), String> {
    crate::bench::bench(rest)
}
