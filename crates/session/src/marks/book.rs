//! The marks file: where pin, eye and arrow stand, what is known of the arrow, and the marks. Described in
//! `docs/marks.md`.

use goldward_core::flight::{Air, Arrow, Conditions, Drag, Weather};
use goldward_core::group::SPREAD_DEFAULT_MRAD;
use goldward_core::marks::{Bow, MARK_ARROWS, Mark, PinDown, Rig, Scale, Sighting, SpeedPrior, mark_sd_mm};
use goldward_core::sight::Sight;
use goldward_core::units::{Spread, UnitError};

use super::quantity::{Range, Speed};
use crate::keys::Good;
use crate::kit::Kit;
use crate::problem::{Place, Problem, What};

/// How well a chronograph is believed when nobody says: one hundredth (common practice, no source).
const CHRONOGRAPH_SD: f64 = 0.01;

/// One mark as it stands in the file.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Where it was shot from.
    pub range: Range,
    /// The number on the scale.
    pub reading: f64,
    /// How well it is known, one standard deviation in the scale's numbers; without it what its arrows tell.
    pub sd: Option<f64>,
    /// How many arrows it was shot with.
    pub arrows: Option<u32>,
    /// Whether it was shot, rather than only predicted.
    pub shot: bool,
    /// Angle of the line of sight above the horizon, in degrees.
    pub slope_deg: f64,
    /// When.
    pub date: Option<String>,
    /// Anything else.
    pub note: Option<String>,
}

impl Entry {
    /// A mark that was shot, and nothing more.
    #[must_use]
    pub fn shot(range: Range, reading: f64) -> Self {
        Self { range, reading, sd: None, arrows: None, shot: true, slope_deg: 0.0, date: None, note: None }
    }

    /// Its name: `50 m`, or `20 m on a slope of 15 degrees`.
    #[must_use]
    pub fn name(&self) -> String {
        if self.slope_deg == 0.0 {
            self.range.to_string()
        } else {
            format!("{} on a slope of {} degrees", self.range, goldward_core::units::trim_number(self.slope_deg))
        }
    }

    /// Whether it is a mark of `range` on the level.
    #[must_use]
    pub fn is_level_at(&self, range: Range) -> bool {
        self.range.same_as(range) && self.slope_deg == 0.0
    }

    /// Whether both are marks of the same place.
    #[must_use]
    pub fn same_place(&self, other: &Self) -> bool {
        self.range.same_as(other.range) && (self.slope_deg - other.slope_deg).abs() < 0.5
    }
}

/// The arrow and what is known of its speed.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ArrowIn {
    /// Mass in grams.
    pub mass_g: Option<f64>,
    /// Diameter of the shaft in millimetres.
    pub diameter_mm: Option<f64>,
    /// A chronograph's reading.
    pub speed: Option<Speed>,
    /// Its standard deviation, in the unit of `speed` once it is checked.
    pub speed_sd: Option<Speed>,
    /// Draw weight in newtons.
    pub draw_weight_n: Option<f64>,
    /// Kind of bow.
    pub bow: Option<Bow>,
}

/// The air.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct AirIn {
    /// Temperature in degrees Celsius.
    pub temperature_c: Option<f64>,
    /// Pressure at the place, in pascals.
    pub pressure_pa: Option<f64>,
    /// Relative humidity, a share of 1.
    pub humidity: Option<f64>,
}

/// A whole marks file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Book {
    /// What the archer calls it.
    pub name: Option<String>,
    /// Distance from eye to pin, in millimetres.
    pub eye_to_pin_mm: Option<f64>,
    /// Height of the eye above the arrow, in millimetres.
    pub eye_above_arrow_mm: Option<f64>,
    /// How well that was measured, one standard deviation.
    pub eye_above_arrow_sd_mm: Option<f64>,
    /// How far the pin moves when the scale's number grows by 1.
    pub elevation_unit_mm: Option<f64>,
    /// Whether the number grows when the pin goes up.
    pub elevation_grows_up: Option<bool>,
    /// The archer's spread, one axis, in milliradians: with the arrows of a mark it says how well that is known.
    pub spread_mrad: Option<f64>,
    /// Millimetres a click of windage.
    pub click_windage_mm: Option<f64>,
    /// Millimetres a click of elevation.
    pub click_elevation_mm: Option<f64>,
    /// The arrow.
    pub arrow: ArrowIn,
    /// The air in which the marks were shot.
    pub air: AirIn,
    /// The marks, in the order of the file.
    pub marks: Vec<Entry>,
}

