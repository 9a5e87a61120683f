//! `goldward progress`: spread over time, points lost to the sight and to the spread, and what changed.

use std::path::PathBuf;

use clap::Args;
use goldward_core::pace::hindsight::Worth;
use goldward_journal::{Log, Uuid};
use goldward_session::log::{
    DistanceHistory, Lost, MovesGave, MovesSum, SeasonGave, SessionPoint, Which, history, looked_back, moves_gave,
};
use goldward_store::Place;
use serde_json::json;

use crate::day::day;
use crate::failure::{Failure, Fault, said};
use crate::log::{get, load, with_store_to_read};
use crate::options::ShownArgs;
use crate::terminal::Terminal;
use goldward_report::pages;
use goldward_report::teller::Teller;
use goldward_report::words::{Word, Wrong};

/// Options of `goldward progress`.
#[derive(Debug, Args)]
#[command(after_help = "\
Spread is one standard deviation an axis, in milliradians, with an interval that holds it four times in five. Points lost to the
sight are those that a perfectly set sight would have brought with the same spread. What the moves of the sight gave is weighed
against never touching it, given all arrows of the session.

Examples:
  goldward progress --db goldward.db
  goldward progress --session latest            what each move of the sight gave in one session
  goldward progress log.jsonl --json")]
pub struct ProgressArgs {
    /// The log as a file: .jsonl or .csv [default: the store]
    #[arg(value_name = "FILE")]
    pub file: Option<PathBuf>,
    /// File of the logs, or a postgres:// address
    #[arg(long, value_name = "FILE|URL", default_value = "goldward.db", conflicts_with = "file")]
    pub db: Place,
    /// Whose [default: the only archer there]
    #[arg(long, value_name = "ARCHER")]
    pub archer: Option<Uuid>,
    /// One session: what each move of the sight gave, latest or the id of one
    #[arg(long, value_name = "SESSION")]
    pub session: Option<Which>,
    /// How the answer is told.
    #[command(flatten)]
    pub shown: ShownArgs,
}

/// A distance with what the moves of its latest sessions gave.
type Distance = (DistanceHistory, Option<SeasonGave>);

/// Runs the command; returns the exit code.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &ProgressArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let log = match &args.file {
        Some(file) => get(file)?,
        None => with_store_to_read(&args.db, async |store| load(store, args.archer).await)?,
    };
    let archer = archer(&log, args.archer)?;
    if let Some(which) = args.session {
        let gave = moves_gave(&log, archer, which, true)
            .map_err(|e| Failure::data(Wrong::NoLookBack, Fault::from(e).at("--session").remedy(Wrong::SessionsAre)))?;
        let say = |teller: &Teller<'_>| match &gave {
            Some(gave) => pages::moves::page(teller, gave),
            None => vec![pages::Item::Note(teller.t(Word::MovesNone))],
        };
        let json =
            || Ok(format!("{}\n", json!({ "schema": 1, "archer": archer, "moves": gave.as_ref().map(of_session) })));
        return args.shown.answer(terminal, &[], &day, say, json);
    }
    let distances: Vec<Distance> = history(&log, archer).into_iter().map(|h| with_moves(&log, archer, h)).collect();
    let say = |teller: &Teller<'_>| pages::progress::page(teller, &distances);
    args.shown.answer(terminal, &[], &day, say, || Ok(format!("{}\n", object(archer, &distances))))
}

/// With what the moves of its latest sessions gave; a session that cannot be read says nothing.
fn with_moves(log: &Log, archer: Uuid, h: DistanceHistory) -> Distance {
    let gave: Vec<MovesSum> = looked_back(&h)
        .into_iter()
        .filter_map(|id| moves_gave(log, archer, Which::Id(id), false).ok().flatten())
        .map(|gave| MovesSum::from(&gave))
        .collect();
    let season = SeasonGave::of(&gave);
    (h, season)
}

