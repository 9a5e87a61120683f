//! What is known of a kit before any mark is shot.

use super::Sighting;
use crate::flight::{Arrow, CD_DEFAULT_LN_SD, Conditions, Flight};
use crate::range::within;
use crate::units::UnitError;

/// How a speed is stated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// Metres a second.
    MetresPerSecond,
    /// Feet a second, as most chronographs show.
    FeetPerSecond,
}

impl Unit {
    fn m_s(self) -> f64 {
        match self {
            Self::MetresPerSecond => 1.0,
            Self::FeetPerSecond => 0.3048,
        }
    }
}

/// The kind of bow, for the guess of the speed from the draw weight.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bow {
    /// Recurve, also barebow.
    Recurve,
    /// Compound; its draw weight is the peak.
    Compound,
    /// Longbow.
    Longbow,
}

/// What is known of the launch speed: a normal law for its logarithm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpeedPrior {
    median_m_s: f64,
    ln_sd: f64,
}

impl Default for SpeedPrior {
    /// Nothing: 58 m/s within 18 %, one standard deviation; two of them reach from a light longbow (40) to a fast
    /// compound (83).
    /// Common practice, no source.
    fn default() -> Self {
        Self { median_m_s: 58.0, ln_sd: 0.18 }
    }
}

impl SpeedPrior {
    /// A chronograph's reading and its standard deviation.
    ///
    /// The reading is taken as the launch speed; a metre or two from the bow the arrow has lost about 0.2 %.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`]: 5 to 200 m/s; standard deviation 0.01 to 50 m/s.
    pub fn chronograph(speed: f64, sd: f64, unit: Unit) -> Result<Self, UnitError> {
        let speed = within("a chronograph reading", speed * unit.m_s(), "m/s", 5.0, 200.0)?;
        let sd = within("the standard deviation of a chronograph reading", sd * unit.m_s(), "m/s", 0.01, 50.0)?;
        Ok(Self { median_m_s: speed, ln_sd: sd / speed })
    }

    /// A guess from the draw weight: `v = sqrt(2 e c F s / (m + m_v))` with the draw weight `F`, a power stroke `s` of
    /// 0.50 m (recurve, longbow) or 0.52 m (compound), the share `c` of `F s` that the bow stores (0.52, 0.50, 0.76),
    /// its efficiency `e` (0.90, 0.75, 0.88) and the moving mass `m_v` of string and limbs (6, 7, 4 g); within 9 %, one
    /// standard deviation. Common practice, from memory, no source.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`]: draw weight 20 to 500 N (4.448 N to the pound).
    pub fn draw_weight(bow: Bow, draw_weight_n: f64, arrow: &Arrow) -> Result<Self, UnitError> {
        let force = within("a draw weight", draw_weight_n, "N", 20.0, 500.0)?;
        let (stroke_m, stored, efficiency, moving_g) = match bow {
            Bow::Recurve => (0.50, 0.52, 0.90, 6.0),
            Bow::Longbow => (0.50, 0.50, 0.75, 7.0),
            Bow::Compound => (0.52, 0.76, 0.88, 4.0),
        };
        let mass_kg = (arrow.mass_g() + moving_g) / 1000.0;
        Ok(Self { median_m_s: (2.0 * efficiency * stored * force * stroke_m / mass_kg).sqrt(), ln_sd: 0.09 })
    }

    /// Median, in m/s.
    #[must_use]
    pub fn median_m_s(&self) -> f64 {
        self.median_m_s
    }

    /// Standard deviation of the logarithm.
    #[must_use]
    pub fn ln_sd(&self) -> f64 {
        self.ln_sd
    }
}

/// Everything that the fit takes from the kit and the weather.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rig {
    sighting: Sighting,
    arrow: Arrow,
    conditions: Conditions,
    speed: SpeedPrior,
    drag_ln_sd: f64,
}

impl Rig {
    /// A kit with nothing known of the speed, the drag of `arrow` within [`CD_DEFAULT_LN_SD`], and default air.
    #[must_use]
    pub fn new(sighting: Sighting, arrow: Arrow) -> Self {
        let (conditions, speed) = (Conditions::default(), SpeedPrior::default());
        Self { sighting, arrow, conditions, speed, drag_ln_sd: CD_DEFAULT_LN_SD }
    }

    /// The same with a prior of the speed.
    #[must_use]
    pub fn with_speed(self, speed: SpeedPrior) -> Self {
        Self { speed, ..self }
    }

    /// The same with other conditions: the air (and, if it was known, the steady wind) in which the marks were shot.
    /// Their slope is replaced by that of each mark.
    #[must_use]
    pub fn with_conditions(self, conditions: Conditions) -> Self {
        Self { conditions, ..self }
    }

    /// The same with another standard deviation of the logarithm of the drag coefficient.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`]: 0.005 to 1.
    pub fn with_drag_sd(self, ln_sd: f64) -> Result<Self, UnitError> {
        let what = "the relative standard deviation of a drag coefficient";
        Ok(Self { drag_ln_sd: within(what, ln_sd, "", 0.005, 1.0)?, ..self })
    }

    /// The geometry.
    #[must_use]
    pub fn sighting(&self) -> Sighting {
        self.sighting
    }

    /// The arrow.
    #[must_use]
    pub fn arrow(&self) -> Arrow {
        self.arrow
    }

    /// The conditions.
    #[must_use]
    pub fn conditions(&self) -> Conditions {
        self.conditions
    }

    /// What is known of the speed.
    #[must_use]
    pub fn speed(&self) -> SpeedPrior {
        self.speed
    }

    /// Standard deviation of the logarithm of the drag coefficient.
    #[must_use]
    pub fn drag_ln_sd(&self) -> f64 {
        self.drag_ln_sd
    }

    /// The flight at the given logarithms of speed and drag factor, on a slope.
    pub(super) fn flight(&self, ln_speed: f64, ln_factor: f64, slope_rad: f64) -> Result<Flight, UnitError> {
        let arrow = self.arrow.with_drag_factor(ln_factor.exp());
        let conditions = self.conditions.with_slope(slope_rad)?;
        Flight::new(arrow, conditions, ln_speed.exp(), self.sighting.eye_above_arrow_mm())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flight::Drag;

    #[test]
    fn draw_weights_give_speeds_of_the_trade() {
        let arrow = |mass| Arrow::new(mass, 5.5, Drag::default()).unwrap();
        let speed =
            |bow, pounds: f64, mass| SpeedPrior::draw_weight(bow, pounds * 4.448, &arrow(mass)).unwrap().median_m_s();
        // Common practice, no source: 40 lb recurve 52 to 60 m/s, 50 lb compound 68 to 80, 45 lb longbow 43 to 52.
        assert!((52.0..60.0).contains(&speed(Bow::Recurve, 40.0, 20.0)));
        assert!((68.0..80.0).contains(&speed(Bow::Compound, 50.0, 24.0)));
        assert!((43.0..52.0).contains(&speed(Bow::Longbow, 45.0, 28.0)));
    }

    #[test]
    fn chronographs_in_feet() {
        let prior = SpeedPrior::chronograph(190.0, 2.0, Unit::FeetPerSecond).unwrap();
        assert!((prior.median_m_s() - 57.912).abs() < 1e-9 && (prior.ln_sd() - 2.0 / 190.0).abs() < 1e-12);
    }
}
