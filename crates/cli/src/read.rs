//! `goldward read`: one session from a file, or a batch.

use std::io::Read;
use std::path::Path;

use goldward_core::group::MOST_SHOTS;

use crate::args::ReadArgs;
use crate::failure::{EXIT_FINE, Failure, Problem};
use crate::kit::{self, Kit};
use crate::page::Page;
use crate::refined::Refined;
use crate::session::{self, Session};
use crate::settings::Settings;
use crate::solve::{self, Scorers};
use crate::terminal::Terminal;
use crate::wire::ReadingOut;
use crate::{batch, plot};

/// Largest file taken, in bytes.
const LARGEST_FILE: u64 = 64 << 20;

/// Runs the command; returns the exit code.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &ReadArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    if args.batch {
        let threads = args.threads.map_or(terminal.cores, usize::from);
        return batch::run(terminal, threads);
    }
    let (Some(file), Some(distance), Some(face)) = (&args.file, args.distance, args.face) else {
        return Err(Failure::Usage(Problem::new(
            "",
            "FILE, --distance and --face are needed",
            "see goldward read --help",
        )));
    };
    let kit = match &args.kit {
        Some(path) => load_kit(path)?,
        None => Kit::default(),
    };
    let mut wishes = args.over.wishes().or(kit.wishes);
    wishes.shots_left = args.left;
    let settings = Settings::new(distance, face, &wishes).map_err(|e| {
        Failure::data("these settings cannot be", Problem { place: e.key.option().to_owned(), ..e.problem })
    })?;
    let name = if file.as_os_str() == "-" { "standard input".to_owned() } else { file.display().to_string() };
    let bytes = load(file, &name, terminal)?;
    let session = load_session(&bytes, &name, &settings, args.last.map(usize::from))?;
    for remark in &session.remarks {
        writeln(terminal.err, &format!("warning: {name}, {remark}"))?;
    }
    let scorers = Scorers::default();
    let answer = solve::answer(&settings, &session.core_shots(), &scorers.get(face, settings.shaft))
        .map_err(|e| Failure::data(format!("{name} cannot be read"), Problem::from_core("", &e)))?;
    let refined = match &args.marks {
        Some(path) => Some(Refined::of(path, &kit, &settings, &answer)?),
        None => None,
    };
    let page = Page {
        session: &session,
        settings: &settings,
        kit: &kit,
        answer: &answer,
        refined,
        left_assumed: args.left.is_none(),
        width: args.width.map_or(terminal.width, usize::from),
        colour: terminal.colour,
    };
    if let Some(file) = &args.plot {
        file.write(&plot::reading_svg(&page))?;
    }
    if args.json {
        let out = ReadingOut::new(&answer, true).with_refined(refined);
        assert!(out.is_finite(), "an answer that is not a number");
        let json = serde_json::to_string(&out).map_err(|e| Failure::Internal(e.to_string()))?;
        writeln(terminal.out, &json)?;
    } else {
        terminal.out.write_all(page.text().as_bytes()).map_err(|e| Failure::from_write(&e))?;
        if let Some(file) = &args.plot {
            writeln(terminal.out, &format!("\nDrawn into {}", file.path.display()))?;
        }
    }
    Ok(EXIT_FINE)
}

/// Reads a kit from the text of a file called `name`.
///
/// # Errors
/// [`Failure::Data`] with every problem found.
pub fn parse_kit(text: &[u8], name: &str) -> Result<Kit, Failure> {
    let fail = |problems| Failure::Data { title: format!("{name} cannot be read"), problems };
    let text = std::str::from_utf8(text)
        .map_err(|_| fail(vec![Problem::new("", "the file is not UTF-8 text", "save it as plain text in UTF-8")]))?;
    kit::parse(text).map_err(fail)
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
    let mut session = session::read(bytes, settings).map_err(fail)?;
    if let Some(n) = last {
        session.keep_last(n);
    }
    let shots = session.shots.len();
    if shots > MOST_SHOTS {
        let line = session.shots[MOST_SHOTS].line;
        let message = format!("{shots} shots are more than the {MOST_SHOTS} that one reading takes");
        return Err(fail(vec![Problem::new(
            format!("line {line}"),
            message,
            format!("add --last {MOST_SHOTS} to read the latest ones, or split the file"),
        )]));
    }
    Ok(session)
}

pub(crate) fn load(path: &Path, name: &str, terminal: &mut Terminal<'_>) -> Result<Vec<u8>, Failure> {
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

pub(crate) fn writeln(out: &mut (dyn std::io::Write + Send), text: &str) -> Result<(), Failure> {
    writeln!(out, "{}", crate::failure::plain(text)).map_err(|e| Failure::from_write(&e))
}
