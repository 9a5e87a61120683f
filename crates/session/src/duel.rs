//! A match: the ends of both archers put together, and what core says to it.

use std::fmt;
use std::str::FromStr;

use goldward_core::advice::Advice;
use goldward_core::face::Face;
use goldward_core::matches::{self, Count, Duel, Format, MatchAdvice, MatchError, Opponent, Side, Standing, Verdict};
use goldward_core::pace::{self, Event, Pace};
use goldward_core::score::Rings;
use goldward_core::units::parse_decimal;
use serde::de::{self, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use crate::keys::Good;
use crate::problem::{Problem, What, short, within};

/// What can decide a match.
pub const BY: [&str; 2] = ["sets", "total"];
/// Ends and arrows an end of a match of which nothing else is told (common practice, no source).
pub const USUAL: (u32, u32) = (5, 3);

/// Whose single arrow can have been nearer.
pub const NEARER: [&str; 2] = ["mine", "theirs"];

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

impl fmt::Display for Typed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.shots {
            Some(shots) => write!(f, "{}/{shots}", self.points),
            None => write!(f, "{}", self.points),
        }
    }
}

impl Serialize for Typed {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        match self.shots {
            Some(_) => to.collect_str(self),
            None => to.serialize_u32(self.points),
        }
    }
}

impl<'de> Deserialize<'de> for Typed {
    /// A number of points, or a text such as `19/2`.
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct End;
        impl Visitor<'_> for End {
            type Value = Typed;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("the points of an end")
            }

            fn visit_u64<E: de::Error>(self, points: u64) -> Result<Typed, E> {
                points.to_string().parse().map_err(E::custom)
            }

            fn visit_str<E: de::Error>(self, text: &str) -> Result<Typed, E> {
                short(text).parse().map_err(E::custom)
            }
        }
        from.deserialize_any(End)
    }
}

/// A match as it is told beside the settings of a reading; what is left out is as usual.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct MatchIn {
    /// What decides, one of [`BY`]: sets unless told.
    pub by: Option<String>,
    /// Most ends.
    pub ends: Option<u32>,
    /// Arrows of each archer an end.
    pub shots_per_end: Option<u32>,
    /// Points of sets that win: one more than there are ends unless told.
    pub first_to: Option<u32>,
    /// The other's average arrow.
    pub opponent_arrow: Option<f64>,
    /// The archer's ends.
    pub mine: Vec<Typed>,
    /// The other's.
    pub theirs: Vec<Typed>,
    /// Level after the last end: whose single arrow was nearer, one of [`NEARER`], once the judge has said so.
    pub nearer: Option<String>,
}

impl MatchIn {
    /// How it is counted.
    ///
    /// # Errors
    /// A [`Problem`] whose place is the key.
    pub fn format(&self) -> Result<Format, Problem> {
        let (ends, shots) = (self.ends.unwrap_or(USUAL.0), self.shots_per_end.unwrap_or(USUAL.1));
        let by = self.by.as_deref().unwrap_or(BY[0]);
        if !BY.contains(&by) {
            return Err(Problem::new("by", What::Unusable(short(by))).good(Good::OneOf(&BY)));
        }
        let format = format(by, ends, shots).ok_or_else(|| Problem::new("ends", What::NoSuchMatch))?;
        match self.first_to {
            Some(_) if !format.is_sets() => Err(Problem::new("first_to", What::OnlyBySets)),
            Some(points) => format.with(ends, shots, Some(points)).map_err(|e| Problem::new("first_to", e)),
            None => Ok(format),
        }
    }

    /// The match as it stands by the ends told.
    ///
    /// # Errors
    /// A [`Problem`] whose place is the key.
    pub fn duel(&self, face: &Face) -> Result<Duel, Problem> {
        self.with(face, Ends::default())
    }

    /// The same, of a session that has so many arrows an end.
    ///
    /// # Errors
    /// A [`Problem`] whose place is the key.
    pub fn of(&self, face: &Face, shots_per_end: u32) -> Result<Duel, Problem> {
        let own = f64::from(shots_per_end);
        within(f64::from(self.shots_per_end.unwrap_or(shots_per_end)), "", [own, own])
            .map_err(|what| Problem::new("shots_per_end", what))?;
        self.duel(face)
    }

    /// The match as it stands by the ends told and those that were followed since.
    ///
    /// # Errors
    /// A [`Problem`] whose place is the key.
    pub fn followed(&self, pace: &Pace) -> Result<Duel, Problem> {
        self.with(pace.settings().face, followed(pace))
    }

