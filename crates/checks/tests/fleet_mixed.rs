//! Source: `scripts/fleet_mixed.py`, linear mixed models by statsmodels MixedLM (REML, dense covariance matrices and a
//! quasi-Newton search), arrows alone and arrows crossed with ends.
//! Tolerance: 2e-4 of the variance of a shot for each component and 2e-4 mrad for each predicted offset: the other side stops on
//! its gradient, where the likelihood is flat (three of its methods differ by that much); ours is exact to about 1e-7. That our optimum is
//! at least as good is checked by the likelihood, to 1e-6.

use checks::{list, near, number, reference};
use goldward_core::fleet::{Components, components};
use serde_json::Value;

fn numbers(value: &Value) -> Vec<f64> {
    list(value).iter().map(number).collect()
}

fn counts(value: &Value) -> Vec<usize> {
    list(value).iter().map(|v| usize::try_from(v.as_u64().unwrap()).unwrap()).collect()
}

fn fit(case: &Value) -> Components {
    let (arrow, end) = (counts(&case["arrow"]), counts(&case["end"]));
    components(&numbers(&case["places_mrad"]), &arrow, &end, &counts(&case["session_of_end"])).unwrap()
}

#[test]
fn components_and_offsets_are_those_of_the_mixed_model() {
    let reference = reference("fleet_mixed.json");
    let cases = list(&reference["cases"]);
    assert!(cases.len() >= 6);
    for case in cases {
        let name = case["name"].as_str().unwrap();
        let got = fit(case);
        let total = number(&case["within_mrad2"]);
        for (what, got, want) in [
            ("within", got.within, &case["within_mrad2"]),
            ("arrows", got.arrows, &case["between_mrad2"]),
            ("ends", got.ends, &case["ends_mrad2"]),
        ] {
            let want = number(want);
            eprintln!("{name}: {what} {got:.6} {want:.6}");
            near(&format!("{name}: {what}"), got, want, 2e-4 * total.max(want));
        }
        for (a, (got, want)) in got.offsets.iter().zip(numbers(&case["arrow_effects_mrad"])).enumerate() {
            near(&format!("{name}: offset of arrow {a}"), *got, want, 2e-4);
        }
    }
}

/// Both sides give a log likelihood; ours lacks a constant that depends on the number of shots and sessions only,
/// `-2 l = deviance + dof (1 + ln 2 pi)`. The tolerance of 1e-5 is for the other side's constant, which is as exact as ours.
#[test]
fn our_optimum_is_no_worse() {
    let reference = reference("fleet_mixed.json");
    for case in list(&reference["cases"]) {
        let name = case["name"].as_str().unwrap();
        let (got, dof) = (fit(case), list(&case["places_mrad"]).len() as f64 - sessions(case));
        let theirs = -2.0 * number(&case["log_likelihood"]);
        let constant = dof * (1.0 + (2.0 * std::f64::consts::PI).ln());
        eprintln!("{name}: deviance {:.6}, theirs {:.6}", got.deviance + constant, theirs);
        assert!(got.deviance + constant <= theirs + 1e-5, "{name}: {} {theirs}", got.deviance + constant);
    }
}

fn sessions(case: &Value) -> f64 {
    counts(&case["session_of_end"]).into_iter().max().unwrap() as f64 + 1.0
}
