//! Learning the size of a click from touches and how the group moved.

use crate::flight::within;
use crate::plane::{Point, Sym2};
use crate::sight::Sight;
use crate::units::{Distance, UnitError};

/// Relative standard deviation of a click about its nominal size.
pub const NOMINAL_SD: f64 = 0.1;

/// Prior probability that the nominal size is wrong altogether: another thread, a worn screw, clicks counted the other
/// way.
const ODD: f64 = 0.05;
/// Relative standard deviation of a click whose nominal size is wrong; it reaches clicks of the opposite direction.
const ODD_SD: f64 = 2.0;

/// One act of moving the sight, with what the group did.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Touch {
    distance: Distance,
    clicks: [i32; 2],
    moved: Point,
    cov: Sym2,
    elevation_face_per_pin: Option<f64>,
}

impl Touch {
    /// `clicks` made (right, up, as the archer sees the pin) at `distance`, and the move of the group's centre on the
    /// face, after less before, with its covariance: the sum of the covariances of both centres, in mm^2.
    ///
    /// A pin that moves right sends the arrows left: the move has the opposite sign.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`]: clicks within 10 000; a move within 100 m; variances positive and up to 1e8 mm^2.
    pub fn new(distance: Distance, clicks: [i32; 2], moved: Point, cov: Sym2) -> Result<Self, UnitError> {
        for count in clicks {
            within("a number of clicks", f64::from(count), "clicks", -10_000.0, 10_000.0)?;
        }
        within("how far the group moved", moved.radius_mm(), "mm", 0.0, 1e5)?;
        within("the variance of a group's centre", cov.xx, "mm^2", 1e-6, 1e8)?;
        within("the variance of a group's centre", cov.yy, "mm^2", 1e-6, 1e8)?;
        within("the determinant of a covariance", cov.det(), "mm^4", 1e-12, 1e16)?;
        Ok(Self { distance, clicks, moved, cov, elevation_face_per_pin: None })
    }

    /// The same with the flight's own figure for elevation, millimetres on the face for a millimetre at the pin, in
    /// place of similar triangles; see [`elevation_move`](super::elevation_move).
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`]: 0.1 to 10 000.
    pub fn with_face_per_pin(self, elevation: f64) -> Result<Self, UnitError> {
        let elevation = within("the move on the face for one at the pin", elevation, "mm/mm", 0.1, 10_000.0)?;
        Ok(Self { elevation_face_per_pin: Some(elevation), ..self })
    }
}

/// What is known of the size of a click on one axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClickSize {
    /// What the kit said, in mm at the pin.
    pub nominal_mm: f64,
    /// Mean, in mm at the pin; negative when clicks turn out to be counted the other way.
    pub mm: f64,
    /// Standard deviation, in mm at the pin.
    pub sd_mm: f64,
    /// Probability that the nominal size holds within its 10 %.
    pub p_nominal: f64,
    /// Touches that moved this axis.
    pub touches: usize,
}

impl ClickSize {
    /// Whether the kit's figure can be believed: it is likelier than not.
    #[must_use]
    pub fn plausible(&self) -> bool {
        self.p_nominal >= 0.5
    }

    /// Whether clicks seem to be counted the other way.
    #[must_use]
    pub fn reversed(&self) -> bool {
        self.mm < 0.0
    }
}

/// The sizes of both clicks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clicks {
    /// Left and right.
    pub windage: ClickSize,
    /// Up and down.
    pub elevation: ClickSize,
    eye_to_pin_mm: f64,
}

impl Clicks {
    /// Millimetres on the face for a click of windage and one of elevation at `distance`: mean and standard deviation.
    #[must_use]
    pub fn on_face_mm(&self, distance: Distance) -> [(f64, f64); 2] {
        let k = distance.metres() * 1000.0 / self.eye_to_pin_mm;
        [self.windage, self.elevation].map(|size| (size.mm * k, size.sd_mm * k))
    }

    /// The kit's sight with the learnt sizes.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`] when a size came out negative or absurd: count the clicks the other way first.
    pub fn corrected(&self, sight: &Sight) -> Result<Sight, UnitError> {
        Sight::new(sight.eye_to_pin_mm(), [self.windage.mm, self.elevation.mm], sight.setting_sd_mm())
    }
}

/// One of the normals of the posterior: which axes have a nominal size that is wrong altogether.
struct Part {
    odd: [bool; 2],
    ln_weight: f64,
    mean: [f64; 2],
    variance: [f64; 2],
}

