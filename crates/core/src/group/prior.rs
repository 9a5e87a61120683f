//! What is known before the first shot, and how far it can be wrong.
//!
//! An archer tells how wide the groups are and how well the sight is known. Both can be wrong: a sight is knocked, a mark
//! mistyped, a spread is a default that nobody measured. So the prior is a mixture:
//!
//! ```text
//! trust    as told with probability 1 - doubt, told / 36 else (the setting is six times farther off than told)
//! spread   as told times 2^k, k = -4 .. 2, with the weights of a Student t of 3 degrees of freedom over k / width, where
//!          what is tighter than told has a width of its own
//! ```
//!
//! Each part is conjugate (matrix normal, inverse-Wishart), so the posterior stays a closed form. The shots of an end share
//! an offset, windage and elevation apart, whose variance is a share of the spread's.
//!
//! The numbers are argued, not learnt: common practice, no source. `docs/design/model.md` says what each is worth in points.

use super::{GroupError, PatternOdds, Predictive};
use crate::plane::{Point, Sym2};
use crate::range::within;
use crate::units::{Distance, Spread};
use crate::usual::argued;

/// Trust of a sight setting nobody has shot: a new sight or an unknown mark.
pub const TRUST_UNKNOWN: f64 = 0.1;
/// Trust of a predicted mark.
pub const TRUST_PREDICTED: f64 = 1.0;
/// Trust of a mark verified today.
pub const TRUST_VERIFIED: f64 = 6.0;
/// Spread assumed of an archer without history, in milliradians: that of a club archer with a recurve ([`crate::usual`]).
pub const SPREAD_DEFAULT_MRAD: f64 = argued::PLAIN_MRAD;
/// Worth of that assumption, in arrows.
pub const WORTH_DEFAULT: f64 = argued::PLAIN_WORTH;

/// Trust is divided by this where the setting is not what was told.
pub(crate) const KNOCKED: f64 = 36.0;
/// The spread's scale may be off by these powers of two.
const SCALES: [i32; 7] = [-4, -3, -2, -1, 0, 1, 2];

/// How far what was told may be wrong.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doubt {
    /// Probability that the sight setting is not what was told: knocked, mistyped, another bow.
    pub setting: f64,
    /// Width of the doubt that the spread is less than told, in octaves: the scale of a Student t of three degrees of freedom
    /// over the binary logarithm of the spread. Zero: it is no less.
    pub tighter_octaves: f64,
    /// The same that it is more.
    pub wider_octaves: f64,
}

impl Doubt {
    /// None: everything is as told.
    pub const NONE: Self = Self { setting: 0.0, tighter_octaves: 0.0, wider_octaves: 0.0 };
}

impl Default for Doubt {
    fn default() -> Self {
        // Who has no history takes a default that suits beginners; a tight group taken for a wide one is not believed.
        Self { setting: 0.25, tighter_octaves: 1.2, wider_octaves: 0.75 }
    }
}

/// The offset that the shots of one end share (wind, light, warmth), as standard deviations in units of the spread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EndEffect {
    /// Of windage.
    pub windage: f64,
    /// Of elevation.
    pub elevation: f64,
}

impl EndEffect {
    /// Shots that share nothing.
    pub const NONE: Self = Self { windage: 0.0, elevation: 0.0 };

    /// What is assumed of an archer without history: a fifth of the spread indoors and in elevation; in windage it grows with
    /// the distance to a half at 70 m and beyond, as the drift in a side wind grows against the spread.
    #[must_use]
    pub fn usual(distance: Distance) -> Self {
        let far = ((distance.metres() - 25.0) / 45.0).clamp(0.0, 1.0);
        Self { windage: 0.2 + 0.3 * far, elevation: 0.2 }
    }

    /// Variances of windage and elevation, in units of the spread's.
    #[must_use]
    pub fn variances(self) -> [f64; 2] {
        [self.windage * self.windage, self.elevation * self.elevation]
    }
}

/// What is known of this archer at this distance before the first shot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    spread_mm: f64,
    worth: f64,
    trust: f64,
    /// Where the centre is expected: the middle, unless the prior is an earlier posterior.
    centre: Point,
    /// Variance of the centre along each axis in units of the spread: as told, and where that is wrong.
    leans: [[f64; 2]; 2],
    /// Scale of the spread's inverse-Wishart, `spread_mm^2 worth I` unless the prior is an earlier posterior.
    psi: Sym2,
    doubt: Doubt,
    end: EndEffect,
    drift_mm: f64,
    end_drift_mm: Point,
    patterns: PatternOdds,
}

/// One part of the mixture over what may be wrong.
#[derive(Debug, Clone, Copy)]
pub(super) struct Base {
    /// Variance of the centre along each axis, in units of the spread.
    pub lean: [f64; 2],
    /// Log weights and scales of the spread.
    pub scales: [(f64, Sym2); SCALES.len()],
    /// How many of them are used.
    pub count: usize,
}

