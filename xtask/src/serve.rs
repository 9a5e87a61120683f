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
    eprintln!("== demo");
    let page = demo_page(&root().join("target/release/goldward"), &folder)?;
    fs::write(folder.join("index.html"), page).map_err(|e| format!("cannot write into {}: {e}", folder.display()))?;
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

/// Writes the demo's files into `folder`, reads each with its picture, and returns one page with all of them.
fn demo_page(program: &Path, folder: &Path) -> Result<String, String> {
    let output = |command: &mut Command| {
        let output =
            command.env("NO_COLOR", "1").output().map_err(|e| format!("the demo could not be started: {e}"))?;
        if output.status.success() {
            Ok(String::from_utf8_lossy(&output.stdout).into_owned())
        } else {
            Err(format!("the demo failed: {}", String::from_utf8_lossy(&output.stderr)))
        }
    };
    let listing = output(Command::new(program).arg("demo").arg(folder).arg("--force").current_dir(root()))?;
    let escape = |text: &str| text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
    let mut page = String::from(
        "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width\">\
         <title>Goldward: the demo</title><style>body{font:18px/1.5 sans-serif;margin:1rem auto;max-width:60rem;padding:0 \
         1rem}img{max-width:100%}pre{overflow-x:auto;font-size:14px;line-height:1.25}</style><h1>An invented club evening</h1>",
    );
    for line in listing.lines().filter(|l| l.starts_with("$ goldward read ")) {
        let words: Vec<&str> = line.trim_start_matches("$ goldward ").split_whitespace().collect();
        let name = words.get(1).and_then(|w| Path::new(w).file_stem()).and_then(|n| n.to_str()).unwrap_or("group");
        let picture = format!("{name}.svg");
        let mut read = Command::new(program);
        read.args(&words).arg("--plot").arg(folder.join(&picture)).current_dir(root());
        let text = output(&mut read)?;
        page.push_str(&format!(
            "<h2>{name}</h2><p><code>{}</code></p><img src=\"{picture}\" alt=\"the group of {name} on its face\"><pre>{}</pre>",
            escape(line.trim_start_matches("$ ")),
            escape(&text)
        ));
    }
    Ok(page)
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
