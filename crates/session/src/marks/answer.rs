//! What the marks say: the fit, which distance to shoot next, and the mark to write on a card.

use goldward_core::marks::{Candidate, Fitted, Mark, MarksError, Next, Prediction, WrongMark};
use goldward_core::stats::Z_80;

use super::book::{Book, Entry, Setup};
use super::numbers::Numbers;
use super::quantity::Range;
use crate::problem::Problem;

/// Marks with all that follows from them.
#[derive(Debug, Clone)]
pub struct Known {
    /// What was told.
    pub book: Book,
    /// The same, checked.
    pub setup: Setup,
    /// What core makes of the marks that were shot.
    pub fitted: Fitted,
}

/// Why nothing follows from marks.
#[derive(Debug, Clone, PartialEq)]
pub enum Unknown {
    /// Too little or something impossible was told.
    Told(Problem),
    /// The marks cannot be fitted.
    Fit(MarksError),
}

/// A mark to expect.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expected {
    /// Where.
    pub range: Range,
    /// What core expects.
    pub at: Prediction,
    /// Whether it was shot there.
    pub shot: bool,
}

/// How far a mark lies from the curve through all of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Residual {
    /// What the curve says, in millimetres.
    pub fitted_mm: f64,
    /// By how much the mark lies beyond it.
    pub off_mm: f64,
    /// Chance that the mark is wrong.
    pub p_wrong: f64,
}

impl Known {
    /// What follows from `book`.
    ///
    /// # Errors
    /// [`Unknown`].
    pub fn new(book: Book) -> Result<Self, Unknown> {
        let setup = book.setup().map_err(Unknown::Told)?;
        let fitted = fit(&setup).map_err(Unknown::Fit)?;
        Ok(Self { book, setup, fitted })
    }

    /// How numbers of the scale are written.
    #[must_use]
    pub fn numbers(&self) -> Numbers {
        Numbers::new(self.setup.scale)
    }

    /// What was told of the mark number `i` of those fitted.
    #[must_use]
    pub fn entry(&self, i: usize) -> Option<&Entry> {
        self.setup.from.get(i).and_then(|k| self.book.marks.get(*k))
    }

    /// The marks to expect at `ranges`.
    ///
    /// # Errors
    /// Those of [`Fitted::predict`], with the range that has none.
    pub fn expect(&self, ranges: &[Range]) -> Result<Vec<Expected>, (Range, MarksError)> {
        let level = |r: Range| self.setup.from.iter().map(|i| &self.book.marks[*i]).any(|m| m.is_level_at(r));
        let one = |r: &Range| {
            let at = self.fitted.predict(r.m()).map_err(|e| (*r, e))?;
            Ok(Expected { range: *r, at, shot: level(*r) })
        };
        ranges.iter().map(one).collect()
    }

    /// How far each mark lies from the curve.
    ///
    /// # Errors
    /// Those of [`Fitted::predict_on`], with the name of the mark.
    pub fn residuals(&self) -> Result<Vec<Residual>, (String, MarksError)> {
        let rows = self.fitted.marks().iter().zip(self.fitted.p_wrong()).map(|(mark, p)| {
            let at = self.fitted.predict_on(mark.distance_m(), mark.slope_rad());
            let fitted_mm = at.map_err(|e| (mark.name().to_owned(), e))?.reading_mm;
            Ok(Residual { fitted_mm, off_mm: mark.reading_mm() - fitted_mm, p_wrong: *p })
        });
        rows.collect()
    }

    /// The longest distance that was shot, in metres.
    #[must_use]
    pub fn longest_m(&self) -> f64 {
        self.setup.shot.iter().map(Mark::distance_m).fold(0.0, f64::max)
    }
}

/// Fits the marks that were shot.
///
/// # Errors
/// Those of [`goldward_core::marks::fit`].
pub fn fit(setup: &Setup) -> Result<Fitted, MarksError> {
    goldward_core::marks::fit(&setup.rig, &setup.shot)
}

