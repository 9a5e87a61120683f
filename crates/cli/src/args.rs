//! The command line: commands, options and their help.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};
use goldward_core::face::Face;
use goldward_core::units::{Distance, Length, Shaft, Spread};

use crate::accounts::AccountsArgs;
use crate::compare::{CompareArgs, TuneArgs};
use crate::fleet::FleetArgs;
use crate::follow::FollowArgs;
use crate::history::ProgressArgs;
use crate::kit;
use crate::log::LogArgs;
use crate::marks::args::MarksArgs;
use crate::pace::PaceArgs;
use crate::plot::PlotFile;
use crate::serve::ServeArgs;
use crate::settings::Wishes;

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
    Serve(Box<ServeArgs>),
    /// Accounts of a server: list, add, rename, remove, password, device, give a log
    Accounts(Box<AccountsArgs>),
    /// Import, export, merge, check, back up and sync logs
    Log(Box<LogArgs>),
    /// Show spread over time, and points lost to the sight and to the spread
    Progress(ProgressArgs),
    /// Print a completion script for a shell
    Completions(CompletionsArgs),
}

/// Options of `goldward read`.
#[derive(Debug, Args)]
#[command(after_help = "\
The CSV file has a first line that names its columns, any of
  end, arrow, x_mm, y_mm, call, felt, touch_right_mm, touch_up_mm
x_mm is right and y_mm is up of the centre, as you see it. A call is ring and clock: 9@4:30, X, or M for a miss.
A row with only a touch records that the pin was moved at that point. Full description: docs/formats.md.

Examples:
  goldward read evening.csv --distance 70 --face 122
  goldward read evening.csv --distance 60yd --face 122 --kit kit.toml --left 66 --plot evening.svg
  goldward read - --distance 18 --face 40 --trust verified < indoor.csv
  goldward read --batch < groups.jsonl > answers.jsonl")]
pub struct ReadArgs {
    /// CSV file of shots, oldest first; - reads standard input
    #[arg(value_name = "FILE", required_unless_present = "batch")]
    pub file: Option<PathBuf>,
    /// Shooting distance: 70, 70m or 60yd
    #[arg(long, short, value_name = "DISTANCE", required_unless_present = "batch")]
    pub distance: Option<Distance>,
    /// Target face, as listed by `goldward face`
    #[arg(long, short, value_name = "NAME", required_unless_present = "batch", value_parser = parse_face)]
    pub face: Option<&'static Face>,
    /// Kit file (docs/kit.md)
    #[arg(long, short, value_name = "FILE")]
    pub kit: Option<PathBuf>,
    /// Marks file (docs/marks.md): the elevation through the flight of your arrow is told beside the usual rule
    #[arg(long, value_name = "FILE")]
    pub marks: Option<PathBuf>,
    /// Arrows still to shoot at this distance [default: 36]
    #[arg(long, short, value_name = "ARROWS")]
    pub left: Option<u32>,
    /// Read only the last N shots, at most 144
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=144))]
    pub last: Option<u16>,
    /// Print one JSON object, as the batch does, with the rule of thumb beside it
    #[arg(long)]
    pub json: bool,
    /// Also draw the group into a .svg, .png or .pdf file
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PlotFile>,
    /// Columns of the page [default: those of the terminal, at most 100]
    #[arg(long, value_name = "COLUMNS", value_parser = clap::value_parser!(u16).range(40..=200))]
    pub width: Option<u16>,
    /// Options that stand above the kit file.
    #[command(flatten)]
    pub over: OverrideArgs,
    /// Read one JSON object a line from standard input, write one a line
    #[arg(long, help_heading = "Batch", conflicts_with_all = [
        "file", "distance", "face", "kit", "marks", "left", "last", "json", "plot", "width", "spread", "worth", "trust", "shaft",
        "touch_cost", "setting_sd", "eye_to_pin", "click",
    ])]
    pub batch: bool,
    /// Threads of a batch [default: one a core]
    #[arg(long, value_name = "N", help_heading = "Batch", requires = "batch",
          value_parser = clap::value_parser!(u16).range(1..=256))]
    pub threads: Option<u16>,
}

