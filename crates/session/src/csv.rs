//! The CSV of a session: shots and touches, row by row, as it is read and written. The format is described in
//! `docs/formats.md`.

use goldward_core::plane::Point;
use goldward_core::shot::{self, Felt, Shot};
use goldward_core::units::{Length, parse_decimal};

use crate::json::parse_call;
pub use crate::keys::COLUMNS;
use crate::keys::Key;
use crate::problem::{Place, Problem, What, nearest, short};
use crate::session::{Builder, Listed, Oddity, Session};
use crate::settings::Settings;

/// Reads the bytes of a CSV file.
///
/// # Errors
/// Every [`Problem`] found, each with its line, its column and the remedy.
pub fn read(bytes: &[u8], settings: &Settings) -> Result<Session, Vec<Problem>> {
    let text = decode(bytes).map_err(|p| vec![p])?;
    let layout = Layout::find(text)?;
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(layout.separator)
        .trim(csv::Trim::All)
        .from_reader(&text.as_bytes()[layout.body..]);
    let mut lines = Lines::new(text, layout.body);
    let mut record = csv::StringRecord::new();
    let mut header: Option<Header> = None;
    let mut session = Builder::new(settings);
    let mut problems = Vec::new();
    let mut last_end = None;
    loop {
        let at = reader.position().byte() as usize;
        match reader.read_record(&mut record) {
            Ok(true) => {}
            Ok(false) => break,
            Err(error) => {
                problems.push(Problem::new(Place::Line(lines.at(at)), What::Reader(error.to_string())));
                break;
            }
        }
        let line = lines.at(at);
        if record.iter().all(str::is_empty) {
            continue;
        }
        match &header {
            None => header = Some(Header::new(&record, line)?),
            Some(header) => match header.row(&record, line, layout.separator, settings) {
                Ok(row) => {
                    note_end(&row, line, &mut last_end, &mut session);
                    if let Some(shot) = row.shot {
                        session.shot(Listed { shot, end: row.end, arrow: row.arrow, line });
                    }
                    if let Some(pin_mm) = row.touch {
                        session.touch(pin_mm);
                    }
                }
                Err(more) => problems.extend(more),
            },
        }
    }
    let session = session.done();
    if header.is_none() {
        return Err(vec![Problem::new("", What::EmptyFile)]);
    }
    if problems.is_empty() && session.shots.is_empty() {
        problems.push(Problem::new(Place::Line(lines.total), What::NoShots));
    }
    if problems.is_empty() { Ok(session) } else { Err(problems) }
}

fn decode(bytes: &[u8]) -> Result<&str, Problem> {
    if bytes.starts_with(b"\xFF\xFE") || bytes.starts_with(b"\xFE\xFF") {
        return Err(Problem::new(Place::Line(1), What::Utf16));
    }
    let text = std::str::from_utf8(bytes).map_err(|e| {
        let line = 1 + bytes[..e.valid_up_to()].iter().filter(|b| **b == b'\n').count();
        Problem::new(Place::Line(line), What::NotUtf8)
    })?;
    Ok(text.strip_prefix('\u{feff}').unwrap_or(text))
}

/// Where the table starts and what separates its cells.
struct Layout {
    separator: u8,
    body: usize,
}

impl Layout {
    /// From the first line that holds anything: the header, or a line such as `sep=;` that spreadsheets write above it.
    fn find(text: &str) -> Result<Self, Vec<Problem>> {
        let mut body = 0;
        for line in text.split_inclusive(['\n', '\r']) {
            let content = line.trim();
            if let Some(named) = content.strip_prefix("sep=") {
                let &[separator @ (b',' | b';')] = named.as_bytes() else {
                    return Err(vec![Problem::new(Place::Line(1), What::UnknownSeparator(short(named)))]);
                };
                return Ok(Self { separator, body: body + line.len() });
            }
            if !content.is_empty() {
                let separator = [b'\t', b';'].into_iter().find(|s| content.as_bytes().contains(s)).unwrap_or(b',');
                return Ok(Self { separator, body });
            }
            body += line.len();
        }
        Ok(Self { separator: b',', body })
    }
}

/// Line numbers of byte offsets that only grow.
struct Lines<'a> {
    bytes: &'a [u8],
    base: usize,
    at: usize,
    total: usize,
}

impl<'a> Lines<'a> {
    fn new(text: &'a str, base: usize) -> Self {
        Self { bytes: text.as_bytes(), base, at: 0, total: 1 }
    }