/// The distance that would teach most about the wanted ones: one of them or one shot before, since those can be shot. The
/// new mark is taken to be known as well as the middle one of those fitted.
///
/// # Errors
/// Those of [`Fitted::next_distance`].
pub fn next(fitted: &Fitted, wanted_m: &[f64]) -> Result<Next, MarksError> {
    let shot: Vec<f64> = fitted.marks().iter().map(Mark::distance_m).collect();
    let mut candidates: Vec<f64> = wanted_m.iter().chain(&shot).copied().collect();
    candidates.sort_by(f64::total_cmp);
    candidates.dedup_by(|a, b| (*a - *b).abs() < 0.05);
    let mut sds: Vec<f64> = fitted.marks().iter().map(Mark::sd_mm).collect();
    sds.sort_by(f64::total_cmp);
    let sd = sds.get(sds.len() / 2).copied().ok_or(MarksError::NoMarks)?;
    fitted.next_distance(if wanted_m.is_empty() { &shot } else { wanted_m }, &candidates, sd)
}

/// Whether a group whose centre lies `high_mm` above the middle, known to `sd_mm`, was shot with another distance's mark, and
/// the reading, in millimetres, of the mark that belongs there. `ranges` are the marks it may be, and what they are called.
///
/// # Errors
/// Those of [`Fitted::wrong_mark`] and [`Fitted::predict`].
pub fn wrong(
    fitted: &Fitted,
    distance_m: f64,
    high_mm: f64,
    sd_mm: f64,
    ranges: &[(f64, String)],
) -> Result<Option<(WrongMark, f64)>, MarksError> {
    let mut candidates: Vec<Candidate> = Vec::new();
    for (distance_m, name) in ranges {
        if !candidates.iter().any(|c| (c.distance_m - distance_m).abs() < 0.05) {
            candidates.push(Candidate { name: name.clone(), distance_m: *distance_m });
        }
    }
    let Some(found) = fitted.wrong_mark(distance_m, high_mm, sd_mm, &candidates)? else {
        return Ok(None);
    };
    Ok(Some((found, fitted.predict(distance_m)?.reading_mm)))
}

/// How far a mark is to be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Shot, and it agrees with the others.
    Shot,
    /// Predicted between marks that were shot.
    Between,
    /// Predicted beyond them.
    Beyond,
}

impl Standing {
    /// The word of the JSON.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Shot => "shot",
            Self::Between => "predicted",
            Self::Beyond => "extrapolated",
        }
    }
}

/// A mark as a card shows it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CardMark {
    /// Where.
    pub range: Range,
    /// Reading in millimetres, growing as the pin goes down.
    pub reading_mm: f64,
    /// The interval that holds the true mark with probability 80 %.
    pub interval_mm: [f64; 2],
    /// Standard deviation.
    pub sd_mm: f64,
    /// How far to trust it.
    pub standing: Standing,
    /// Whether a mark that was shot here was left out, because it does not belong with the others.
    pub suspect: bool,
}

/// The mark for `range`: as it was shot, or else as it is predicted. Several marks shot there are weighed by their
/// precision; suspect ones are left out.
///
/// # Errors
/// Those of [`Fitted::predict`].
pub fn card_mark(fitted: &Fitted, range: Range) -> Result<CardMark, MarksError> {
    let (mut weight, mut sum, mut suspect) = (0.0, 0.0, false);
    for (i, mark) in fitted.marks().iter().enumerate() {
        if (mark.distance_m() - range.m()).abs() >= 0.05 || mark.slope_rad() != 0.0 {
            continue;
        }
        if fitted.suspects().iter().any(|s| s.index == i) {
            suspect = true;
            continue;
        }
        let precision = mark.sd_mm().powi(-2);
        weight += precision;
        sum += precision * mark.reading_mm();
    }
    if weight > 0.0 {
        let (reading_mm, sd_mm) = (sum / weight, weight.sqrt().recip());
        let interval_mm = [-Z_80, Z_80].map(|z| reading_mm + z * sd_mm);
        return Ok(CardMark { range, reading_mm, interval_mm, sd_mm, standing: Standing::Shot, suspect });
    }
    let Prediction { reading_mm, sd_mm, interval_mm, extrapolated, .. } = fitted.predict(range.m())?;
    let standing = if extrapolated { Standing::Beyond } else { Standing::Between };
    Ok(CardMark { range, reading_mm, interval_mm, sd_mm, standing, suspect })
}
