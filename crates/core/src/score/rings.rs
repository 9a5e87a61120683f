//! The probability of each number of points an arrow can make, in place of their mean alone.

use super::table::Scorer;
use super::{ScoreError, normal_in_circle, t_in_circle};
use crate::face::Face;
use crate::plane::{Point, Sym2};
use crate::units::Shaft;

/// Probabilities of 0, 1, ... points from those of the circles of a face, the inmost first: each zone is what its circle has beyond the
/// next smaller one.
fn by_value(face: &Face, inside: &[f64]) -> Vec<f64> {
    let mut out = vec![0.0; usize::from(face.highest_value()) + 1];
    let mut smaller = 0.0_f64;
    for (zone, p) in face.zones.iter().zip(inside) {
        let p = p.clamp(smaller, 1.0);
        out[usize::from(zone.value)] += p - smaller;
        smaller = p;
    }
    out[0] += 1.0 - smaller;
    out
}

fn each_circle(
    face: &Face,
    shaft: Shaft,
    inside: impl Fn(f64) -> Result<f64, ScoreError>,
) -> Result<Vec<f64>, ScoreError> {
    let inside: Result<Vec<f64>, _> = face.zones.iter().map(|z| inside(z.radius_mm + shaft.radius_mm())).collect();
    Ok(by_value(face, &inside?))
}

/// Probabilities of 0, 1, ... points, up to the highest of `face`, of an arrow whose place is normal about `mean` (mm, face frame)
/// with covariance `cov` (mm^2): differences of [`normal_in_circle`], each within 1e-9.
///
/// # Errors
/// [`ScoreError`].
pub fn zones_normal(face: &Face, shaft: Shaft, mean: Point, cov: Sym2) -> Result<Vec<f64>, ScoreError> {
    each_circle(face, shaft, |r| normal_in_circle(mean, cov, r))
}

/// The same for a bivariate t of `dof` degrees of freedom about `mean` (mm) with scale matrix `scale` (mm^2).
///
/// # Errors
/// [`ScoreError`].
pub fn zones_t(face: &Face, shaft: Shaft, mean: Point, scale: Sym2, dof: f64) -> Result<Vec<f64>, ScoreError> {
    each_circle(face, shaft, |r| t_in_circle(mean, scale, dof, r))
}

/// The probabilities of points fast: a [`Scorer`] for each circle of a face.
///
/// Absolute error of each probability below 1e-4 for the round normal (measured in the tests against [`zones_normal`]); the
/// probabilities are never negative and add up to 1.
#[derive(Debug)]
pub struct Rings {
    face: &'static Face,
    shaft: Shaft,
    circles: Vec<Scorer>,
}

impl Rings {
    /// For `face` and arrows of `shaft`.
    #[must_use]
    pub fn new(face: &'static Face, shaft: Shaft) -> Self {
        let circles = face.zones.iter().map(|z| Scorer::circle(z.radius_mm + shaft.radius_mm())).collect();
        Self { face, shaft, circles }
    }

    /// The face.
    #[must_use]
    pub fn face(&self) -> &'static Face {
        self.face
    }

    /// Beyond this distance from the centre an arrow scores nothing, in millimetres.
    #[must_use]
    pub fn outer_mm(&self) -> f64 {
        self.face.outer_radius_mm() + self.shaft.radius_mm()
    }

    /// Probabilities of 0, 1, ... points of a round normal of standard deviation `sigma_mm`, `off_mm` from the centre.
    #[must_use]
    pub fn isotropic(&self, off_mm: f64, sigma_mm: f64) -> Vec<f64> {
        self.each(|circle| circle.isotropic(off_mm, sigma_mm))
    }

    /// Probability that the same normal falls on the face at all.
    #[must_use]
    pub fn within_face(&self, off_mm: f64, sigma_mm: f64) -> f64 {
        if off_mm <= 0.0 {
            return -(-0.5 * (self.outer_mm() / sigma_mm).powi(2)).exp_m1();
        }
        self.circles.last().map_or(0.0, |c| c.isotropic(off_mm, sigma_mm).clamp(0.0, 1.0))
    }

    /// The same from whatever gives the probability of each circle.
    pub(crate) fn each(&self, inside: impl FnMut(&Scorer) -> f64) -> Vec<f64> {
        let inside: Vec<f64> = self.circles.iter().map(inside).collect();
        by_value(self.face, &inside)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::Random;
    use crate::score::{expected_normal, expected_t};

    #[test]
    fn the_probabilities_add_up_to_one_and_to_the_expected_score() {
        let mut random = Random::seeded(8);
        for face in Face::all() {
            let (shaft, rings) = (Shaft::default(), Rings::new(face, Shaft::default()));
            for _ in 0..20 {
                let sd = face.outer_radius_mm() * (0.01_f64.ln() * random.uniform()).exp();
                let mean = Point::new(face.outer_radius_mm() * random.uniform(), sd * random.uniform());
                let cov = Sym2::new(sd * sd, 0.3 * sd * sd, 1.5 * sd * sd);
                let score = |p: &[f64]| p.iter().enumerate().map(|(v, p)| v as f64 * p).sum::<f64>();
                let check = |p: Vec<f64>, expected: f64| {
                    assert!((p.iter().sum::<f64>() - 1.0).abs() < 1e-12 && p.iter().all(|x| *x >= 0.0), "{p:?}");
                    assert!((score(&p) - expected).abs() < 1e-7, "{} {p:?}: {expected}", face.name);
                };
                check(zones_normal(face, shaft, mean, cov).unwrap(), expected_normal(face, shaft, mean, cov).unwrap());
                check(zones_t(face, shaft, mean, cov, 6.0).unwrap(), expected_t(face, shaft, mean, cov, 6.0).unwrap());
                let round = Sym2::isotropic(sd * sd);
                let want = zones_normal(face, shaft, Point::new(mean.radius_mm(), 0.0), round).unwrap();
                let got = rings.isotropic(mean.radius_mm(), sd);
                assert!((got.iter().sum::<f64>() - 1.0).abs() < 1e-12 && got.iter().all(|x| *x >= 0.0));
                for (v, (got, want)) in got.iter().zip(&want).enumerate() {
                    assert!((got - want).abs() < 1e-4, "{} {v} at {sd}: {got} {want}", face.name);
                }
            }
        }
    }
}
