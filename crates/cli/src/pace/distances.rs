//! A round of four distances: what is it worth to carry the windage from one to the next?

use goldward_core::face::Face;
use goldward_core::pace::DRIFT_DEFAULT_MRAD;
use goldward_core::pace::distances::{Course, Memory, Outcome, Stage};
use goldward_core::units::Distance;
use goldward_report::pages::distances::{Distances, Plan};
use goldward_report::words::Wrong;
use serde::Serialize;

use super::play::in_order;
use super::{PaceArgs, scene};
use crate::busy::Busy;
use crate::failure::Failure;
use crate::wire::SCHEMA;
use goldward_session::answer::Scorers;
use goldward_session::asked::flyers;
use goldward_session::pace::{parts, standard_error};
use goldward_session::settings::Wishes;

/// Distances in metres with their faces, in the order of the round (World Archery 2024, men's long round).
const STAGES: [(f64, &str); 4] = [(90.0, "122"), (70.0, "122"), (50.0, "80"), (30.0, "80")];
/// Ends at each, and arrows an end.
const ENDS: (usize, usize) = (6, 6);

#[derive(Debug, Serialize)]
struct PlanOut {
    memory: &'static str,
    points: f64,
    points_se: f64,
    given_away_points: f64,
    given_away_points_by_distance: Vec<f64>,
    touches: f64,
}

impl From<&Plan> for PlanOut {
    fn from(plan: &Plan) -> Self {
        Self {
            memory: plan.memory.name(),
            points: plan.points,
            points_se: plan.points_se,
            given_away_points: plan.given_away.iter().sum(),
            given_away_points_by_distance: plan.given_away.clone(),
            touches: plan.touches,
        }
    }
}

/// Plays the rounds.
pub(super) fn play(args: &PaceArgs, wishes: &Wishes, threads: usize, on_terminal: bool) -> Result<Distances, Failure> {
    let stray = [
        (args.distance.is_some(), "--distance"),
        (args.face.is_some(), "--face"),
        (args.round.is_some(), "--round"),
        (args.sighting.is_some(), "--sighting"),
        (args.offset.is_some(), "--offset"),
        (args.click_on_face.is_some(), "--click-on-face"),
        (!args.rules.is_empty(), "--rules"),
        (args.plot.is_some(), "--plot"),
    ];
    if let Some((_, option)) = stray.into_iter().find(|(given, _)| *given) {
        return Err(Failure::usage(option, Wrong::NotWithFour));
    }
    let places = STAGES.iter().map(|(metres, name)| {
        let distance = Distance::from_metres(*metres).map_err(|e| Failure::Internal(e.to_string()))?;
        Ok((distance, Face::named(name).map_err(|e| Failure::Internal(e.to_string()))?))
    });
    let places = places.collect::<Result<Vec<_>, Failure>>()?;
    let Some((first, face)) = places.first() else { return Err(Failure::Internal("no distances".to_owned())) };
    let settings = scene::settings(*first, face, wishes)?;
    let scorers = Scorers::default();
    let scorers: Vec<_> = places.iter().map(|(_, face)| scorers.get(face, settings.shaft)).collect();
    let stages = places.iter().zip(&scorers).map(|((distance, _), scorer)| Stage {
        distance: *distance,
        scorer,
        ends: ENDS.0,
        shots_per_end: ENDS.1,
    });
    let course = Course {
        stages: stages.collect(),
        spread_mrad: settings.prior.spread_mm() / first.metres(),
        trust: settings.prior.trust(),
        flyers: flyers(args.flyers),
        drift_mrad: args.drift.unwrap_or(DRIFT_DEFAULT_MRAD),
        sight: settings.sight,
        touch_cost: settings.ahead.touch_cost_points,
        worth: settings.prior.worth(),
        jump: 0.0,
    };
    let progress = Busy::of(args.rounds, "simulated rounds played", on_terminal);
    let ranges = parts(args.rounds);
    let played = in_order(ranges.len(), threads, |i| {
        let outcomes = course.play(&Memory::ALL, args.seed, ranges[i].clone());
        progress.add(ranges[i].end - ranges[i].start);
        outcomes
    });
    progress.finish();
    let weights: Vec<f64> = ranges.iter().map(|r| (r.end - r.start) as f64 / args.rounds as f64).collect();
    let plans = (0..Memory::ALL.len()).map(|k| summed(&played, &weights, k)).collect();
    let [_, anew, windage] = Memory::ALL;
    let points = |outcomes: &[Outcome], memory| outcomes.iter().find(|o| o.memory == memory).map_or(0.0, |o| o.points);
    let gains: Vec<f64> = played.iter().map(|p| points(p, windage) - points(p, anew)).collect();
    let gain = gains.iter().zip(&weights).map(|(g, w)| g * w).sum();
    Ok(Distances {
        stages: STAGES.to_vec(),
        ends: ENDS,
        spread_mrad: course.spread_mrad,
        trust: course.trust,
        flyers: course.flyers,
        drift_mrad: course.drift_mrad,
        rounds: args.rounds,
        seed: args.seed,
        oracle_points: course.oracle_points(),
        plans,
        gain: (gain, standard_error(&gains)),
    })
}

/// The JSON object, on one line.
pub(super) fn json(found: &Distances) -> Result<String, Failure> {
    #[derive(Serialize)]
    struct Out<'a> {
        schema: u8,
        distances_m: Vec<f64>,
        faces: Vec<&'static str>,
        ends: usize,
        shots_per_end: usize,
        spread_mrad: f64,
        trust: f64,
        flyers: f64,
        drift_mrad_per_end: f64,
        rounds: u64,
        seed: u64,
        oracle_points: f64,
        memories: &'a [PlanOut],
        carrying_gain_points: f64,
        carrying_gain_se_points: f64,
    }
    let plans: Vec<PlanOut> = found.plans.iter().map(PlanOut::from).collect();
    let out = Out {
        schema: SCHEMA,
        distances_m: STAGES.map(|s| s.0).to_vec(),
        faces: STAGES.map(|s| s.1).to_vec(),
        ends: ENDS.0,
        shots_per_end: ENDS.1,
        spread_mrad: found.spread_mrad,
        trust: found.trust,
        flyers: found.flyers,
        drift_mrad_per_end: found.drift_mrad,
        rounds: found.rounds,
        seed: found.seed,
        oracle_points: found.oracle_points,
        memories: &plans,
        carrying_gain_points: found.gain.0,
        carrying_gain_se_points: found.gain.1,
    };
    serde_json::to_string(&out).map(|text| text + "\n").map_err(|e| Failure::Internal(e.to_string()))
}

/// The plan number `k` over all parts.
fn summed(parts: &[Vec<Outcome>], weights: &[f64], k: usize) -> Plan {
    let mean = |of: &dyn Fn(&Outcome) -> f64| parts.iter().zip(weights).map(|(p, w)| of(&p[k]) * w).sum::<f64>();
    let points: Vec<f64> = parts.iter().map(|p| p[k].points).collect();
    Plan {
        memory: Memory::ALL[k],
        points: mean(&|o| o.points),
        points_se: standard_error(&points),
        given_away: (0..STAGES.len()).map(|i| mean(&|o| o.given_away[i])).collect(),
        touches: mean(&|o| o.touches),
    }
}