/// Options that stand above the kit file.
#[derive(Debug, Args)]
#[command(next_help_heading = "Above the kit file")]
pub struct OverrideArgs {
    /// Your usual spread: one standard deviation an axis, such as 2.1mrad
    #[arg(long, value_name = "MRAD")]
    pub spread: Option<Spread>,
    /// How many arrows that spread is worth
    #[arg(long, value_name = "ARROWS", value_parser = parse_number)]
    pub worth: Option<f64>,
    /// How many arrows the present setting is worth: a number, or unknown, predicted, verified
    #[arg(long, value_name = "ARROWS|WORD", value_parser = kit::parse_trust)]
    pub trust: Option<f64>,
    /// Shaft diameter, such as 5.5mm
    #[arg(long, value_name = "LENGTH", value_parser = parse_shaft)]
    pub shaft: Option<Shaft>,
    /// Points that a touch must gain to be worth making
    #[arg(long, value_name = "POINTS", value_parser = parse_number)]
    pub touch_cost: Option<f64>,
    /// How far off a setting usually is, at the pin: one standard deviation an axis
    #[arg(long, value_name = "LENGTH")]
    pub setting_sd: Option<Length>,
    /// Distance from eye to pin, such as 88cm
    #[arg(long, value_name = "LENGTH")]
    pub eye_to_pin: Option<Length>,
    /// Size of a click at the pin, such as 0.1mm; windage/elevation when they differ, such as 0.1mm/0.2mm
    #[arg(long, value_name = "LENGTH[/LENGTH]", value_parser = parse_click)]
    pub click: Option<[Length; 2]>,
}

impl OverrideArgs {
    /// The options as wishes.
    #[must_use]
    pub fn wishes(&self) -> Wishes {
        Wishes {
            shaft_mm: self.shaft.map(Shaft::diameter_mm),
            spread_mrad: self.spread.map(Spread::mrad),
            worth: self.worth,
            trust: self.trust,
            eye_to_pin_mm: self.eye_to_pin.map(Length::mm),
            click_windage_mm: self.click.map(|c| c[0].mm()),
            click_elevation_mm: self.click.map(|c| c[1].mm()),
            setting_sd_mm: self.setting_sd.map(Length::mm),
            touch_cost_points: self.touch_cost,
            ..Wishes::default()
        }
    }
}

/// Options of `goldward face`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  goldward face                      list the faces
  goldward face 122                  draw one
  goldward face 40-3v --plot face.pdf")]
pub struct FaceArgs {
    /// Name of the face; without it the faces are listed
    #[arg(value_name = "NAME", value_parser = parse_face)]
    pub name: Option<&'static Face>,
    /// Also draw the face into a .svg, .png or .pdf file
    #[arg(long, value_name = "FILE", requires = "name")]
    pub plot: Option<PlotFile>,
    /// Columns of the drawing [default: those of the terminal, at most 100]
    #[arg(long, value_name = "COLUMNS", value_parser = clap::value_parser!(u16).range(40..=200))]
    pub width: Option<u16>,
}

/// Options of `goldward demo`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  goldward demo                      write into goldward-demo and read
  goldward demo my-folder --force    overwrite files that were changed")]
pub struct DemoArgs {
    /// Folder for the files; it is made when missing
    #[arg(value_name = "DIR", default_value = "goldward-demo")]
    pub dir: PathBuf,
    /// Overwrite files of the same names that differ
    #[arg(long)]
    pub force: bool,
    /// Columns of the pages [default: those of the terminal, at most 100]
    #[arg(long, value_name = "COLUMNS", value_parser = clap::value_parser!(u16).range(40..=200))]
    pub width: Option<u16>,
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

fn parse_face(text: &str) -> Result<&'static Face, goldward_core::face::UnknownFace> {
    Face::named(text)
}

fn parse_number(text: &str) -> Result<f64, String> {
    goldward_core::units::parse_decimal(text).ok_or_else(|| "it is not a number: write one such as 0.5".to_owned())
}

fn parse_shaft(text: &str) -> Result<Shaft, goldward_core::units::UnitError> {
    Shaft::from_diameter_mm(text.parse::<Length>()?.mm())
}

fn parse_click(text: &str) -> Result<[Length; 2], goldward_core::units::UnitError> {
    let (windage, elevation) = text.split_once('/').unwrap_or((text, text));
    Ok([windage.parse()?, elevation.parse()?])
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory as _;

    #[test]
    fn the_command_line_is_well_formed() {
        Cli::command().debug_assert();
    }

    #[test]
    fn clicks_are_read_singly_and_in_pairs() {
        let mm = |text| parse_click(text).map(|c| c.map(Length::mm));
        assert_eq!(mm("0.1mm"), Ok([0.1, 0.1]));
        assert_eq!(mm("0.1/0,25 mm"), Ok([0.1, 0.25]));
        assert!(mm("0.1/").is_err());
    }
}
