//! `goldward habits`: what an archer's own sessions tell of habits.

use clap::Args;
use goldward_core::habits::{Count, Habits};
use goldward_report::pages;
use goldward_report::teller::Teller;
use goldward_session::log::{HabitsShown, habits_shown};
use goldward_store::Place;
use serde_json::{Value, json};

use crate::day::day;
use crate::failure::Failure;
use crate::options::ShownArgs;
use crate::source::LogSource;
use crate::terminal::Terminal;

/// Options of `goldward habits`.
#[derive(Debug, Args)]
#[command(after_help = "\
Where bad shots go, how often they come and how well they are felt, what a touch of the sight gives and how precisely it is set, the drift
from end to end and how far days lie apart, from the latest sessions of the log; older ones count less. Readings with --log and the app use them; habits = \"off\" in the kit leaves them out.

Examples:
  goldward habits --log goldward.db
  goldward habits --log log.jsonl --archer Robin --json")]
pub struct HabitsArgs {
    /// The log: the file of a store, a postgres:// address, or a .jsonl or .csv file
    #[arg(long, value_name = "FILE|URL", default_value = "goldward.db")]
    pub log: Place,
    /// Whose, by name or id [default: the only archer there]
    #[arg(long, value_name = "NAME")]
    pub archer: Option<String>,
    /// How the answer is told.
    #[command(flatten)]
    pub shown: ShownArgs,
}

/// Runs the command; returns the exit code.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &HabitsArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let source = LogSource { log: Some(args.log.clone()), archer: args.archer.clone(), session: Vec::new() };
    let opened = source.open()?;
    let shown = opened.and_then(|o| habits_shown(&o.log, o.archer, None));
    let say = |teller: &Teller<'_>| pages::habits::page(teller, shown.as_ref());
    args.shown.answer(terminal, &[], &day, say, || Ok(format!("{}\n", object(shown.as_ref()))))
}

fn object(shown: Option<&HabitsShown>) -> Value {
    let habits = shown.and_then(|s| s.learnt.habits);
    let h = habits.unwrap_or_else(Habits::usual);
    let count =
        |c: Count, odds: [f64; 3]| json!({ "shots": c.shots, "flyers": c.bad, "strays": c.strays, "odds": odds });
    let course = shown.and_then(|s| s.learnt.course);
    let setting = course.filter(|c| c.tells_of_setting());
    let (gives, days) = (setting.map(|c| c.gives), shown.and_then(|s| s.learnt.days));
    json!({
        "schema": 1,
        "sessions": h.sessions,
        "used": shown.is_some_and(|s| s.used) && habits.is_some(),
        "bad_mean": h.along.map(|a| a.mean),
        "bad_mean_sd": h.along.map(|a| a.sd),
        "bad_spread": h.along.map(|a| a.factor.sqrt()),
        "unmarked": count(h.counts[0], h.odds[0]),
        "felt_bad": count(h.counts[1], h.odds[1]),
        "felt_good": count(h.counts[2], h.odds[2]),
        "spread_ratio": h.spread_ratio,
        "pattern_shares": h.patterns.odds.shares(),
        "splits": h.patterns.splits,
        "jumps": h.patterns.jumps,
        "pattern_sessions": h.patterns.sessions,
        "touch_gives": gives.map(|g| g.map(|g| g.told())),
        "touch_gives_near": gives.map(|g| g.map(|g| g.p_near)),
        "touch_gives_mean": gives.map(|g| g.map(|g| g.mean)),
        "touch_gives_sd": gives.map(|g| g.map(|g| g.sd)),
        "touches": course.map(|c| c.gives.map(|g| g.touches)),
        "setting_sd_mm": setting.map(|c| c.error_mm),
        "end_drift": course.map(|c| c.step.map(|s| s.mean)),
        "end_drift_sd": course.map(|c| c.step.map(|s| s.sd)),
        "ends": course.map(|c| c.ends),
        "spread_doubt": days.map(|d| [d.doubt.tighter_octaves, d.doubt.wider_octaves]),
        "day_worth": days.map(|d| d.worth),
        "day_range": days.map(|d| d.range),
        "days": days.map(|d| d.sessions),
        "distance_m": shown.map(|s| s.distance.metres()),
        "spread_mrad": shown.map(|s| h.spread_ratio * s.learnt.spread.mrad()),
        "end_effect": shown.and_then(|s| s.learnt.ends).map(|e| [e.effect.windage, e.effect.elevation]),
    })
}
