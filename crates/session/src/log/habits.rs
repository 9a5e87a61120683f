//! The archer's own habits, from the log.

use std::sync::{Arc, Mutex, PoisonError};

use goldward_core::group::EndEffect;
use goldward_core::habits::{self, Course, CourseTold, DaySeen, Days, Habits, SessionSeen};
use goldward_core::pace::DRIFT_DEFAULT_MRAD;
use goldward_core::units::Distance;
use goldward_journal::{self as journal, Log, Uuid};

use super::DAY_MS;
use super::seen::{SightTold, SpreadSeen};
use crate::kit::Kit;
use crate::settings::Wishes;

/// For habits a session counts half as much for every so many days that it lies back: they change more slowly than the form, and bad
/// shots are few (our choice, no source).
pub const HABITS_HALF_LIFE_DAYS: f64 = 180.0;
const HOUR_MS: u64 = 3_600_000;
/// Sessions that habits are learnt from: the latest that tell of them.
const SESSIONS: usize = 30;
/// The latest sessions that are looked at for them, whatever the distance.
pub(super) const LOOKED_AT: usize = 60;

/// Sessions before `at_ms` that are looked at, the latest first, each with what it counts.
fn latest(seen: &[Arc<SpreadSeen>], at_ms: u64) -> impl Iterator<Item = (&SpreadSeen, f64)> {
    seen.iter().map(Arc::as_ref).rev().filter(move |s| s.at_ms < at_ms).take(SESSIONS).map(move |s| {
        let days = (at_ms - s.at_ms) as f64 / DAY_MS;
        (s, 0.5_f64.powf(days / HABITS_HALF_LIFE_DAYS))
    })
}

/// How the sessions before `at_ms` went, for the sight of that kit; nothing where none tells.
pub(super) fn learn_course_of(seen: &[Arc<SpreadSeen>], kit: Option<&journal::Kit>, at_ms: u64) -> Option<Course> {
    let own = kit.map(Kit::from).unwrap_or_default();
    let sight = SightTold::with(kit, &own.sight());
    let told: Vec<CourseTold<'_>> = latest(seen, at_ms)
        .filter_map(|(s, weight)| {
            Some(CourseTold {
                seen: s.course.as_ref()?,
                weight,
                end: Distance::from_metres(s.distance_m).map_or(EndEffect::NONE, EndEffect::usual),
                drift_mm: DRIFT_DEFAULT_MRAD * s.distance_m,
                same_sight: s.sight == sight,
            })
        })
        .collect();
    (!told.is_empty()).then(|| habits::learn_course(&told, own.sight().setting_sd_mm()))
}

/// How far the days before `at_ms` lay apart, of what `told` makes of each; nothing where none tells.
pub(super) fn learn_days_of(
    seen: &[Arc<SpreadSeen>],
    told: impl Fn(&SpreadSeen) -> Option<DaySeen>,
    at_ms: u64,
) -> Option<Days> {
    let days: Vec<(DaySeen, f64)> = latest(seen, at_ms).filter_map(|(s, weight)| Some((told(s)?, weight))).collect();
    (!days.is_empty()).then(|| habits::learn_days(&days))
}

/// Tells a reading what touches give, how precisely the sight is set and the drift from end to end, where it was not told otherwise.
pub(super) fn tell_course(course: &Course, wishes: &mut Wishes) {
    if course.tells_of_setting() {
        wishes.touch_gives = wishes.touch_gives.or(Some(course.gives.map(|g| g.told())));
        // What the kit says has entered it.
        wishes.setting_sd_mm = Some(course.error_mm);
    }
    wishes.end_drift = wishes.end_drift.or(Some(course.step.map(|s| s.mean)));
}

/// The sessions before `at_ms` of which habits are learnt, the latest first; at whatever distance, since they are told in spreads.
fn telling(seen: &[Arc<SpreadSeen>], at_ms: u64) -> impl Iterator<Item = &Arc<SpreadSeen>> {
    seen.iter().rev().filter(move |s| s.at_ms < at_ms && s.shown.is_some()).take(SESSIONS)
}

/// From when on the age of sessions is counted: a whole hour, so that what was learnt holds for that long.
fn hour_of(at_ms: u64) -> u64 {
    at_ms - at_ms % HOUR_MS
}

/// The habits that sessions already at hand show before `at_ms`; nothing where none tells.
#[must_use]
pub fn habits_of(seen: &[Arc<SpreadSeen>], at_ms: u64) -> Option<Habits> {
    let told: Vec<(&SessionSeen, f64, EndEffect)> = telling(seen, at_ms)
        .filter_map(|s| {
            let days = hour_of(at_ms).saturating_sub(s.at_ms) as f64 / DAY_MS;
            let end = Distance::from_metres(s.distance_m).map_or(EndEffect::NONE, EndEffect::usual);
            Some((s.shown.as_ref()?, 0.5_f64.powf(days / HABITS_HALF_LIFE_DAYS), end))
        })
        .collect();
    (!told.is_empty()).then(|| habits::learn(&told))
}

/// Habits, with all that they rest on: the hour, and the very sessions.
struct LastLearnt {
    hour: u64,
    seen: Vec<Arc<SpreadSeen>>,
    habits: Option<Habits>,
}

/// As [`habits_of`] for what `log` showed of that archer. The last answer is kept there and given again while it rests on the same.
#[must_use]
pub fn habits_kept(log: &Log, archer: Uuid, seen: &[Arc<SpreadSeen>], at_ms: u64) -> Option<Habits> {
    let kept = log.kept(archer, archer, || Mutex::new(None::<LastLearnt>));
    let mut last = kept.lock().unwrap_or_else(PoisonError::into_inner);
    let (hour, told): (_, Vec<_>) = (hour_of(at_ms), telling(seen, at_ms).cloned().collect());
    let same = |last: &&LastLearnt| {
        last.hour == hour
            && last.seen.len() == told.len()
            && last.seen.iter().zip(&told).all(|(a, b)| Arc::ptr_eq(a, b))
    };
    if let Some(last) = last.as_ref().filter(same) {
        return last.habits;
    }
    let habits = habits_of(seen, at_ms);
    *last = Some(LastLearnt { hour, seen: told, habits });
    habits
}

/// Tells a reading of `habits`, where it was not told otherwise.
pub(super) fn tell(habits: &Habits, wishes: &mut Wishes) {
    let [unmarked, bad, good] = habits.odds;
    wishes.unmarked = wishes.unmarked.or(Some(unmarked));
    wishes.felt_bad = wishes.felt_bad.or(Some(bad));
    wishes.felt_good = wishes.felt_good.or(Some(good));
    wishes.bad_mean = wishes.bad_mean.or(Some(habits.along.map(|a| a.mean)));
    wishes.bad_spread = wishes.bad_spread.or(Some(habits.along.map(|a| a.factor.sqrt())));
    wishes.pattern_shares = wishes.pattern_shares.or(Some(habits.patterns.odds.shares()));
}
