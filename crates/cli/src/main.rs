//! `goldward`: reads a group of arrows and says how far to move the sight.

use std::io::{IsTerminal as _, Write};
use std::process::ExitCode;

use goldward::failure::EXIT_INTERNAL;
use goldward::terminal::{Tame, Terminal};
use goldward_report::words::Language;

fn main() -> ExitCode {
    let (mut input, out, err) = (std::io::stdin(), std::io::stdout(), std::io::stderr());
    let out_is_terminal = out.is_terminal();
    let colour = out_is_terminal && wants_colour();
    let width = terminal_size::terminal_size().map_or(80, |(w, _)| usize::from(w.0).clamp(40, 100));
    let err_is_terminal = err.is_terminal();
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let token = token();
    // Into a file or another program everything goes as it is.
    let mut out: Box<dyn Write + Send> = if out.is_terminal() { Box::new(Tame::new(out)) } else { Box::new(out) };
    let mut err: Box<dyn Write + Send> = if err.is_terminal() { Box::new(Tame::new(err)) } else { Box::new(err) };
    let outcome = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
        let mut terminal = Terminal {
            input: &mut input,
            out: &mut *out,
            err: &mut *err,
            colour,
            width,
            out_is_terminal,
            err_is_terminal,
            cores,
            token,
            language: language(),
        };
        goldward::run(std::env::args_os(), &mut terminal)
    }));
    // The panic has told what happened.
    ExitCode::from(outcome.unwrap_or(EXIT_INTERNAL))
}

/// Whether the environment allows colour: `NO_COLOR` unset or empty, and a terminal that is not dumb.
#[allow(clippy::disallowed_methods, reason = "the program's main may look at the environment")]
fn wants_colour() -> bool {
    std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty()) && std::env::var("TERM").is_ok_and(|t| t != "dumb")
}

/// The language of messages, as POSIX has it: the first of `LC_ALL`, `LC_MESSAGES` and `LANG` that is set.
#[allow(clippy::disallowed_methods, reason = "the program's main may look at the environment")]
fn language() -> Option<Language> {
    let set =
        ["LC_ALL", "LC_MESSAGES", "LANG"].into_iter().find_map(|v| std::env::var(v).ok().filter(|t| !t.is_empty()))?;
    let code = set.split(['_', '.', '@', '-']).next().unwrap_or_default().to_lowercase();
    Language::ALL.into_iter().find(|l| l.code() == code)
}

/// The token of this device at a server. It is not taken from the command line, which other users of the machine can see.
#[allow(clippy::disallowed_methods, reason = "the program's main may look at the environment")]
fn token() -> Option<String> {
    std::env::var("GOLDWARD_TOKEN").ok().filter(|t| !t.is_empty())
}
