//! Rounds played on all cores, with sums in a fixed order: the same seed gives the same numbers on any number of threads.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

use goldward_core::pace::rehearsal::{Outcome, Rehearsal, Rule, Tally};
use goldward_core::score::Scorer;

use super::scene::Rehearsed;
use crate::busy::Busy;

/// Parts that rounds are split into, whatever the number of threads; their scatter gives the standard error of a
/// difference between two rules, which the same luck makes smaller than the errors of the two.
const PARTS: u64 = 64;

/// Rounds played under some rules.
#[derive(Debug)]
pub(super) struct Played {
    pub(super) rounds: u64,
    pub(super) oracle_points: f64,
    pub(super) outcomes: Vec<Outcome>,
    /// Mean points of each rule in each part.
    parts: Vec<Vec<f64>>,
}

/// Plays `rounds` rounds under each of `rules`.
pub(super) fn rounds(
    rehearsed: &Rehearsed,
    rules: &[Rule],
    rounds: u64,
    seed: u64,
    threads: usize,
    progress: &Busy,
) -> Played {
    let scorer = Scorer::new(rehearsed.settings.face, rehearsed.settings.shaft);
    let rehearsal = Rehearsal::new(&rehearsed.scene, &scorer, seed);
    let oracle_points = rehearsal.oracle_points();
    let tallies = in_order(ranges(rounds).len(), threads, |i| {
        let range = ranges(rounds)[i].clone();
        let played = range.end - range.start;
        let tally = rehearsal.play(rules, range);
        progress.add(played);
        tally
    });
    let parts =
        tallies.iter().map(|t| t.outcomes(oracle_points).iter().map(|outcome| outcome.points).collect()).collect();
    let whole: Option<Tally> = tallies.into_iter().reduce(|mut sum, tally| {
        sum.add(&tally);
        sum
    });
    let outcomes = whole.map_or_else(Vec::new, |tally| tally.outcomes(oracle_points));
    Played { rounds, oracle_points, outcomes, parts }
}

impl Played {
    /// What `rule` came to, if it was played.
    pub(super) fn of(&self, rule: Rule) -> Option<&Outcome> {
        self.outcomes.iter().find(|o| o.rule == rule)
    }

    /// The best rule of thumb that was played.
    pub(super) fn best_fixed(&self) -> Option<&Outcome> {
        self.outcomes.iter().filter(|o| o.rule.is_fixed()).max_by(|a, b| a.points.total_cmp(&b.points))
    }

    /// How many points more `a` brings than `b`, and the standard error of that.
    pub(super) fn difference(&self, a: Rule, b: Rule) -> Option<(f64, f64)> {
        let at = |rule| self.outcomes.iter().position(|o| o.rule == rule);
        let (a, b) = (at(a)?, at(b)?);
        let parts: Vec<f64> = self.parts.iter().map(|p| p[a] - p[b]).collect();
        Some((self.outcomes[a].points - self.outcomes[b].points, standard_error(&parts)))
    }
}

/// Standard error of the mean of `parts`.
pub(super) fn standard_error(parts: &[f64]) -> f64 {
    let n = parts.len() as f64;
    let mean = parts.iter().sum::<f64>() / n;
    let squares: f64 = parts.iter().map(|x| (x - mean).powi(2)).sum();
    if parts.len() < 2 { 0.0 } else { (squares / (n * (n - 1.0))).sqrt() }
}

/// The parts of `rounds` rounds.
pub(super) fn ranges(rounds: u64) -> Vec<std::ops::Range<u64>> {
    let parts = PARTS.min(rounds).max(1);
    (0..parts).map(|i| rounds * i / parts..rounds * (i + 1) / parts).collect()
}

/// Does the jobs numbered 0 to `jobs` on some threads; the results stand in the order of the jobs.
pub(super) fn in_order<T: Send>(jobs: usize, threads: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let next = AtomicUsize::new(0);
    let done: Mutex<Vec<Option<T>>> = Mutex::new((0..jobs).map(|_| None).collect());
    std::thread::scope(|scope| {
        for _ in 0..threads.clamp(1, jobs.max(1)) {
            scope.spawn(|| {
                loop {
                    let i = next.fetch_add(1, Ordering::Relaxed);
                    if i >= jobs {
                        return;
                    }
                    let result = work(i);
                    done.lock().unwrap_or_else(PoisonError::into_inner)[i] = Some(result);
                }
            });
        }
    });
    // A job that panicked has taken the scope down with it, so every result is there.
    done.into_inner().unwrap_or_else(PoisonError::into_inner).into_iter().flatten().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_hold_every_round_once() {
        for rounds in [1, 2, 63, 64, 65, 2000] {
            let all: Vec<u64> = ranges(rounds).into_iter().flatten().collect();
            assert_eq!(all, (0..rounds).collect::<Vec<u64>>());
        }
    }

    #[test]
    fn results_keep_their_order() {
        assert_eq!(in_order(50, 4, |i| i * i), (0..50).map(|i| i * i).collect::<Vec<_>>());
        assert!(in_order(0, 4, |i| i).is_empty());
    }
}
