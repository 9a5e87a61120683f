//! What an archer contributes to the usual values of a club, if the archer agrees.

use std::collections::BTreeMap;

use goldward_core::group::EndEffect;
use goldward_core::units::Distance;
use goldward_core::usual::{Band, Bow, Cell, Level, SessionTold, Told};
use goldward_journal::{Body, Log, Session};
use uuid::Uuid;

use super::habits::habits_of;
use super::learnt::learn;
use super::seen::spreads_where;

/// Sessions that lie farther back say too little of how the archer shoots now (our choice, no source).
pub const YEAR_MS: u64 = 365 * 86_400_000;

/// Whether the archer agrees to be counted: nobody is who has not said so.
#[must_use]
pub fn agrees(log: &Log, archer: Uuid) -> bool {
    matches!(log.get(archer, archer).map(|r| &r.body), Some(Body::Archer(a)) if a.counted == Some(true))
}

/// What the archer contributes to the usual values: from the sessions of the year before `at_ms` with the kind of bow, the level and the
/// range of distances that have most arrows. Nothing where the archer does not agree, where the kits do not tell bow and level, or of too few shots.
#[must_use]
pub fn told(log: &Log, archer: Uuid, at_ms: u64) -> Option<Told> {
    if !agrees(log, archer) {
        return None;
    }
    let recent = at_ms.saturating_sub(YEAR_MS)..at_ms;
    let kit_of = |s: &Session| match s.kit.and_then(|k| log.get(archer, k)).map(|r| &r.body) {
        Some(Body::Kit(kit)) => {
            Some((kit.bow.as_deref().and_then(Bow::named)?, kit.level.as_deref().and_then(Level::named)?))
        }
        _ => None,
    };
    let cell_of = |s: &Session| {
        let (bow, level) = kit_of(s)?;
        recent.contains(&s.at_ms).then(|| Cell { bow, level, band: Band::of(s.distance_m) })
    };
    let mut arrows: BTreeMap<Cell, usize> = BTreeMap::new();
    for record in log.heads(archer) {
        if let Body::Session(s) = &record.body
            && let Some(cell) = cell_of(s)
        {
            let shots = log.parts(archer, record.id).filter(|r| matches!(r.body, Body::Shot(_))).count();
            *arrows.entry(cell).or_default() += shots;
        }
    }
    // Of as many the first, so that the answer hangs on nothing else.
    let cell = arrows.iter().max_by_key(|(cell, n)| (**n, std::cmp::Reverse(**cell))).map(|(cell, _)| *cell)?;
    let seen = spreads_where(log, archer, |s| cell_of(s) == Some(cell));
    let sessions: Vec<SessionTold> =
        seen.iter().map(|s| SessionTold { spread_mrad: s.spread_mrad, shots: s.shots }).collect();
    let bad = habits_of(&seen, at_ms).map(|h| h.all()).filter(|all| all.shots > 0);
    let bad_share = bad.map(|all| (all.bad + all.strays) / all.shots as f64);
    let most = seen.iter().max_by_key(|s| s.shots).and_then(|s| Distance::from_metres(s.distance_m).ok());
    let end_factor = most.and_then(|distance| {
        let ends = learn(&seen, distance, None, at_ms).ok()?.ends?.effect;
        let usual = EndEffect::usual(distance);
        Some((ends.windage / usual.windage * (ends.elevation / usual.elevation)).sqrt())
    });
    Told::new(cell, &sessions, bad_share, end_factor)
}
