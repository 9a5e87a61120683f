//! Many readings: JSON Lines in, JSON Lines out, in order, on all cores, in bounded memory.
//!
//! Every worker takes turns reading a few lines, answers them, and hands the text to a shelf that writes in order. A
//! worker that is far ahead of the writing waits, so that memory stays bounded however long the input is.

use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Read, Write};
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};

use serde::Deserialize;

use crate::failure::{EXIT_DATA, EXIT_FINE, EXIT_INTERNAL, Failure, Problem};
use crate::progress::Progress;
use crate::solve::{self, Scorers};
use crate::terminal::Terminal;
use crate::wire::{self, ErrorOut, ReadingOut, SCHEMA, SettingsIn, ShotsIn};

/// Longest line taken, in bytes.
pub const LONGEST_LINE: usize = 4 << 20;
/// Most lines that a worker takes at once.
const LINES_A_CHUNK: usize = 64;
/// A chunk ends when it holds this many bytes.
const BYTES_A_CHUNK: usize = 256 << 10;

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
    let progress = Progress::new(terminal.err_is_terminal);
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

fn work(source: &Mutex<Source<'_>>, shelf: &Shelf<'_>, scorers: &Scorers, progress: &Progress) {
    let mut chunk = Chunk::default();
    loop {
        match lock(source).fill(&mut chunk) {
            Ok(true) => {}
            Ok(false) => return,
            Err(error) => {
                return shelf
                    .fail(Failure::data("standard input could not be read", Problem::new("", error.to_string(), "")));
            }
        }
        let mut text = Vec::with_capacity(chunk.bytes.len() * 3);
        let mut worst = EXIT_FINE;
        let mut start = 0;
        for (i, end) in chunk.ends.iter().enumerate() {
            let line = chunk.first_line + i as u64;
            let code = answer_line(&chunk.bytes[start..end.at], end.too_long, line, scorers, &mut text);
            worst = worst.max(code);
            start = end.at;
        }
        let lines = chunk.ends.len() as u64;
        if !shelf.put(chunk.index, text, worst) {
            return;
        }
        progress.add(lines);
    }
}

/// Answers one line into `out`, whatever it holds; returns the exit code it calls for.
pub fn answer_line(line: &[u8], too_long: bool, number: u64, scorers: &Scorers, out: &mut Vec<u8>) -> u8 {
    let before = out.len();
    let answered = if too_long {
        let message = format!("the line is longer than {LONGEST_LINE} bytes");
        Ok(Err(Problem::new("", message, "write one object a line, with at most 144 shots")))
    } else {
        std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| try_line(line, scorers, out)))
    };
    let (problem, code) = match answered {
        Ok(Ok(())) => return EXIT_FINE,
        Ok(Err(problem)) => (problem.one_line(), EXIT_DATA),
        Err(_) => {
            ("internal error: the program failed on this line; please report it with the line".to_owned(), EXIT_INTERNAL)
        }
    };
    out.truncate(before);
    // Writing a struct of plain text into memory cannot fail.
    let _ = serde_json::to_writer(&mut *out, &ErrorOut { schema: SCHEMA, line: number, error: &problem });
    out.push(b'\n');
    code
}

fn try_line(line: &[u8], scorers: &Scorers, out: &mut Vec<u8>) -> Result<(), Problem> {
    let text = std::str::from_utf8(line).map_err(|e| {
        Problem::new("", format!("byte {} is not UTF-8 text", e.valid_up_to() + 1), "write the line as UTF-8")
    })?;
    if text.trim().is_empty() {
        return Err(Problem::new("", "the line is empty", "write one JSON object a line"));
    }
    let settings = parse::<SettingsIn>(text)?.settings()?;
    let shots = parse::<ShotsIn>(text)?.shots(&settings)?;
    let scorer = scorers.get(settings.face, settings.shaft);
    let answer = solve::answer(&settings, &shots, &scorer).map_err(|e| Problem::from_core("shots", &e))?;
    let reading = ReadingOut::new(&answer, false);
    assert!(reading.is_finite(), "an answer that is not a number");
    serde_json::to_writer(&mut *out, &reading).map_err(|e| Problem::new("", e.to_string(), ""))?;
    out.push(b'\n');
    Ok(())
}

