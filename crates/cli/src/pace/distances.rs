//! A round of four distances: what is it worth to carry the windage from one to the next?

use std::fmt::Write as _;

use goldward_core::face::Face;
use goldward_core::pace::DRIFT_DEFAULT_MRAD;
use goldward_core::pace::distances::{Course, Memory, Outcome, Stage};
use goldward_core::units::{Distance, trim_number};
use serde::Serialize;

use super::page::with_error;
use super::play::{in_order, ranges, standard_error};
use super::{PaceArgs, scene, usage};
use crate::busy::Busy;
use crate::failure::Failure;
use crate::wire::SCHEMA;
use crate::words::wrap;
use goldward_report::words::{Language, Phrase};
use goldward_session::answer::Scorers;
use goldward_session::settings::Wishes;

/// Distances in metres with their faces, in the order of the round (World Archery 2024, men's long round, from memory).
const STAGES: [(f64, &str); 4] = [(90.0, "122"), (70.0, "122"), (50.0, "80"), (30.0, "80")];
/// Ends at each, and arrows an end.
const ENDS: (usize, usize) = (6, 6);

/// The rounds, played.
#[derive(Debug)]
pub(super) struct Played {
    spread_mrad: f64,
    trust: f64,
    flyers: f64,
    drift_mrad: f64,
    rounds: u64,
    seed: u64,
    oracle_points: f64,
    plans: Vec<PlanOut>,
    /// Points a round that carrying gains over starting anew, and their standard error.
    gain: (f64, f64),
}

#[derive(Debug, Serialize)]
struct PlanOut {
    memory: &'static str,
    points: f64,
    points_se: f64,
    given_away_points: f64,
    given_away_points_by_distance: Vec<f64>,
    touches: f64,
}

