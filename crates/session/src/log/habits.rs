//! The archer's own habits, from the log.

use goldward_core::group::EndEffect;
use goldward_core::habits::{self, Course, CourseTold, DaySeen, Days, Habits, SessionSeen};
use goldward_core::pace::DRIFT_DEFAULT_MRAD;
use goldward_core::units::Distance;
use goldward_journal as journal;

use super::DAY_MS;
use super::seen::{SightTold, SpreadSeen};
use crate::kit::Kit;
use crate::settings::Wishes;

/// For habits a session counts half as much for every so many days that it lies back: they change more slowly than the form, and bad
/// shots are few (our choice, no source).
pub const HABITS_HALF_LIFE_DAYS: f64 = 180.0;
/// Sessions that habits are learnt from: the latest that tell of them.
const SESSIONS: usize = 30;
/// The latest sessions that are looked at for them, whatever the distance.
pub(super) const LOOKED_AT: usize = 60;

/// Sessions before `at_ms` that are looked at, the latest first, each with what it counts.
fn latest(seen: &[SpreadSeen], at_ms: u64) -> impl Iterator<Item = (&SpreadSeen, f64)> {
    seen.iter().rev().filter(move |s| s.at_ms < at_ms).take(SESSIONS).map(move |s| {
        let days = (at_ms - s.at_ms) as f64 / DAY_MS;
        (s, 0.5_f64.powf(days / HABITS_HALF_LIFE_DAYS))
    })
}

/// How the sessions before `at_ms` went, for the sight of that kit; nothing where none tells.
pub(super) fn learn_course_of(seen: &[SpreadSeen], kit: Option<&journal::Kit>, at_ms: u64) -> Option<Course> {
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
    seen: &[SpreadSeen],
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

/// The habits that sessions before `at_ms` show, the latest first, each with its time, its distance in metres and what it shows; at
/// whatever distance, since they are told in spreads. Nothing where no session tells.
pub(super) fn learn<'a>(sessions: impl Iterator<Item = (u64, f64, &'a SessionSeen)>, at_ms: u64) -> Option<Habits> {
    let told: Vec<(&SessionSeen, f64, EndEffect)> = sessions
        .filter(|(at, ..)| *at < at_ms)
        .take(SESSIONS)
        .map(|(at, distance_m, seen)| {
            let days = (at_ms - at) as f64 / DAY_MS;
            let end = Distance::from_metres(distance_m).map_or(EndEffect::NONE, EndEffect::usual);
            (seen, 0.5_f64.powf(days / HABITS_HALF_LIFE_DAYS), end)
        })
        .collect();
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
