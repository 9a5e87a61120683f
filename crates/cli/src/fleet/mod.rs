//! `goldward fleet`: which arrow, and what the archer's own marks and hours say.

use std::path::PathBuf;

use clap::Args;
use goldward_core::fleet::{FDR_DEFAULT, FleetError, Question, session};
use goldward_core::group::ClassOdds;
use goldward_core::units::Spread;

use crate::failure::{Failure, Value};
use crate::groups::{self as load, GroupsArgs};
use crate::plot::PlotFile;
use crate::terminal::Terminal;
use crate::words::share::parse_share;
use goldward_report::item::Item;
use goldward_report::pages::arrows;
use goldward_report::teller::Teller;
use goldward_report::wire::fleet::FleetOut;
use goldward_report::words::{Word, Wrong};
use goldward_session::fleet::{self, Named};

/// Options of `goldward fleet`.
#[derive(Debug, Args)]
#[command(after_help = "\
The CSV files are those of `goldward read`, with the column arrow filled in: the number or name on the shaft. Each file is
a session with its own centre; end and felt are used where they are given. Full description: docs/formats.md.

Examples:
  goldward fleet may.csv june.csv --distance 70
  goldward fleet indoor.csv outdoor.csv --distance 18,70 --amount 0.5mrad --fdr 5%
  goldward fleet may.csv --distance 70 --plot fleet.svg
  goldward fleet --log goldward.db --archer Robin

Safety: inspect means look at it: shaft, nock, vanes, point. Never shoot a damaged arrow.")]
pub struct FleetArgs {
    /// CSV files of shots, one a session, oldest first; - reads standard input
    #[arg(value_name = "FILE", required_unless_present = "log", conflicts_with = "log")]
    pub files: Vec<PathBuf>,
    /// An arrow is off when it lands further from the others than this [default: half your spread]
    #[arg(long, value_name = "MRAD")]
    pub amount: Option<Spread>,
    /// How many of the arrows accused may be innocent [default: 10%]
    #[arg(long, value_name = "SHARE", value_parser = parse_share)]
    pub fdr: Option<f64>,
    /// Also draw where every arrow lands into a .svg, .png or .pdf file
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PlotFile>,
    /// From where the groups are, and how the answer is told.
    #[command(flatten)]
    pub groups: GroupsArgs,
}

/// Runs the command; returns the exit code.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &FleetArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let kit = args.groups.with.kit()?;
    let files = args.groups.load(args.groups.source.open()?.as_ref(), &args.files, &kit, terminal)?;
    let unmarked = files[0].settings.unmarked;
    let question =
        Question { amount_mrad: args.amount.map(Spread::mrad), fdr: args.fdr.unwrap_or(FDR_DEFAULT), unmarked };
    let what = if files.len() == 1 { files[0].name.clone() } else { Value::Said(Wrong::TheseSessions.into()) };
    let sessions: Vec<&Named> = files.iter().map(|f| f.shots.as_slice()).collect();
    let told = fleet::answer(&sessions, &question).map_err(|e| {
        let name = e.session.and_then(|i| files.get(i)).map_or(&what, |f| &f.name);
        let place = if matches!(e.error, FleetError::OutOfRange { .. }) { "--fdr, --amount" } else { "" };
        load::core_failure(name, place, e.error)
    })?;
    let say = |teller: &Teller<'_>| {
        let gathered = load::gathered(&files);
        let mut items = arrows::asked(teller, &gathered.iter().rev().collect::<Vec<_>>(), &question);
        let learnt = told.felt.iter().filter(|f| f.tell()).flat_map(kit_lines);
        items.extend(learnt.map(|line| Item::Text(teller.f(Word::FeltKit, &[&line]))));
        items
    };
    let when = load::when(&files);
    args.groups.shown.answer(terminal, &[args.plot.as_ref()], &when, say, || {
        serde_json::to_string(&FleetOut::from(&told)).map(|t| t + "\n").map_err(|e| Failure::Internal(e.to_string()))
    })
}

/// What a kit file says of felt marks (docs/kit.md): of each kind that was used.
fn kit_lines(f: &session::FeltMarks) -> Vec<String> {
    let list = |odds: ClassOdds| {
        let [_, flyer, stray] = odds.get().map(|p| (1000.0 * p).round() / 1000.0);
        // Rounded so that they still add up.
        let clean = ((1.0 - flyer - stray) * 1000.0).round() / 1000.0;
        format!("[{clean:?}, {flyer:?}, {stray:?}]")
    };
    [("felt_bad", f.marked[0], f.bad_odds), ("felt_good", f.marked[1], f.good_odds)]
        .into_iter()
        .filter(|(_, marked, _)| *marked > 0)
        .map(|(key, _, odds)| format!("{key} = {}", list(odds)))
        .collect()
}
