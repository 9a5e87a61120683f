//! Options of `goldward marks`.

use std::path::PathBuf;

use clap::{Args, Subcommand};
use goldward_core::units::{Length, parse_decimal};

use crate::options::ShownArgs;
use crate::plot::PlotFile;
use goldward_session::marks::quantity::{self, Range};
use goldward_store::Place;

/// Options of `goldward marks`.
#[derive(Debug, Args)]
#[command(after_help = "\
The marks file is marks.toml unless named; docs/marks.md describes it.

Examples:
  goldward marks add --distance 18 --reading 14.9 --eye-to-pin 88cm --eye-above-arrow 115mm --mass 21 --shaft 5.5mm
  goldward marks add --distance 30 --reading 18.7 --sd 0.2 --date 2026-05-03
  goldward marks fit
  goldward marks predict --at 20,25,40,60yd
  goldward marks predict --json - < question.json
  goldward marks card -o card.pdf --from 10 --to 70
  goldward marks wrong --distance 30 --offset-mm 640
  goldward marks wind --distance 70 --cross 3
  goldward marks slope --distance 40 --angle 20

Safety: a new or predicted mark is first shot at a close, safe distance with a clear overshoot area, and stepped out.")]
pub struct MarksArgs {
    /// What to do.
    #[command(subcommand)]
    pub command: MarksCommand,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum MarksCommand {
    /// Add a mark to the file
    Add(Box<AddArgs>),
    /// List the marks of the file
    List(BookArgs),
    /// Fit speed, drag and scale zero, and name marks that do not belong
    Fit(BookArgs),
    /// Predict marks, with 80 % intervals and the distance to shoot next
    Predict(PredictArgs),
    /// Draw a card to print, with a strip for the sight at true size
    Card(CardArgs),
    /// Say whether the wrong mark seems to be set
    Wrong(WrongArgs),
    /// What a wind does: drift, clicks and aim-off
    Wind(WindArgs),
    /// The mark for an uphill or downhill shot
    Slope(SlopeArgs),
}

impl MarksCommand {
    /// The options about file, kit and output.
    #[must_use]
    pub fn book(&self) -> &BookArgs {
        match self {
            Self::Add(a) => &a.book,
            Self::List(a) | Self::Fit(a) => a,
            Self::Predict(a) => &a.book,
            Self::Card(a) => &a.book,
            Self::Wrong(a) => &a.book,
            Self::Wind(a) => &a.book,
            Self::Slope(a) => &a.book,
        }
    }
}

/// Which file, and how to answer.
#[derive(Debug, Args)]
pub struct BookArgs {
    /// Marks file (docs/marks.md)
    #[arg(value_name = "MARKS", default_value = "marks.toml")]
    pub file: PathBuf,
    /// Take the marks from a log, as the app has them: the file of a store, a postgres:// address, or a .jsonl or .csv file
    #[arg(long, value_name = "FILE|URL", help_heading = "From a log")]
    pub log: Option<Place>,
    /// Whose, by name or id [default: the only archer there]
    #[arg(long, value_name = "NAME", requires = "log", help_heading = "From a log")]
    pub archer: Option<String>,
    /// Which kit, by its name [default: the latest that has marks]
    #[arg(long, value_name = "NAME", requires = "log", help_heading = "From a log")]
    pub bow: Option<String>,
    /// Kit file for what the marks file leaves out (docs/kit.md)
    #[arg(long, short, value_name = "FILE")]
    pub kit: Option<PathBuf>,
    /// How the answer is told.
    #[command(flatten)]
    pub shown: ShownArgs,
}

impl BookArgs {
    /// A marks file alone.
    #[must_use]
    pub fn of(file: PathBuf) -> Self {
        Self { file, log: None, archer: None, bow: None, kit: None, shown: ShownArgs::default() }
    }

