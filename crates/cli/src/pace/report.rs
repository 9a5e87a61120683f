//! What the rounds came to: the words for each rule, the JSON object, and the curves to draw.

use goldward_core::pace::rehearsal::Rule;
use goldward_core::units::trim_number;
use serde::Serialize;

use goldward_report::words::{Language, Phrase};

use super::first_touch::First;
use super::play::Played;
use super::scene::Rehearsed;
use crate::failure::Failure;
use crate::plot::{Curve, Curves};
use crate::wire::SCHEMA;
use crate::words::mm;

/// Everything that is told.
#[derive(Debug)]
pub(super) struct Report<'a> {
    pub(super) rehearsed: &'a Rehearsed,
    pub(super) played: &'a Played,
    pub(super) first: &'a [First],
    pub(super) seed: u64,
    pub(super) language: Language,
}

/// A rule in plain words.
pub(super) fn words(l: Language, rule: Rule) -> &'static str {
    let phrase = match rule {
        Rule::Never => Phrase::PaceNever,
        Rule::EveryArrow => Phrase::PaceEveryArrow,
        Rule::EveryThree => Phrase::PaceEveryThree,
        Rule::EverySix => Phrase::PaceEverySix,
        Rule::ThreeThenSix => Phrase::PaceThreeThenSix,
        Rule::OnceAfterThree => Phrase::PaceOnceThree,
        Rule::OnceAfterSix => Phrase::PaceOnceSix,
        Rule::Harmonic => Phrase::PaceHarmonic,
        Rule::Goldward => Phrase::PaceGoldward,
        Rule::GoldwardCalm => Phrase::PaceCalm,
        Rule::PerfectLearner => Phrase::PaceLearner,
        Rule::Oracle => Phrase::PaceOracle,
    };
    phrase.text(l)
}

/// What Goldward gains.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Gain {
    /// Goldward's rule that is told of.
    pub(super) rule: Rule,
    pub(super) best_fixed: Rule,
    /// Points a round above the best rule of thumb, and their standard error.
    pub(super) points: f64,
    pub(super) points_se: f64,
    /// Share of what the perfect learner gains over never touching, where that is a point or more.
    pub(super) share: Option<f64>,
}

impl Report<'_> {
    /// What Goldward gains over the best rule of thumb, when both were played.
    pub(super) fn gain(&self) -> Option<Gain> {
        let played = self.played;
        let rule = [Rule::Goldward, Rule::GoldwardCalm].into_iter().find(|r| played.of(*r).is_some())?;
        let best_fixed = played.best_fixed()?.rule;
        let (points, points_se) = played.difference(rule, best_fixed)?;
        let possible = played.difference(Rule::PerfectLearner, Rule::Never).filter(|(gap, _)| *gap >= 1.0);
        let share = played.difference(rule, Rule::Never).zip(possible).map(|((gain, _), (gap, _))| gain / gap);
        Some(Gain { rule, best_fixed, points, points_se, share })
    }

    /// The JSON object, on one line.
    pub(super) fn json(&self) -> Result<String, Failure> {
        let (rehearsed, played) = (self.rehearsed, self.played);
        let scene = &rehearsed.scene;
        let gain = self.gain();
        let out = Out {
            schema: SCHEMA,
            scene: SceneOut {
                distance_m: rehearsed.settings.distance.metres(),
                face: rehearsed.settings.face.name,
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
            seed: self.seed,
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
            first_touch: self
                .first
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
        };
        serde_json::to_string(&out).map(|text| text + "\n").map_err(|e| Failure::Internal(e.to_string()))
    }

    /// The curves of every rule but the oracle, which loses nothing.
    pub(super) fn curves(&self) -> Curves {
        let scene = &self.rehearsed.scene;
        let curves = self.played.outcomes.iter().filter(|o| o.rule != Rule::Oracle);
        Curves {
            title: Phrase::PaceCurves.text(self.language).to_owned(),
            subtitle: archer(self.language, self.rehearsed),
            language: self.language,
            sighting_shots: self.rehearsed.sighting_shots(),
            shots_per_end: scene.shots_per_end,
            curves: curves
                .map(|o| Curve {
                    label: words(self.language, o.rule),
                    lost_at: o.lost_at.clone(),
                    ours: matches!(o.rule, Rule::Goldward | Rule::GoldwardCalm),
                })
                .collect(),
        }
    }
}

#[derive(Serialize)]
struct Out<'a> {
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

#[derive(Serialize)]
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

#[derive(Serialize)]
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

#[derive(Serialize)]
struct FirstOut {
    spread_mrad: f64,
    trust: f64,
    rounds: u64,
    median_shots: Option<usize>,
    low_shots: Option<usize>,
    high_shots: Option<usize>,
    never: f64,
}

/// The archer and the round in one sentence each.
pub(super) fn archer(l: Language, rehearsed: &Rehearsed) -> String {
    let (scene, settings) = (&rehearsed.scene, &rehearsed.settings);
    let sighting = match scene.sighting_ends {
        0 => String::new(),
        n => Phrase::PaceSighting.with(l, &[&n.to_string()]),
    };
    let number = |text: &str| l.number(text);
    let trust = number(&trim_number(settings.prior.trust()));
    let why = if rehearsed.offset_given { String::new() } else { Phrase::PaceTrust.with(l, &[&trust]) };
    let [wide, high] = scene.click_mm.map(|x| number(&mm(x)));
    let clicks = if wide == high { format!("{wide} mm") } else { Phrase::PaceTwoClicks.with(l, &[&wide, &high]) };
    let values = [
        sighting,
        scene.ends.to_string(),
        scene.shots_per_end.to_string(),
        number(&settings.distance.to_string()),
        settings.face.name.to_owned(),
        number(&trim_number(scene.spread_mm / settings.distance.metres())),
        number(&mm(scene.spread_mm)),
        number(&mm(scene.first_offset_mm)),
        why,
        number(&share(scene.flyers)),
        number(&mm(scene.drift_mm)),
        clicks,
    ];
    Phrase::PaceArcher.with(l, &values.each_ref().map(String::as_str))
}

/// A share as it was chosen, not estimated: `8 %`, `0 %`.
pub(super) fn share(p: f64) -> String {
    format!("{} %", trim_number((1000.0 * p).round() / 10.0))
}