    /// The line of the first byte at or after offset `at` of the body that is no line end.
    fn at(&mut self, at: usize) -> usize {
        let mut to = (self.base + at).min(self.bytes.len());
        while to < self.bytes.len() && matches!(self.bytes[to], b'\r' | b'\n') {
            to += 1;
        }
        while self.at < to {
            let b = self.bytes[self.at];
            if b == b'\n' || b == b'\r' && self.bytes.get(self.at + 1) != Some(&b'\n') {
                self.total += 1;
            }
            self.at += 1;
        }
        self.total
    }
}

/// Which column is where.
struct Header {
    names: Vec<String>,
    places: [Option<usize>; COLUMNS.len()],
}

/// One row, checked.
struct Row {
    end: String,
    arrow: String,
    shot: Option<Shot>,
    touch: Option<Point>,
}

impl Header {
    fn new(record: &csv::StringRecord, line: usize) -> Result<Self, Vec<Problem>> {
        let names: Vec<String> = record.iter().map(str::to_lowercase).collect();
        if names.iter().filter(|n| !n.is_empty()).all(|n| parse_decimal(n).is_some()) {
            return Err(vec![Problem::new(Place::Line(line), What::NoHeader)]);
        }
        let mut problems = Vec::new();
        let mut places = [None; COLUMNS.len()];
        for (i, name) in names.iter().enumerate() {
            let place = Place::Column { line, number: i + 1 };
            match COLUMNS.iter().position(|c| c == name) {
                Some(c) if places[c].is_some() => problems.push(Problem::new(place, What::TwoColumns(name.clone()))),
                Some(c) => places[c] = Some(i),
                None if name.is_empty() => {}
                None => {
                    let what = What::UnknownColumn { name: short(name), near: nearest(name, COLUMNS) };
                    problems.push(Problem::new(place, what));
                }
            }
        }
        let has = |name: &str| COLUMNS.iter().position(|c| *c == name).is_some_and(|c| places[c].is_some());
        for (one, lacks) in [("x_mm", "y_mm"), ("y_mm", "x_mm")] {
            if has(one) && !has(lacks) {
                problems.push(Problem::new(Place::Line(line), What::HalfAPlace { has: one, lacks }));
            }
        }
        if problems.is_empty() && !has("x_mm") && !has("call") {
            problems.push(Problem::new(Place::Line(line), What::NoPlaceColumn));
        }
        if problems.is_empty() { Ok(Self { names, places }) } else { Err(problems) }
    }

    fn row(
        &self,
        record: &csv::StringRecord,
        line: usize,
        separator: u8,
        settings: &Settings,
    ) -> Result<Row, Vec<Problem>> {
        if record.len() != self.names.len() {
            return Err(vec![self.ragged(record, line, separator)]);
        }
        let cells = Cells { record, places: &self.places, line };
        let mut problems = Vec::new();
        if let Some(i) = record.iter().position(|cell| cell.contains(['\n', '\r'])) {
            return Err(vec![Problem::new(Place::Column { line, number: i + 1 }, What::OpenCell)]);
        }
        if let Some(i) = (0..record.len()).find(|i| self.names[*i].is_empty() && !record[*i].is_empty()) {
            let what = What::NamelessCell(short(&record[i]));
            problems.push(Problem::new(Place::Column { line, number: i + 1 }, what));
        }
        let mut keep = |result: Result<Option<f64>, Problem>| result.map_err(|p| problems.push(p)).ok().flatten();
        let x = keep(cells.length(Key::X));
        let y = keep(cells.length(Key::Y));
        let right = keep(cells.length(Key::TouchRight));
        let up = keep(cells.length(Key::TouchUp));
        let end = cells.get("end");
        if !end.is_empty() && end.parse::<u32>().is_err() {
            problems.push(cells.problem("end", What::NotWhole(short(end))));
        }
        if cells.get("arrow").chars().count() > 24 {
            problems.push(cells.problem("arrow", What::LongArrow));
        }
        let felt = cells.get("felt").parse::<Felt>().unwrap_or_else(|e| {
            problems.push(cells.problem("felt", e));
            Felt::Unmarked
        });
        let called = cells.get("call");
        let call = match (called.is_empty(), parse_call(called, settings)) {
            (true, _) => None,
            (false, Ok(call)) => Some(call),
            (false, Err(e)) => {
                problems.push(cells.problem("call", e));
                None
            }
        };
        let (has_x, has_y) = (!cells.get("x_mm").is_empty(), !cells.get("y_mm").is_empty());
        if has_x != has_y {
            let (there, missing) = if has_x { ("x_mm", "y_mm") } else { ("y_mm", "x_mm") };
            problems.push(cells.problem(missing, What::HalfEmpty(there)));
        }
        if has_x && has_y && !called.is_empty() {
            problems.push(cells.problem("call", What::Both));
        }
        let touched = !cells.get("touch_right_mm").is_empty() || !cells.get("touch_up_mm").is_empty();
        let placed = has_x || has_y || !called.is_empty();
        if !placed && !touched {
            let column = if self.places[2].is_some() { "x_mm" } else { "call" };
            problems.push(cells.problem(column, What::EmptyRow));
        }
        if !placed && touched && felt != Felt::Unmarked {
            problems.push(cells.problem("felt", What::FeltNothing));
        }
        if !problems.is_empty() {
            return Err(problems);
        }
        let shot = match (x, y, call) {
            (Some(x), Some(y), _) => Some(Shot::at(x, y).felt(felt)),
            (_, _, Some(call)) => Some(Shot::called(call).felt(felt)),
            _ => None,
        };
        let touch = touched.then(|| Point::new(right.unwrap_or(0.0), up.unwrap_or(0.0)));
        Ok(Row { end: end.to_owned(), arrow: cells.get("arrow").to_owned(), shot, touch })
    }