    /// What messages call the book.
    #[must_use]
    pub fn name(&self) -> String {
        self.log.as_ref().map_or_else(|| self.file.display().to_string(), ToString::to_string)
    }
}

/// Options of `goldward marks add`.
#[derive(Debug, Args)]
pub struct AddArgs {
    /// File and output.
    #[command(flatten)]
    pub book: BookArgs,
    /// Distance: 50, 50m or 60yd
    #[arg(long, short, value_name = "DISTANCE")]
    pub distance: Range,
    /// The number on the scale
    #[arg(long, short, value_name = "NUMBER", value_parser = parse_number, allow_negative_numbers = true)]
    pub reading: f64,
    /// With how many arrows it was shot: with your spread (spread_mrad) they tell how well it is known [default: 6]
    #[arg(long, value_name = "ARROWS", value_parser = clap::value_parser!(u32).range(1..=10_000))]
    pub arrows: Option<u32>,
    /// How well it is known, one standard deviation in the scale's numbers [default: what its arrows tell]
    #[arg(long, value_name = "NUMBER", value_parser = parse_number)]
    pub sd: Option<f64>,
    /// The mark is only predicted: it is kept as a reminder and not fitted
    #[arg(long)]
    pub predicted: bool,
    /// Angle of the line of sight in degrees, uphill positive
    #[arg(long, value_name = "DEGREES", value_parser = parse_number, allow_negative_numbers = true)]
    pub slope: Option<f64>,
    /// When: 2026-05-03
    #[arg(long, value_name = "DATE", value_parser = quantity::parse_date)]
    pub date: Option<String>,
    /// Anything else
    #[arg(long, value_name = "TEXT", value_parser = parse_note)]
    pub note: Option<String>,
    /// Put it in the place of marks for the same distance
    #[arg(long)]
    pub replace: bool,
    /// Keep it beside a mark for the same distance
    #[arg(long, conflicts_with = "replace")]
    pub both: bool,
    /// Distance from eye to pin, such as 88cm
    #[arg(long, value_name = "LENGTH", help_heading = "For a new file")]
    pub eye_to_pin: Option<Length>,
    /// Height of the eye above the arrow at full draw, such as 115mm
    #[arg(long, value_name = "LENGTH", help_heading = "For a new file", allow_negative_numbers = true)]
    pub eye_above_arrow: Option<Length>,
    /// Mass of the arrow in grams
    #[arg(long, value_name = "GRAMS", help_heading = "For a new file", value_parser = parse_number)]
    pub mass: Option<f64>,
    /// Diameter of the shaft, such as 5.5mm
    #[arg(long, value_name = "LENGTH", help_heading = "For a new file")]
    pub shaft: Option<Length>,
}

/// Options of `goldward marks predict`.
#[derive(Debug, Args)]
#[command(after_help = "\
With --json and - as the file, one JSON object is read from standard input (docs/formats.md):
  {\"marks\":[{\"distance_m\":18,\"reading_mm\":14.9,\"arrows\":12}],\"eye_to_pin_mm\":880,\"eye_above_arrow_mm\":115,
   \"arrow\":{\"mass_g\":21,\"diameter_mm\":5.5},\"predict_m\":[20,25,40]}")]
pub struct PredictArgs {
    /// File and output.
    #[command(flatten)]
    pub book: BookArgs,
    /// Distances, separated by commas: 20,25,60yd
    #[arg(long, value_name = "DISTANCES", value_delimiter = ',')]
    pub at: Vec<Range>,
    /// Distances at every so many metres (yards with --yards)
    #[arg(long, value_name = "STEP", value_parser = parse_step)]
    pub every: Option<f64>,
    /// The first of them [default: 10]
    #[arg(long, value_name = "NUMBER", value_parser = parse_number)]
    pub from: Option<f64>,
    /// The last of them [default: a tenth beyond the longest mark shot]
    #[arg(long, value_name = "NUMBER", value_parser = parse_number)]
    pub to: Option<f64>,
    /// Count in yards
    #[arg(long)]
    pub yards: bool,
}

/// Paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Paper {
    /// 210 x 297 mm
    A4,
    /// 8.5 x 11 in
    Letter,
}

