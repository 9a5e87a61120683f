//! The flight of an arrow as a point mass with quadratic drag.
//!
//! # Frame
//! The frame of the line of sight: the eye is the origin, `s` runs along the line of sight to the middle of the face,
//! `y` up and perpendicular to it, `x` to the right as the archer sees it. The face stands in the plane `s = distance`,
//! perpendicular to the line of sight. A slope is the angle of that line above the horizon: positive uphill.
//!
//! # Model
//! `dv/dt = g - k |v - w| (v - w)`, with `w` the wind and `k = rho Cd A / (2 m)` per metre: density of the air, drag
//! coefficient on the cross-section of the shaft, mass. `Cd` may depend on the Reynolds number ([`Drag`]).
//!
//! # Limits
//! A point has no attitude: the yaw and the flexing of an arrow that has just left the bow, its lift and its turning
//! into the wind count only so far as a drag coefficient can hold them. Density and wind are the same along the
//! flight. The flight
//! begins at the nock at full draw with the launch speed: the stretch that the string takes is flown as if free.
//!
//! ```
//! use goldward_core::flight::{Arrow, Conditions, Drag, Flight};
//!
//! // 21 g, 5.5 mm, 57 m/s, the nock 115 mm below the eye, launched at three degrees: in the plane 50 m away.
//! let flight = Flight::new(Arrow::new(21.0, 5.5, Drag::default())?, Conditions::default(), 57.0, 115.0)?;
//! let hit = flight.fly(3_f64.to_radians(), 50.0)?;
//! // Without air it would fall g t^2 / 2 in t = 50 m / (57 m/s cos 3 deg); drag makes it later and lower.
//! let t = 50.0 / (57.0 * 3_f64.to_radians().cos());
//! assert!(hit.time_s > t && hit.drop_m > 0.5 * 9.81 * t * t && hit.speed_m_s < 57.0);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod aim;
mod air;
mod arrow;
mod path;
mod wind;

pub use air::{Air, DRY_STANDARD_PA, Weather};
pub use arrow::{Arrow, CD_DEFAULT, CD_DEFAULT_LN_SD, Drag};
pub use path::{Conditions, Flight, GRAVITY_M_S2, Hit};
pub use wind::{Gust, Wind, WindEffect};

use crate::range::OutOfRange;
use crate::units::UnitError;

/// Why there is no flight to report, and what to change.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FlightError {
    /// A number is outside its domain.
    #[error(transparent)]
    Unit(#[from] UnitError),
    /// No launch angle carries the arrow so far.
    #[error(
        "an arrow at {speed_m_s:.1} m/s does not reach {distance_m:.1} m: at its best angle it passes {short_m:.1} m below; check the speed, the drag and the distance"
    )]
    OutOfReach {
        /// The distance asked for, along the line of sight.
        distance_m: f64,
        /// The launch speed.
        speed_m_s: f64,
        /// How far below the target the best angle passes; infinite when the arrow stops before the face at every
        /// angle.
        short_m: f64,
    },
    /// The arrow lost its forward speed before the face.
    #[error(
        "the arrow stops going forward at {stopped_m:.1} m, before {distance_m:.1} m: check the speed, the angle and the wind"
    )]
    Stopped {
        /// Where, along the line of sight.
        stopped_m: f64,
        /// The distance asked for.
        distance_m: f64,
    },
    /// An iteration reached its cap.
    #[error(
        "the flight to {distance_m:.1} m did not settle after {iterations} iterations (left over {residual:e}): check the speed, the drag and the wind"
    )]
    NotSettled {
        /// The distance asked for.
        distance_m: f64,
        /// The cap.
        iterations: usize,
        /// What was left over, in metres.
        residual: f64,
    },
}

impl From<OutOfRange> for FlightError {
    fn from(error: OutOfRange) -> Self {
        Self::Unit(error.into())
    }
}
