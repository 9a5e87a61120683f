//! What hostile requests do to the memory of a server: a process of its own, whose memory is looked at. Linux only.
#![cfg(target_os = "linux")]

mod common;

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::{SocketAddr, TcpStream};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use common::{JSON, send, sync};
use flate2::Compression;
use flate2::write::GzEncoder;
use goldward_journal::{Body, Note, Record, Uuid, Writer};
use goldward_server::auth::fresh_id;
use goldward_server::{Config, Listening, password, serve};
use goldward_store::who::{Account, AddAccount};
use goldward_store::{Backend as _, Place, Store};

/// Names the store to the process that is measured.
const CHILD: &str = "GOLDWARD_TEST_MEASURED";
const MIB: u64 = 1024;

/// Not a test: the server that the tests start and measure. By itself it does nothing.
#[test]
fn the_server_to_be_measured() {
    #[allow(clippy::disallowed_methods, reason = "this is how the parent process speaks to it")]
    let Ok(place) = std::env::var(CHILD) else { return };
    let mut builder = tokio::runtime::Builder::new_multi_thread();
    builder.worker_threads(2).max_blocking_threads(16).enable_all().build().unwrap().block_on(async {
        let store = Store::open(&place.parse::<Place>().unwrap()).await.unwrap();
        #[allow(clippy::print_stdout, reason = "the parent process reads it")]
        let tell = |at: Listening| println!("\nlistening {}", at.addr);
        serve(store, Config::new("127.0.0.1:0".parse().unwrap()), tell, std::future::pending()).await.unwrap();
    });
}

struct Measured {
    child: Child,
    addr: SocketAddr,
    _folder: tempfile::TempDir,
}

impl Measured {
    fn start(account: Option<&str>) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let place = folder.path().join("log.db");
        if let Some(name) = account {
            let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
            runtime.block_on(async {
                let store = Store::open(&Place::File(place.clone())).await.unwrap();
                let password = password::hash("correct horse battery").unwrap();
                let account = Account { id: fresh_id(), name: name.to_owned(), password };
                store.run(AddAccount { account, give: Vec::new() }).await.unwrap();
            });
        }
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["the_server_to_be_measured", "--exact", "--nocapture"])
            .env(CHILD, &place)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines().map_while(Result::ok);
        let addr = lines.find_map(|l| l.strip_prefix("listening ").map(|a| a.parse().unwrap()));
        // It has more to say after a minute, and ends when nobody listens.
        std::thread::spawn(move || lines.for_each(drop));
        let measured = Self { child, addr: addr.unwrap(), _folder: folder };
        assert_eq!(send(measured.addr, "GET", "/healthz", "", b"").unwrap().status, 200);
        measured
    }

    /// A line of what the system says of the process, in KiB.
    fn kib(&self, what: &str) -> u64 {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.child.id())).unwrap();
        let line = status.lines().find_map(|l| l.strip_prefix(what)).unwrap();
        line.trim_start_matches(':').trim().split(' ').next().unwrap().parse().unwrap()
    }

    /// Runs `work`; returns by how much the memory was larger at its highest, and is larger now, in MiB.
    fn grown(&self, title: &str, work: impl FnOnce(SocketAddr)) -> (u64, u64) {
        // Starts the highest anew.
        std::fs::write(format!("/proc/{}/clear_refs", self.child.id()), "5").unwrap();
        let before = self.kib("VmRSS");
        work(self.addr);
        let (highest, now) = (self.kib("VmHWM"), self.kib("VmRSS"));
        let grown = (highest.saturating_sub(before) / MIB, now.saturating_sub(before) / MIB);
        eprintln!("{title}: {} MiB at the highest, {} MiB left", grown.0, grown.1);
        grown
    }
}

