//! The hybrid logical clock: order among versions, whatever the clocks of the devices do.
//!
//! After S. Kulkarni, M. Demirbas et al., "Logical physical clocks and consistent snapshots in globally distributed
//! databases" (2014), from memory: the larger of the wall clock and everything seen so far, and a counter within one
//! millisecond.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// Last millisecond that a stamp can name: the end of the year 9999.
pub const LAST_MS: u64 = 253_402_300_799_999;

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
    pub fn observe(&mut self, seen: Stamp) {
        if (seen.ms, seen.counter) > (self.last.ms, self.last.counter) {
            self.last = Stamp { device: self.last.device, ..seen };
        }
    }

    /// The next stamp when the wall clock shows `now_ms`.
    ///
    /// It is greater than every stamp given or seen before. A clock that stands still or runs backwards counts up the
    /// counter instead; one that has jumped forward carries on from there.
    pub fn next(&mut self, now_ms: u64) -> Stamp {
        let now_ms = now_ms.min(LAST_MS);
        let Stamp { ms, counter, device } = self.last;
        self.last = if now_ms > ms {
            Stamp { ms: now_ms, counter: 0, device }
        } else if counter < u32::MAX {
            Stamp { ms, counter: counter + 1, device }
        } else {
            Stamp { ms: ms + 1, counter: 0, device }
        };
        self.last
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
        clock.observe(Stamp { ms: 50, counter: u32::MAX, device: Uuid::max() });
        assert_eq!(clock.next(3), Stamp { ms: 51, counter: 0, device: Uuid::nil() });
    }
}
