//! Source: `scripts/fleet_tests.py` (SciPy and statsmodels on invented samples and on a grid), and published examples, each
//! cited where it stands.
//! Tolerance: 1e-8 relative against libraries (both work in doubles; ours goes through a gamma function good to about 1e-13 and,
//! for quantiles, a bisection); for published values half a unit of the last digit printed.

use checks::{list, near, number, point, reference};
use goldward_core::stats::centres::Hotelling;
use goldward_core::stats::discovery::benjamini_hochberg;
use goldward_core::stats::distribution::{f_above, t_above};
use goldward_core::stats::spread::{Grubbs, VarianceRatio, brown_forsythe, expected_range};
use serde_json::Value;

fn numbers(value: &Value) -> Vec<f64> {
    list(value).iter().map(number).collect()
}

fn pairs(value: &Value) -> Vec<[f64; 2]> {
    list(value).iter().map(pair).collect()
}

fn pair(value: &Value) -> [f64; 2] {
    let p = point(value);
    [p.x_mm, p.y_mm]
}

fn close(what: &str, got: f64, want: f64) {
    near(what, got, want, 1e-8 * want.abs().max(1e-6));
}

fn variance(x: &[f64]) -> f64 {
    let mean = x.iter().sum::<f64>() / x.len() as f64;
    x.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (x.len() as f64 - 1.0)
}

#[test]
fn two_variances() {
    for case in list(&reference("fleet_tests.json")["variances"]) {
        let (a, b) = (numbers(&case["first"]), numbers(&case["second"]));
        let got =
            VarianceRatio::new([variance(&a), variance(&b)], [a.len() as f64 - 1.0, b.len() as f64 - 1.0]).unwrap();
        close("F", got.f, number(&case["f"]));
        close("p", got.p_value, number(&case["p_value"]));
        for (got, want) in got.interval(0.9).iter().zip(numbers(&case["interval_90"])) {
            close("interval", *got, want);
        }
        let (w, p) = brown_forsythe(&[&a, &b]).unwrap();
        close("Brown-Forsythe", w, number(&case["brown_forsythe"]));
        close("its p", p, number(&case["brown_forsythe_p"]));
    }
}

#[test]
fn centres() {
    for case in list(&reference("fleet_tests.json")["centres"]) {
        let (a, b) = (pairs(&case["first"]), pairs(&case["second"]));
        let one = Hotelling::one(&a, pair(&case["at"])).unwrap();
        close("T2 of one", one.t2, number(&case["one_t2"]));
        close("p of one", one.p_value, number(&case["one_p"]));
        let two = Hotelling::two(&a, &b).unwrap();
        close("T2 of two", two.t2, number(&case["two_t2"]));
        close("p of two", two.p_value, number(&case["two_p"]));
    }
}

#[test]
fn discoveries_ranges_and_tails() {
    let reference = reference("fleet_tests.json");
    for case in list(&reference["discoveries"]) {
        let got = benjamini_hochberg(&numbers(&case["p"]));
        for (got, want) in got.iter().zip(numbers(&case["adjusted"])) {
            close("adjusted", *got, want);
        }
    }
    for row in list(&reference["grubbs_critical"]) {
        let n = row[0].as_u64().unwrap();
        let values: Vec<f64> = (0..n).map(|i| (i * i) as f64).collect();
        close("Grubbs", Grubbs::new(&values).unwrap().critical(number(&row[1])), number(&row[2]));
    }
    for row in list(&reference["expected_range"]) {
        // The error function is good to about 1e-10, here summed over the line.
        near("range", expected_range(u32::try_from(row[0].as_u64().unwrap()).unwrap()), number(&row[1]), 1e-8);
    }
    for row in list(&reference["f_above"]) {
        let [x, a, b, want] = [0, 1, 2, 3].map(|i| number(&row[i]));
        // Large parameters: the logarithm of the gamma function is near 1e6, so its rounding is near 1e-9.
        near(&format!("F {x} {a} {b}"), f_above(x, a, b), want, 1e-8 * want.max(1e-3));
    }
    for row in list(&reference["t_above"]) {
        let [x, d, want] = [0, 1, 2].map(|i| number(&row[i]));
        near(&format!("t {x} {d}"), t_above(x, d), want, 1e-9);
    }
}

/// NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.5.9 (F test), ceramic strength JAHANMI2.DAT: two batches of 240,
/// standard deviations 65.54909 and 61.85425 as printed there, F = 1.123037 and not significant at 5 %. Tolerance: the standard
/// deviations have seven digits, so F has six.
#[test]
fn ceramic_strength() {
    let got = VarianceRatio::new([65.54909_f64.powi(2), 61.85425_f64.powi(2)], [239.0, 239.0]).unwrap();
    near("F", got.f, 1.123_037, 1e-6);
    assert!(got.p_value > 0.05);
}

/// The same handbook, section 1.3.5.17.1 (Grubbs' test): eight masses, G = 2.46876; the one-sided 5 % limit printed there,
/// 2.032 (recalled from memory), is the two-sided 10 % limit.
#[test]
fn grubbs_masses() {
    let got = Grubbs::new(&[199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]).unwrap();
    near("G", got.g, 2.468_76, 5e-6);
    assert_eq!(got.index, 7);
    near("limit", got.critical(0.1), 2.032, 5e-4);
}

/// Johnson & Wichern, "Applied Multivariate Statistical Analysis", example 5.1: (6, 9), (10, 6), (8, 3) against (9, 5) give
/// T^2 = 7/9. Exact but for rounding. (The data are recalled from memory; the result is the one that the book states.)
#[test]
fn johnson_and_wichern() {
    let got = Hotelling::one(&[[6.0, 9.0], [10.0, 6.0], [8.0, 3.0]], [9.0, 5.0]).unwrap();
    near("T2", got.t2, 7.0 / 9.0, 1e-13);
}

/// Tables of control charts: d2 = 2.534 for six. Tolerance: the digits printed.
#[test]
fn range_of_six() {
    near("d2", expected_range(6), 2.534, 5e-4);
}
