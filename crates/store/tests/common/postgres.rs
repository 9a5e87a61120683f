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

/// Where Debian puts it, the latest version first, or wherever the shell finds it.
pub fn program(name: &str) -> Option<PathBuf> {
    let version = |p: &PathBuf| p.file_name().and_then(|n| n.to_str()?.parse::<u32>().ok());
    let mut homes: Vec<PathBuf> = std::fs::read_dir("/usr/lib/postgresql")
        .map_or_else(|_| Vec::new(), |entries| entries.flatten().map(|e| e.path()).collect());
    homes.sort_by_key(|p| std::cmp::Reverse(version(p)));
    let homes = homes.iter().map(|h| h.join("bin"));
    let path = std::env::var_os("PATH").unwrap_or_default();
    homes.chain(std::env::split_paths(&path)).map(|h| h.join(name)).find(|p| p.is_file())
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
        let mut server = Self { folder, child };
        // The socket is there a moment before it answers.
        let ready = program("pg_isready").unwrap_or_else(|| panic!("pg_isready is not beside postgres"));
        for _ in 0..600 {
            if let Ok(Some(status)) = server.child.try_wait() {
                panic!("PostgreSQL did not start: {status}");
            }
            let asked = Command::new(&ready).arg("-q").arg("-h").arg(server.folder.path()).status();
            if asked.is_ok_and(|s| s.success()) {
                return Some(server);
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        panic!("PostgreSQL does not answer after 30 seconds");
    }

    /// Where its socket is.
    #[allow(dead_code, reason = "one of the tests asks")]
    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// Its address.
    #[allow(dead_code, reason = "one of the tests finds it by its environment")]
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
