//! What a rehearsal is asked: from what is told to the simulated archer and the round.

use std::str::FromStr;

use goldward_core::face::Face;
use goldward_core::group::{ClassOdds, TRUST_PREDICTED};
use goldward_core::pace::DRIFT_DEFAULT_MRAD;
use goldward_core::pace::rehearsal::{Rule, Scene};
use goldward_core::units::Distance;

use crate::pace::Rehearsed;
use crate::problem::{Problem, What};
use crate::settings::{KeyProblem, Settings, Wishes};

/// Most shots of a round, sighting shots included: five rounds of 144.
pub const MOST_SHOTS: usize = 720;

/// Ends and arrows an end: `12x6`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ends {
    /// How many ends.
    pub ends: usize,
    /// How many arrows each.
    pub arrows: usize,
}

/// What is written is no number of ends and arrows.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is not ends and arrows: write such as 12x6, with at most 720 arrows")]
pub struct NoEnds(String);

impl From<NoEnds> for What {
    fn from(e: NoEnds) -> Self {
        Self::Ends(e.0)
    }
}

impl FromStr for Ends {
    type Err = NoEnds;

    fn from_str(text: &str) -> Result<Self, NoEnds> {
        let wrong = || NoEnds(text.chars().take(40).collect());
        let (ends, arrows) = text.split_once(['x', 'X', '×']).ok_or_else(wrong)?;
        let number =
            |t: &str| t.trim().parse::<usize>().ok().filter(|n| (1..=MOST_SHOTS).contains(n)).ok_or_else(wrong);
        let ends = Self { ends: number(ends)?, arrows: number(arrows)? };
        if ends.ends * ends.arrows > MOST_SHOTS { Err(wrong()) } else { Ok(ends) }
    }
}

/// `rules` without repetitions.
#[must_use]
pub fn unique(rules: &[Rule]) -> Vec<Rule> {
    let mut out = Vec::new();
    for rule in rules {
        if !out.contains(rule) {
            out.push(*rule);
        }
    }
    out
}

/// What is asked beside the settings; what is `None` takes its default.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Asked {
    /// Ends that count: 12x6 unless told.
    pub round: Option<Ends>,
    /// Sighting ends before them: none unless told.
    pub sighting: Option<Ends>,
    /// How far off the first setting is on the face, one standard deviation an axis, in millimetres: from the trust unless told.
    pub offset_mm: Option<f64>,
    /// Share of arrows that are flyers.
    pub flyers: Option<f64>,
    /// How much the centre wanders between ends, one standard deviation an axis, in milliradians.
    pub drift_mrad: Option<f64>,
    /// Size of a click on the face in millimetres, in place of that of the sight.
    pub click_on_face_mm: Option<f64>,
}

/// Settings with the trust of a predicted mark where nothing is said.
///
/// # Errors
/// [`KeyProblem`].
pub fn predicted(distance: Distance, face: &'static Face, wishes: &Wishes) -> Result<Settings, KeyProblem> {
    Settings::new(distance, face, &Wishes { trust: wishes.trust.or(Some(TRUST_PREDICTED)), ..*wishes })
}

/// A rehearsal at `distance` of an archer with `wishes` (those of a kit, or of a session of the log): the settings, and what is
/// played. Everything that `asked` does not say is as the wishes have it.
///
/// # Errors
/// A [`Problem`] whose place is the field.
pub fn rehearsed(
    distance: Distance,
    face: &'static Face,
    wishes: &Wishes,
    asked: &Asked,
    seed: u64,
) -> Result<(Settings, Rehearsed), Problem> {
    let settings = predicted(distance, face, wishes)?;
    Ok((settings, asked.of(&settings, seed)?))
}

/// Share of flyers unless given: what Goldward assumes of an archer without history.
#[must_use]
pub fn flyers(told: Option<f64>) -> f64 {
    told.unwrap_or(ClassOdds::default().get()[1])
}

