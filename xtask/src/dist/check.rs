//! What is handed out, installed and started as people do.

use std::fs;
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

use super::{Made, VERSION, deb};
use crate::run::run;

pub(super) fn all(made: &Made) -> Result<(), String> {
    is_static(&made.program)?;
    service()?;
    alone(made)?;
    package(made)?;
    hosted(made)?;
    eprintln!("all of it was installed and started");
    Ok(())
}

fn must(fine: bool, what: &str) -> Result<(), String> {
    if fine { Ok(()) } else { Err(format!("what is handed out does not work: {what}")) }
}

fn output(command: &mut Command) -> Result<String, String> {
    let out = command.stdin(Stdio::null()).output().map_err(|e| format!("{command:?}: {e}"))?;
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    must(out.status.success(), &format!("{command:?}: {}{}", text(&out.stdout), text(&out.stderr)))?;
    Ok(text(&out.stdout) + &text(&out.stderr))
}

/// The program asks for no library of the machine.
fn is_static(program: &Path) -> Result<(), String> {
    let out = Command::new("ldd").arg(program).output().map_err(|e| format!("ldd: {e}"))?;
    let told = String::from_utf8_lossy(&[out.stdout, out.stderr].concat()).into_owned();
    eprintln!("== the program: {}", told.trim());
    must(told.contains("statically linked") || told.contains("not a dynamic executable"), &told)
}

/// The service is understood by systemd, and lets the program do little.
fn service() -> Result<(), String> {
    let mut weigh = Command::new("systemd-analyze");
    weigh
        .args(["security", "--offline=true", "--threshold=20", "--no-pager"])
        .arg(super::packaging("goldward.service"));
    let told = output(&mut weigh)?;
    eprintln!("== the service: {}", told.lines().last().unwrap_or_default().trim());
    Ok(())
}

/// A server that ends with this.
struct Server {
    child: Child,
    host: String,
}

impl Server {
    fn start(mut command: Command) -> Result<Self, String> {
        let title = format!("{command:?}");
        let cannot = |e: std::io::Error| format!("{title}: {e}");
        let mut child =
            command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::null()).spawn().map_err(cannot)?;
        let mut line = String::new();
        if let Some(out) = &mut child.stdout {
            BufReader::new(out).read_line(&mut line).map_err(cannot)?;
        }
        let host = line.trim().strip_prefix("listening on http://").unwrap_or_default().to_owned();
        let server = Self { child, host };
        must(!server.host.is_empty(), &format!("{title} does not start"))?;
        Ok(server)
    }

    /// The whole answer to a request.
    fn get(&self, path: &str, headers: &str) -> Result<Vec<u8>, String> {
        let mut connection = TcpStream::connect(&self.host).map_err(|e| e.to_string())?;
        let request = format!("GET {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n{headers}\r\n", self.host);
        connection.write_all(request.as_bytes()).map_err(|e| e.to_string())?;
        let mut answer = Vec::new();
        connection.read_to_end(&mut answer).map_err(|e| e.to_string())?;
        Ok(answer)
    }

    /// The app is there, packed where that is understood.
    fn has_app(&self) -> Result<(), String> {
        let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).to_lowercase();
        let page = text(&self.get("/", "")?);
        must(page.starts_with("http/1.1 200") && page.contains("boot.js"), &page)?;
        let (path, plain, packed) = ("/goldward_web_bg.wasm", "", "Accept-Encoding: br\r\n");
        let (plain, packed) = (self.get(path, plain)?, self.get(path, packed)?);
        let head = text(&packed[..packed.len().min(1000)]);
        must(head.contains("content-encoding: br") && head.contains("application/wasm"), &head)?;
        must(plain.len() > 2 * packed.len() && packed.len() > 100_000, "the app is not whole")
    }

    /// Stops it as a machine that goes down does.
    fn stop(mut self) -> Result<(), String> {
        run("stop", {
            let mut kill = Command::new("kill");
            kill.arg(self.child.id().to_string());
            kill
        })?;
        let ended = self.child.wait().map_err(|e| e.to_string())?;
        must(ended.success(), &format!("the server ended with {ended}"))
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// A fresh folder for a check.
fn fresh(made: &Made, name: &str) -> Result<PathBuf, String> {
    let folder = made.folder.join("check").join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).map_err(|e| format!("cannot make {}: {e}", folder.display()))?;
    Ok(folder)
}

fn is_root() -> bool {
    Command::new("id").arg("-u").output().is_ok_and(|o| o.stdout.starts_with(b"0\n"))
}