    fn with(&self, face: &Face, since: Ends) -> Result<Duel, Problem> {
        let format = self.format()?;
        let nearer = self.nearer.as_deref().map(nearer);
        let all = |told: &[Typed], since: Vec<Made>| -> Vec<Made> {
            told.iter().map(|t| t.made(format.shots_per_end)).chain(since).collect()
        };
        let ends = Ends {
            mine: all(&self.mine, since.mine),
            theirs: all(&self.theirs, since.theirs),
            nearer: since.nearer.or(nearer.transpose()?),
        };
        checked(face, format, ends, self.opponent_arrow)
    }
}

/// What one of [`NEARER`] says: whether the archer's single arrow was nearer.
///
/// # Errors
/// A [`Problem`] whose place is `nearer`.
pub fn nearer(whose: &str) -> Result<bool, Problem> {
    let at = NEARER.iter().position(|n| *n == whose).map(|at| at == 0);
    at.ok_or_else(|| Problem::new("nearer", What::Unusable(short(whose))).good(Good::OneOf(&NEARER)))
}

/// What both archers have made, end by end; an end beyond the last is a single arrow, shot because both were level.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Ends {
    /// The archer's.
    pub mine: Vec<Made>,
    /// The other's.
    pub theirs: Vec<Made>,
    /// Whether the archer's single arrow was nearer, once the judge has said so.
    pub nearer: Option<bool>,
}

/// What was followed: the archer's ends by the arrows, the sighting ends left out, the other's as they were told.
fn followed(pace: &Pace) -> Ends {
    let s = pace.settings();
    let (per_end, mut over) = (s.shots_per_end as u32, 0);
    let Ends { mut mine, mut theirs, mut nearer } = Ends::default();
    let add = |ends: &mut Vec<Made>| match ends.last() {
        Some(end) if end.left => {}
        _ => ends.push(Made { points: 0, shots: 0, left: true }),
    };
    for event in pace.events() {
        match event {
            Event::Shot(shot) if over >= s.sighting_ends => {
                add(&mut mine);
                if let Some(end) = mine.last_mut() {
                    end.points += u32::from(shot.place.score(s.face, s.shaft).value);
                    end.shots += 1;
                    end.left = end.shots < per_end;
                }
            }
            Event::EndOfEnd => {
                over += 1;
                // With its last arrow an end is over, whether that is said or not.
                if let Some(end) = mine.last_mut() {
                    end.left = false;
                }
            }
            Event::Theirs { points, shots } => {
                add(&mut theirs);
                if let Some(end) = theirs.last_mut() {
                    *end = Made { points: *points, shots: *shots, left: *shots < per_end };
                }
            }
            Event::Nearer(own) => nearer = Some(*own),
            _ => {}
        }
    }
    Ends { mine, theirs, nearer }
}

/// [`duel`], with the ends checked against the face and the format.
///
/// # Errors
/// A [`Problem`] whose place is `mine`, `theirs`, `nearer` or `opponent_arrow`.
pub fn checked(face: &Face, format: Format, ends: Ends, average: Option<f64>) -> Result<Duel, Problem> {
    let Ends { mut mine, mut theirs, nearer } = ends;
    let most = u32::from(face.highest_value());
    let mut singles = None;
    for (place, ends) in [("mine", &mut mine), ("theirs", &mut theirs)] {
        if let Some(m) = ends.iter().find(|m| m.points > m.shots * most || m.shots > format.shots_per_end) {
            let arrows = m.shots.min(format.shots_per_end);
            return Err(Problem::new(place, What::NoEndScore { points: m.points, arrows }));
        }
        let beyond = ends.split_off(ends.len().min(format.ends as usize));
        if beyond.iter().any(|m| m.shots > 1) {
            return Err(Problem::new(place, What::TooManyEnds));
        }
        singles = singles.or((!beyond.is_empty()).then_some(place));
        // Before a single arrow all ends are over.
        if ends.iter().rev().skip(usize::from(beyond.is_empty())).any(|m| m.left) {
            return Err(Problem::new(place, What::OnlyLastUnderWay));
        }
    }
    if let Some(points) = average {
        within(points, "", [0.1, f64::from(most) - 0.01]).map_err(|what| Problem::new("opponent_arrow", what))?;
    }
    let mut duel = duel(format, &mine, &theirs, average);
    let settled = duel.standing.settled(&format);
    match (settled.verdict(&format), nearer, singles) {
        (Verdict::ShootOff, Some(_), _) => duel.standing = Standing { single: nearer, ..settled },
        (_, Some(_), _) => return Err(Problem::new("nearer", What::NotLevel)),
        (Verdict::Won | Verdict::Lost, None, Some(place)) => return Err(Problem::new(place, What::TooManyEnds)),
        // Level, or the other's ends are not all told yet.
        _ => {}
    }
    Ok(duel)
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
