//! Python environments for what is written in Python elsewhere; none of it is needed to build or to test.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::run::run;

/// The interpreter of an environment in `folder` that has what `wanted` tells pip to install; made on first use.
pub(crate) fn environment(folder: &Path, wanted: &[&str]) -> Result<PathBuf, String> {
    let (python, done) = (folder.join("bin/python"), folder.join("installed"));
    let asked = wanted.join("\n");
    if fs::read_to_string(&done).is_ok_and(|d| d == asked) {
        return Ok(python);
    }
    let mut make = Command::new("python3");
    make.args(["-m", "venv"]).arg(folder);
    run("Python environment", make).map_err(|e| format!("{e}\n(it needs Python 3 with venv)"))?;
    let mut install = Command::new(&python);
    install.args(["-m", "pip", "install", "--quiet"]).args(wanted);
    run("Python packages", install)?;
    fs::write(&done, asked).map_err(|e| format!("cannot write {}: {e}", done.display()))?;
    Ok(python)
}
