//! Tuning: bareshafts against fletched arrows, and groups that walk sideways with distance.
//!
//! What a difference suggests is given as possibilities. The rules behind them are **common practice, no source**: they hold for
//! the finger-shot recurve with a button, and form, fletching clearance and wind can imitate every one of them.

use super::{FleetError, Offset};
use crate::plane::{Point, Sym2};
use crate::stats::cholesky::Cholesky;
use crate::stats::distribution::{chi2_below, normal_above};
use crate::units::Distance;

/// A group's centre and how well it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Centre {
    /// The distance it was shot at.
    pub distance: Distance,
    /// Where it is, in millimetres in the face frame.
    pub at: Point,
    /// Its covariance, in mm^2.
    pub cov_mm2: Sym2,
}

/// Where bareshafts land against fletched arrows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bareshaft {
    /// Bareshafts less fletched arrows.
    pub offset: Offset,
    /// Its covariance, in mrad^2.
    pub cov_mrad2: Sym2,
    /// Probability that they land to the right.
    pub p_right: f64,
    /// Probability that they land higher.
    pub p_up: f64,
}

impl Bareshaft {
    fn new(offset: Offset, cov: Sym2) -> Self {
        Self {
            offset,
            cov_mrad2: cov,
            p_right: normal_above(-offset.right_mrad / cov.xx.sqrt()),
            p_up: normal_above(-offset.up_mrad / cov.yy.sqrt()),
        }
    }

    /// Compares the centre of `bare` shafts with that of `fletched` arrows at the same distance.
    ///
    /// # Errors
    /// [`FleetError::Shape`] when the distances differ, [`FleetError::NoSpread`] when a covariance is none.
    pub fn of(fletched: &Centre, bare: &Centre) -> Result<Self, FleetError> {
        if (fletched.distance.metres() - bare.distance.metres()).abs() > 1e-9 {
            return Err(FleetError::Shape);
        }
        let m = fletched.distance.metres();
        let cov = (fletched.cov_mm2 + bare.cov_mm2) * (1.0 / (m * m));
        if !(cov.det() > 0.0 && cov.xx > 0.0) {
            return Err(FleetError::NoSpread);
        }
        Ok(Self::new(Offset::from_mm(bare.at - fletched.at, fletched.distance), cov))
    }

    /// Several distances put together, each weighed by what it tells; with the chance of so much disagreement between them.
    ///
    /// # Errors
    /// [`FleetError::TooFew`] when there is none.
    pub fn together(all: &[Self]) -> Result<(Self, f64), FleetError> {
        let mut info = Sym2::default();
        let mut sum = Point::default();
        for b in all {
            let i = inverse(b.cov_mrad2);
            info = info + i;
            sum = sum + apply(i, Point::new(b.offset.right_mrad, b.offset.up_mrad));
        }
        if all.is_empty() || info.det() <= 0.0 {
            return Err(FleetError::TooFew { shots: all.len(), needed: 1 });
        }
        let cov = inverse(info);
        let mean = apply(cov, sum);
        let misfit: f64 = all
            .iter()
            .map(|b| b.cov_mrad2.mahalanobis2(Point::new(b.offset.right_mrad, b.offset.up_mrad) - mean))
            .sum();
        let p = if all.len() > 1 { 1.0 - chi2_below(misfit, 2.0 * (all.len() as f64 - 1.0)) } else { 1.0 };
        Ok((Self::new(Offset { right_mrad: mean.x_mm, up_mrad: mean.y_mm }, cov), p))
    }

    /// What it may mean for an archer who draws with the right hand or the left, likeliest first: those with a probability of
    /// at least 0.7.
    #[must_use]
    pub fn possibilities(&self, right_handed: bool) -> Vec<(Possibility, f64)> {
        let p_away = if right_handed { 1.0 - self.p_right } else { self.p_right };
        let mut all = vec![
            (Possibility::ActsStiff, p_away),
            (Possibility::ActsWeak, 1.0 - p_away),
            (Possibility::NockLow, self.p_up),
            (Possibility::NockHigh, 1.0 - self.p_up),
        ];
        all.retain(|(_, p)| *p >= 0.7);
        all.sort_by(|a, b| b.1.total_cmp(&a.1));
        all
    }
}

fn inverse(m: Sym2) -> Sym2 {
    Sym2::new(m.yy, -m.xy, m.xx) * (1.0 / m.det())
}

