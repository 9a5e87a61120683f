//! The settings of a distance with its ends, as they are read, filled with defaults, and echoed.

use goldward_core::advice::TOUCH_COST_DEFAULT;
use goldward_core::group::{ClassOdds, TRUST_UNKNOWN};
use goldward_core::pace::{self, DEFAULT_TIME, DRIFT_DEFAULT_MRAD, TimeRule};
use goldward_core::sight::Sight;
use goldward_core::units::Shaft;
use serde::de::IgnoredAny;
use serde::{Deserialize, Serialize};

use goldward_report::words::Wrong;
use goldward_session::duel::{self, MatchIn};
use goldward_session::json::SettingsIn;
use goldward_session::problem::within;

use crate::failure::{Fault, said};
use goldward_session::settings::{self, SHOTS_LEFT_DEFAULT, Settings};

/// Most shots of one distance, sighting ends included: five rounds of 144.
pub(super) const MOST_SHOTS_AHEAD: u64 = 720;
/// Shots an end when only the number of ends is told.
const SHOTS_PER_END_DEFAULT: u32 = 6;

/// What a distance has beside the settings of a reading.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub(super) struct RoundIn {
    /// Ends that count.
    pub(super) ends: Option<u32>,
    /// Shots an end.
    pub(super) shots_per_end: Option<u32>,
    /// Sighting ends before them.
    pub(super) sighting_ends: Option<u32>,
    /// Drift between ends, in milliradians.
    pub(super) drift_mrad_per_end: Option<f64>,
    /// Time for one arrow, in seconds.
    pub(super) seconds_an_arrow: Option<f64>,
    /// Time that a touch takes, in seconds.
    pub(super) seconds_a_touch: Option<f64>,
}

/// Shots do not belong into the settings; this finds those that are there all the same.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct StrayShots {
    shots: Option<Vec<IgnoredAny>>,
}

impl StrayShots {
    /// # Errors
    /// A [`Fault`] when there are any.
    pub(super) fn none(&self) -> Result<(), Fault> {
        match &self.shots {
            Some(shots) if !shots.is_empty() => {
                let such = "{\"shot\":{\"x_mm\":12,\"y_mm\":-30}}";
                Err(Fault::from(said(Wrong::NoShotsInSettings, [such.into()])).at("shots"))
            }
            _ => Ok(()),
        }
    }
}

/// Everything about a distance, nothing left to defaults: what is echoed, and what is worked with.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Round {
    #[serde(flatten)]
    reading: SettingsIn,
    #[serde(flatten)]
    round: RoundIn,
    #[serde(skip)]
    pub(super) settings: Settings,
}

