//! The wheel for Python: made by maturin, tested by pytest against the program, and put into an empty environment as a stranger would.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::python::{bare, environment};
use crate::run::{cargo, root, run, target};

/// What a stranger has at most, from the wheel to the first answer.
const STRANGER_SECONDS: u64 = 300;

/// How the wheel is built. Two builds may differ in the last digits of a number, so that it is held against a program that is built the same way.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Built {
    /// As the tests build everything; most of it is there already.
    Quickly,
    /// As it is handed out.
    ForUse,
}

/// Makes the wheel and tests it.
pub(crate) fn test(built: Built) -> Result<(), String> {
    let python = tools()?;
    let wheel = make(&python, built)?;
    let mut install = Command::new(&python);
    install.args(["-m", "pip", "install", "--quiet", "--force-reinstall", "--no-deps"]).arg(&wheel);
    run("wheel into the environment of its tests", install)?;
    let mut tests = Command::new(&python);
    tests.args(["-m", "pytest", "--quiet", "-p", "no:cacheprovider"]).arg(home().join("tests"));
    tests.env("GOLDWARD_PROGRAM", program(built)?).env("PYTHONDONTWRITEBYTECODE", "1");
    tests.env("MYPY_CACHE_DIR", target().join("mypy")).current_dir(root());
    run("tests from Python", tests)?;
    stranger(&wheel)
}

fn home() -> PathBuf {
    root().join("crates/python")
}

/// The environment in which the wheel is made and tested.
fn tools() -> Result<PathBuf, String> {
    let wanted = home().join("requirements.txt");
    environment(&target().join("python"), &["-r", &wanted.display().to_string()])
}

/// The program that the wheel is held against.
fn program(built: Built) -> Result<PathBuf, String> {
    let mut words = vec!["build", "--locked", "--package", "goldward"];
    let folder = match built {
        Built::Quickly => "debug",
        Built::ForUse => {
            // Neither the server nor pictures are asked.
            words.extend(["--release", "--no-default-features"]);
            "release"
        }
    };
    run("program that the wheel is held against", cargo(&words))?;
    Ok(target().join(folder).join("goldward"))
}

/// Makes the wheel.
fn make(python: &Path, built: Built) -> Result<PathBuf, String> {
    let (folder, how): (_, &[&str]) = match built {
        Built::Quickly => (target().join("wheel"), &["--profile", "dev"]),
        Built::ForUse => (root().join("build/dist"), &["--release", "--strip"]),
    };
    let wheels = || {
        let all = fs::read_dir(&folder).into_iter().flatten().flatten().map(|e| e.path());
        all.filter(|p| p.extension().is_some_and(|e| e == "whl")).collect::<Vec<_>>()
    };
    for old in wheels() {
        fs::remove_file(&old).map_err(|e| format!("cannot remove {}: {e}", old.display()))?;
    }
    let mut make = Command::new(python);
    make.args(["-m", "maturin", "build", "--locked", "--quiet"]).args(how).arg("--interpreter").arg(python);
    make.arg("--manifest-path").arg(home().join("Cargo.toml")).arg("--out").arg(&folder);
    make.env("CARGO_TARGET_DIR", target());
    run("wheel", make)?;
    wheels().into_iter().next().ok_or_else(|| format!("there is no wheel in {}", folder.display()))
}

/// The wheel for those who hand it out, in build/dist.
pub(crate) fn wheel() -> Result<PathBuf, String> {
    make(&tools()?, Built::ForUse)
}

/// Does what docs/python.md says in an environment that has nothing: the wheel alone, then every example of the page, one after the other.
#[allow(clippy::disallowed_methods, reason = "a limit of time needs the clock")]
pub(crate) fn stranger(wheel: &Path) -> Result<(), String> {
    let begun = std::time::Instant::now();
    let page =
        fs::read_to_string(root().join("docs/python.md")).map_err(|e| format!("cannot read docs/python.md: {e}"))?;
    let examples: Vec<&str> = page.split("```python\n").skip(1).filter_map(|rest| rest.split("```").next()).collect();
    if examples.is_empty() || !page.contains("pip install goldward-VERSION-") {
        return Err("docs/python.md does not say how to install and use the wheel".to_owned());
    }
    let python = bare(&target().join("python-bare"))?;
    let mut install = Command::new(&python);
    install.args(["-m", "pip", "install", "--quiet", "--no-index"]).arg(wheel);
    run("wheel alone, as a stranger installs it", install)?;
    let mut say = Command::new(&python);
    say.arg("-c").arg(examples.concat()).current_dir(target());
    run("examples of docs/python.md", say)?;
    let seconds = begun.elapsed().as_secs();
    if seconds > STRANGER_SECONDS {
        return Err(format!("a stranger waits {seconds} s for the first answer"));
    }
    Ok(())
}
