//! Running other programs.

use std::path::{Path, PathBuf};
use std::process::Command;

/// The root of the workspace.
pub(crate) fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().map_or_else(PathBuf::new, Path::to_path_buf)
}

/// Where cargo puts what it builds.
pub(crate) fn target() -> PathBuf {
    std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| root().join("target"), |t| root().join(t))
}

/// A `cargo` command in the root of the workspace.
pub(crate) fn cargo(words: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO"));
    command.args(words).current_dir(root());
    command
}

/// Runs a command to its end; an error names it and how it ended.
pub(crate) fn run(title: &str, mut command: Command) -> Result<(), String> {
    eprintln!("== {title}");
    match command.status() {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => Err(format!("{title} failed ({status}): {command:?}")),
        Err(error) => Err(format!("{title} could not be started: {error}: {command:?}")),
    }
}
