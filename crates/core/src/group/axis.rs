//! One axis of a process, carried shot by shot.
//!
//! Given the spread, windage and elevation are each a normal with three coordinates: the centre, the second coefficient of
//! the pattern (half a gap, a slope, a jump) and the offset that the shots of the present end share. All variances are in
//! units of the spread of that axis. A shot of class `kappa` with the row `h = [1, u, 1]` is
//!
//! ```text
//! v = kappa + h'Ph        d = z - h'm        m += Ph d / v        P -= Ph (Ph)' / v
//! ```
//!
//! the innovation form of the regression in [`evidence`](super::evidence). Between ends the shared offset is drawn anew and
//! the centre wanders; a touch loosens the centre.

/// Mean and covariance of (centre, second coefficient, offset of the end).
#[derive(Debug, Clone, Copy)]
pub(crate) struct Axis {
    pub m: [f64; 3],
    /// Entries 00, 01, 02, 11, 12, 22.
    pub p: [f64; 6],
}

/// What a shot was off, and the variance expected of it in units of the spread.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Innovation {
    pub d: f64,
    pub v: f64,
}

impl Axis {
    /// Before the first shot.
    pub fn new(mean: f64, lean: f64, second: f64, end: f64) -> Self {
        Self { m: [mean, 0.0, 0.0], p: [lean, 0.0, 0.0, second, 0.0, end] }
    }

    /// Takes in a shot at `z`.
    #[inline]
    pub fn take(&mut self, z: f64, u: f64, kappa: f64) -> Innovation {
        let p = &mut self.p;
        let h = [p[0] + u * p[1] + p[2], p[1] + u * p[3] + p[4], p[2] + u * p[4] + p[5]];
        let v = kappa + h[0] + u * h[1] + h[2];
        let d = z - (self.m[0] + u * self.m[1] + self.m[2]);
        let k = 1.0 / v;
        let g = [h[0] * k, h[1] * k, h[2] * k];
        for (m, g) in self.m.iter_mut().zip(g) {
            *m += g * d;
        }
        p[0] -= g[0] * h[0];
        p[1] -= g[0] * h[1];
        p[2] -= g[0] * h[2];
        p[3] -= g[1] * h[1];
        p[4] -= g[1] * h[2];
        p[5] -= g[2] * h[2];
        Innovation { d, v }
    }

    /// A new end begins: its offset has the variance `end`.
    #[inline]
    pub fn new_end(&mut self, end: f64) {
        self.m[2] = 0.0;
        (self.p[2], self.p[4], self.p[5]) = (0.0, 0.0, end);
    }

    /// The centre becomes less certain by `variance`.
    #[inline]
    pub fn loosen(&mut self, variance: f64) {
        self.p[0] += variance;
    }

    /// Mean and variance of the centre of the row `[1, u]`, without the offset of any end.
    #[inline]
    pub fn row(&self, u: f64) -> (f64, f64) {
        (self.m[0] + u * self.m[1], self.p[0] + u * (2.0 * self.p[1] + u * self.p[3]))
    }

    /// Adds `share` of `other`, whose means differ from `self.m` (already the mean of all) and whose spread is `ratio` times
    /// this one's; `per_spread` turns mm^2 into units of this spread.
    pub fn add_share(&mut self, mean: &Self, other: &Self, share: f64, ratio: f64, per_spread: f64) {
        let d = [0, 1, 2].map(|i| other.m[i] - mean.m[i]);
        let pairs = [(0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2)];
        for (k, (i, j)) in pairs.into_iter().enumerate() {
            self.p[k] += share * (other.p[k] * ratio + d[i] * d[j] * per_spread);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ends of shots with a shared offset against the dense formula: with `V` the covariance of all shots, the evidence's
    /// determinant is the product of the `v`, and the centre's variance is `1 / (1/lean + 1'V^-1 1)` without a shared
    /// offset in between.
    #[test]
    fn shared_offsets_count_once_an_end() {
        let (lean, end) = (2.0, 0.5);
        let mut axis = Axis::new(0.0, lean, 1.0, end);
        for e in 0..3 {
            if e > 0 {
                axis.new_end(end);
            }
            for _ in 0..4 {
                axis.take(1.0, 0.0, 1.0);
            }
        }
        // Each end's mean has the variance 1/4 + 1/2; three of them.
        let want = 1.0 / (1.0 / lean + 3.0 / (0.25 + end));
        assert!((axis.row(0.0).1 - want).abs() < 1e-12, "{} {want}", axis.row(0.0).1);
        assert!((axis.row(0.0).0 - want * 3.0 / (0.25 + end)).abs() < 1e-12);
    }
}
