//! `goldward usual`: what is usual by bow, level and distance, shipped or made out from a club's logs.

use std::path::PathBuf;

use clap::Args;
use goldward_core::usual::{Budget, Told, publish};
use goldward_journal::{Log, Uuid};
use goldward_report::pages;
use goldward_report::teller::Teller;
use goldward_report::words::Wrong;
use goldward_session::log::told;
use goldward_session::usual::Usual;
use goldward_store::guardian::StandingOf;
use goldward_store::ops::{Logs, Owner};
use goldward_store::{Backend as _, Place};

use crate::day::day;
use crate::failure::{Failure, Fault, said};
use crate::files::load_usual;
use crate::log::{get, load, with_store_to_read};
use crate::options::ShownArgs;
use crate::terminal::{Terminal, now_ms};

/// Options of `goldward usual`.
#[derive(Debug, Args)]
#[command(after_help = "\
Without a file and a log it shows the table that Goldward ships, which is argued. With logs it counts the archers who agree (in the app, under
Archers) and whose kits tell bow and level; those under age are left out. What it writes is numbers only, of cells of twenty archers and more, with
noise of differential privacy: docs/design/usual.md has the argument. Every document tells a little more of each archer, so make one a season.

Examples:
  goldward usual
  goldward usual --log goldward.db --out usual.json
  goldward usual usual.json
  goldward read first.csv --distance 18 --face 40 --kit kit.toml --usual usual.json")]
pub struct UsualArgs {
    /// A document to show
    #[arg(value_name = "FILE", conflicts_with_all = ["log", "out", "epsilon"])]
    pub file: Option<PathBuf>,
    /// A log to make it from: the file of a store, a postgres:// address, or a .jsonl or .csv file; may be given several times
    #[arg(long, value_name = "FILE|URL")]
    pub log: Vec<Place>,
    /// Write the document into a file
    #[arg(long, value_name = "FILE", requires = "log")]
    pub out: Option<PathBuf>,
    /// How much the document may tell of one archer, 0.1 to 8: less is more private and needs more archers [default: 2]
    #[arg(long, value_name = "EPSILON", requires = "log", value_parser = parse_epsilon)]
    pub epsilon: Option<Budget>,
    /// How the answer is told.
    #[command(flatten)]
    pub shown: ShownArgs,
}

fn parse_epsilon(text: &str) -> Result<Budget, String> {
    let number = goldward_core::units::parse_decimal(text);
    number.and_then(Budget::new).ok_or_else(|| "it must lie between 0.1 and 8: write a number such as 2".to_owned())
}

/// Runs the command; returns the exit code.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &UsualArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let usual = match &args.file {
        Some(path) => Some(load_usual(path)?),
        None if args.log.is_empty() => None,
        None => Some(make(&args.log, args.epsilon.unwrap_or(Budget::USUAL))?),
    };
    if let (Some(path), Some(usual)) = (&args.out, &usual) {
        std::fs::write(path, usual.to_json()).map_err(|e| {
            Failure::data(said(Wrong::NotWritten, [path.display().into()]), Fault::io(&e).remedy(Wrong::CheckName))
        })?;
    }
    let say = |t: &Teller<'_>| match &usual {
        Some(usual) => pages::usual::page(t, usual),
        None => pages::usual::shipped(t),
    };
    let json = || match &usual {
        Some(usual) => Ok(usual.to_json()),
        None => Err(Failure::usage("--json", Wrong::UsualNoJson)),
    };
    args.shown.answer(terminal, &[], &day, say, json)
}

/// What the archers of these logs who agree have in common.
fn make(places: &[Place], budget: Budget) -> Result<Usual, Failure> {
    let (mut all, mut under_age) = (Log::new(), Vec::new());
    for place in places {
        let (log, minors) = match place {
            Place::File(path) if path.extension().is_some_and(|e| e == "jsonl" || e == "csv") => {
                (get(path)?, Vec::new())
            }
            place => with_store_to_read(place, async |store| {
                let mut minors: Vec<Uuid> = Vec::new();
                for info in store.run(Logs { owner: Owner::Anyone }).await? {
                    let Some(owner) = info.owner else { continue };
                    if store.run(StandingOf(owner)).await?.is_some_and(|s| s.minor) {
                        minors.push(info.archer);
                    }
                }
                Ok((load(store, None).await?, minors))
            })?,
        };
        under_age.extend(minors);
        // An archer who is in several logs is one.
        log.archers().into_iter().flat_map(|a| log.records_of(a)).for_each(|r| {
            all.insert(r.clone());
        });
    }
    let now_ms = now_ms();
    let archers = all.archers().into_iter().filter(|a| !under_age.contains(a));
    let told: Vec<Told> = archers.filter_map(|a| told(&all, a, now_ms)).collect();
    let mut broken = false;
    // Noise that could be guessed would hide nobody: without the operating system's bits there is no document.
    let mut bits = || match getrandom::u64() {
        Ok(bits) => bits,
        Err(_) => {
            broken = true;
            0x5DEE_CE66_D1CE_4E5B
        }
    };
    let rows = publish(&told, budget, &mut bits);
    if broken {
        return Err(Failure::data(Wrong::NothingWritten, Wrong::NoRandomBits));
    }
    Ok(Usual::of(&rows, budget, day(now_ms)))
}
