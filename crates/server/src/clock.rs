//! The time of day: a server may look at it.

use std::time::{Instant, SystemTime, UNIX_EPOCH};

/// Milliseconds since 1970 UTC.
#[must_use]
#[allow(clippy::disallowed_methods, reason = "a server lives in time; the journal gets it passed in")]
pub fn now_ms() -> u64 {
    SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |d| u64::try_from(d.as_millis()).unwrap_or(u64::MAX))
}

/// A point from which to measure how long something takes.
#[must_use]
#[allow(clippy::disallowed_methods, reason = "how long a request took is what is measured")]
pub(crate) fn start() -> Instant {
    Instant::now()
}
