//! From the face to the pin: similar triangles, clicks, and carrying shots across a touch.
//!
//! The sight follows the arrows: a group that is high asks for the pin to go up, a group to the left asks for left. A
//! pin moved by `p` as the archer sees it makes later shots land `p * D / L` towards the other side, with `D` the
//! distance and `L` the distance from eye to pin, both in the same unit. That amount, signed like the pin's move, is
//! called the *shift*: a shot shot before the touch is carried into the present setting by subtracting it.
//!
//! ```
//! use goldward_core::plane::Point;
//! use goldward_core::sight::Sight;
//! use goldward_core::units::Distance;
//!
//! // A pin 880 mm from the eye, clicks of 0.1 mm, set to 0.05 mm.
//! let sight = Sight::new(880.0, [0.1, 0.1], 0.05)?;
//! let shift = sight.shift_mm(Point::new(0.0, 1.0), Distance::from_metres(70.0)?);
//! assert!((shift.y_mm - 70_000.0 / 880.0).abs() < 1e-9);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

use crate::plane::Point;
use crate::range::within;
use crate::units::{Distance, UnitError};

/// How much more or less than told a touch may give.
const GIVES: [f64; 2] = [0.25, 4.0];

/// The part of the kit that turns clicks into millimetres on the face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sight {
    eye_to_pin_mm: f64,
    click_mm: [f64; 2],
    setting_sd_mm: f64,
    gives: [f64; 2],
}

impl Default for Sight {
    /// 880 mm from eye to pin and clicks of 0.1 mm, set without error: a recurve's sight on a long bar (common practice,
    /// no source).
    fn default() -> Self {
        Self { eye_to_pin_mm: 880.0, click_mm: [0.1, 0.1], setting_sd_mm: 0.0, gives: [1.0; 2] }
    }
}

impl Sight {
    /// A sight whose pin is `eye_to_pin_mm` from the eye, moved by `click_mm` (windage, elevation) a click, each touch
    /// being off by a normal error of `setting_sd_mm` an axis. All at the pin, in millimetres.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`]: eye to pin 100 to 3000, a click 0.001 to 20, the setting error 0 to 20.
    pub fn new(eye_to_pin_mm: f64, click_mm: [f64; 2], setting_sd_mm: f64) -> Result<Self, UnitError> {
        let check = |what, value: f64, min: f64, max: f64| within(what, value, "mm", min, max);
        check("the distance from eye to pin", eye_to_pin_mm, 100.0, 3000.0)?;
        check("a click of windage", click_mm[0], 0.001, 20.0)?;
        check("a click of elevation", click_mm[1], 0.001, 20.0)?;
        check("the error of a setting", setting_sd_mm, 0.0, 20.0)?;
        Ok(Self { eye_to_pin_mm, click_mm, setting_sd_mm, gives: [1.0; 2] })
    }

    /// The same, where a touch of windage and one of elevation move the arrows `gives` times as far as click and eye-to-pin say.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`]: each must lie in 0.25 to 4.
    pub fn with_gives(self, gives: [f64; 2]) -> Result<Self, UnitError> {
        for value in gives {
            within("what a touch gives", value, "", GIVES[0], GIVES[1])?;
        }
        Ok(Self { gives, ..self })
    }

    /// How far a touch of windage and one of elevation move the arrows, over what click and eye-to-pin say.
    #[must_use]
    pub fn gives(&self) -> [f64; 2] {
        self.gives
    }

    /// Distance from eye to pin, in millimetres.
    #[must_use]
    pub fn eye_to_pin_mm(&self) -> f64 {
        self.eye_to_pin_mm
    }

    /// Millimetres at the pin for a click of windage and one of elevation.
    #[must_use]
    pub fn click_mm(&self) -> [f64; 2] {
        self.click_mm
    }

    /// Error of a setting at the pin, one standard deviation an axis, in millimetres.
    #[must_use]
    pub fn setting_sd_mm(&self) -> f64 {
        self.setting_sd_mm
    }

    /// Millimetres on the face for one millimetre at the pin.
    #[must_use]
    pub fn face_per_pin(&self, distance: Distance) -> f64 {
        distance.metres() * 1000.0 / self.eye_to_pin_mm
    }

    /// Pin move in millimetres, right and up as the archer sees it, for whole clicks `[right, up]`.
    #[must_use]
    pub fn pin_mm(&self, clicks: [i32; 2]) -> Point {
        Point::new(f64::from(clicks[0]) * self.click_mm[0], f64::from(clicks[1]) * self.click_mm[1])
    }

    /// The shift on the face of a pin move: same direction as the pin; subtract it from the shots.
    #[must_use]
    pub fn shift_mm(&self, pin_mm: Point, distance: Distance) -> Point {
        let k = self.face_per_pin(distance);
        Point::new(pin_mm.x_mm * k * self.gives[0], pin_mm.y_mm * k * self.gives[1])
    }

    /// The shift on the face of one click of windage and one of elevation, in millimetres.
    #[must_use]
    pub fn click_on_face_mm(&self, distance: Distance) -> [f64; 2] {
        let k = self.face_per_pin(distance);
        [self.click_mm[0] * k * self.gives[0], self.click_mm[1] * k * self.gives[1]]
    }

    /// Variance an axis that one touch adds on the face, in mm^2.
    #[must_use]
    pub fn setting_variance_on_face(&self, distance: Distance) -> f64 {
        (self.setting_sd_mm * self.face_per_pin(distance)).powi(2)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thirty_centimetres_at_sixty_yards_is_about_five_millimetres() {
        // Common practice, no source: similar triangles with the pin about 0.9 m from the eye.
        let sight = Sight::new(900.0, [0.1, 0.1], 0.0).unwrap();
        let pin_mm = 300.0 / sight.face_per_pin(Distance::from_yards(60.0).unwrap());
        assert!((pin_mm - 4.92).abs() < 0.01, "{pin_mm}");
    }
}