/// What the core takes, checked.
#[derive(Debug, Clone)]
pub struct Setup {
    /// Geometry, arrow, speed and air.
    pub rig: Rig,
    /// The scale.
    pub scale: Scale,
    /// Clicks.
    pub sight: Sight,
    /// The marks that were shot, as the fit takes them.
    pub shot: Vec<Mark>,
    /// For each of them, which mark of the book it is.
    pub from: Vec<usize>,
}

impl Book {
    /// This book, and where it is silent the kit file.
    #[must_use]
    pub fn or_kit(mut self, kit: &Kit) -> Self {
        let (wishes, elevation) = (&kit.wishes, &kit.elevation);
        self.eye_to_pin_mm = self.eye_to_pin_mm.or(wishes.eye_to_pin_mm);
        self.click_windage_mm = self.click_windage_mm.or(wishes.click_windage_mm);
        self.click_elevation_mm = self.click_elevation_mm.or(wishes.click_elevation_mm);
        self.elevation_unit_mm = self.elevation_unit_mm.or(elevation.unit_mm);
        self.elevation_grows_up = self.elevation_grows_up.or(elevation.grows_positive);
        self.arrow.diameter_mm = self.arrow.diameter_mm.or(wishes.shaft_mm);
        self.spread_mrad = self.spread_mrad.or(wishes.spread_mrad);
        self
    }

    /// The same, its distances told in yards where `yards` says so.
    #[must_use]
    pub fn told_in(mut self, yards: bool) -> Self {
        if yards {
            self.marks.iter_mut().for_each(|m| m.range = m.range.in_yards());
        }
        self
    }

    /// The scale.
    ///
    /// # Errors
    /// A [`Problem`] whose place is the key.
    pub fn scale(&self) -> Result<Scale, Problem> {
        let down = if self.elevation_grows_up == Some(true) { PinDown::Falls } else { PinDown::Grows };
        Scale::new(self.elevation_unit_mm.unwrap_or(1.0), down).map_err(|e| at("elevation_unit", e))
    }

    /// Checks everything but the number of marks.
    ///
    /// # Errors
    /// A [`Problem`] whose place is the key.
    pub fn setup(&self) -> Result<Setup, Problem> {
        let missing = |key: &str, good: Good| Problem::new(key, What::Missing).good(good);
        let length = Good::InMarksOrKit("eye_to_pin = \"88cm\"");
        let eye_to_pin_mm = self.eye_to_pin_mm.ok_or_else(|| missing("eye_to_pin", length))?;
        let height = Good::InMarks("eye_above_arrow = \"115mm\"");
        let above_mm = self.eye_above_arrow_mm.ok_or_else(|| missing("eye_above_arrow", height))?;
        // One at a time, so that the error knows its key.
        Sighting::new(eye_to_pin_mm, 100.0).map_err(|e| at("eye_to_pin", e))?;
        let mut sighting = Sighting::new(eye_to_pin_mm, above_mm).map_err(|e| at("eye_above_arrow", e))?;
        if let Some(sd) = self.eye_above_arrow_sd_mm {
            sighting = sighting.with_eye_sd(sd).map_err(|e| at("eye_above_arrow_sd", e))?;
        }
        let mass = self.arrow.mass_g.ok_or_else(|| missing("arrow.mass_g", Good::InMarks("mass_g = 21")))?;
        let diameter = self
            .arrow
            .diameter_mm
            .ok_or_else(|| missing("arrow.diameter_mm", Good::InMarksOrKit("diameter_mm = 5.5")))?;
        Arrow::new(mass, 5.5, Drag::default()).map_err(|e| at("arrow.mass_g", e))?;
        let arrow = Arrow::new(mass, diameter, Drag::default()).map_err(|e| at("arrow.diameter_mm", e))?;
        let rig =
            Rig::new(sighting, arrow).with_conditions(Conditions::in_air(self.air()?)).with_speed(self.speed(&arrow)?);
        let usual = Sight::default().click_mm();
        if let Some(spread) = self.spread_mrad {
            Spread::from_mrad(spread).map_err(|e| at("spread_mrad", e))?;
        }
        let click_mm = [self.click_windage_mm.unwrap_or(usual[0]), self.click_elevation_mm.unwrap_or(usual[1])];
        let sight = Sight::new(eye_to_pin_mm, click_mm, 0.0).map_err(|e| at("click_windage, click_elevation", e))?;
        let scale = self.scale()?;
        let (mut shot, mut from) = (Vec::new(), Vec::new());
        for (i, entry) in self.marks.iter().enumerate() {
            let mark = self.mark(entry, &scale).map_err(|e| Problem::new(Place::Mark(i + 1), e))?;
            if entry.shot {
                shot.push(mark);
                from.push(i);
            }
        }
        Ok(Setup { rig, scale, sight, shot, from })
    }

