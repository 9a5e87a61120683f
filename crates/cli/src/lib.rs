//! The `goldward` program as a library: everything but the look at the environment, which `main` takes.
//!
//! [`run`] takes the command line and a [`Terminal`] and returns an exit code, so tests call it with
//! buffers. The archery is all in `goldward-core`; this crate reads files and writes pages, drawings and JSON.

#[cfg(feature = "serve")]
pub mod accounts;
pub mod args;
pub mod batch;
pub mod busy;
#[cfg(feature = "serve")]
mod club;
pub mod compare;
pub mod day;
mod demo;
pub mod duel;
pub mod face;
pub mod failure;
pub mod files;
pub mod fleet;
pub mod follow;
pub mod groups;
pub mod habits;
pub mod lines;
pub mod log;
pub mod marks;
pub mod options;
pub mod pace;
pub mod plot;
pub mod progress;
#[cfg(feature = "serve")]
mod reach;
pub mod read;
#[cfg(feature = "serve")]
pub mod serve;
pub mod source;
pub mod terminal;
#[cfg(feature = "serve")]
mod there;
pub mod tune;
pub mod usual;
pub mod words;

pub use goldward_report::wire;

use std::ffi::OsString;

use clap::{ArgMatches, CommandFactory as _, FromArgMatches as _};

use args::{Cli, Command, CompletionsArgs};
use failure::{EXIT_FINE, EXIT_USAGE, Failure};
use goldward_report::words::Language;
use terminal::Terminal;

/// Runs the program with the command line `args`, the program's own name first; returns the exit code.
pub fn run(args: impl IntoIterator<Item = OsString>, terminal: &mut Terminal<'_>) -> u8 {
    let parsed = Cli::command().try_get_matches_from(args).and_then(|m| Ok((language(&m), Cli::from_arg_matches(&m)?)));
    let (language, cli) = match parsed {
        Ok(parsed) => parsed,
        Err(error) => return usage(&error, terminal),
    };
    terminal.language = language.or(terminal.language);
    let result = match &cli.command {
        Command::Read(args) => read::run(args, terminal),
        Command::Pace(args) => pace::run(args, terminal),
        Command::Match(args) => duel::run(args, terminal),
        Command::Follow(args) => follow::run(args, terminal),
        Command::Marks(args) => marks::run(args, terminal),
        Command::Fleet(args) => fleet::run(args, terminal),
        Command::Compare(args) => compare::run(args, terminal),
        Command::Tune(args) => tune::run(args, terminal),
        Command::Face(args) => face::run(args, terminal),
        Command::Demo(args) => demo::run(args, terminal),
        #[cfg(feature = "serve")]
        Command::Serve(args) => serve::run(args, terminal),
        #[cfg(feature = "serve")]
        Command::Accounts(args) => accounts::run(args, terminal),
        Command::Log(args) => log::run(args, terminal),
        Command::Progress(args) => progress::run(args, terminal),
        Command::Habits(args) => habits::run(args, terminal),
        Command::Usual(args) => usual::run(args, terminal),
        Command::Completions(args) => completions(args, terminal),
    };
    let result = result.and_then(|code| terminal.out.flush().map(|()| code).map_err(|e| Failure::from_write(&e)));
    result.unwrap_or_else(|failure| {
        // Nothing is left to tell it with when standard error fails too.
        let _ = terminal.err.write_all(failure.text(terminal.language()).as_bytes());
        failure.exit_code()
    })
}

/// What the option `--language` of whatever command says.
fn language(matches: &ArgMatches) -> Option<Language> {
    let told = matches.try_get_one::<Language>("language").ok().flatten().copied();
    told.or_else(|| matches.subcommand().and_then(|(_, within)| language(within)))
}

/// Help and version go to standard output, mistakes to standard error.
fn usage(error: &clap::Error, terminal: &mut Terminal<'_>) -> u8 {
    let text = error.render().to_string();
    let (written, code) = if error.use_stderr() {
        (terminal.err.write_all(text.as_bytes()), EXIT_USAGE)
    } else {
        (terminal.out.write_all(text.as_bytes()), EXIT_FINE)
    };
    written.map_or_else(|e| Failure::from_write(&e).exit_code(), |()| code)
}

fn completions(args: &CompletionsArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    // Into memory first: the generator panics when a stream fails.
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Cli::command(), "goldward", &mut script);
    terminal.out.write_all(&script).map_err(|e| Failure::from_write(&e))?;
    Ok(EXIT_FINE)
}