/// Parses one JSON object; on failure a second, slower pass finds out which key is at fault.
fn parse<'de, T: Deserialize<'de>>(text: &'de str) -> Result<T, Problem> {
    if !text.trim_start().starts_with('{') {
        return Err(Problem::new("", "the line is not a JSON object", "write one object a line, in braces"));
    }
    serde_json::from_str(text).map_err(|error| {
        let mut reader = serde_json::Deserializer::from_str(text);
        let place = match serde_path_to_error::deserialize::<_, T>(&mut reader) {
            Err(e) if e.inner().is_data() || e.inner().to_string().starts_with("number out of range") => {
                e.path().to_string()
            }
            _ => String::new(),
        };
        let full = error.to_string();
        let message = full.split(" at line ").next().unwrap_or(&full);
        let message =
            message.replace("expected f64", "expected a number").replace("expected u32", "expected a whole number");
        if place.is_empty() || place == "." {
            let message = format!("not valid JSON at column {}: {message}", error.column());
            return Problem::new("", message, "write one whole object a line");
        }
        let key = place.rsplit('.').next().unwrap_or(&place);
        let key = key.split('[').next().unwrap_or(key).to_owned();
        Problem::new(place, message, wire::remedy(&key))
    })
}

#[derive(Debug, Clone, Copy)]
struct End {
    at: usize,
    too_long: bool,
}

/// Some lines of the input, without their line ends.
#[derive(Debug, Default)]
struct Chunk {
    index: u64,
    first_line: u64,
    bytes: Vec<u8>,
    ends: Vec<End>,
}

/// The input, cut into chunks of lines.
struct Source<'a> {
    reader: BufReader<&'a mut (dyn Read + Send)>,
    chunks: u64,
    lines: u64,
}

impl<'a> Source<'a> {
    fn new(input: &'a mut (dyn Read + Send)) -> Self {
        Self { reader: BufReader::with_capacity(64 << 10, input), chunks: 0, lines: 0 }
    }

    /// Fills `chunk` with at least one line; false at the end. It waits for one line only: what else has arrived already
    /// is taken too, so that a slow producer gets its answers at once.
    fn fill(&mut self, chunk: &mut Chunk) -> std::io::Result<bool> {
        chunk.bytes.clear();
        chunk.ends.clear();
        chunk.first_line = self.lines + 1;
        while chunk.ends.len() < LINES_A_CHUNK && chunk.bytes.len() < BYTES_A_CHUNK {
            if !chunk.ends.is_empty() && !self.reader.buffer().contains(&b'\n') {
                break;
            }
            if !self.line(chunk)? {
                break;
            }
        }
        if chunk.ends.is_empty() {
            return Ok(false);
        }
        chunk.index = self.chunks;
        self.chunks += 1;
        Ok(true)
    }

    /// Appends one line, at most [`LONGEST_LINE`] bytes of it; false at the end of the input.
    fn line(&mut self, chunk: &mut Chunk) -> std::io::Result<bool> {
        let start = chunk.bytes.len();
        let (mut any, mut too_long) = (false, false);
        loop {
            let buffer = match self.reader.fill_buf() {
                Ok(buffer) => buffer,
                Err(e) if e.kind() == std::io::ErrorKind::Interrupted => continue,
                Err(e) => return Err(e),
            };
            if buffer.is_empty() {
                break;
            }
            any = true;
            let newline = buffer.iter().position(|b| *b == b'\n');
            let part = &buffer[..newline.unwrap_or(buffer.len())];
            let room = LONGEST_LINE - (chunk.bytes.len() - start);
            too_long |= part.len() > room;
            chunk.bytes.extend_from_slice(&part[..part.len().min(room)]);
            let used = newline.map_or(buffer.len(), |n| n + 1);
            self.reader.consume(used);
            if newline.is_some() {
                break;
            }
        }
        if any {
            self.lines += 1;
            if self.lines == 1 && chunk.bytes.starts_with(b"\xEF\xBB\xBF") {
                chunk.bytes.drain(..3);
            }
            chunk.ends.push(End { at: chunk.bytes.len(), too_long });
        }
        Ok(any)
    }
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
        if wrote && state.failure.is_none() {
            if let Err(error) = state.out.flush() {
                state.failure = Some(Failure::from_write(&error));
            }
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