impl Played {
    pub(super) fn new(args: &PaceArgs, wishes: &Wishes, threads: usize, on_terminal: bool) -> Result<Self, Failure> {
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
            return Err(usage(option, "it does not go with --match four-distances", "leave it out"));
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
            flyers: scene::flyers(args),
            drift_mrad: args.drift.unwrap_or(DRIFT_DEFAULT_MRAD),
            sight: settings.sight,
            touch_cost: settings.ahead.touch_cost_points,
            worth: settings.prior.worth(),
            jump: 0.0,
        };
        let progress = Busy::of(args.rounds, "simulated rounds played", on_terminal);
        let ranges = ranges(args.rounds);
        let parts = in_order(ranges.len(), threads, |i| {
            let outcomes = course.play(&Memory::ALL, args.seed, ranges[i].clone());
            progress.add(ranges[i].end - ranges[i].start);
            outcomes
        });
        progress.finish();
        let weights: Vec<f64> = ranges.iter().map(|r| (r.end - r.start) as f64 / args.rounds as f64).collect();
        let plans = (0..Memory::ALL.len()).map(|k| summed(&parts, &weights, k)).collect();
        let [_, anew, windage] = Memory::ALL;
        let points =
            |outcomes: &[Outcome], memory| outcomes.iter().find(|o| o.memory == memory).map_or(0.0, |o| o.points);
        let gains: Vec<f64> = parts.iter().map(|p| points(p, windage) - points(p, anew)).collect();
        let gain = gains.iter().zip(&weights).map(|(g, w)| g * w).sum();
        Ok(Self {
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

    pub(super) fn json(&self) -> Result<String, Failure> {
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
        let out = Out {
            schema: SCHEMA,
            distances_m: STAGES.map(|s| s.0).to_vec(),
            faces: STAGES.map(|s| s.1).to_vec(),
            ends: ENDS.0,
            shots_per_end: ENDS.1,
            spread_mrad: self.spread_mrad,
            trust: self.trust,
            flyers: self.flyers,
            drift_mrad_per_end: self.drift_mrad,
            rounds: self.rounds,
            seed: self.seed,
            oracle_points: self.oracle_points,
            memories: &self.plans,
            carrying_gain_points: self.gain.0,
            carrying_gain_se_points: self.gain.1,
        };
        serde_json::to_string(&out).map(|text| text + "\n").map_err(|e| Failure::Internal(e.to_string()))
    }

    pub(super) fn page(&self, width: usize, l: Language) -> String {
        let mut out = format!("{}\n", Phrase::FourTitle.text(l));
        let places = STAGES.map(|(m, face)| Phrase::FourAt.with(l, &[&m.to_string(), face]));
        let number = |value: f64| l.number(&trim_number(value));
        let values = [
            ENDS.0.to_string(),
            ENDS.1.to_string(),
            places.join(", "),
            number(self.spread_mrad),
            number(self.trust),
            number(100.0 * self.flyers),
            number(self.drift_mrad),
            self.rounds.to_string(),
            self.seed.to_string(),
        ];
        let about = Phrase::FourAbout.with(l, &values.each_ref().map(String::as_str));
        out.push_str(&wrap(&about, width, 2));
        let _ = write!(out, "\n  {:<24}{:>16}", "", Phrase::PacePoints.text(l));
        for (metres, _) in STAGES {
            let _ = write!(out, "{:>8}", format!("{metres} m"));
        }
        let _ = writeln!(out, "{:>9}", Phrase::PaceTouches.text(l));
        let _ = writeln!(out, "  {:<24}{:>10}", Phrase::PaceOracle.text(l), l.decimals(self.oracle_points, 1));
        let mut plans: Vec<&PlanOut> = self.plans.iter().collect();
        plans.sort_by(|a, b| b.points.total_cmp(&a.points));
        for plan in plans {
            let _ = write!(
                out,
                "  {:<24}{:>16}",
                words(l, plan.memory),
                l.number(&format!("{:.1} ± {:.1}", plan.points, plan.points_se))
            );
            for lost in &plan.given_away_points_by_distance {
                let _ = write!(out, "{:>8}", l.number(&format!("-{:.1}", lost.max(0.0))));
            }
            let _ = writeln!(out, "{:>9}", l.decimals(plan.touches, 1));
        }
        out.push('\n');
        let (gain, se) = self.gain;
        let (phrase, value) = if gain.abs() < 2.0 * se {
            (Phrase::FourSame, gain)
        } else {
            (if gain > 0.0 { Phrase::FourWorth } else { Phrase::FourLoss }, gain.abs())
        };
        let meaning = phrase.with(l, &[&l.number(&with_error(value, se))]);
        out.push_str(&wrap(&meaning, width, 0));
        out.push_str(&wrap(Phrase::FourLegend.text(l), width, 0));
        out
    }
}

fn words(l: Language, memory: &str) -> &'static str {
    let phrase = match Memory::ALL.into_iter().find(|m| m.name() == memory) {
        Some(Memory::Windage) => Phrase::FourCarry,
        Some(Memory::Anew) => Phrase::FourAnew,
        _ => Phrase::PaceNever,
    };
    phrase.text(l)
}

/// The plan number `k` over all parts.
fn summed(parts: &[Vec<Outcome>], weights: &[f64], k: usize) -> PlanOut {
    let mean = |of: &dyn Fn(&Outcome) -> f64| parts.iter().zip(weights).map(|(p, w)| of(&p[k]) * w).sum::<f64>();
    let points: Vec<f64> = parts.iter().map(|p| p[k].points).collect();
    let by_distance: Vec<f64> = (0..STAGES.len()).map(|i| mean(&|o| o.given_away[i])).collect();
    PlanOut {
        memory: Memory::ALL[k].name(),
        points: mean(&|o| o.points),
        points_se: standard_error(&points),
        given_away_points: by_distance.iter().sum(),
        given_away_points_by_distance: by_distance,
        touches: mean(&|o| o.touches),
    }
}
