//! A small server of a folder that a test can stop, start again and point elsewhere.

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::net::{Ipv4Addr, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;

pub struct Server {
    pub port: u16,
    folder: Arc<Mutex<PathBuf>>,
    stop: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

/// The built app.
pub fn app_folder() -> PathBuf {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../build/web");
    assert!(folder.join("index.html").exists(), "the app is not built: run `cargo xtask web` first");
    folder
}

impl Server {
    pub fn start() -> Self {
        Self::at(0, app_folder())
    }

    /// Serves `folder` on `port`; 0 is any free one.
    pub fn at(port: u16, folder: PathBuf) -> Self {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port)).expect("a free port");
        let port = listener.local_addr().unwrap().port();
        let stop = Arc::new(AtomicBool::new(false));
        let folder = Arc::new(Mutex::new(folder));
        let (stopped, of) = (stop.clone(), folder.clone());
        let thread = std::thread::spawn(move || {
            for stream in listener.incoming().flatten() {
                if stopped.load(Ordering::SeqCst) {
                    return;
                }
                let folder = of.lock().unwrap().clone();
                std::thread::spawn(move || answer(&stream, &folder));
            }
        });
        Self { port, folder, stop, thread: Some(thread) }
    }

    pub fn url(&self) -> String {
        format!("http://127.0.0.1:{}/", self.port)
    }

    /// Serves another folder from now on.
    pub fn turn_to(&self, folder: PathBuf) {
        *self.folder.lock().unwrap() = folder;
    }

    pub fn stop(&mut self) {
        self.stop.store(true, Ordering::SeqCst);
        // The listener wakes up by one more visitor.
        let _ = TcpStream::connect((Ipv4Addr::LOCALHOST, self.port));
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.stop();
    }
}

fn answer(mut stream: &TcpStream, folder: &Path) {
    let mut line = String::new();
    let mut reader = BufReader::new(stream);
    if reader.read_line(&mut line).is_err() {
        return;
    }
    // The headers do not matter here, but the browser wants them read.
    let mut header = String::new();
    while reader.read_line(&mut header).is_ok_and(|n| n > 2) {
        header.clear();
    }
    let path = line.split_whitespace().nth(1).unwrap_or("/").split('?').next().unwrap_or("/").trim_start_matches('/');
    let name = if path.is_empty() { "index.html" } else { path };
    let kind = match name.rsplit('.').next() {
        Some("html") => "text/html; charset=utf-8",
        Some("js") => "text/javascript",
        Some("css") => "text/css",
        Some("wasm") => "application/wasm",
        Some("webmanifest") => "application/manifest+json",
        Some("svg") => "image/svg+xml",
        Some("png") => "image/png",
        _ => "application/octet-stream",
    };
    let plain = !name.contains("..") && !name.contains('/');
    let packed = fs::read(folder.join(format!("{name}.br"))).ok().filter(|_| plain);
    let (extra, body) = match packed {
        Some(body) => ("Content-Encoding: br\r\n", Some(body)),
        None => ("", fs::read(folder.join(name)).ok().filter(|_| plain)),
    };
    let (status, body) = body.map_or(("404 Not Found", Vec::new()), |b| ("200 OK", b));
    let _ = write!(
        stream,
        "HTTP/1.1 {status}\r\nContent-Type: {kind}\r\n{extra}Cache-Control: no-cache\r\nContent-Length: {}\r\nConnection: close\r\n\r\n",
        body.len()
    );
    let _ = stream.write_all(&body);
}
