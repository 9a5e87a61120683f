//! Behind nginx, with the recipes of docs/club.md. HTTPS itself is the proxy's and is left out: it says that the browser used it.
#![cfg(unix)]

mod common;

use std::net::{SocketAddr, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use common::{Answer, JSON, note, send, sync};
use goldward_journal::{Uuid, Writer};
use goldward_server::auth::fresh_id;
use goldward_server::{Config, password, serve};
use goldward_store::who::{Account, AddAccount};
use goldward_store::{Backend as _, Place, Store};

const PASSWORD: &str = "correct horse battery";

struct Server {
    addr: SocketAddr,
    folder: tempfile::TempDir,
    _runtime: tokio::runtime::Runtime,
}

fn server() -> Server {
    let folder = tempfile::tempdir().unwrap();
    let web = folder.path().join("web");
    std::fs::create_dir(&web).unwrap();
    std::fs::write(web.join("index.html"), "<!doctype html>app").unwrap();
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    let addr = runtime.block_on(async {
        let store = Store::open(&Place::File(folder.path().join("log.db"))).await.unwrap();
        let account = Account { id: fresh_id(), name: "anna".to_owned(), password: password::hash(PASSWORD).unwrap() };
        store.run(AddAccount { account, give: Vec::new() }).await.unwrap();
        let mut config = Config::new("127.0.0.1:0".parse().unwrap()).with_web(web);
        config.https = true;
        config.trusted_proxies = vec!["127.0.0.1/32".parse().unwrap()];
        let (told, listening) = tokio::sync::oneshot::channel();
        tokio::spawn(serve(store, config, move |at| _ = told.send(at.addr), std::future::pending()));
        listening.await.unwrap()
    });
    Server { addr, folder, _runtime: runtime }
}

struct Nginx {
    child: Child,
    addr: SocketAddr,
}

impl Drop for Nginx {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn program() -> Option<PathBuf> {
    let path = std::env::var_os("PATH").unwrap_or_default();
    let mut folders = std::env::split_paths(&path).chain([PathBuf::from("/usr/sbin")]);
    let found = folders.find_map(|f| Some(f.join("nginx")).filter(|p| p.is_file()));
    if found.is_none() {
        eprintln!("\n*** NO NGINX ON THIS MACHINE: THIS TEST DID NOT RUN (install Debian's nginx-light) ***\n");
    }
    found
}

/// The `n`th recipe for nginx of the document.
fn recipe(n: usize) -> String {
    let text = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/club.md")).unwrap();
    text.split("```nginx\n").nth(n + 1).unwrap().split("```").next().unwrap().to_owned()
}

/// Starts nginx with that as its server, on a port of this machine instead of 443.
fn nginx(folder: &Path, server: &str, to: SocketAddr) -> Option<Nginx> {
    let program = program()?;
    let addr = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap();
    let server = server
        .replace("listen 443 ssl;", &format!("listen {addr};"))
        .replace("127.0.0.1:8017", &to.to_string())
        .replace("X-Forwarded-Proto $scheme", "X-Forwarded-Proto https")
        .lines()
        .filter(|l| !l.trim_start().starts_with("ssl_"))
        .collect::<Vec<_>>()
        .join("\n");
    let at = folder.join(format!("nginx-{}", addr.port()));
    std::fs::create_dir(&at).unwrap();
    let temporary: String = ["client_body", "proxy", "fastcgi", "uwsgi", "scgi"]
        .map(|t| format!("{t}_temp_path {}/{t};\n", at.display()))
        .concat();
    let config = format!(
        "daemon off; master_process off; pid {0}/pid; error_log {0}/log;\nevents {{}}\nhttp {{ access_log off;\n{temporary}{server}\n}}\n",
        at.display()
    );
    std::fs::write(at.join("conf"), config).unwrap();
    let mut command = Command::new(program);
    command.arg("-p").arg(&at).arg("-e").arg(at.join("log")).arg("-c").arg(at.join("conf"));
    let child = command.stdout(Stdio::null()).stderr(Stdio::inherit()).spawn().unwrap();
    let mut nginx = Nginx { child, addr };
    for _ in 0..100 {
        if TcpStream::connect(addr).is_ok() {
            return Some(nginx);
        }
        if let Some(status) = nginx.child.try_wait().unwrap() {
            panic!("nginx ended ({status}): {}", std::fs::read_to_string(at.join("log")).unwrap_or_default());
        }
        std::thread::sleep(Duration::from_millis(50));
    }
    panic!("nginx does not answer");
}

/// As a browser at `https://club.example:PORT`.
fn browse(nginx: &Nginx, method: &str, path: &str, headers: &str, body: &[u8]) -> Answer {
    let host = format!("club.example:{}", nginx.addr.port());
    common::send_to(nginx.addr, &host, method, path, &format!("{JSON}Origin: https://{host}\r\n{headers}"), body)
        .unwrap()
}

fn evening(nginx: &Nginx, under: &str) {
    let body = serde_json::json!({ "name": "Anna", "password": PASSWORD }).to_string();
    let login = browse(nginx, "POST", &format!("{under}api/v1/login"), "", body.as_bytes());
    assert_eq!(login.status, 204, "{}", login.text());
    let cookie = format!("Cookie: {}\r\n", login.header("set-cookie").unwrap().split(';').next().unwrap());
    assert!(cookie.contains("__Host-"), "{cookie}");
    let log = Uuid::from_u128(under.len() as u128);
    let mut writer = Writer::new(log, Uuid::from_u128(1));
    let records: Vec<_> = (0..2000).map(|n| note(&mut writer, n)).collect();
    let answer = browse(nginx, "POST", &format!("{under}api/v1/sync"), &cookie, &sync(log, 1 << 40, &records));
    assert_eq!((answer.status, answer.json()["accepted"].as_u64()), (200, Some(2000)));
    let export = browse(nginx, "GET", &format!("{under}api/v1/logs/{log}/export"), &cookie, b"");
    assert_eq!(export.text().lines().count(), 2001);
    assert_eq!(browse(nginx, "GET", under, &cookie, b"").text(), "<!doctype html>app");
    assert_eq!(browse(nginx, "POST", &format!("{under}api/v1/logout"), &cookie, b"").status, 204);
}

#[test]
fn the_recipes_of_the_document_work() {
    let server = server();
    let Some(at_root) = nginx(server.folder.path(), &recipe(0), server.addr) else { return };
    evening(&at_root, "/");
    // Under a path of its own: the second recipe is the location of the first one.
    let (before, rest) = recipe(0).split_once("    location / {").map(|(a, b)| (a.to_owned(), b.to_owned())).unwrap();
    let after = rest.split_once("    }\n").unwrap().1.to_owned();
    let below = nginx(server.folder.path(), &format!("{before}{}{after}", recipe(1)), server.addr).unwrap();
    evening(&below, "/arrows/");
}

#[test]
fn a_proxy_that_passes_nothing_on_is_told_what_it_leaves_out_at_the_login() {
    let server = server();
    let plain = "server { listen 443 ssl; location / { proxy_pass http://127.0.0.1:8017; } }";
    let Some(nginx) = nginx(server.folder.path(), plain, server.addr) else { return };
    let body = serde_json::json!({ "name": "anna", "password": PASSWORD }).to_string();
    let login = browse(&nginx, "POST", "/api/v1/login", "", body.as_bytes());
    assert_eq!(login.status, 403);
    assert!(login.text().contains("pass the header Host on"), "{}", login.text());
    assert_eq!(send(nginx.addr, "GET", "/healthz", "", b"").unwrap().status, 200);
}
