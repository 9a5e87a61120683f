//! `goldward follow`: one distance after another, event by event, one answer a line.
//!
//! Every line in is answered by exactly one line, flushed at once, so that a screen or a script can follow along. An
//! answer echoes the event that it took, so that its own output is enough to go on from after a crash.

mod event;
mod resume;
mod round;
mod session;

use std::path::PathBuf;

use clap::Args;

pub use session::{Reply, Session};

use crate::batch::long_line;
use crate::failure::{EXIT_DATA, EXIT_FINE, EXIT_INTERNAL, Failure, Fault};
use crate::lines::{Chunk, Line, Source};
use crate::terminal::Terminal;
use crate::wire::{ErrorOut, SCHEMA};
use goldward_report::words::Wrong;
use goldward_session::json::text_of;

/// Options of `goldward follow`.
#[derive(Debug, Args)]
#[command(after_help = "\
The first line in is the settings, as a line of `goldward read --batch` without shots, with ends, shots_per_end,
sighting_ends and drift_mrad_per_end beside them. Then one event a line:
  {\"shot\":{\"x_mm\":-60,\"y_mm\":112}}             a shot; or {\"shot\":{\"call\":\"9@4:30\",\"felt\":\"bad\"}}
  {\"touch\":{\"right_mm\":0.2,\"up_mm\":-0.5}}       the pin was moved, as seen, in mm at the pin
  {\"end\":true}                               an end is over
  {\"felt\":{\"shot\":4,\"was\":\"bad\"}}            how shot 4 felt: good, bad or nothing
  {\"time_left_s\":40}                         seconds left in this end
  {\"undo\":true} and {\"redo\":true}
  {\"distance\":{\"distance_m\":50,\"face\":\"80\"}}  the next distance of the round
Each line is answered by one line with the advice, and whether to touch now, wait or leave. Full description:
docs/formats.md.

Examples:
  goldward follow < events.jsonl > answers.jsonl
  goldward follow --resume answers.jsonl < more.jsonl >> answers.jsonl")]
pub struct FollowArgs {
    /// Go on from the answers of an earlier follow
    #[arg(long, value_name = "FILE")]
    pub resume: Option<PathBuf>,
}

/// Runs the command; returns the exit code: 1 when a line was bad, 70 when the program failed on one.
///
/// # Errors
/// [`Failure`] when the streams fail, or the file to go on from cannot be used.
pub fn run(args: &FollowArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let mut session = match &args.resume {
        Some(path) => resume::from_file(path, terminal)?,
        None => Session::default(),
    };
    let mut source = Source::new(&mut *terminal.input);
    let mut chunk = Chunk::default();
    let mut text = Vec::new();
    let mut worst = EXIT_FINE;
    loop {
        match source.fill(&mut chunk) {
            Ok(true) => {}
            Ok(false) => return Ok(worst),
            Err(e) => {
                return Err(Failure::data(Wrong::InputNotRead, Fault::io(&e)));
            }
        }
        for line in chunk.lines() {
            text.clear();
            worst = worst.max(answer_line(line, &mut session, &mut text));
            terminal.out.write_all(&text).and_then(|()| terminal.out.flush()).map_err(|e| Failure::from_write(&e))?;
        }
    }
}

/// Takes one line into `session` and writes its answer into `out`, whatever the line holds; returns the exit code it calls
/// for. A line that cannot be taken changes nothing.
pub fn answer_line(line: Line<'_>, session: &mut Session, out: &mut Vec<u8>) -> u8 {
    let before = out.len();
    let (problem, code) = match try_line(line, session, out) {
        Ok(()) => return EXIT_FINE,
        Err(Trouble::Data(fault)) => (fault.one_line(), EXIT_DATA),
        Err(Trouble::Fault) => {
            let text = "internal error: the program failed on this line; please report it with the lines so far";
            (text.to_owned(), EXIT_INTERNAL)
        }
    };
    out.truncate(before);
    // Writing a struct of plain text into memory cannot fail.
    let _ = serde_json::to_writer(&mut *out, &ErrorOut { schema: SCHEMA, line: line.number, error: &problem });
    out.push(b'\n');
    code
}

/// Why a line has no answer.
enum Trouble {
    Data(Fault),
    Fault,
}

impl<F: Into<Fault>> From<F> for Trouble {
    fn from(fault: F) -> Self {
        Self::Data(fault.into())
    }
}

fn try_line(line: Line<'_>, session: &mut Session, out: &mut Vec<u8>) -> Result<(), Trouble> {
    if line.too_long {
        return Err(long_line().into());
    }
    let text = text_of(line.bytes)?;
    let done = guarded(|| session.take(text))??;
    let written = guarded(|| {
        let reply = session.answer(&done)?;
        reply.write(out)
    });
    match written {
        Ok(Ok(())) => Ok(()),
        Ok(Err(fault)) => {
            session.take_back(done);
            Err(fault.into())
        }
        Err(fault) => {
            // The event may be what made the program fail: without it the archer can go on.
            guarded(|| session.take_back(done))?;
            Err(fault)
        }
    }
}

fn guarded<T>(work: impl FnOnce() -> T) -> Result<T, Trouble> {
    std::panic::catch_unwind(std::panic::AssertUnwindSafe(work)).map_err(|_| Trouble::Fault)
}