    /// How well a mark is known, one standard deviation in millimetres: as it says, or else by its arrows
    /// ([`mark_sd_mm`]), where six and the usual spread stand for what nobody told.
    #[must_use]
    pub fn sd_mm(&self, entry: &Entry, scale: &Scale) -> f64 {
        let by_arrows = || {
            let eye_to_pin_mm = self.eye_to_pin_mm.unwrap_or_else(|| Sight::default().eye_to_pin_mm());
            let spread_mrad = self.spread_mrad.unwrap_or(SPREAD_DEFAULT_MRAD);
            mark_sd_mm(eye_to_pin_mm, spread_mrad, entry.arrows.unwrap_or(MARK_ARROWS))
        };
        entry.sd.map_or_else(by_arrows, |sd| sd * scale.unit_mm())
    }

    /// The mark as the core takes it.
    ///
    /// # Errors
    /// Those of [`Mark::new`] and [`Mark::on_slope`].
    pub fn mark(&self, entry: &Entry, scale: &Scale) -> Result<Mark, UnitError> {
        let mark = Mark::new(entry.range.distance(), scale.to_mm(entry.reading), self.sd_mm(entry, scale))?;
        mark.named(entry.name()).on_slope(entry.slope_deg.to_radians())
    }

    fn air(&self) -> Result<Air, Problem> {
        let AirIn { temperature_c: t, pressure_pa: p, humidity: h } = self.air;
        if (t, p, h) == (None, None, None) {
            return Ok(Air::default());
        }
        let (usual_t, usual_p) = (15.0, goldward_core::flight::DRY_STANDARD_PA);
        Weather::new(t.unwrap_or(usual_t), usual_p, 0.5).map_err(|e| at("air.temperature_c", e))?;
        Weather::new(usual_t, p.unwrap_or(usual_p), 0.5).map_err(|e| at("air.pressure_pa", e))?;
        let weather = Weather::new(t.unwrap_or(usual_t), p.unwrap_or(usual_p), h.unwrap_or(0.5));
        Ok(Air::of(weather.map_err(|e| at("air.humidity", e))?))
    }

    fn speed(&self, arrow: &Arrow) -> Result<SpeedPrior, Problem> {
        let given = &self.arrow;
        match (given.speed, given.draw_weight_n) {
            (Some(speed), _) => {
                let m_s = |s: Speed| s.number * if s.unit == speed.unit { 1.0 } else { cross(s, speed) };
                let sd = given.speed_sd.map_or(CHRONOGRAPH_SD * speed.number.abs(), m_s);
                let safe = 1.0_f64.max(sd.min(10.0));
                SpeedPrior::chronograph(speed.number, safe, speed.unit).map_err(|e| at("arrow.speed", e))?;
                SpeedPrior::chronograph(speed.number, sd, speed.unit).map_err(|e| at("arrow.speed_sd", e))
            }
            (None, Some(force)) => SpeedPrior::draw_weight(given.bow.unwrap_or(Bow::Recurve), force, arrow)
                .map_err(|e| at("arrow.draw_weight", e)),
            (None, None) => Ok(SpeedPrior::default()),
        }
    }
}

/// Units of `to` for one of `from`.
fn cross(from: Speed, to: Speed) -> f64 {
    use goldward_core::marks::Unit::{FeetPerSecond, MetresPerSecond};
    match (from.unit, to.unit) {
        (FeetPerSecond, MetresPerSecond) => 0.3048,
        (MetresPerSecond, FeetPerSecond) => 1.0 / 0.3048,
        _ => 1.0,
    }
}

fn at(key: &str, error: impl Into<What>) -> Problem {
    Problem::new(key, error)
}
