//! Sight marks: from the flight of the arrow to the scale of the sight, and back.
//!
//! # Geometry
//! The bow, its sight bar and the archer's head turn together. Let `a` be the direction of the arrow on the string,
//! `n` the direction perpendicular to it, up, in the plane of the bow. The nock is at `N`, the eye at `E = N + h n`
//! (`h`: eye above the arrow, which the anchor fixes). The pin is at `P = E + L a - p n`: `L` ahead of the eye,
//! measured along the arrow, and `p` below the line through the eye that is parallel to the arrow. The archer sees the
//! pin on the middle of
//! the face, so the line of sight runs from `E` through `P`, and the arrow points above it by the launch angle `theta`
//! with
//!
//! > `p = L tan theta`.
//!
//! Seen from the line of sight (origin at the eye), the arrow leaves from `(h sin theta, -h cos theta)` at the angle
//! `theta`, and must come to height nought at the distance `D`:
//! [`Flight::angle_for`](crate::flight::Flight::angle_for) finds
//! that
//! angle exactly. The scale then shows
//!
//! > `reading = scale_zero + L tan theta`,
//!
//! which grows as the pin goes down. Roughly `tan theta = h / D + g D / (2 v^2) (1 + 2 k D / 3)`: the first term is
//! the parallax of an eye above the arrow, the second the drop. So the reading is least near `D = v sqrt(2 h / g)`
//! (about 9 m for a target
//! bow) and grows again at shorter range: at 5 m the pin is lower than at 10 m.
//!
//! `scale_zero` is where the pin would stand to look parallel to the arrow. Nobody measures it; the fit finds it.
//!
//! # Limits
//! The bar is taken as perpendicular to the arrow, the anchor as the same at every distance, and the arrow as in
//! [`crate::flight`]. A mark for a distance not yet shot is a prediction: it is first shot at a close, safe distance
//! with a clear overshoot area and stepped out, as the range captain and the national rules have it.
//!
//! ```
//! use goldward_core::flight::{Arrow, Drag};
//! use goldward_core::marks::{Rig, Mark, Sighting, fit};
//! use goldward_core::units::Distance;
//!
//! // The eye 880 mm from the pin and 115 mm above an arrow of 21 g and 5.5 mm.
//! let rig = Rig::new(Sighting::new(880.0, 115.0)?, Arrow::new(21.0, 5.5, Drag::default())?);
//! let mark = |metres, reading_mm| Mark::new(Distance::from_metres(metres)?, reading_mm, 0.3);
//! let fitted = fit(&rig, &[mark(18.0, 42.3)?, mark(30.0, 60.1)?, mark(50.0, 91.4)?])?;
//! let at_40 = fitted.predict(40.0)?;
//! assert!(at_40.reading_mm > 60.1 && at_40.reading_mm < 91.4 && !at_40.extrapolated);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod aids;
mod fit;
mod hypothesis;
mod predict;
mod prior;
mod response;
mod sighting;
mod wrong;

pub use aids::{ElevationMove, SlopeMark, WindAid, elevation_move, slope_mark, wind_aid};
pub use fit::{Fitted, Suspect, WRONG_MARK_ODDS, fit};
pub use predict::{Next, Prediction};
pub use prior::{Bow, Rig, SpeedPrior, Unit};
pub use sighting::{MARK_ARROWS, Mark, PinDown, SCALE_SD_MM, Scale, Sighting, mark_sd_mm};
pub use wrong::{Candidate, WrongMark};

use crate::flight::FlightError;
use crate::range::OutOfRange;
use crate::units::UnitError;

/// Why marks cannot be fitted or predicted, and what to change.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MarksError {
    /// A number is outside its domain.
    #[error(transparent)]
    Unit(#[from] UnitError),
    /// The flight behind a mark cannot be had.
    #[error(transparent)]
    Flight(#[from] FlightError),
    /// There are no marks.
    #[error("there are no marks: shoot one distance in and note its reading first")]
    NoMarks,
    /// There are more marks than are useful.
    #[error("{marks} marks are too many for one fit: keep the latest {most}")]
    TooMany {
        /// How many there were.
        marks: usize,
        /// How many are accepted.
        most: usize,
    },
    /// Nothing to choose from.
    #[error("no distance was given: name at least one")]
    NoDistances,
    /// The marks and the kit contradict each other so strongly that no parameters came out.
    #[error(
        "the marks do not settle on a speed and a drag after {iterations} iterations: check the readings, the scale's direction and the kit"
    )]
    NotSettled {
        /// The cap.
        iterations: usize,
    },
}

impl From<OutOfRange> for MarksError {
    fn from(error: OutOfRange) -> Self {
        Self::Unit(error.into())
    }
}
