//! `cargo xtask dist`: what people get who have no toolchain, in `build/dist`: one static program with the app inside, a Debian package of
//! it, a recipe for a container, a folder of static files, and a wheel for Python. `--check` installs and starts each of them.

mod check;
mod deb;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::run::{cargo, root, run, target};
use crate::wasm;

/// The version of everything.
const VERSION: &str = env!("CARGO_PKG_VERSION");

/// For what the program is built: with its C library in it, so that it runs on any Linux of this kind.
const TRIPLE: &str = "x86_64-unknown-linux-gnu";

pub(crate) fn dist(words: &[String]) -> Result<(), String> {
    let check = match words {
        [] => false,
        [word] if word == "--check" => true,
        _ => return Err(format!("`{}` is no option of dist: there is --check", words.join(" "))),
    };
    if !cfg!(all(target_os = "linux", target_arch = "x86_64", target_env = "gnu")) {
        return Err(format!("what is handed out is built on {TRIPLE}"));
    }
    crate::guide::build()?;
    let web = wasm::build()?;
    let made = Made::fresh()?;
    let mut copy = Command::new("strip");
    copy.arg("-o").arg(&made.program).arg(program()?);
    run("program without what only a debugger reads", copy)?;
    files(&web, &made.web)?;
    let mut pack = Command::new("tar");
    pack.args(["--create", "--gzip", "--sort=name", "--owner=0", "--group=0", "--mtime=@0", "--file"]);
    pack.arg(made.folder.join(format!("goldward-web-{VERSION}.tar.gz")))
        .arg("-C")
        .arg(&made.folder)
        .arg("goldward-web");
    run("folder of static files", pack)?;
    deb::make(&made, VERSION)?;
    let wheel = crate::wheel::wheel()?;
    // Its logs are in a folder that is its own, where nothing has made one.
    fs::create_dir_all(made.folder.join("data")).map_err(|e| format!("cannot make a folder: {e}"))?;
    let recipe = "Containerfile";
    fs::copy(packaging(recipe), made.folder.join(recipe)).map_err(|e| format!("cannot copy the recipe: {e}"))?;
    if check {
        check::all(&made)?;
        crate::wheel::stranger(&wheel)?;
    }
    eprintln!("in {}:", made.folder.display());
    let mut names: Vec<_> = fs::read_dir(&made.folder).map_err(|e| e.to_string())?.flatten().collect();
    names.sort_by_key(fs::DirEntry::file_name);
    for entry in names {
        let bytes = entry.metadata().map_or(0, |m| if m.is_file() { m.len() } else { 0 });
        eprintln!(
            "  {:<40} {}",
            entry.file_name().to_string_lossy(),
            if bytes > 0 { mb(bytes) } else { String::new() }
        );
    }
    Ok(())
}

fn mb(bytes: u64) -> String {
    format!("{:.1} MB", bytes as f64 / 1e6)
}

/// What is made, and where.
struct Made {
    folder: PathBuf,
    program: PathBuf,
    web: PathBuf,
}

impl Made {
    fn fresh() -> Result<Self, String> {
        let folder = root().join("build/dist");
        if folder.exists() {
            fs::remove_dir_all(&folder).map_err(|e| format!("cannot empty {}: {e}", folder.display()))?;
        }
        let web = folder.join("goldward-web");
        fs::create_dir_all(&web).map_err(|e| format!("cannot make {}: {e}", web.display()))?;
        Ok(Self { program: folder.join("goldward"), web, folder })
    }
}

/// A file that is handed out as it is.
fn packaging(name: &str) -> PathBuf {
    root().join("packaging").join(name)
}

/// Builds the program with the app inside.
fn program() -> Result<PathBuf, String> {
    let words = ["build", "--release", "--locked", "--package", "goldward", "--features", "app", "--target", TRIPLE];
    let mut build = cargo(&words);
    // Told for the target, it is not told of what is only run while building.
    build.env("RUSTFLAGS", "-C target-feature=+crt-static");
    run("program with everything in it", build)?;
    Ok(target().join(TRIPLE).join("release/goldward"))
}

/// The app for a server of files: with a form of each file that is packed for servers that have one at hand.
fn files(web: &Path, to: &Path) -> Result<(), String> {
    let cannot = |e: std::io::Error| format!("cannot copy the app: {e}");
    let mut all = Command::new("cp");
    all.arg("-R").arg(web.join(".")).arg(to);
    run("the app as files", all)?;
    let mut zip = Command::new("gzip");
    zip.args(["--best", "--keep", "--no-name"]);
    for name in ["goldward_web_bg.wasm", "goldward_web.js", "style.css", "boot.js", "index.html", "sw.js"] {
        zip.arg(to.join(name));
    }
    run("packed forms", zip)?;
    fs::copy(packaging("web.txt"), to.join("README.txt")).map(drop).map_err(cannot)
}
