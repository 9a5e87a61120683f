//! `cargo xtask serve`: builds everything and opens the app, with the log of an invented archer.

use std::fs;
use std::io::{BufRead, BufReader};
use std::path::PathBuf;
use std::process::{Command, Stdio};

use crate::run::{cargo, root, run, target};
use crate::wasm;

/// How long that takes, measured on two cores with nothing beside it and the packages downloaded.
const FIRST_TIME: &str = "six to eight minutes on two cores";

struct Options {
    port: u16,
    open: bool,
}

fn options(words: &[String]) -> Result<Options, String> {
    let mut options = Options { port: 8017, open: true };
    let mut words = words.iter();
    while let Some(word) = words.next() {
        match word.as_str() {
            "--no-open" => options.open = false,
            "--port" => {
                let value = words.next().ok_or("--port wants a number, such as --port 8017")?;
                options.port =
                    value.parse().map_err(|_| format!("`{value}` is no port: give a number from 1 to 65535"))?;
            }
            other => return Err(format!("`{other}` is no option of serve: there are --port N and --no-open")),
        }
    }
    Ok(options)
}

/// Builds the app and the program, and serves both on this machine only until interrupted. What is entered is kept in
/// `build/demo`.
pub(crate) fn serve(words: &[String]) -> Result<(), String> {
    let options = options(words)?;
    let web = both()?;
    let folder = root().join("build/demo");
    fs::create_dir_all(&folder).map_err(|e| format!("cannot make {}: {e}", folder.display()))?;
    let mut server = Command::new(program());
    server.args(["serve", "--demo", "--addr", &format!("127.0.0.1:{}", options.port), "--web"]).arg(web);
    server.arg("--db").arg(folder.join("goldward.db")).stdout(Stdio::piped());
    eprintln!("== server");
    let mut server = server.spawn().map_err(|e| format!("the server could not be started: {e}"))?;
    let lines = server.stdout.take().map(|out| BufReader::new(out).lines());
    for line in lines.into_iter().flatten().map_while(Result::ok) {
        eprintln!("{line}");
        if let Some(address) = line.strip_prefix("listening on ") {
            eprintln!("the app is at {address}/ (interrupt to stop)");
            if options.open {
                open_browser(address);
            }
        }
    }
    match server.wait() {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => Err(format!("the server ended ({status}); if the port is taken, try --port with another number")),
        Err(e) => Err(format!("the server ended: {e}")),
    }
}

fn program() -> PathBuf {
    target().join("start/goldward")
}

/// Builds the program and the app side by side: the last part of each keeps one core alone. Returns the folder of the app.
fn both() -> Result<PathBuf, String> {
    if !program().exists() {
        eprintln!(
            "== the first time everything is built: the program and, beside it, the app ({FIRST_TIME}); later only what has changed"
        );
    }
    crate::guide::build_if_quick()?;
    std::thread::scope(|scope| {
        let program = scope.spawn(|| {
            // As xtask itself is built, so that much of it is there already, and without pictures and the second kind of store, which nobody asks
            // for here.
            let words = [
                "build",
                "--profile",
                "start",
                "--locked",
                "--package",
                "goldward",
                "--no-default-features",
                "--features",
                "serve",
            ];
            let mut build = cargo(&words);
            // One bar at a time: that of the app, which takes longer.
            build.env("CARGO_TERM_PROGRESS_WHEN", "never");
            run("program", build)
        });
        let web = wasm::build();
        program.join().map_err(|_| "the build of the program was cut short".to_owned())??;
        web
    })
}

fn open_browser(address: &str) {
    let opener = if cfg!(target_os = "macos") { "open" } else { "xdg-open" };
    let started = Command::new(opener).arg(address).stdout(Stdio::null()).stderr(Stdio::null()).spawn();
    if started.is_err() {
        eprintln!("(no browser could be started from here: open the address yourself)");
    }
}