impl Prior {
    /// The prior of an archer whose `spread` at `distance` is worth `worth` arrows of evidence, with a sight setting worth
    /// `trust` arrows.
    ///
    /// `Sigma ~ inverse-Wishart(worth + 3, spread_mm^2 worth I)`, so that `E[Sigma] = spread_mm^2 I`; the centre given
    /// `Sigma` is `N(0, Sigma / trust)`. With the usual doubt and end effect of the distance; without drift.
    ///
    /// # Errors
    /// [`GroupError::OutOfRange`]: worth must lie in 0.1 to 10 000, trust in 0.0001 to 10 000.
    pub fn new(spread: Spread, distance: Distance, worth: f64, trust: f64) -> Result<Self, GroupError> {
        Self::on_face(spread.at(distance), worth, trust)?.with_end_effect(EndEffect::usual(distance))
    }

    /// The same for a spread of `spread_mm` on the face, with the usual doubt and without an end effect.
    ///
    /// # Errors
    /// [`GroupError::OutOfRange`], as above; the spread must lie in 0.001 to 100 000 mm.
    pub fn on_face(spread_mm: f64, worth: f64, trust: f64) -> Result<Self, GroupError> {
        within("the spread on the face", spread_mm, "", 0.001, 100_000.0)?;
        within("worth", worth, "", 0.1, 10_000.0)?;
        within("trust", trust, "", 0.0001, 10_000.0)?;
        Ok(Self {
            spread_mm,
            worth,
            trust,
            centre: Point::default(),
            leans: [[1.0 / trust; 2], [KNOCKED / trust; 2]],
            psi: Sym2::isotropic(spread_mm * spread_mm * worth),
            doubt: Doubt::default(),
            end: EndEffect::NONE,
            drift_mm: 0.0,
            end_drift_mm: Point::default(),
            patterns: PatternOdds::USUAL,
        })
    }

    /// The same, doubted so far.
    ///
    /// # Errors
    /// [`GroupError::OutOfRange`]: the setting's doubt must lie in 0 to 0.9, the spread's in 0 to 4 octaves.
    pub fn doubted(self, doubt: Doubt) -> Result<Self, GroupError> {
        within("the doubt of the setting", doubt.setting, "", 0.0, 0.9)?;
        within("the doubt of a tighter spread", doubt.tighter_octaves, "", 0.0, 4.0)?;
        within("the doubt of a wider spread", doubt.wider_octaves, "", 0.0, 4.0)?;
        Ok(Self { doubt, ..self })
    }

    /// The same, with shots of an end that share such an offset.
    ///
    /// # Errors
    /// [`GroupError::OutOfRange`]: each must lie in 0 to 10 spreads.
    pub fn with_end_effect(self, end: EndEffect) -> Result<Self, GroupError> {
        within("the end effect in windage", end.windage, "", 0.0, 10.0)?;
        within("the end effect in elevation", end.elevation, "", 0.0, 10.0)?;
        Ok(Self { end, ..self })
    }

    /// The same, with a centre that wanders by `drift_mm` (one standard deviation an axis on the face) between ends.
    ///
    /// # Errors
    /// [`GroupError::OutOfRange`]: it must lie in 0 to 10 000 mm.
    pub fn with_drift_mm(self, drift_mm: f64) -> Result<Self, GroupError> {
        within("the drift", drift_mm, "", 0.0, 10_000.0)?;
        Ok(Self { drift_mm, ..self })
    }

    /// The same, of an archer whose group is known to go by `step` (mm on the face, right and up) from each end to the next, as where an
    /// arm tires.
    ///
    /// # Errors
    /// [`GroupError::OutOfRange`]: it must lie within 10 000 mm.
    pub fn with_end_drift_mm(self, step: Point) -> Result<Self, GroupError> {
        within("the drift from end to end", step.radius_mm(), "", 0.0, 10_000.0)?;
        Ok(Self { end_drift_mm: step, ..self })
    }

    /// The same, of an archer whose groups are of each pattern so often.
    #[must_use]
    pub fn with_patterns(self, patterns: PatternOdds) -> Self {
        Self { patterns, ..self }
    }

    /// The same, taken at its word: no doubt, no shared offsets, no drift. For comparing with references, and for archers
    /// simulated so.
    #[must_use]
    pub fn as_told(self) -> Self {
        Self { doubt: Doubt::NONE, end: EndEffect::NONE, drift_mm: 0.0, end_drift_mm: Point::default(), ..self }
    }

    /// What is known at the next distance of a round, `ratio` times as far, where windage and spread come along from `here` (in
    /// millimetres at the distance shot so far) and elevation starts anew as this prior, of the new distance, has it.
    #[must_use]
    pub fn with_windage_of(self, here: &Predictive, ratio: f64) -> Self {
        let one = here.collapsed(1, 0.0);
        let Some(part) = one.parts.first() else { return self };
        let row = part.rows[0];
        let psi = part.psi * (ratio * ratio);
        let worth = here.nu - 3.0;
        let spread_mm = (psi.mean_variance() / worth).sqrt();
        // The mark's own trust is in arrows of the spread that was told for it.
        let mark = self.leans.map(|l| l[1] * self.spread_mm * self.spread_mm * worth / psi.yy);
        Self {
            spread_mm,
            worth,
            centre: Point::new(row.mean.x_mm * ratio, 0.0),
            leans: [[row.lean[0], mark[0]], [row.lean[0], mark[1]]],
            psi,
            doubt: Doubt { setting: self.doubt.setting, ..Doubt::NONE },
            ..self
        }
    }