fn apply(m: Sym2, p: Point) -> Point {
    Point::new(m.xx * p.x_mm + m.xy * p.y_mm, m.xy * p.x_mm + m.yy * p.y_mm)
}

/// What an offset of the bareshafts is commonly taken to mean (common practice, no source).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Possibility {
    /// The shaft acts too stiff: bareshafts left of the fletched for a right-handed archer.
    ActsStiff,
    /// The shaft acts too weak: to the right for a right-handed archer.
    ActsWeak,
    /// The nocking point may be too low: bareshafts high.
    NockLow,
    /// The nocking point may be too high: bareshafts low.
    NockHigh,
}

/// How groups move sideways with distance.
#[derive(Debug, Clone, PartialEq)]
pub struct Walk {
    /// Windage that would put every distance right at once, as if nothing else were wrong: mrad to the right, and its standard
    /// deviation.
    pub windage_mrad: [f64; 2],
    /// Chance of groups at least this far off a pure windage error.
    pub p_windage_alone: f64,
    /// The straight line through the groups: its angle in mrad with its standard deviation.
    pub slope_mrad: [f64; 2],
    /// Where that line passes the bow (distance 0): mm to the right with its standard deviation. A pure windage error
    /// passes through 0.
    pub at_bow_mm: [f64; 2],
    /// Chance of groups at least this far off a straight line; with three distances or more.
    pub p_straight: Option<f64>,
    /// How the line bends: mm for each square metre, with its standard deviation; with three distances or more.
    pub bend_mm_m2: Option<[f64; 2]>,
}

/// What a walk looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum WalkShape {
    /// One windage setting puts every distance right.
    Windage,
    /// A straight line that no windage setting puts right everywhere.
    Slant,
    /// A curve.
    Curve,
}

impl Walk {
    /// The simplest shape that the groups do not contradict at the 10 % level.
    #[must_use]
    pub fn shape(&self) -> WalkShape {
        if self.p_windage_alone >= 0.1 {
            WalkShape::Windage
        } else if self.p_straight.is_none_or(|p| p >= 0.1) {
            WalkShape::Slant
        } else {
            WalkShape::Curve
        }
    }
}

/// Fits the sideways places of groups shot with one windage setting at several distances.
///
/// - meaning: a wrong windage is an angle, `x = b D`; what lies beyond it is a line that misses the bow, `x = a + b D`, or a
///   curve, `x = a + b D + c D^2`;
/// - units and sign: `x` in mm to the right, `D` in m, so `b` is in mrad;
/// - method: weighted least squares with each centre's own variance;
/// - limits: elevation marks differ by distance, so only the sideways places tell.
///
/// # Errors
/// [`FleetError::TooFew`] below two different distances.
pub fn walk(centres: &[Centre]) -> Result<Walk, FleetError> {
    let mut metres: Vec<f64> = centres.iter().map(|c| c.distance.metres()).collect();
    metres.sort_by(f64::total_cmp);
    metres.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    let kinds = metres.len();
    if kinds < 2 {
        return Err(FleetError::TooFew { shots: kinds, needed: 2 });
    }
    let n = centres.len() as f64;
    let windage = polynomial(centres, &[1])?;
    let line = polynomial(centres, &[0, 1])?;
    let curve = if kinds >= 3 { Some(polynomial(centres, &[0, 1, 2])?) } else { None };
    let p = |misfit: f64, dof: f64| if dof > 0.0 { 1.0 - chi2_below(misfit, dof) } else { 1.0 };
    // The line against the curve or, with more groups than that, against anything.
    let p_straight = curve.as_ref().map(|_| p(line.misfit, n - 2.0));
    Ok(Walk {
        windage_mrad: windage.terms[0],
        p_windage_alone: p(windage.misfit, n - 1.0),
        slope_mrad: line.terms[1],
        at_bow_mm: line.terms[0],
        p_straight,
        bend_mm_m2: curve.map(|c| c.terms[2]),
    })
}

struct Polynomial {
    /// Each coefficient with its standard deviation.
    terms: Vec<[f64; 2]>,
    misfit: f64,
}