/// The size of a click from touches.
///
/// Model: a touch of `c` clicks at `D` moves the centre by `-c s D / L` on each axis, `s` the size of a click at the
/// pin, with a normal error whose covariance is that of the touch plus the sight's setting error. Prior of `s` on each
/// axis:
/// normal about
/// the nominal size within 10 %, or, with probability 5 %, anything within 200 %. The posterior is a mixture of four
/// normals in closed form. Only `s / L` is learnt: an error of `L` shows as one of the click, and the moves on the
/// face come out right all
/// the same.
/// An empty list gives the prior.
pub fn learn_clicks(sight: &Sight, touches: &[Touch]) -> Clicks {
    // Sums of X' V^-1 X and X' V^-1 y.
    let (mut a, mut b) = (Sym2::default(), [0.0; 2]);
    for touch in touches {
        let similar = sight.face_per_pin(touch.distance);
        let x = [
            -f64::from(touch.clicks[0]) * similar,
            -f64::from(touch.clicks[1]) * touch.elevation_face_per_pin.unwrap_or(similar),
        ];
        let v = touch.cov + Sym2::isotropic(sight.setting_variance_on_face(touch.distance));
        let inverse = Sym2::new(v.yy, -v.xy, v.xx) * (1.0 / v.det());
        let y = [touch.moved.x_mm, touch.moved.y_mm];
        a = a + Sym2::new(x[0] * x[0] * inverse.xx, x[0] * x[1] * inverse.xy, x[1] * x[1] * inverse.yy);
        b[0] += x[0] * (inverse.xx * y[0] + inverse.xy * y[1]);
        b[1] += x[1] * (inverse.xy * y[0] + inverse.yy * y[1]);
    }
    let nominal = sight.click_mm();
    let mut parts: Vec<Part> = Vec::with_capacity(4);
    for odd in [[false, false], [true, false], [false, true], [true, true]] {
        let p0: [f64; 2] = [0, 1].map(|k| (nominal[k] * if odd[k] { ODD_SD } else { NOMINAL_SD }).powi(-2));
        let q = a + Sym2::new(p0[0], 0.0, p0[1]);
        let c = [p0[0] * nominal[0] + b[0], p0[1] * nominal[1] + b[1]];
        let cov = Sym2::new(q.yy, -q.xy, q.xx) * (1.0 / q.det());
        let mean = [cov.xx * c[0] + cov.xy * c[1], cov.xy * c[0] + cov.yy * c[1]];
        let prior: f64 = odd.iter().map(|o| if *o { ODD.ln() } else { (1.0 - ODD).ln() }).sum();
        let pull = p0[0] * nominal[0] * nominal[0] + p0[1] * nominal[1] * nominal[1];
        let fit = c[0] * mean[0] + c[1] * mean[1] - pull;
        let ln_weight = prior + 0.5 * ((p0[0] * p0[1]).ln() - q.det().ln() + fit);
        parts.push(Part { odd, ln_weight, mean, variance: [cov.xx, cov.yy] });
    }
    let top = parts.iter().map(|p| p.ln_weight).fold(f64::NEG_INFINITY, f64::max);
    let total: f64 = parts.iter().map(|p| (p.ln_weight - top).exp()).sum();
    let size = |k: usize| {
        let average =
            |f: &dyn Fn(&Part) -> f64| -> f64 { parts.iter().map(|p| (p.ln_weight - top).exp() / total * f(p)).sum() };
        let mm = average(&|p| p.mean[k]);
        ClickSize {
            nominal_mm: nominal[k],
            mm,
            sd_mm: average(&|p| p.variance[k] + (p.mean[k] - mm).powi(2)).sqrt(),
            p_nominal: average(&|p| if p.odd[k] { 0.0 } else { 1.0 }),
            touches: touches.iter().filter(|t| t.clicks[k] != 0).count(),
        }
    };
    Clicks { windage: size(0), elevation: size(1), eye_to_pin_mm: sight.eye_to_pin_mm() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn touch(metres: f64, clicks: [i32; 2], moved: [f64; 2], sd: f64) -> Touch {
        let distance = Distance::from_metres(metres).unwrap();
        Touch::new(distance, clicks, Point::new(moved[0], moved[1]), Sym2::isotropic(sd * sd)).unwrap()
    }

    #[test]
    fn no_touch_leaves_the_nominal_size() {
        let clicks = learn_clicks(&Sight::default(), &[]);
        assert!((clicks.windage.mm - 0.1).abs() < 1e-12 && clicks.windage.touches == 0);
        assert!((clicks.windage.p_nominal - 0.95).abs() < 1e-12);
    }

    #[test]
    fn touches_at_several_distances_agree_on_one_click() {
        // 0.108 mm a click on a sight that says 0.1: 0.108 * 70000 / 880 = 8.59 mm a click at 70 m, 3.68 at 30 m.
        let touches = [
            touch(70.0, [10, 0], [-85.9, 3.0], 15.0),
            touch(30.0, [-20, 6], [73.6, -22.1], 8.0),
            touch(70.0, [0, 12], [2.0, -103.1], 15.0),
            touch(18.0, [-40, -40], [88.4, 88.4], 4.0),
        ];
        let clicks = learn_clicks(&Sight::default(), &touches);
        for size in [clicks.windage, clicks.elevation] {
            assert!((size.mm - 0.1075).abs() < 0.0015 && size.sd_mm < 0.005 && size.plausible(), "{size:?}");
        }
        let (face, sd) = clicks.on_face_mm(Distance::from_metres(70.0).unwrap())[0];
        assert!((face - 8.55).abs() < 0.1 && sd < 0.5);
        assert!((clicks.corrected(&Sight::default()).unwrap().click_mm()[0] - clicks.windage.mm).abs() < 1e-12);
    }

    #[test]
    fn a_nominal_size_that_cannot_be_is_reported() {
        // Clicks of 0.25 mm, and elevation counted the other way.
        let touches = [touch(70.0, [10, 0], [-199.0, 0.0], 15.0), touch(50.0, [0, 10], [0.0, 57.0], 15.0)];
        let clicks = learn_clicks(&Sight::default(), &touches);
        assert!(!clicks.windage.plausible() && (clicks.windage.mm - 0.25).abs() < 0.02, "{clicks:?}");
        assert!(!clicks.elevation.plausible() && clicks.elevation.reversed(), "{clicks:?}");
        assert!(clicks.corrected(&Sight::default()).is_err());
    }
}
