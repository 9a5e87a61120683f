//! The hybrid logical clock: order among versions, whatever the clocks of the devices do.
//!
//! After S. Kulkarni, M. Demirbas et al., "Logical physical clocks and consistent snapshots in globally distributed
//! databases" (2014), from memory: the larger of the wall clock and everything seen so far, and a counter within one
//! millisecond.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// Last millisecond that a stamp can name: the end of the year 9999.
pub const LAST_MS: u64 = 253_402_300_799_999;

/// How far a stamp may be ahead of a clock that looks at it: a day. What is further ahead was written by a clock that is wrong.
pub const AHEAD_MS: u64 = 86_400_000;

/// When a version was written, for ordering versions; not when something was shot.
///
/// Ordered by time, then counter, then device.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stamp {
    /// Milliseconds since 1970 UTC, never less than any stamp that the device had seen.
    pub ms: u64,
    /// Tells apart stamps of one millisecond.
    pub counter: u32,
    /// The device that wrote.
    pub device: Uuid,
}

impl Stamp {
    /// Whether it is more than a day ahead of a clock that shows `now_ms`: to be set aside until then.
    #[must_use]
    pub fn is_ahead(self, now_ms: u64) -> bool {
        self.ms > now_ms.saturating_add(AHEAD_MS)
    }
}

/// The clock of one device.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hlc {
    last: Stamp,
}

impl Hlc {
    /// The clock of `device`, which has written nothing and seen nothing.
    #[must_use]
    pub fn new(device: Uuid) -> Self {
        Self { last: Stamp { ms: 0, counter: 0, device } }
    }

    /// The device.
    #[must_use]
    pub fn device(&self) -> Uuid {
        self.last.device
    }

    /// The last stamp given or seen.
    #[must_use]
    pub fn last(&self) -> Stamp {
        self.last
    }

    /// Takes notice of a stamp seen, of this device or another: later stamps will be greater.
    ///
    /// A stamp that [is ahead](Stamp::is_ahead) is not heeded: one wrong clock would otherwise carry off all others.
    pub fn observe(&mut self, seen: Stamp, now_ms: u64) {
        if !seen.is_ahead(now_ms) && (seen.ms, seen.counter) > (self.last.ms, self.last.counter) {
            self.last = Stamp { device: self.last.device, ..seen };
        }
    }

    /// The next stamp when the wall clock shows `now_ms`.
    ///
    /// It is greater than every stamp given or seen before. A clock that stands still or runs backwards counts up the
    /// counter instead; one that has jumped forward carries on from there. At the end of the year 9999 it stands still.
    pub fn next(&mut self, now_ms: u64) -> Stamp {
        self.last = later(self.last, now_ms);
        self.last
    }

    /// The stamp of a new version of a record whose present version bears `old`: it wins over that, also where `old` is ahead,
    /// and then without carrying the clock along.
    pub fn next_after(&mut self, old: Stamp, now_ms: u64) -> Stamp {
        self.observe(old, now_ms);
        let next = self.next(now_ms);
        if (next.ms, next.counter) > (old.ms, old.counter) {
            next
        } else {
            later(Stamp { device: next.device, ..old }, now_ms)
        }
    }
}

/// The least stamp after `last` that is not before `now_ms`; `last` itself when there is none.
fn later(last: Stamp, now_ms: u64) -> Stamp {
    let now_ms = now_ms.min(LAST_MS);
    let Stamp { ms, counter, device } = last;
    if now_ms > ms {
        Stamp { ms: now_ms, counter: 0, device }
    } else if counter < u32::MAX {
        Stamp { ms, counter: counter + 1, device }
    } else if ms < LAST_MS {
        Stamp { ms: ms + 1, counter: 0, device }
    } else {
        last
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn time_never_runs_backwards() {
        let mut clock = Hlc::new(Uuid::nil());
        let mut last = clock.last();
        for now in [1000, 1000, 5, 0, u64::MAX, 1001, 1002, u64::MAX] {
            let next = clock.next(now);
            assert!(next > last, "{next:?} after {last:?} at {now}");
            last = next;
        }
        let mut clock = Hlc::new(Uuid::nil());
        clock.observe(Stamp { ms: 50, counter: u32::MAX, device: Uuid::max() }, 3);
        assert_eq!(clock.next(3), Stamp { ms: 51, counter: 0, device: Uuid::nil() });
    }

    #[test]
    fn a_stamp_of_the_year_9999_carries_no_clock_off() {
        let last = Stamp { ms: LAST_MS, counter: u32::MAX, device: Uuid::max() };
        let now = 1_760_000_000_000;
        let mut clock = Hlc::new(Uuid::nil());
        clock.observe(last, now);
        assert_eq!(clock.next(now), Stamp { ms: now, counter: 0, device: Uuid::nil() });
        clock.observe(Stamp { ms: now + AHEAD_MS, ..last }, now);
        assert_eq!(clock.next(now).ms, now + AHEAD_MS + 1, "a day is not too far");
        // Nothing is after it; the clock stands still and does not run over.
        let mut clock = Hlc::new(Uuid::nil());
        clock.observe(last, LAST_MS);
        assert_eq!(clock.next(u64::MAX), Stamp { device: Uuid::nil(), ..last });
        assert_eq!(clock.next(u64::MAX), Stamp { device: Uuid::nil(), ..last });
    }

    #[test]
    fn a_new_version_of_what_is_ahead_wins_and_the_clock_stays() {
        let now = 1_760_000_000_000;
        let old = Stamp { ms: now + 1_000 * AHEAD_MS, counter: 7, device: Uuid::max() };
        let mut clock = Hlc::new(Uuid::nil());
        let edit = clock.next_after(old, now);
        assert!(edit > old && edit.ms == old.ms, "{edit:?}");
        assert_eq!(clock.next(now).ms, now);
        assert!(clock.next_after(Stamp { ms: now + 5, ..old }, now).ms == now + 5);
    }
}
