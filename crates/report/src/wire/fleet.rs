//! Arrow by arrow as JSON.

use goldward_core::fleet::session::{FeltMarks, Trend};
use goldward_session::fleet::Arrows;
use serde::Serialize;

use super::{SCHEMA, rows};

/// The object.
#[derive(Debug, Serialize)]
pub struct FleetOut<'a> {
    schema: u8,
    shots: usize,
    unnamed_shots: usize,
    sessions: usize,
    ends: usize,
    spread_mrad: f64,
    within_cov_mrad2: [[f64; 2]; 2],
    between_arrows_cov_mrad2: [[f64; 2]; 2],
    ends_cov_mrad2: [[f64; 2]; 2],
    amount_mrad: f64,
    fdr: f64,
    p_none_odd: f64,
    arrows: Vec<ArrowOut<'a>>,
    trends: Vec<Option<TrendOut>>,
    felt: Option<FeltOut>,
}

#[derive(Debug, Serialize)]
struct ArrowOut<'a> {
    arrow: &'a str,
    shots: usize,
    flyers: f64,
    offset_mrad: [f64; 2],
    offset_cov_mrad2: [[f64; 2]; 2],
    p_off: f64,
    p_odd: f64,
    p_value: f64,
    p_adjusted: f64,
    accused: bool,
    more_shots: Option<usize>,
    spread_ratio: f64,
    spread_ratio_interval: [f64; 2],
    p_wide: f64,
}

#[derive(Debug, Serialize)]
struct TrendOut {
    ends: usize,
    ratio: f64,
    ratio_interval: [f64; 2],
    p_grows: f64,
    warm_up_ratio: f64,
    warm_up_interval: [f64; 2],
    p_warm_up: f64,
}

impl From<&Trend> for TrendOut {
    fn from(t: &Trend) -> Self {
        Self {
            ends: t.ends,
            ratio: t.ratio,
            ratio_interval: t.interval,
            p_grows: t.p_grows,
            warm_up_ratio: t.warm_up[0],
            warm_up_interval: [t.warm_up[1], t.warm_up[2]],
            p_warm_up: t.p_warm_up,
        }
    }
}

#[derive(Debug, Serialize)]
struct FeltOut {
    bad_shots: usize,
    good_shots: usize,
    unmarked_shots: usize,
    bad_flyers: f64,
    good_flyers: f64,
    unmarked_flyers: f64,
    sensitivity: f64,
    sensitivity_interval: [f64; 2],
    likelihood_ratio: f64,
    likelihood_ratio_interval: [f64; 2],
    class_odds_bad: [f64; 3],
    class_odds_good: [f64; 3],
}

impl From<&FeltMarks> for FeltOut {
    fn from(f: &FeltMarks) -> Self {
        Self {
            bad_shots: f.marked[0],
            good_shots: f.marked[1],
            unmarked_shots: f.marked[2],
            bad_flyers: f.flyers[0],
            good_flyers: f.flyers[1],
            unmarked_flyers: f.flyers[2],
            sensitivity: f.sensitivity[0],
            sensitivity_interval: [f.sensitivity[1], f.sensitivity[2]],
            likelihood_ratio: f.likelihood_ratio[0],
            likelihood_ratio_interval: [f.likelihood_ratio[1], f.likelihood_ratio[2]],
            class_odds_bad: f.bad_odds.get(),
            class_odds_good: f.good_odds.get(),
        }
    }
}

impl<'a> From<&'a Arrows> for FleetOut<'a> {
    fn from(told: &'a Arrows) -> Self {
        let fleet = &told.fleet;
        let arrow = |v: &goldward_core::fleet::Verdict| ArrowOut {
            arrow: told.names.get(v.arrow).map_or("", String::as_str),
            shots: v.shots,
            flyers: v.flyers,
            offset_mrad: [v.offset.right_mrad, v.offset.up_mrad],
            offset_cov_mrad2: rows(v.offset_cov_mrad2),
            p_off: v.p_off,
            p_odd: v.p_odd,
            p_value: v.p_value,
            p_adjusted: v.p_adjusted,
            accused: v.accused,
            more_shots: v.more_shots,
            spread_ratio: v.spread_ratio[0],
            spread_ratio_interval: [v.spread_ratio[1], v.spread_ratio[2]],
            p_wide: v.p_wide,
        };
        Self {
            schema: SCHEMA,
            shots: told.shots.len(),
            unnamed_shots: told.nameless,
            sessions: fleet.sessions,
            ends: fleet.ends,
            spread_mrad: fleet.spread_mrad(),
            within_cov_mrad2: rows(fleet.within_mrad2),
            between_arrows_cov_mrad2: rows(fleet.between_mrad2),
            ends_cov_mrad2: rows(fleet.ends_mrad2),
            amount_mrad: fleet.amount_mrad,
            fdr: told.fdr,
            p_none_odd: fleet.p_none_odd,
            arrows: fleet.arrows.iter().map(arrow).collect(),
            trends: told.trends.iter().map(|t| t.as_ref().map(TrendOut::from)).collect(),
            felt: told.felt.as_ref().map(FeltOut::from),
        }
    }
}
