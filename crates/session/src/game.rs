//! A match rehearsed: what is played, and how often each rule wins.

use goldward_core::group::ClassOdds;
use goldward_core::matches::rehearsal::{MatchScene, Wins};
use goldward_core::matches::{Arrow, Format, MatchError};
use goldward_core::pace::DRIFT_DEFAULT_MRAD;
use goldward_core::pace::rehearsal::{Rule, Scene};
use goldward_core::score::Rings;

use crate::settings::Settings;

/// Simulated matches.
#[derive(Debug, Clone)]
pub struct Game {
    /// Archer, other and how it is counted.
    pub scene: MatchScene,
    /// The other's average arrow, in points.
    pub average: f64,
    /// What is played: the rules of thumb, Goldward's, and a sight that is always right.
    pub rules: Vec<Rule>,
}

/// What a rule came to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Won {
    /// The rule.
    pub rule: Rule,
    /// Share of the matches won, and its standard error.
    pub share: (f64, f64),
    /// Touches a match.
    pub touches: f64,
}

impl Game {
    /// For the archer of `settings` against one whose arrows average so many `points`: as many as the archer's own, with a sight that is
    /// right, unless told.
    ///
    /// # Errors
    /// [`MatchError`] for an average that no archer has on this face.
    pub fn new(settings: &Settings, rings: &Rings, format: Format, points: Option<f64>) -> Result<Self, MatchError> {
        let (spread, flyers) = (settings.prior.spread_mm(), settings.unmarked.get()[1]);
        let Ok(odds) = ClassOdds::new([1.0 - flyers, flyers, 0.0]) else {
            unreachable!("a share of flyers is a probability");
        };
        let average = points.unwrap_or_else(|| Arrow::shot(rings, odds, 0.0, spread * spread).points.mean());
        let opponent = Arrow::averaging(rings, odds, average)?;
        let archer = Scene {
            drift_mm: DRIFT_DEFAULT_MRAD * settings.distance.metres(),
            setting_mm: settings.sight.setting_variance_on_face(settings.distance).sqrt(),
            click_mm: settings.sight.click_on_face_mm(settings.distance),
            touch_cost: settings.ahead.touch_cost_points,
            worth: settings.prior.worth(),
            ..Scene::ranking_round(spread, spread / settings.prior.trust().sqrt(), flyers)
        };
        let rules = Rule::ALL.into_iter().filter(|r| r.is_fixed() || matches!(r, Rule::Goldward | Rule::Oracle));
        Ok(Self { scene: MatchScene { archer, format, opponent }, average, rules: rules.collect() })
    }

    /// What was won, rule by rule.
    #[must_use]
    pub fn won(&self, wins: &Wins) -> Vec<Won> {
        let of = |(k, rule): (usize, &Rule)| Won { rule: *rule, share: wins.share(k), touches: wins.touches(k) };
        self.rules.iter().enumerate().map(of).collect()
    }
}
