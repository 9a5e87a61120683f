//! How many points something makes: a distribution over whole numbers.

use super::MatchError;

/// Probabilities of 0, 1, ... points. They add up to 1.
#[derive(Debug, Clone, PartialEq)]
pub struct Points(Vec<f64>);

impl Points {
    /// Probabilities of 0, 1, ... points.
    ///
    /// # Errors
    /// [`MatchError::NoProbabilities`] unless none is negative and they add up to 1 within 1e-6.
    pub fn new(p: Vec<f64>) -> Result<Self, MatchError> {
        let sum: f64 = p.iter().sum();
        if p.iter().all(|x| x.is_finite() && *x >= 0.0) && (sum - 1.0).abs() <= 1e-6 {
            Ok(Self(p.into_iter().map(|x| x / sum).collect()))
        } else {
            Err(MatchError::NoProbabilities { sum })
        }
    }

    /// Exactly `points`.
    #[must_use]
    pub fn certain(points: u32) -> Self {
        let mut p = vec![0.0; points as usize + 1];
        p[points as usize] = 1.0;
        Self(p)
    }

    /// Shares of other distributions.
    pub(super) fn mixed<'a>(parts: impl IntoIterator<Item = (f64, &'a Self)>) -> Self {
        let mut out: Vec<f64> = Vec::new();
        for (w, p) in parts {
            out.resize(out.len().max(p.0.len()), 0.0);
            out.iter_mut().zip(&p.0).for_each(|(o, x)| *o += w * x);
        }
        Self(out)
    }

    pub(super) fn of_rings(p: Vec<f64>) -> Self {
        Self(p)
    }

    /// The probabilities of 0, 1, ... points.
    #[must_use]
    pub fn get(&self) -> &[f64] {
        &self.0
    }

    /// Most points.
    #[must_use]
    pub fn most(&self) -> usize {
        self.0.len() - 1
    }

    /// Points expected.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.0.iter().enumerate().map(|(v, p)| v as f64 * p).sum()
    }

    /// Their variance.
    #[must_use]
    pub fn variance(&self) -> f64 {
        let mean = self.mean();
        self.0.iter().enumerate().map(|(v, p)| (v as f64 - mean).powi(2) * p).sum()
    }

    /// The sum of both, each drawn by itself.
    #[must_use]
    pub fn and(&self, other: &Self) -> Self {
        let mut out = vec![0.0; self.0.len() + other.0.len() - 1];
        for (i, a) in self.0.iter().enumerate().filter(|(_, a)| **a > 0.0) {
            for (o, b) in out[i..].iter_mut().zip(&other.0) {
                *o += a * b;
            }
        }
        Self(out)
    }

    /// The sum of `n` of them, each drawn by itself.
    #[must_use]
    pub fn times(&self, n: u32) -> Self {
        (0..n).fold(Self::certain(0), |sum, _| sum.and(self))
    }

    /// One point less, where there is one.
    pub(super) fn less_one(&self) -> Self {
        let mut out = self.0[1..].to_vec();
        match out.first_mut() {
            Some(first) => *first += self.0[0],
            None => out.push(self.0[0]),
        }
        Self(out)
    }

    /// Probabilities that these points are more than, as many as and fewer than `other`.
    #[must_use]
    pub fn against(&self, other: &Self) -> [f64; 3] {
        let (mut more, mut level, mut below) = (0.0, 0.0, 0.0);
        for (v, p) in self.0.iter().enumerate() {
            let same = other.0.get(v).copied().unwrap_or(0.0);
            more += p * below;
            level += p * same;
            below += same;
        }
        [more, level, (1.0 - more - level).max(0.0)]
    }
}
