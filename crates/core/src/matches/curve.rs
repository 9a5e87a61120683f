//! Something that changes smoothly with how far the sight is off, worked out at places of a grid and only where it is asked.

use std::cell::RefCell;
use std::rc::Rc;

/// Places a standard deviation of a clean shot. Between them a cubic through four: what changes on the scale of the spread is followed
/// within about 1e-5 (measured in the tests of matches).
const A_SIGMA: f64 = 7.0;

/// A list of numbers by distance from the centre, even in it.
#[derive(Debug)]
pub(super) struct Curve {
    step_mm: f64,
    known: RefCell<Vec<Option<Rc<[f64]>>>>,
}

impl Curve {
    pub(super) fn new(sigma_mm: f64) -> Self {
        Self { step_mm: sigma_mm / A_SIGMA, known: RefCell::new(Vec::new()) }
    }

    fn place(&self, i: usize, of: &impl Fn(f64) -> Vec<f64>) -> Rc<[f64]> {
        if let Some(Some(known)) = self.known.borrow().get(i) {
            return Rc::clone(known);
        }
        let new: Rc<[f64]> = of(i as f64 * self.step_mm).into();
        let mut known = self.known.borrow_mut();
        if known.len() <= i {
            known.resize(i + 1, None);
        }
        known[i] = Some(Rc::clone(&new));
        new
    }

    /// The numbers at `off_mm`; `of` works them out.
    pub(super) fn at(&self, off_mm: f64, of: impl Fn(f64) -> Vec<f64>) -> Vec<f64> {
        let x = off_mm.abs() / self.step_mm;
        // So far out nothing hits, and nothing changes.
        let x = x.min(4000.0);
        let i = x as usize;
        let t = x - i as f64;
        if t < 1e-9 {
            return self.place(i, &of).to_vec();
        }
        // The curve is even: before the first place comes the second.
        let before = if i == 0 { 1 } else { i - 1 };
        let [a, b, c, d] = [before, i, i + 1, i + 2].map(|i| self.place(i, &of));
        // Lagrange through -1, 0, 1, 2.
        let w = [
            -t * (t - 1.0) * (t - 2.0) / 6.0,
            (t + 1.0) * (t - 1.0) * (t - 2.0) / 2.0,
            -(t + 1.0) * t * (t - 2.0) / 2.0,
            (t + 1.0) * t * (t - 1.0) / 6.0,
        ];
        (0..b.len()).map(|k| w[0] * a[k] + w[1] * b[k] + w[2] * c[k] + w[3] * d[k]).collect()
    }
}
