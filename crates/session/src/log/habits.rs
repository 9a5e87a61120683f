//! The archer's own habits, from the log.

use goldward_core::group::EndEffect;
use goldward_core::group::spread::{Landed, Spot};
use goldward_core::habits::{self, Habits, SeenShot, SessionSeen};
use goldward_core::shot::{self, Place};
use goldward_core::units::Distance;

use super::{DAY_MS, SessionView};
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
