//! The launch angle for a target.

use super::path::Motion;
use super::{Flight, FlightError};
use crate::range::within;

/// How close the arrow must pass, in metres.
const CLOSE_M: f64 = 2e-9;
const QUICK_MAX: usize = 10;
const BRACKET_MAX: usize = 120;
/// Angles tried when the quick search fails, from lowest to highest.
const SCAN: (f64, f64, usize) = (-1.2, 1.45, 106);

impl Flight {
    /// The launch angle above the line of sight that brings the arrow to the line of sight at `distance_m`: the
    /// flatter one of the two there are. In radians, good to 2e-9 m on the face.
    ///
    /// # Errors
    /// [`FlightError::OutOfReach`] when no angle does, and those of [`Flight::fly`].
    pub fn angle_for(&self, distance_m: f64) -> Result<f64, FlightError> {
        self.angle_for_height(distance_m, 0.0)
    }

    /// The launch angle that brings the arrow to `height_m` above the line of sight at `distance_m`.
    ///
    /// # Errors
    /// As [`Flight::angle_for`]; heights within 100 m.
    pub fn angle_for_height(&self, distance_m: f64, height_m: f64) -> Result<f64, FlightError> {
        within("a distance", distance_m, "m", 0.5, 1000.0)?;
        within("a height on the face", height_m, "m", -100.0, 100.0)?;
        let motion = self.motion();
        match self.quick(&motion, distance_m, height_m) {
            Some(angle) => Ok(angle),
            None => self.bracketed(&motion, distance_m, height_m),
        }
    }

    /// Angle on a flat path: parallax plus `g D^2 / (2 v^2)` lengthened by drag.
    fn flat(&self, distance_m: f64, height_m: f64) -> f64 {
        let x = 2.0 * self.drag_per_m() * distance_m;
        let lengthening = if x > 1e-4 { 2.0 * (x.exp_m1() - x) / (x * x) } else { 1.0 + x / 3.0 };
        let fall = self.conditions.gravity_m_s2 * self.conditions.slope_rad.cos() * distance_m
            / (2.0 * self.speed_m_s * self.speed_m_s);
        (self.eye_above_arrow_m + height_m) / distance_m + fall * lengthening
    }

    /// Secants from the flat-path guess. The height rises by about the distance a radian; where it no longer does, or
    /// the angle leaves the flat range, the bracketed search takes over.
    fn quick(&self, motion: &Motion, distance_m: f64, height_m: f64) -> Option<f64> {
        const FLAT: f64 = 0.4;
        let miss = |angle: f64| {
            if angle.abs() > FLAT { None } else { self.height(motion, angle, distance_m).ok().map(|y| y - height_m) }
        };
        let mut a = self.flat(distance_m, height_m);
        let mut fa = miss(a)?;
        let mut rise = distance_m;
        for _ in 0..QUICK_MAX {
            if fa.abs() <= CLOSE_M {
                return Some(a);
            }
            let b = a - fa / rise;
            let fb = miss(b)?;
            if (b - a).abs() > 1e-9 {
                rise = (fb - fa) / (b - a);
            }
            (a, fa) = (b, fb);
            if rise.is_nan() || rise <= 0.3 * distance_m {
                return None;
            }
        }
        None
    }

