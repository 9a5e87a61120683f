//! `goldward log sync`: stores that meet on a server, over real connections, some of which break.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::{TcpListener, TcpStream};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use assert_cmd::cargo::CommandCargoExt as _;
use goldward_journal::{Body, Log, Note, Record, Uuid, Writer, jsonl};

fn goldward(folder: &Path, args: &[&str], token: &str, input: &[u8]) -> (i32, String, String) {
    let mut command = Command::cargo_bin("goldward").unwrap();
    command.args(args).current_dir(folder).env("GOLDWARD_TOKEN", token);
    let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    child.stdin.take().unwrap().write_all(input).unwrap();
    let out = child.wait_with_output().unwrap();
    let text = |b: Vec<u8>| String::from_utf8(b).unwrap();
    (out.status.code().unwrap(), text(out.stdout), text(out.stderr))
}

fn fine(folder: &Path, args: &[&str]) -> String {
    let (code, out, err) = goldward(folder, args, "", b"");
    assert_eq!(code, 0, "{args:?}: {out}{err}");
    out
}

struct Server {
    child: Child,
    addr: String,
}

impl Server {
    fn start(folder: &Path, db: &str) -> Self {
        let mut command = Command::cargo_bin("goldward").unwrap();
        command.args(["serve", "--addr", "127.0.0.1:0", "--db", db]).current_dir(folder);
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.as_mut().unwrap()).read_line(&mut line).unwrap();
        let addr = line.trim().strip_prefix("listening on http://").unwrap().to_owned();
        Self { child, addr }
    }

    fn url(&self) -> String {
        format!("http://{}", self.addr)
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Imports some of a log into a store.
fn import(folder: &Path, db: &str, records: &[Record]) {
    std::fs::write(folder.join("part.jsonl"), jsonl::write(&Log::from_records(records.to_vec()))).unwrap();
    fine(folder, &["log", "import", "part.jsonl", "--db", db]);
}

fn export(folder: &Path, db: &str) -> String {
    fine(folder, &["log", "export", "--db", db])
}

fn demo() -> Vec<Record> {
    goldward::log::demo::log(1_750_000_000_000).sorted().into_iter().cloned().collect()
}

/// `n` notes of one archer, more than fit into one request.
fn notes(n: u64) -> Vec<Record> {
    let mut writer = Writer::new(Uuid::from_u128(9), Uuid::from_u128(10));
    let mut random = [0; 10];
    (0..n)
        .map(|i| {
            random[2..].copy_from_slice(&i.to_be_bytes());
            let body = Body::Note(Note { about: None, text: format!("note {i}"), at_ms: i, ..Note::default() });
            writer.write(1_700_000_000_000 + i, random, body)
        })
        .collect()
}

#[test]
fn two_logs_merge_through_a_server() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let records = demo();
    let (third, two) = (records.len() / 3, records.len() * 2 / 3);
    // The laptop has the first two thirds, the phone the last two, and an edit of the laptop's.
    import(at, "laptop.db", &records[..two]);
    import(at, "phone.db", &records[third..]);
    let mut writer = Writer::new(records[0].archer, Uuid::from_u128(3));
    let edit = writer.edit(
        1_760_000_000_000,
        &records[0],
        Body::Note(Note { about: None, text: "edited".to_owned(), at_ms: 1, ..Note::default() }),
    );
    import(at, "phone.db", std::slice::from_ref(&edit));
    let mut merged = Log::from_records(records.iter().cloned());
    merged.insert(edit);
    let merged = jsonl::write(&merged);

    let server = Server::start(at, "server.db");
    let url = server.url();
    let sync = |db: &str| fine(at, &["log", "sync", &url, "--db", db, "--json"]);
    let counts = |text: &str| {
        let object: serde_json::Value = serde_json::from_str(text).unwrap();
        let log = &object["logs"][0];
        (log["sent"].as_u64().unwrap(), log["fetched"].as_u64().unwrap())
    };
    assert_eq!(counts(&sync("laptop.db")), (two as u64, 0));
    let (sent, fetched) = counts(&sync("phone.db"));
    assert_eq!((sent, fetched), ((records.len() - two + 1) as u64, third as u64 - 1));
    assert_eq!(counts(&sync("laptop.db")), (0, sent));
    for db in ["laptop.db", "phone.db", "server.db"] {
        assert_eq!(export(at, db), merged, "{db}");
        assert_eq!(counts(&sync("laptop.db")), (0, 0), "twice changes nothing");
    }
    // A device that begins with nothing.
    assert_eq!(counts(&sync("new.db")).0, 0);
    assert_eq!(export(at, "new.db"), merged);
    // A server that lost its file, or got an old backup back, is given everything again.
    drop(server);
    let server = Server::start(at, "another.db");
    let url = server.url();
    let set = format!("UPDATE peers SET peer = '{url}'");
    rusqlite::Connection::open(at.join("laptop.db")).unwrap().execute_batch(&set).unwrap();
    let out = fine(at, &["log", "sync", &url, "--db", "laptop.db"]);
    assert_eq!(out, format!("1 log in step: {} records sent, 0 fetched\n", records.len()));
    assert_eq!(export(at, "another.db"), merged);
}

