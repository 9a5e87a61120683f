//! Rounds played on all cores, with sums in a fixed order: the same seed gives the same numbers on any number of threads.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

use goldward_core::pace::rehearsal::{Rehearsal, Rule};
use goldward_core::score::Scorer;
use goldward_session::pace::{FirstTouch, Played, Rehearsed, parts, rounds_of};

use crate::busy::Busy;

/// Plays `rounds` rounds under each of `rules`.
pub(super) fn rounds(
    rehearsed: &Rehearsed,
    scorer: &Scorer,
    rules: &[Rule],
    rounds: u64,
    threads: usize,
    progress: &Busy,
) -> Played {
    let rehearsal = Rehearsal::new(&rehearsed.scene, scorer, rehearsed.seed);
    let parts = parts(rounds);
    let tallies = in_order(parts.len(), threads, |i| {
        let tally = rehearsal.play(rules, parts[i].clone());
        progress.add(parts[i].end - parts[i].start);
        tally
    });
    Played::of(rounds, rehearsal.oracle_points(), tallies)
}

/// Plays the table of first touches when `rounds` are played in all.
pub(super) fn first_touches(
    rehearsed: &Rehearsed,
    scorer: &Scorer,
    rounds: u64,
    threads: usize,
    progress: &Busy,
) -> Vec<FirstTouch> {
    let (cells, rounds) = (rehearsed.first_touches(), rounds_of(rounds));
    in_order(cells.len(), threads, |i| {
        let rehearsal = Rehearsal::new(&cells[i].1, scorer, rehearsed.seed);
        let outcomes = rehearsal.play(&[Rule::GoldwardCalm], 0..rounds).outcomes(0.0);
        progress.add(rounds);
        FirstTouch::of(rehearsed.distance, &cells[i], rounds, outcomes.first())
    })
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
    fn results_keep_their_order() {
        assert_eq!(in_order(50, 4, |i| i * i), (0..50).map(|i| i * i).collect::<Vec<_>>());
        assert!(in_order(0, 4, |i| i).is_empty());
    }
}
