//! Going on from the output of an earlier follow.

use std::io::Read as _;
use std::path::Path;

use serde::Deserialize;
use serde_json::Value;

use super::session::Session;
use crate::failure::{Failure, Fault, said};
use crate::files::warn;
use crate::terminal::Terminal;
use goldward_report::words::Wrong;
use goldward_session::problem::{Place, What};

/// Largest output taken, in bytes.
const LARGEST_FILE: u64 = 256 << 20;
/// How every line of an output begins.
const START: &str = "{\"schema\":";

/// What is needed of a line of output.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct LineOut {
    event: Option<Value>,
    error: Option<String>,
}

/// Takes in the events that the file's answers echo; an incomplete last line is left out with a warning.
///
/// # Errors
/// [`Failure`] when the file cannot be read, or a line is no answer of a follow.
pub(super) fn from_file(path: &Path, terminal: &mut Terminal<'_>) -> Result<Session, Failure> {
    let name = path.display().to_string();
    let mut bytes = Vec::new();
    std::fs::File::open(path)
        .and_then(|file| file.take(LARGEST_FILE + 1).read_to_end(&mut bytes))
        .map_err(|e| fail(&name, Fault::io(&e).remedy(Wrong::EarlierFollow)))?;
    if bytes.len() as u64 > LARGEST_FILE {
        return Err(fail(&name, said(Wrong::Large, ["256 MB".into()]).into()));
    }
    let (session, cut_off) = replay(&bytes).map_err(|fault| fail(&name, fault))?;
    for line in cut_off {
        // A warning that cannot be told is no reason not to go on.
        let _ = warn(terminal, &Wrong::CutOff.with(terminal.language(), &[&name, &line.to_string()]));
    }
    Ok(session)
}

fn fail(name: &str, fault: Fault) -> Failure {
    Failure::data(said(Wrong::NotGoneOn, [name.into()]), fault)
}

/// The session after the answers in `bytes`, and the numbers of the lines that were cut off.
fn replay(bytes: &[u8]) -> Result<(Session, Vec<usize>), Fault> {
    let mut session = Session::default();
    let mut cut_off = Vec::new();
    let lines: Vec<&[u8]> = bytes.split(|b| *b == b'\n').collect();
    for (i, line) in lines.iter().enumerate() {
        let text = String::from_utf8_lossy(line);
        let (answers, whole) = answers(text.trim_start_matches('\u{feff}'));
        // Cut off at the end of the file, or where a later run appended to it.
        if !whole {
            if i + 1 < lines.len() && answers.is_empty() {
                return Err(Fault::from(Wrong::NoFollowAnswer).at(Place::Line(i + 1)));
            }
            cut_off.push(i + 1);
        }
        for answer in answers {
            if answer.error.is_some() {
                continue;
            }
            let taken = match &answer.event {
                Some(Value::Object(event)) => match event.get("settings") {
                    Some(settings) => session.take(&settings.to_string()),
                    None => session.take(&Value::Object(event.clone()).to_string()),
                },
                _ => Err(Fault::of("event", What::Missing).remedy(Wrong::EarlierFollow)),
            };
            taken.map_err(|fault| fault.on_line(i + 1))?;
        }
    }
    Ok((session, cut_off))
}

/// The answers on a line, and whether all of it was answers. A line that was cut off may have got the first answer of a
/// later run behind it.
fn answers(line: &str) -> (Vec<LineOut>, bool) {
    let (mut out, mut whole) = (Vec::new(), true);
    let mut rest = line.trim();
    while !rest.is_empty() {
        let mut stream = serde_json::Deserializer::from_str(rest).into_iter::<LineOut>();
        match stream.next() {
            Some(Ok(answer)) => {
                out.push(answer);
                rest = rest[stream.byte_offset()..].trim_start();
            }
            _ => {
                whole = false;
                // From the second byte on, so that the search moves forward.
                let next = rest.char_indices().nth(1).and_then(|(at, _)| rest[at..].find(START).map(|f| at + f));
                rest = next.map_or("", |at| &rest[at..]);
            }
        }
    }
    (out, whole)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_cut_off_is_left_out_wherever_it_stands() {
        let one = "{\"schema\":1,\"event\":{\"end\":true}}";
        let check = |text: &str, count: usize, whole: bool| {
            let got = answers(text);
            assert_eq!((got.0.len(), got.1), (count, whole), "{text}");
        };
        check(one, 1, true);
        check("", 0, true);
        check(&one[..20], 0, false);
        check(&format!("{}{one}", &one[..20]), 1, false);
        check(&format!("{one}{one}\r"), 2, true);
        check("é{", 0, false);
    }
}
