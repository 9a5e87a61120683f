//! Wind, gusts, and what they do on the face.

use super::{Flight, FlightError};
use crate::plane::{Point, Sym2};
use crate::range::within;
use crate::stats::quadrature;
use crate::units::UnitError;

/// A steady horizontal wind, as the archer feels it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Wind {
    tail_m_s: f64,
    right_m_s: f64,
}

impl Wind {
    /// A wind blowing towards the target at `tail_m_s` (negative: a head wind) and towards the right at `right_m_s` (a
    /// wind from the left).
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`] beyond 30 m/s either way.
    pub fn new(tail_m_s: f64, right_m_s: f64) -> Result<Self, UnitError> {
        Ok(Self {
            tail_m_s: within("a wind along the line", tail_m_s, "m/s", -30.0, 30.0)?,
            right_m_s: within("a wind across the line", right_m_s, "m/s", -30.0, 30.0)?,
        })
    }

    /// A wind of `speed_m_s` coming from the clock direction `from_hours`: 12 is a head wind, 3 comes from the right.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`]: speed 0 to 30, hours 0 to 12.
    pub fn from_clock(speed_m_s: f64, from_hours: f64) -> Result<Self, UnitError> {
        within("a wind", speed_m_s, "m/s", 0.0, 30.0)?;
        let angle = within("a clock direction", from_hours, "h", 0.0, 12.0)? * std::f64::consts::PI / 6.0;
        Self::new(-speed_m_s * angle.cos(), -speed_m_s * angle.sin())
    }

    /// Towards the target, in m/s.
    #[must_use]
    pub fn tail_m_s(&self) -> f64 {
        self.tail_m_s
    }

    /// Towards the right, in m/s.
    #[must_use]
    pub fn right_m_s(&self) -> f64 {
        self.right_m_s
    }
}

/// A wind that differs from shot to shot: each shot meets a steady wind drawn from independent normals.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gust {
    mean: Wind,
    sd_m_s: [f64; 2],
}

