//! Many trials at once, and the mean of what came out.

use rayon::prelude::*;

/// Runs `what` for the numbers `0..count`, on all cores, in an order that does not matter: each number has luck of its own.
pub fn crowd<T: Send>(count: usize, what: impl Fn(u64) -> T + Sync + Send) -> Vec<T> {
    (0..count as u64).into_par_iter().map(what).collect()
}

/// A mean with its standard error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mean {
    /// The mean.
    pub mean: f64,
    /// Its standard error.
    pub error: f64,
}

impl Mean {
    /// Of independent values.
    pub fn of(values: impl Iterator<Item = f64> + Clone) -> Self {
        let n = values.clone().count().max(1) as f64;
        let mean = values.clone().sum::<f64>() / n;
        let variance = values.map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0).max(1.0);
        Self { mean, error: (variance / n).sqrt() }
    }

    /// Share of `came`, with the error that a share of `expected` would have.
    #[must_use]
    pub fn share(came: usize, of: usize, expected: f64) -> Self {
        let n = of.max(1) as f64;
        Self { mean: came as f64 / n, error: (expected * (1.0 - expected) / n).sqrt() }
    }
}

impl std::fmt::Display for Mean {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:5.2} +- {:4.2}", self.mean, self.error)
    }
}