/// Passes connections on to `to`, and cuts as many of them as `cuts` says once they have answered with `bytes` bytes.
fn bad_line(to: String, cuts: usize, bytes: u64) -> (String, Arc<AtomicUsize>) {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let addr = listener.local_addr().unwrap();
    let left = Arc::new(AtomicUsize::new(cuts));
    let counter = left.clone();
    std::thread::spawn(move || {
        for client in listener.incoming() {
            let (Ok(mut client), Ok(mut server)) = (client, TcpStream::connect(&to)) else { break };
            let (mut from_client, mut to_server) = (client.try_clone().unwrap(), server.try_clone().unwrap());
            std::thread::spawn(move || {
                let _ = std::io::copy(&mut from_client, &mut to_server);
            });
            let cut = counter.fetch_update(Ordering::SeqCst, Ordering::SeqCst, |n| n.checked_sub(1)).is_ok();
            let most = if cut { bytes } else { u64::MAX };
            std::thread::spawn(move || {
                let _ = std::io::copy(&mut (&mut server).take(most), &mut client);
                let _ = client.shutdown(std::net::Shutdown::Both);
                let _ = server.shutdown(std::net::Shutdown::Both);
            });
        }
    });
    (format!("http://{addr}"), left)
}

#[test]
fn broken_connections_lose_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let records = notes(12_000);
    let server = Server::start(at, "server.db");
    import(at, "laptop.db", &records);
    // Sending: the records arrive, and the answer does not.
    let (url, left) = bad_line(server.addr.clone(), 2, 900);
    fine(at, &["log", "sync", &url, "--db", "laptop.db"]);
    // Fetching what is there: the line breaks for good, and then is repaired.
    let (url, left_new) = bad_line(server.addr.clone(), 7, 5000);
    let (code, _, err) = goldward(at, &["log", "sync", &url, "--db", "new.db"], "", b"");
    assert!(code == 1 && err.contains("hint: what was exchanged so far is kept"), "{err}");
    assert!(err.contains(&format!("not in step with {url}")), "{err}");
    fine(at, &["log", "sync", &url, "--db", "new.db"]);
    assert_eq!((left.load(Ordering::SeqCst), left_new.load(Ordering::SeqCst)), (0, 0), "the lines were not bad");
    let all = jsonl::write(&Log::from_records(records));
    for db in ["server.db", "new.db"] {
        assert_eq!(export(at, db), all, "{db}");
    }
    // Nobody there.
    drop(server);
    let (code, _, err) = goldward(at, &["log", "sync", &url, "--db", "new.db"], "", b"");
    assert!(code == 1 && err.contains("the server is not reached"), "{err}");
}

/// Accounts at the server, each with the token of a device.
fn devices(at: &Path, names: [&str; 2]) -> [String; 2] {
    names.map(|name| {
        let add = ["accounts", "add", name, "--db", "server.db"];
        assert_eq!(goldward(at, &add, "", b"correct horse battery\n").0, 0);
        fine(at, &["accounts", "device", name, "--db", "server.db"]).trim().to_owned()
    })
}

