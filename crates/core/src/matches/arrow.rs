//! One arrow of an archer: what it scores, and how near to the centre it lands.

use super::MatchError;
use super::points::Points;
use crate::group::ClassOdds;
use crate::range::within;
use crate::score::Rings;

/// One share of where an arrow lands: round and normal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// Its share; those of an arrow add up to 1.
    pub share: f64,
    /// How far its middle is from the centre, in millimetres.
    pub off_mm: f64,
    /// Its variance along each axis, in mm^2.
    pub variance_mm2: f64,
}

/// An arrow before it is shot.
#[derive(Debug, Clone, PartialEq)]
pub struct Arrow {
    /// Where it may land.
    pub parts: Vec<Part>,
    /// What it scores.
    pub points: Points,
}

impl Arrow {
    /// An arrow that lands as `parts` say, on the face of `rings`.
    #[must_use]
    pub fn of(rings: &Rings, parts: Vec<Part>) -> Self {
        let each: Vec<Points> =
            parts.iter().map(|p| Points::of_rings(rings.isotropic(p.off_mm, p.variance_mm2.sqrt()))).collect();
        let points = Points::mixed(parts.iter().map(|p| p.share).zip(&each));
        Self { parts, points }
    }

    /// An arrow of the classes of `odds`, a clean one of `variance_mm2` an axis, from a sight that is `off_mm` off.
    #[must_use]
    pub fn shot(rings: &Rings, odds: ClassOdds, off_mm: f64, variance_mm2: f64) -> Self {
        let part = |(share, off_mm, k)| Part { share, off_mm, variance_mm2: k * variance_mm2 };
        Self::of(rings, odds.rounded(off_mm).map(part).collect())
    }

    /// The arrow of an archer who averages so many `points` with a sight that is right, by bisection over the spread: within 1e-9
    /// points.
    ///
    /// # Errors
    /// [`MatchError::OutOfRange`] unless the average lies between a tenth of a point and a hundredth below the highest value.
    pub fn averaging(rings: &Rings, odds: ClassOdds, points: f64) -> Result<Self, MatchError> {
        let highest = f64::from(rings.face().highest_value());
        within("the average arrow", points, "", 0.1, highest - 0.01)?;
        let odds = odds.without_bad_shots();
        let at = |log_sd: f64| Self::shot(rings, odds, 0.0, (2.0 * log_sd).exp());
        let (mut low, mut high) = (0.3_f64.ln(), (8.0 * rings.outer_mm()).ln());
        for _ in 0..60 {
            let mid = 0.5 * (low + high);
            if at(mid).points.mean() > points {
                low = mid;
            } else {
                high = mid;
            }
        }
        Ok(at(low))
    }
}

/// Chance that an arrow of `a` lands nearer to the centre than one of `b` when both shoot again as long as both miss the face of
/// `rings` altogether (common practice, from memory: one arrow each, the nearest to the centre wins).
///
/// For two round normals about `m` and 0 with variances `s` and `t` the density of the nearer one, `E exp(-R^2 / 2t)`, is again normal:
/// `t / (s + t) exp(-m^2 / (2 (s + t)))` times a normal about `m t / (s + t)` of variance `s t / (s + t)`, whose share on the face
/// counts. Exact where `b` has its middle in the centre; an archer's own sight may be off, the other's is taken to be right.
#[must_use]
pub fn nearer(rings: &Rings, a: &Arrow, b: &Arrow) -> f64 {
    let (mut wins, mut loses) = (0.0, 0.0);
    for p in &a.parts {
        for q in &b.parts {
            let (s, t, m) = (p.variance_mm2, q.variance_mm2, p.off_mm);
            let on_face = |off: f64, variance: f64| rings.within_face(off, variance.sqrt());
            let (both, share) = (p.share * q.share, t / (s + t));
            let win = share * (-0.5 * m * m / (s + t)).exp() * on_face(m * share, s * share);
            // Either some arrow is on the face, and then the nearer one wins, or both shoot again.
            let some = 1.0 - (1.0 - on_face(m, s.max(1e-9))) * (1.0 - on_face(0.0, t));
            wins += both * win;
            loses += both * (some - win).max(0.0);
        }
    }
    if wins + loses > 0.0 { wins / (wins + loses) } else { 0.5 }
}
