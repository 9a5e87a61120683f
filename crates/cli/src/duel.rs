//! `goldward match`: what to do in a match, and the chance to win it.

use std::path::PathBuf;

use clap::Args;
use goldward_core::face::Face;
use goldward_core::matches::rehearsal::{Matches, Wins};
use goldward_core::matches::{Duel, Format, MatchError};
use goldward_core::score::{Rings, Scorer};
use goldward_core::units::Distance;
use goldward_report::item::Item;
use goldward_report::pages;
use goldward_report::words::{Word, Wrong};
use goldward_session::answer::{self, Answer, InMatch, NoAnswer};
use goldward_session::duel::{self, Made, MatchIn, Typed};
use goldward_session::game::Game;
use goldward_session::problem::{Place, Problem};
use goldward_session::session::Session;
use goldward_session::settings::{Settings, Wishes};
use serde::Serialize;

use crate::failure::{Failure, Fault, name_of, said};
use crate::files::{load, load_session, not_read};
use crate::options::{OneArgs, parse_face};
use crate::pace::{self, Ends};
use crate::terminal::Terminal;
use crate::wire::duel::{GameOut, MatchOut};
use crate::wire::{AdviceOut, SCHEMA};

/// Options of `goldward match`.
#[derive(Debug, Args)]
#[command(after_help = "\
Whether to touch the sight is decided by the chance to win, not by points. Your own ends are those of FILE, a table as
`goldward read` takes it with its ends numbered, or those that --mine tells; --theirs tells the other's. An end is its
points, such as 28; an end under way has its arrows behind a slash: 19/2. By sets the better end gives two points, a level
end one each, and who has one more than there are ends has won, six of five sets (common practice); one arrow
each decides where both are level: the ends beyond the last, and --nearer once the judge has said whose is.

Examples:
  goldward match final.csv --distance 70 --face 122 --theirs 27,28,19/2 --opponent 9.1
  goldward match final.csv --distance 50 --face 80-6 --by total --mine 29,28 --theirs 29,29
  goldward match --log goldward.db --archer Robin
  goldward match --distance 70 --face 122 --spread 2.1mrad --trust 1 --opponent 8.8 --rehearse 2000")]
pub struct DuelArgs {
    /// CSV file of your shots, oldest first; - reads standard input
    #[arg(value_name = "FILE", required_unless_present_any = ["log", "rehearse"], conflicts_with_all = ["log", "rehearse"])]
    pub file: Option<PathBuf>,
    /// Shooting distance: 70, 70m or 60yd
    #[arg(long, short, value_name = "DISTANCE", required_unless_present = "log")]
    pub distance: Option<Distance>,
    /// Target face, as listed by `goldward face`
    #[arg(long, short, value_name = "NAME", required_unless_present = "log", value_parser = parse_face)]
    pub face: Option<&'static Face>,
    /// What decides: sets or total [default: sets, or as the log says]
    #[arg(long, value_name = "sets|total", value_parser = ["sets", "total"])]
    pub by: Option<String>,
    /// Most ends, and arrows of each archer an end [default: 5x3]
    #[arg(long, value_name = "ENDSxARROWS")]
    pub ends: Option<Ends>,
    /// Points of sets that win [default: one more than there are ends]
    #[arg(long, value_name = "POINTS")]
    pub first_to: Option<u32>,
    /// Your ends, where FILE has other arrows than those of the match: 28,27,19/2
    #[arg(long, value_name = "POINTS,...", value_delimiter = ',')]
    pub mine: Vec<Typed>,
    /// The other's ends: 27,28,10/1
    #[arg(long, value_name = "POINTS,...", value_delimiter = ',')]
    pub theirs: Vec<Typed>,
    /// The other's average arrow [default: yours, corrected by their ends]
    #[arg(long, value_name = "POINTS", value_parser = parse_average)]
    pub opponent: Option<f64>,
    /// Level after the last end: whose single arrow was nearer
    #[arg(long, value_name = "mine|theirs", value_parser = duel::NEARER, conflicts_with = "rehearse")]
    pub nearer: Option<String>,
    /// Play so many simulated matches under every rule of thumb and under Goldward's
    #[arg(long, value_name = "N", conflicts_with_all = ["log", "mine", "theirs"], value_parser = clap::value_parser!(u64).range(1..=100_000))]
    pub rehearse: Option<u64>,
    /// Where the random numbers of simulated matches start
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// With what it was shot, from where it is, and how the answer is told.
    #[command(flatten)]
    pub one: OneArgs,
}

fn parse_average(text: &str) -> Result<f64, String> {
    goldward_core::units::parse_decimal(text).ok_or_else(|| "it is not a number: write one such as 8.9".to_owned())
}

