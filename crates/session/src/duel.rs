//! A match: the ends of both archers put together, and what core says to it.

use std::str::FromStr;

use goldward_core::advice::Advice;
use goldward_core::matches::{self, Count, Duel, Format, MatchAdvice, MatchError, Opponent, Side, Standing, Verdict};
use goldward_core::pace;
use goldward_core::score::Rings;
use goldward_core::units::parse_decimal;

/// What an archer made in an end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Made {
    /// Points.
    pub points: u32,
    /// Arrows shot.
    pub shots: u32,
    /// Whether arrows of it are still to come.
    pub left: bool,
}

/// Points of an end as typed: `28`, or `19/2` for 19 with two arrows of an end that is under way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Typed {
    /// Points.
    pub points: u32,
    /// Arrows, where the end is under way.
    pub shots: Option<u32>,
}

impl FromStr for Typed {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let whole = |t: &str| parse_decimal(t.trim()).filter(|x| x.fract() == 0.0 && (0.0..=10_000.0).contains(x));
        let not =
            || format!("`{text}` is no end: write its points such as 28, or 19/2 for two arrows of an end under way");
        let (points, shots) = match text.split_once('/') {
            Some((points, shots)) => (points, Some(whole(shots).ok_or_else(not)? as u32)),
            None => (text, None),
        };
        Ok(Self { points: whole(points).ok_or_else(not)? as u32, shots })
    }
}

impl Typed {
    /// The end, of so many arrows when it is whole.
    #[must_use]
    pub fn made(self, shots_per_end: u32) -> Made {
        let shots = self.shots.unwrap_or(shots_per_end);
        Made { points: self.points, shots, left: shots < shots_per_end }
    }
}

/// The format that is called `by`, of so many ends and arrows: who has one point more than there are ends has won by sets (six of five ends,
/// as is common).
#[must_use]
pub fn format(by: &str, ends: u32, shots_per_end: u32) -> Option<Format> {
    let format = Format::named(by)?;
    let first_to = match format.count {
        Count::Sets { win, .. } => Some((ends + 1).min(win * ends)),
        Count::Total => None,
    };
    format.with(ends, shots_per_end, first_to).ok()
}

/// The match when the archers have made `mine` and `theirs`, end by end: it stands at the first end that one of them still has to shoot
/// or to tell, and never beyond its own end.
#[must_use]
pub fn duel(format: Format, mine: &[Made], theirs: &[Made], average: Option<f64>) -> Duel {
    let mut standing = Standing::default();
    while standing.verdict(&format) == Verdict::Open {
        let at = standing.ends_done as usize;
        let (Some(m), Some(t)) = (mine.get(at), theirs.get(at)) else { break };
        if m.left || t.left {
            break;
        }
        standing = standing.with_end(&format, m.points, t.points);
    }
    if standing.verdict(&format) == Verdict::Open {
        let at = standing.ends_done as usize;
        let side = |side: Side, of: &[Made]| match of.get(at) {
            Some(m) => {
                let shots = if m.left { m.shots.min(format.shots_per_end - 1) } else { format.shots_per_end };
                Side { end_shots: shots, end_points: m.points, ..side }
            }
            None => side,
        };
        (standing.mine, standing.theirs) = (side(standing.mine, mine), side(standing.theirs, theirs));
    }
    let seen = theirs.iter().take(format.ends as usize).fold((0, 0), |s, m| (s.0 + m.shots, s.1 + m.points));
    Duel { format, standing, opponent: Opponent { average, seen } }
}

/// Decides by the chance to win: `answer` is by points before and by the chance after.
///
/// # Errors
/// [`MatchError`]: the answer stays as it was.
pub fn advise(
    answer: &mut pace::Answer,
    settings: &pace::Settings,
    rings: &Rings,
    duel: &Duel,
) -> Result<MatchAdvice, MatchError> {
    let drift = (settings.drift_mrad_per_end * settings.distance.metres()).powi(2);
    let told = matches::advise(
        &answer.reading,
        &answer.advice,
        rings,
        &settings.sight,
        settings.distance,
        settings.unmarked,
        [settings.touch_cost, drift],
        duel,
    )?;
    answer.advice = by_chance(&answer.advice, &told);
    Ok(told)
}

/// The advice with what is to be done taken from the chances.
#[must_use]
pub fn by_chance(by_points: &Advice, told: &MatchAdvice) -> Advice {
    let MatchAdvice { action, why, clicks, pin_mm, shift_mm, look_after, .. } = *told;
    Advice { action, why, clicks, pin_mm, shift_mm, look_after, ..by_points.clone() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn made(text: &str) -> Vec<Made> {
        text.split_whitespace().map(|t| t.parse::<Typed>().unwrap().made(3)).collect()
    }

    #[test]
    fn ends_are_put_together() {
        let check = |by: &str, mine: &str, theirs: &str| {
            duel(format(by, 5, 3).unwrap(), &made(mine), &made(theirs), None).standing
        };
        let s = check("sets", "28 27 26", "27 27");
        assert_eq!((s.ends_done, s.mine.points, s.theirs.points), (2, 3, 1));
        assert_eq!((s.mine.end_shots, s.mine.end_points, s.theirs.end_shots), (3, 26, 0));
        let s = check("total", "28 19/2", "27 10/1");
        assert_eq!((s.mine.points, s.theirs.points, s.mine.end_shots, s.theirs.end_points), (28, 27, 2, 10));
        // Over after three sets: what comes after them does not count.
        let s = check("sets", "28 28 28 20", "27 27 27 30");
        assert_eq!((s.ends_done, s.mine.points, s.theirs.points), (3, 6, 0));
        assert!("x".parse::<Typed>().is_err() && "28/".parse::<Typed>().is_err() && "-3".parse::<Typed>().is_err());
    }
}