/// In a root where there is nothing else, as in the container: the program as the recipe starts it, and as somebody who is nobody.
fn alone(made: &Made) -> Result<(), String> {
    if !is_root() {
        eprintln!("*** NOT ROOT: THE PROGRAM WAS NOT STARTED WITH NOTHING AROUND IT ***");
        return Ok(());
    }
    let place = fresh(made, "alone")?;
    let cannot = |e: std::io::Error| format!("cannot fill {}: {e}", place.display());
    fs::copy(&made.program, place.join("goldward")).map_err(cannot)?;
    fs::create_dir_all(place.join("data")).and_then(|()| fs::create_dir_all(place.join("etc"))).map_err(cannot)?;
    fs::write(place.join("etc/hosts"), "127.0.0.1 elsewhere.example\n").map_err(cannot)?;
    let mut own = Command::new("chown");
    own.args(["-R", "65532:65532"]).arg(place.join("data"));
    output(&mut own)?;
    let inside = |words: &[&str]| {
        let mut command = Command::new("chroot");
        command.args(["--userspec=65532:65532", "--groups=65532"]).arg(&place).arg("/goldward").args(words);
        command
    };
    let mut server = Server::start(inside(&["serve", "--demo", "--addr", "127.0.0.1:0", "--db", "/data/goldward.db"]))?;
    server.has_app()?;
    // A name is found without the machine's own libraries.
    let there = format!("http://elsewhere.example:{}", server.host.rsplit(':').next().unwrap_or_default());
    let mut sync = inside(&["log", "sync", &there, "--db", "/data/other.db"]);
    let told = sync.stdin(Stdio::null()).output().map_err(|e| e.to_string())?;
    let told = String::from_utf8_lossy(&[told.stdout, told.stderr].concat()).into_owned();
    must(!told.contains("resolve") && !told.contains("lookup"), &told)?;
    eprintln!("== a name in an empty root: {}", told.trim());
    server.host = server.host.replace("127.0.0.1", "localhost");
    server.has_app()?;
    server.stop()?;
    // What the recipe's own words want first.
    let refused = inside(&["serve", "--addr", "0.0.0.0:0", "--https", "--db", "/data/new.db"]).output();
    let refused = refused.map_err(|e| e.to_string())?;
    must(refused.status.code() == Some(2), "a server for everybody without accounts")
}

/// Installed, started, upgraded, removed and purged, in a root of its own.
fn package(made: &Made) -> Result<(), String> {
    if !is_root() {
        eprintln!("*** NOT ROOT: THE PACKAGE WAS NOT INSTALLED ***");
        return Ok(());
    }
    let place = fresh(made, "deb")?;
    let cannot = |e: std::io::Error| format!("cannot fill {}: {e}", place.display());
    for folder in ["var/lib/dpkg/info", "var/lib/dpkg/updates", "etc"] {
        fs::create_dir_all(place.join(folder)).map_err(cannot)?;
    }
    fs::write(place.join("var/lib/dpkg/status"), "").map_err(cannot)?;
    let dpkg = |words: &[&str], file: Option<&Path>| {
        let mut command = Command::new("dpkg");
        command.arg("--root").arg(&place).args(["--force-script-chrootless", "--force-depends", "--force-confold"]);
        // What it prints of packages that are not there says nothing.
        output(command.args(words).args(file).env("DEBIAN_FRONTEND", "noninteractive")).map(drop)
    };
    let first = made.folder.join(format!("goldward_{VERSION}_amd64.deb"));
    dpkg(&["--install"], Some(&first))?;
    let users = fs::read_to_string(place.join("etc/passwd")).map_err(cannot)?;
    let user = users.lines().find_map(|l| l.strip_prefix("goldward:")).ok_or("there is no user goldward")?;
    must(user.contains("nologin") && user.contains("/var/lib/goldward"), user)?;
    let id = user.split(':').nth(1).unwrap_or_default().to_owned();
    let data = place.join("var/lib/goldward");
    let owner = output(Command::new("stat").args(["--format=%u %a"]).arg(&data))?;
    must(owner.trim() == format!("{id} 700"), &format!("the folder of the logs: {owner}"))?;
    let goldward = |words: &[&str]| {
        let mut command = Command::new("chroot");
        command.arg(format!("--userspec={id}")).arg(&place).arg("/usr/bin/goldward").args(words);
        command
    };
    let db = "/var/lib/goldward/goldward.db";
    let server = Server::start(goldward(&["serve", "--demo", "--addr", "127.0.0.1:0", "--db", db]))?;
    server.has_app()?;
    server.stop()?;
    let before = output(&mut goldward(&["log", "export", "--db", db]))?;
    must(before.lines().count() > 100, "no log was kept")?;
    // Upgraded: the log and what was set are kept.
    let set = place.join("etc/default/goldward");
    fs::write(&set, "GOLDWARD_ARGS=--https\n").map_err(cannot)?;
    let next = deb::make(made, &format!("{VERSION}+next"))?;
    let upgraded = dpkg(&["--install"], Some(&next));
    fs::remove_file(&next).map_err(cannot)?;
    upgraded?;
    must(output(&mut goldward(&["log", "export", "--db", db]))? == before, "the upgrade changed the log")?;
    must(fs::read_to_string(&set).map_err(cannot)? == "GOLDWARD_ARGS=--https\n", "the upgrade changed what was set")?;
    let status = fs::read_to_string(place.join("var/lib/dpkg/status")).map_err(cannot)?;
    must(status.contains("install ok installed") && status.contains("+next"), &status)?;
    dpkg(&["--remove", "goldward"], None)?;
    must(!place.join("usr/bin/goldward").exists() && data.join("goldward.db").is_file(), "removing keeps the logs")?;
    dpkg(&["--purge", "goldward"], None)?;
    must(!data.exists() && !set.exists(), "purging leaves nothing")
}

/// The folder of static files on a usual web server, as its owner would put it there.
fn hosted(made: &Made) -> Result<(), String> {
    let place = fresh(made, "hosted")?;
    let mut unpack = Command::new("tar");
    unpack.arg("-xzf").arg(made.folder.join(format!("goldward-web-{VERSION}.tar.gz"))).arg("-C").arg(&place);
    output(&mut unpack)?;
    let mut play = crate::browser::tests();
    play.arg("a_usual_web_server")
        .env("GOLDWARD_BROWSERS", "chromium")
        .env("GOLDWARD_HOSTED", place.join("goldward-web"));
    play.env("GOLDWARD_TOOLS", crate::run::target().join("tools"));
    run("the folder of static files on a web server", play)
}
