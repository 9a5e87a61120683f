//! The archer's own habits, from the log.

use goldward_core::group::EndEffect;
use goldward_core::group::spread::{Landed, Spot};
use goldward_core::habits::{self, Habits, SeenShot, SessionSeen};
use goldward_core::shot::{self, Place};
use goldward_core::units::Distance;
use goldward_journal::{Body, Log};
use uuid::Uuid;

use super::learnt::{Learnt, learn, spreads_seen};
use super::{DAY_MS, SessionView, SpreadSeen};
use crate::settings::Wishes;

/// For habits a session counts half as much for every so many days that it lies back: they change more slowly than the form, and bad
/// shots are few (our choice, no source).
pub const HABITS_HALF_LIFE_DAYS: f64 = 180.0;
/// Sessions that are looked at: the latest.
const SESSIONS: usize = 30;

/// Where each shot of a session landed, as far as that can be read.
pub(super) fn landed(view: &SessionView<'_>, carried: &[shot::Shot]) -> Vec<(Landed, shot::Shot)> {
    let of = |shot: &shot::Shot| {
        let place = match shot.place {
            Place::At(p) => Spot::At(p),
            Place::Called(call) => Spot::In(call.cell(view.face, view.shaft).ok()?),
        };
        Some((Landed { place, carry: shot.carry }, *shot))
    };
    carried.iter().filter_map(of).collect()
}

/// The session as habits are learnt from it.
pub(super) fn seen_of(landed: &[(Landed, shot::Shot)]) -> Option<SessionSeen> {
    let mut stretch = 0;
    let mut seen: Vec<SeenShot> = Vec::with_capacity(landed.len());
    for (i, (at, shot)) in landed.iter().enumerate() {
        if i > 0 && (landed[i - 1].1.end != shot.end || landed[i - 1].0.carry != at.carry) {
            stretch += 1;
        }
        seen.push(SeenShot { landed: *at, felt: shot.felt, stretch });
    }
    SessionSeen::of(&seen)
}

/// The habits that the sessions before `at_ms` show, at whatever distance: they are told in spreads. Nothing where no session tells.
#[must_use]
pub fn habits_of(seen: &[SpreadSeen], at_ms: u64) -> Option<Habits> {
    let mut told: Vec<(&SessionSeen, f64, EndEffect)> = Vec::new();
    for s in seen.iter().rev().filter(|s| s.at_ms < at_ms) {
        let days = (at_ms - s.at_ms) as f64 / DAY_MS;
        let end = Distance::from_metres(s.distance_m).map_or(EndEffect::NONE, EndEffect::usual);
        told.extend(s.shown.as_ref().map(|seen| (seen, 0.5_f64.powf(days / HABITS_HALF_LIFE_DAYS), end)));
        if told.len() == SESSIONS {
            break;
        }
    }
    (!told.is_empty()).then(|| habits::learn(&told))
}

/// Tells a reading of `habits`, where it was not told otherwise.
pub(super) fn tell(habits: &Habits, wishes: &mut Wishes) {
    let [unmarked, bad, good] = habits.odds;
    wishes.unmarked = wishes.unmarked.or(Some(unmarked));
    wishes.felt_bad = wishes.felt_bad.or(Some(bad));
    wishes.felt_good = wishes.felt_good.or(Some(good));
    wishes.bad_mean = wishes.bad_mean.or(Some(habits.along.map(|a| a.mean)));
    wishes.bad_spread = wishes.bad_spread.or(Some(habits.along.map(|a| a.factor.sqrt())));
}

/// The habits of an archer, to be shown: with all that is learnt beside them, at the distance shot last.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HabitsShown {
    /// The distance shot last.
    pub distance: Distance,
    /// What is learnt there; its habits also where the kit does not use them.
    pub learnt: Learnt,
    /// Whether the kit uses them.
    pub used: bool,
}

/// What the sessions of an archer tell of habits, for `kit` or the kit of the latest session; nothing where no session can be read.
#[must_use]
pub fn habits_shown(log: &Log, archer: Uuid, kit: Option<Uuid>) -> Option<HabitsShown> {
    let latest = super::sessions(log, archer).into_iter().find_map(|(r, _)| {
        let view = SessionView::of(log, archer, r.id).ok()?;
        (!view.shots.is_empty()).then_some(view)
    })?;
    let kit = kit.or(latest.session.kit).and_then(|id| log.get(archer, id)).and_then(|r| match &r.body {
        Body::Kit(kit) => Some(kit.as_ref()),
        _ => None,
    });
    // The latest session counts too.
    let at_ms = latest.session.at_ms + 1;
    let seen = spreads_seen(log, archer);
    let learnt = learn(&seen, latest.distance, kit, at_ms).ok()?;
    let learnt = Learnt { habits: habits_of(&seen, at_ms), ..learnt };
    Some(HabitsShown { distance: latest.distance, learnt, used: kit.is_none_or(|k| k.habits != Some(false)) })
}
