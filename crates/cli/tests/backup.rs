//! docs/backup.md, command by command as it stands there, on both stores: what is restored has every log, account and password.

#[path = "../../store/tests/common/postgres.rs"]
mod postgres;

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

use assert_cmd::cargo::CommandCargoExt as _;
use serde_json::{Value, json};

/// The commands of a section of the document: each block as one script.
fn blocks(section: &str) -> Vec<String> {
    let document = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/backup.md");
    let document = std::fs::read_to_string(document).unwrap();
    let text =
        document.split("\n## ").find(|s| s.starts_with(section)).unwrap_or_else(|| panic!("no section {section}"));
    text.split("```sh\n").skip(1).map(|b| b.split("```").next().unwrap().to_owned()).collect()
}

/// A machine with a store: where it is, and what the programs are told of it.
struct Machine {
    folder: tempfile::TempDir,
    environment: Vec<(&'static str, String)>,
    db: String,
}

impl Machine {
    #[allow(clippy::disallowed_methods, reason = "where the programs of the machine are")]
    fn environment(&self, command: &mut Command) {
        let program = assert_cmd::cargo::cargo_bin("goldward");
        let here = program.parent().unwrap().display().to_string();
        let path = std::env::var("PATH").unwrap_or_default();
        // Those of the database's own version before older ones.
        let tools: PathBuf = postgres::program("pg_dump").unwrap_or_default();
        let tools = tools.parent().map(Path::display).map(|p| p.to_string()).unwrap_or_default();
        command.env("PATH", format!("{here}:{tools}:{path}")).current_dir(self.folder.path());
        command.envs(self.environment.iter().map(|(k, v)| (*k, v.as_str())));
    }

    /// Does what the document says, as a shell does; stops at the first command that fails.
    fn does(&self, script: &str) -> String {
        let mut shell = Command::new("sh");
        self.environment(&mut shell);
        let out = shell.args(["-e", "-c", script]).stdin(Stdio::null()).output().unwrap();
        assert!(out.status.success(), "{script}\n{}", String::from_utf8_lossy(&out.stderr));
        String::from_utf8(out.stdout).unwrap()
    }

    fn goldward(&self, args: &[&str], input: &str) -> String {
        let mut command = Command::cargo_bin("goldward").unwrap();
        self.environment(&mut command);
        command.args(args).args(["--db", &self.db]).stdin(Stdio::piped()).stdout(Stdio::piped());
        let mut child = command.spawn().unwrap();
        let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
        let out = child.wait_with_output().unwrap();
        assert!(out.status.success(), "{args:?}");
        String::from_utf8(out.stdout).unwrap()
    }

    /// A club: three accounts, a log with an owner, a second factor, a guardian, a device, a link for newcomers.
    fn begin(&self) {
        let log = goldward::log::demo::log(1_750_000_000_000);
        std::fs::write(self.folder.path().join("log.jsonl"), goldward_journal::jsonl::write(&log)).unwrap();
        self.goldward(&["log", "import", "log.jsonl"], "");
        self.goldward(&["accounts", "add", "anna", "--give-log", "Ilse"], &format!("{}\n", password("anna")));
        for name in ["Benno", "paula"] {
            self.goldward(&["accounts", "add", name], &format!("{}\n", password(name)));
        }
        self.goldward(&["accounts", "guardian", "anna", "paula"], "");
        self.goldward(&["accounts", "manager", "benno"], "");
        self.goldward(&["accounts", "device", "anna"], "");
        self.goldward(&["accounts", "second-factor", "paula"], "");
        self.goldward(&["accounts", "sign-up", "--open"], "");
    }

    /// All that is kept, as far as it can be told.
    fn whole(&self) -> Vec<String> {
        let mut all = vec![self.goldward(&["log", "export"], ""), self.goldward(&["accounts", "list", "--json"], "")];
        all.extend(["anna", "benno", "paula"].map(|name| self.goldward(&["accounts", "export", name], "")));
        all.push(self.goldward(&["accounts", "sign-up"], ""));
        all
    }