/// What tells how a match stands.
const GIVEN: &str = "--mine, --theirs, --opponent";

fn refused(place: &str) -> impl Fn(MatchError) -> Failure {
    move |error| Failure::data(Wrong::NoMatchReckoned, Fault::of(place, error))
}

/// Runs the command; returns the exit code.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &DuelArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let kit = args.one.kit()?;
    let mut wishes = args.one.over.wishes().or(kit.wishes);
    if let Some(distance) = args.distance {
        wishes.usual = args.one.start(&kit, distance)?;
    }
    if let Some(matches) = args.rehearse {
        return rehearse(args, &wishes, matches, terminal);
    }
    let answer = match args.one.source.open()? {
        Some(opened) => of_log(args, &args.one.pick(&opened, &args.one.over.wishes())?)?,
        None => of_file(args, &wishes, terminal)?,
    };
    let Some(judged) = &answer.duel else {
        return Err(Failure::Internal("a match without its chances".to_owned()));
    };
    let InMatch { duel, told } = judged;
    let date = |_| String::new();
    args.one.shown.answer(
        terminal,
        &[],
        &date,
        |teller| pages::duel::page(teller, duel, &answer.advice, told),
        || as_json(judged, &answer),
    )
}

/// A problem with what is told of the match is one with its option.
fn option(problem: Problem) -> Failure {
    let option = match &problem.place {
        Place::Named(name) if name == "opponent_arrow" => "--opponent".to_owned(),
        Place::Named(name) => format!("--{}", name.replace('_', "-")),
        _ => String::new(),
    };
    Failure::Usage(problem.at(option).into())
}

/// The format asked for.
fn format(args: &DuelArgs) -> Result<Format, Failure> {
    let number = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    let told = MatchIn {
        by: args.by.clone(),
        ends: args.ends.map(|e| number(e.ends)),
        shots_per_end: args.ends.map(|e| number(e.arrows)),
        first_to: args.first_to,
        ..MatchIn::default()
    };
    told.format().map_err(option)
}

fn typed(ends: &[Typed], format: &Format) -> Vec<Made> {
    ends.iter().map(|t| t.made(format.shots_per_end)).collect()
}

/// The duel with the ends of both, checked.
fn duel_of(args: &DuelArgs, face: &Face, mine: Vec<Made>) -> Result<Duel, Failure> {
    let format = format(args)?;
    let nearer = args.nearer.as_deref().map(duel::nearer).transpose().map_err(option)?;
    let ends = duel::Ends { mine, theirs: typed(&args.theirs, &format), nearer };
    duel::checked(face, format, ends, args.opponent).map_err(option)
}

fn of_file(args: &DuelArgs, wishes: &Wishes, terminal: &mut Terminal<'_>) -> Result<Answer, Failure> {
    let (Some(file), Some(distance), Some(face)) = (&args.file, args.distance, args.face) else {
        return Err(Failure::usage("", said(Wrong::NeedsFile, ["goldward match".into()])));
    };
    let settings = Settings::new(distance, face, wishes).map_err(Failure::setting)?;
    let name = name_of(file);
    let session = load_session(&load(file, terminal)?, &name, &settings, None)?;
    let format = format(args)?;
    let mine = if args.mine.is_empty() { ends_of(&session, &settings, &format)? } else { typed(&args.mine, &format) };
    let duel = duel_of(args, face, mine)?;
    let settings = Settings { duel: Some(duel), ..settings };
    let scorer = Scorer::new(face, settings.shaft);
    answer::answer(&settings, &session.core_shots(), session.moved_mm, &scorer).map_err(|e| match e {
        NoAnswer::Group(e) => Failure::data(not_read(&name), Fault::of("", e)),
        NoAnswer::Match(e) => refused(GIVEN)(e),
    })
}

/// The archer's own ends, from the shots of a file.
fn ends_of(session: &Session, settings: &Settings, format: &Format) -> Result<Vec<Made>, Failure> {
    let mut ends: Vec<(String, Made)> = Vec::new();
    for listed in &session.shots {
        let points = u32::from(listed.shot.place.score(settings.face, settings.shaft).value);
        match ends.last_mut() {
            Some((name, made)) if *name == listed.end && (!name.is_empty() || made.shots < format.shots_per_end) => {
                (made.points, made.shots) = (made.points + points, made.shots + 1);
            }
            _ => ends.push((listed.end.clone(), Made { points, shots: 1, left: false })),
        }
    }
    if let Some((name, _)) = ends.iter().find(|(_, m)| m.shots > format.shots_per_end) {
        return Err(Failure::usage("--mine", said(Wrong::EndsOfFile, [name.into()])));
    }
    let last = ends.len().saturating_sub(1);
    let left = |i: usize, m: Made| Made { left: i == last && m.shots < format.shots_per_end, ..m };
    Ok(ends.into_iter().enumerate().map(|(i, (_, m))| left(i, m)).collect())
}

