//! JSON Lines: a first line that names the format, then one record a line. Described in `docs/formats.md`.

use goldward_core::face::UnknownFace;
use goldward_core::units::UnitError;
use serde::{Deserialize, Serialize};

use crate::log::Log;
use crate::record::{LATEST_SCHEMA, Record, RecordError, SCHEMA};

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
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("line {line}: {what}")]
pub struct LineError {
    /// Which, from 1.
    pub line: usize,
    /// What is wrong and what to do.
    pub what: BadLine,
}

/// What is wrong with a line of a log, as JSON or as a table, and what to do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BadLine {
    /// It is longer than any record.
    #[error("{bytes} bytes are more than a record has: at most {LONGEST_LINE}")]
    TooLong {
        /// Its length.
        bytes: usize,
    },
    /// The first line names another format.
    #[error("the format is `{}`: write goldward-log", .0.escape_debug())]
    Format(String),
    /// It cannot be read as a record; what the parser says of it.
    #[error("not a record: {0}")]
    NoRecord(String),
    /// It is a record that is refused.
    #[error(transparent)]
    Refused(#[from] RecordError),
    /// The table has a column that is not known.
    #[error("unknown column `{}`: see docs/formats.md", .0.escape_debug())]
    UnknownColumn(String),
    /// The table lacks a column.
    #[error("the column {0} is missing: it is needed")]
    NoColumn(&'static str),
    /// It cannot be read as a row; what the parser says of it.
    #[error("not a row of this table: {0}")]
    NoRow(String),
    /// A column that holds JSON holds none; what the parser says of it.
    #[error("column {column}: not an object of JSON: {said}")]
    NoJson {
        /// The column.
        column: &'static str,
        /// What the parser says.
        said: String,
    },
    /// A cell is not what its column holds.
    #[error("column {column}: `{}` cannot be read: write {}", .cell.escape_debug(), .wanted.text())]
    Cell {
        /// The column.
        column: String,
        /// What stands there.
        cell: String,
        /// What should.
        wanted: Wanted,
    },
    /// A distance that is none.
    #[error(transparent)]
    Distance(#[from] UnitError),
    /// A face that is none.
    #[error(transparent)]
    Face(#[from] UnknownFace),
    /// More points than the face gives.
    #[error("{points} points from {shots} arrows are more than the {face} face gives")]
    Points {
        /// The points.
        points: u32,
        /// The arrows.
        shots: u32,
        /// The face.
        face: &'static str,
    },
}

/// What a cell of the table should hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wanted {
    /// True or false.
    Bool,
    /// A whole number.
    Whole,
    /// A number.
    Number,
    /// A day.
    Day,
}

impl Wanted {
    fn text(self) -> &'static str {
        match self {
            Self::Bool => "true or false",
            Self::Whole => "a whole number",
            Self::Number => "a number with a full stop",
            Self::Day => "a day such as 2025-06-01",
        }
    }
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
        errors.push(LineError { line: 1, what: BadLine::Format(header.format) });
    }
    true
}

/// Reads one record.
///
/// # Errors
/// [`BadLine`].
pub fn read_line(line: &str) -> Result<Record, BadLine> {
    if line.len() > LONGEST_LINE {
        return Err(BadLine::TooLong { bytes: line.len() });
    }
    let record: Record = serde_json::from_str(line).map_err(|e| BadLine::NoRecord(e.to_string()))?;
    record.validate()?;
    Ok(record)
}
