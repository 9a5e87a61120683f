//! `cargo xtask serve`: builds everything and opens the demo.

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::net::{Ipv4Addr, TcpListener, TcpStream};
use std::path::Path;
use std::process::{Command, Stdio};

use crate::run::{cargo, root, run};

struct Options {
    port: u16,
    open: bool,
}

fn options(words: &[String]) -> Result<Options, String> {
    let mut options = Options { port: 8017, open: true };
    let mut words = words.iter();
    while let Some(word) = words.next() {
        match word.as_str() {
            "--no-open" => options.open = false,
            "--port" => {
                let value = words.next().ok_or("--port wants a number, such as --port 8017")?;
                options.port =
                    value.parse().map_err(|_| format!("`{value}` is no port: give a number from 1 to 65535"))?;
            }
            other => return Err(format!("`{other}` is no option of serve: there are --port N and --no-open")),
        }
    }
    Ok(options)
}

/// Builds the program, writes and reads the demo, and serves its pages on this machine only until interrupted.
pub(crate) fn serve(words: &[String]) -> Result<(), String> {
    let options = options(words)?;
    run("build", cargo(&["build", "--release", "--locked", "--package", "goldward"]))?;
    let folder = root().join("build/demo");
    fs::create_dir_all(&folder).map_err(|e| format!("cannot make {}: {e}", folder.display()))?;
    let program = root().join("target/release/goldward");
    let mut demo = Command::new(&program);
    demo.arg("demo").arg(&folder).arg("--force").arg("--pages").stdout(Stdio::null());
    run("demo", demo)?;
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, options.port))
        .map_err(|e| format!("port {} cannot be opened: {e}; try --port with another number", options.port))?;
    let address = format!("http://127.0.0.1:{}/", options.port);
    eprintln!("the demo is at {address} (interrupt to stop)");
    if options.open {
        open_browser(&address);
    }
    for stream in listener.incoming().flatten() {
        // A browser that hangs up half-way is no reason to stop.
        let _ = answer(&stream, &folder);
    }
    Ok(())
}

fn open_browser(address: &str) {
    let opener = if cfg!(target_os = "macos") { "open" } else { "xdg-open" };
    let started = Command::new(opener).arg(address).stdout(Stdio::null()).stderr(Stdio::null()).spawn();
    if started.is_err() {
        eprintln!("(no browser could be started from here: open the address yourself)");
    }
}

/// Answers one request for a file directly in `folder`.
fn answer(mut stream: &TcpStream, folder: &Path) -> std::io::Result<()> {
    let mut line = String::new();
    BufReader::new(stream).read_line(&mut line)?;
    let wanted = line.split_whitespace().nth(1).unwrap_or("/").trim_start_matches('/');
    let name = if wanted.is_empty() { "index.html" } else { wanted };
    // Plain names only: nothing outside the folder can be asked for.
    let plain =
        name.bytes().all(|b| b.is_ascii_alphanumeric() || matches!(b, b'.' | b'-' | b'_')) && !name.starts_with('.');
    let body = if plain { fs::read(folder.join(name)).ok() } else { None };
    let kind = match name.rsplit('.').next() {
        Some("html") => "text/html; charset=utf-8",
        Some("svg") => "image/svg+xml",
        Some("png") => "image/png",
        Some("pdf") => "application/pdf",
        _ => "text/plain; charset=utf-8",
    };
    let (status, kind, body) = match body {
        Some(body) => ("200 OK", kind, body),
        None => ("404 Not Found", "text/plain; charset=utf-8", b"there is no such page\n".to_vec()),
    };
    write!(
        stream,
        "HTTP/1.1 {status}\r\nContent-Type: {kind}\r\nContent-Length: {}\r\nConnection: close\r\n\r\n",
        body.len()
    )?;
    stream.write_all(&body)
}
