//! Source: `scripts/evidence_chain.py`, the marginal likelihood of the weighted matrix-normal inverse-Wishart regression as a
//! chain of SciPy's multivariate t; its last case has the rows of R. A. Johnson and D. W. Wichern, "Applied Multivariate
//! Statistical Analysis", example 5.1, with log evidence -19.974042723.
//!
//! Two comparisons. (a) Core, as far as its public face reaches: with class probabilities [1, 0, 0] only "all clean" is left,
//! so the log evidence of `steady` and of `drifting` is one number of the closed form, and that of `jumped` times the
//! posterior of its jump is another; with [0, 1, 0] or [0, 0, 1] (as near as the first may come to 0) all shots are flyers or
//! strays. Rows with mixed classes and `split` labels cannot be singled out from outside: those are covered, summed, by
//! `posterior_exact.rs`. (b) `checks::chain`, the other route that `search.rs` stands on: every case.
//!
//! Tolerance: 1e-9 in the log, the accuracy promised; both sides work in doubles.

use checks::chain::Chain;
use checks::{face_122, list, near, number, point, prior, reference, sym2};
use goldward_core::group::{ClassOdds, Pattern, Reading, read};
use goldward_core::plane::Point;
use goldward_core::shot::Shot;
use goldward_core::units::Shaft;
use serde_json::Value;

fn check(what: &str, got: f64, want: f64) {
    near(what, got, want, 1e-9);
}

/// The class that all shots share, if they do.
fn shared_class(case: &Value) -> Option<usize> {
    let kappa: Vec<f64> = list(&case["kappa"]).iter().map(number).collect();
    [1.0, 9.0, 100.0].iter().position(|k| kappa.iter().all(|other| (other - k).abs() < 1e-12))
}

/// Reads the case with every shot in `class`.
fn pinned(case: &Value, class: usize) -> Reading {
    let nu0 = number(&case["nu0"]);
    let psi0 = sym2(&case["psi0"]);
    let worth = nu0 - 3.0;
    let prior = prior((psi0.xx / worth).sqrt(), worth, number(&case["prior_precision"][0][0]));
    // The first may not be nothing; 1e-300 is.
    let mut odds = [1e-300, 0.0, 0.0];
    odds[class] = 1.0;
    let shots: Vec<Shot> = list(&case["shots"]).iter().map(point).map(|p| Shot::at(p.x_mm, p.y_mm)).collect();
    read(&shots, &prior, ClassOdds::new(odds).unwrap(), face_122(), Shaft::default()).unwrap()
}

#[test]
fn core_agrees_where_its_public_face_reaches() {
    let reference = reference("evidence_chain.json");
    let mut reached = [0; 4];
    for case in list(&reference["cases"]) {
        let name = case["name"].as_str().unwrap();
        let want = number(&case["log_evidence"]);
        let Some(class) = shared_class(case) else { continue };
        let n = list(&case["shots"]).len();
        let pattern = match name.split('_').next().unwrap() {
            "centre" | "johnson" => Pattern::Steady,
            "drift" if n >= 6 => Pattern::Drifting,
            "jump" if n >= 6 => Pattern::Jumped,
            _ => continue,
        };
        let reading = pinned(case, class);
        let mut got = reading.log_evidence[pattern as usize];
        if pattern == Pattern::Jumped {
            // p(c, shots | jumped) = p(c | shots) p(shots | jumped), and c is one of n - 5; the stored rows jump before shot 4.
            got += reading.jump_before[3].ln() + ((n - 5) as f64).ln();
        }
        check(name, got, want);
        if pattern == Pattern::Steady {
            let posterior = &case["posterior"];
            let mean = point(&posterior["mean"][0]);
            let psi = sym2(&posterior["psi"]);
            let nu = number(&posterior["nu"]);
            // With an unpinned pattern beside it the total is a mixture, so the moments only where steady is alone.
            if n < 4 {
                near(&format!("{name}: centre"), reading.centre.x_mm, mean.x_mm, 1e-9 * psi.xx.sqrt());
                near(&format!("{name}: spread"), reading.spread.xy, psi.xy / (nu - 3.0), 1e-9 * psi.xx);
            }
        }
        reached[pattern as usize] += 1;
    }
    assert!(reached[0] >= 14 && reached[2] >= 3 && reached[3] >= 3, "reached {reached:?}");
}

#[test]
fn johnson_and_wichern_example_5_1() {
    let rows = [(6.0, 9.0), (10.0, 6.0), (8.0, 3.0)];
    let shots = rows.map(|(x, y)| Shot::at(x - 8.0, y - 6.0));
    // kappa0 = 1, nu0 = 4, Lambda0 = I: trust 1, worth nu0 - 3 = 1, and a spread of 1 mm, so that Psi0 = spread^2 worth I = I.
    let clean = ClassOdds::new([1.0, 0.0, 0.0]).unwrap();
    let reading = read(&shots, &prior(1.0, 1.0, 1.0), clean, face_122(), Shaft::default()).unwrap();
    check("log evidence", reading.log_evidence[Pattern::Steady as usize], -19.974_042_723);
}

#[test]
fn the_chain_of_this_crate_agrees_with_scipy() {
    let reference = reference("evidence_chain.json");
    let cases = list(&reference["cases"]);
    assert!(cases.len() >= 60);
    for case in cases {
        let name = case["name"].as_str().unwrap();
        let precision = list(&case["prior_precision"]);
        let two = precision.len() == 2;
        let second = if two { number(&precision[1][1]) } else { 1.0 };
        let mut chain = Chain::new([number(&precision[0][0]), second], number(&case["nu0"]), sym2(&case["psi0"]));
        for ((row, kappa), z) in list(&case["rows"]).iter().zip(list(&case["kappa"])).zip(list(&case["shots"])) {
            let before = chain.log_evidence;
            chain = chain.with(point(z), if two { number(&row[1]) } else { 0.0 }, number(kappa));
            let i = (chain.nu - number(&case["nu0"])).round() as usize - 1;
            check(&format!("{name}: step {i}"), chain.log_evidence - before, number(&case["steps"][i]));
        }
        check(name, chain.log_evidence, number(&case["log_evidence"]));
        let posterior = &case["posterior"];
        let psi = sym2(&posterior["psi"]);
        near(&format!("{name}: psi"), chain.psi.xy, psi.xy, 1e-10 * (psi.xx + psi.yy));
        let mean: Point = point(&posterior["mean"][0]);
        near(&format!("{name}: mean"), chain.b[0].y_mm, mean.y_mm, 1e-10 * psi.yy.sqrt());
    }
}
