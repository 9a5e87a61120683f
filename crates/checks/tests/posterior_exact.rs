//! Source: `scripts/posterior_exact.py`, which enumerates every hypothesis of the model in Python and takes each
//! evidence from a chain of one-step-ahead multivariate t densities (SciPy), never from the closed form used here.
//! Tolerance: 1e-9 of the scale of each number, the accuracy promised for up to 8 shots; both sides work in doubles.

use checks::{Group, list, near, number, point, reference, sym2};
use goldward_core::group::{EXACT_SHOTS, KAPPA, Pattern};
use serde_json::Value;

fn check(case: &Value) {
    let name = case["name"].as_str().unwrap();
    let group = Group::of(case);
    let (shots, unmarked, got) = (&group.shots, group.unmarked, group.read());

    // Beyond the exact limit the lattice merges: `search.rs` has its bounds.
    assert!(shots.len() <= EXACT_SHOTS, "{name}: {} shots", shots.len());
    let tolerance = 1e-9;
    assert!(got.dropped_mass <= 0.0, "{name}: dropped {}", got.dropped_mass);
    for pattern in Pattern::ALL {
        let want = case["pattern_probability"].get(pattern.name()).map_or(0.0, number);
        near(&format!("{name}: {}", pattern.name()), got.probability(pattern), want, tolerance);
        if let Some(log_evidence) = case["patterns"].get(pattern.name()).map(|p| number(&p["log_evidence"])) {
            let what = format!("{name}: log evidence of {}", pattern.name());
            near(&what, got.log_evidence[pattern as usize], log_evidence, 1e-8_f64.max(1e-10 * log_evidence.abs()));
        }
    }
    for (i, (got, want)) in got.p_class.iter().zip(list(&case["p_class"])).enumerate() {
        for k in 0..3 {
            near(&format!("{name}: class {k} of shot {i}"), got[k], number(&want[k]), tolerance);
        }
    }
    let scale = number(&case["spread_mm2"][0][0]).max(number(&case["spread_mm2"][1][1]));
    let centre = point(&case["centre_mm"]);
    near(&format!("{name}: centre x"), got.centre.x_mm, centre.x_mm, tolerance * scale.sqrt());
    near(&format!("{name}: centre y"), got.centre.y_mm, centre.y_mm, tolerance * scale.sqrt());
    for (what, got, want) in [
        ("centre covariance", got.centre_cov, sym2(&case["centre_cov_mm2"])),
        ("spread", got.spread, sym2(&case["spread_mm2"])),
    ] {
        let scale = scale.max(want.xx).max(want.yy);
        near(&format!("{name}: {what} xx"), got.xx, want.xx, tolerance * scale);
        near(&format!("{name}: {what} xy"), got.xy, want.xy, tolerance * scale);
        near(&format!("{name}: {what} yy"), got.yy, want.yy, tolerance * scale);
    }
    for (at, want) in list(&case["predictive_points_mm"]).iter().zip(list(&case["predictive_density_per_mm2"])) {
        let density = got.next.density(point(at), unmarked.get(), KAPPA);
        let want = number(want);
        near(&format!("{name}: predictive density at {at}"), density, want, 1e-4 * want.max(1e-9));
    }
}

#[test]
fn every_case_agrees() {
    let reference = reference("posterior_exact.json");
    let cases = list(&reference["cases"]);
    assert!(cases.len() >= 30);
    for case in cases {
        check(case);
    }
}
