//! Slow, silent and strange clients: none keeps others out.

mod common;

use std::io::{Read as _, Write as _};
use std::net::{SocketAddr, TcpStream};
use std::time::{Duration, Instant};

use common::{JSON, send};
use goldward_server::{Config, Patience, serve};
use goldward_store::{Place, Store};

struct Running {
    addr: SocketAddr,
    metrics: SocketAddr,
    _folder: tempfile::TempDir,
    _runtime: tokio::runtime::Runtime,
}

fn start(most: usize) -> Running {
    let folder = tempfile::tempdir().unwrap();
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    let at = runtime.block_on(async {
        let store = Store::open(&Place::File(folder.path().join("log.db"))).await.unwrap();
        let (told, listening) = tokio::sync::oneshot::channel();
        let mut config = Config::new("127.0.0.1:0".parse().unwrap());
        config.metrics = Some("127.0.0.1:0".parse().unwrap());
        config.most_connections = most;
        let second = Duration::from_secs(1);
        config.patience = Patience { head: second, head_in_need: second / 2, grace: second, bytes_per_second: 1000 };
        tokio::spawn(serve(store, config, move |at| _ = told.send(at), std::future::pending()));
        listening.await.unwrap()
    });
    Running { addr: at.addr, metrics: at.metrics.unwrap(), _folder: folder, _runtime: runtime }
}

#[allow(clippy::disallowed_methods, reason = "how long it takes is what is tested")]
fn now() -> Instant {
    Instant::now()
}

/// How long until the server ends the connection.
fn until_closed(mut stream: TcpStream) -> Duration {
    let since = now();
    stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
    let mut rest = Vec::new();
    match stream.read_to_end(&mut rest) {
        Ok(_) => since.elapsed(),
        Err(e) if e.kind() == std::io::ErrorKind::ConnectionReset => since.elapsed(),
        Err(e) => panic!("still open: {e}"),
    }
}

#[test]
fn who_is_silent_or_stops_halfway_is_hung_up_on() {
    let server = start(100);
    let half_body = "POST /api/v1/sync HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: 100\r\n\r\n{";
    let idle = "GET /healthz HTTP/1.1\r\nHost: localhost\r\n\r\n";
    for (what, sent) in
        [("nothing", ""), ("half a head", "GET / HTTP/1.1\r\nHo"), ("half a body", half_body), ("no more", idle)]
    {
        let mut stream = TcpStream::connect(server.addr).unwrap();
        stream.write_all(sent.as_bytes()).unwrap();
        let took = until_closed(stream);
        assert!(took < Duration::from_secs(5), "{what}: {took:?}");
    }
    // A head that drips never ends, and neither does its sender get a longer time for it.
    let mut stream = TcpStream::connect(server.addr).unwrap();
    let since = now();
    while stream.write_all(b"x").is_ok() {
        assert!(since.elapsed() < Duration::from_secs(5), "still open");
        std::thread::sleep(Duration::from_millis(100));
    }
}

#[test]
fn a_body_that_drips_is_answered_408() {
    let server = start(100);
    let mut stream = TcpStream::connect(server.addr).unwrap();
    let head = format!("POST /api/v1/sync HTTP/1.1\r\nHost: localhost\r\n{JSON}Content-Length: 100000\r\n\r\n");
    stream.write_all(head.as_bytes()).unwrap();
    stream.set_read_timeout(Some(Duration::from_millis(100))).unwrap();
    let (since, mut answer) = (now(), [0; 12]);
    while stream.read_exact(&mut answer).is_err() {
        assert!(since.elapsed() < Duration::from_secs(5), "no answer");
        let _ = stream.write_all(b" ");
    }
    assert_eq!(&answer, b"HTTP/1.1 408");
}

#[test]
fn more_idle_connections_than_there_may_be_keep_nobody_out_for_long() {
    let server = start(64);
    let mut idle = Vec::new();
    for _ in 0..200 {
        idle.push(TcpStream::connect(server.addr).unwrap());
    }
    let since = now();
    let answer = send(server.addr, "GET", "/healthz", "", b"").unwrap();
    assert_eq!(answer.status, 200);
    let took = since.elapsed();
    eprintln!("behind 200 idle connections where 64 may be: {took:?}");
    assert!(took < Duration::from_secs(6), "{took:?}");
}

#[test]
fn invented_methods_and_paths_leave_the_numbers_small() {
    let server = start(100);
    std::thread::scope(|scope| {
        for thread in 0..4 {
            let addr = server.addr;
            scope.spawn(move || {
                let mut stream = TcpStream::connect(addr).unwrap();
                for n in 0..500 {
                    let (method, path) = (format!("M{thread}X{n}"), format!("/{thread}/{n}"));
                    let request = format!("{method} {path} HTTP/1.1\r\nHost: localhost\r\nContent-Length: 0\r\n\r\n");
                    stream.write_all(request.as_bytes()).unwrap();
                    let mut some = [0; 4096];
                    assert!(stream.read(&mut some).unwrap() > 0);
                }
            });
        }
    });
    let numbers = send(server.metrics, "GET", "/metrics", "", b"").unwrap();
    assert!(numbers.text().contains("method=\"other\""));
    assert!(numbers.body.len() < 4000, "{} bytes", numbers.body.len());
}

#[test]
fn a_reader_that_takes_nothing_is_hung_up_on() {
    let server = start(100);
    // Answers without end: the document over and over on one connection, of which none is read.
    let mut stream = TcpStream::connect(server.addr).unwrap();
    stream.set_write_timeout(Some(Duration::from_secs(10))).unwrap();
    let request = "GET /api/v1/openapi.json HTTP/1.1\r\nHost: localhost\r\n\r\n".repeat(2000);
    let since = now();
    let mut ended = stream.write_all(request.as_bytes()).is_err();
    while !ended && since.elapsed() < Duration::from_secs(15) {
        std::thread::sleep(Duration::from_millis(100));
        ended = stream.write_all(b"GET / HTTP/1.1\r\nHost: localhost\r\n\r\n").is_err();
    }
    assert!(ended, "still open");
}
