//! The app's tests in a real browser.

use std::fs;
use std::path::Path;
use std::process::Command;

use crate::run::{cargo, root, run};
use crate::wasm;

/// What looks for barriers in the pages; from the npm registry, for the tests only.
const AXE: &str = "axe-core@4.14.1";

/// Builds the app and the program, and runs the tests; screenshots stay in `build/screenshots`.
pub(crate) fn test() -> Result<(), String> {
    wasm::build()?;
    browser()?;
    axe()?;
    run("program for the browser tests", cargo(&["build", "--locked", "--package", "goldward"]))?;
    let words = [
        "test",
        "--locked",
        "--package",
        "goldward-web",
        "--features",
        "browser",
        "--test",
        "browser",
        "--",
        "--test-threads",
        "1",
    ];
    run("tests in the browser", cargo(&words))
}

/// Chromium and its driver, from Debian when they are not there.
fn browser() -> Result<(), String> {
    let set = |name: &str| std::env::var_os(name).is_some();
    if (set("CHROMIUM") && set("CHROMEDRIVER")) || Path::new("/usr/bin/chromedriver").exists() {
        return Ok(());
    }
    let refused = |e: String| {
        format!("{e}\nthe browser tests need Chromium and its driver: install them, or set CHROMIUM and CHROMEDRIVER")
    };
    wasm::install(&["chromium", "chromium-driver"]).map_err(refused)
}

fn axe() -> Result<(), String> {
    let folder = root().join("build/axe");
    if folder.join("package/axe.min.js").exists() {
        return Ok(());
    }
    fs::create_dir_all(&folder).map_err(|e| format!("cannot make {}: {e}", folder.display()))?;
    if Command::new("npm").arg("--version").output().is_err() {
        wasm::install(&["npm"])
            .map_err(|e| format!("{e}\nthe browser tests take axe-core from the npm registry: install npm"))?;
    }
    let mut pack = Command::new("npm");
    pack.args(["pack", "--silent", AXE]).current_dir(&folder);
    run("axe-core", pack)?;
    let packed = fs::read_dir(&folder)
        .map_err(|e| e.to_string())?
        .flatten()
        .map(|e| e.path())
        .find(|p| p.extension().is_some_and(|e| e == "tgz"))
        .ok_or("npm packed nothing")?;
    let mut unpack = Command::new("tar");
    unpack.arg("xzf").arg(packed).current_dir(&folder);
    run("axe-core, unpacked", unpack)
}