    /// What is known once shots have said `next`: as that has it, in one part and without further doubt.
    #[must_use]
    pub fn after(self, next: &Predictive) -> Self {
        let one = next.collapsed(1, 0.0);
        let Some(part) = one.parts.first() else { return self };
        let (row, worth) = (part.rows[0], next.nu - 3.0);
        Self {
            spread_mm: (part.psi.mean_variance() / worth).sqrt(),
            worth,
            centre: row.mean,
            leans: [row.lean; 2],
            psi: part.psi,
            doubt: Doubt::NONE,
            ..self
        }
    }

    /// The same, with the centre expected at `centre` (mm).
    #[must_use]
    pub fn about(mut self, centre: Point) -> Self {
        self.centre = centre;
        self
    }

    /// Spread expected on the face, one standard deviation an axis, in millimetres.
    #[must_use]
    pub fn spread_mm(&self) -> f64 {
        self.spread_mm
    }

    /// How many arrows the expected spread is worth.
    #[must_use]
    pub fn worth(&self) -> f64 {
        self.worth
    }

    /// How many arrows the present sight setting is worth, as told.
    #[must_use]
    pub fn trust(&self) -> f64 {
        self.trust
    }

    /// Where the centre is expected.
    #[must_use]
    pub fn centre(&self) -> Point {
        self.centre
    }

    /// How far what was told may be wrong.
    #[must_use]
    pub fn doubt(&self) -> Doubt {
        self.doubt
    }

    /// What the shots of an end share.
    #[must_use]
    pub fn end_effect(&self) -> EndEffect {
        self.end
    }

    /// Drift of the centre between ends, one standard deviation an axis, in millimetres.
    #[must_use]
    pub fn drift_mm(&self) -> f64 {
        self.drift_mm
    }

    /// How far the group is known to go from each end to the next, right and up, in millimetres on the face.
    #[must_use]
    pub fn end_drift_mm(&self) -> Point {
        self.end_drift_mm
    }

    /// How often groups are of each pattern.
    #[must_use]
    pub fn patterns(&self) -> PatternOdds {
        self.patterns
    }

    /// Degrees of freedom of the spread's inverse-Wishart.
    pub(crate) fn nu(&self) -> f64 {
        self.worth + 3.0
    }

    /// A variance on the face in units of the expected spread.
    pub(super) fn in_spreads(&self, variance_mm2: f64) -> f64 {
        variance_mm2 / (self.spread_mm * self.spread_mm)
    }

    /// The parts of the mixture: one for the setting as told, one for where it is not, each with the scales of the spread.
    pub(super) fn bases(&self) -> Vec<Base> {
        let mut scales = [(0.0, Sym2::default()); SCALES.len()];
        let mut count = 0;
        // A Student t of three degrees of freedom.
        let weight = |k: i32| {
            let width = if k < 0 { self.doubt.tighter_octaves } else { self.doubt.wider_octaves };
            match k {
                0 => 1.0,
                _ if width > 0.0 => (1.0 + (f64::from(k) / width).powi(2) / 3.0).powi(-2),
                _ => 0.0,
            }
        };
        let total: f64 = SCALES.iter().map(|k| weight(*k)).sum();
        for k in SCALES {
            let w = weight(k) / total;
            if w > 0.0 {
                scales[count] = (w, self.psi * 4_f64.powi(k));
                count += 1;
            }
        }
        [1.0 - self.doubt.setting, self.doubt.setting]
            .into_iter()
            .zip(self.leans)
            .filter(|(w, _)| *w > 0.0)
            .map(|(w, lean)| Base { lean, scales: scales.map(|(s, psi)| ((w * s).ln(), psi)), count })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_parts_add_up_to_one() {
        let distance = Distance::from_metres(70.0).unwrap();
        let prior = Prior::new(Spread::from_mrad(1.5).unwrap(), distance, 4.0, 1.0).unwrap();
        let total =
            |p: &Prior| p.bases().iter().flat_map(|b| b.scales[..b.count].iter().map(|s| s.0.exp())).sum::<f64>();
        assert!((total(&prior) - 1.0).abs() < 1e-12);
        let told = prior.as_told();
        assert_eq!((told.bases().len(), told.bases()[0].count), (1, 1));
        assert!((total(&told) - 1.0).abs() < 1e-12);
        assert!(prior.doubted(Doubt { setting: 1.0, ..Doubt::NONE }).is_err());
        assert!(prior.with_end_effect(EndEffect { windage: f64::NAN, elevation: 0.0 }).is_err());
    }
}
