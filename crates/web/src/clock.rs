//! The clock of an end: time to step up, time to shoot, and the signals between, as the rule book has them.

use goldward_session::rounds::{LAST_SECONDS, STEP_UP_SECONDS};

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

/// Sounds at the beginning of a phase: two to step up, one to shoot, three when the time is over (rule book, from memory).
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
        let told: Vec<u32> = [Phase::StepUp, Phase::Shoot, Phase::Last, Phase::Over].map(sounds).to_vec();
        assert_eq!(told, [2, 1, 0, 3]);
    }
}
