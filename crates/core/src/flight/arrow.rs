//! The arrow: mass, diameter and drag coefficient.

use std::f64::consts::PI;

use super::Air;
use crate::range::within;
use crate::units::UnitError;

/// Drag coefficient on the shaft's cross-section when nothing is known: the middle, on a logarithmic scale, of the 1.3
/// (laminar) and 2.6 (turbulent) reported for target arrows near a Reynolds number of 2e4 (report of KAKENHI project
/// 18K03943), and of the 1.56 and 2.05 measured with two sizes of vane (Proceedings 2020, 49(1), 56).
pub const CD_DEFAULT: f64 = 1.85;

/// Standard deviation of the logarithm of the drag coefficient when nothing is known: the normal law whose middle 80 %
/// is that of a flat law from 1.3 to 2.6, `0.4 ln 2 / 1.2816`.
pub const CD_DEFAULT_LN_SD: f64 = 0.22;

/// How the drag coefficient depends on the Reynolds number on the shaft's diameter, `rho v d / mu`.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Drag {
    /// Not at all.
    Constant {
        /// The coefficient on the cross-section of the shaft.
        cd: f64,
    },
    /// From laminar to turbulent: `Cd = laminar + (turbulent - laminar) / (1 + exp(-ln(Re / reynolds) / width))`,
    /// smooth, and half way at `reynolds`. The shape is our assumption; the two ends and the middle are measured.
    Transition {
        /// Coefficient with a laminar boundary layer.
        laminar: f64,
        /// Coefficient with a turbulent boundary layer.
        turbulent: f64,
        /// Reynolds number half way.
        reynolds: f64,
        /// Width on the logarithm of the Reynolds number.
        width: f64,
    },
}

impl Default for Drag {
    fn default() -> Self {
        Self::Constant { cd: CD_DEFAULT }
    }
}

impl Drag {
    /// A constant coefficient.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`] outside 0 to 20.
    pub fn constant(cd: f64) -> Result<Self, UnitError> {
        Ok(Self::Constant { cd: within("a drag coefficient", cd, "", 0.0, 20.0)? })
    }

    /// From `laminar` to `turbulent`, half way at the Reynolds number `reynolds`, over `width` on its logarithm.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`]: coefficients 0 to 20, Reynolds number 100 to 1e6, width 0.01 to 2.
    pub fn transition(laminar: f64, turbulent: f64, reynolds: f64, width: f64) -> Result<Self, UnitError> {
        Ok(Self::Transition {
            laminar: within("a laminar drag coefficient", laminar, "", 0.0, 20.0)?,
            turbulent: within("a turbulent drag coefficient", turbulent, "", 0.0, 20.0)?,
            reynolds: within("a Reynolds number", reynolds, "", 100.0, 1e6)?,
            width: within("the width of a transition", width, "", 0.01, 2.0)?,
        })
    }

    /// The transition of a slim target arrow: 1.3 to 2.6 about Re 2e4 (KAKENHI 18K03943), width 0.08 (assumed: most of
    /// the change between Re 1.7e4 and 2.4e4).
    #[must_use]
    pub fn slim_arrow() -> Self {
        Self::Transition { laminar: 1.3, turbulent: 2.6, reynolds: 2e4, width: 0.08 }
    }

    /// The coefficient at a Reynolds number (positive).
    #[must_use]
    pub fn cd(&self, reynolds: f64) -> f64 {
        match *self {
            Self::Constant { cd } => cd,
            Self::Transition { laminar, turbulent, reynolds: middle, width } => {
                // A power in place of exp(-ln(Re / middle) / width).
                laminar + (turbulent - laminar) / (1.0 + (reynolds / middle).powf(-1.0 / width))
            }
        }
    }

    /// The same law with every coefficient times `factor`.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        match self {
            Self::Constant { cd } => Self::Constant { cd: cd * factor },
            Self::Transition { laminar, turbulent, reynolds, width } => {
                Self::Transition { laminar: laminar * factor, turbulent: turbulent * factor, reynolds, width }
            }
        }
    }
}

/// An arrow as flight sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arrow {
    mass_kg: f64,
    diameter_m: f64,
    drag: Drag,
}

impl Arrow {
    /// An arrow of `mass_g` grams whose shaft is `diameter_mm` millimetres across.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`]: mass 3 to 200 g, diameter 2 to 30 mm.
    pub fn new(mass_g: f64, diameter_mm: f64, drag: Drag) -> Result<Self, UnitError> {
        Ok(Self {
            mass_kg: within("the mass of an arrow", mass_g, "g", 3.0, 200.0)? / 1000.0,
            diameter_m: within("the diameter of a shaft", diameter_mm, "mm", 2.0, 30.0)? / 1000.0,
            drag,
        })
    }

    /// Mass in grams.
    #[must_use]
    pub fn mass_g(&self) -> f64 {
        self.mass_kg * 1000.0
    }

    /// Diameter of the shaft in millimetres.
    #[must_use]
    pub fn diameter_mm(&self) -> f64 {
        self.diameter_m * 1000.0
    }

    /// The drag law.
    #[must_use]
    pub fn drag(&self) -> Drag {
        self.drag
    }

    /// The same arrow with its drag times `factor`.
    #[must_use]
    pub fn with_drag_factor(self, factor: f64) -> Self {
        Self { drag: self.drag.scaled(factor), ..self }
    }

    /// The Reynolds number on the diameter at a speed through the air.
    #[must_use]
    pub fn reynolds(&self, air: &Air, speed_m_s: f64) -> f64 {
        air.density_kg_m3() * speed_m_s * self.diameter_m / air.viscosity_pa_s()
    }

    /// `k` in `a = -k v^2`, per metre: `rho Cd A / (2 m)`, `A = pi d^2 / 4`, at a speed through the air.
    #[must_use]
    pub fn drag_per_m(&self, air: &Air, speed_m_s: f64) -> f64 {
        self.drag.cd(self.reynolds(air, speed_m_s)) * self.per_cd(air)
    }

    /// `rho A / (2 m)`: the drag per metre for a coefficient of 1.
    pub(crate) fn per_cd(&self, air: &Air) -> f64 {
        air.density_kg_m3() * PI * self.diameter_m * self.diameter_m / (8.0 * self.mass_kg)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_transition_goes_from_end_to_end() {
        let drag = Drag::slim_arrow();
        assert!((drag.cd(8e3) - 1.3).abs() < 1e-3 && (drag.cd(5e4) - 2.6).abs() < 1e-3);
        assert!((drag.cd(2e4) - 1.95).abs() < 1e-12);
        assert!((drag.scaled(2.0).cd(2e4) - 3.9).abs() < 1e-12);
    }

    #[test]
    fn drag_per_metre_by_hand() {
        let air = Air::new(1.2, 1.8e-5).unwrap();
        let arrow = Arrow::new(20.0, 5.0, Drag::constant(2.0).unwrap()).unwrap();
        // 1.2 * 2 * (pi / 4 * 25e-6) / (2 * 0.02)
        assert!((arrow.drag_per_m(&air, 60.0) - 1.178_097_245e-3).abs() < 1e-12);
        assert!((arrow.reynolds(&air, 60.0) - 20_000.0).abs() < 1e-9);
        assert!(Arrow::new(0.021, 5.5, Drag::default()).unwrap_err().to_string().contains("3 and 200 g"));
    }
}
