//! What a reading needs beside the shots, gathered from defaults, kit file, options or a JSON object, and checked once.

use goldward_core::advice::{Ahead, TOUCH_COST_DEFAULT};
use goldward_core::face::Face;
use goldward_core::group::{ClassOdds, ClassShape, Doubt, EndEffect, PatternOdds, Prior, TRUST_UNKNOWN};
use goldward_core::matches::Duel;
use goldward_core::pace::{self, DEFAULT_TIME, DRIFT_DEFAULT_MRAD, TimeRule};
use goldward_core::plane::Point;
use goldward_core::sight::Sight;
use goldward_core::units::{Distance, Shaft, Spread};
use goldward_core::usual::{Bow, Level, Start, argued};

use crate::keys::Key;
use crate::problem::{Place, Problem, What, within};

/// Shots assumed still to come when nobody says: the other half of a common round of 72 (our choice, no source).
pub const SHOTS_LEFT_DEFAULT: u32 = 36;

/// A setting that cannot be.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{key:?}: {what:?}")]
pub struct KeyProblem {
    /// Which one.
    pub key: Key,
    /// What is wrong with it.
    pub what: What,
}

impl KeyProblem {
    fn at<E: Into<What>>(key: Key) -> impl Fn(E) -> Self {
        move |e| Self { key, what: e.into() }
    }
}

impl From<KeyProblem> for Problem {
    /// At the option or the key of the kit file.
    fn from(e: KeyProblem) -> Self {
        Self::new("", e.what).at(Place::Setting(e.key))
    }
}

/// Settings as wished for: what is `None` takes its default.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Wishes {
    /// Diameter of the shaft, in millimetres.
    pub shaft_mm: Option<f64>,
    /// Spread of the archer, in milliradians.
    pub spread_mrad: Option<f64>,
    /// Arrows that the spread is worth.
    pub worth: Option<f64>,
    /// Arrows that the present sight setting is worth.
    pub trust: Option<f64>,
    /// Distance from eye to pin, in millimetres.
    pub eye_to_pin_mm: Option<f64>,
    /// Size of a click of windage, in millimetres.
    pub click_windage_mm: Option<f64>,
    /// Size of a click of elevation, in millimetres.
    pub click_elevation_mm: Option<f64>,
    /// Error of a setting, in millimetres.
    pub setting_sd_mm: Option<f64>,
    /// Shots still to come.
    pub shots_left: Option<u32>,
    /// Points that a touch must gain.
    pub touch_cost_points: Option<f64>,
    /// What the shots of an end share, windage and elevation, in spreads.
    pub end_effect: Option<[f64; 2]>,
    /// Class probabilities of an unmarked shot.
    pub unmarked: Option<[f64; 3]>,
    /// Class probabilities of a shot that felt bad.
    pub felt_bad: Option<[f64; 3]>,
    /// Class probabilities of a shot that felt good.
    pub felt_good: Option<[f64; 3]>,
    /// Where bad shots go from the centre, windage and elevation, in spreads.
    pub bad_mean: Option<[f64; 2]>,
    /// How widely bad shots scatter about that, in spreads.
    pub bad_spread: Option<[f64; 2]>,
    /// How far a touch of windage and one of elevation move the arrows, over what click and eye-to-pin say.
    pub touch_gives: Option<[f64; 2]>,
    /// How far the group goes from each end to the next, right and up, in spreads.
    pub end_drift: Option<[f64; 2]>,
    /// How far the spread that is told may be off, less and more, in octaves.
    pub spread_doubt: Option<[f64; 2]>,
    /// In which share of the strings the group is two, and has moved once.
    pub pattern_shares: Option<[f64; 2]>,
    /// Whether the habits that a log tells are used; they are unless told.
    pub habits: Option<bool>,
    /// What kind of bow it is.
    pub bow: Option<Bow>,
    /// How well it is shot.
    pub level: Option<Level>,
    /// Where an archer of this kind starts in place of the shipped table's value.
    pub usual: Option<Start>,
}