    /// What a server on it answers to logins: right ones, one that wants a code, and a wrong one.
    fn logins(&self) -> Vec<u16> {
        let mut command = Command::cargo_bin("goldward").unwrap();
        self.environment(&mut command);
        command.args(["serve", "--addr", "127.0.0.1:0", "--db", &self.db]).stdout(Stdio::piped()).stderr(Stdio::null());
        let mut server = Server(command.spawn().unwrap());
        let mut line = String::new();
        BufReader::new(server.0.stdout.as_mut().unwrap()).read_line(&mut line).unwrap();
        let host = line.trim().strip_prefix("listening on http://").unwrap_or_else(|| panic!("{line}")).to_owned();
        let login = |name: &str, password: &str| -> u16 {
            let body = json!({ "name": name, "password": password }).to_string();
            let request = format!(
                "POST /api/v1/login HTTP/1.1\r\nHost: {host}\r\nContent-Type: application/json\r\nConnection: close\r\n\
                 Content-Length: {}\r\n\r\n{body}",
                body.len()
            );
            let mut connection = std::net::TcpStream::connect(&host).unwrap();
            connection.write_all(request.as_bytes()).unwrap();
            let mut answer = String::new();
            connection.read_to_string(&mut answer).unwrap();
            answer.split(' ').nth(1).unwrap().parse().unwrap()
        };
        let right = ["anna", "Benno", "paula"].map(|name| login(name, &password(name)));
        right.into_iter().chain([login("anna", &password("benno"))]).collect()
    }
}

fn password(name: &str) -> String {
    format!("{} keeps a long password", name.to_lowercase())
}

/// A server that ends with the test.
struct Server(Child);

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// Backs the store up while a server has it open, loses it, and restores it as the document says.
fn restored(machine: &Machine, section: &str, lose: impl FnOnce(&Machine)) {
    machine.begin();
    let blocks = blocks(section);
    let (backup, restore) = blocks.split_first().unwrap();
    let before = machine.whole();
    machine.does(backup);
    // What comes after the backup is lost with the store, and nothing else is.
    machine.goldward(&["accounts", "rename", "benno", "bernhard"], "");
    machine.goldward(&["accounts", "password", "anna"], "quite another long password\n");
    lose(machine);
    let told: String = restore.iter().map(|script| machine.does(script)).collect();
    assert!(told.contains("all is well") && told.contains("log of Ilse") && told.contains("Benno"), "{told}");
    assert_eq!(machine.whole(), before);
    assert_eq!(machine.logins(), [204, 204, 401, 401], "passwords are as they were, and so is the second factor");
}

#[test]
fn a_file_is_backed_up_and_restored_as_the_document_says() {
    let machine =
        Machine { folder: tempfile::tempdir().unwrap(), environment: Vec::new(), db: "goldward.db".to_owned() };
    restored(&machine, "SQLite", |machine| {
        let file = machine.folder.path().join("goldward.db");
        let mut bytes = std::fs::read(&file).unwrap();
        let half = bytes.len() / 2;
        bytes[..half].fill(0);
        std::fs::write(file, bytes).unwrap();
    });
}

#[test]
fn a_database_is_backed_up_and_restored_and_logs_move_to_it_as_the_document_says() {
    let Some(server) = postgres::Postgres::start() else { return };
    let environment = vec![("PGHOST", server.folder().display().to_string()), ("PGUSER", "goldward".to_owned())];
    let folder = tempfile::tempdir().unwrap();
    let machine = Machine { folder, environment, db: "postgres:///goldward".to_owned() };
    machine.does("createdb goldward");
    restored(&machine, "PostgreSQL", |machine| {
        machine.does("psql --quiet --dbname=goldward --command='DROP TABLE records' 2>/dev/null");
    });
    // A file's logs go over to it, and are there with what was there before.
    let file = Machine { folder: machine.folder, environment: Vec::new(), db: "goldward.db".to_owned() };
    let log = goldward::log::demo::log(1_750_000_000_000);
    file.goldward(&["log", "import", "log.jsonl"], "");
    let machine =
        Machine { folder: file.folder, environment: machine.environment, db: "postgres:///goldward".to_owned() };
    machine.does("dropdb goldward && createdb goldward");
    for script in blocks("From one kind") {
        machine.does(&script);
    }
    let listed: Value = serde_json::from_str(&machine.goldward(&["accounts", "list", "--json"], "")).unwrap();
    assert_eq!(listed["logs_without_owner"][0]["records"], log.len());
}
