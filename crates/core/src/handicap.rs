//! Handicaps: one number for scores on different rounds.
//!
//! The archer of handicap `H` has arrows that are normal about the centre with a root mean square distance from it of
//! `sigma_r = R * 5e-4 * 1.035^(H + 6) * exp(0.00365 R)`, `R` the distance in metres and `sigma_r` in metres (the governing
//! body's formula of 2023, from memory; its constants agree with club results published in November 2024, see
//! `crates/checks/tests/handicap.rs`). A lower handicap is better.
//!
//! ```
//! use goldward_core::face::Face;
//! use goldward_core::handicap::{of_score, table_score};
//! use goldward_core::units::{Distance, Shaft};
//!
//! let (face, distance, shaft) = (Face::named("122")?, Distance::from_metres(70.0)?, Shaft::default());
//! let points = table_score(30, face, distance, shaft, 72);
//! assert_eq!(of_score(face, distance, shaft, 72, points), Some(30));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

use crate::face::Face;
use crate::units::{Distance, Shaft};

/// Largest handicap.
pub const LARGEST: u32 = 150;

/// Root mean square distance from the centre of the arrows of that handicap, in millimetres. Any real handicap.
#[must_use]
pub fn sigma_r_mm(handicap: f64, distance: Distance) -> f64 {
    let r = distance.metres();
    1000.0 * r * 5e-4 * 1.035f64.powf(handicap + 6.0) * (0.003_65 * r).exp()
}

/// Expected points of one arrow of that handicap on `face`.
///
/// The sum over zones of the step in value times `1 - exp(-(r / sigma_r)^2)`, `r` the radius of the zone and that of the shaft.
#[must_use]
pub fn expected_arrow(handicap: f64, face: &Face, distance: Distance, shaft: Shaft) -> f64 {
    let sigma = sigma_r_mm(handicap, distance);
    face.zones
        .iter()
        .enumerate()
        .map(|(i, zone)| {
            let next = face.zones.get(i + 1).map_or(0, |z| z.value);
            let inside = -(-((zone.radius_mm + shaft.radius_mm()) / sigma).powi(2)).exp_m1();
            f64::from(zone.value - next) * inside
        })
        .sum()
}

/// The score in the table for `shots` arrows of that handicap: the expected points, rounded up.
#[must_use]
pub fn table_score(handicap: u32, face: &Face, distance: Distance, shaft: Shaft, shots: u32) -> u32 {
    // Less a hair, so that a whole number does not go up by one from rounding errors.
    (f64::from(shots) * expected_arrow(f64::from(handicap), face, distance, shaft) - 1e-9).ceil().max(0.0) as u32
}

/// The handicap of a score: the smallest whose score in the table is not above it. Nothing for a score that is worse than
/// the largest handicap's, without arrows, or more than the face can give.
#[must_use]
pub fn of_score(face: &Face, distance: Distance, shaft: Shaft, shots: u32, points: u32) -> Option<u32> {
    if shots == 0 || points > shots.saturating_mul(u32::from(face.highest_value())) {
        return None;
    }
    // The table falls with the handicap.
    let (mut low, mut high) = (0, LARGEST + 1);
    while low < high {
        let middle = u32::midpoint(low, high);
        if table_score(middle, face, distance, shaft, shots) <= points {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    (low <= LARGEST).then_some(low)
}
