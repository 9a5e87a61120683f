//! How the pin answers to speed and drag at one distance: a surface fitted to exact flights.
//!
//! Let `d = theta - asin(h / D)` be the part of the launch angle that is not parallax. Without drag and slope `sin 2d`
//! is `g D / v^2`, a power of the speed, and drag bends that little. So `ln sin 2d` is interpolated by a biquadratic in
//! the logarithms of speed and drag factor through nine exact flights. Where the grid spans a posterior the surface is
//! exact to a hundredth of a millimetre at the pin (see the test).

use super::{MarksError, Rig};

/// Where the grid of nine flights stands: centre and half width of `ln speed` and `ln drag factor`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Grid {
    pub(super) centre: [f64; 2],
    pub(super) half: [f64; 2],
}

/// The pin at one distance and slope.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Response {
    grid: Grid,
    /// Coefficients of the logarithm, powers of the first variable by row.
    coefficients: [[f64; 3]; 3],
    eye_to_pin_mm: f64,
    parallax_rad: f64,
    /// Millimetres that the reading grows for each millimetre of eye height.
    pub(super) per_eye_mm: f64,
}

impl Response {
    pub(super) fn new(rig: &Rig, distance_m: f64, slope_rad: f64, grid: Grid) -> Result<Self, MarksError> {
        let sighting = rig.sighting();
        let sine = sighting.eye_above_arrow_mm() / 1000.0 / distance_m;
        let parallax_rad = sine.clamp(-0.999, 0.999).asin();
        let mut values = [[0.0; 3]; 3];
        for (i, row) in values.iter_mut().enumerate() {
            for (j, value) in row.iter_mut().enumerate() {
                let at = |axis: usize, step: usize| grid.centre[axis] + grid.half[axis] * (step as f64 - 1.0);
                let angle = rig.flight(at(0, i), at(1, j), slope_rad)?.angle_for(distance_m)?;
                // Positive in still air; a strong following wind up a steep slope at arm's length might not be.
                *value = (2.0 * (angle - parallax_rad)).sin().max(1e-12).ln();
            }
        }
        // Through -1, 0 and 1: constant, slope and curvature, along one variable and then the other.
        let along = |v: [f64; 3]| [v[1], 0.5 * (v[2] - v[0]), 0.5 * (v[2] + v[0]) - v[1]];
        let rows = values.map(along);
        let mut coefficients = [[0.0; 3]; 3];
        for j in 0..3 {
            let column = along([rows[0][j], rows[1][j], rows[2][j]]);
            for i in 0..3 {
                coefficients[i][j] = column[i];
            }
        }
        let eye_to_pin_mm = sighting.eye_to_pin_mm();
        // d tan(asin x) / dx = (1 - x^2)^(-3/2); the drop hardly depends on the eye.
        let per_eye_mm = eye_to_pin_mm / (1000.0 * distance_m) / (1.0 - sine * sine).max(1e-6).powf(1.5);
        Ok(Self { grid, coefficients, eye_to_pin_mm, parallax_rad, per_eye_mm })
    }

    /// How far the pin is below the line through the eye parallel to the arrow, in mm, with its slopes on `ln speed`
    /// and `ln drag factor`.
    pub(super) fn pin(&self, at: [f64; 2]) -> (f64, [f64; 2]) {
        let x = (at[0] - self.grid.centre[0]) / self.grid.half[0];
        let y = (at[1] - self.grid.centre[1]) / self.grid.half[1];
        let c = self.coefficients.map(|row| (row[0] + y * (row[1] + y * row[2]), row[1] + 2.0 * y * row[2]));
        let log = c[0].0 + x * (c[1].0 + x * c[2].0);
        let by_x = c[1].0 + 2.0 * x * c[2].0;
        let by_y = c[0].1 + x * (c[1].1 + x * c[2].1);
        // Beyond the surface's own flights the sine may leave its range, where no flight is.
        let sine = log.exp().min(0.95);
        let tan = (self.parallax_rad + 0.5 * sine.asin()).tan();
        let by_log = self.eye_to_pin_mm * (1.0 + tan * tan) * 0.5 * sine / (1.0 - sine * sine).sqrt();
        (self.eye_to_pin_mm * tan, [by_log * by_x / self.grid.half[0], by_log * by_y / self.grid.half[1]])
    }
}

#[cfg(test)]
mod tests {
    use super::super::Sighting;
    use super::*;
    use crate::flight::{Arrow, Drag};

    #[test]
    fn the_surface_follows_exact_flights() {
        let arrow = Arrow::new(21.0, 5.5, Drag::default()).unwrap();
        let rig = Rig::new(Sighting::new(880.0, 115.0).unwrap(), arrow);
        // A wide grid, as before any mark, and a narrow one, as after a few; bounds in millimetres at the pin.
        for (half, inside_mm, outside_mm) in [([0.18, 0.2], 0.02, 0.2), ([0.02, 0.2], 0.01, 0.07)] {
            let grid = Grid { centre: [4.06, 0.0], half };
            for distance in [3.0, 18.0, 50.0, 90.0] {
                let response = Response::new(&rig, distance, 0.1, grid).unwrap();
                for (i, j) in [(0.5, -0.5), (-1.0, 1.0), (-1.4, 0.3), (0.7, 1.6), (1.5, -1.5)] {
                    let at = [4.06 + half[0] * i, half[1] * j];
                    let exact = rig.flight(at[0], at[1], 0.1).unwrap().angle_for(distance).unwrap();
                    let error = response.pin(at).0 - rig.sighting().pin_below_mm(exact);
                    let bound_mm = if i.abs().max(f64::abs(j)) <= 1.0 { inside_mm } else { outside_mm };
                    assert!(error.abs() < bound_mm, "{half:?} {distance} {i} {j}: {error}");
                    let (ahead, back) = (response.pin([at[0] + 1e-5, at[1]]).0, response.pin([at[0] - 1e-5, at[1]]).0);
                    assert!(((ahead - back) / 2e-5 - response.pin(at).1[0]).abs() < 1e-4);
                }
            }
        }
    }
}
