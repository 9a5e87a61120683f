//! `goldward pace`: when to touch the sight, shown by playing the same simulated rounds under every rule.

mod distances;
mod play;
mod report;
mod scene;

use clap::Args;
use goldward_core::face::Face;
use goldward_core::pace::rehearsal::Rule;
use goldward_core::score::Scorer;
use goldward_core::units::{Distance, Length};
use goldward_report::draw::curves::curves_svg;
use goldward_report::item::Item;
use goldward_report::pages;
use goldward_report::teller::Teller;
use goldward_report::words::Phrase;

pub use goldward_session::asked::Ends;
pub use scene::Situation;
pub(crate) use scene::settings as settings_of;

use crate::busy::Busy;
use crate::failure::Failure;
use crate::options::OneArgs;
use crate::plot::PlotFile;
use crate::terminal::Terminal;
use goldward_session::asked::unique;
use goldward_session::pace::rounds_of;

/// Options of `goldward pace`.
#[derive(Debug, Args)]
#[command(after_help = "\
An archer is simulated with your spread, a first setting that is off as your trust says (spread / sqrt(trust), the trust
of a predicted mark unless given), flyers and drift. The same rounds are played under every rule: never,
every-arrow, every-three, every-six, three-then-six, once-after-three, once-after-six, harmonic, goldward, goldward-calm,
perfect-learner, oracle. A second table tells after how many arrows to touch first.

Examples:
  goldward pace --spread 2.1mrad --distance 70 --face 122 --round 12x6 --sighting 2x6
  goldward pace --match indoor --spread 2.5mrad --trust verified
  goldward pace --match four-distances --spread 2mrad --trust unknown
  goldward pace --distance 70 --face 122 --kit kit.toml --plot pace.svg
  goldward pace --log goldward.db --archer Robin --round 12x6")]
pub struct PaceArgs {
    /// A situation that fills in distance, face and round
    #[arg(long = "match", value_name = "SITUATION", value_enum)]
    pub situation: Option<Situation>,
    /// Shooting distance: 70, 70m or 60yd
    #[arg(long, short, value_name = "DISTANCE", required_unless_present_any = ["situation", "log"])]
    pub distance: Option<Distance>,
    /// Target face, as listed by `goldward face`
    #[arg(long, short, value_name = "NAME", required_unless_present_any = ["situation", "log"], value_parser = Face::named)]
    pub face: Option<&'static Face>,
    /// Ends and arrows an end that count [default: 12x6]
    #[arg(long, value_name = "ENDSxARROWS")]
    pub round: Option<Ends>,
    /// Sighting ends before them, which do not count [default: none]
    #[arg(long, value_name = "ENDSxARROWS")]
    pub sighting: Option<Ends>,
    /// How far off the first setting is on the face, one standard deviation an axis [default: from the trust]
    #[arg(long, value_name = "LENGTH")]
    pub offset: Option<Length>,
    /// Share of arrows that are flyers, at three times the spread [default: 8%]
    #[arg(long, value_name = "SHARE", value_parser = scene::parse_share)]
    pub flyers: Option<f64>,
    /// How much the centre wanders between ends, one standard deviation an axis [default: 0.1mrad]
    #[arg(long, value_name = "MRAD", value_parser = scene::parse_drift)]
    pub drift: Option<f64>,
    /// Size of a click on the face, instead of at the pin
    #[arg(long, value_name = "LENGTH", conflicts_with_all = ["click", "eye_to_pin"])]
    pub click_on_face: Option<Length>,
    /// Rules to play, separated by commas [default: all]
    #[arg(long, value_name = "RULES", value_delimiter = ',', value_parser = scene::parse_rule)]
    pub rules: Vec<Rule>,
    /// Rounds to simulate
    #[arg(long, value_name = "N", default_value_t = 2000, value_parser = clap::value_parser!(u64).range(1..=1_000_000))]
    pub rounds: u64,
    /// Where the random numbers start: the same seed gives the same rounds
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// Threads [default: one a core]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    pub threads: Option<u16>,
    /// Also draw what each rule loses into a .svg, .png or .pdf file
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PlotFile>,
    /// With what it was shot, from where it is, and how the answer is told.
    #[command(flatten)]
    pub one: OneArgs,
}

/// Runs the command; returns the exit code.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &PaceArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let kit = args.one.kit()?;
    let mut wishes = args.one.over.wishes().or(kit.wishes);
    let mut place = (args.distance, args.face);
    if let Some(distance) = args.distance {
        wishes.usual = args.one.start(&kit, distance)?;
    }
    if let Some(opened) = args.one.source.open()? {
        let pick = args.one.pick(&opened, &wishes)?;
        wishes = pick.wishes;
        // A situation names distance and face itself.
        if args.situation.is_none() {
            place = (place.0.or(Some(pick.settings.distance)), place.1.or(Some(pick.settings.face)));
        }
    }
    let threads = args.threads.map_or(terminal.cores, usize::from);
    let on_terminal = terminal.err_is_terminal;
    if args.situation == Some(Situation::FourDistances) {
        let found = distances::play(args, &wishes, threads, on_terminal)?;
        return args.one.shown.answer(
            terminal,
            &[],
            &|_| String::new(),
            |t| pages::distances::page(t, &found),
            || distances::json(&found),
        );
    }
    let (rehearsed, settings) = scene::rehearsed(args, place, &wishes)?;
    let rules = if args.rules.is_empty() { Rule::ALL.to_vec() } else { unique(&args.rules) };
    let cells = rehearsed.first_touches().len() as u64;
    let progress = Busy::of(args.rounds + cells * rounds_of(args.rounds), "simulated rounds played", on_terminal);
    let scorer = Scorer::new(settings.face, settings.shaft);
    let played = play::rounds(&rehearsed, &scorer, &rules, args.rounds, threads, &progress);
    let first = play::first_touches(&rehearsed, &scorer, args.rounds, threads, &progress);
    progress.finish();
    let svg = |t: &Teller<'_>| curves_svg(&report::curves(t, &rehearsed, &played));
    let say = |t: &Teller<'_>| {
        let title = Item::Heading(Phrase::PaceTitle.text(t.language).to_owned());
        [vec![title], pages::pace::page(t, &rehearsed, &played), pages::first_touch::page(t, &first)].concat()
    };
    args.one.shown.drawn(terminal, args.plot.as_ref(), svg, say, || report::json(&rehearsed, &played, &first))
}