fn of_log(args: &DuelArgs, pick: &goldward_session::log::Pick) -> Result<Answer, Failure> {
    let Some(line) = &pick.line else {
        return Err(Failure::Internal("a session of a log without its events".to_owned()));
    };
    let mut line = line.clone();
    if args.by.is_some()
        || args.ends.is_some()
        || !args.theirs.is_empty()
        || !args.mine.is_empty()
        || args.nearer.is_some()
        || line.duel.is_none()
    {
        if args.mine.is_empty() && line.duel.is_none() {
            return Err(Failure::data(Wrong::TheSession, Wrong::NoMatch));
        }
        let format = format(args)?;
        line.duel = Some(duel_of(args, line.settings.face, typed(&args.mine, &format))?);
    }
    if let (Some(duel), Some(average)) = (&mut line.duel, args.opponent) {
        duel.opponent.average = Some(average);
    }
    let Some(duel) = line.duel else { return Err(Failure::Internal("no match".to_owned())) };
    let mut answer = line.answer().map_err(|e| Failure::data(Wrong::SessionNotRead, Fault::of("", e)))?;
    if answer.duel.is_none() {
        answer = answer::in_match(answer, &pick.settings, &duel).map_err(refused(GIVEN))?;
    }
    Ok(answer)
}

fn as_json(judged: &InMatch, answer: &Answer) -> Result<String, Failure> {
    #[derive(Serialize)]
    struct Out {
        schema: u8,
        #[serde(flatten)]
        standing: MatchOut,
        advice: AdviceOut,
    }
    let out = Out { schema: SCHEMA, standing: judged.into(), advice: AdviceOut::from(&answer.advice) };
    serde_json::to_string(&out).map(|text| text + "\n").map_err(|e| Failure::Internal(e.to_string()))
}

/// Simulated matches under every rule of thumb and under Goldward's.
fn rehearse(args: &DuelArgs, wishes: &Wishes, matches: u64, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let (Some(distance), Some(face)) = (args.distance, args.face) else {
        return Err(Failure::usage("", said(Wrong::NeedsDistance, ["goldward match".into()])));
    };
    let settings = pace::settings_of(distance, face, wishes)?;
    let format = format(args)?;
    let (rings, scorer) = (Rings::new(face, settings.shaft), Scorer::new(face, settings.shaft));
    let game = Game::new(&settings, &rings, format, args.opponent).map_err(refused("--opponent"))?;
    let played = Matches::new(game.scene.clone(), &scorer, &rings, settings.shaft, args.seed);
    let threads = terminal.cores.clamp(1, 64) as u64;
    let share = matches.div_ceil(threads);
    let parts: Vec<Wins> = std::thread::scope(|scope| {
        let one = |i: u64| {
            let (played, rules) = (&played, &game.rules);
            scope.spawn(move || played.play(rules, (i * share).min(matches)..((i + 1) * share).min(matches)))
        };
        let running: Vec<_> = (0..threads).map(one).collect();
        running.into_iter().filter_map(|t| t.join().ok()).collect()
    });
    let mut wins = parts.first().cloned().ok_or_else(|| Failure::Internal("no matches were played".to_owned()))?;
    parts[1..].iter().for_each(|w| wins.add(w));
    let won = game.won(&wins);
    let date = |_| String::new();
    args.one.shown.answer(
        terminal,
        &[],
        &date,
        |t| {
            let rows = won.iter().map(|w| {
                let share = format!("{} ± {}", pages::duel::fine(t, w.share.0), pages::duel::fine(t, w.share.1));
                vec![pages::pace::rule(t, w.rule), share, t.number(w.touches, 1)]
            });
            let head = [Word::MatchRule, Word::MatchShare, Word::MatchTouches].map(|w| t.t(w)).to_vec();
            vec![
                Item::Heading(t.t(Word::MatchTitle)),
                Item::Text(t.f(Word::MatchPlayed, &[&matches.to_string()])),
                Item::Text(t.f(Word::MatchOther, &[&t.number(game.average, 1)])),
                Item::Table(t.t(Word::MatchShare), head, rows.collect()),
                Item::Note(t.t(Word::MatchRules)),
            ]
        },
        || {
            let out = GameOut::new(&game, &won, (matches, args.seed));
            serde_json::to_string(&out).map(|text| text + "\n").map_err(|e| Failure::Internal(e.to_string()))
        },
    )
}
