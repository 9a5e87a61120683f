//! A PostgreSQL of the tests' own: in a temporary folder, on a socket of the file system, gone afterwards.

use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use tempfile::TempDir;

/// A running database server.
pub struct Postgres {
    folder: TempDir,
    child: Child,
}

fn program(name: &str) -> Option<PathBuf> {
    let mut homes: Vec<PathBuf> =
        std::fs::read_dir("/usr/lib/postgresql").ok()?.flatten().map(|e| e.path().join("bin")).collect();
    homes.sort();
    homes.iter().rev().map(|h| h.join(name)).find(|p| p.is_file())
}

/// A command as another user when this one is root, as whom the database does not run.
fn as_nobody(program: &Path) -> Command {
    let root = Command::new("id").arg("-u").output().is_ok_and(|o| o.stdout.starts_with(b"0\n"));
    if root {
        let mut command = Command::new("setpriv");
        command.args(["--reuid=nobody", "--regid=nogroup", "--clear-groups"]).arg(program);
        command
    } else {
        Command::new(program)
    }
}

impl Postgres {
    /// Starts one; nothing, and a loud line, when the machine has none.
    pub fn start() -> Option<Self> {
        let (Some(initdb), Some(postgres)) = (program("initdb"), program("postgres")) else {
            eprintln!(
                "\n*** NO POSTGRESQL ON THIS MACHINE: ITS HALF OF THE TEST DID NOT RUN (install Debian's postgresql) ***\n"
            );
            return None;
        };
        let folder = tempfile::Builder::new().prefix("gw").tempdir_in("/tmp").unwrap();
        let _ = Command::new("chown").arg("nobody:nogroup").arg(folder.path()).status();
        let data = folder.path().join("data");
        let made = as_nobody(&initdb)
            .args(["-A", "trust", "-U", "goldward", "-E", "UTF8", "--no-sync", "-D"])
            .arg(&data)
            .current_dir("/tmp")
            .stdout(Stdio::null())
            .status()
            .unwrap();
        assert!(made.success(), "initdb failed");
        let child = as_nobody(&postgres)
            .arg("-D")
            .arg(&data)
            .arg("-k")
            .arg(folder.path())
            .args(["-c", "listen_addresses=", "-c", "max_connections=200"])
            .current_dir("/tmp")
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let server = Self { folder, child };
        for _ in 0..200 {
            if server.folder.path().join(".s.PGSQL.5432").exists() {
                break;
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        // The socket is there a moment before it answers.
        std::thread::sleep(Duration::from_millis(300));
        Some(server)
    }

    /// Its address.
    pub fn address(&self) -> String {
        let folder = self.folder.path().display().to_string().replace('/', "%2F");
        format!("postgres://goldward@localhost/postgres?host={folder}")
    }
}

impl Drop for Postgres {
    fn drop(&mut self) {
        // An interrupt is a fast, orderly stop.
        let _ = Command::new("kill").args(["-INT", &self.child.id().to_string()]).status();
        let _ = self.child.wait();
    }
}
