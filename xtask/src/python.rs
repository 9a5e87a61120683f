//! Python environments, for what is written in Python.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::run::run;
use crate::wasm;

/// An environment with nothing in it but pip, in place of what was there; its interpreter.
pub(crate) fn bare(folder: &Path) -> Result<PathBuf, String> {
    let python = folder.join("bin/python");
    let make = || {
        let mut make = Command::new("python3");
        make.args(["-m", "venv", "--clear"]).arg(folder);
        run("Python environment", make)
    };
    let made = make().or_else(|_| wasm::install(&["python3", "python3-venv"]).and_then(|()| make()));
    made.map(|()| python).map_err(|e| format!("{e}\n(it needs Python 3.9 or later with venv: on Debian python3-venv)"))
}

/// The interpreter of an environment in `folder` that has what `wanted` tells pip to install; made on first use.
pub(crate) fn environment(folder: &Path, wanted: &[&str]) -> Result<PathBuf, String> {
    let (python, done) = (folder.join("bin/python"), folder.join("installed"));
    let asked = wanted.join("\n");
    if fs::read_to_string(&done).is_ok_and(|d| d == asked) {
        return Ok(python);
    }
    bare(folder)?;
    let mut install = Command::new(&python);
    install.args(["-m", "pip", "install", "--quiet"]).args(wanted);
    run("Python packages", install)?;
    fs::write(&done, asked).map_err(|e| format!("cannot write {}: {e}", done.display()))?;
    Ok(python)
}
