//! A server that runs in the test itself.

use std::net::SocketAddr;

use goldward_server::auth::fresh_id;
use goldward_server::{Config, password, serve};
use goldward_store::who::{Account, AddAccount};
use goldward_store::{Backend as _, Place, Store};

use super::{JSON, send};

/// Of every account.
pub const PASSWORD: &str = "correct horse battery";

/// A server, and what it stands on.
pub struct Running {
    pub addr: SocketAddr,
    pub metrics: SocketAddr,
    pub folder: tempfile::TempDir,
    pub runtime: tokio::runtime::Runtime,
}

/// With these accounts, on a store in a file.
pub fn start(accounts: &[&str]) -> Running {
    let folder = tempfile::tempdir().unwrap();
    let place = Place::File(folder.path().join("log.db"));
    start_on(folder, &place, accounts)
}

/// The same, on that store.
pub fn start_on(folder: tempfile::TempDir, place: &Place, accounts: &[&str]) -> Running {
    let web = folder.path().join("web");
    std::fs::create_dir(&web).unwrap();
    std::fs::write(web.join("index.html"), "<!doctype html>app").unwrap();
    std::fs::write(web.join("app-0123456789ab.wasm"), "plain").unwrap();
    std::fs::write(web.join("app-0123456789ab.wasm.br"), "squeezed").unwrap();
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    let at = runtime.block_on(async {
        let store = Store::open(place).await.unwrap();
        for name in accounts {
            let password = password::hash(PASSWORD).unwrap();
            let account = Account { id: fresh_id(), name: (*name).to_owned(), password };
            store.run(AddAccount { account, give: Vec::new() }).await.unwrap();
        }
        let (told, listening) = tokio::sync::oneshot::channel();
        let mut config = Config::new("127.0.0.1:0".parse().unwrap()).with_web(web);
        config.metrics = Some("127.0.0.1:0".parse().unwrap());
        tokio::spawn(serve(store, config, move |at| _ = told.send(at), std::future::pending()));
        listening.await.unwrap()
    });
    Running { addr: at.addr, metrics: at.metrics.unwrap(), folder, runtime }
}

/// Logs a browser in; returns its cookie.
pub fn login(addr: SocketAddr, name: &str) -> String {
    let body = serde_json::json!({ "name": name, "password": PASSWORD }).to_string();
    let answer = send(addr, "POST", "/api/v1/login", JSON, body.as_bytes()).unwrap();
    assert_eq!(answer.status, 204, "{}", answer.text());
    let cookie = answer.header("set-cookie").unwrap();
    assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"), "{cookie}");
    format!("Cookie: {}\r\n", cookie.split(';').next().unwrap())
}

/// A device's token of whoever that cookie is of.
pub fn device(addr: SocketAddr, cookie: &str) -> String {
    let answer = send(addr, "POST", "/api/v1/devices", &format!("{JSON}{cookie}"), b"{\"label\":\"phone\"}").unwrap();
    assert_eq!(answer.status, 201);
    format!("Authorization: Bearer {}\r\n", answer.json()["token"].as_str().unwrap())
}
