//! The rehearsal as JSON.

use goldward_session::pace::{FirstTouch, Played, Rehearsed};
use serde::Serialize;

use super::SCHEMA;

/// The object.
#[derive(Debug, Serialize)]
pub struct RehearsalOut<'a> {
    schema: u8,
    scene: SceneOut,
    rounds: u64,
    seed: u64,
    oracle_points: f64,
    rules: Vec<RuleOut<'a>>,
    best_fixed: Option<&'static str>,
    goldward_gain_points: Option<f64>,
    goldward_gain_se_points: Option<f64>,
    share_of_possible: Option<f64>,
    first_touch: Vec<FirstOut>,
}

#[derive(Debug, Serialize)]
struct SceneOut {
    distance_m: f64,
    face: &'static str,
    spread_mm: f64,
    first_offset_mm: f64,
    flyers: f64,
    drift_mm_per_end: f64,
    setting_sd_on_face_mm: f64,
    click_on_face_mm: [f64; 2],
    sighting_ends: usize,
    ends: usize,
    shots_per_end: usize,
    touch_cost_points: f64,
    worth: f64,
}

#[derive(Debug, Serialize)]
struct RuleOut<'a> {
    rule: &'static str,
    points: f64,
    points_se: f64,
    given_away_points: f64,
    given_away_se_points: f64,
    worse: f64,
    touches: f64,
    lost_points_by_shot: &'a [f64],
}

#[derive(Debug, Serialize)]
struct FirstOut {
    spread_mrad: f64,
    trust: f64,
    rounds: u64,
    median_shots: Option<usize>,
    low_shots: Option<usize>,
    high_shots: Option<usize>,
    never: f64,
}

impl<'a> RehearsalOut<'a> {
    /// What was played, what the rules came to, and after how many shots to touch first.
    #[must_use]
    pub fn new(rehearsed: &Rehearsed, played: &'a Played, first: &[FirstTouch]) -> Self {
        let scene = &rehearsed.scene;
        let gain = played.gain();
        Self {
            schema: SCHEMA,
            scene: SceneOut {
                distance_m: rehearsed.distance.metres(),
                face: rehearsed.face.name,
                spread_mm: scene.spread_mm,
                first_offset_mm: scene.first_offset_mm,
                flyers: scene.flyers,
                drift_mm_per_end: scene.drift_mm,
                setting_sd_on_face_mm: scene.setting_mm,
                click_on_face_mm: scene.click_mm,
                sighting_ends: scene.sighting_ends,
                ends: scene.ends,
                shots_per_end: scene.shots_per_end,
                touch_cost_points: scene.touch_cost,
                worth: scene.worth,
            },
            rounds: played.rounds,
            seed: rehearsed.seed,
            oracle_points: played.oracle_points,
            rules: played
                .outcomes
                .iter()
                .map(|o| RuleOut {
                    rule: o.rule.name(),
                    points: o.points,
                    points_se: o.points_se,
                    given_away_points: o.given_away,
                    given_away_se_points: o.given_away_se,
                    worse: o.worse,
                    touches: o.touches,
                    lost_points_by_shot: &o.lost_at,
                })
                .collect(),
            best_fixed: played.best_fixed().map(|o| o.rule.name()),
            goldward_gain_points: gain.map(|g| g.points),
            goldward_gain_se_points: gain.map(|g| g.points_se),
            share_of_possible: gain.and_then(|g| g.share),
            first_touch: first
                .iter()
                .map(|f| FirstOut {
                    spread_mrad: f.spread_mrad,
                    trust: f.trust,
                    rounds: f.rounds,
                    median_shots: f.median,
                    low_shots: f.low,
                    high_shots: f.high,
                    never: f.never,
                })
                .collect(),
        }
    }
}
