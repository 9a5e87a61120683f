//! `cargo xtask api`: asks a running server everything that its OpenAPI document promises, and much that it does not.
//!
//! The tester and its seed stand below; it fails where anything is answered by a fault of the server, by a status or a body that the
//! document does not have, or by accepting what it forbids.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
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
        if accounts {
            add_account(&db)?;
        }
        let server = Server::start(&db, accounts)?;
        let mut ask = Command::new(python.with_file_name("schemathesis"));
        ask.args(["run", &format!("{}/api/v1/openapi.json", server.address), "--url", &server.address]);
        ask.args([
            "--checks",
            "all",
            "--exclude-checks",
            if accounts { EXCLUDED } else { EXCLUDED_OPEN },
            "--seed",
            "2025",
            "--max-examples",
            EXAMPLES,
        ]);
        ask.args(["--phases", "examples,coverage,fuzzing", "--generation-database", "none", "--no-color"]);
        if accounts {
            // Logging out would end it all.
            ask.args(["--exclude-path", "/api/v1/logout", "--header", &format!("Cookie: {}", server.log_in()?)]);
        }
        ask.current_dir(&folder);
        run(if accounts { "interface with accounts" } else { "interface without accounts" }, ask)?;
    }
    Ok(())
}

/// What a schema cannot say is refused too, such as an id of another version of UUIDs.
const EXCLUDED: &str = "positive_data_acceptance";
/// Without accounts nobody logs in, so that whatever is sent along is ignored.
const EXCLUDED_OPEN: &str = "positive_data_acceptance,ignored_auth";

const PASSWORD: &str = "correct horse battery";

fn add_account(db: &Path) -> Result<(), String> {
    let cannot = |e: std::io::Error| format!("no account could be added: {e}");
    let mut command = Command::new(target().join("debug/goldward"));
    command.args(["accounts", "add", "anna", "--db"]).arg(db).stdin(Stdio::piped());
    let mut child = command.spawn().map_err(cannot)?;
    if let Some(mut to) = child.stdin.take() {
        writeln!(to, "{PASSWORD}").map_err(cannot)?;
    }
    let status = child.wait().map_err(cannot)?;
    if !status.success() {
        return Err(format!("no account could be added ({status})"));
    }
    // So that the way in for newcomers is asked too.
    let mut command = Command::new(target().join("debug/goldward"));
    command.args(["accounts", "manager", "anna", "--db"]).arg(db);
    run("right", command)
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

    /// The cookie of a browser that logs in.
    fn log_in(&self) -> Result<String, String> {
        let host = self.address.trim_start_matches("http://");
        let body = format!("{{\"name\":\"anna\",\"password\":\"{PASSWORD}\"}}");
        let request = format!(
            "POST /api/v1/login HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\nContent-Type: application/json\r\n\
             Content-Length: {}\r\n\r\n{body}",
            body.len()
        );
        let mut answer = String::new();
        TcpStream::connect(host)
            .and_then(|mut s| s.write_all(request.as_bytes()).and_then(|()| s.read_to_string(&mut answer)))
            .map_err(|e| format!("nobody could log in: {e}"))?;
        let cookie = answer.lines().find_map(|l| l.strip_prefix("set-cookie: ")?.split(';').next());
        cookie.map(str::to_owned).ok_or_else(|| format!("nobody could log in: {answer}"))
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