    fn ragged(&self, record: &csv::StringRecord, line: usize, separator: u8) -> Problem {
        let (cells, columns) = (record.len(), self.names.len());
        let what = What::Ragged { cells, columns, commas: cells > columns && separator == b',' };
        Problem::new(Place::Column { line, number: cells.min(columns + 1) }, what)
    }
}

/// The cells of one row, by the name of their column.
struct Cells<'a> {
    record: &'a csv::StringRecord,
    places: &'a [Option<usize>; COLUMNS.len()],
    line: usize,
}

impl<'a> Cells<'a> {
    /// The cell of column `name`; empty when there is no such column.
    fn get(&self, name: &str) -> &'a str {
        let place = COLUMNS.iter().position(|c| *c == name).and_then(|c| self.places[c]);
        place.and_then(|i| self.record.get(i)).unwrap_or("")
    }

    fn problem(&self, name: &str, what: impl Into<What>) -> Problem {
        Problem::new(Place::Cell { line: self.line, column: name.to_owned() }, what)
    }

    /// A number of millimetres within the range of `key`; `None` when the cell is empty.
    fn length(&self, key: Key) -> Result<Option<f64>, Problem> {
        let (name, most) = (key.json(), key.most());
        let cell = self.get(name);
        if cell.is_empty() {
            return Ok(None);
        }
        // Spreadsheets may write the typographic minus.
        let cell = cell.replace('\u{2212}', "-");
        let Some(value) = parse_decimal(&cell) else {
            let infinite = ["inf", "nan"].iter().any(|n| cell.to_lowercase().contains(n));
            let what = if infinite { What::NotFinite(short(&cell)) } else { What::NotANumber(short(&cell)) };
            return Err(self.problem(name, what).good(key.field().on_wire));
        };
        if value.abs() > most || Length::from_mm(value).is_err() {
            let what = What::TooFar { text: short(&cell), most, touch: name.starts_with("touch") };
            return Err(self.problem(name, what));
        }
        Ok(Some(value))
    }
}

fn note_end(row: &Row, line: usize, last: &mut Option<u32>, session: &mut Builder) {
    if let Ok(end) = row.end.parse::<u32>() {
        if last.is_some_and(|l| end < l) && session.is_plain() {
            session.odd(Oddity::EndGoesBack { line, end });
        }
        *last = Some(end);
    }
}

/// A session as CSV that [`read`] reads back to the same answer: shots where they landed, touches on rows of their own.
#[must_use]
pub fn write(session: &Session) -> String {
    let mut out = COLUMNS.join(",");
    out.push('\n');
    let mut touches = session.touches.iter().peekable();
    let touch = |out: &mut String, pin: Point| out.push_str(&format!(",,,,,,{},{}\n", pin.x_mm, pin.y_mm));
    let mut before = |out: &mut String, shots: usize| {
        while let Some(t) = touches.next_if(|t| t.after_shots <= shots) {
            touch(out, t.pin_mm);
        }
    };
    for (i, listed) in session.shots.iter().enumerate() {
        before(&mut out, i);
        let felt = match listed.shot.felt {
            Felt::Unmarked => "",
            Felt::Bad => "bad",
            Felt::Good => "good",
        };
        let (x, y, call) = match listed.shot.place {
            shot::Place::At(p) => (p.x_mm.to_string(), p.y_mm.to_string(), String::new()),
            shot::Place::Called(call) => (String::new(), String::new(), call.to_string()),
        };
        // A name may hold a comma, a quotation mark or what a spreadsheet takes for a formula.
        let arrow = if listed.arrow.contains([',', '"', ';', '\t']) {
            format!("\"{}\"", listed.arrow.replace('"', "\"\""))
        } else {
            listed.arrow.clone()
        };
        out.push_str(&format!("{},{arrow},{x},{y},{call},{felt},,\n", listed.end));
    }
    before(&mut out, usize::MAX);
    out
}
