//! One flight from the bow to the face.
//!
//! The independent variable is the distance along the line of sight, so that the face is met exactly at the end of the
//! last step and no event has to be searched for. Steps are Dormand & Prince's 5(4) pair with error control.

use super::{Air, Arrow, Drag, FlightError, Wind};
use crate::range::within;
use crate::units::UnitError;

/// Standard acceleration of gravity.
pub const GRAVITY_M_S2: f64 = 9.806_65;

/// What the arrow flies through: air, steady wind, slope and gravity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conditions {
    pub(super) air: Air,
    pub(super) wind: Wind,
    pub(super) slope_rad: f64,
    pub(super) gravity_m_s2: f64,
}

impl Default for Conditions {
    /// Still, level, [`Air::default`], [`GRAVITY_M_S2`].
    fn default() -> Self {
        Self { air: Air::default(), wind: Wind::default(), slope_rad: 0.0, gravity_m_s2: GRAVITY_M_S2 }
    }
}

impl Conditions {
    /// Still and level in the given air.
    #[must_use]
    pub fn in_air(air: Air) -> Self {
        Self { air, ..Self::default() }
    }

    /// The same with a wind.
    #[must_use]
    pub fn with_wind(self, wind: Wind) -> Self {
        Self { wind, ..self }
    }

    /// The same with the line of sight `slope_rad` above the horizon: positive uphill.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`] beyond 1.4 rad (80 degrees) either way.
    pub fn with_slope(self, slope_rad: f64) -> Result<Self, UnitError> {
        Ok(Self { slope_rad: within("a slope", slope_rad, "rad", -1.4, 1.4)?, ..self })
    }

    /// The same with another gravity, in m/s2.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`] outside 0.1 to 30.
    pub fn with_gravity(self, gravity_m_s2: f64) -> Result<Self, UnitError> {
        Ok(Self { gravity_m_s2: within("gravity", gravity_m_s2, "m/s2", 0.1, 30.0)?, ..self })
    }

    /// The air.
    #[must_use]
    pub fn air(&self) -> Air {
        self.air
    }

    /// The wind.
    #[must_use]
    pub fn wind(&self) -> Wind {
        self.wind
    }

    /// Angle of the line of sight above the horizon, in radians.
    #[must_use]
    pub fn slope_rad(&self) -> f64 {
        self.slope_rad
    }
}

/// An arrow leaving the bow with its speed, below the eye, in some conditions.
///
/// The nock is `eye_above_arrow_mm` below the eye, perpendicular to the arrow: at a launch angle `a` above the line of
/// sight it starts at `s = h sin a`, `y = -h cos a`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flight {
    pub(super) arrow: Arrow,
    pub(super) conditions: Conditions,
    pub(super) speed_m_s: f64,
    pub(super) eye_above_arrow_m: f64,
}

/// Where and how the arrow meets the plane of the face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hit {
    /// Distance of the plane along the line of sight, in metres.
    pub distance_m: f64,
    /// Time of flight, in seconds.
    pub time_s: f64,
    /// Height above the line of sight, in metres.
    pub height_m: f64,
    /// How far below the straight line along which it was launched, perpendicular to the line of sight, in metres.
    pub drop_m: f64,
    /// To the right of the line of sight, in metres: drift with the wind.
    pub drift_m: f64,
    /// Speed over the ground on impact, in m/s.
    pub speed_m_s: f64,
    /// Angle of the path above the line of sight on impact, in radians: negative when it comes down.
    pub angle_rad: f64,
    /// Greatest height above the line of sight on the way, in metres; negative when the path stays below the eye.
    pub peak_height_m: f64,
    /// Where that is, along the line of sight, in metres.
    pub peak_at_m: f64,
}

/// Height, drift, speeds along `s`, `y`, `x`, time.
pub(super) type State = [f64; 6];

const STEPS_MAX: usize = 20_000;
/// Error allowed a step, in metres, seconds and, for speeds, in units of the launch speed.
const TOLERANCE: f64 = 2e-10;
/// Below this forward speed, in m/s, an arrow counts as stopped.
const FORWARD_MIN_M_S: f64 = 0.5;

/// The equation of motion with its constants worked out.
pub(super) struct Motion {
    wind: [f64; 3],
    gravity: [f64; 2],
    drag: Drag,
    per_cd: f64,
    reynolds_per_speed: f64,
    speed_scale: f64,
}

