//! `cargo xtask api`: asks a running server everything that its OpenAPI document promises, and much that it does not.

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};

use crate::python::environment;
use crate::run::{cargo, root, run, target};

/// A general tester of HTTP interfaces from the Python Package Index.
const TESTER: &str = "schemathesis==4.32.5";
/// Requests made up for each route and kind of check.
const EXAMPLES: &str = "100";

/// Runs it twice: on a server without accounts, and on one with accounts as a logged-in browser.
pub(crate) fn test() -> Result<(), String> {
    let folder = root().join("build/api");
    fs::create_dir_all(&folder).map_err(|e| format!("cannot make {}: {e}", folder.display()))?;
    let python = environment(&folder.join("venv"), &[TESTER])?;
    run("program", cargo(&["build", "--locked", "--package", "goldward"]))?;
    for accounts in [false, true] {
        let db = folder.join(if accounts { "accounts.db" } else { "open.db" });
        for suffix in ["", "-wal", "-shm"] {
            let mut old = db.clone().into_os_string();
            old.push(suffix);
            let _ = fs::remove_file(old);
        }
        let mut headers = Vec::new();
        if accounts {
            program(&db, &["--add-account", "anna"], "correct horse battery\n")?;
            let token = program(&db, &["--add-device", "anna"], "")?;
            headers = vec!["--header".to_owned(), format!("Authorization: Bearer {}", token.trim())];
        }
        let server = Server::start(&db, accounts)?;
        let mut ask = Command::new(python.with_file_name("schemathesis"));
        ask.args(["run", &format!("{}/api/v1/openapi.json", server.address), "--url", &server.address]);
        ask.args(["--checks", "all", "--exclude-checks", EXCLUDED, "--seed", "2025", "--max-examples", EXAMPLES]);
        ask.args(["--phases", "examples,coverage,fuzzing", "--generation-database", "none", "--no-color"]);
        ask.args(&headers).current_dir(&folder);
        run(if accounts { "interface with accounts" } else { "interface without accounts" }, ask)?;
    }
    Ok(())
}

/// Checks that do not fit here.
/// - `positive_data_acceptance`: what a schema cannot say is refused too, such as an id of another version of UUIDs.
const EXCLUDED: &str = "positive_data_acceptance";

fn program(db: &Path, words: &[&str], input: &str) -> Result<String, String> {
    let cannot = |e: std::io::Error| format!("goldward serve {words:?}: {e}");
    let mut command = Command::new(target().join("debug/goldward"));
    command.args(["serve", "--db"]).arg(db).args(words).stdin(Stdio::piped()).stdout(Stdio::piped());
    let mut child = command.spawn().map_err(cannot)?;
    if let Some(mut to) = child.stdin.take() {
        to.write_all(input.as_bytes()).map_err(cannot)?;
    }
    let output = child.wait_with_output().map_err(cannot)?;
    if !output.status.success() {
        return Err(format!("goldward serve {words:?} failed ({})", output.status));
    }
    String::from_utf8(output.stdout).map_err(|e| e.to_string())
}

/// A server that ends with this.
struct Server {
    child: Child,
    address: String,
}

impl Server {
    fn start(db: &Path, accounts: bool) -> Result<Self, String> {
        let log = fs::File::create(db.with_extension("log")).map_err(|e| format!("no log: {e}"))?;
        let mut command = Command::new(target().join("debug/goldward"));
        command.args(["serve", "--addr", "127.0.0.1:0", "--db"]).arg(db).stdout(Stdio::piped()).stderr(log);
        if !accounts {
            command.arg("--demo");
        }
        let mut child = command.spawn().map_err(|e| format!("the server could not be started: {e}"))?;
        let mut line = String::new();
        if let Some(out) = &mut child.stdout {
            BufReader::new(out).read_line(&mut line).map_err(|e| e.to_string())?;
        }
        let address = line.trim().strip_prefix("listening on ").map(str::to_owned);
        let server = Self { child, address: address.clone().unwrap_or_default() };
        if address.is_some() { Ok(server) } else { Err("the server did not start".to_owned()) }
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
