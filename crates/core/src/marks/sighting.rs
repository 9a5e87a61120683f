//! The sight's geometry, its scale, and the marks noted from it.

use super::MarksError;
use crate::range::within;
use crate::units::{Distance, UnitError, trim_number};

/// Where the eye, the pin and the arrow stand to each other; see [the geometry](super).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sighting {
    eye_to_pin_mm: f64,
    eye_above_arrow_mm: f64,
    eye_above_arrow_sd_mm: f64,
}

impl Sighting {
    /// A pin `eye_to_pin_mm` ahead of the eye, measured along the arrow, and an eye `eye_above_arrow_mm` above the
    /// nock, perpendicular to the arrow, at full draw.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`]: eye to pin 100 to 3000 mm, eye above the arrow -100 to 400 mm.
    pub fn new(eye_to_pin_mm: f64, eye_above_arrow_mm: f64) -> Result<Self, UnitError> {
        let what = "the height of the eye above the arrow";
        Ok(Self {
            eye_to_pin_mm: within("the distance from eye to pin", eye_to_pin_mm, "mm", 100.0, 3000.0)?,
            eye_above_arrow_mm: within(what, eye_above_arrow_mm, "mm", -100.0, 400.0)?,
            eye_above_arrow_sd_mm: 0.0,
        })
    }

    /// The same with a standard deviation of the height of the eye: how well it was measured. The fit then learns it
    /// too.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`]: 0 to 30 mm.
    pub fn with_eye_sd(self, sd_mm: f64) -> Result<Self, UnitError> {
        let what = "the standard deviation of the eye's height";
        Ok(Self { eye_above_arrow_sd_mm: within(what, sd_mm, "mm", 0.0, 30.0)?, ..self })
    }

    /// Distance from eye to pin along the arrow, in millimetres.
    #[must_use]
    pub fn eye_to_pin_mm(&self) -> f64 {
        self.eye_to_pin_mm
    }

    /// Height of the eye above the arrow, in millimetres.
    #[must_use]
    pub fn eye_above_arrow_mm(&self) -> f64 {
        self.eye_above_arrow_mm
    }

    /// Its standard deviation, in millimetres; 0 when it is taken as exact.
    #[must_use]
    pub fn eye_above_arrow_sd_mm(&self) -> f64 {
        self.eye_above_arrow_sd_mm
    }

    /// How far the pin is below the line through the eye parallel to the arrow, in millimetres, when the arrow points
    /// `angle_rad` above the line of sight: `L tan theta`.
    #[must_use]
    pub fn pin_below_mm(&self, angle_rad: f64) -> f64 {
        self.eye_to_pin_mm * angle_rad.tan()
    }

    /// The launch angle above the line of sight when the pin is `pin_below_mm` below: the inverse.
    #[must_use]
    pub fn angle_rad(&self, pin_below_mm: f64) -> f64 {
        (pin_below_mm / self.eye_to_pin_mm).atan()
    }
}

/// What the number on the scale does when the pin goes down (for a longer distance).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum PinDown {
    /// It grows, as `reading_mm` does.
    #[default]
    Grows,
    /// It falls.
    Falls,
}

/// The scale beside the sight's bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    unit_mm: f64,
    pin_down: PinDown,
}

impl Default for Scale {
    /// Millimetres that grow as the pin goes down.
    fn default() -> Self {
        Self { unit_mm: 1.0, pin_down: PinDown::Grows }
    }
}

