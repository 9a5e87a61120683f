//! Source: `refs/doubt_sampler.json`, an ensemble sampler (emcee) on the doubted prior with its heavy tails and on shots that share
//! an offset by end, as the densities are written; `scripts/doubt_sampler.py` names its command and versions.
//!
//! Tolerance: four Monte Carlo standard errors, plus 1 % of a standard deviation or of the spread for what core merges.

use checks::{face_122, list, near, number, point, reference};
use goldward_core::group::{ClassOdds, Doubt, EndEffect, Prior, read};
use goldward_core::shot::Shot;
use goldward_core::units::Shaft;

#[test]
fn a_doubted_prior_against_a_sampler() {
    for case in list(&reference("doubt_sampler.json")["cases"]) {
        let name = case["name"].as_str().unwrap();
        let end = EndEffect { windage: number(&case["end_effect"][0]), elevation: number(&case["end_effect"][1]) };
        let prior = Prior::on_face(number(&case["spread_mm"]), number(&case["worth"]), number(&case["trust"]))
            .and_then(|p| p.doubted(Doubt { setting: 0.15, tighter_octaves: 0.5, wider_octaves: 0.5 }))
            .and_then(|p| p.with_end_effect(end))
            .unwrap();
        let ends = list(&case["ends"]);
        let shots: Vec<Shot> = list(&case["shots_mm"])
            .iter()
            .zip(ends)
            .map(|(z, end)| {
                let z = point(z);
                Shot::at(z.x_mm, z.y_mm).in_end(number(end) as u32)
            })
            .collect();
        let got = read(&shots, &prior, ClassOdds::default(), face_122(), Shaft::default()).unwrap();
        let is = |what: &str, of: &str, got: f64, scale: f64| {
            let want = &case[what][of];
            let (value, se) = (number(&want["value"]), number(&want["se"]));
            eprintln!("{name}: {of} of {what}: {got:.2}, sampled {value:.2} +- {se:.2}");
            near(&format!("{name}: {of} of {what}"), got, value, 4.0 * se + 0.01 * scale);
        };
        let sd = [got.centre_cov.xx.sqrt(), got.centre_cov.yy.sqrt()];
        is("centre_x_mm", "mean", got.centre.x_mm, sd[0]);
        is("centre_y_mm", "mean", got.centre.y_mm, sd[1]);
        is("centre_x_mm", "sd", sd[0], sd[0]);
        is("centre_y_mm", "sd", sd[1], sd[1]);
        is("spread_xx_mm2", "mean", got.spread.xx, got.spread.xx);
        is("spread_yy_mm2", "mean", got.spread.yy, got.spread.yy);
    }
}
