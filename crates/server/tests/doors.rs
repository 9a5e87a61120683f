//! Who gets in: logins behind proxies, several servers on one store, an open server that gets its first account, and what browsers
//! are told.

mod common;

use std::net::SocketAddr;

use common::{Answer, JSON, note, send, sync};
use goldward_journal::{Body, Note, Uuid, Writer};
use goldward_server::auth::fresh_id;
use goldward_server::{Config, password, serve};
use goldward_store::ops::Quota;
use goldward_store::who::{Account, AddAccount};
use goldward_store::{Backend as _, Options, Place, Sqlite, Store};

const PASSWORD: &str = "correct horse battery";

struct Running {
    runtime: tokio::runtime::Runtime,
    store: Store,
    folder: tempfile::TempDir,
}

impl Running {
    fn new(options: Options) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
        let at = folder.path().join("log.db");
        let store = runtime.block_on(async { Store::Sqlite(Sqlite::open_with(&at, options).await.unwrap()) });
        Self { runtime, store, folder }
    }

    fn add(&self, name: &str) {
        let account = Account { id: fresh_id(), name: name.to_owned(), password: password::hash(PASSWORD).unwrap() };
        self.runtime.block_on(self.store.run(AddAccount { account, give: Vec::new() })).unwrap();
    }

    fn serve(&self, change: impl FnOnce(&mut Config)) -> SocketAddr {
        let mut config = Config::new("127.0.0.1:0".parse().unwrap());
        change(&mut config);
        self.runtime.block_on(async {
            let (told, listening) = tokio::sync::oneshot::channel();
            tokio::spawn(serve(self.store.clone(), config, move |at| _ = told.send(at.addr), std::future::pending()));
            listening.await.unwrap()
        })
    }
}

fn login(addr: SocketAddr, name: &str, password: &str, headers: &str) -> Answer {
    let body = serde_json::json!({ "name": name, "password": password }).to_string();
    send(addr, "POST", "/api/v1/login", &format!("{JSON}{headers}"), body.as_bytes()).unwrap()
}

fn cookie(answer: &Answer) -> String {
    assert_eq!(answer.status, 204, "{}", answer.text());
    format!("Cookie: {}\r\n", answer.header("set-cookie").unwrap().split(';').next().unwrap())
}

#[test]
fn the_first_account_closes_an_open_server_at_once() {
    let running = Running::new(Options::default());
    let addr = running.serve(|_| ());
    let log = Uuid::from_u128(0xA);
    let mut writer = Writer::new(log, Uuid::from_u128(1));
    let body = sync(log, 0, &[note(&mut writer, 1)]);
    let push = |headers: &str| send(addr, "POST", "/api/v1/sync", &format!("{JSON}{headers}"), &body).unwrap().status;
    assert_eq!(push(""), 200);
    // A proxy in front of it would let everybody in.
    for header in ["X-Forwarded-For: 192.0.2.1", "Forwarded: for=192.0.2.1", "X-Real-IP: 192.0.2.1", "Via: 1.1 proxy"] {
        assert_eq!(push(&format!("{header}\r\n")), 403, "{header}");
    }
    // As another process does it.
    let again = running.runtime.block_on(Store::open(&Place::File(running.folder.path().join("log.db")))).unwrap();
    let account = Account { id: fresh_id(), name: "anna".to_owned(), password: password::hash(PASSWORD).unwrap() };
    running.runtime.block_on(again.run(AddAccount { account, give: vec![log] })).unwrap();
    assert_eq!(push(""), 401);
    let anna = cookie(&login(addr, "Anna", PASSWORD, ""));
    assert_eq!(push(&anna), 200, "the log that she was given");
}