/// Options of `goldward marks card`.
#[derive(Debug, Args)]
pub struct CardArgs {
    /// File and output.
    #[command(flatten)]
    pub book: BookArgs,
    /// Where to draw: a .pdf, .svg or .png file (a .png is for looking at, not for printing)
    #[arg(long, short, value_name = "FILE")]
    pub output: PlotFile,
    /// First distance
    #[arg(long, value_name = "NUMBER", default_value = "10", value_parser = parse_number)]
    pub from: f64,
    /// Last distance [default: a tenth beyond the longest mark shot]
    #[arg(long, value_name = "NUMBER", value_parser = parse_number)]
    pub to: Option<f64>,
    /// Marks at every so many metres or yards [default: 1, or 5 with --yards]
    #[arg(long, value_name = "STEP", value_parser = parse_step)]
    pub every: Option<f64>,
    /// Count in yards
    #[arg(long)]
    pub yards: bool,
    /// Only strips, in three widths, without the table
    #[arg(long)]
    pub strip: bool,
    /// Paper
    #[arg(long, value_name = "PAPER", value_enum, default_value_t = Paper::A4)]
    pub paper: Paper,
}

/// Options of `goldward marks wrong`.
#[derive(Debug, Args)]
pub struct WrongArgs {
    /// File and output.
    #[command(flatten)]
    pub book: BookArgs,
    /// Distance that was shot
    #[arg(long, short, value_name = "DISTANCE")]
    pub distance: Range,
    /// How far above the middle the group lies on the face, in millimetres; negative when it is low
    #[arg(long, value_name = "MM", value_parser = parse_number, allow_negative_numbers = true)]
    pub offset_mm: f64,
    /// How well that is known, one standard deviation in millimetres
    #[arg(long, value_name = "MM", value_parser = parse_number, default_value = "40")]
    pub sd_mm: f64,
    /// Other marks that may be set, beside those of the file
    #[arg(long, value_name = "DISTANCES", value_delimiter = ',')]
    pub among: Vec<Range>,
}

/// Options of `goldward marks wind`.
#[derive(Debug, Args)]
pub struct WindArgs {
    /// File and output.
    #[command(flatten)]
    pub book: BookArgs,
    /// Distance
    #[arg(long, short, value_name = "DISTANCE")]
    pub distance: Range,
    /// Wind across, in m/s: positive blows to the right
    #[arg(long, value_name = "M/S", value_parser = parse_number, allow_negative_numbers = true, default_value = "0")]
    pub cross: f64,
    /// Wind along, in m/s: positive blows towards the target
    #[arg(long, value_name = "M/S", value_parser = parse_number, allow_negative_numbers = true, default_value = "0")]
    pub along: f64,
    /// How much the wind across differs from shot to shot, one standard deviation in m/s
    #[arg(long, value_name = "M/S", value_parser = parse_number, default_value = "0")]
    pub gust: f64,
}

/// Options of `goldward marks slope`.
#[derive(Debug, Args)]
pub struct SlopeArgs {
    /// File and output.
    #[command(flatten)]
    pub book: BookArgs,
    /// Distance along the line of sight
    #[arg(long, short, value_name = "DISTANCE")]
    pub distance: Range,
    /// Angle in degrees, uphill positive
    #[arg(long, value_name = "DEGREES", value_parser = parse_number, allow_negative_numbers = true)]
    pub angle: f64,
}

fn parse_number(text: &str) -> Result<f64, String> {
    parse_decimal(text).ok_or_else(|| "it is not a number: write one such as 14.9".to_owned())
}

fn parse_step(text: &str) -> Result<f64, String> {
    match parse_decimal(text) {
        Some(step) if (0.5..=100.0).contains(&step) => Ok(step),
        _ => Err("a step is between 0.5 and 100: write one such as 5".to_owned()),
    }
}

fn parse_note(text: &str) -> Result<String, String> {
    match text.chars().count() {
        0..=200 => Ok(text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()),
        _ => Err("at most 200 characters".to_owned()),
    }
}
