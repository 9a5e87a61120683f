//! The command line: its commands and their help. The options of each stand with the command.

use clap::{Args, Parser, Subcommand};

#[cfg(feature = "serve")]
use crate::accounts::AccountsArgs;
use crate::compare::CompareArgs;
use crate::demo::DemoArgs;
use crate::duel::DuelArgs;
use crate::face::FaceArgs;
use crate::fleet::FleetArgs;
use crate::follow::FollowArgs;
use crate::habits::HabitsArgs;
use crate::log::LogArgs;
use crate::marks::args::MarksArgs;
use crate::pace::PaceArgs;
use crate::progress::ProgressArgs;
use crate::read::ReadArgs;
#[cfg(feature = "serve")]
use crate::serve::ServeArgs;
use crate::tune::TuneArgs;
use crate::usual::UsualArgs;

/// Reads a group of arrows and says how far to move the sight.
#[derive(Debug, Parser)]
#[command(
    name = "goldward",
    version,
    about,
    after_help = "\
Examples:
  goldward demo                                    four invented archers, read one by one
  goldward read evening.csv --distance 70 --face 122
  goldward read evening.csv --distance 70 --face 122 --kit kit.toml --left 36 --plot evening.pdf

Exit codes: 0 fine, 1 the input is wrong, 2 the command was called wrongly, 70 a fault of the program."
)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Read a group and say whether and how far to move the sight
    Read(Box<ReadArgs>),
    /// Show when to touch the sight: simulated rounds under every rule
    Pace(Box<PaceArgs>),
    /// What to do in a match, and the chance to win it
    Match(Box<DuelArgs>),
    /// Follow a distance event by event, one JSON object a line
    Follow(FollowArgs),
    /// Sight marks: fit, predict, print a card, and recognise the wrong mark
    Marks(MarksArgs),
    /// Arrow by arrow: which one lands elsewhere than the others
    Fleet(FleetArgs),
    /// Compare two settings: is the group tighter after a change?
    Compare(CompareArgs),
    /// Tuning: bareshafts against fletched arrows, and groups that walk
    Tune(TuneArgs),
    /// Draw a target face, or list the faces known
    Face(FaceArgs),
    /// Write an invented club evening as files, and read it
    Demo(DemoArgs),
    /// Serve logs to several devices, and the web app
    #[cfg(feature = "serve")]
    Serve(Box<ServeArgs>),
    /// Accounts of a server: list, add, rename, remove, password, device, give a log
    #[cfg(feature = "serve")]
    Accounts(Box<AccountsArgs>),
    /// Import, export, merge, check, back up and sync logs
    Log(Box<LogArgs>),
    /// Show spread over time, and points lost to the sight and to the spread
    Progress(ProgressArgs),
    /// Show an archer's own habits: where bad shots go, how often, how well they are felt
    Habits(HabitsArgs),
    /// Show what is usual by bow, level and distance, or make it out from a club's logs
    Usual(UsualArgs),
    /// Print a completion script for a shell
    Completions(CompletionsArgs),
}

/// Options of `goldward completions`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  goldward completions bash > ~/.local/share/bash-completion/completions/goldward
  goldward completions fish > ~/.config/fish/completions/goldward.fish")]
pub struct CompletionsArgs {
    /// The shell
    #[arg(value_name = "SHELL")]
    pub shell: clap_complete::Shell,
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory as _;

    #[test]
    fn the_command_line_is_well_formed() {
        Cli::command().debug_assert();
    }
}
