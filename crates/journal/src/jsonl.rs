//! JSON Lines: a first line that names the format, then one record a line. Described in `docs/formats.md`.

use serde::{Deserialize, Serialize};

use crate::log::Log;
use crate::record::{LATEST_SCHEMA, Record, SCHEMA};

/// Longest line read, in bytes.
pub const LONGEST_LINE: usize = 65_536;

/// The first line of a file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Header {
    /// Always `goldward-log`.
    pub format: String,
    /// The highest schema of its records that the writer understands.
    pub schema: u32,
}

/// What is wrong with a line.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: {what}")]
pub struct LineError {
    /// Which, from 1.
    pub line: usize,
    /// What is wrong and what to do.
    pub what: String,
}

/// The log as JSON Lines, records in the order of their ids: equal logs give equal bytes.
#[must_use]
pub fn write(log: &Log) -> String {
    let mut out = String::with_capacity(64 + 300 * log.len());
    let highest = log.records().map(Record::schema).filter(|s| *s <= LATEST_SCHEMA).max().unwrap_or(SCHEMA);
    out.push_str(&format!("{{\"format\":\"goldward-log\",\"schema\":{highest}}}\n"));
    for record in log.sorted() {
        out.push_str(&record.to_json());
        out.push('\n');
    }
    out
}

/// Reads JSON Lines. Blank lines do no harm, and neither does a missing first line.
///
/// # Errors
/// Every bad line, at most 20 of them; nothing is taken in then. The last line of a file that was cut off is one of them.
pub fn read(text: &str) -> Result<Log, Vec<LineError>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut log = Log::new();
    let mut errors = Vec::new();
    for (i, line) in text.lines().enumerate() {
        if line.trim().is_empty() || (i == 0 && is_header(line, &mut errors)) {
            continue;
        }
        match read_line(line) {
            Ok(record) => {
                log.insert(record);
            }
            Err(what) => errors.push(LineError { line: i + 1, what }),
        }
        if errors.len() == 20 {
            break;
        }
    }
    if errors.is_empty() { Ok(log) } else { Err(errors) }
}

fn is_header(line: &str, errors: &mut Vec<LineError>) -> bool {
    let Ok(header) = serde_json::from_str::<Header>(line) else { return false };
    if header.format != "goldward-log" {
        let what = format!("the format is `{}`: write goldward-log", header.format.escape_debug());
        errors.push(LineError { line: 1, what });
    }
    true
}

/// Reads one record.
///
/// # Errors
/// What is wrong, in words.
pub fn read_line(line: &str) -> Result<Record, String> {
    if line.len() > LONGEST_LINE {
        return Err(format!("{} bytes are more than a record has: at most {LONGEST_LINE}", line.len()));
    }
    let record: Record = serde_json::from_str(line).map_err(|e| format!("not a record: {e}"))?;
    record.validate().map_err(|e| e.to_string())?;
    Ok(record)
}