impl Round {
    /// Fills what `reading` and `round` leave open: from `before`, the distance shot before this one, or else with the
    /// defaults.
    ///
    /// # Errors
    /// A [`Fault`] whose place is the key.
    pub(super) fn new(reading: SettingsIn, round: RoundIn, before: Option<&Self>) -> Result<Self, Fault> {
        let blank = SettingsIn::default();
        let was = before.map_or(&blank, |b| &b.reading);
        // A match is of this distance alone; its ends are those of the round, unless one of them is told.
        let round = match &reading.duel {
            Some(told) => RoundIn {
                ends: round.ends.or(Some(told.ends.unwrap_or(duel::USUAL.0).saturating_sub(told.mine.len() as u32))),
                shots_per_end: round.shots_per_end.or(told.shots_per_end).or(Some(duel::USUAL.1)),
                ..round
            },
            None => round,
        };
        let reading = SettingsIn {
            bow: reading.bow.or_else(|| was.bow.clone()),
            level: reading.level.or_else(|| was.level.clone()),
            ..reading
        };
        let start = reading.start()?;
        let told = reading.duel;
        let sight = Sight::default();
        let shots_left = reading.shots_left;
        let reading = SettingsIn {
            bow: reading.bow,
            level: reading.level,
            distance_m: reading.distance_m,
            face: reading.face.or_else(|| was.face.clone()),
            shaft_mm: reading.shaft_mm.or(was.shaft_mm).or(Some(Shaft::default().diameter_mm())),
            spread_mrad: reading.spread_mrad.or(was.spread_mrad).or(Some(start.spread_mrad)),
            worth: reading.worth.or(was.worth).or(Some(start.worth)),
            trust: reading.trust.or(was.trust).or(Some(TRUST_UNKNOWN)),
            eye_to_pin_mm: reading.eye_to_pin_mm.or(was.eye_to_pin_mm).or(Some(sight.eye_to_pin_mm())),
            click_mm: reading.click_mm.or(was.click_mm).or(Some(sight.click_mm())),
            setting_sd_mm: reading.setting_sd_mm.or(was.setting_sd_mm).or(Some(sight.setting_sd_mm())),
            shots_left: None,
            touch_cost_points: reading.touch_cost_points.or(was.touch_cost_points).or(Some(TOUCH_COST_DEFAULT)),
            unmarked: reading.unmarked.or(was.unmarked).or(Some(ClassOdds::default().get())),
            felt_bad: reading.felt_bad.or(was.felt_bad),
            felt_good: reading.felt_good.or(was.felt_good),
            end_effect: reading.end_effect.or(was.end_effect),
            bad_mean: reading.bad_mean.or(was.bad_mean),
            bad_spread: reading.bad_spread.or(was.bad_spread),
            touch_gives: reading.touch_gives.or(was.touch_gives),
            end_drift: reading.end_drift.or(was.end_drift),
            spread_doubt: reading.spread_doubt.or(was.spread_doubt),
            pattern_shares: reading.pattern_shares.or(was.pattern_shares),
            duel: None,
        };
        // Checked as in a batch, its limit of shots left included.
        let settings = SettingsIn { shots_left, ..reading.clone() }.settings()?;

        let blank = RoundIn::default();
        let was = before.map_or(&blank, |b| &b.round);
        let (ends, shots_per_end) = match (round.ends, round.shots_per_end, shots_left) {
            (None, None, None) => match (was.ends, was.shots_per_end) {
                (Some(ends), Some(shots)) => (ends, shots),
                _ => (1, SHOTS_LEFT_DEFAULT),
            },
            (None, None, Some(left)) => (u32::from(left > 0), left.max(1)),
            (Some(ends), shots, _) => (ends, shots.or(was.shots_per_end).unwrap_or(SHOTS_PER_END_DEFAULT)),
            (None, Some(shots), left) => {
                let ends = was.ends.filter(|_| left.is_none());
                (ends.unwrap_or_else(|| left.unwrap_or(SHOTS_LEFT_DEFAULT).div_ceil(shots.max(1))), shots)
            }
        };
        let round = RoundIn {
            ends: Some(ends),
            shots_per_end: Some(shots_per_end),
            // Sighting ends come before the first distance only.
            sighting_ends: Some(round.sighting_ends.unwrap_or(0)),
            drift_mrad_per_end: round.drift_mrad_per_end.or(was.drift_mrad_per_end).or(Some(DRIFT_DEFAULT_MRAD)),
            seconds_an_arrow: round.seconds_an_arrow.or(was.seconds_an_arrow).or(Some(DEFAULT_TIME.seconds_an_arrow)),
            seconds_a_touch: round.seconds_a_touch.or(was.seconds_a_touch).or(Some(DEFAULT_TIME.seconds_a_touch)),
        };
        round.check()?;
        let told = told.map(|told| MatchIn {
            ends: told.ends.or(Some(ends + told.mine.len() as u32)),
            shots_per_end: told.shots_per_end.or(Some(shots_per_end)),
            ..told
        });
        let duel = match &told {
            Some(told) => Some(told.of(settings.face, shots_per_end).map_err(|p| p.under("match"))?),
            None => None,
        };
        Ok(Self { reading: SettingsIn { duel: told, ..reading }, round, settings: Settings { duel, ..settings } })
    }

    /// The match that it is.
    pub(super) fn duel(&self) -> Option<&MatchIn> {
        self.reading.duel.as_ref()
    }

    /// Shots an end.
    pub(super) fn shots_per_end(&self) -> u32 {
        self.round.shots_per_end.unwrap_or(1)
    }

    /// The same for the core.
    pub(super) fn pace(&self) -> pace::Settings {
        let told = &self.round;
        let seconds = |given: Option<f64>, usual: f64| given.unwrap_or(usual);
        let time = TimeRule {
            seconds_an_arrow: seconds(told.seconds_an_arrow, DEFAULT_TIME.seconds_an_arrow),
            seconds_a_touch: seconds(told.seconds_a_touch, DEFAULT_TIME.seconds_a_touch),
            ..DEFAULT_TIME
        };
        let round = settings::Round {
            sighting_ends: told.sighting_ends.unwrap_or(0),
            ends: told.ends.unwrap_or(0),
            shots_per_end: self.shots_per_end(),
            drift_mrad_per_end: told.drift_mrad_per_end.unwrap_or(DRIFT_DEFAULT_MRAD),
            time,
        };
        round.pace(&self.settings)
    }
}

impl RoundIn {
    fn check(&self) -> Result<(), Fault> {
        let shots_per_end = self.shots_per_end.unwrap_or(1);
        if shots_per_end == 0 {
            return Err(Fault::from(Wrong::EndOfNoShots).at("shots_per_end"));
        }
        let ends = u64::from(self.ends.unwrap_or(0)) + u64::from(self.sighting_ends.unwrap_or(0));
        let shots = ends * u64::from(shots_per_end);
        if shots > MOST_SHOTS_AHEAD {
            let many = said(Wrong::LongDistance, [shots.into(), MOST_SHOTS_AHEAD.into()]);
            return Err(Fault::from(many).at("ends"));
        }
        for (key, value, most) in [
            ("drift_mrad_per_end", self.drift_mrad_per_end, 100.0),
            ("seconds_an_arrow", self.seconds_an_arrow, 36_000.0),
            ("seconds_a_touch", self.seconds_a_touch, 36_000.0),
        ] {
            if let Some(value) = value {
                within(value, "", [0.0, most]).map_err(|what| Fault::of(key, what))?;
            }
        }
        Ok(())
    }
}
