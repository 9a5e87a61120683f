//! What is known of the other archer.

use super::{Arrow, MatchError};
use crate::group::ClassOdds;
use crate::score::Rings;
use crate::stats::quadrature;

/// Arrows that a strength nobody told is worth: it is taken to be the archer's own (our choice, no source).
pub const STRENGTH_WORTH: f64 = 9.0;

/// Scatter of the averages of archers who meet in a match, in points an arrow at an average of 9 and in proportion below (common practice,
/// no source).
const STRENGTH_SCATTER: f64 = 0.5;

/// The other archer.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Opponent {
    /// The average of an arrow of theirs, where it is told.
    pub average: Option<f64>,
    /// Arrows seen of them in this match, and their points.
    pub seen: (u32, u32),
}

impl Opponent {
    /// Of whom an average arrow is told.
    #[must_use]
    pub fn averaging(points: f64) -> Self {
        Self { average: Some(points), seen: (0, 0) }
    }

    /// Arrows they may shoot, with their weights: one where the average is told; else three about what their arrows so far and the
    /// archer's `own` arrow say, since their strength is one for the whole match.
    ///
    /// # Errors
    /// [`MatchError`] for an average that no archer has on this face.
    pub fn arrows(&self, rings: &Rings, odds: ClassOdds, own: &Arrow) -> Result<Vec<(f64, Arrow)>, MatchError> {
        if let Some(points) = self.average {
            return Ok(vec![(1.0, Arrow::averaging(rings, odds, points)?)]);
        }
        let highest = f64::from(rings.face().highest_value());
        let mean = own.points.mean();
        let (n, sum) = (f64::from(self.seen.0), f64::from(self.seen.1));
        let at = (STRENGTH_WORTH * mean + sum) / (STRENGTH_WORTH + n);
        if self.seen.0 == 0 && mean > highest - 0.01 {
            return Ok(vec![(1.0, own.clone())]);
        }
        // Worth w arrows: the scatter before the match shrinks as theirs are seen.
        let sd = STRENGTH_SCATTER * (highest - at).max(0.05) * (STRENGTH_WORTH / (STRENGTH_WORTH + n)).sqrt();
        let rule = quadrature::normal(3);
        rule.nodes
            .iter()
            .zip(&rule.weights)
            .map(|(x, w)| Ok((*w, Arrow::averaging(rings, odds, (at + x * sd).clamp(0.1, highest - 0.01))?)))
            .collect()
    }
}
