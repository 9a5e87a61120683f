//! CSV: one row a record, one column a field. Described in `docs/formats.md`.
//!
//! Bodies are flat, so every field has a column of its own and an empty cell is a field that is not told. A text that is
//! empty, or that a spreadsheet might take for a formula, has a backslash before it; the way back takes it off.

use goldward_core::units::parse_decimal;
use serde_json::{Map, Number, Value};

use crate::body::Body;
use crate::jsonl::{BadLine, LineError, Wanted};
use crate::log::Log;
use crate::record::Record;

/// How the cells of a column are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Type {
    Text,
    Number,
    Whole,
    Bool,
}

/// The columns before the fields.
const HEAD: [&str; 7] = ["schema", "id", "archer", "ms", "counter", "device", "kind"];

/// Fields that have a column only where a record has them, so that a table without them is what it always was.
const SELDOM: [(&str, Type); 14] = [
    ("spot", Type::Whole),
    ("arrows", Type::Whole),
    ("wind", Type::Text),
    ("wind_from", Type::Text),
    ("light", Type::Text),
    ("match_by", Type::Text),
    ("opponent_arrow", Type::Number),
    ("their_points", Type::Whole),
    ("habits", Type::Bool),
    ("nearer", Type::Bool),
    ("bow", Type::Text),
    ("level", Type::Text),
    ("counted", Type::Bool),
    ("more_json", Type::Text),
];

/// The fields of all bodies.
const FIELDS: [(&str, Type); 55] = [
    ("session", Type::Text),
    ("end", Type::Whole),
    ("index", Type::Whole),
    ("x_mm", Type::Number),
    ("y_mm", Type::Number),
    ("call", Type::Text),
    ("felt", Type::Text),
    ("arrow", Type::Text),
    ("at_ms", Type::Whole),
    ("after_end", Type::Whole),
    ("after_index", Type::Whole),
    ("right_mm", Type::Number),
    ("up_mm", Type::Number),
    ("advised_right_mm", Type::Number),
    ("advised_up_mm", Type::Number),
    ("card_points", Type::Whole),
    ("distance_m", Type::Number),
    ("face", Type::Text),
    ("round", Type::Text),
    ("kit", Type::Text),
    ("mark", Type::Text),
    ("sighting_ends", Type::Whole),
    ("ends", Type::Whole),
    ("shots_per_end", Type::Whole),
    ("proven", Type::Text),
    ("shots", Type::Whole),
    ("points", Type::Whole),
    ("elevation_reading", Type::Number),
    ("windage_reading", Type::Number),
    ("reading_sd", Type::Number),
    ("slope_deg", Type::Number),
    ("name", Type::Text),
    ("hand", Type::Text),
    ("shaft_mm", Type::Number),
    ("eye_to_pin_mm", Type::Number),
    ("click_windage_mm", Type::Number),
    ("click_elevation_mm", Type::Number),
    ("setting_sd_mm", Type::Number),
    ("windage_grows_right", Type::Bool),
    ("windage_unit_mm", Type::Number),
    ("elevation_grows_up", Type::Bool),
    ("elevation_unit_mm", Type::Number),
    ("spread_mrad", Type::Number),
    ("worth", Type::Number),
    ("trust", Type::Number),
    ("touch_cost_points", Type::Number),
    ("eye_above_arrow_mm", Type::Number),
    ("arrow_mass_g", Type::Number),
    ("arrow_speed_m_s", Type::Number),
    ("verified_at_ms", Type::Whole),
    ("retired", Type::Bool),
    ("about", Type::Text),
    ("text", Type::Text),
    ("was", Type::Text),
    ("later_json", Type::Text),
];

fn fields() -> impl Iterator<Item = (&'static str, Type)> {
    FIELDS.into_iter().chain(SELDOM)
}