impl Asked {
    /// Puts the archer of `settings` into the round; `seed` is where the random numbers start.
    ///
    /// # Errors
    /// A [`Problem`] whose place is the field.
    pub fn of(&self, settings: &Settings, seed: u64) -> Result<Rehearsed, Problem> {
        let asked = self;
        let within = |place: &str, value: f64, range: [f64; 2], unit: &'static str| {
            crate::problem::within(value, unit, range).map_err(|what| Problem::new(place, what))
        };
        let distance = settings.distance;
        let round = asked.round.unwrap_or(Ends { ends: 12, arrows: 6 });
        let sighting_ends = match asked.sighting {
            Some(sighting) if sighting.arrows != round.arrows => {
                let write = format!("{}x{}", sighting.ends, round.arrows);
                return Err(Problem::new("sighting", What::OtherSighting(write)));
            }
            sighting => sighting.map_or(0, |s| s.ends),
        };
        if (round.ends + sighting_ends) * round.arrows > MOST_SHOTS {
            return Err(Problem::new("sighting", What::LongRound(MOST_SHOTS)));
        }
        let spread_mm = settings.prior.spread_mm();
        let offset_mm = asked.offset_mm.unwrap_or(spread_mm / settings.prior.trust().sqrt());
        within("offset", offset_mm, [0.0, 10_000.0], "mm")?;
        let click_mm = match asked.click_on_face_mm {
            Some(mm) => {
                within("click_on_face", mm, [0.01, 1000.0], "mm")?;
                [mm; 2]
            }
            None => settings.sight.click_on_face_mm(distance),
        };
        let (flyers, drift_mrad) = (flyers(asked.flyers), asked.drift_mrad.unwrap_or(DRIFT_DEFAULT_MRAD));
        within("flyers", flyers, [0.0, 0.5], "")?;
        within("drift", drift_mrad, [0.0, 100.0], "mrad")?;
        let scene = Scene {
            drift_mm: drift_mrad * distance.metres(),
            setting_mm: settings.sight.setting_variance_on_face(distance).sqrt(),
            click_mm,
            sighting_ends,
            ends: round.ends,
            shots_per_end: round.arrows,
            touch_cost: settings.ahead.touch_cost_points,
            worth: settings.prior.worth(),
            jump: 0.0,
            ..Scene::ranking_round(spread_mm, offset_mm, flyers)
        };
        let trust = asked.offset_mm.is_none().then_some(settings.prior.trust());
        Ok(Rehearsed { distance, face: settings.face, scene, trust, seed })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_are_read_or_refused() {
        assert_eq!("12x6".parse(), Ok(Ends { ends: 12, arrows: 6 }));
        assert_eq!(" 2 X 3".parse(), Ok(Ends { ends: 2, arrows: 3 }));
        for text in ["", "12", "0x6", "12x0", "x", "1000x6", "-1x6", "99999999999999999999x1"] {
            assert!(text.parse::<Ends>().is_err(), "{text}");
        }
    }

    #[test]
    fn what_cannot_be_played_is_named() {
        let settings =
            predicted(Distance::from_metres(70.0).unwrap(), Face::named("122").unwrap(), &Wishes::default()).unwrap();
        let check = |asked: Asked, place: &str| {
            assert_eq!(asked.of(&settings, 1).unwrap_err().place, place.into(), "{asked:?}");
        };
        let ends = |ends, arrows| Some(Ends { ends, arrows });
        check(Asked { sighting: ends(2, 3), ..Asked::default() }, "sighting");
        check(Asked { round: ends(120, 6), sighting: ends(1, 6), ..Asked::default() }, "sighting");
        check(Asked { offset_mm: Some(f64::NAN), ..Asked::default() }, "offset");
        check(Asked { click_on_face_mm: Some(0.0), ..Asked::default() }, "click_on_face");
        check(Asked { flyers: Some(0.6), ..Asked::default() }, "flyers");
        check(Asked { drift_mrad: Some(-0.1), ..Asked::default() }, "drift");
        assert_eq!(Asked::default().of(&settings, 1).unwrap().sighting_shots(), 0);
    }
}