    /// The lowest angle at which the miss turns from below to above, by scan and then by the Illinois form of false
    /// position.
    fn bracketed(&self, motion: &Motion, distance_m: f64, height_m: f64) -> Result<f64, FlightError> {
        // An arrow that stops before the face passes below it by an unknown amount.
        let miss = |angle: f64| match self.height(motion, angle, distance_m) {
            Ok(y) => Ok(y - height_m),
            Err(FlightError::Stopped { .. }) => Ok(f64::NEG_INFINITY),
            Err(other) => Err(other),
        };
        let (lowest, highest, steps) = SCAN;
        let at = |i: usize| lowest + (highest - lowest) * i as f64 / steps as f64;
        let mut best = (f64::NEG_INFINITY, 0);
        let mut bracket = None;
        let mut before = miss(lowest)?;
        for i in 1..=steps {
            let here = miss(at(i))?;
            if before < 0.0 && here >= 0.0 {
                bracket = Some((at(i - 1), before, at(i), here));
                break;
            }
            if here > best.0 {
                best = (here, i);
            }
            before = here;
        }
        let (mut a, mut fa, mut b, mut fb) = match bracket {
            Some(found) => found,
            None => self.summit(distance_m, &miss, at(best.1.max(1) - 1), at((best.1 + 1).min(steps)))?,
        };
        for _ in 0..BRACKET_MAX {
            let weighted = (a * fb - b * fa) / (fb - fa);
            let inside = weighted.is_finite() && weighted > a && weighted < b;
            let middle = if inside { weighted } else { 0.5 * (a + b) };
            let f = miss(middle)?;
            if f.abs() <= CLOSE_M || (b - a) <= 4.0 * f64::EPSILON * middle.abs().max(1e-3) {
                return Ok(middle);
            }
            if f < 0.0 {
                (a, fa) = (middle, f);
                fb *= 0.5;
            } else {
                (b, fb) = (middle, f);
                fa *= 0.5;
            }
        }
        Err(FlightError::NotSettled { distance_m, iterations: BRACKET_MAX, residual: fa.abs().min(fb.abs()) })
    }

    /// At the edge of the reach both angles may lie between two of the scan: climbs to the best angle between `a` and
    /// `b` by golden section and gives the bracket below it, if it reaches.
    fn summit(
        &self,
        distance_m: f64,
        miss: &impl Fn(f64) -> Result<f64, FlightError>,
        a: f64,
        b: f64,
    ) -> Result<(f64, f64, f64, f64), FlightError> {
        const GOLDEN: f64 = 0.618_033_988_749_895;
        let (low, mut left, mut right) = (a, a, b);
        let mut best = (f64::NEG_INFINITY, a);
        for _ in 0..50 {
            let (c, d) = (right - GOLDEN * (right - left), left + GOLDEN * (right - left));
            let (fc, fd) = (miss(c)?, miss(d)?);
            if fc > fd {
                right = d;
            } else {
                left = c;
            }
            let top = if fc > fd { (fc, c) } else { (fd, d) };
            if top.0 > best.0 {
                best = top;
            }
            if best.0 >= 0.0 {
                return Ok((low, miss(low)?, best.1, best.0));
            }
        }
        Err(FlightError::OutOfReach { distance_m, speed_m_s: self.speed_m_s, short_m: -best.0 })
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Air, Arrow, Conditions, Drag};
    use super::*;

    fn flight(speed_m_s: f64, density: f64) -> Flight {
        let arrow = Arrow::new(21.0, 5.5, Drag::default()).unwrap();
        let air = Conditions::in_air(Air::new(density, 1.8e-5).unwrap());
        Flight::new(arrow, air, speed_m_s, 115.0).unwrap()
    }

    #[test]
    fn the_angle_brings_the_arrow_to_the_target() {
        for speed in [20.0, 45.0, 75.0, 110.0] {
            for distance in [1.0, 5.0, 18.0, 35.0] {
                for height in [-0.6, 0.0, 0.6] {
                    let flight = flight(speed, 1.2);
                    let angle = flight.angle_for_height(distance, height).unwrap();
                    let hit = flight.fly(angle, distance).unwrap();
                    assert!((hit.height_m - height).abs() < 3e-9, "{speed} {distance} {height}: {hit:?}");
                }
            }
        }
    }

    #[test]
    fn out_of_reach_is_told_from_just_within() {
        // In a vacuum, from h below the eye, the reach is close to v^2 / g = 163.15 m at 40 m/s; h costs about its own
        // size.
        let near = flight(40.0, 0.0);
        let reach = 1600.0 / 9.806_65;
        assert!(near.angle_for(reach - 0.2).is_ok());
        let error = near.angle_for(reach + 2.0).unwrap_err();
        assert!(
            matches!(error, FlightError::OutOfReach { short_m, .. } if short_m > 1.0 && short_m < 3.0),
            "{error:?}"
        );
        assert!(error.to_string().contains("check the speed"));
    }
}
