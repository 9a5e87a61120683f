//! What the marks say: the fit, which distance to shoot next, and the mark to write on a card.

use goldward_core::marks::{Candidate, Fitted, Mark, MarksError, Next, Prediction, WrongMark};
use goldward_core::stats::Z_80;

use super::book::Setup;
use super::quantity::Range;

/// Fits the marks that were shot.
///
/// # Errors
/// Those of [`goldward_core::marks::fit`].
pub fn fit(setup: &Setup) -> Result<Fitted, MarksError> {
    goldward_core::marks::fit(&setup.kit, &setup.shot)
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
    let Some(found) = fitted.wrong_mark(distance_m, high_mm, sd_mm.clamp(1.0, 1e4), &candidates)? else {
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
