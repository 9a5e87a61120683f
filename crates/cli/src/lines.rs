//! Lines of an input of any length, read in bounded memory and without waiting for more than there is.

use std::io::{BufRead, BufReader, Read};

/// Longest line taken, in bytes.
pub const LONGEST_LINE: usize = 4 << 20;
/// Most lines that are taken at once.
const LINES_A_CHUNK: usize = 64;
/// A chunk ends when it holds this many bytes.
const BYTES_A_CHUNK: usize = 256 << 10;

/// One line, without its line end.
#[derive(Debug, Clone, Copy)]
pub struct Line<'a> {
    /// Which, from 1.
    pub number: u64,
    /// Its bytes, at most [`LONGEST_LINE`] of them.
    pub bytes: &'a [u8],
    /// Whether there were more.
    pub too_long: bool,
}

#[derive(Debug, Clone, Copy)]
struct End {
    at: usize,
    too_long: bool,
}

/// Some lines of the input, without their line ends.
#[derive(Debug, Default)]
pub struct Chunk {
    /// Which chunk, from 0.
    pub index: u64,
    first_line: u64,
    bytes: Vec<u8>,
    ends: Vec<End>,
}

impl Chunk {
    /// The lines.
    pub fn lines(&self) -> impl ExactSizeIterator<Item = Line<'_>> {
        self.ends.iter().enumerate().map(|(i, end)| {
            let start = if i == 0 { 0 } else { self.ends[i - 1].at };
            let bytes = &self.bytes[start..end.at];
            Line { number: self.first_line + i as u64, bytes, too_long: end.too_long }
        })
    }

    /// How many bytes they have together.
    #[must_use]
    pub fn len_bytes(&self) -> usize {
        self.bytes.len()
    }
}

/// The input, cut into chunks of lines.
pub struct Source<'a> {
    reader: BufReader<&'a mut (dyn Read + Send)>,
    chunks: u64,
    lines: u64,
}

impl std::fmt::Debug for Source<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Source").field("lines", &self.lines).finish_non_exhaustive()
    }
}

impl<'a> Source<'a> {
    /// The lines of `input`.
    pub fn new(input: &'a mut (dyn Read + Send)) -> Self {
        Self { reader: BufReader::with_capacity(64 << 10, input), chunks: 0, lines: 0 }
    }

    /// Fills `chunk` with at least one line; false at the end. It waits for one line only: what else has arrived already
    /// is taken too, so that a slow producer gets its answers at once.
    ///
    /// # Errors
    /// Those of the input.
    pub fn fill(&mut self, chunk: &mut Chunk) -> std::io::Result<bool> {
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