#[test]
fn a_login_makes_the_same_check_as_the_rest_and_names_what_the_proxy_leaves_out() {
    let running = Running::new(Options::default());
    running.add("anna");
    let addr = running.serve(|_| ());
    let refused = login(addr, "anna", PASSWORD, "Origin: https://club.example\r\n");
    assert_eq!(refused.status, 403);
    assert!(refused.text().contains("Host: localhost"), "{}", refused.text());
    assert_eq!(login(addr, "anna", PASSWORD, "Sec-Fetch-Site: cross-site\r\n").status, 403);
    let fine = login(addr, "ANNA", PASSWORD, "Origin: http://localhost\r\n");
    assert!(fine.header("set-cookie").unwrap().starts_with("goldward_session="));
    assert_eq!(fine.header("strict-transport-security"), None);
    // A name that no database takes is nobody's.
    assert_eq!(login(addr, "an\0na", PASSWORD, "").status, 401);

    let addr = running.serve(|c| c.https = true);
    let plain = login(addr, "anna", PASSWORD, "Origin: http://localhost\r\n");
    assert!(plain.status == 403 && plain.text().contains("--https"), "{}", plain.text());
    let fine = login(addr, "anna", PASSWORD, "Origin: https://localhost\r\n");
    let set = fine.header("set-cookie").unwrap();
    assert!(
        set.starts_with("__Host-goldward_session=") && set.contains("; Secure") && set.contains("Path=/;"),
        "{set}"
    );
    assert!(fine.header("strict-transport-security").unwrap().contains("max-age=31536000"));
    assert_eq!(send(addr, "GET", "/api/v1/me", &cookie(&fine), b"").unwrap().json()["name"], "anna");
    let other = cookie(&fine).replace("__Host-", "");
    assert_eq!(send(addr, "GET", "/api/v1/me", &other, b"").unwrap().status, 401, "only by its own name");
}

#[test]
fn failures_make_one_name_at_one_address_wait_on_all_servers_and_nobody_else() {
    let running = Running::new(Options::default());
    for name in ["anna", "ben"] {
        running.add(name);
    }
    let proxied = |c: &mut Config| c.trusted_proxies = vec!["127.0.0.1/32".parse().unwrap()];
    let servers = [running.serve(proxied), running.serve(proxied)];
    let from = |address: &str| format!("X-Forwarded-For: 203.0.113.9, {address}\r\n");
    let wrong = |n: usize, name: &str, address: &str| login(servers[n % 2], name, "wrong wrong", &from(address)).status;
    // On two servers in turn, from several addresses of one /64.
    let tries: Vec<u16> = (0..5).map(|n| wrong(n, "anna", &format!("2001:db8:0:1::{n}"))).collect();
    assert_eq!(tries, [401; 5]);
    let file = running.folder.path().join("log.db");
    assert_eq!(common::waits_end_at(&file, common::NOT_YET), 1, "she at that address, and nobody else");
    for server in servers {
        let right = login(server, "anna", PASSWORD, &from("2001:db8:0:1::77"));
        assert!(right.status == 429 && right.header("retry-after").is_some(), "from there the right one waits too");
    }
    // From anywhere else she gets in, and so does everybody else from there.
    assert_eq!(login(servers[0], "anna", PASSWORD, &from("2001:db8:0:2::1")).status, 204);
    assert_eq!(login(servers[0], "ben", PASSWORD, &from("2001:db8:0:1::1")).status, 204);
    common::waits_end_at(&file, 1);
    assert_eq!(login(servers[0], "anna", PASSWORD, &from("2001:db8:0:1::77")).status, 204, "the wait ends");
    // Thirty wrong ones of other names behind one address lock no club out.
    for n in 0..30 {
        assert_eq!(wrong(n, &format!("nobody {n}"), "192.0.2.1"), 401);
    }
    assert_eq!(login(servers[1], "anna", PASSWORD, &from("192.0.2.1")).status, 204);
}

