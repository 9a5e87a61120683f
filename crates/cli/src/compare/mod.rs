//! `goldward compare`: is the group tighter after a change?

mod report;

use std::path::PathBuf;

use clap::Args;
use goldward_core::fleet::ArrowShot;
use goldward_core::fleet::compare::{CHANCE_DEFAULT as CHANCE, Comparison, LEVEL_DEFAULT as LEVEL, Setting, compare};
use goldward_core::stats::spread::shots_to_tell;

use crate::failure::{Failure, Value};
use crate::groups::{GroupsArgs, Loaded, core_failure, gathered, when};
use crate::plot::PlotFile;
use crate::terminal::Terminal;
use crate::words::share::parse_share;
use goldward_report::pages::{self, compare::Sides};
use goldward_report::teller::Teller;
use goldward_report::words::Wrong;

/// Options of `goldward compare`.
#[derive(Debug, Args)]
#[command(after_help = "\
The CSV files are those of `goldward read`. Spreads are compared within ends, so number the ends. So that fatigue, wind and
light do not decide, shoot the two settings in turn, an end with the one and an end with the other, give both ends of a
pair the same number, and add --in-turn.

Examples:
  goldward compare before.csv after.csv --distance 70
  goldward compare old-tab.csv new-tab.csv --distance 18 --in-turn
  goldward compare before.csv after.csv --distance 70 --tell 15% --plot change.svg")]
pub struct CompareArgs {
    /// CSV file of the shots before the change
    #[arg(value_name = "BEFORE", required_unless_present = "log", conflicts_with = "log")]
    pub before: Option<PathBuf>,
    /// CSV file of the shots after it
    #[arg(value_name = "AFTER", required_unless_present = "log", conflicts_with = "log")]
    pub after: Option<PathBuf>,
    /// Ends of the same number were shot in turn: compare them pair by pair
    #[arg(long)]
    pub in_turn: bool,
    /// The difference of spreads that should be found [default: 10%]
    #[arg(long, value_name = "SHARE", value_parser = parse_share)]
    pub tell: Option<f64>,
    /// Also draw both groups into a .svg, .png or .pdf file
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PlotFile>,
    /// Also draw how many arrows tell differences of spread apart into a .svg, .png or .pdf file
    #[arg(long, value_name = "FILE")]
    pub power: Option<PlotFile>,
    /// From where the groups are, and how the answer is told.
    #[command(flatten)]
    pub groups: GroupsArgs,
}

/// Everything that is told.
struct Report {
    files: Vec<Loaded>,
    settings: [Setting; 2],
    comparison: Comparison,
    /// The difference asked about.
    tell: f64,
    /// Arrows of each setting that would find it, shot in ends like these.
    needed: Option<usize>,
}

/// Runs the command; returns the exit code.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &CompareArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let kit = args.groups.with.kit()?;
    let files = match (args.groups.source.open()?, &args.before, &args.after) {
        (Some(opened), ..) => {
            if args.groups.source.session.len() != 2 {
                return Err(Failure::usage("--session", Wrong::TwoSessions));
            }
            args.groups.load(Some(&opened), &[], &kit, terminal)?
        }
        (None, Some(before), Some(after)) => {
            args.groups.load(None, &[before.clone(), after.clone()], &kit, terminal)?
        }
        _ => {
            return Err(Failure::usage("", Wrong::NeedsBoth));
        }
    };
    let setting = |f: &Loaded| {
        // Both as session 0, so that ends of the same number can be partners.
        let shots: Vec<ArrowShot> = f.shots.iter().map(|(s, _)| ArrowShot { session: 0, ..*s }).collect();
        Setting::read(&shots, f.settings.unmarked).map_err(|e| core_failure(&f.name, "", e))
    };
    let settings = [setting(&files[0])?, setting(&files[1])?];
    let comparison = compare(&settings[0], &settings[1], args.in_turn)
        .map_err(|e| core_failure(&Value::Said(Wrong::TheComparison.into()), "", e))?;
    let tell = args.tell.unwrap_or(pages::compare::TELL);
    let an_end = settings[0].shots_an_end().max(2);
    let needed = shots_to_tell(1.0 + tell, an_end, CHANCE, LEVEL).ok();
    let report = Report { files, settings, comparison, tell, needed };
    let say = |teller: &Teller<'_>| {
        let gathered = gathered(&report.files);
        let sides = [Sides { a: true, b: false }, Sides { a: false, b: true }];
        pages::compare::asked(teller, &gathered.iter().zip(sides).collect::<Vec<_>>(), args.in_turn, tell)
    };
    let plots = [args.plot.as_ref(), args.power.as_ref()];
    args.groups.shown.answer(terminal, &plots, &when(&report.files), say, || report::json(&report))
}