/// Whether a record has a value in the column of a field that few have.
fn has(record: &Record, field: &str) -> bool {
    match field {
        "spot" => matches!(&record.body, Body::Shot(s) if s.spot.is_some()),
        "arrows" => matches!(&record.body, Body::Mark(m) if m.arrows.is_some()),
        "wind" | "wind_from" | "light" => {
            matches!(&record.body, Body::Note(n) if n.weather().iter().any(|(f, w)| *f == field && w.is_some()))
        }
        "match_by" => matches!(&record.body, Body::Session(s) if s.match_by.is_some()),
        "opponent_arrow" => matches!(&record.body, Body::Session(s) if s.opponent_arrow.is_some()),
        "their_points" => matches!(&record.body, Body::End(e) if e.their_points.is_some()),
        "habits" => matches!(&record.body, Body::Kit(k) if k.habits.is_some()),
        "nearer" => matches!(&record.body, Body::End(e) if e.nearer.is_some()),
        "bow" => matches!(&record.body, Body::Kit(k) if k.bow.is_some()),
        "level" => matches!(&record.body, Body::Kit(k) if k.level.is_some()),
        "counted" => matches!(&record.body, Body::Archer(a) if a.counted.is_some()),
        "more_json" => record.more.is_some(),
        _ => true,
    }
}

fn escape(text: &str) -> String {
    if text.is_empty() || text.starts_with(['\\', '=', '+', '-', '@', '\t', '\r', ' ']) {
        format!("\\{text}")
    } else {
        text.to_owned()
    }
}

/// The log as CSV, records in the order of their ids: equal logs give equal bytes.
#[must_use]
pub fn write(log: &Log) -> String {
    let mut out = csv::WriterBuilder::new().terminator(csv::Terminator::Any(b'\n')).from_writer(Vec::new());
    // Writing into memory does not fail.
    let columns: Vec<&str> = fields().map(|f| f.0).filter(|f| log.records().any(|r| has(r, f))).collect();
    let columns = if log.is_empty() { FIELDS.map(|f| f.0).to_vec() } else { columns };
    let _ = out.write_record(HEAD.iter().chain(&columns));
    for record in log.sorted() {
        let _ = out.write_record(cells(record, &columns));
    }
    let bytes = out.into_inner().unwrap_or_default();
    String::from_utf8(bytes).unwrap_or_default()
}

fn cells(record: &Record, columns: &[&str]) -> Vec<String> {
    let kind = record.body.kind();
    let mut cells = vec![
        record.schema().to_string(),
        record.id.to_string(),
        record.archer.to_string(),
        record.stamp.ms.to_string(),
        record.stamp.counter.to_string(),
        record.stamp.device.to_string(),
        kind.name().to_owned(),
    ];
    let mut flat = match &record.body {
        Body::Later { body, .. } => {
            let mut map = Map::new();
            map.insert("later_json".to_owned(), Value::String(body.to_string()));
            Value::Object(map)
        }
        body => serde_json::to_value(body)
            .ok()
            .and_then(|mut v| v.get_mut(kind.name()).map(Value::take))
            .unwrap_or_default(),
    };
    if let (Some(more), Some(flat)) = (&record.more, flat.as_object_mut()) {
        flat.insert("more_json".to_owned(), Value::String(serde_json::to_string(more).unwrap_or_default()));
    }
    cells.extend(columns.iter().map(|name| match &flat[*name] {
        Value::Null => String::new(),
        Value::String(text) => escape(text),
        other => other.to_string(),
    }));
    cells
}

