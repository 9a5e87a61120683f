//! A kit: what an archer's equipment is, wherever it is written down.

use goldward_core::face::Face;
use goldward_core::group::{TRUST_PREDICTED, TRUST_UNKNOWN, TRUST_VERIFIED};
use goldward_core::sight::Sight;
use goldward_core::units::{Distance, Shaft, parse_decimal};
use goldward_core::usual::{Bow, Level};
use goldward_journal as journal;

use crate::keys::Key;
use crate::settings::{Settings, Wishes};

/// Which hand draws the bow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hand {
    /// The right hand draws.
    Right,
    /// The left hand draws.
    Left,
}

/// One scale of the sight.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Scale {
    /// Whether its number grows when the pin goes right (windage) or up (elevation).
    pub grows_positive: Option<bool>,
    /// What it reads now.
    pub reading: Option<f64>,
    /// Millimetres of the pin for 1 on the scale.
    pub unit_mm: Option<f64>,
}

impl Scale {
    /// What the scale will read after the pin has moved `pin_mm` (right or up), and what it reads now, when the kit tells
    /// enough.
    #[must_use]
    pub fn readings(&self, pin_mm: f64) -> Option<(f64, f64)> {
        let sign = if self.grows_positive? { 1.0 } else { -1.0 };
        let now = self.reading?;
        Some((now, now + sign * pin_mm / self.unit_mm?))
    }
}

/// A kit: settings, and what the page needs to speak of scales.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Kit {
    /// Which hand draws.
    pub hand: Option<Hand>,
    /// Settings for the reading.
    pub wishes: Wishes,
    /// The windage scale.
    pub windage: Scale,
    /// The elevation scale.
    pub elevation: Scale,
}

impl Kit {
    /// The settings of this kit alone, at a distance and a face that do not matter to it.
    fn basics(&self) -> Option<Settings> {
        let (distance, face) = (Distance::from_metres(18.0).ok()?, Face::named("122").ok()?);
        Settings::new(distance, face, &self.wishes).ok()
    }

    /// Its sight, with defaults for what it does not say.
    #[must_use]
    pub fn sight(&self) -> Sight {
        self.basics().map(|s| s.sight).unwrap_or_default()
    }

    /// Its shaft.
    #[must_use]
    pub fn shaft(&self) -> Shaft {
        self.basics().map(|s| s.shaft).unwrap_or_default()
    }
}

/// Reads a trust: a number of arrows, or one of the words unknown, predicted and verified.
///
/// # Errors
/// What is wrong and the remedy, in words.
pub fn parse_trust(text: &str) -> Result<f64, String> {
    match text.trim().to_lowercase().as_str() {
        "unknown" => Ok(TRUST_UNKNOWN),
        "predicted" => Ok(TRUST_PREDICTED),
        "verified" => Ok(TRUST_VERIFIED),
        number => parse_decimal(number)
            .ok_or_else(|| "it is no trust: write a number of arrows, or unknown, predicted or verified".to_owned()),
    }
}

impl From<&journal::Kit> for Kit {
    /// The kit of a log. A number that no reading takes counts as not told, so that a damaged record does not close a session.
    fn from(kit: &journal::Kit) -> Self {
        let told = |key: Key, value: Option<f64>| value.filter(|v| key.field().takes(*v));
        Self {
            hand: kit.hand.map(|h| match h {
                journal::Hand::Right => Hand::Right,
                journal::Hand::Left => Hand::Left,
            }),
            wishes: Wishes {
                shaft_mm: told(Key::Shaft, kit.shaft_mm),
                spread_mrad: told(Key::Spread, kit.spread_mrad),
                worth: told(Key::Worth, kit.worth),
                trust: told(Key::Trust, kit.trust),
                eye_to_pin_mm: told(Key::EyeToPin, kit.eye_to_pin_mm),
                click_windage_mm: told(Key::ClickWindage, kit.click_windage_mm),
                click_elevation_mm: told(Key::ClickElevation, kit.click_elevation_mm),
                setting_sd_mm: told(Key::SettingSd, kit.setting_sd_mm),
                touch_cost_points: told(Key::TouchCost, kit.touch_cost_points),
                habits: kit.habits,
                bow: kit.bow.as_deref().and_then(Bow::named),
                level: kit.level.as_deref().and_then(Level::named),
                ..Wishes::default()
            },
            windage: Scale {
                grows_positive: kit.windage_grows_right,
                reading: told(Key::WindageReading, kit.windage_reading),
                unit_mm: told(Key::WindageUnit, kit.windage_unit_mm),
            },
            elevation: Scale {
                grows_positive: kit.elevation_grows_up,
                reading: told(Key::ElevationReading, kit.elevation_reading),
                unit_mm: told(Key::ElevationUnit, kit.elevation_unit_mm),
            },
        }
    }
}
