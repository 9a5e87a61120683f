//! A small HTTP client, so that what is tested goes over a real connection.
#![allow(dead_code, reason = "each test binary uses its own part")]

pub mod running;

use std::io::{Read as _, Write as _};
use std::net::{SocketAddr, TcpStream};
use std::time::Duration;

use goldward_journal::{Body, Note, Record, Session, Shot, Uuid, Writer};

/// An answer.
#[derive(Debug)]
pub struct Answer {
    pub status: u16,
    pub head: String,
    pub body: Vec<u8>,
}

impl Answer {
    pub fn text(&self) -> &str {
        std::str::from_utf8(&self.body).unwrap()
    }

    pub fn json(&self) -> serde_json::Value {
        serde_json::from_slice(&self.body).unwrap_or_else(|e| panic!("{e}: {}", self.text()))
    }

    pub fn header(&self, name: &str) -> Option<&str> {
        self.head.lines().filter_map(|l| l.split_once(": ")).find(|(n, _)| n.eq_ignore_ascii_case(name)).map(|(_, v)| v)
    }
}

/// Sends one request on a connection of its own.
pub fn send(addr: SocketAddr, method: &str, path: &str, headers: &str, body: &[u8]) -> std::io::Result<Answer> {
    send_to(addr, "localhost", method, path, headers, body)
}

/// The same, asking for that host.
pub fn send_to(
    addr: SocketAddr,
    host: &str,
    method: &str,
    path: &str,
    headers: &str,
    body: &[u8],
) -> std::io::Result<Answer> {
    let mut stream = TcpStream::connect(addr)?;
    stream.set_nodelay(true)?;
    stream.set_read_timeout(Some(Duration::from_secs(60)))?;
    let mut request = format!(
        "{method} {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\nContent-Length: {}\r\n{headers}\r\n",
        body.len()
    )
    .into_bytes();
    request.extend_from_slice(body);
    stream.write_all(&request)?;
    let mut raw = Vec::new();
    stream.read_to_end(&mut raw)?;
    let cut = || std::io::Error::other("the answer was cut off");
    let at = raw.windows(4).position(|w| w == b"\r\n\r\n").ok_or_else(cut)?;
    let head = String::from_utf8_lossy(&raw[..at]).into_owned();
    let status = head.split(' ').nth(1).and_then(|s| s.parse().ok()).ok_or_else(cut)?;
    let mut answer = Answer { status, head, body: raw[at + 4..].to_vec() };
    if answer.header("transfer-encoding").is_some() {
        answer.body = unchunk(&answer.body).ok_or_else(cut)?;
    } else if let Some(length) = answer.header("content-length").and_then(|l| l.parse::<usize>().ok())
        && answer.body.len() < length
        && method != "HEAD"
    {
        return Err(cut());
    }
    Ok(answer)
}

fn unchunk(mut raw: &[u8]) -> Option<Vec<u8>> {
    let mut out = Vec::new();
    loop {
        let at = raw.windows(2).position(|w| w == b"\r\n")?;
        let size = usize::from_str_radix(std::str::from_utf8(&raw[..at]).ok()?, 16).ok()?;
        if size == 0 {
            return Some(out);
        }
        out.extend_from_slice(raw.get(at + 2..at + 2 + size)?);
        raw = &raw[at + 4 + size..];
    }
}

/// Makes all waits after failed logins end at that time, and returns how many there are: on a busy machine a second is over before
/// the next try.
pub fn waits_end_at(store: &std::path::Path, ms: u64) -> usize {
    let connection = rusqlite::Connection::open(store).unwrap();
    connection.busy_timeout(Duration::from_secs(30)).unwrap();
    connection.execute(&format!("UPDATE failures SET until_ms = {ms} WHERE until_ms > last_ms"), []).unwrap()
}

/// A time that does not come while a test runs.
pub const NOT_YET: u64 = 9_000_000_000_000;

pub const JSON: &str = "Content-Type: application/json\r\n";

/// The body of a sync.
pub fn sync(archer: Uuid, after: u64, records: &[Record]) -> Vec<u8> {
    serde_json::to_vec(&serde_json::json!({ "schema": 1, "archer": archer, "after": after, "records": records }))
        .unwrap()
}

/// A small record.
pub fn note(writer: &mut Writer, n: u64) -> Record {
    let mut random = [0; 10];
    random[2..].copy_from_slice(&n.to_be_bytes());
    writer.write(
        1_700_000_000_000 + n,
        random,
        Body::Note(Note { about: None, text: format!("note {n}"), at_ms: n, ..Note::default() }),
    )
}

/// A log of `shots` shots in sessions of 72.
pub fn big_log(archer: Uuid, shots: u32) -> Vec<Record> {
    let device = Uuid::from_u128(77);
    let mut writer = Writer::new(archer, device);
    let mut records = Vec::new();
    let mut random = millimetres(1);
    let mut session = Uuid::nil();
    for n in 0..shots {
        let mut bytes = [0; 10];
        bytes[..4].copy_from_slice(&n.to_be_bytes());
        let at_ms = 1_600_000_000_000 + u64::from(n / 72) * 86_400_000;
        if n % 72 == 0 {
            bytes[9] = 1;
            let body = Session {
                at_ms,
                distance_m: 70.0,
                face: "122".to_owned(),
                round: None,
                kit: None,
                mark: None,
                sighting_ends: 0,
                ends: 12,
                shots_per_end: 6,
                proven: None,
                match_by: None,
                opponent_arrow: None,
            };
            let record = writer.write(at_ms, bytes, Body::Session(body));
            session = record.id;
            records.push(record);
            bytes[9] = 0;
        }
        let shot = Shot {
            session,
            end: n % 72 / 6 + 1,
            index: n % 6 + 1,
            x_mm: Some(random()),
            y_mm: Some(random()),
            call: None,
            felt: None,
            arrow: Some((n % 6 + 1).to_string()),
            spot: None,
            at_ms: Some(at_ms + u64::from(n)),
        };
        records.push(writer.write(at_ms, bytes, Body::Shot(shot)));
    }
    records
}

/// Numbers that look like millimetres, always the same.
fn millimetres(seed: u64) -> impl FnMut() -> f64 {
    let mut state = seed;
    move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((state >> 33) % 40_000) as f64 / 100.0 - 200.0
    }
}