impl Gust {
    /// A gusty wind with the given mean and standard deviations (along the line, across it).
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`]: each standard deviation 0 to 10 m/s.
    pub fn new(mean: Wind, tail_sd_m_s: f64, right_sd_m_s: f64) -> Result<Self, UnitError> {
        let check = |sd| within("the standard deviation of a gust", sd, "m/s", 0.0, 10.0);
        Ok(Self { mean, sd_m_s: [check(tail_sd_m_s)?, check(right_sd_m_s)?] })
    }

    /// The mean wind.
    #[must_use]
    pub fn mean(&self) -> Wind {
        self.mean
    }
}

/// What a wind does on the face to an arrow aimed for still air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WindEffect {
    /// Mean displacement, in millimetres of the face frame.
    pub mean: Point,
    /// Covariance over gusts, in mm^2; zeros when the wind is steady.
    pub cov: Sym2,
    /// Displacement to the right for each m/s of wind towards the right, near the mean wind, in mm per m/s.
    pub across_mm_per_m_s: f64,
    /// Displacement upward for each m/s of tail wind, near the mean wind, in mm per m/s.
    pub along_mm_per_m_s: f64,
}

impl Flight {
    /// Where arrows land in the wind `gust` when the launch angle is that of still air at `distance_m`.
    ///
    /// The flight's own wind is ignored. Mean and covariance by Gauss-Hermite quadrature, five nodes an axis.
    ///
    /// # Errors
    /// Those of [`Flight::angle_for`] and [`Flight::fly`].
    pub fn wind_effect(&self, distance_m: f64, gust: &Gust) -> Result<WindEffect, FlightError> {
        let in_wind = |tail_m_s: f64, right_m_s: f64| {
            self.with_conditions(self.conditions.with_wind(Wind { tail_m_s, right_m_s }))
        };
        let angle = in_wind(0.0, 0.0).angle_for(distance_m)?;
        let land = |tail: f64, right: f64| {
            let flight = in_wind(tail, right);
            let motion = flight.motion();
            let state = flight.travel(&motion, angle, distance_m, |_, _, _, _, _| {})?;
            Ok::<_, FlightError>(Point::new(1000.0 * state[1], 1000.0 * state[0]))
        };
        let (mean, sd) = (gust.mean, gust.sd_m_s);
        let rule = quadrature::normal(5);
        let nodes = |sd: f64| -> Vec<(f64, f64)> {
            if sd > 0.0 {
                rule.nodes.iter().zip(&rule.weights).map(|(x, w)| (sd * x, *w)).collect()
            } else {
                vec![(0.0, 1.0)]
            }
        };
        let (mut sum, mut square) = (Point::default(), Sym2::default());
        for (tail, a) in nodes(sd[0]) {
            for (right, b) in nodes(sd[1]) {
                let p = land(mean.tail_m_s + tail, mean.right_m_s + right)?;
                sum = sum + p * (a * b);
                square = square + Sym2::outer(p) * (a * b);
            }
        }
        const STEP_M_S: f64 = 0.25;
        let across = land(mean.tail_m_s, mean.right_m_s + STEP_M_S)? - land(mean.tail_m_s, mean.right_m_s - STEP_M_S)?;
        let along = land(mean.tail_m_s + STEP_M_S, mean.right_m_s)? - land(mean.tail_m_s - STEP_M_S, mean.right_m_s)?;
        let cov = if sd[0] > 0.0 || sd[1] > 0.0 { square - Sym2::outer(sum) } else { Sym2::default() };
        Ok(WindEffect {
            mean: sum,
            cov: Sym2::new(cov.xx.max(0.0), cov.xy, cov.yy.max(0.0)),
            across_mm_per_m_s: across.x_mm / (2.0 * STEP_M_S),
            along_mm_per_m_s: along.y_mm / (2.0 * STEP_M_S),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Arrow, Conditions, Drag};
    use super::*;

    fn flight() -> Flight {
        Flight::new(Arrow::new(21.0, 5.5, Drag::default()).unwrap(), Conditions::default(), 57.0, 115.0).unwrap()
    }

    #[test]
    fn a_wind_from_the_left_drifts_right_by_the_lag_rule() {
        let effect = flight().wind_effect(70.0, &Gust::new(Wind::new(0.0, 2.0).unwrap(), 0.0, 0.0).unwrap()).unwrap();
        let angle = flight().angle_for(70.0).unwrap();
        let time = flight().fly(angle, 70.0).unwrap().time_s;
        // Didion's lag rule: drift = wind (time - distance / launch speed along the line). Exact to first order in the
        // wind.
        let lag_mm = 1000.0 * 2.0 * (time - 70.0 / (57.0 * angle.cos()));
        assert!((effect.mean.x_mm / lag_mm - 1.0).abs() < 0.01, "{effect:?} {lag_mm}");
        assert!(effect.cov.xx.abs() < 1e-12 && (effect.across_mm_per_m_s - effect.mean.x_mm / 2.0).abs() < 0.5);
        // A wind across shortens nothing noticeable; a head wind lands low.
        let head = flight().wind_effect(70.0, &Gust::new(Wind::new(-3.0, 0.0).unwrap(), 0.0, 0.0).unwrap()).unwrap();
        assert!(head.mean.y_mm < 0.0 && head.mean.x_mm.abs() < 1e-6 && head.along_mm_per_m_s > 0.0);
    }

    #[test]
    fn gusts_spread_the_arrows_by_their_slope() {
        let gust = Gust::new(Wind::new(0.0, 3.0).unwrap(), 0.5, 1.0).unwrap();
        let effect = flight().wind_effect(70.0, &gust).unwrap();
        assert!((effect.cov.xx.sqrt() / effect.across_mm_per_m_s - 1.0).abs() < 0.02, "{effect:?}");
        assert!((effect.cov.yy.sqrt() / (0.5 * effect.along_mm_per_m_s) - 1.0).abs() < 0.02, "{effect:?}");
    }

    #[test]
    fn the_clock_gives_the_wind_its_signs() {
        let head = Wind::from_clock(4.0, 12.0).unwrap();
        assert!((head.tail_m_s() + 4.0).abs() < 1e-12 && head.right_m_s().abs() < 1e-12);
        let right = Wind::from_clock(4.0, 3.0).unwrap();
        assert!((right.right_m_s() + 4.0).abs() < 1e-12, "a wind from the right blows to the left");
    }
}