impl Motion {
    #[inline]
    fn slopes(&self, state: &State) -> State {
        let [_, _, u, v, w, _] = *state;
        let (a, b, c) = (u - self.wind[0], v - self.wind[1], w - self.wind[2]);
        let through_air = (a * a + b * b + c * c).sqrt();
        let cd = match self.drag {
            Drag::Constant { cd } => cd,
            law => law.cd((self.reynolds_per_speed * through_air).max(1e-9)),
        };
        let k = self.per_cd * cd * through_air;
        let pace = 1.0 / u;
        [v * pace, w * pace, (self.gravity[0] - k * a) * pace, (self.gravity[1] - k * b) * pace, -k * c * pace, pace]
    }

    /// One step of Dormand & Prince 1980 ("A family of embedded Runge-Kutta formulae", J. Comp. Appl. Math. 6): the
    /// state after `h` metres, the slopes there, and the error relative to what is allowed (infinite when the arrow
    /// stops).
    fn step(&self, y: &State, k1: &State, h: f64) -> (State, State, f64) {
        let mut stage: State = [0.0; 6];
        for i in 0..6 {
            stage[i] = y[i] + h * (0.2 * k1[i]);
        }
        let k2 = self.slopes(&stage);
        for i in 0..6 {
            stage[i] = y[i] + h * (3.0 / 40.0 * k1[i] + 9.0 / 40.0 * k2[i]);
        }
        let k3 = self.slopes(&stage);
        for i in 0..6 {
            stage[i] = y[i] + h * (44.0 / 45.0 * k1[i] - 56.0 / 15.0 * k2[i] + 32.0 / 9.0 * k3[i]);
        }
        let k4 = self.slopes(&stage);
        for i in 0..6 {
            let first = 19372.0 / 6561.0 * k1[i] - 25360.0 / 2187.0 * k2[i];
            stage[i] = y[i] + h * (first + 64448.0 / 6561.0 * k3[i] - 212.0 / 729.0 * k4[i]);
        }
        let k5 = self.slopes(&stage);
        for i in 0..6 {
            let first = 9017.0 / 3168.0 * k1[i] - 355.0 / 33.0 * k2[i] + 46732.0 / 5247.0 * k3[i];
            stage[i] = y[i] + h * (first + 49.0 / 176.0 * k4[i] - 5103.0 / 18656.0 * k5[i]);
        }
        let k6 = self.slopes(&stage);
        let mut after: State = [0.0; 6];
        for i in 0..6 {
            let first = 35.0 / 384.0 * k1[i] + 500.0 / 1113.0 * k3[i] + 125.0 / 192.0 * k4[i];
            after[i] = y[i] + h * (first - 2187.0 / 6784.0 * k5[i] + 11.0 / 84.0 * k6[i]);
        }
        let k7 = self.slopes(&after);
        if after[2] <= FORWARD_MIN_M_S || !after.iter().chain(&k7).all(|x| x.is_finite()) {
            return (after, k7, f64::INFINITY);
        }
        let mut worst: f64 = 0.0;
        for i in 0..6 {
            let error = h
                * (71.0 / 57600.0 * k1[i] - 71.0 / 16695.0 * k3[i] + 71.0 / 1920.0 * k4[i]
                    - 17253.0 / 339_200.0 * k5[i]
                    + 22.0 / 525.0 * k6[i]
                    - 1.0 / 40.0 * k7[i]);
            let scale = if (2..5).contains(&i) { self.speed_scale } else { 1.0 };
            worst = worst.max(error.abs() / (TOLERANCE * scale));
        }
        (after, k7, worst)
    }
}

impl Flight {
    /// The flight of `arrow` at `speed_m_s`, its nock `eye_above_arrow_mm` below the eye.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`]: speed 5 to 200 m/s, eye above the arrow -100 to 400 mm.
    pub fn new(
        arrow: Arrow,
        conditions: Conditions,
        speed_m_s: f64,
        eye_above_arrow_mm: f64,
    ) -> Result<Self, UnitError> {
        let eye_above_arrow_mm =
            within("the height of the eye above the arrow", eye_above_arrow_mm, "mm", -100.0, 400.0)?;
        Ok(Self {
            arrow,
            conditions,
            speed_m_s: within("the speed of an arrow", speed_m_s, "m/s", 5.0, 200.0)?,
            eye_above_arrow_m: eye_above_arrow_mm / 1000.0,
        })
    }

    /// The same in other conditions.
    #[must_use]
    pub fn with_conditions(self, conditions: Conditions) -> Self {
        Self { conditions, ..self }
    }

