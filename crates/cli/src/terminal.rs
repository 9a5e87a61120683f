//! What a command may touch of the world outside: streams, and what is known of the terminal.

use std::io::{Read, Write};

use goldward_report::words::Language;
use goldward_session::problem::is_wild;

/// The streams of a command and the few facts about them that its output depends on.
///
/// Only `main` looks at the environment and fills this in; tests fill it in with buffers and fixed values.
pub struct Terminal<'a> {
    /// Standard input.
    pub input: &'a mut (dyn Read + Send),
    /// Standard output.
    pub out: &'a mut (dyn Write + Send),
    /// Standard error.
    pub err: &'a mut (dyn Write + Send),
    /// Whether pages may use colour.
    pub colour: bool,
    /// Columns that a page may fill.
    pub width: usize,
    /// Whether standard output is a terminal, so that what a camera reads may be shown on it.
    pub out_is_terminal: bool,
    /// Whether standard error is a terminal, so that progress may be shown on it.
    pub err_is_terminal: bool,
    /// How many processor cores may be used.
    pub cores: usize,
    /// The token of this device at a server, when the environment has one.
    pub token: Option<String>,
    /// The language that the command asks for, else the environment, when it is one of ours.
    pub language: Option<Language>,
}

impl Terminal<'_> {
    /// The language in which everything is said.
    #[must_use]
    pub fn language(&self) -> Language {
        self.language.unwrap_or_default()
    }
}

/// Milliseconds since 1970 UTC.
#[must_use]
#[allow(
    clippy::disallowed_methods,
    reason = "what is imported is stamped with the time; the journal gets it passed in"
)]
pub fn now_ms() -> u64 {
    let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH);
    since.map_or(0, |d| u64::try_from(d.as_millis()).unwrap_or(u64::MAX))
}

impl std::fmt::Debug for Terminal<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Terminal").field("colour", &self.colour).field("width", &self.width).finish_non_exhaustive()
    }
}

/// A stream to a terminal through which nothing goes that a terminal would obey or that would make a text read otherwise than it is
/// written: control characters and those that turn the direction of writing, which names in a log or a file may hold. Colours of
/// our own go through.
#[derive(Debug)]
pub struct Tame<W> {
    inner: W,
    /// The beginning of a character or of a colour that is not complete yet.
    begun: Vec<u8>,
}

impl<W: Write> Tame<W> {
    /// Around a stream that leads to a terminal.
    pub fn new(inner: W) -> Self {
        Self { inner, begun: Vec::new() }
    }

    /// What may go out of `text`; the rest, which may still become a colour, is kept back.
    fn pass(text: &str, out: &mut String) -> usize {
        let mut at = 0;
        while let Some(c) = text[at..].chars().next() {
            if c == '\u{1b}' {
                match colour(&text.as_bytes()[at..]) {
                    Some(0) => return at,
                    Some(length) => {
                        out.push_str(&text[at..at + length]);
                        at += length;
                        continue;
                    }
                    None => out.push('\u{fffd}'),
                }
            } else if c == '\n' || c == '\t' || !is_wild(c) {
                out.push(c);
            } else {
                out.push('\u{fffd}');
            }
            at += c.len_utf8();
        }
        at
    }
}

/// How many bytes at the end begin a character that is not complete.
fn unfinished(bytes: &[u8]) -> usize {
    (1..=bytes.len().min(3))
        .find(|n| {
            let tail = &bytes[bytes.len() - n..];
            tail[0] >= 0xc0 && std::str::from_utf8(tail).is_err_and(|e| e.error_len().is_none())
        })
        .unwrap_or(0)
}

/// The length of the colour that `bytes` begin with, 0 when it is not complete, nothing when it is none.
fn colour(bytes: &[u8]) -> Option<usize> {
    const LONGEST: usize = 24;
    match bytes.get(1) {
        None => return Some(0),
        Some(b'[') => {}
        Some(_) => return None,
    }
    let end = bytes.iter().skip(2).position(|b| !b.is_ascii_digit() && *b != b';').map(|n| n + 2);
    match end {
        Some(end) if bytes[end] == b'm' && end < LONGEST => Some(end + 1),
        None if bytes.len() < LONGEST => Some(0),
        _ => None,
    }
}

impl<W: Write> Write for Tame<W> {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.begun.extend_from_slice(bytes);
        let all = std::mem::take(&mut self.begun);
        // The rest of a last character may still come.
        let complete = all.len() - unfinished(&all);
        let text = String::from_utf8_lossy(&all[..complete]);
        let mut out = String::with_capacity(text.len());
        let passed = Self::pass(&text, &mut out);
        self.begun = [&text.as_bytes()[passed..], &all[complete..]].concat();
        self.inner.write_all(out.as_bytes())?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        self.inner.flush()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn through(parts: &[&[u8]]) -> String {
        let mut tame = Tame::new(Vec::new());
        for part in parts {
            tame.write_all(part).unwrap();
        }
        String::from_utf8(tame.inner).unwrap()
    }

    #[test]
    fn colours_go_through_and_nothing_else_that_a_terminal_obeys() {
        let coloured = "\u{1b}[1;31mred\u{1b}[0m, Ilse 中 é\n\ttab";
        assert_eq!(through(&[coloured.as_bytes()]), coloured);
        // Byte by byte it is the same.
        let bytes: Vec<&[u8]> = coloured.as_bytes().chunks(1).collect();
        assert_eq!(through(&bytes), coloured);
        for wild in [
            "\u{1b}]0;title\u{7}",
            "\u{1b}[2J",
            "\u{1b}[6n",
            "\u{1b}c",
            "\r",
            "\u{8}",
            "\u{9b}31m",
            "\u{202e}drow",
            "\u{2066}x\u{2069}",
            "\u{200f}",
            "\0",
        ] {
            let out = through(&[b"a", wild.as_bytes(), b"z\n"]);
            assert!(out.starts_with("a\u{fffd}") && out.ends_with("z\n"), "{wild:?} gives {out:?}");
            assert!(!out.chars().any(|c| c != '\n' && is_wild(c)), "{wild:?} gives {out:?}");
        }
        assert_eq!(through(&[b"a\xffb\n"]), "a\u{fffd}b\n");
        assert_eq!(through(&[b"\x1b[", &[b'1'; 100], b"m\n"]).matches('\u{fffd}').count(), 1);
    }
}