#[test]
fn with_accounts_a_device_needs_its_token() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let [anna, ben] = devices(at, ["anna", "ben"]);
    assert_eq!(anna.len(), 64);
    let server = Server::start(at, "server.db");
    let url = server.url();
    let sync = ["log", "sync", &url, "--db", "laptop.db"];
    import(at, "laptop.db", &demo());
    for wrong in ["", "0123"] {
        let (code, _, err) = goldward(at, &sync, wrong, b"");
        assert!(code == 1 && err.contains("hint: make a token"), "{err}");
    }
    let (code, out, err) = goldward(at, &sync, &anna, b"");
    assert!(code == 0 && out.contains("1 log in step"), "{out}{err}");
    // By a file; and not another's log.
    std::fs::write(at.join("token.txt"), format!("{anna}\n")).unwrap();
    fine(at, &["log", "sync", &url, "--db", "laptop.db", "--token-file", "token.txt"]);
    let (code, _, err) = goldward(at, &sync, &ben, b"");
    assert!(code == 1 && err.contains("another account"), "{err}");
    let (code, _, err) = goldward(at, &["log", "sync", &url, "--token-file", "none.txt"], "", b"");
    assert!(code == 1 && err.contains("none.txt cannot be read"), "{err}");
    // A token is no option, and never goes over a line that others can read.
    assert_eq!(goldward(at, &["log", "sync", &url, "--token", &anna], "", b"").0, 2);
    let (code, _, err) = goldward(at, &["log", "sync", "http://club.example", "--db", "laptop.db"], &anna, b"");
    assert!(code == 2 && err.contains("hint: use an https:// address"), "{err}");
    assert_eq!(goldward(at, &["log", "sync", "club.example"], "", b"").0, 2);
    // Erased on the server, while it runs: the laptop is told, keeps its copy, and sends it no more; it can be erased there too.
    let archer = demo()[0].archer.to_string();
    let (kept, served) = (export(at, "laptop.db"), export(at, "server.db"));
    assert_eq!(kept, served);
    assert!(fine(at, &["log", "erase", &archer, "--db", "server.db"]).contains("erased: "));
    assert_eq!(goldward(at, &["log", "erase", &archer, "--db", "server.db"], "", b"").0, 1, "once");
    for _ in 0..2 {
        let (code, _, err) = goldward(at, &sync, &anna, b"");
        assert!(code == 1 && err.contains("its archer has erased it from the server"), "{err}");
        assert_eq!((export(at, "laptop.db"), export(at, "server.db").lines().count()), (kept.clone(), 1));
    }
    fine(at, &["log", "erase", &archer, "--db", "laptop.db"]);
    assert_eq!(goldward(at, &sync, &anna, b"").0, 0);
    // A forgotten password, from the machine of the server: the token ends too.
    let set = ["accounts", "password", "ANNA", "--db", "server.db"];
    let (code, out, _) = goldward(at, &set, "", b"another long password\n");
    assert!(code == 0 && out.contains("log in anew"), "{out}");
    assert_eq!(goldward(at, &sync, &anna, b"").0, 1);
    let (code, _, err) = goldward(at, &["accounts", "password", "carl", "--db", "server.db"], "", b"another one\n");
    assert!(code == 1 && err.contains("there is no account carl"), "{err}");
}

/// Lets `account` read that log, or write it too, as an invitation that was accepted does.
fn let_in(folder: &Path, archer: Uuid, account: &str, writes: bool) {
    use goldward_store::who::{Accept, FindAccount, Invitation, Invite};
    use goldward_store::{Backend as _, Place, Store};
    tokio::runtime::Runtime::new().unwrap().block_on(async {
        let store = Store::open(&Place::File(folder.join("server.db"))).await.unwrap();
        let account = store.run(FindAccount(account.to_owned())).await.unwrap().unwrap().id;
        let (hash, id) = ([u8::from(writes); 32], Uuid::from_u128(u128::from(writes)));
        let invitation = Invitation { id, writes, made_ms: 1, expires_ms: 3 };
        store.run(Invite { archer, hash, invitation }).await.unwrap();
        let entries = [4, 6, 8].map(|n| Uuid::from_u128(n + u128::from(writes)));
        let given = store.run(Accept { hash, account, now_ms: 2, entries }).await.unwrap();
        assert_eq!(given.map(|g| (g.archer, g.writes)), Some((archer, writes)));
    });
}

#[test]
fn a_coach_is_told_what_may_not_be_sent_and_sends_it_once_he_may_write() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let [anna, ben] = devices(at, ["anna", "ben"]);
    let server = Server::start(at, "server.db");
    let url = server.url();
    let sync = |db: &str, token: &str| goldward(at, &["log", "sync", &url, "--db", db], token, b"");
    import(at, "anna.db", &demo());
    assert_eq!(sync("anna.db", &anna).0, 0);
    let archer = demo()[0].archer;
    let_in(at, archer, "ben", false);
    let (code, out, err) = sync("ben.db", &ben);
    assert!(code == 0 && out.contains("1 log in step"), "{out}{err}");
    assert_eq!(export(at, "ben.db"), export(at, "anna.db"));

    // What he writes into it is named, each time, and hers goes on coming.
    let body = |text: &str| Body::Note(Note { about: None, text: text.to_owned(), at_ms: 5, ..Note::default() });
    let mut coach = Writer::new(archer, Uuid::from_u128(77));
    let seen = coach.write(1_760_000_000_000, [7; 10], body("the elbow"));
    import(at, "ben.db", std::slice::from_ref(&seen));
    let mut writer = Writer::new(archer, Uuid::from_u128(78));
    import(at, "anna.db", &[writer.write(1_760_000_000_001, [8; 10], body("windy"))]);
    assert_eq!(sync("anna.db", &anna).0, 0);
    for _ in 0..2 {
        let (code, _, err) = sync("ben.db", &ben);
        assert!(code == 1 && err.contains("may not be sent") && err.contains(&seen.id.to_string()), "{err}");
    }
    assert!(export(at, "ben.db").contains("windy") && !export(at, "server.db").contains("the elbow"));

    let_in(at, archer, "ben", true);
    let (code, out, err) = sync("ben.db", &ben);
    assert!(code == 0 && out.contains("1 log in step"), "{out}{err}");
    assert_eq!(sync("anna.db", &anna).0, 0);
    assert!(export(at, "anna.db").contains("the elbow"));
    assert_eq!(export(at, "anna.db"), export(at, "ben.db"));
}
