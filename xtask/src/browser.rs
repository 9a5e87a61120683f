//! The app's tests in real browsers.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::run::{cargo, root, run, target};
use crate::wasm;

/// What looks for barriers in the pages; from the npm registry, for the tests only.
const AXE: &str = "axe-core@4.14.1";

/// A browser of the tests: its programs, Debian's packages of them, and the variables that name them where they lie elsewhere.
struct Browser {
    name: &'static str,
    programs: &'static [&'static str],
    packages: &'static [&'static str],
    variables: &'static [&'static str],
}

const BROWSERS: [Browser; 3] = [
    Browser {
        name: "chromium",
        programs: &["chromium", "chromedriver"],
        packages: &["chromium", "chromium-driver"],
        variables: &["CHROMIUM", "CHROMEDRIVER"],
    },
    Browser {
        name: "webkit",
        programs: &["WebKitWebDriver", "Xvfb"],
        packages: &["webkit2gtk-driver", "xvfb"],
        variables: &["WEBKITDRIVER", "MINIBROWSER", "XVFB"],
    },
    Browser { name: "firefox", programs: &["firefox-esr"], packages: &["firefox-esr"], variables: &["FIREFOX"] },
];

/// What to run: `--browser NAME` (may be repeated), `--walk STEPS`, `--seed N`, and words for the tests, a part of their names mostly.
#[derive(Default)]
struct Wish {
    browsers: Vec<String>,
    walk: Option<u32>,
    seed: Option<u64>,
    words: Vec<String>,
}

impl Wish {
    fn read(rest: &[String]) -> Result<Self, String> {
        let mut wish = Self::default();
        let mut rest = rest.iter();
        while let Some(word) = rest.next() {
            let mut value = || rest.next().ok_or_else(|| format!("{word} wants a value"));
            let whole = |of: &str, text: &str| format!("{of} wants a whole number, not {text}");
            match word.as_str() {
                "--browser" => {
                    let name = value()?;
                    if !BROWSERS.iter().any(|b| b.name == name) {
                        return Err(format!("--browser is one of chromium, webkit and firefox, not {name}"));
                    }
                    wish.browsers.push(name.clone());
                }
                "--walk" => {
                    let text = value()?;
                    wish.walk = Some(text.parse().map_err(|_| whole("--walk", text))?);
                }
                "--seed" => {
                    let text = value()?;
                    wish.seed = Some(text.parse().map_err(|_| whole("--seed", text))?);
                }
                other => wish.words.push(other.to_owned()),
            }
        }
        Ok(wish)
    }

    fn wants(&self, browser: &Browser) -> bool {
        self.browsers.is_empty() || self.browsers.iter().any(|b| b == browser.name)
    }
}

/// The tests as they are started; words that are added choose among them.
pub(crate) fn tests() -> Command {
    cargo(&["test", "--locked", "--package", "goldward-web", "--features", "browser", "--test", "browser", "--"])
}

/// Builds the app and the program, and runs the tests; screenshots stay in `build/screenshots`.
pub(crate) fn test(rest: &[String]) -> Result<(), String> {
    let wish = Wish::read(rest)?;
    crate::guide::build()?;
    wasm::build()?;
    for browser in BROWSERS.iter().filter(|b| wish.wants(b)) {
        install(browser)?;
    }
    axe()?;
    run("program for the browser tests", cargo(&["build", "--locked", "--package", "goldward"]))?;
    let mut tests = tests();
    tests.env("GOLDWARD_TOOLS", tools());
    if !wish.browsers.is_empty() {
        tests.env("GOLDWARD_BROWSERS", wish.browsers.join(","));
    }
    if let Some(steps) = wish.walk {
        tests.env("GOLDWARD_WALK_STEPS", steps.to_string());
        if wish.words.is_empty() {
            tests.arg("walk::");
        }
    }
    if let Some(seed) = wish.seed {
        tests.env("GOLDWARD_WALK_SEED", seed.to_string());
    }
    tests.args(&wish.words);
    run("tests in the browsers", tests)
}

/// Makes the pictures of the guide anew, from what the app shows.
pub(crate) fn pictures() -> Result<(), String> {
    wasm::build()?;
    install(&BROWSERS[0])?;
    let mut make = tests();
    make.arg("guide::").env("GOLDWARD_PICTURES", "new").env("GOLDWARD_BROWSERS", BROWSERS[0].name);
    run("pictures of the guide", make)
}

/// How long a slow phone waits, for the first screen or with five years of arrows; Chromium plays it. Words after it are passed on.
pub(crate) fn measure(name: &str, words: &[String]) -> Result<(), String> {
    wasm::build()?;
    install(&BROWSERS[0])?;
    let mut measure = tests();
    measure.env("GOLDWARD_BENCH", name).env("GOLDWARD_BROWSERS", BROWSERS[0].name).args(words);
    run(name, measure)
}

/// A browser and its driver, from Debian when they are not there.
fn install(browser: &Browser) -> Result<(), String> {
    let refused = |e: String| {
        format!(
            "{e}\nthe tests in {} need it: `apt-get install {}`, or name the programs by {}; `--browser` chooses other browsers",
            browser.name,
            browser.packages.join(" "),
            browser.variables.join(", ")
        )
    };
    let named = browser.variables.iter().all(|v| std::env::var_os(v).is_some());
    if !named && !browser.programs.iter().all(|p| Path::new("/usr/bin").join(p).exists()) {
        wasm::install(browser.packages).map_err(refused)?;
    }
    if browser.name == "firefox" { geckodriver() } else { Ok(()) }
}

/// Where programs go that are built for the tests.
fn tools() -> PathBuf {
    target().join("tools")
}

/// The driver of Firefox, which Debian does not have: built once, from the crates registry.
fn geckodriver() -> Result<(), String> {
    let there = std::env::var_os("GECKODRIVER").is_some() || Path::new("/usr/bin/geckodriver").exists();
    if there || tools().join("bin/geckodriver").exists() {
        return Ok(());
    }
    let mut install = cargo(&["install", "geckodriver", "--version", "0.37.1", "--locked", "--root"]);
    install.arg(tools()).env("CARGO_TARGET_DIR", target().join("geckodriver"));
    run("geckodriver, which drives Firefox", install).map_err(|e| {
        format!("{e}\nthe tests in Firefox need geckodriver: `cargo install geckodriver`, and name it by GECKODRIVER")
    })?;
    // Hundreds of megabytes that nobody needs again.
    fs::remove_dir_all(target().join("geckodriver")).map_err(|e| format!("cannot tidy up after geckodriver: {e}"))
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wishes_are_read_and_bad_ones_refused() {
        let words = |text: &str| text.split(' ').map(str::to_owned).collect::<Vec<_>>();
        let wish = Wish::read(&words("--browser webkit --walk 10000 --seed 7 plots")).unwrap();
        assert_eq!((wish.browsers.len(), wish.walk, wish.seed, wish.words.len()), (1, Some(10_000), Some(7), 1));
        assert!(!wish.wants(&BROWSERS[0]) && wish.wants(&BROWSERS[1]));
        for bad in ["--browser lynx", "--walk", "--walk many", "--seed -1"] {
            assert!(Wish::read(&words(bad)).is_err(), "{bad}");
        }
    }
}
