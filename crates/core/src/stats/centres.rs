//! Are two centres the same: Hotelling's test for pairs of numbers in one unit.

use super::StatsError;
use super::distribution::{f_above, f_exceeded};
use crate::plane::{Point, Sym2};

/// Hotelling's T^2 and what follows from it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hotelling {
    /// The difference found.
    pub difference: [f64; 2],
    /// Covariance of that difference, in its unit squared.
    pub cov: Sym2,
    /// The statistic.
    pub t2: f64,
    /// Degrees of freedom of the covariance.
    pub dof: f64,
    /// Chance of so large a difference if there were none.
    pub p_value: f64,
}

fn mean_and_squares(sample: &[[f64; 2]]) -> (Point, Sym2) {
    let n = sample.len() as f64;
    let p = |o: &[f64; 2]| Point::new(o[0], o[1]);
    let mean = sample.iter().fold(Point::default(), |sum, o| sum + p(o)) * (1.0 / n);
    (mean, sample.iter().fold(Sym2::default(), |sum, o| sum + Sym2::outer(p(o) - mean)))
}

impl Hotelling {
    fn new(difference: Point, cov: Sym2, dof: f64) -> Result<Self, StatsError> {
        if !(cov.det() > 0.0 && cov.xx > 0.0) {
            return Err(StatsError::NoSpread);
        }
        let t2 = cov.mahalanobis2(difference);
        // T^2 (dof - 1) / (2 dof) is F with 2 and dof - 1 degrees of freedom.
        let p_value = f_above(t2 * (dof - 1.0) / (2.0 * dof), 2.0, dof - 1.0);
        Ok(Self { difference: [difference.x_mm, difference.y_mm], cov, t2, dof, p_value })
    }

    /// Is the mean of `sample` at `at`? (Johnson & Wichern 2007, "Applied Multivariate Statistical Analysis", 6th edition,
    /// section 5.2.)
    ///
    /// # Errors
    /// [`StatsError::TooFew`] below three places, [`StatsError::NoSpread`] when they lie on a line.
    pub fn one(sample: &[[f64; 2]], at: [f64; 2]) -> Result<Self, StatsError> {
        if sample.len() < 3 {
            return Err(StatsError::TooFew { values: sample.len(), needed: 3 });
        }
        let n = sample.len() as f64;
        let (mean, squares) = mean_and_squares(sample);
        Self::new(mean - Point::new(at[0], at[1]), squares * (1.0 / (n * (n - 1.0))), n - 1.0)
    }

    /// Is the mean of `second` that of `first`? The difference is second less first (the same source, section 6.3).
    ///
    /// # Errors
    /// [`StatsError::TooFew`] below two places each or five in all, [`StatsError::NoSpread`].
    pub fn two(first: &[[f64; 2]], second: &[[f64; 2]]) -> Result<Self, StatsError> {
        let (n, m) = (first.len(), second.len());
        if n < 2 || m < 2 || n + m < 4 {
            return Err(StatsError::TooFew { values: n + m, needed: 4 });
        }
        let (a, sa) = mean_and_squares(first);
        let (b, sb) = mean_and_squares(second);
        let (n, m) = (n as f64, m as f64);
        let dof = n + m - 2.0;
        Self::new(b - a, (sa + sb) * ((1.0 / n + 1.0 / m) / dof), dof)
    }

    /// How far from the difference found, in its standard deviations (Mahalanobis), the true one lies at most with
    /// probability `p`.
    #[must_use]
    pub fn reach(&self, p: f64) -> f64 {
        (2.0 * self.dof / (self.dof - 1.0) * f_exceeded(1.0 - p, 2.0, self.dof - 1.0)).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_samples_shifted_by_a_constant() {
        let a = [[0.0, 0.0], [1.0, 0.5], [-0.5, 1.0], [0.3, -0.8]];
        let b = a.map(|o| [o[0] + 3.0, o[1] - 1.0]);
        let got = Hotelling::two(&a, &b).unwrap();
        assert!((got.difference[0] - 3.0).abs() < 1e-12 && (got.difference[1] + 1.0).abs() < 1e-12);
        assert!(got.p_value < 0.02, "{got:?}");
        assert!(Hotelling::two(&a, &a).unwrap().p_value > 0.999);
        // At the reach of its own p-value the origin lies just on the edge.
        assert!((got.reach(1.0 - got.p_value).powi(2) / got.t2 - 1.0).abs() < 1e-6);
        assert!(matches!(Hotelling::one(&[[0.0, 0.0], [1.0, 1.0], [2.0, 2.0]], [0.0, 0.0]), Err(StatsError::NoSpread)));
    }
}