impl Wishes {
    /// These wishes, and where they are silent those of `other`.
    #[must_use]
    pub fn or(self, other: Self) -> Self {
        Self {
            shaft_mm: self.shaft_mm.or(other.shaft_mm),
            spread_mrad: self.spread_mrad.or(other.spread_mrad),
            worth: self.worth.or(other.worth),
            trust: self.trust.or(other.trust),
            eye_to_pin_mm: self.eye_to_pin_mm.or(other.eye_to_pin_mm),
            click_windage_mm: self.click_windage_mm.or(other.click_windage_mm),
            click_elevation_mm: self.click_elevation_mm.or(other.click_elevation_mm),
            setting_sd_mm: self.setting_sd_mm.or(other.setting_sd_mm),
            shots_left: self.shots_left.or(other.shots_left),
            touch_cost_points: self.touch_cost_points.or(other.touch_cost_points),
            end_effect: self.end_effect.or(other.end_effect),
            unmarked: self.unmarked.or(other.unmarked),
            felt_bad: self.felt_bad.or(other.felt_bad),
            felt_good: self.felt_good.or(other.felt_good),
            bad_mean: self.bad_mean.or(other.bad_mean),
            bad_spread: self.bad_spread.or(other.bad_spread),
            touch_gives: self.touch_gives.or(other.touch_gives),
            end_drift: self.end_drift.or(other.end_drift),
            spread_doubt: self.spread_doubt.or(other.spread_doubt),
            pattern_shares: self.pattern_shares.or(other.pattern_shares),
            habits: self.habits.or(other.habits),
            bow: self.bow.or(other.bow),
            level: self.level.or(other.level),
            usual: self.usual.or(other.usual),
        }
    }

    /// Where the archer starts who tells no spread and has no history.
    #[must_use]
    pub fn start(&self) -> Start {
        self.usual.unwrap_or_else(|| argued(self.bow, self.level))
    }
}

/// Checked settings of one reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Shooting distance.
    pub distance: Distance,
    /// Target face.
    pub face: &'static Face,
    /// The arrows' shaft.
    pub shaft: Shaft,
    /// The archer's spread.
    pub spread: Spread,
    /// What is known of the archer and the mark beforehand.
    pub prior: Prior,
    /// The sight.
    pub sight: Sight,
    /// Class probabilities of an unmarked shot, and of shots that felt bad or good.
    pub unmarked: ClassOdds,
    /// What is still to come.
    pub ahead: Ahead,
    /// The match that it is, as it stands: then the chance to win decides, and points where there is none.
    pub duel: Option<Duel>,
}

/// Whether both numbers are such as `key` takes.
fn pair(key: Key, told: [f64; 2]) -> Result<(), KeyProblem> {
    for value in told {
        within(value, "", key.field().range.unwrap_or([f64::MIN, f64::MAX])).map_err(KeyProblem::at(key))?;
    }
    Ok(())
}

