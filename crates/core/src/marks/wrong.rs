//! The wrong mark: an offset on the face that is what another distance's mark would give.

use super::MarksError;
use super::fit::Fitted;
use crate::range::within;

/// A mark that the sight might be standing at.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// What the archer calls it, such as `50 m` or `60 yd`.
    pub name: String,
    /// Its distance, in metres.
    pub distance_m: f64,
}

/// The verdict: the sight looks set for another distance.
#[derive(Debug, Clone, PartialEq)]
pub struct WrongMark {
    /// The mark it looks like.
    pub name: String,
    /// The distance of that mark, in metres.
    pub set_for_m: f64,
    /// The distance that was shot, in metres.
    pub shot_at_m: f64,
    /// Probability of this mark.
    pub p: f64,
    /// Odds of this mark against the right one having been set.
    pub odds: f64,
    /// Height on the face that this mark gives, in millimetres, up.
    pub expected_mm: f64,
    /// How well that is known, with the offset's own uncertainty, in millimetres.
    pub sd_mm: f64,
    /// The next likeliest mark and its probability.
    pub runner_up: Option<(String, f64)>,
}

/// Prior probabilities: the right mark, any wrong one, and none of the marks (a bumped sight, other arrows). Common
/// practice, no source.
const PRIOR: [f64; 3] = [0.90, 0.07, 0.03];
/// How far a sight stands from its mark anyway, in mm at the pin: reading and setting the scale (common practice).
const SETTING_SD_MM: f64 = 0.4;
/// Spread of the height on the face when none of the marks explains it, in milliradians.
const ELSEWHERE_MRAD: f64 = 15.0;
/// A candidate this close to the distance shot is the right mark, in metres.
const SAME_M: f64 = 0.75;

impl Fitted {
    /// Whether a height of `offset_mm` (up, of the centre of the group, known to `offset_sd_mm`) at `shot_at_m` on the
    /// level looks like one of the `candidates` set by mistake.
    ///
    /// Each candidate's launch angle is flown to the distance that was shot; the heights are weighed against the right
    /// mark and against none at all. `None` unless the wrong marks together are likelier than not and one of them
    /// holds a third.
    ///
    /// # Errors
    /// [`MarksError::Unit`]: offset within 100 m, its standard deviation 1 to 10 000 mm; else as [`Fitted::predict`].
    pub fn wrong_mark(
        &self,
        shot_at_m: f64,
        offset_mm: f64,
        offset_sd_mm: f64,
        candidates: &[Candidate],
    ) -> Result<Option<WrongMark>, MarksError> {
        within("a height on the face", offset_mm, "mm", -1e5, 1e5)?;
        within("the standard deviation of a group's centre", offset_sd_mm, "mm", 1.0, 1e4)?;
        let flight = self.flight()?;
        let on_face = shot_at_m * 1000.0 / self.rig().sighting().eye_to_pin_mm();
        let own = offset_sd_mm * offset_sd_mm + (SETTING_SD_MM * on_face).powi(2);
        let density = |at: f64, variance: f64| (-0.5 * (offset_mm - at).powi(2) / variance).exp() / variance.sqrt();
        let right = PRIOR[0] * density(0.0, own + self.predict(shot_at_m)?.sd_on_face_mm.powi(2));
        let elsewhere = PRIOR[2] * density(0.0, own + (ELSEWHERE_MRAD * shot_at_m).powi(2));
        let mut wrong = Vec::new();
        for candidate in candidates.iter().filter(|c| (c.distance_m - shot_at_m).abs() > SAME_M) {
            let hit = flight.fly(flight.angle_for(candidate.distance_m)?, shot_at_m)?;
            let (_, sd) = self.difference_mm(shot_at_m, candidate.distance_m)?;
            let (at, variance) = (1000.0 * hit.height_m, own + (sd * on_face).powi(2));
            wrong.push((candidate, density(at, variance), at, variance.sqrt()));
        }
        let each = PRIOR[1] / wrong.len().max(1) as f64;
        let total = right + elsewhere + each * wrong.iter().map(|w| w.1).sum::<f64>();
        if total.is_nan() || total <= 0.0 {
            return Ok(None);
        }
        wrong.sort_by(|a, b| b.1.total_cmp(&a.1));
        let p = |weight: f64| each * weight / total;
        let together: f64 = wrong.iter().map(|w| p(w.1)).sum();
        Ok(wrong.first().filter(|best| together > 0.5 && p(best.1) > 1.0 / 3.0).map(|best| WrongMark {
            name: best.0.name.clone(),
            set_for_m: best.0.distance_m,
            shot_at_m,
            p: p(best.1),
            odds: each * best.1 / right.max(f64::MIN_POSITIVE),
            expected_mm: best.2,
            sd_mm: best.3,
            runner_up: wrong.get(1).map(|next| (next.0.name.clone(), p(next.1))),
        }))
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Mark, Rig, Sighting, fit};
    use super::*;
    use crate::flight::{Arrow, Drag};
    use crate::units::Distance;

    fn fitted() -> Fitted {
        let rig = Rig::new(Sighting::new(880.0, 115.0).unwrap(), Arrow::new(21.0, 5.5, Drag::default()).unwrap());
        let flight = rig.flight(57.0_f64.ln(), 0.0, 0.0).unwrap();
        let mark = |d: &f64| {
            let reading = 880.0 * flight.angle_for(*d).unwrap().tan();
            Mark::new(Distance::from_metres(*d).unwrap(), reading, 0.3).unwrap()
        };
        fit(&rig, &[18.0, 30.0, 50.0, 70.0].iter().map(mark).collect::<Vec<_>>()).unwrap()
    }

    fn candidates() -> Vec<Candidate> {
        [18.0, 30.0, 50.0, 70.0].iter().map(|d| Candidate { name: format!("{d} m"), distance_m: *d }).collect()
    }

    #[test]
    fn the_fifty_metre_mark_at_thirty_is_recognised() {
        let fitted = fitted();
        let flight = fitted.flight().unwrap();
        for (set, shot) in [(50.0, 30.0), (30.0, 50.0), (70.0, 50.0), (18.0, 30.0)] {
            let off = 1000.0 * flight.fly(flight.angle_for(set).unwrap(), shot).unwrap().height_m;
            let got = fitted.wrong_mark(shot, off + 15.0, 20.0, &candidates()).unwrap().unwrap();
            assert_eq!(got.name, format!("{set} m"));
            assert!(got.p > 0.8 && got.odds > 1e3 && (got.expected_mm - off).abs() < 1.0, "{got:?}");
            assert_eq!(off > 0.0, set > shot, "a mark for a longer distance shoots high");
        }
    }

    #[test]
    fn an_ordinary_error_is_not_a_wrong_mark() {
        let fitted = fitted();
        for off in [-60.0, 0.0, 40.0, 400.0] {
            assert_eq!(fitted.wrong_mark(30.0, off, 25.0, &candidates()).unwrap(), None, "{off}");
        }
        assert_eq!(fitted.wrong_mark(30.0, 900.0, 25.0, &[]).unwrap(), None);
    }
}
