//! What sort of shot it may be: clean, flyer or stray; how often each comes, and where this archer's bad shots go.

use super::GroupError;
use crate::plane::{Point, Sym2};
use crate::range::within;
use crate::shot::Felt;

/// Covariance factors of the classes clean, flyer and stray.
pub const KAPPA: [f64; 3] = [1.0, 9.0, 100.0];

/// Probabilities of the classes clean, flyer, stray for a shot that was not marked, and for one that felt bad or good.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClassOdds {
    unmarked: [f64; 3],
    bad: [f64; 3],
    good: [f64; 3],
    flyers: ClassShape,
}

/// One class: its shots are normal about a place of their own beside the centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClassShape {
    /// Where they go on average, from the centre, in millimetres on the face.
    pub mean_mm: Point,
    /// Their variance in windage and elevation, in units of a clean shot's.
    pub factors: [f64; 2],
}

impl ClassShape {
    /// What is assumed of the bad shots (flyers) of an archer without history: to all sides, three times as wide as clean ones.
    pub const USUAL_FLYERS: Self = Self::round(KAPPA[1]);

    /// About the centre, round, with that factor.
    #[must_use]
    pub const fn round(kappa: f64) -> Self {
        Self { mean_mm: Point::new(0.0, 0.0), factors: [kappa; 2] }
    }

    /// How much a `share` of a shot of this class tells of the centre, in clean shots: the mean of both axes.
    #[must_use]
    pub fn information(&self, share: f64) -> f64 {
        0.5 * (share / self.factors[0] + share / self.factors[1])
    }

    /// The covariance of a shot of this class where that of a clean one is `clean`.
    #[must_use]
    pub fn widened(&self, clean: Sym2) -> Sym2 {
        let [x, y] = self.factors;
        Sym2::new(clean.xx * x, clean.xy * (x * y).sqrt(), clean.yy * y)
    }
}

const USUAL_BAD: [f64; 3] = [0.30, 0.60, 0.10];
const USUAL_GOOD: [f64; 3] = [0.985, 0.010, 0.005];

impl ClassOdds {
    /// For a shot marked as a bad one, of an archer whose marks nobody has weighed.
    pub const BAD: Self = Self { unmarked: USUAL_BAD, ..Self::USUAL };
    /// For a shot marked as a good one.
    pub const GOOD: Self = Self { unmarked: USUAL_GOOD, ..Self::USUAL };
    const USUAL: Self =
        Self { unmarked: [0.91, 0.08, 0.01], bad: USUAL_BAD, good: USUAL_GOOD, flyers: ClassShape::USUAL_FLYERS };

    /// The odds `[clean, flyer, stray]` of a shot that was not marked; marked ones have the usual odds.
    ///
    /// # Errors
    /// [`GroupError::ClassOdds`] unless the three are not negative, the first is positive and they add up to 1 within
    /// 1e-6.
    pub fn new(odds: [f64; 3]) -> Result<Self, GroupError> {
        let sum: f64 = odds.iter().sum();
        if odds.iter().all(|p| p.is_finite() && *p >= 0.0) && odds[0] > 0.0 && (sum - 1.0).abs() <= 1e-6 {
            Ok(Self { unmarked: odds, ..Self::default() })
        } else {
            Err(GroupError::ClassOdds { odds })
        }
    }

    /// The same for an archer whose marks are worth what `bad` and `good` say for a shot that felt so
    /// ([`crate::fleet::session::felt_marks`] learns them).
    #[must_use]
    pub fn with_marks(self, bad: Self, good: Self) -> Self {
        Self { bad: bad.unmarked, good: good.unmarked, ..self }
    }

    /// The odds of a shot that felt so.
    #[must_use]
    pub fn felt(self, felt: Felt) -> Self {
        let unmarked = match felt {
            Felt::Unmarked => self.unmarked,
            Felt::Bad => self.bad,
            Felt::Good => self.good,
        };
        Self { unmarked, ..self }
    }

    /// `[clean, flyer, stray]` of a shot that was not marked.
    #[must_use]
    pub fn get(self) -> [f64; 3] {
        self.unmarked
    }

    /// The same for an archer whose bad shots go there.
    ///
    /// # Errors
    /// [`GroupError::OutOfRange`]: the mean must be within 100 m of the centre, each factor in 0.1 to 1000.
    pub fn with_bad_shots(self, flyers: ClassShape) -> Result<Self, GroupError> {
        for (what, value, least, most) in [
            ("where bad shots go in windage", flyers.mean_mm.x_mm, -100_000.0, 100_000.0),
            ("where bad shots go in elevation", flyers.mean_mm.y_mm, -100_000.0, 100_000.0),
            ("the width of bad shots in windage", flyers.factors[0], 0.1, 1000.0),
            ("the width of bad shots in elevation", flyers.factors[1], 0.1, 1000.0),
        ] {
            within(what, value, "", least, most)?;
        }
        Ok(Self { flyers, ..self })
    }

    /// Where bad shots go.
    #[must_use]
    pub fn bad_shots(self) -> ClassShape {
        self.flyers
    }

    /// The classes clean, flyer and stray.
    #[must_use]
    pub fn shapes(self) -> [ClassShape; 3] {
        [ClassShape::round(KAPPA[0]), self.flyers, ClassShape::round(KAPPA[2])]
    }

    /// The same of an archer of whom it is not known where bad shots go.
    #[must_use]
    pub fn without_bad_shots(self) -> Self {
        Self { flyers: ClassShape::USUAL_FLYERS, ..self }
    }

    /// Each class as a share, how far its middle is from the centre when the sight is `off_mm` off, and the factor of its variance:
    /// for those who know no side. What the sight is off is taken to be at a right angle to where bad shots go.
    pub(crate) fn rounded(self, off_mm: f64) -> impl Iterator<Item = (f64, f64, f64)> {
        let of = move |(share, s): (f64, ClassShape)| {
            (share, off_mm.hypot(s.mean_mm.radius_mm()), 0.5 * (s.factors[0] + s.factors[1]))
        };
        self.unmarked.into_iter().zip(self.shapes()).filter(|(p, _)| *p > 0.0).map(of)
    }

    /// How much a shot of these odds tells of the centre, in clean shots: the mean of one over the factors.
    #[must_use]
    pub fn information(self) -> f64 {
        self.unmarked.iter().zip(self.shapes()).map(|(p, s)| s.information(*p)).sum()
    }
}

impl Default for ClassOdds {
    fn default() -> Self {
        Self::USUAL
    }
}
