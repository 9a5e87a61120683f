//! The test and bench commands.

use crate::arrows;
use crate::run::{cargo, run};

/// Every check and test, the quick ones first.
pub(crate) fn test() -> Result<(), String> {
    run("formatting", cargo(&["fmt", "--all", "--check"]))?;
    arrows::check()?;
    run("lints", cargo(&["clippy", "--workspace", "--all-targets", "--locked", "--", "--deny", "warnings"]))?;
    run("tests", cargo(&["test", "--workspace", "--locked"]))?;
    // The numbers that take many simulated archers, in the optimised build.
    run("slow tests", cargo(&["test", "--release", "--locked", "--package", "checks", "--", "--ignored"]))?;
    // Two hundred kills, and the times of sync: one at a time, so that the times are theirs.
    let slow =
        ["test", "--release", "--locked", "--package", "goldward-server", "--", "--ignored", "--test-threads", "1"];
    run("slow tests of the server", cargo(&slow))?;
    crate::browser::test()
}

/// The benchmarks.
pub(crate) fn bench(rest: &[String]) -> Result<(), String> {
    crate::bench::bench(rest)
}
