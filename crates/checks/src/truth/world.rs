//! The archers, as data.

use super::{SPREAD_MM, SPREAD_MRAD};
use goldward_core::group::{TRUST_PREDICTED, TRUST_VERIFIED};

/// What the archer tells before the first shot, true or not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Told {
    /// Spread, in milliradians.
    pub spread_mrad: f64,
    /// Arrows that the spread is worth.
    pub worth: f64,
    /// Arrows that the setting is worth.
    pub trust: f64,
}

/// How the shots are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Calls {
    /// Measured.
    Places,
    /// Ring and whole hour.
    Clock,
    /// The ring alone.
    Rings,
    /// Measured on the face, `M` beside it.
    Misses,
}

/// How the arrows of one archer truly fly, and what is told of it.
#[derive(Debug, Clone, PartialEq)]
pub struct World {
    /// A short name.
    pub name: &'static str,
    /// What it is.
    pub title: &'static str,
    /// What the archer tells.
    pub told: Told,
    /// Arrows that the setting is truly worth: the centre is off by the spread over the root of it, an axis.
    pub trust: f64,
    /// Standard deviation of a clean shot, windage and elevation, in millimetres.
    pub spread_mm: [f64; 2],
    /// Correlation of the two.
    pub correlation: f64,
    /// Shares of clean, flyer (three times as wide) and stray (ten times as wide).
    pub odds: [f64; 3],
    /// Whether flyers and strays go to the right only.
    pub bad_to_the_right: bool,
    /// Degrees of freedom of a clean shot, if it is not normal: a Student t of the same scale.
    pub dof: Option<f64>,
    /// The spread grows by this share of itself a shot, up to twice of what it was.
    pub growth: f64,
    /// Standard deviation of what the shots of an end share, windage and elevation, in millimetres.
    pub end_mm: [f64; 2],
    /// Standard deviation of the gust that two shots of every six are in, windage, in millimetres.
    pub gust_mm: f64,
    /// How the shots are told.
    pub calls: Calls,
}

/// Shares of the model's own archer.
const USUAL: [f64; 3] = [0.91, 0.08, 0.01];

impl World {
    /// The model's own archer, apart from a spread that is what was told.
    #[must_use]
    pub fn usual() -> Self {
        Self {
            name: "usual",
            title: "usual flyers",
            told: Told { spread_mrad: SPREAD_MRAD, worth: 4.0, trust: TRUST_PREDICTED },
            trust: TRUST_PREDICTED,
            spread_mm: [SPREAD_MM; 2],
            correlation: 0.0,
            odds: USUAL,
            bad_to_the_right: false,
            dof: None,
            growth: 0.0,
            end_mm: [0.0; 2],
            gust_mm: 0.0,
            calls: Calls::Places,
        }
    }

    /// Of that name and title.
    fn named(name: &'static str, title: &'static str) -> Self {
        Self { name, title, ..Self::usual() }
    }

    /// The same archer, who tells `trust` of the setting, and truly.
    #[must_use]
    pub fn with_trust(mut self, trust: f64) -> Self {
        let wrong = self.told.trust / self.trust;
        self.told.trust = trust;
        self.trust = trust / wrong;
        self
    }

    /// All worlds.
    #[must_use]
    pub fn all() -> Vec<Self> {
        let named = Self::named;
        let usual = Self::usual();
        let spread = |of: f64| [of * SPREAD_MM; 2];
        let told_default = Told { spread_mrad: 3.0, ..usual.told };
        let verified = Told { trust: TRUST_VERIFIED, ..usual.told };
        vec![
            usual.clone(),
            Self { odds: [1.0, 0.0, 0.0], ..named("no-flyers", "no flyers") },
            Self { correlation: 0.7, ..named("correlated", "axes correlated, 0.7") },
            Self { spread_mm: [0.7 * SPREAD_MM, 1.4 * SPREAD_MM], ..named("tall", "twice as tall as wide") },
            Self { bad_to_the_right: true, ..named("one-sided", "bad ones go right") },
            Self { growth: 1.0 / 36.0, ..named("growing", "spread doubles in 36 shots") },
            Self { dof: Some(4.0), odds: [1.0, 0.0, 0.0], ..named("student", "Student t, 4 degrees") },
            Self { end_mm: [0.6 * SPREAD_MM, 0.0], ..named("wind", "wind by end, 0.6 of the spread") },
            Self { gust_mm: 1.5 * SPREAD_MM, ..named("gust", "two of six in a gust, 1.5 of the spread") },
            Self { told: verified, trust: 6.0, ..named("verified", "told verified, and true") },
            Self { told: verified, trust: 0.6, ..named("promise", "told verified, off by a tenth of that trust") },
            Self { told: verified, trust: 6.0 / 36.0, ..named("knocked", "told verified, sight knocked") },
            Self { told: told_default, ..named("default", "default spread told, truth 1.5 mrad") },
            Self {
                told: told_default,
                spread_mm: spread(0.8 / 1.5),
                ..named("default-tight", "default spread told, truth 0.8 mrad")
            },
            Self {
                told: told_default,
                spread_mm: spread(5.0 / 1.5),
                ..named("default-wide", "default spread told, truth 5 mrad")
            },
            Self { spread_mm: spread(0.2), trust: 0.04, ..named("tight", "all in a hole: a fifth of the spread told") },
            Self { calls: Calls::Rings, ..named("rings", "called by ring alone") },
            Self { calls: Calls::Clock, ..named("clock", "called by ring and hour") },
            Self {
                spread_mm: spread(2.0),
                told: Told { spread_mrad: 3.0, ..usual.told },
                trust: 0.3,
                calls: Calls::Misses,
                ..named("misses", "3 mrad, told so, a mark far off: many a miss")
            },
        ]
    }

    /// The world of that name.
    #[must_use]
    pub fn find(name: &str) -> Option<Self> {
        Self::all().into_iter().find(|w| w.name == name)
    }

    /// How much wider shot number `i` of the session is than the first.
    #[must_use]
    pub fn widening(&self, i: usize) -> f64 {
        (1.0 + self.growth * i as f64).min(2.0)
    }
}
