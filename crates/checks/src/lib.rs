//! Outside references for the core: see the tests of this crate, one file a source.
//!
//! The stored values live in `refs/`, the scripts that made them in `scripts/` (each names its command and versions).

use std::path::Path;

use goldward_core::plane::{Point, Sym2};
use serde_json::Value;

/// Reads a stored reference.
///
/// # Panics
/// When the file is missing or no JSON: the checks cannot run without it.
#[must_use]
pub fn reference(name: &str) -> Value {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("refs").join(name);
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("cannot read the reference {name}: {e}"));
    serde_json::from_str(&text).unwrap_or_else(|e| panic!("the reference {name} is no JSON: {e}"))
}

/// The number at a JSON value.
///
/// # Panics
/// When it is none.
#[must_use]
pub fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

/// The list at a JSON value.
///
/// # Panics
/// When it is none.
#[must_use]
pub fn list(value: &Value) -> &[Value] {
    value.as_array().unwrap_or_else(|| panic!("{value} is no list"))
}

/// A point from `[x, y]`.
#[must_use]
pub fn point(value: &Value) -> Point {
    Point::new(number(&value[0]), number(&value[1]))
}

/// A symmetric matrix from `[[a, b], [b, c]]`.
#[must_use]
pub fn sym2(value: &Value) -> Sym2 {
    Sym2::new(number(&value[0][0]), number(&value[0][1]), number(&value[1][1]))
}

/// Fails with a message unless `got` is `want` within `tolerance`.
///
/// # Panics
/// When it is not.
pub fn near(what: &str, got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "{what}: got {got:.15e}, want {want:.15e}, tolerance {tolerance:e}");
}
