//! Arrow by arrow: what core answers to the shots of several sessions, each named by its arrow.

use std::collections::BTreeMap;

use goldward_core::fleet::{ArrowShot, Fleet, FleetError, Question, compare, read, session};

/// Shots of one session, each with the name of its arrow (empty when nobody said).
pub type Named = [(ArrowShot, String)];

/// Everything that is told of arrows.
#[derive(Debug)]
pub struct Arrows {
    /// Names of the arrows, numbers before names, as the answer counts them.
    pub names: Vec<String>,
    /// How many shots had no arrow's name.
    pub nameless: usize,
    /// The shots that had one.
    pub shots: Vec<ArrowShot>,
    /// The answer.
    pub fleet: Fleet,
    /// The share of innocent ones among the accused that was asked for.
    pub fdr: f64,
    /// The trend of each session that is long enough.
    pub trends: Vec<Option<session::Trend>>,
    /// What felt marks were worth, where there are any.
    pub felt: Option<session::FeltMarks>,
}

/// What cannot be answered, and of which session; of all together where there is none.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{error}")]
pub struct NoArrows {
    /// The session, from 0.
    pub session: Option<usize>,
    /// Why.
    pub error: FleetError,
}

/// The shots of numbered arrows of all sessions, the names of the arrows in their order (numbers before names), and how many
/// shots had no arrow's name.
#[must_use]
pub fn named(sessions: &[&Named]) -> (Vec<ArrowShot>, Vec<String>, usize) {
    let key = |name: &str| (name.parse::<u64>().unwrap_or(u64::MAX), name.to_owned());
    let all = || sessions.iter().flat_map(|s| s.iter());
    let mut numbers: BTreeMap<(u64, String), usize> =
        all().filter(|(_, n)| !n.is_empty()).map(|(_, n)| (key(n), 0)).collect();
    numbers.values_mut().enumerate().for_each(|(i, v)| *v = i);
    let shots =
        all().filter_map(|(s, n)| numbers.get(&key(n)).map(|arrow| ArrowShot { arrow: *arrow, ..*s })).collect();
    let nameless = all().filter(|(_, n)| n.is_empty()).count();
    (shots, numbers.into_keys().map(|(_, name)| name).collect(), nameless)
}

/// Reads the arrows of `sessions`, oldest first.
///
/// # Errors
/// [`NoArrows`].
pub fn answer(sessions: &[&Named], question: &Question) -> Result<Arrows, NoArrows> {
    let (shots, names, nameless) = named(sessions);
    let unmarked = question.unmarked;
    let fleet = read(&shots, question).map_err(|error| NoArrows { session: None, error })?;
    // All shots tell of the archer, those of unnamed arrows too; what is too short says nothing.
    let everything: Vec<ArrowShot> = sessions.iter().flat_map(|s| s.iter().map(|(shot, _)| *shot)).collect();
    let trend = |(i, s): (usize, &&Named)| {
        let at = |error| NoArrows { session: Some(i), error };
        let shots: Vec<ArrowShot> = s.iter().map(|(shot, _)| *shot).collect();
        let setting = match compare::Setting::read(&shots, unmarked) {
            Ok(setting) => setting,
            Err(FleetError::TooFew { .. } | FleetError::NoSpread) => return Ok(None),
            Err(e) => return Err(at(e)),
        };
        match session::trend(&setting) {
            Ok(trend) => Ok(Some(trend)),
            Err(FleetError::TooFewEnds { .. }) => Ok(None),
            Err(e) => Err(at(e)),
        }
    };
    let trends = sessions.iter().enumerate().map(trend).collect::<Result<Vec<_>, NoArrows>>()?;
    let felt = session::felt_marks(&everything, unmarked).ok();
    Ok(Arrows { names, nameless, shots, fleet, fdr: question.fdr, trends, felt })
}