#[test]
fn an_account_keeps_as_much_as_it_may_and_can_always_make_room() {
    let running = Running::new(Options::default());
    running.add("anna");
    let addr = running.serve(|c| c.quota = Quota { logs: 2, records: 5, bytes: 10_000 });
    let anna = cookie(&login(addr, "anna", PASSWORD, ""));
    let push = |log: u128, records: &[goldward_journal::Record]| {
        let body = sync(Uuid::from_u128(log), 0, records);
        let answer = send(addr, "POST", "/api/v1/sync", &format!("{JSON}{anna}"), &body).unwrap();
        (answer.status, String::from_utf8_lossy(&answer.body).into_owned())
    };
    let mut writers: Vec<Writer> = (0..3).map(|n| Writer::new(Uuid::from_u128(n), Uuid::from_u128(77))).collect();
    let notes: Vec<_> = (0..4).map(|n| note(&mut writers[0], n)).collect();
    assert_eq!(push(0, &notes).0, 200);
    assert_eq!(push(1, &[note(&mut writers[1], 10)]).0, 200);
    let (status, said) = push(2, &[note(&mut writers[2], 20)]);
    assert!(status == 403 && said.contains("\"quota\"") && said.contains("more logs"), "{said}");
    let (status, said) = push(1, &[note(&mut writers[1], 11)]);
    assert!(status == 403 && said.contains("more records"), "{said}");
    let long = Body::Note(Note { about: None, text: "x".repeat(3900), at_ms: 1, ..Note::default() });
    let edits: Vec<_> = notes.iter().map(|n| writers[0].edit(1_700_000_000_000, n, long.clone())).collect();
    assert_eq!(push(0, &edits[..2]).0, 200);
    let (status, said) = push(0, &edits[2..]);
    assert!(status == 403 && said.contains("more bytes"), "{said}");
    let gone: Vec<_> = edits[..2].iter().map(|e| writers[0].delete(1_700_000_000_000, e)).collect();
    assert_eq!(push(0, &gone).0, 200, "a tombstone makes room");
    assert_eq!(push(0, &edits[2..]).0, 200);
}

#[test]
fn a_device_needs_the_password_again_and_there_are_not_more_than_there_may_be() {
    let running = Running::new(Options::default());
    running.add("anna");
    let addr = running.serve(|_| ());
    let anna = format!("{JSON}{}", cookie(&login(addr, "anna", PASSWORD, "")));
    let add = |body: &str| send(addr, "POST", "/api/v1/devices", &anna, body.as_bytes()).unwrap();
    for _ in 0..100 {
        assert_eq!(add("{\"label\":\"phone\"}").status, 201);
    }
    let more = add("{\"label\":\"phone\"}");
    assert!(more.status == 403 && more.text().contains("100 is the most"), "{}", more.text());
    // Eleven minutes later.
    let file = running.folder.path().join("log.db");
    let connection = rusqlite::Connection::open(file).unwrap();
    connection.execute("UPDATE tokens SET made_ms = made_ms - 660000", []).unwrap();
    connection.execute("DELETE FROM tokens WHERE kind = 'device'", []).unwrap();
    let asked = add("{\"label\":\"phone\"}");
    assert!(asked.status == 403 && asked.text().contains("password_needed"), "{}", asked.text());
    assert_eq!(add("{\"label\":\"phone\",\"password\":\"not this one\"}").status, 403);
    assert_eq!(add(&format!("{{\"label\":\"phone\",\"password\":\"{PASSWORD}\"}}")).status, 201);
}

#[test]
fn a_stamp_of_the_far_future_is_refused_by_itself() {
    let running = Running::new(Options::default());
    let addr = running.serve(|_| ());
    let log = Uuid::from_u128(1);
    let mut writer = Writer::new(log, Uuid::from_u128(2));
    let (good, mut far) = (note(&mut writer, 1), note(&mut writer, 2));
    far.stamp.ms = 253_402_300_799_999;
    far.stamp.counter = u32::MAX;
    let answer = send(addr, "POST", "/api/v1/sync", JSON, &sync(log, 0, &[far.clone(), good])).unwrap();
    let said: goldward_journal::sync::SyncResponse = serde_json::from_slice(&answer.body).unwrap();
    assert_eq!((answer.status, said.accepted, said.log.records), (200, 1, 1));
    let refused = &said.refused[0];
    assert_eq!((refused.index, refused.id), (0, Some(far.id)));
    assert_eq!(refused.reason, goldward_journal::sync::Refusal::Ahead);
    assert!(refused.message.contains("days ahead of the server's clock"), "{}", refused.message);
}

