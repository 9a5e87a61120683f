//! The test and bench commands.

use std::path::{Path, PathBuf};

use crate::run::{cargo, run};
use crate::{arrows, wasm};

/// Every check and test, the quick ones first.
pub(crate) fn test() -> Result<(), String> {
    run("formatting", cargo(&["fmt", "--all", "--check"]))?;
    arrows::check()?;
    postgres()?;
    run("lints", cargo(&["clippy", "--workspace", "--all-targets", "--locked", "--", "--deny", "warnings"]))?;
    run("tests", cargo(&["test", "--workspace", "--locked"]))?;
    // The numbers that take many simulated archers, in the optimised build.
    run("slow tests", cargo(&["test", "--release", "--locked", "--package", "checks", "--", "--ignored"]))?;
    // Two hundred kills, one store after the other.
    let slow =
        ["test", "--release", "--locked", "--package", "goldward-server", "--", "--ignored", "--test-threads", "1"];
    run("slow tests of the server", cargo(&slow))?;
    crate::browser::test()
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