impl Settings {
    /// Checks `wishes` and fills in the defaults: shaft 5.5 mm, spread as is usual (3 mrad worth 4 arrows where nothing is told), trust 0.1, a pin 880 mm from
    /// the eye with clicks of 0.1 mm set without error, 36 shots left, half a point a touch.
    ///
    /// # Errors
    /// [`KeyProblem`] for the first setting that cannot be.
    pub fn new(distance: Distance, face: &'static Face, wishes: &Wishes) -> Result<Self, KeyProblem> {
        let shaft = match wishes.shaft_mm {
            Some(mm) => Shaft::from_diameter_mm(mm).map_err(KeyProblem::at(Key::Shaft))?,
            None => Shaft::default(),
        };
        let start = wishes.start();
        let spread_mrad = wishes.spread_mrad.unwrap_or(start.spread_mrad);
        let spread = Spread::from_mrad(spread_mrad).map_err(KeyProblem::at(Key::Spread))?;
        let (worth, trust) = (wishes.worth.unwrap_or(start.worth), wishes.trust.unwrap_or(TRUST_UNKNOWN));
        // One at a time, so that the error knows its key.
        Prior::new(spread, distance, worth, TRUST_UNKNOWN).map_err(KeyProblem::at(Key::Worth))?;
        let mut prior = Prior::new(spread, distance, worth, trust).map_err(KeyProblem::at(Key::Trust))?;
        // What is usual of others says how far one archer may be from it; a spread of one's own is doubted as ever.
        let of_others = spread_mrad.total_cmp(&start.spread_mrad).is_eq();
        if let Some(octaves) = start.octaves.filter(|_| of_others) {
            let doubt = Doubt { tighter_octaves: octaves, wider_octaves: octaves, ..Doubt::default() };
            prior = prior.doubted(doubt).map_err(KeyProblem::at(Key::Spread))?;
        }
        let end_effect = wishes.end_effect.or_else(|| {
            let usual = EndEffect::usual(distance);
            start.end_factor.map(|f| [f * usual.windage, f * usual.elevation])
        });
        if let Some([windage, elevation]) = end_effect {
            prior = prior.with_end_effect(EndEffect { windage, elevation }).map_err(KeyProblem::at(Key::EndEffect))?;
        }
        if let Some([tighter_octaves, wider_octaves]) = wishes.spread_doubt {
            let doubt = Doubt { tighter_octaves, wider_octaves, ..prior.doubt() };
            prior = prior.doubted(doubt).map_err(KeyProblem::at(Key::SpreadDoubt))?;
        }
        if let Some([splits, jumps]) = wishes.pattern_shares {
            let patterns = PatternOdds::new(splits, jumps).map_err(KeyProblem::at(Key::PatternShares))?;
            prior = prior.with_patterns(patterns);
        }
        if let Some(step) = wishes.end_drift {
            pair(Key::EndDrift, step)?;
            let step = Point::new(step[0], step[1]) * prior.spread_mm();
            prior = prior.with_end_drift_mm(step).map_err(KeyProblem::at(Key::EndDrift))?;
        }

        let usual = Sight::default();
        let eye_to_pin_mm = wishes.eye_to_pin_mm.unwrap_or(usual.eye_to_pin_mm());
        let click_mm = [
            wishes.click_windage_mm.unwrap_or(usual.click_mm()[0]),
            wishes.click_elevation_mm.unwrap_or(usual.click_mm()[1]),
        ];
        let setting_sd_mm = wishes.setting_sd_mm.unwrap_or(usual.setting_sd_mm());
        Sight::new(eye_to_pin_mm, usual.click_mm(), 0.0).map_err(KeyProblem::at(Key::EyeToPin))?;
        Sight::new(eye_to_pin_mm, click_mm, 0.0).map_err(KeyProblem::at(Key::Click))?;
        let mut sight = Sight::new(eye_to_pin_mm, click_mm, setting_sd_mm).map_err(KeyProblem::at(Key::SettingSd))?;
        if let Some(gives) = wishes.touch_gives {
            sight = sight.with_gives(gives).map_err(KeyProblem::at(Key::TouchGives))?;
        }

        let odds = |given: Option<[f64; 3]>, usual: ClassOdds, key: Key| match given {
            Some(odds) => ClassOdds::new(odds).map_err(KeyProblem::at(key)),
            None => Ok(usual),
        };
        let common = start.bad_share.map(|bad| {
            // Of those that go astray as many are strays as ever.
            let [_, flyer, stray] = ClassOdds::default().get();
            let each = |odds: f64| odds * bad / (flyer + stray);
            [1.0 - bad, each(flyer), each(stray)]
        });
        let unmarked = odds(wishes.unmarked.or(common), ClassOdds::default(), Key::Unmarked)?.with_marks(
            odds(wishes.felt_bad, ClassOdds::BAD, Key::FeltBad)?,
            odds(wishes.felt_good, ClassOdds::GOOD, Key::FeltGood)?,
        );
        let mut bad_shots = ClassShape::USUAL_FLYERS;
        // In spreads of a clean shot, as it is expected on the face.
        for (key, told) in [(Key::BadMean, wishes.bad_mean), (Key::BadSpread, wishes.bad_spread)] {
            let Some(told) = told else { continue };
            pair(key, told)?;
            match key {
                Key::BadMean => bad_shots.mean_mm = Point::new(told[0], told[1]) * prior.spread_mm(),
                _ => bad_shots.factors = told.map(|x| x * x),
            }
        }
        let unmarked = unmarked.with_bad_shots(bad_shots).map_err(KeyProblem::at(Key::BadMean))?;
        let shots_left = wishes.shots_left.unwrap_or(SHOTS_LEFT_DEFAULT);
        let touch_cost_points = wishes.touch_cost_points.unwrap_or(TOUCH_COST_DEFAULT);
        for (key, value) in [(Key::ShotsLeft, f64::from(shots_left)), (Key::TouchCost, touch_cost_points)] {
            within(value, "", [0.0, key.most()]).map_err(KeyProblem::at(key))?;
        }
        Ok(Self {
            distance,
            face,
            shaft,
            spread,
            prior,
            sight,
            unmarked,
            ahead: Ahead::new(shots_left, touch_cost_points),
            duel: None,
        })
    }
}

