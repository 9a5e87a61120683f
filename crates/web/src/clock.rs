//! The clock of an end: time to step up, time to shoot, and the signals between, as the rule book has them.

use goldward_journal::Uuid;
use goldward_session::rounds::{LAST_SECONDS, STEP_UP_SECONDS};

/// Seconds after the end of an end for which its clock is still of interest away from the line.
const LINGERS_SECONDS: u32 = 120;

/// A clock that runs. It is kept as a time of day, so that it shows the right time wherever the archer has been meanwhile.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Running {
    /// The signal to step up, in milliseconds since 1970 UTC.
    pub since_ms: u64,
    /// Seconds that the end takes.
    pub end_s: u32,
    /// Who shoots.
    pub archer: Uuid,
    /// Which session.
    pub session: Uuid,
}

impl Running {
    /// As a text to be kept.
    #[must_use]
    pub fn text(&self) -> String {
        format!("{} {} {} {}", self.since_ms, self.end_s, self.archer, self.session)
    }

    /// From the text of [`Running::text`].
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let mut parts = text.split(' ');
        let (since_ms, end_s) = (parts.next()?.parse().ok()?, parts.next()?.parse().ok()?);
        Some(Self { since_ms, end_s, archer: parts.next()?.parse().ok()?, session: parts.next()?.parse().ok()? })
    }

    /// What it shows at `now_ms`.
    #[must_use]
    pub fn at(&self, now_ms: u64) -> Now {
        at((now_ms as f64 - self.since_ms as f64) / 1000.0, self.end_s)
    }

    /// Whether nobody waits for it any more at `now_ms`: its time has been over for a while, or it has not begun yet, since the
    /// device's clock was set back.
    #[must_use]
    pub fn is_stale(&self, now_ms: u64) -> bool {
        let until = self.since_ms + 1000 * u64::from(STEP_UP_SECONDS + self.end_s + LINGERS_SECONDS);
        now_ms > until || now_ms + 1000 < self.since_ms
    }
}

/// Where an end is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Phase {
    /// Stepping up to the line: red.
    StepUp,
    /// Shooting: green.
    Shoot,
    /// Shooting, the last seconds: yellow.
    Last,
    /// The time is over: red.
    Over,
}

/// The clock at a moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Now {
    /// Where the end is.
    pub phase: Phase,
    /// Seconds that are left of stepping up or of the end, begun ones counted.
    pub left: u32,
}

/// The clock `elapsed_s` seconds after the signal to step up, for an end of `end_s` seconds.
#[must_use]
pub fn at(elapsed_s: f64, end_s: u32) -> Now {
    let left = |of: u32| (f64::from(of) - elapsed_s.max(0.0)).ceil().max(0.0) as u32;
    let step = left(STEP_UP_SECONDS);
    if step > 0 {
        return Now { phase: Phase::StepUp, left: step };
    }
    let left = left(STEP_UP_SECONDS + end_s);
    let phase = match left {
        0 => Phase::Over,
        n if n <= LAST_SECONDS && end_s > LAST_SECONDS => Phase::Last,
        _ => Phase::Shoot,
    };
    Now { phase, left }
}

/// Sounds at the beginning of a phase: two to step up, one to shoot, three when the time is over (rule book).
#[must_use]
pub fn sounds(phase: Phase) -> u32 {
    match phase {
        Phase::StepUp => 2,
        Phase::Shoot => 1,
        Phase::Last => 0,
        Phase::Over => 3,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ten_seconds_to_step_up_and_then_the_time_of_the_end() {
        for (elapsed, phase, left) in [
            (-1.0, Phase::StepUp, 10),
            (0.0, Phase::StepUp, 10),
            (9.5, Phase::StepUp, 1),
            (10.0, Phase::Shoot, 90),
            (69.5, Phase::Shoot, 31),
            (70.0, Phase::Last, 30),
            (99.9, Phase::Last, 1),
            (100.0, Phase::Over, 0),
            (1e9, Phase::Over, 0),
        ] {
            assert_eq!(at(elapsed, 90), Now { phase, left }, "{elapsed}");
        }
        // An end that is no longer than the last seconds is green all the time.
        assert_eq!(at(10.0, 30).phase, Phase::Shoot);
        let running = Running { since_ms: 1_000_000, end_s: 90, archer: Uuid::nil(), session: Uuid::nil() };
        assert_eq!(running.at(1_070_000), Now { phase: Phase::Last, left: 30 });
        assert_eq!(Running::read(&running.text()), Some(running));
        assert!(["", "1 2", "x 90 a b", "-1 90 0 0"].iter().all(|t| Running::read(t).is_none()));
        let stale = [990_000, 999_500, 1_000_000, 1_220_000, 1_221_000].map(|now| running.is_stale(now));
        assert_eq!(stale, [true, false, false, false, true]);
        let told: Vec<u32> = [Phase::StepUp, Phase::Shoot, Phase::Last, Phase::Over].map(sounds).to_vec();
        assert_eq!(told, [2, 1, 0, 3]);
    }
}
