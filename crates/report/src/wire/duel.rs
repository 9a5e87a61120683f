//! A match as JSON: how it stands, and the chances.

use goldward_core::matches::{Count, Side, Verdict};
use goldward_session::answer::InMatch;
use goldward_session::game::{Game, Won};
use serde::Serialize;

/// Simulated matches.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GameOut {
    /// Number of the format.
    pub schema: u8,
    /// Matches under each rule.
    pub matches: u64,
    /// Where the random numbers start.
    pub seed: u64,
    /// `sets` or `total`.
    pub by: &'static str,
    /// Most ends.
    pub ends: u32,
    /// Arrows of each archer an end.
    pub shots_per_end: u32,
    /// The other's average arrow.
    pub opponent_arrow: f64,
    /// What each rule came to.
    pub rules: Vec<WonOut>,
}

/// What a rule came to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WonOut {
    /// Its name.
    pub rule: &'static str,
    /// Share of the matches won.
    pub won: f64,
    /// Its standard error.
    pub won_se: f64,
    /// Touches a match.
    pub touches: f64,
}

impl GameOut {
    /// Of so many matches from `seed`.
    #[must_use]
    pub fn new(game: &Game, won: &[Won], (matches, seed): (u64, u64)) -> Self {
        let format = game.scene.format;
        let of = |w: &Won| WonOut { rule: w.rule.name(), won: w.share.0, won_se: w.share.1, touches: w.touches };
        Self {
            schema: super::SCHEMA,
            matches,
            seed,
            by: format.key,
            ends: format.ends,
            shots_per_end: format.shots_per_end,
            opponent_arrow: game.average,
            rules: won.iter().map(of).collect(),
        }
    }
}

/// A match as it stands, and the chances to win it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MatchOut {
    /// `sets` or `total`.
    pub by: &'static str,
    /// Most ends.
    pub ends: u32,
    /// Arrows of each archer an end.
    pub shots_per_end: u32,
    /// Points of sets that win.
    pub first_to: Option<u32>,
    /// Ends that are over.
    pub ends_done: u32,
    /// The archer.
    pub mine: SideOut,
    /// The other.
    pub theirs: SideOut,
    /// `open`, `shoot_off`, `won` or `lost`.
    pub verdict: &'static str,
    /// The other's average arrow that was reckoned with.
    pub opponent_arrow: f64,
    /// The chance when the advice is followed.
    pub chance: f64,
    /// When the sight is touched now, its cost taken off.
    pub chance_touching: f64,
    /// When it is touched after so many of one's own arrows, the same.
    pub chance_waiting: Vec<WaitingOut>,
    /// When it is never touched again.
    pub chance_leaving: f64,
    /// What a point more in the arrows that follow adds.
    pub chance_a_point: f64,
    /// What a touch is taken to cost.
    pub chance_a_touch: f64,
}

/// One archer in a match.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct SideOut {
    /// Points of the match.
    pub points: u32,
    /// Arrows of the end under way.
    pub end_shots: u32,
    /// Their points.
    pub end_points: u32,
}

impl From<Side> for SideOut {
    fn from(Side { points, end_shots, end_points }: Side) -> Self {
        Self { points, end_shots, end_points }
    }
}

/// The chance of a later touch.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WaitingOut {
    /// After so many arrows.
    pub shots: u32,
    /// The chance.
    pub chance: f64,
}

impl From<&InMatch> for MatchOut {
    fn from(InMatch { duel, told }: &InMatch) -> Self {
        let standing = duel.standing.settled(&duel.format);
        let first_to = match duel.format.count {
            Count::Sets { first_to, .. } => Some(first_to),
            Count::Total => None,
        };
        let verdict = match standing.verdict(&duel.format) {
            Verdict::Open => "open",
            Verdict::ShootOff => "shoot_off",
            Verdict::Won => "won",
            Verdict::Lost => "lost",
        };
        let waiting = told.plan.wait.iter().map(|&(shots, chance)| WaitingOut { shots, chance });
        Self {
            by: duel.format.key,
            ends: duel.format.ends,
            shots_per_end: duel.format.shots_per_end,
            first_to,
            ends_done: standing.ends_done,
            mine: standing.mine.into(),
            theirs: standing.theirs.into(),
            verdict,
            opponent_arrow: told.plan.opponent,
            chance: told.chance,
            chance_touching: told.plan.now,
            chance_waiting: waiting.collect(),
            chance_leaving: told.plan.never,
            chance_a_point: told.plan.point,
            chance_a_touch: told.plan.cost,
        }
    }
}

impl MatchOut {
    /// Whether every number is one, as JSON demands.
    #[must_use]
    pub fn is_finite(&self) -> bool {
        let chances =
            [self.chance, self.chance_touching, self.chance_leaving, self.chance_a_point, self.chance_a_touch];
        let waiting = self.chance_waiting.iter().map(|w| w.chance);
        chances.into_iter().chain(waiting).chain([self.opponent_arrow]).all(f64::is_finite)
    }
}
