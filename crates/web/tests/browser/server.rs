//! A small server of a folder that a test can stop, start again and point elsewhere.

use std::collections::BTreeSet;
use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::net::{Ipv4Addr, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::JoinHandle;

use crate::browser::Profile;

pub struct Server {
    pub port: u16,
    /// Its folder, when it serves one of its own.
    own: Option<Profile>,
    folder: Arc<Mutex<PathBuf>>,
    stop: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

/// Runs before the app and keeps what goes wrong.
const RECORDER: &str = include_str!("recorder.js");

/// A page beside the app, of the same site: where Back leads that leaves the app.
pub const ELSEWHERE: &str = "elsewhere";

static APP: Mutex<Option<Profile>> = Mutex::new(None);

/// The built app, with the recorder of errors in front of it.
pub fn app_folder() -> PathBuf {
    let mut app = APP.lock().unwrap_or_else(PoisonError::into_inner);
    app.get_or_insert_with(|| {
        let built = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../build/web");
        assert!(built.join("index.html").exists(), "the app is not built: run `cargo xtask web` first");
        let watched = Profile::fresh();
        copy_all(&built, &watched.0);
        let boot = watched.0.join("boot.js");
        let own = fs::read_to_string(&boot).expect("boot.js");
        fs::write(&boot, format!("{RECORDER}{own}")).expect("boot.js");
        let _ = fs::remove_file(watched.0.join("boot.js.br"));
        watched
    })
    .0
    .clone()
}

/// Removes the copy that [`app_folder`] made.
pub fn forget_app() {
    APP.lock().unwrap_or_else(PoisonError::into_inner).take();
}

/// A port that is free and has not been used before: a page of an earlier test would share its storage.
pub fn fresh_port() -> u16 {
    bind_fresh().1
}

/// The files of a folder and of those within, such as the guide beside the app.
pub fn copy_all(from: &Path, to: &Path) {
    for entry in fs::read_dir(from).expect("a folder of the app").flatten() {
        let there = to.join(entry.file_name());
        if entry.path().is_dir() {
            fs::create_dir_all(&there).expect("a folder");
            copy_all(&entry.path(), &there);
        } else {
            fs::copy(entry.path(), there).expect("a copy");
        }
    }
}

fn bind_fresh() -> (TcpListener, u16) {
    static USED: Mutex<BTreeSet<u16>> = Mutex::new(BTreeSet::new());
    loop {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).expect("a free port");
        let port = listener.local_addr().expect("its address").port();
        if USED.lock().unwrap_or_else(PoisonError::into_inner).insert(port) {
            return (listener, port);
        }
    }
}

impl Server {
    /// Serves the app on a port of its own.
    pub fn start() -> Self {
        let (listener, port) = bind_fresh();
        let folder = app_folder();
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
        Self { port, own: None, folder, stop, thread: Some(thread) }
    }

    /// Serves the app with a script that runs before it, also after a reload.
    pub fn after(script: &str) -> Self {
        let mut server = Self::start();
        let folder = Profile::fresh();
        copy_all(&app_folder(), &folder.0);
        let boot = fs::read_to_string(folder.0.join("boot.js")).expect("boot.js");
        fs::write(folder.0.join("boot.js"), format!("{script}\n{boot}")).expect("boot.js");
        server.turn_to(folder.0.clone());
        server.own = Some(folder);
        server
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
    if name == ELSEWHERE {
        let body = "<!doctype html><meta name=\"viewport\" content=\"width=device-width\"><title>elsewhere</title>";
        let head = "HTTP/1.1 200 OK\r\nContent-Type: text/html\r\nConnection: close\r\nContent-Length";
        let _ = write!(stream, "{head}: {}\r\n\r\n{body}", body.len());
        return;
    }
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
    let plain = !name.contains("..") && (!name.contains('/') || name.starts_with("guide/"));
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