#[test]
fn a_full_disk_is_told_by_the_health() {
    let running = Running::new(Options { most_pages: Some(80), ..Options::default() });
    let addr = running.serve(|_| ());
    let health = || send(addr, "GET", "/healthz", "", b"").unwrap();
    assert_eq!(health().status, 200);
    let log = Uuid::from_u128(1);
    let mut writer = Writer::new(log, Uuid::from_u128(2));
    // Until nothing more goes in.
    let full = (0..2000).find(|n| {
        let answer = send(addr, "POST", "/api/v1/sync", JSON, &sync(log, 1 << 40, &[note(&mut writer, *n)])).unwrap();
        answer.status == 507
    });
    assert!(full.is_some(), "the disk is not full");
    std::thread::sleep(std::time::Duration::from_millis(5100));
    let said = health();
    assert!(said.status == 507 && said.text().contains("full"), "{} {}", said.status, said.text());
}

#[test]
fn what_was_done_is_told_to_the_owner_and_all_of_it_can_be_erased() {
    let running = Running::new(Options::default());
    for name in ["anna", "ben"] {
        running.add(name);
    }
    let addr = running.serve(|_| ());
    assert_eq!(login(addr, "anna", "not the password", "User-Agent: Firefox/1 Linux\r\n").status, 401);
    let anna = cookie(&login(addr, "anna", PASSWORD, "User-Agent: Firefox/1 Linux\r\n"));
    let ben = cookie(&login(addr, "ben", PASSWORD, ""));
    let call = |who: &str, method: &str, path: &str, body: &str| {
        send(addr, method, path, &format!("{JSON}{who}"), body.as_bytes()).unwrap()
    };
    assert_eq!(call(&anna, "POST", "/api/v1/devices", "{\"label\":\"phone\"}").status, 201);
    let trail = |who: &str| -> Vec<(String, String)> {
        let told = call(who, "GET", "/api/v1/trail", "").json();
        let text = |e: &serde_json::Value, key: &str| e[key].as_str().unwrap().to_owned();
        told.as_array().unwrap().iter().map(|e| (text(e, "what"), text(e, "about"))).collect()
    };
    let expected = [("device_added", "phone"), ("login", "Firefox, Linux"), ("login_failed", "Firefox, Linux")];
    assert_eq!(trail(&anna), expected.map(|(a, b)| (a.to_owned(), b.to_owned())));
    assert_eq!(trail(&ben).len(), 1, "only one's own");

    let log = Uuid::from_u128(0xA);
    let mut writer = Writer::new(log, Uuid::from_u128(1));
    let push = sync(log, 0, &[note(&mut writer, 1)]);
    assert_eq!(call(&anna, "POST", "/api/v1/sync", std::str::from_utf8(&push).unwrap()).status, 200);
    let right = format!("{{\"password\":\"{PASSWORD}\"}}");
    let erase = format!("/api/v1/logs/{log}/erase");
    assert_eq!(call(&ben, "POST", &erase, &right).status, 404, "not his");
    assert_eq!(call(&anna, "POST", &erase, "{\"password\":\"wrong wrong\"}").status, 403);
    assert_eq!(call(&anna, "POST", &erase, &right).status, 204);
    assert_eq!(call(&anna, "GET", "/api/v1/logs", "").json(), serde_json::json!([]));
    assert_eq!(trail(&anna)[0].0, "log_erased");
    assert_eq!(call(&anna, "POST", "/api/v1/account/erase", &right).status, 204);
    assert_eq!(call(&anna, "GET", "/api/v1/me", "").status, 401);
    assert_eq!(login(addr, "anna", PASSWORD, "").status, 401);
    assert_eq!(call(&ben, "GET", "/api/v1/me", "").status, 200);
}
