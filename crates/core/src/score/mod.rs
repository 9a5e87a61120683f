//! What an arrow is worth before it is shot: expected scores.
//!
//! [`expected_normal`] and [`expected_t`] integrate one distribution over the zones of a face to full accuracy.
//! [`Scorer`] is the fast lane for advice and simulation: it keeps a table of the expected score of an isotropic normal on
//! one face, filled as it is used, and composes everything else from it. [`Rings`] gives the probability of each number of points
//! where the mean is not enough; [`zones_normal`] and [`zones_t`] to full accuracy.
//!
//! ```
//! use goldward_core::face::Face;
//! use goldward_core::plane::{Point, Sym2};
//! use goldward_core::score::expected_normal;
//! use goldward_core::units::Shaft;
//!
//! let cov = Sym2 { xx: 147.0 * 147.0, xy: 0.0, yy: 147.0 * 147.0 };
//! let (face, shaft) = (Face::named("122")?, Shaft::default());
//! let [centred, high] = [0.0, 150.0].map(|y_mm| expected_normal(face, shaft, Point::new(0.0, y_mm), cov));
//! assert!(centred? > high?);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod circle;
mod rings;
mod table;

pub use circle::{normal_in_circle, t_in_circle};
pub use rings::{Rings, zones_normal, zones_t};
pub use table::{Prepared, Scorer, Spot};

use crate::face::Face;
use crate::plane::{Point, Sym2};
use crate::units::Shaft;

/// Why an expected score could not be given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ScoreError {
    /// The covariance or scale is not positive definite, or a number is not finite.
    #[error(
        "the matrix {} {} {} about {}, {} is no distribution: it must be finite and positive definite",
        scale.xx, scale.xy, scale.yy, mean.x_mm, mean.y_mm
    )]
    NoDistribution {
        /// The mean given.
        mean: Point,
        /// The covariance or scale given.
        scale: Sym2,
    },
    /// Degrees of freedom that are not positive.
    #[error("{0} degrees of freedom: they must be positive and finite")]
    DegreesOfFreedom(f64),
    /// The doubling of nodes did not settle.
    #[error(
        "the probability of a circle of {radius_mm} mm did not settle: still changing by {change:e} at {nodes} nodes"
    )]
    NotSettled {
        /// The circle.
        radius_mm: f64,
        /// The last change.
        change: f64,
        /// How many nodes that took.
        nodes: usize,
    },
}

fn sum_over_zones(
    face: &Face,
    shaft: Shaft,
    inside: impl Fn(f64) -> Result<f64, ScoreError>,
) -> Result<f64, ScoreError> {
    let mut total = 0.0;
    for (i, zone) in face.zones.iter().enumerate() {
        let next = face.zones.get(i + 1).map_or(0, |z| z.value);
        total += f64::from(zone.value - next) * inside(zone.radius_mm + shaft.radius_mm())?;
    }
    Ok(total)
}

/// Expected score of an arrow whose place is normal about `mean` (mm, face frame) with covariance `cov` (mm^2).
///
/// Absolute error below 1e-9 points. The sum over zones of the step in value times the probability of the circle, see
/// [`normal_in_circle`] for the formula. On a face of several spots only the spot aimed at counts.
///
/// # Errors
/// [`ScoreError`].
pub fn expected_normal(face: &Face, shaft: Shaft, mean: Point, cov: Sym2) -> Result<f64, ScoreError> {
    sum_over_zones(face, shaft, |r| normal_in_circle(mean, cov, r))
}

/// Expected score of an arrow whose place is a bivariate t of `dof` degrees of freedom about `mean` (mm) with scale matrix
/// `scale` (mm^2). As [`expected_normal`] otherwise.
///
/// # Errors
/// [`ScoreError`].
pub fn expected_t(face: &Face, shaft: Shaft, mean: Point, scale: Sym2, dof: f64) -> Result<f64, ScoreError> {
    sum_over_zones(face, shaft, |r| t_in_circle(mean, scale, dof, r))
}
