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
    run("slow tests", cargo(&["test", "--release", "--locked", "--package", "checks", "--", "--ignored"]))
}

/// The benchmarks.
pub(crate) fn bench(rest: &[String]) -> Result<(), String> {
    crate::bench::bench(rest)
}
