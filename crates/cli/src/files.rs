//! What commands read: kits, sessions and bytes, with errors that name the file.

use std::io::Read as _;
use std::path::Path;

use goldward_core::group::MOST_SHOTS;
use goldward_session::kit::Kit;
use goldward_session::problem::{Problem, plain};
use goldward_session::session::Session;
use goldward_session::settings::Settings;
use goldward_session::{csv, toml};

use crate::failure::Failure;
use crate::terminal::Terminal;

/// Largest file taken, in bytes.
const LARGEST_FILE: u64 = 64 << 20;

/// Reads a kit from the text of a file called `name`.
///
/// # Errors
/// [`Failure::Data`] with every problem found.
pub fn parse_kit(text: &[u8], name: &str) -> Result<Kit, Failure> {
    let fail = |problems| Failure::Data { title: format!("{name} cannot be read"), problems };
    let text = std::str::from_utf8(text)
        .map_err(|_| fail(vec![Problem::new("", "the file is not UTF-8 text", "save it as plain text in UTF-8")]))?;
    toml::parse(text).map_err(fail)
}

/// Reads the kit file at `path`.
///
/// # Errors
/// [`Failure::Data`] with every problem found.
pub fn load_kit(path: &Path) -> Result<Kit, Failure> {
    let name = path.display().to_string();
    let bytes = std::fs::read(path).map_err(|e| unreadable(&name, &e))?;
    parse_kit(&bytes, &name)
}

/// Reads a session from the bytes of a file called `name`, its last shots only when `last` says so.
///
/// # Errors
/// [`Failure::Data`] with every problem found.
pub fn load_session(bytes: &[u8], name: &str, settings: &Settings, last: Option<usize>) -> Result<Session, Failure> {
    let fail = |problems| Failure::Data { title: format!("{name} cannot be read"), problems };
    latest(csv::read(bytes, settings).map_err(fail)?, name, last)
}

/// The session with its last shots only when `last` says so, if one reading takes as many.
///
/// # Errors
/// [`Failure::Data`] when it has more.
pub fn latest(mut session: Session, name: &str, last: Option<usize>) -> Result<Session, Failure> {
    if let Some(n) = last {
        session.keep_last(n);
    }
    let shots = session.shots.len();
    if shots > MOST_SHOTS {
        let line = session.shots[MOST_SHOTS].line;
        let place = if line > 0 { format!("line {line}") } else { String::new() };
        let message = format!("{shots} shots are more than the {MOST_SHOTS} that one reading takes");
        let remedy = format!("add --last {MOST_SHOTS} to read the latest ones, or split the file");
        return Err(Failure::data(format!("{name} cannot be read"), Problem::new(place, message, remedy)));
    }
    Ok(session)
}

/// The bytes of the file at `path`, which messages call `name`; - is standard input.
///
/// # Errors
/// [`Failure::Data`] when it cannot be read or is too large.
pub fn load(path: &Path, name: &str, terminal: &mut Terminal<'_>) -> Result<Vec<u8>, Failure> {
    let mut bytes = Vec::new();
    let read = if path.as_os_str() == "-" {
        (&mut *terminal.input).take(LARGEST_FILE + 1).read_to_end(&mut bytes)
    } else {
        std::fs::File::open(path).and_then(|f| f.take(LARGEST_FILE + 1).read_to_end(&mut bytes))
    };
    read.map_err(|e| unreadable(name, &e))?;
    if bytes.len() as u64 > LARGEST_FILE {
        let problem =
            Problem::new("", "the file is larger than 64 MB", "is it a file of shots? Keep the latest ones only");
        return Err(Failure::data(format!("{name} cannot be read"), problem));
    }
    Ok(bytes)
}

fn unreadable(name: &str, error: &std::io::Error) -> Failure {
    let problem = Problem::new("", error.to_string(), "check the name and the folder; - reads standard input");
    Failure::data(format!("{name} cannot be opened"), problem)
}

/// Writes one line without control characters.
///
/// # Errors
/// [`Failure`] when it cannot be written.
pub fn writeln(out: &mut (dyn std::io::Write + Send), text: &str) -> Result<(), Failure> {
    writeln!(out, "{}", plain(text)).map_err(|e| Failure::from_write(&e))
}