    /// The same at another speed.
    ///
    /// # Errors
    /// As [`Flight::new`].
    pub fn with_speed(self, speed_m_s: f64) -> Result<Self, UnitError> {
        Self::new(self.arrow, self.conditions, speed_m_s, self.eye_above_arrow_m * 1000.0)
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

    /// Launch speed in m/s.
    #[must_use]
    pub fn speed_m_s(&self) -> f64 {
        self.speed_m_s
    }

    /// Height of the eye above the nock, perpendicular to the arrow, in millimetres.
    #[must_use]
    pub fn eye_above_arrow_mm(&self) -> f64 {
        self.eye_above_arrow_m * 1000.0
    }

    /// Drag per metre at the launch speed, in still air.
    #[must_use]
    pub fn drag_per_m(&self) -> f64 {
        self.arrow.drag_per_m(&self.conditions.air, self.speed_m_s)
    }

    pub(super) fn motion(&self) -> Motion {
        let (sin, cos) = self.conditions.slope_rad.sin_cos();
        let (wind, g, air) = (self.conditions.wind, self.conditions.gravity_m_s2, &self.conditions.air);
        Motion {
            wind: [wind.tail_m_s() * cos, -wind.tail_m_s() * sin, wind.right_m_s()],
            gravity: [-g * sin, -g * cos],
            drag: self.arrow.drag(),
            per_cd: self.arrow.per_cd(air),
            reynolds_per_speed: self.arrow.reynolds(air, 1.0),
            speed_scale: self.speed_m_s,
        }
    }

    /// Where a launch at `angle_rad` starts: distance and state.
    fn start(&self, angle_rad: f64) -> (f64, State) {
        let (sin, cos) = angle_rad.sin_cos();
        let (h, v) = (self.eye_above_arrow_m, self.speed_m_s);
        (h * sin, [-h * cos, 0.0, v * cos, v * sin, 0.0, 0.0])
    }

    /// Flies to `distance_m`, telling `each` of every step: from where, state and slopes there, and how long.
    pub(super) fn travel(
        &self,
        motion: &Motion,
        angle_rad: f64,
        distance_m: f64,
        mut each: impl FnMut(f64, &State, &State, f64, &State),
    ) -> Result<State, FlightError> {
        let (mut s, mut state) = self.start(angle_rad);
        let stopped = |at: f64| FlightError::Stopped { stopped_m: at, distance_m };
        if state[2] <= FORWARD_MIN_M_S {
            return Err(stopped(s));
        }
        let mut slopes = motion.slopes(&state);
        let mut h = (distance_m - s).min(20.0);
        for _ in 0..STEPS_MAX {
            let left = distance_m - s;
            if left <= 0.0 {
                return Ok(state);
            }
            // A last sliver would waste a step: take it along, or share it between the last two.
            let take = if h >= left { left } else { h.min(0.5 * left).max(h.min(left - h)) };
            let (after, slopes_after, error) = motion.step(&state, &slopes, take);
            if error <= 1.0 {
                each(s, &state, &slopes, take, &after);
                s = if take >= left { distance_m } else { s + take };
                (state, slopes) = (after, slopes_after);
                h = take * (0.9 * error.max(1e-10).powf(-0.2)).clamp(0.3, 6.0);
            } else {
                h = take * if error.is_finite() { (0.9 * error.powf(-0.2)).clamp(0.1, 0.9) } else { 0.2 };
                if h < 1e-6 {
                    return Err(stopped(s));
                }
            }
        }
        Err(FlightError::NotSettled { distance_m, iterations: STEPS_MAX, residual: distance_m - s })
    }

    /// Flies at `angle_rad` above the line of sight to the plane `distance_m` away along it.
    ///
    /// Error of each number against an independent integrator: below 1e-6 of it (`checks`, `flight_scipy`).
    ///
    /// # Errors
    /// [`FlightError::Unit`]: distance 0.5 to 1000 m, angle within 1.5 rad. [`FlightError::Stopped`] when the arrow
    /// turns back before the plane.
    pub fn fly(&self, angle_rad: f64, distance_m: f64) -> Result<Hit, FlightError> {
        within("a launch angle", angle_rad, "rad", -1.5, 1.5)?;
        within("a distance", distance_m, "m", 0.5, 1000.0)?;
        let motion = self.motion();
        let (start_s, start) = self.start(angle_rad);
        let mut peak = (start[0], start_s);
        let state = self.travel(&motion, angle_rad, distance_m, |s, from, slopes, h, after| {
            if from[3] > 0.0 && after[3] <= 0.0 {
                peak = highest(&motion, s, from, slopes, h, after);
            }
        })?;
        if state[0] > peak.0 {
            peak = (state[0], distance_m);
        }
        let straight = start[0] + (distance_m - start_s) * angle_rad.tan();
        Ok(Hit {
            distance_m,
            time_s: state[5],
            height_m: state[0],
            drop_m: straight - state[0],
            drift_m: state[1],
            speed_m_s: (state[2] * state[2] + state[3] * state[3] + state[4] * state[4]).sqrt(),
            angle_rad: state[3].atan2(state[2]),
            peak_height_m: peak.0,
            peak_at_m: peak.1,
        })
    }

    /// Height above the line of sight at `distance_m`: what the search for an angle needs and no more.
    pub(super) fn height(&self, motion: &Motion, angle_rad: f64, distance_m: f64) -> Result<f64, FlightError> {
        self.travel(motion, angle_rad, distance_m, |_, _, _, _, _| {}).map(|state| state[0])
    }
}

/// The top of the path within the step of length `h` from `from`: height and distance. The climb at a fraction of the
/// step is had by a step of that length; the root by the Illinois form of false position, at most 30 times.
fn highest(motion: &Motion, s: f64, from: &State, slopes: &State, h: f64, after: &State) -> (f64, f64) {
    let (mut a, mut fa, mut b, mut fb) = (0.0, from[3], h, after[3]);
    let (mut top, mut at) = if from[0] > after[0] { (from[0], s) } else { (after[0], s + h) };
    for _ in 0..30 {
        let middle = (a * fb - b * fa) / (fb - fa);
        let (state, _, _) = motion.step(from, slopes, middle);
        (top, at) = (state[0], s + middle);
        let f = state[3];
        if f.abs() < 1e-7 || (b - a).abs() < 1e-9 {
            break;
        }
        if f > 0.0 {
            (a, fa) = (middle, f);
            fb *= 0.5;
        } else {
            (b, fb) = (middle, f);
            fa *= 0.5;
        }
    }
    (top, at)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn vacuum(slope_rad: f64) -> Flight {
        let arrow = Arrow::new(21.0, 5.5, Drag::default()).unwrap();
        let conditions = Conditions::in_air(Air::new(0.0, 1.8e-5).unwrap()).with_slope(slope_rad).unwrap();
        Flight::new(arrow, conditions, 60.0, 0.0).unwrap()
    }

    #[test]
    fn without_drag_the_path_is_a_parabola() {
        for slope in [-0.5_f64, 0.0, 0.4] {
            let hit = vacuum(slope).fly(0.05, 70.0).unwrap();
            // Along the line of sight s = v cos a t - g sin(slope) t^2 / 2; solve for t, then the rest by hand.
            let (gs, gy) = (GRAVITY_M_S2 * slope.sin(), GRAVITY_M_S2 * slope.cos());
            let (u, v) = (60.0 * 0.05_f64.cos(), 60.0 * 0.05_f64.sin());
            let t = 2.0 * 70.0 / (u + (u * u - 2.0 * gs * 70.0).sqrt());
            assert!((hit.time_s - t).abs() < 1e-9, "{slope}: {} {t}", hit.time_s);
            assert!((hit.height_m - (v * t - 0.5 * gy * t * t)).abs() < 1e-8);
            assert!((hit.peak_height_m - v * v / (2.0 * gy)).abs() < 1e-8, "{slope}: {hit:?}");
        }
    }

    #[test]
    fn the_top_of_the_path_is_an_end_when_it_only_falls_or_only_climbs() {
        let falls = vacuum(0.0).fly(-0.02, 30.0).unwrap();
        assert!(falls.peak_height_m.abs() < 1e-12 && falls.peak_at_m.abs() < 1e-12);
        let climbs = vacuum(0.0).fly(0.3, 30.0).unwrap();
        assert!((climbs.peak_at_m - 30.0).abs() < 1e-12 && (climbs.peak_height_m - climbs.height_m).abs() < 1e-12);
    }

    #[test]
    fn an_arrow_that_turns_back_is_an_error() {
        let arrow = Arrow::new(5.0, 30.0, Drag::constant(20.0).unwrap()).unwrap();
        let flight = Flight::new(arrow, Conditions::default(), 20.0, 100.0).unwrap();
        assert!(matches!(flight.fly(0.3, 400.0), Err(FlightError::Stopped { .. })));
        assert!(matches!(flight.fly(0.3, f64::NAN), Err(FlightError::Unit(_))));
    }
}
