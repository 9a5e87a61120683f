//! Source: Picard, Davis, Glaeser & Fujii 2008, "Revised formula for the density of moist air (CIPM-2007)", Metrologia
//! 45, 149-155, at two states whose values the specification gives to six or seven digits, and the US Standard
//! Atmosphere 1976 at sea level.
//! Tolerance: half a unit of the last digit given; for the standard atmosphere 0.001 kg/m3, since it is a perfect gas
//! with 314 ppm of carbon dioxide while the formula has 400 ppm and the compressibility of real air.

use checks::near;
use goldward_core::flight::{Air, Weather};

fn density(temperature_c: f64, pressure_pa: f64, humidity: f64) -> f64 {
    Air::of(Weather::new(temperature_c, pressure_pa, humidity).unwrap()).density_kg_m3()
}

#[test]
fn cipm_2007() {
    near("20 C, 101325 Pa, 50 %", density(20.0, 101_325.0, 0.5), 1.199_314, 5e-7);
    near("35 C, 84000 Pa, 20 %", density(35.0, 84_000.0, 0.2), 0.945_018, 5e-7);
}

#[test]
fn us_standard_atmosphere() {
    near("15 C, 101325 Pa, dry", density(15.0, 101_325.0, 0.0), 1.2250, 1e-3);
    // 1000 m: 8.50 C, 89876 Pa, 1.1117 kg/m3 (table of the same source, from memory).
    let high = Air::of(Weather::at_altitude(8.5, 1000.0, 0.0).unwrap()).density_kg_m3();
    near("1000 m", high, 1.1117, 1e-3);
    // Viscosity 1.7894e-5 Pa s at 15 C (same table, from memory).
    let air = Air::of(Weather::new(15.0, 101_325.0, 0.0).unwrap());
    near("viscosity", air.viscosity_pa_s(), 1.7894e-5, 1e-9);
}
