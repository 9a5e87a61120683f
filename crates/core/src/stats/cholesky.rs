//! Small dense symmetric positive definite systems.

/// Lower Cholesky factor of a symmetric positive definite matrix, row by row.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Cholesky {
    n: usize,
    l: Vec<f64>,
}

impl Cholesky {
    /// Of the `n` by `n` matrix `m`, given row by row; `None` when it is not positive definite.
    pub(crate) fn new(n: usize, m: &[f64]) -> Option<Self> {
        let mut l = m.to_vec();
        for i in 0..n {
            for j in 0..=i {
                let mut sum = l[i * n + j];
                for k in 0..j {
                    sum -= l[i * n + k] * l[j * n + k];
                }
                if i == j {
                    if !(sum > 0.0 && sum.is_finite()) {
                        return None;
                    }
                    l[i * n + i] = sum.sqrt();
                } else {
                    l[i * n + j] = sum / l[j * n + j];
                }
            }
        }
        Some(Self { n, l })
    }

    /// Logarithm of the determinant of the matrix.
    pub(crate) fn log_det(&self) -> f64 {
        2.0 * (0..self.n).map(|i| self.l[i * self.n + i].ln()).sum::<f64>()
    }

    /// Solves `L x = b`.
    pub(crate) fn forward(&self, b: &[f64]) -> Vec<f64> {
        let n = self.n;
        let mut x = b.to_vec();
        for i in 0..n {
            for k in 0..i {
                x[i] -= self.l[i * n + k] * x[k];
            }
            x[i] /= self.l[i * n + i];
        }
        x
    }

    /// Solves `M x = b`.
    pub(crate) fn solve(&self, b: &[f64]) -> Vec<f64> {
        let n = self.n;
        let mut x = self.forward(b);
        for i in (0..n).rev() {
            for k in i + 1..n {
                x[i] -= self.l[k * n + i] * x[k];
            }
            x[i] /= self.l[i * n + i];
        }
        x
    }

    /// The inverse of the matrix, row by row.
    pub(crate) fn inverse(&self) -> Vec<f64> {
        let n = self.n;
        let mut out = vec![0.0; n * n];
        let mut unit = vec![0.0; n];
        for i in 0..n {
            unit[i] = 1.0;
            let column = self.solve(&unit);
            unit[i] = 0.0;
            for k in 0..n {
                out[k * n + i] = column[k];
            }
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_solves_and_inverts() {
        let m = [4.0, 2.0, 0.4, 2.0, 5.0, -1.0, 0.4, -1.0, 3.0];
        let c = Cholesky::new(3, &m).unwrap();
        let x = c.solve(&[1.0, -2.0, 0.5]);
        for i in 0..3 {
            let back: f64 = (0..3).map(|k| m[i * 3 + k] * x[k]).sum();
            assert!((back - [1.0, -2.0, 0.5][i]).abs() < 1e-12);
        }
        let inverse = c.inverse();
        assert!((inverse[1] - inverse[3]).abs() < 1e-12);
        let det = 4.0 * (15.0 - 1.0) - 2.0 * (6.0 + 0.4) + 0.4 * (-2.0 - 2.0);
        assert!((c.log_det() - f64::ln(det)).abs() < 1e-12);
        assert!(Cholesky::new(2, &[1.0, 2.0, 2.0, 1.0]).is_none());
    }
}
