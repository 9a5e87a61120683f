//! Outside references for the core: see the tests of this crate, one file a source.
//!
//! The stored values live in `refs/`, the scripts that made them in `scripts/` (each names its command and versions).

pub mod chain;
pub mod duels;
pub mod enumerate;
pub mod habits;
pub mod marginal;
pub mod model;
pub mod particles;
pub mod statistics;
pub mod truth;

use std::path::Path;

use goldward_core::face::Face;
use goldward_core::group::{ClassOdds, Prior, Reading, read};
use goldward_core::plane::{Point, Sym2};
use goldward_core::shot::{Felt, Shot};
use goldward_core::units::{Distance, Shaft, Spread};
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

/// The prior of an archer whose shots spread by `spread_mm` on the face, one standard deviation an axis, taken at its word.
///
/// # Panics
/// When a number is out of range.
#[must_use]
pub fn prior(spread_mm: f64, worth: f64, trust: f64) -> Prior {
    // A metre and as many milliradians as there are millimetres, or a hundred times that where the range asks for it.
    let metres = if spread_mm > 90.0 { 100.0 } else { 1.0 };
    let spread = Spread::from_mrad(spread_mm / metres).expect("a spread within the range");
    Prior::new(spread, Distance::from_metres(metres).expect("a distance"), worth, trust)
        .expect("a prior within the range")
        .as_told()
}

/// A stored group, as `posterior_exact.json` and `posterior_sampler.json` write it.
#[derive(Debug, Clone)]
pub struct Group {
    /// The shots, oldest first.
    pub shots: Vec<Shot>,
    /// The prior.
    pub prior: Prior,
    /// Class probabilities of an unmarked shot.
    pub unmarked: ClassOdds,
}

impl Group {
    /// From a case of a reference.
    ///
    /// # Panics
    /// When something is missing.
    #[must_use]
    pub fn of(case: &Value) -> Self {
        let shots = list(&case["shots_mm"]).iter().zip(list(&case["marks"])).map(|(p, mark)| {
            let felt = match mark.as_str() {
                Some("good") => Felt::Good,
                Some("bad") => Felt::Bad,
                _ => Felt::Unmarked,
            };
            let p = point(p);
            Shot::at(p.x_mm, p.y_mm).felt(felt)
        });
        let distance = Distance::from_metres(number(&case["distance_m"])).expect("a distance");
        let spread = Spread::from_mrad(number(&case["spread_mrad"])).expect("a spread");
        let odds = list(&case["unmarked"]);
        Self {
            shots: shots.collect(),
            prior: Prior::new(spread, distance, number(&case["worth"]), number(&case["trust"]))
                .expect("a prior")
                .as_told(),
            unmarked: ClassOdds::new([number(&odds[0]), number(&odds[1]), number(&odds[2])]).expect("class odds"),
        }
    }

    /// Reads it on the 122 cm face, which matters for calls only.
    ///
    /// # Panics
    /// When it cannot be read.
    #[must_use]
    pub fn read(&self) -> Reading {
        read(&self.shots, &self.prior, self.unmarked, face_122(), Shaft::default()).expect("a group that can be read")
    }
}

/// The 122 cm face.
///
/// # Panics
/// When there is none.
#[must_use]
pub fn face_122() -> &'static Face {
    Face::named("122").expect("the 122 cm face")
}