fn worth(w: &Worth) -> serde_json::Value {
    json!({ "points": w.points, "points_80": w.interval_points, "p_gained": w.p_gained })
}

fn of_session(g: &MovesGave) -> serde_json::Value {
    let each = g.moves.iter().map(|(m, w)| {
        json!({
            "after_shot": m.after,
            "after_shots_with_setting": m.since,
            "within_end": m.within_end,
            "pin_mm": [m.pin_mm.x_mm, m.pin_mm.y_mm],
            "gave": worth(w),
        })
    });
    let stretch = |s: &goldward_core::pace::hindsight::Stretch| {
        json!({
            "first_shot": s.first + 1,
            "shots": s.shots,
            "counted": s.counted,
            "sight_mm": [s.sight.x_mm, s.sight.y_mm],
            "centre_mm": [s.centre.x_mm, s.centre.y_mm],
            "centre_sd_mm": s.centre_sd_mm,
        })
    };
    json!({
        "session": g.id,
        "at_ms": g.at_ms,
        "distance_m": g.distance.metres(),
        "gave": worth(&g.all),
        "after_one_arrow": g.hasty.as_ref().map(worth),
        "over_waiting_for_end": g.over_waiting.as_ref().map(worth),
        "goldward_beyond": g.goldward_beyond.as_ref().map(worth),
        "each": each.collect::<Vec<_>>(),
        "stretches": g.stretches.iter().map(stretch).collect::<Vec<_>>(),
    })
}

fn archer(log: &Log, wanted: Option<Uuid>) -> Result<Uuid, Failure> {
    let archers = log.archers();
    match (wanted, archers.as_slice()) {
        (Some(archer), all) if all.contains(&archer) => Ok(archer),
        (None, [only]) => Ok(*only),
        (None, []) => Err(Failure::data(Wrong::NoProgress, Wrong::EmptyLog)),
        (_, all) => {
            let ids = all.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
            Err(Failure::usage("--archer", said(Wrong::WhoseProgress, [ids.into()])))
        }
    }
}

fn lost(l: &Lost) -> serde_json::Value {
    json!({
        "possible_points": l.possible,
        "perfect_sight_points": l.perfect_sight,
        "to_spread_points": l.to_spread,
        "to_sight_points": l.to_sight,
        "to_chance_points": l.to_chance,
    })
}

fn session(s: &SessionPoint) -> serde_json::Value {
    json!({
        "id": s.id,
        "at_ms": s.at_ms,
        "round": s.round,
        "face": s.face,
        "points": s.total.points,
        "shots": s.total.shots,
        "inner_tens": s.total.inner_tens,
        "misses": s.total.misses,
        "handicap": s.handicap,
        "spread_mrad": s.spread_mrad.map(|m| m.0),
        "spread_mrad_80": s.spread_mrad.map(|m| [m.1, m.2]),
        "spread_shots": s.spread_shots,
        "lost": s.lost.as_ref().map(lost),
    })
}

fn object(archer: Uuid, distances: &[Distance]) -> serde_json::Value {
    let distance = |(h, season): &Distance| {
        json!({
            "distance_m": h.distance_m,
            "sessions": h.sessions.iter().map(session).collect::<Vec<_>>(),
            "change": h.change.map(|c| json!({
                "spread_ratio": c.ratio,
                "spread_ratio_80": [c.low, c.high],
                "sessions_now": c.sessions_now,
                "sessions_before": c.sessions_before,
            })),
            "moves": season.as_ref().map(|s| json!({
                "sessions": s.sessions,
                "moves": s.moves,
                "gave": worth(&s.all),
                "after_one_arrow": s.hasty.as_ref().map(|(moves, w)| json!({ "moves": moves, "gave": worth(w) })),
            })),
        })
    };
    json!({ "schema": 1, "archer": archer, "distances": distances.iter().map(distance).collect::<Vec<_>>() })
}