/// Reads the CSV back. Columns may come in any order; columns of fields may be missing.
///
/// # Errors
/// Every bad line, at most 20 of them; nothing is taken in then.
pub fn read(text: &str) -> Result<Log, Vec<LineError>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut rows = csv::ReaderBuilder::new().from_reader(text.as_bytes());
    let bad = |line: usize, what: BadLine| LineError { line, what };
    let header = rows.headers().map_err(|e| vec![bad(1, BadLine::NoRow(e.to_string()))])?.clone();
    for name in &header {
        if !HEAD.contains(&name) && !fields().any(|(f, _)| f == name) {
            return Err(vec![bad(1, BadLine::UnknownColumn(name.to_owned()))]);
        }
    }
    if let Some(missing) = HEAD.iter().find(|h| !header.iter().any(|n| n == **h)) {
        return Err(vec![bad(1, BadLine::NoColumn(missing))]);
    }
    let (mut log, mut errors) = (Log::new(), Vec::new());
    let mut row = csv::StringRecord::new();
    loop {
        match rows.read_record(&mut row) {
            Ok(false) => break,
            Ok(true) => {
                let line = row.position().map_or(0, |p| p.line() as usize);
                match record(&header, &row) {
                    Ok(record) => {
                        log.insert(record);
                    }
                    Err(what) => errors.push(bad(line, what)),
                }
            }
            Err(e) => {
                let line = e.position().map_or(0, |p| p.line() as usize);
                errors.push(bad(line, BadLine::NoRow(e.to_string())));
            }
        }
        if errors.len() == 20 {
            break;
        }
    }
    if errors.is_empty() { Ok(log) } else { Err(errors) }
}

fn record(header: &csv::StringRecord, row: &csv::StringRecord) -> Result<Record, BadLine> {
    let mut head: [&str; 7] = [""; 7];
    let mut flat = Map::new();
    for (name, cell) in header.iter().zip(row) {
        if let Some(i) = HEAD.iter().position(|h| *h == name) {
            head[i] = cell;
        } else if let Some((_, kind)) = fields().find(|(f, _)| *f == name)
            && !cell.is_empty()
        {
            flat.insert(name.to_owned(), value(name, kind, cell)?);
        }
    }
    let [schema, id, archer, ms, counter, device, kind] = head;
    let whole = |name: &str, text: &str| value(name, Type::Whole, text);
    if let Some(Value::String(more)) = flat.remove("more_json") {
        let more: Map<String, Value> = serde_json::from_str(&more).map_err(|e| no_json("more_json", &e))?;
        flat.extend(more);
    }
    let body = match flat.remove("later_json") {
        Some(Value::String(json)) if kind == "later" => {
            serde_json::from_str(&json).map_err(|e| no_json("later_json", &e))?
        }
        _ => Value::Object(Map::from_iter([(kind.to_owned(), Value::Object(flat))])),
    };
    let whole_record = serde_json::json!({
        "schema": whole("schema", schema)?,
        "id": id,
        "archer": archer,
        "stamp": { "ms": whole("ms", ms)?, "counter": whole("counter", counter)?, "device": device },
        "body": body,
    });
    let record: Record = serde_json::from_value(whole_record).map_err(|e| BadLine::NoRecord(e.to_string()))?;
    record.validate()?;
    Ok(record)
}

fn no_json(column: &'static str, error: &serde_json::Error) -> BadLine {
    BadLine::NoJson { column, said: error.to_string() }
}

fn value(name: &str, kind: Type, cell: &str) -> Result<Value, BadLine> {
    let wrong = |wanted| BadLine::Cell { column: name.to_owned(), cell: cell.to_owned(), wanted };
    match kind {
        Type::Text => Ok(Value::String(cell.strip_prefix('\\').unwrap_or(cell).to_owned())),
        Type::Bool => match cell.to_ascii_lowercase().as_str() {
            "true" => Ok(Value::Bool(true)),
            "false" => Ok(Value::Bool(false)),
            _ => Err(wrong(Wanted::Bool)),
        },
        Type::Whole => {
            // A spreadsheet, or pandas, may have made 3 into 3.0.
            let digits = cell.strip_suffix(".0").unwrap_or(cell);
            digits.parse::<u64>().map(Value::from).map_err(|_| wrong(Wanted::Whole))
        }
        Type::Number => serde_json::from_str::<f64>(cell)
            .ok()
            // A spreadsheet may have written +5 or .5, which JSON does not know.
            .or_else(|| if cell.contains(',') { None } else { parse_decimal(cell) })
            .and_then(Number::from_f64)
            .map(Value::Number)
            .ok_or_else(|| wrong(Wanted::Number)),
    }
}
