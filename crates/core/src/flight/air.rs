//! The air that an arrow flies through: density and viscosity from the weather.

use crate::range::within;
use crate::units::UnitError;

/// Pressure of the standard atmosphere at sea level, in pascals.
pub const DRY_STANDARD_PA: f64 = 101_325.0;

/// What a weather station shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weather {
    temperature_c: f64,
    pressure_pa: f64,
    humidity: f64,
}

impl Weather {
    /// The weather at a temperature in degrees Celsius, a pressure in pascals **at the place itself** (not reduced to
    /// sea level) and a relative humidity as a share of 1.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`]: temperature -40 to 60, pressure 40 000 to 110 000, humidity 0 to 1.
    pub fn new(temperature_c: f64, pressure_pa: f64, humidity: f64) -> Result<Self, UnitError> {
        Ok(Self {
            temperature_c: within("a temperature", temperature_c, "C", -40.0, 60.0)?,
            pressure_pa: within("an air pressure", pressure_pa, "Pa", 40_000.0, 110_000.0)?,
            humidity: within("a relative humidity", humidity, "(a share)", 0.0, 1.0)?,
        })
    }

    /// The weather at an altitude where no barometer is at hand: the pressure of the standard atmosphere.
    ///
    /// Formula: `p = 101325 (1 - 2.25577e-5 h)^5.25588`, `h` in metres above the sea. Source: US Standard Atmosphere
    /// 1976, lowest layer (constants from memory). Real pressure at sea level differs from day to day by up to about 3
    /// %.
    ///
    /// # Errors
    /// As [`Weather::new`]; altitudes from -500 to 5000 m.
    pub fn at_altitude(temperature_c: f64, altitude_m: f64, humidity: f64) -> Result<Self, UnitError> {
        let altitude_m = within("an altitude", altitude_m, "m", -500.0, 5000.0)?;
        Self::new(temperature_c, DRY_STANDARD_PA * (1.0 - 2.25577e-5 * altitude_m).powf(5.25588), humidity)
    }
}

/// Density and viscosity of the air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    density_kg_m3: f64,
    viscosity_pa_s: f64,
}

impl Default for Air {
    /// 15 C, 101325 Pa, 50 %: a mild day at sea level (1.2214 kg/m3).
    fn default() -> Self {
        Self::of(Weather { temperature_c: 15.0, pressure_pa: DRY_STANDARD_PA, humidity: 0.5 })
    }
}

impl Air {
    /// Air of a known density in kg/m3 and dynamic viscosity in Pa s.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`]: density 0 (no drag) to 2, viscosity 1e-6 to 1e-4.
    pub fn new(density_kg_m3: f64, viscosity_pa_s: f64) -> Result<Self, UnitError> {
        Ok(Self {
            density_kg_m3: within("an air density", density_kg_m3, "kg/m3", 0.0, 2.0)?,
            viscosity_pa_s: within("a viscosity", viscosity_pa_s, "Pa s", 1e-6, 1e-4)?,
        })
    }

    /// The air of the given weather.
    ///
    /// Density: `rho = 3.483740e-3 p / (Z T) (1 - 0.3780 x_v)`, with 400 ppm of carbon dioxide. Source: Picard, Davis,
    /// Glaeser & Fujii 2008, "Revised formula for the density of moist air (CIPM-2007)", Metrologia 45, 149-155, whose
    /// domain is 15 to 27 C and 600 to 1100 hPa at 22 parts per million; outside it the error stays far below what
    /// drag is known to.
    /// Viscosity: Sutherland's formula for dry air, `1.458e-6 T^1.5 / (T + 110.4)` (US Standard Atmosphere 1976,
    /// constants from memory); it enters only the Reynolds number.
    #[must_use]
    pub fn of(weather: Weather) -> Self {
        let (t_c, p) = (weather.temperature_c, weather.pressure_pa);
        let t = t_c + 273.15;
        let saturation_pa = (1.237_884_7e-5 * t * t - 1.912_131_6e-2 * t + 33.937_110_47 - 6.343_164_5e3 / t).exp();
        let enhancement = 1.000_62 + 3.14e-8 * p + 5.6e-7 * t_c * t_c;
        let vapour = weather.humidity * enhancement * saturation_pa / p;
        let compressibility = 1.0
            - p / t
                * (1.581_23e-6 - 2.9331e-8 * t_c
                    + 1.1043e-10 * t_c * t_c
                    + (5.707e-6 - 2.051e-8 * t_c) * vapour
                    + (1.9898e-4 - 2.376e-6 * t_c) * vapour * vapour)
            + (p / t).powi(2) * (1.83e-11 - 0.765e-8 * vapour * vapour);
        let density = 3.483_740e-3 * p / (compressibility * t) * (1.0 - 0.3780 * vapour);
        Self { density_kg_m3: density, viscosity_pa_s: 1.458e-6 * t.powf(1.5) / (t + 110.4) }
    }

    /// Density in kg/m3.
    #[must_use]
    pub fn density_kg_m3(&self) -> f64 {
        self.density_kg_m3
    }

    /// Dynamic viscosity in Pa s.
    #[must_use]
    pub fn viscosity_pa_s(&self) -> f64 {
        self.viscosity_pa_s
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn denser_when_colder_drier_and_lower() {
        let rho = |t, p, h| Air::of(Weather::new(t, p, h).unwrap()).density_kg_m3();
        assert!(rho(0.0, 101_325.0, 0.5) > rho(30.0, 101_325.0, 0.5));
        assert!(rho(30.0, 101_325.0, 0.0) > rho(30.0, 101_325.0, 1.0));
        let high = Air::of(Weather::at_altitude(15.0, 2240.0, 0.5).unwrap()).density_kg_m3();
        assert!((high / rho(15.0, 101_325.0, 0.5) - 0.76).abs() < 0.01, "{high}");
    }

    #[test]
    fn weather_outside_its_domain_is_refused() {
        assert!(Weather::new(15.0, 1013.25, 0.5).unwrap_err().to_string().contains("Pa"));
        assert!(Weather::new(15.0, 101_325.0, 50.0).is_err());
        assert!(Weather::new(f64::NAN, 101_325.0, 0.5).is_err());
    }
}
