//! `cargo xtask serve | test | bench | arrows`: everything a developer or a continuous integration run needs.

mod api;
mod arrows;
mod bench;
mod browser;
mod circles;
mod crates;
mod dist;
mod folder;
mod guide;
mod modules;
mod python;
mod run;
mod serve;
mod tests;
mod wasm;
mod wheel;

use std::process::ExitCode;

const HELP: &str = "\
cargo xtask COMMAND

  serve    build everything, the app too, and open it with an invented archer's log
           (--port N, default 8017; --no-open does not start a browser)
  test     run every check and test: formatting, lints, architecture, unit, reference, command-line and browser tests
  bench    run the benchmarks, each with its peer in the same run (words after it are passed on)
  bench truth   what the answer is worth to archers whom the model does and does not describe (--help lists its words)
  bench matches who wins matches under rules of thumb and under Goldward's, in 27 cells (words: how many, sets or total, calm)
  bench first-screen   how long a slow phone waits for the app, at the first visit and once installed (Chromium)
  bench five-years     how long a slow phone waits with 1,000 sessions and 100,000 shots in its log (Chromium)
  bench kills   how many acknowledged records are lost when a server is killed in a storm of writes (aim: none)
  browser  run the tests of the app in Chromium, WebKit and Firefox only (--browser NAME for one of them; --walk STEPS --seed N
           walks the app at random for so many steps in each; words after them choose tests by a part of their name)
  web      build the app for the browser into build/web
  dist     make what runs without a toolchain, in build/dist: a static program with the app inside, a Debian package, a recipe for
           a container, the app as files, and the wheel for Python (--check installs and starts each; as root, with dpkg, systemd and nginx)
  guide    render docs as a book into build/guide, and follow every link in it
  pictures make the pictures of the guide anew, from what the app shows in Chromium
  python   make the wheel for Python, in build/dist, and test it (from PyPI: what crates/python/requirements.txt names)
  api      ask a server all that its OpenAPI document promises (needs Python; not part of test)
  arrows   check that the crates depend on each other only as ARCHITECTURE.md says, that no circle stands among the files
           of a crate, and the licences and doubled versions of what we build on
";

fn main() -> ExitCode {
    let mut words = std::env::args().skip(1);
    let command = words.next().unwrap_or_default();
    let rest: Vec<String> = words.collect();
    let result = match command.as_str() {
        "serve" => serve::serve(&rest),
        "test" => tests::test(),
        "bench" => tests::bench(&rest),
        "browser" => browser::test(&rest),
        "api" => api::test(),
        "dist" => dist::dist(&rest),
        "guide" => guide::build().map(drop),
        "pictures" => browser::pictures(),
        "python" => wheel::test(wheel::Built::ForUse),
        "web" => wasm::build().map(drop),
        "arrows" => arrows::check(),
        "" | "help" | "--help" | "-h" => {
            eprint!("{HELP}");
            return if command.is_empty() { ExitCode::from(2) } else { ExitCode::SUCCESS };
        }
        other => {
            eprint!("there is no command `{other}`\n\n{HELP}");
            return ExitCode::from(2);
        }
    };
    match result {
        Ok(()) => ExitCode::SUCCESS,
        Err(message) => {
            eprintln!("xtask: {message}");
            ExitCode::FAILURE
        }
    }
}