impl Scale {
    /// A scale whose unit is `unit_mm` millimetres long (1 for mm, 10 for cm, 25.4 for inches, else as measured: ten
    /// marked units over 32 mm are 3.2).
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`]: 0.01 to 100 mm.
    pub fn new(unit_mm: f64, pin_down: PinDown) -> Result<Self, UnitError> {
        Ok(Self { unit_mm: within("the length of a scale unit", unit_mm, "mm", 0.01, 100.0)?, pin_down })
    }

    /// Length of a unit, in millimetres.
    #[must_use]
    pub fn unit_mm(&self) -> f64 {
        self.unit_mm
    }

    /// What the number does when the pin goes down.
    #[must_use]
    pub fn pin_down(&self) -> PinDown {
        self.pin_down
    }

    fn sign(&self) -> f64 {
        match self.pin_down {
            PinDown::Grows => 1.0,
            PinDown::Falls => -1.0,
        }
    }

    /// `reading_mm`, growing as the pin goes down, of the number on the scale.
    #[must_use]
    pub fn to_mm(&self, number: f64) -> f64 {
        self.sign() * self.unit_mm * number
    }

    /// The number on the scale at `reading_mm`.
    #[must_use]
    pub fn number_at(&self, reading_mm: f64) -> f64 {
        self.sign() * reading_mm / self.unit_mm
    }

    /// A length on the scale, such as a standard deviation, in its units.
    #[must_use]
    pub fn units(&self, length_mm: f64) -> f64 {
        length_mm / self.unit_mm
    }
}

/// A sight mark that was shot: at this distance the pin stood here.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    name: String,
    distance_m: f64,
    slope_rad: f64,
    reading_mm: f64,
    sd_mm: f64,
}

impl Mark {
    /// A mark on the level: `reading_mm` grows as the pin goes down; `sd_mm` is how well it is known, one standard
    /// deviation (a mark known to within 0.3 mm either way, anything inside being as likely: 0.17).
    ///
    /// Its name is the distance, `50 m`; see [`Mark::named`].
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`]: reading within 10 m, standard deviation 0.005 to 50 mm.
    pub fn new(distance: Distance, reading_mm: f64, sd_mm: f64) -> Result<Self, UnitError> {
        Ok(Self {
            name: format!("{} m", trim_number(distance.metres())),
            distance_m: distance.metres(),
            slope_rad: 0.0,
            reading_mm: within("a sight reading", reading_mm, "mm", -10_000.0, 10_000.0)?,
            sd_mm: within("the standard deviation of a mark", sd_mm, "mm", SD_MM[0], SD_MM[1])?,
        })
    }

    /// A mark read from a scale, number and standard deviation in its units.
    ///
    /// # Errors
    /// As [`Mark::new`], in millimetres.
    pub fn on_scale(distance: Distance, number: f64, sd_units: f64, scale: &Scale) -> Result<Self, UnitError> {
        Self::new(distance, scale.to_mm(number), sd_units * scale.unit_mm())
    }

    /// The same under another name.
    #[must_use]
    pub fn named(self, name: impl Into<String>) -> Self {
        Self { name: name.into(), ..self }
    }

    /// The same shot with the line of sight `slope_rad` above the horizon.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`] beyond 1.4 rad either way.
    pub fn on_slope(self, slope_rad: f64) -> Result<Self, UnitError> {
        Ok(Self { slope_rad: within("a slope", slope_rad, "rad", -1.4, 1.4)?, ..self })
    }

    /// The name by which it is flagged.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Distance in metres.
    #[must_use]
    pub fn distance_m(&self) -> f64 {
        self.distance_m
    }

    /// Slope of the line of sight, in radians.
    #[must_use]
    pub fn slope_rad(&self) -> f64 {
        self.slope_rad
    }

    /// Reading in millimetres.
    #[must_use]
    pub fn reading_mm(&self) -> f64 {
        self.reading_mm
    }

    /// Standard deviation of the reading, in millimetres: its own error, not that of the next arrow.
    #[must_use]
    pub fn sd_mm(&self) -> f64 {
        self.sd_mm
    }
}

/// Arrows that a mark was shot with when nobody says: six (common practice, no source).
pub const MARK_ARROWS: u32 = 6;
/// How closely a scale is set and read: one standard deviation, in millimetres (common practice, no source).
pub const SCALE_SD_MM: f64 = 0.1;

/// How well a mark is known, one standard deviation in millimetres of the pin, that was found by the centre of `arrows`
/// arrows of an archer whose spread is `spread_mrad` (one axis).
///
/// The centre of `n` arrows of the spread `s` is known to `s / sqrt(n)`; at the pin, `eye_to_pin_mm` from the eye, that is
/// `eye_to_pin_mm * s / sqrt(n)` whatever the distance. The scale itself adds [`SCALE_SD_MM`]. No arrows count as one.
#[must_use]
pub fn mark_sd_mm(eye_to_pin_mm: f64, spread_mrad: f64, arrows: u32) -> f64 {
    let centre = eye_to_pin_mm * spread_mrad / 1000.0 / f64::from(arrows.max(1)).sqrt();
    centre.hypot(SCALE_SD_MM).clamp(SD_MM[0], SD_MM[1])
}

/// Standard deviations that a mark may have, in millimetres.
const SD_MM: [f64; 2] = [0.005, 50.0];

/// Marks accepted in one fit.
pub(super) const MARKS_MAX: usize = 60;

pub(super) fn check_marks(marks: &[Mark]) -> Result<(), MarksError> {
    match marks.len() {
        0 => Err(MarksError::NoMarks),
        n if n > MARKS_MAX => Err(MarksError::TooMany { marks: n, most: MARKS_MAX }),
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_of_any_unit_and_direction() {
        for (unit_mm, pin_down) in [(1.0, PinDown::Grows), (25.4, PinDown::Falls), (3.2, PinDown::Falls)] {
            let scale = Scale::new(unit_mm, pin_down).unwrap();
            for number in [-2.5, 0.0, 7.25] {
                assert!((scale.number_at(scale.to_mm(number)) - number).abs() < 1e-12);
            }
            assert_eq!(scale.to_mm(2.0) > scale.to_mm(1.0), pin_down == PinDown::Grows);
        }
        let scale = Scale::new(10.0, PinDown::Falls).unwrap();
        let mark = Mark::on_scale(Distance::from_yards(60.0).unwrap(), 5.5, 0.03, &scale).unwrap().named("60 yd");
        assert!((mark.reading_mm() + 55.0).abs() < 1e-12 && (mark.sd_mm() - 0.3).abs() < 1e-12);
        assert!((mark.distance_m() - 54.864).abs() < 1e-12 && mark.name() == "60 yd");
    }

    #[test]
    fn a_mark_without_uncertainty_is_refused() {
        assert!(Mark::new(Distance::from_metres(18.0).unwrap(), 14.9, 0.0).unwrap_err().to_string().contains("0.005"));
    }
}
