//! The JSON objects of `goldward compare` and `goldward tune`.

use goldward_core::fleet::compare::{Setting, SpreadRatio};
use serde::Serialize;

use super::Report;
use crate::failure::Failure;
use crate::wire::SCHEMA;
use crate::wire::rows;

#[derive(Serialize)]
struct Out {
    schema: u8,
    before: SettingOut,
    after: SettingOut,
    spread: RatioOut,
    spread_ratio_by_axis: [f64; 2],
    paired: Option<PairedOut>,
    centre: Option<CentreOut>,
    tell: f64,
    shots_to_tell: Option<usize>,
}

#[derive(Serialize)]
struct SettingOut {
    distance_m: f64,
    shots: usize,
    ends: usize,
    flyers: f64,
    spread_mrad: f64,
    variance_mrad2: [f64; 2],
    degrees_of_freedom: f64,
    end_spread_mrad: Vec<f64>,
}

#[derive(Serialize)]
struct RatioOut {
    ratio: f64,
    ratio_interval: [f64; 2],
    p_tighter: f64,
    p_value: f64,
}

#[derive(Serialize)]
struct PairedOut {
    pairs: usize,
    #[serde(flatten)]
    ratio: RatioOut,
}

#[derive(Serialize)]
struct CentreOut {
    difference_mrad: [f64; 2],
    difference_cov_mrad2: [[f64; 2]; 2],
    t2: f64,
    degrees_of_freedom: f64,
    p_value: f64,
    from_ends: bool,
}

fn ratio(r: &SpreadRatio) -> RatioOut {
    RatioOut { ratio: r.ratio, ratio_interval: r.interval, p_tighter: r.p_tighter, p_value: r.p_value }
}

/// The object, on one line.
pub(super) fn json(report: &Report) -> Result<String, Failure> {
    let setting = |i: usize| {
        let s: &Setting = &report.settings[i];
        let spread = |e: &goldward_core::fleet::compare::EndSpread| {
            (e.shots > 1).then(|| ((e.squares_mrad2[0] + e.squares_mrad2[1]) / (2.0 * e.dof())).sqrt())
        };
        SettingOut {
            distance_m: report.files[i].distance.metres(),
            shots: s.shots,
            ends: s.ends.len(),
            flyers: s.flyers,
            spread_mrad: s.spread_mrad(),
            variance_mrad2: s.variance_mrad2,
            degrees_of_freedom: s.dof,
            end_spread_mrad: s.ends.iter().filter_map(spread).collect(),
        }
    };
    let c = &report.comparison;
    let out = Out {
        schema: SCHEMA,
        before: setting(0),
        after: setting(1),
        spread: ratio(&c.spread),
        spread_ratio_by_axis: c.by_axis,
        paired: c.paired.as_ref().map(|(r, pairs)| PairedOut { pairs: *pairs, ratio: ratio(r) }),
        centre: c.centre.as_ref().map(|h| CentreOut {
            difference_mrad: h.difference,
            difference_cov_mrad2: rows(h.cov),
            t2: h.t2,
            degrees_of_freedom: h.dof,
            p_value: h.p_value,
            from_ends: c.centre_from_ends,
        }),
        tell: report.tell,
        shots_to_tell: report.needed,
    };
    serde_json::to_string(&out).map(|text| text + "\n").map_err(|e| Failure::Internal(e.to_string()))
}
