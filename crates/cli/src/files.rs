//! What commands read: kits, sessions and bytes, with errors that name the file.

use std::io::Read as _;
use std::path::Path;

use goldward_core::group::MOST_SHOTS;
use goldward_report::words::Wrong;
use goldward_session::kit::Kit;
use goldward_session::problem::{Place, Problem, What, plain};
use goldward_session::session::Session;
use goldward_session::settings::Settings;
use goldward_session::usual::Usual;
use goldward_session::{csv, toml};

use crate::failure::{Failure, Fault, Value, name_of, said};
use crate::terminal::Terminal;

/// Largest file taken, in bytes.
const LARGEST_FILE: u64 = 64 << 20;

/// What cannot be read, by its name.
#[must_use]
pub fn not_read(name: &Value) -> crate::failure::Said {
    said(Wrong::NotRead, [name.clone()])
}

/// Reads a kit from the text of a file called `name`.
///
/// # Errors
/// [`Failure::Data`] with every problem found.
pub fn parse_kit(text: &[u8], name: &Value) -> Result<Kit, Failure> {
    let fail = |problems| Failure::all(not_read(name), problems);
    let text = std::str::from_utf8(text).map_err(|_| fail(vec![Problem::new("", What::NotUtf8)]))?;
    toml::parse(text).map_err(fail)
}

/// Reads the kit file at `path`.
///
/// # Errors
/// [`Failure::Data`] with every problem found.
pub fn load_kit(path: &Path) -> Result<Kit, Failure> {
    let bytes = std::fs::read(path).map_err(|e| unreadable(path, &e))?;
    parse_kit(&bytes, &path.display().into())
}

/// Reads the document of usual values at `path`.
///
/// # Errors
/// [`Failure::Data`] with what is wrong.
pub fn load_usual(path: &Path) -> Result<Usual, Failure> {
    let bytes = std::fs::read(path).map_err(|e| unreadable(path, &e))?;
    let read = match std::str::from_utf8(&bytes) {
        Ok(text) => Usual::parse(text),
        Err(_) => Err(Problem::new("", What::NotUtf8)),
    };
    read.map_err(|problem| Failure::all(not_read(&path.display().into()), vec![problem]))
}

/// Reads a session from the bytes of a file called `name`, its last shots only when `last` says so.
///
/// # Errors
/// [`Failure::Data`] with every problem found.
pub fn load_session(bytes: &[u8], name: &Value, settings: &Settings, last: Option<usize>) -> Result<Session, Failure> {
    let session = csv::read(bytes, settings).map_err(|problems| Failure::all(not_read(name), problems))?;
    latest(session, name, last)
}

/// The session with its last shots only when `last` says so, if one reading takes as many.
///
/// # Errors
/// [`Failure::Data`] when it has more.
pub fn latest(mut session: Session, name: &Value, last: Option<usize>) -> Result<Session, Failure> {
    if let Some(n) = last {
        session.keep_last(n);
    }
    let shots = session.shots.len();
    if shots > MOST_SHOTS {
        let line = session.shots[MOST_SHOTS].line;
        let place = if line > 0 { Place::Line(line) } else { Place::Nowhere };
        let many = said(Wrong::TooManyLast, [shots.into(), MOST_SHOTS.into()]);
        return Err(Failure::data(not_read(name), Fault::from(many).at(place)));
    }
    Ok(session)
}

/// The bytes of the file at `path`; - is standard input.
///
/// # Errors
/// [`Failure::Data`] when it cannot be read or is too large.
pub fn load(path: &Path, terminal: &mut Terminal<'_>) -> Result<Vec<u8>, Failure> {
    let mut bytes = Vec::new();
    let read = if path.as_os_str() == "-" {
        (&mut *terminal.input).take(LARGEST_FILE + 1).read_to_end(&mut bytes)
    } else {
        std::fs::File::open(path).and_then(|f| f.take(LARGEST_FILE + 1).read_to_end(&mut bytes))
    };
    read.map_err(|e| unreadable(path, &e))?;
    if bytes.len() as u64 > LARGEST_FILE {
        return Err(Failure::data(not_read(&name_of(path)), said(Wrong::Large, ["64 MB".into()])));
    }
    Ok(bytes)
}

fn unreadable(path: &Path, error: &std::io::Error) -> Failure {
    Failure::data(said(Wrong::NotOpened, [name_of(path)]), Fault::io(error).remedy(Wrong::CheckName))
}

/// Writes a warning.
///
/// # Errors
/// [`Failure`] when it cannot be written.
pub fn warn(terminal: &mut Terminal<'_>, text: &str) -> Result<(), Failure> {
    let text = Wrong::Warning.with(terminal.language(), &[text]);
    writeln(terminal.err, &text)
}

/// Warns of what is odd about the session called `name`.
///
/// # Errors
/// [`Failure`] when it cannot be written.
pub fn warn_of(terminal: &mut Terminal<'_>, name: &Value, session: &Session) -> Result<(), Failure> {
    let l = terminal.language();
    for oddity in &session.odd {
        warn(terminal, &format!("{}, {}", name.text(l), goldward_report::words::problem::oddity(l, oddity)))?;
    }
    Ok(())
}

/// Writes one line without control characters.
///
/// # Errors
/// [`Failure`] when it cannot be written.
pub fn writeln(out: &mut (dyn std::io::Write + Send), text: &str) -> Result<(), Failure> {
    writeln!(out, "{}", plain(text)).map_err(|e| Failure::from_write(&e))
}