fn polynomial(centres: &[Centre], powers: &[i32]) -> Result<Polynomial, FleetError> {
    let k = powers.len();
    // In units of 30 m, so that the powers are of one size.
    const UNIT_M: f64 = 30.0;
    let row = |c: &Centre| powers.iter().map(|p| (c.distance.metres() / UNIT_M).powi(*p)).collect::<Vec<f64>>();
    let (mut m, mut v) = (vec![0.0; k * k], vec![0.0; k]);
    for c in centres {
        if !(c.cov_mm2.xx > 0.0 && c.cov_mm2.xx.is_finite()) {
            return Err(FleetError::NoSpread);
        }
        let r = row(c);
        for i in 0..k {
            v[i] += r[i] * c.at.x_mm / c.cov_mm2.xx;
            for j in 0..k {
                m[i * k + j] += r[i] * r[j] / c.cov_mm2.xx;
            }
        }
    }
    let c = Cholesky::new(k, &m).ok_or(FleetError::NoSpread)?;
    let beta = c.solve(&v);
    let inverse = c.inverse();
    let misfit = centres
        .iter()
        .map(|c| {
            let fitted: f64 = row(c).iter().zip(&beta).map(|(r, b)| r * b).sum();
            (c.at.x_mm - fitted).powi(2) / c.cov_mm2.xx
        })
        .sum();
    let terms = (0..k)
        .map(|i| {
            let unit = UNIT_M.powi(powers[i]);
            [beta[i] / unit, inverse[i * k + i].sqrt() / unit]
        })
        .collect();
    Ok(Polynomial { terms, misfit })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn centre(metres: f64, x_mm: f64, y_mm: f64, sd_mm: f64) -> Centre {
        Centre {
            distance: Distance::from_metres(metres).unwrap(),
            at: Point::new(x_mm, y_mm),
            cov_mm2: Sym2::isotropic(sd_mm * sd_mm),
        }
    }

    #[test]
    fn hands_are_mirrored() {
        let b = Bareshaft::of(&centre(18.0, 0.0, 0.0, 5.0), &centre(18.0, -60.0, 2.0, 10.0)).unwrap();
        assert!((b.offset.right_mrad + 60.0 / 18.0).abs() < 1e-12);
        assert_eq!(b.possibilities(true)[0].0, Possibility::ActsStiff);
        assert_eq!(b.possibilities(false)[0].0, Possibility::ActsWeak);
        assert_eq!(b.possibilities(true).len(), 1, "2 mm high says nothing");
        let low = Bareshaft::of(&centre(18.0, 0.0, 0.0, 5.0), &centre(18.0, 0.0, -40.0, 10.0)).unwrap();
        assert_eq!(low.possibilities(true)[0].0, Possibility::NockHigh);
        assert!(Bareshaft::of(&centre(18.0, 0.0, 0.0, 5.0), &centre(30.0, 0.0, 0.0, 5.0)).is_err());
    }

    #[test]
    fn distances_are_put_together_by_weight() {
        let of = |metres: f64, mrad: f64, sd: f64| {
            Bareshaft::of(&centre(metres, 0.0, 0.0, 1e-3), &centre(metres, mrad * metres, 0.0, sd * metres)).unwrap()
        };
        let (mean, p) = Bareshaft::together(&[of(18.0, 1.0, 0.5), of(30.0, 2.0, 1.0)]).unwrap();
        assert!((mean.offset.right_mrad - (1.0 * 4.0 + 2.0) / 5.0).abs() < 1e-6);
        assert!(p > 0.5);
        assert!(Bareshaft::together(&[of(18.0, 1.0, 0.1), of(30.0, -2.0, 0.1)]).unwrap().1 < 1e-6);
    }

    #[test]
    fn the_three_shapes_are_told_apart() {
        let at = [18.0, 30.0, 50.0, 70.0];
        let shape = |f: fn(f64) -> f64| walk(&at.map(|d| centre(d, f(d), 0.0, 6.0))).unwrap();
        let w = shape(|d| 1.5 * d);
        assert_eq!(w.shape(), WalkShape::Windage);
        assert!((w.windage_mrad[0] - 1.5).abs() < 1e-9 && w.at_bow_mm[0].abs() < 1e-6);
        let w = shape(|d| 2.0 * (d - 18.0));
        assert_eq!(w.shape(), WalkShape::Slant);
        assert!((w.slope_mrad[0] - 2.0).abs() < 1e-9 && (w.at_bow_mm[0] + 36.0).abs() < 1e-6);
        let w = shape(|d| 0.05 * (d - 18.0) * (d - 18.0));
        assert_eq!(w.shape(), WalkShape::Curve);
        assert!((w.bend_mm_m2.unwrap()[0] - 0.05).abs() < 1e-9);
        assert!(walk(&[centre(18.0, 0.0, 0.0, 5.0)]).is_err());
    }
}
