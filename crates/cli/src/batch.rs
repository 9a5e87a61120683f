//! Many readings: JSON Lines in, JSON Lines out, in order, on all cores, in bounded memory.
//!
//! Every worker takes turns reading a few lines, answers them, and hands the text to a shelf that writes in order. A
//! worker that is far ahead of the writing waits, so that memory stays bounded however long the input is.

use std::collections::BTreeMap;
use std::io::Write;
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};

use crate::busy::Busy;
use crate::failure::{EXIT_DATA, EXIT_FINE, EXIT_INTERNAL, Failure, Fault, said};
use crate::lines::{Chunk, LONGEST_LINE, Source};
use crate::terminal::Terminal;
use crate::wire::{ErrorOut, ReadingOut, SCHEMA};
use goldward_core::group::MOST_SHOTS;
use goldward_report::words::Wrong;
use goldward_session::answer::{self, Scorers};
use goldward_session::json::{SettingsIn, ShotsIn, parse, text_of};
use goldward_session::problem::{Problem, What};

/// Reads all of the input and writes the answers; returns the exit code: 1 when a line was bad, 70 when the program failed
/// on one.
///
/// # Errors
/// [`Failure`] when the streams fail.
pub fn run(terminal: &mut Terminal<'_>, threads: usize) -> Result<u8, Failure> {
    // Some allocators hand freed memory back to the system at once until they have seen a large block freed; then they
    // keep it. Each reading needs the same again, so this spares about a tenth of the time. The block is never touched.
    drop(std::hint::black_box(Vec::<u8>::with_capacity(16 << 20)));
    let source = Mutex::new(Source::new(&mut *terminal.input));
    let progress = Busy::new(terminal.err_is_terminal);
    let shelf = Shelf::new(&mut *terminal.out, threads);
    let scorers = Scorers::default();
    std::thread::scope(|scope| {
        for _ in 0..threads.max(1) {
            scope.spawn(|| work(&source, &shelf, &scorers, &progress));
        }
    });
    progress.finish();
    shelf.outcome()
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    // Workers catch panics line by line, so a poisoned lock still guards whole data.
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

fn work(source: &Mutex<Source<'_>>, shelf: &Shelf<'_>, scorers: &Scorers, progress: &Busy) {
    let mut chunk = Chunk::default();
    loop {
        match lock(source).fill(&mut chunk) {
            Ok(true) => {}
            Ok(false) => return,
            Err(error) => {
                return shelf.fail(Failure::data(Wrong::InputNotRead, Fault::io(&error)));
            }
        }
        let mut text = Vec::with_capacity(chunk.len_bytes() * 3);
        let mut worst = EXIT_FINE;
        for line in chunk.lines() {
            worst = worst.max(answer_line(line.bytes, line.too_long, line.number, scorers, &mut text));
        }
        let lines = chunk.lines().len() as u64;
        if !shelf.put(chunk.index, text, worst) {
            return;
        }
        progress.add(lines);
    }
}

/// A line that is longer than any with a good object.
pub(crate) fn long_line() -> Fault {
    said(Wrong::LongLine, [LONGEST_LINE.into(), MOST_SHOTS.into()]).into()
}

/// Answers one line into `out`, whatever it holds; returns the exit code it calls for.
pub fn answer_line(line: &[u8], too_long: bool, number: u64, scorers: &Scorers, out: &mut Vec<u8>) -> u8 {
    let before = out.len();
    let answered = if too_long {
        Ok(Err(long_line()))
    } else {
        std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| try_line(line, scorers, out)))
    };
    let (problem, code) = match answered {
        Ok(Ok(())) => return EXIT_FINE,
        Ok(Err(fault)) => (fault.one_line(), EXIT_DATA),
        Err(_) => (
            "internal error: the program failed on this line; please report it with the line".to_owned(),
            EXIT_INTERNAL,
        ),
    };
    out.truncate(before);
    // Writing a struct of plain text into memory cannot fail.
    let _ = serde_json::to_writer(&mut *out, &ErrorOut { schema: SCHEMA, line: number, error: &problem });
    out.push(b'\n');
    code
}

fn try_line(line: &[u8], scorers: &Scorers, out: &mut Vec<u8>) -> Result<(), Fault> {
    let text = text_of(line)?;
    let settings = parse::<SettingsIn>(text)?.settings()?;
    let told = parse::<ShotsIn>(text)?;
    let (shots, moved) = (told.shots(&settings)?, told.moved()?);
    let scorer = scorers.get(settings.face, settings.shaft);
    let answer = answer::answer(&settings, &shots, moved, &scorer).map_err(Problem::from)?;
    let reading = ReadingOut::new(&answer, false);
    assert!(reading.is_finite(), "an answer that is not a number");
    serde_json::to_writer(&mut *out, &reading).map_err(|e| Fault::of("", What::Reader(e.to_string())))?;
    out.push(b'\n');
    Ok(())
}

/// Finished chunks, written in order.
struct Shelf<'a> {
    state: Mutex<ShelfState<'a>>,
    moved: Condvar,
    most_waiting: usize,
}

struct ShelfState<'a> {
    out: &'a mut (dyn Write + Send),
    next: u64,
    waiting: BTreeMap<u64, Vec<u8>>,
    worst: u8,
    failure: Option<Failure>,
}

impl<'a> Shelf<'a> {
    fn new(out: &'a mut (dyn Write + Send), threads: usize) -> Self {
        let state = ShelfState { out, next: 0, waiting: BTreeMap::new(), worst: EXIT_FINE, failure: None };
        Self { state: Mutex::new(state), moved: Condvar::new(), most_waiting: 4 * threads.max(1) }
    }

    /// Takes a finished chunk; false when the work should stop.
    fn put(&self, index: u64, text: Vec<u8>, code: u8) -> bool {
        let mut state = lock(&self.state);
        // The chunk whose turn it is never waits, so the shelf always empties.
        while state.failure.is_none() && index != state.next && state.waiting.len() >= self.most_waiting {
            state = self.moved.wait(state).unwrap_or_else(PoisonError::into_inner);
        }
        state.worst = state.worst.max(code);
        state.waiting.insert(index, text);
        let mut wrote = false;
        while state.failure.is_none() {
            let next = state.next;
            let Some(text) = state.waiting.remove(&next) else { break };
            if let Err(error) = state.out.write_all(&text) {
                state.failure = Some(Failure::from_write(&error));
            }
            state.next += 1;
            wrote = true;
        }
        if wrote
            && state.failure.is_none()
            && let Err(error) = state.out.flush()
        {
            state.failure = Some(Failure::from_write(&error));
        }
        self.moved.notify_all();
        state.failure.is_none()
    }

    fn fail(&self, failure: Failure) {
        lock(&self.state).failure.get_or_insert(failure);
        self.moved.notify_all();
    }

    fn outcome(self) -> Result<u8, Failure> {
        let state = self.state.into_inner().unwrap_or_else(PoisonError::into_inner);
        match state.failure {
            Some(failure) => Err(failure),
            None => Ok(state.worst),
        }
    }
}
