//! What a command may touch of the world outside: streams, and what is known of the terminal.

use std::io::{Read, Write};

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
    /// Whether standard error is a terminal, so that progress may be shown on it.
    pub err_is_terminal: bool,
    /// How many processor cores may be used.
    pub cores: usize,
    /// The token of this device at a server, when the environment has one.
    pub token: Option<String>,
}

impl std::fmt::Debug for Terminal<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Terminal").field("colour", &self.colour).field("width", &self.width).finish_non_exhaustive()
    }
}