impl Drop for Measured {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn gzip(bytes: &[u8]) -> Vec<u8> {
    let mut encoder = GzEncoder::new(Vec::new(), Compression::best());
    encoder.write_all(bytes).unwrap();
    encoder.finish().unwrap()
}

/// Requests that unfold to far more than they seem, uncompressed; each once was answered with gigabytes.
fn bombs() -> Vec<(&'static str, Vec<u8>)> {
    let archer = Uuid::from_u128(1);
    let request =
        |records: String| format!("{{\"schema\":1,\"archer\":\"{archer}\",\"records\":[{records}]}}").into_bytes();
    let id = "01890a5d-ac96-774b-bcce-b302099a8057";
    let later = |body: &str| {
        let stamp = format!("{{\"ms\":5,\"counter\":0,\"device\":\"{id}\"}}");
        format!(
            "{{\"schema\":9,\"id\":\"{id}\",\"archer\":\"{archer}\",\"stamp\":{stamp},\"body\":{{\"x\":[{body}]}}}}"
        )
    };
    let zeros = |n: usize| vec!["0"; n].join(",");
    vec![
        ("one record with a list of 16 million", request(later(&zeros(16_000_000)))),
        ("lists in a list, 8 MiB", request(later(&vec!["[]"; 2_600_000].join(",")))),
        ("120 records of 60 KiB", request(vec![later(&zeros(30_000)); 120].join(","))),
        ("500 records of 16 KiB", request(vec![later(&zeros(8_000)); 500].join(","))),
        ("8 MiB of brackets", request("[".repeat(8_000_000))),
        ("one text of 8 MiB", request(format!("\"{}\"", "x".repeat(8_000_000)))),
        ("2.7 million empty records", request(vec!["{}"; 2_700_000].join(","))),
        ("32 MiB of zeros", vec![b'0'; 32 << 20]),
    ]
}

const SQUEEZED: &str = "Content-Type: application/json\r\nContent-Encoding: gzip\r\n";

#[test]
fn no_request_moves_the_memory_by_more_than_100_mib_and_many_at_once_by_less_than_a_gib() {
    let server = Measured::start(None);
    let mut squeezed = Vec::new();
    for (title, bomb) in bombs() {
        let small = gzip(&bomb);
        let (highest, _) = server.grown(&format!("{title} ({} KiB)", small.len() / 1024), |addr| {
            let answer = send(addr, "POST", "/api/v1/sync", SQUEEZED, &small).unwrap();
            assert!(matches!(answer.status, 200 | 413 | 422), "{title}: {} {}", answer.status, answer.text());
        });
        assert!(highest < 100, "{title}: {highest} MiB");
        squeezed.push(small);
    }
    let (highest, _) = server.grown("a hundred of them at once", |addr| {
        std::thread::scope(|scope| {
            for n in 0..100 {
                let body = &squeezed[n % squeezed.len()];
                scope.spawn(move || {
                    let answer = send(addr, "POST", "/api/v1/sync", SQUEEZED, body).unwrap();
                    assert!(matches!(answer.status, 200 | 413 | 422 | 503), "{}", answer.status);
                });
            }
        });
    });
    assert!(highest < 600, "{highest} MiB");
    // It still does its work.
    let answer = send(server.addr, "POST", "/api/v1/sync", JSON, &sync(Uuid::from_u128(2), 0, &[])).unwrap();
    assert_eq!(answer.status, 200, "{}", answer.text());
}

#[test]
fn answers_are_paged_by_bytes_and_500_at_once_stay_under_a_gib() {
    let server = Measured::start(None);
    let archer = Uuid::from_u128(1);
    let mut writer = Writer::new(archer, Uuid::from_u128(9));
    // 12 MB in 3000 records.
    for part in 0..2u64 {
        let records: Vec<Record> = (0..1500)
            .map(|n| {
                let mut random = [0; 10];
                random[2..].copy_from_slice(&(part * 1500 + n).to_be_bytes());
                let text = "é".repeat(1950);
                writer.write(
                    1_700_000_000_000,
                    random,
                    Body::Note(Note { about: None, text, at_ms: n, ..Note::default() }),
                )
            })
            .collect();
        let answer = send(server.addr, "POST", "/api/v1/sync", JSON, &sync(archer, 1 << 40, &records)).unwrap();
        assert_eq!(answer.status, 200, "{}", answer.text());
    }
    let (mut after, mut pages, mut got) = (0, 0, 0);
    loop {
        let answer = send(server.addr, "POST", "/api/v1/sync", JSON, &sync(archer, after, &[])).unwrap();
        assert!(answer.body.len() < 5_000_000, "{} bytes", answer.body.len());
        let page = answer.json();
        got += page["records"].as_array().unwrap().len();
        (after, pages) = (page["cursor"].as_u64().unwrap(), pages + 1);
        if page["more"] == false {
            break;
        }
    }
    assert_eq!((got, pages), (3000, 3));
    let export = format!("/api/v1/logs/{archer}/export");
    assert!(server.grown("the whole log", |addr| assert!(send(addr, "GET", &export, "", b"").is_ok())).0 < 100);
    let body = sync(archer, 0, &[]);
    let (highest, _) = server.grown("500 requests at once for 4 MB each, by slow readers", |addr| {
        let mut streams: Vec<TcpStream> = (0..500).map(|_| TcpStream::connect(addr).unwrap()).collect();
        for stream in &mut streams {
            let head = format!(
                "POST /api/v1/sync HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n{JSON}Content-Length: {}\r\n\r\n",
                body.len()
            );
            stream.write_all(head.as_bytes()).unwrap();
            stream.write_all(&body).unwrap();
        }
        std::thread::sleep(Duration::from_secs(3));
        // Every one is answered, with a page or with the word to come again.
        let mut statuses = [0, 0];
        for mut stream in streams {
            stream.set_read_timeout(Some(Duration::from_secs(60))).unwrap();
            let mut start = [0; 12];
            stream.read_exact(&mut start).unwrap();
            match &start[9..] {
                b"200" => statuses[0] += 1,
                b"503" => statuses[1] += 1,
                other => panic!("{}", String::from_utf8_lossy(other)),
            }
        }
        eprintln!("{} were given a page, {} told to come again", statuses[0], statuses[1]);
    });
    // Under a gigabyte, in whole MiB.
    assert!(highest < 950, "{highest} MiB");
}

#[test]
fn wrong_logins_leave_nothing_behind_and_a_right_one_does_not_wait_for_them() {
    let server = Measured::start(Some("anna"));
    let wrong = |n: usize| format!("{{\"name\":\"nobody {n}\",\"password\":\"wrong wrong\"}}").into_bytes();
    let (highest, left) = server.grown("200 wrong logins at once", |addr| {
        std::thread::scope(|scope| {
            for n in 0..200 {
                scope.spawn(move || {
                    let answer = send(addr, "POST", "/api/v1/login", JSON, &wrong(n)).unwrap();
                    assert!(matches!(answer.status, 401 | 503 | 429), "{}", answer.status);
                    assert_eq!(answer.status != 401, answer.header("retry-after").is_some());
                });
            }
        });
    });
    assert!(highest < 100 && left < 100, "{highest} MiB, {left} MiB left");
}