/// The ends of a distance, for pacing it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Round {
    /// Sighting ends, before those that count.
    pub sighting_ends: u32,
    /// Ends that count.
    pub ends: u32,
    /// Shots an end.
    pub shots_per_end: u32,
    /// Drift between ends, one standard deviation an axis, in milliradians.
    pub drift_mrad_per_end: f64,
    /// The clock.
    pub time: TimeRule,
}

impl Default for Round {
    /// One end of six arrows, with the usual drift and clock.
    fn default() -> Self {
        Self { sighting_ends: 0, ends: 1, shots_per_end: 6, drift_mrad_per_end: DRIFT_DEFAULT_MRAD, time: DEFAULT_TIME }
    }
}

impl Round {
    /// The settings for [`goldward_core::pace::Pace`].
    #[must_use]
    pub fn pace(&self, settings: &Settings) -> pace::Settings {
        let s = settings;
        let mut out = pace::Settings::new(s.distance, s.face, s.shaft, s.sight, s.prior, self.shots_per_end as usize);
        out.unmarked = s.unmarked;
        out.touch_cost = s.ahead.touch_cost_points;
        out.sighting_ends = self.sighting_ends as usize;
        out.ends = self.ends as usize;
        out.shots_per_end = self.shots_per_end as usize;
        out.drift_mrad_per_end = self.drift_mrad_per_end;
        out.time = self.time;
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_error_knows_its_key() {
        let distance = Distance::from_metres(70.0).unwrap();
        let face = Face::named("122").unwrap();
        let check = |wishes: Wishes, key: Key| {
            let problem = Settings::new(distance, face, &wishes).unwrap_err();
            assert_eq!(problem.key, key, "{problem:?}");
        };
        check(Wishes { shaft_mm: Some(-1.0), ..Wishes::default() }, Key::Shaft);
        check(Wishes { spread_mrad: Some(0.0), ..Wishes::default() }, Key::Spread);
        check(Wishes { worth: Some(0.0), ..Wishes::default() }, Key::Worth);
        check(Wishes { trust: Some(0.0), ..Wishes::default() }, Key::Trust);
        check(Wishes { eye_to_pin_mm: Some(5.0), ..Wishes::default() }, Key::EyeToPin);
        check(Wishes { click_windage_mm: Some(0.0), ..Wishes::default() }, Key::Click);
        check(Wishes { setting_sd_mm: Some(-0.1), ..Wishes::default() }, Key::SettingSd);
        check(Wishes { shots_left: Some(u32::MAX), ..Wishes::default() }, Key::ShotsLeft);
        check(Wishes { touch_cost_points: Some(f64::NAN), ..Wishes::default() }, Key::TouchCost);
        check(Wishes { unmarked: Some([0.5, 0.4, 0.0]), ..Wishes::default() }, Key::Unmarked);
        check(Wishes { felt_bad: Some([0.0, 1.0, 0.0]), ..Wishes::default() }, Key::FeltBad);
        check(Wishes { felt_good: Some([1.0, 0.1, -0.1]), ..Wishes::default() }, Key::FeltGood);
        check(Wishes { bad_mean: Some([1.0, 21.0]), ..Wishes::default() }, Key::BadMean);
        check(Wishes { touch_gives: Some([1.0, 0.2]), ..Wishes::default() }, Key::TouchGives);
        check(Wishes { end_drift: Some([f64::NAN, 0.0]), ..Wishes::default() }, Key::EndDrift);
        check(Wishes { spread_doubt: Some([1.0, 4.1]), ..Wishes::default() }, Key::SpreadDoubt);
        check(Wishes { pattern_shares: Some([0.1, 0.5]), ..Wishes::default() }, Key::PatternShares);
        check(Wishes { bad_spread: Some([0.0, 1.0]), ..Wishes::default() }, Key::BadSpread);
    }
}
