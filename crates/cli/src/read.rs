//! `goldward read`: one session from a file, or a batch.

use std::path::{Path, PathBuf};

use crate::batch;
use crate::failure::{Failure, Fault, Value, name_of, said};
use crate::files::{latest, load, load_session, not_read, warn_of};
use crate::marks;
use crate::options::{OneArgs, parse_face};
use crate::plot::PlotFile;
use crate::terminal::Terminal;
use crate::wire::{ReadingOut, RefinedOut, WrongSetOut};
use clap::Args;
use goldward_core::face::Face;
use goldward_core::units::Distance;
use goldward_journal::Note;
use goldward_report::pages::drawn::reading_svg;
use goldward_report::pages::read::Page;
use goldward_report::words::Wrong;
use goldward_session::answer::{self, Answer, NoAnswer, Scorers};
use goldward_session::kit::Kit;
use goldward_session::log::Line;
use goldward_session::marks::refined::{NotRefined, Refined};
use goldward_session::problem::Problem;
use goldward_session::session::Session;
use goldward_session::settings::Settings;

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
  goldward read --log goldward.db --archer Robin --session latest
  goldward read --batch < groups.jsonl > answers.jsonl")]
pub struct ReadArgs {
    /// CSV file of shots, oldest first; - reads standard input
    #[arg(value_name = "FILE", required_unless_present_any = ["batch", "log"])]
    pub file: Option<PathBuf>,
    /// Shooting distance: 70, 70m or 60yd
    #[arg(long, short, value_name = "DISTANCE", required_unless_present_any = ["batch", "log"])]
    pub distance: Option<Distance>,
    /// Target face, as listed by `goldward face`
    #[arg(long, short, value_name = "NAME", required_unless_present_any = ["batch", "log"], value_parser = parse_face)]
    pub face: Option<&'static Face>,
    /// Marks file (docs/marks.md): the elevation through the flight of your arrow is told beside the usual rule
    #[arg(long, value_name = "FILE")]
    pub marks: Option<PathBuf>,
    /// Arrows still to shoot at this distance [default: 36]
    #[arg(long, short, value_name = "ARROWS")]
    pub left: Option<u32>,
    /// Read only the last N shots, at most 144
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=144))]
    pub last: Option<u16>,
    /// Also draw the group into a .svg, .png or .pdf file
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PlotFile>,
    /// With what it was shot, from where it is, and how the answer is told.
    #[command(flatten)]
    pub one: OneArgs,
    /// Read one JSON object a line from standard input, write one a line
    #[arg(long, help_heading = "Batch", conflicts_with_all = [
        "file", "log", "distance", "face", "kit", "marks", "left", "last", "json", "language", "plot", "width", "spread", "worth", "trust", "shaft",
        "touch_cost", "setting_sd", "eye_to_pin", "click", "usual",
    ])]
    pub batch: bool,
    /// Threads of a batch [default: one a core]
    #[arg(long, value_name = "N", help_heading = "Batch", requires = "batch",
          value_parser = clap::value_parser!(u16).range(1..=256))]
    pub threads: Option<u16>,
}

/// Runs the command; returns the exit code.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &ReadArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    if args.batch {
        let threads = args.threads.map_or(terminal.cores, usize::from);
        return batch::run(terminal, threads);
    }
    let Taken { name, kit, settings, session, line, notes } = take(args, terminal)?;
    warn_of(terminal, &name, &session)?;
    let scorers = Scorers::default();
    let scorer = || scorers.get(settings.face, settings.shaft);
    let answered = match &line {
        Some(line) => line.answer().map_err(NoAnswer::from),
        None => answer::answer(&settings, &session.core_shots(), session.moved_mm, &scorer()),
    };
    let answer = answered.map_err(|e| Failure::data(not_read(&name), Problem::from(e).at("")))?;
    let refined = match &args.marks {
        Some(path) => Some(refined(path, &kit, &settings, &answer)?),
        None => None,
    };
    let page = Page {
        session: &session,
        settings: &settings,
        kit: &kit,
        answer: &answer,
        refined: refined.as_ref(),
        left_assumed: args.left.is_none() && line.is_none(),
        notes: &notes,
    };
    let json = || {
        let (told, wrong) = (refined.as_ref(), refined.as_ref().and_then(|r| r.wrong.as_ref()));
        let out = ReadingOut::new(&answer, true)
            .with_refined(told.map(RefinedOut::from), wrong.map(WrongSetOut::from))
            .with_notes(&notes);
        assert!(out.is_finite(), "an answer that is not a number");
        serde_json::to_string(&out).map(|text| text + "\n").map_err(|e| Failure::Internal(e.to_string()))
    };
    args.one.shown.drawn(terminal, args.plot.as_ref(), |t| reading_svg(&page, t), |t| page.items(t), json)
}

/// What the marks file at `path` says of the reading; what that file leaves out is taken from `kit`.
fn refined(path: &Path, kit: &Kit, settings: &Settings, answer: &Answer) -> Result<Refined, Failure> {
    let known = marks::known_of(path, kit)?;
    let fault = |e: goldward_core::marks::MarksError| Fault::of("--marks", e).remedy(Wrong::CheckMarks);
    Refined::of(&known, settings, answer).map_err(|e| match e {
        NotRefined::Flight(e) => marks::aids::no_flight(e),
        NotRefined::Reach(e) => Failure::data(said(Wrong::NoReach, [path.display().into()]), fault(e)),
        NotRefined::Compare(e) => Failure::data(Wrong::MarksNotCompared, fault(e)),
    })
}

/// One session and what it is read with.
struct Taken {
    /// What messages call it.
    name: Value,
    kit: Kit,
    settings: Settings,
    session: Session,
    /// The session as the shooting line follows it, when it comes whole from a log.
    line: Option<Line>,
    /// What was remarked of it in the log.
    notes: Vec<Note>,
}

/// From a file with the options beside it, or from a log.
fn take(args: &ReadArgs, terminal: &mut Terminal<'_>) -> Result<Taken, Failure> {
    let last = args.last.map(usize::from);
    let mut over = args.one.over.wishes();
    over.shots_left = args.left;
    if let Some(opened) = args.one.source.open()? {
        let pick = args.one.pick(&opened, &over)?;
        let name = opened.name_of(&pick);
        let line = pick.line.filter(|_| last.is_none());
        let session = latest(pick.session, &name, last)?;
        return Ok(Taken { name, kit: pick.kit, settings: pick.settings, session, line, notes: pick.notes });
    }
    let (Some(file), Some(distance), Some(face)) = (&args.file, args.distance, args.face) else {
        return Err(Failure::usage("", said(Wrong::NeedsFile, ["goldward read".into()])));
    };
    let kit = args.one.kit()?;
    over.usual = args.one.start(&kit, distance)?;
    let settings = Settings::new(distance, face, &over.or(kit.wishes)).map_err(Failure::setting)?;
    let name = name_of(file);
    let bytes = load(file, terminal)?;
    let session = load_session(&bytes, &name, &settings, last)?;
    Ok(Taken { name, kit, settings, session, line: None, notes: Vec::new() })
}
