//! Reads a marks file: every mistake with its line and key.

use goldward_core::units::{Length, parse_decimal};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::book::{Book, Entry};
use super::quantity::{self, Range, Speed};
use crate::problem::{Problem, nearest, quote};

/// Keys of one table, each with what a good value looks like.
type Keys = &'static [(&'static str, &'static str)];

/// The keys at the top of a marks file.
pub const TOP: Keys = &[
    ("name", "write what you call this bow and arrow, such as \"Recurve outdoors\""),
    ("eye_to_pin", "write the distance, such as \"88cm\""),
    ("eye_above_arrow", "write the height at full draw, such as \"115mm\""),
    ("eye_above_arrow_sd", "write how well you measured it, such as \"5mm\""),
    ("elevation_unit", "write how far the pin moves when the number grows by 1, such as \"1mm\""),
    ("elevation_grows", "write \"up\" or \"down\": where the pin goes when the scale's number grows"),
    ("spread_mrad", "write your spread, one axis, in milliradians, such as 2.1"),
    ("click_windage", "write what a click moves the pin, such as \"0.1mm\""),
    ("click_elevation", "write what a click moves the pin, such as \"0.1mm\""),
];
/// The keys of `[arrow]`.
pub const ARROW: Keys = &[
    ("mass_g", "write the mass in grams, such as 21"),
    ("diameter_mm", "write the shaft's diameter in millimetres, such as 5.5"),
    ("speed", "write the chronograph's reading, such as \"57m/s\" or \"187fps\""),
    ("speed_sd", "write how well the chronograph is to be believed, such as \"0.5m/s\""),
    ("draw_weight", "write it with its unit, such as \"40lb\" or \"178N\""),
    ("bow", "write \"recurve\", \"compound\" or \"longbow\""),
];
/// The keys of `[air]`.
pub const AIR: Keys = &[
    ("temperature_c", "write degrees Celsius, such as 24"),
    ("pressure_pa", "write the pressure at the place in pascals, such as 101325"),
    ("humidity", "write a share of 1, such as 0.5"),
];
/// The keys of a `[[mark]]`.
pub const MARK: Keys = &[
    ("distance", "write the distance, such as \"50m\" or \"60yd\""),
    ("reading", "write the number on the scale, such as 42.3"),
    ("sd", "write how well the mark is known, in the scale's numbers, such as 0.3"),
    ("arrows", "write with how many arrows it was shot, such as 6"),
    ("proof", "write \"shot\" or \"predicted\""),
    ("slope_deg", "write degrees, uphill positive, such as 12"),
    ("date", "write a date such as 2026-07-12"),
    ("note", "write text in quotes"),
];

/// Longest name and note, in characters.
const LONGEST_TEXT: usize = 200;

struct Reader<'a> {
    text: &'a str,
    problems: Vec<(usize, Problem)>,
}

/// Reads a marks file.
///
/// # Errors
/// Every [`Problem`] found, each with its line and key.
pub fn parse(text: &str) -> Result<Book, Vec<Problem>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut reader = Reader { text, problems: Vec::new() };
    let table = DeTable::parse(text).map_err(|e| {
        let line = e.span().map_or_else(String::new, |s| format!("line {}", reader.line(s.start)));
        let message = e.message().replace('\n', ", ");
        vec![Problem::new(line, message, "write one key = value a line, text in quotes (docs/marks.md)")]
    })?;
    let mut book = Book::default();
    for (key, value) in table.get_ref() {
        let (name, at) = (key.get_ref().as_ref(), value.span().start);
        match (name, value.get_ref()) {
            ("arrow", DeValue::Table(t)) => reader.table(t, "arrow", ARROW, |k, v| arrow(&mut book, k, v)),
            ("air", DeValue::Table(t)) => reader.table(t, "air", AIR, |k, v| air(&mut book, k, v)),
            ("mark", DeValue::Array(list)) => {
                for (i, item) in list.iter().enumerate() {
                    reader.mark(&mut book, i + 1, item);
                }
            }
            ("arrow" | "air", _) => reader.complain(at, name, format!("write a table: [{name}] on a line of its own")),
            ("mark", _) => {
                reader.complain(at, name, "write each mark as a table: [[mark]] on a line of its own".into())
            }
            _ => {
                if let Err(problem) =
                    known(name, TOP).and_then(|remedy| top(&mut book, name, &Value { value: value.get_ref(), remedy }))
                {
                    reader.push(at, name, problem);
                }
            }
        }
    }
    let mut problems = reader.problems;
    problems.sort_by_key(|(at, _)| *at);
    if problems.is_empty() { Ok(book) } else { Err(problems.into_iter().map(|(_, p)| p).collect()) }
}

/// The remedy of a key, or how it should be called.
fn known(key: &str, keys: Keys) -> Result<&'static str, Problem> {
    if let Some((_, remedy)) = keys.iter().find(|(k, _)| *k == key) {
        return Ok(remedy);
    }
    let list = keys.iter().map(|(k, _)| *k).collect::<Vec<_>>().join(", ");
    let hint = match nearest(key, keys.iter().map(|(k, _)| *k)) {
        Some(k) => format!("did you mean {k}? The keys are {list}"),
        None => format!("the keys here are {list}"),
    };
    Err(Problem::new("", "unknown key", hint))
}

impl Reader<'_> {
    fn line(&self, at: usize) -> usize {
        1 + self.text.bytes().take(at).filter(|b| *b == b'\n').count()
    }

    fn push(&mut self, at: usize, key: &str, problem: Problem) {
        let place = format!("line {}, key {}", self.line(at), crate::problem::plain(key));
        self.problems.push((at, Problem { place, ..problem }));
    }

    fn complain(&mut self, at: usize, key: &str, remedy: String) {
        self.push(at, key, Problem::new("", "it is no table", remedy));
    }

    fn table(
        &mut self,
        table: &DeTable<'_>,
        name: &str,
        keys: Keys,
        mut set: impl FnMut(&str, &Value<'_, '_>) -> Result<(), Problem>,
    ) {
        for (key, value) in table {
            let key = key.get_ref().as_ref();
            let done = known(key, keys).and_then(|remedy| set(key, &Value { value: value.get_ref(), remedy }));
            if let Err(problem) = done {
                self.push(value.span().start, &format!("{name}.{key}"), problem);
            }
        }
    }

    fn mark(&mut self, book: &mut Book, number: usize, item: &Spanned<DeValue<'_>>) {
        let (at, name) = (item.span().start, format!("mark {number}"));
        let DeValue::Table(table) = item.get_ref() else {
            self.complain(at, &name, "write each mark as a table: [[mark]] on a line of its own".into());
            return;
        };
        let (mut range, mut reading) = (None, None);
        let mut entry = Range::metres(18.0).map(|r| Entry::shot(r, 0.0));
        let before = self.problems.len();
        if let Ok(entry) = &mut entry {
            self.table(table, &name, MARK, |key, value| mark(entry, &mut range, &mut reading, key, value));
        }
        for (key, given) in [("distance", range.is_some()), ("reading", reading.is_some())] {
            if !given && self.problems.len() == before {
                let remedy = MARK.iter().find(|(k, _)| *k == key).map_or("", |(_, r)| r);
                self.push(at, &format!("{name}.{key}"), Problem::new("", "missing", remedy));
            }
        }
        if let (Ok(entry), Some(range), Some(reading)) = (entry, range, reading) {
            book.marks.push(Entry { range, reading, ..entry });
        }
    }
}

/// A value with the remedy of its key.
struct Value<'a, 'i> {
    value: &'a DeValue<'i>,
    remedy: &'static str,
}

impl Value<'_, '_> {
    fn wrong(&self) -> Problem {
        let text = match self.value {
            DeValue::String(text) => quote(text),
            DeValue::Integer(n) => quote(n.as_str()),
            DeValue::Float(x) => quote(x.as_str()),
            other => format!("a value of type {}", other.type_str()),
        };
        Problem::new("", format!("{text} cannot be used"), self.remedy)
    }

    fn number(&self) -> Result<f64, Problem> {
        let number = match self.value {
            DeValue::Integer(n) => i64::from_str_radix(n.as_str(), n.radix()).ok().map(|n| n as f64),
            DeValue::Float(x) => parse_decimal(x.as_str()),
            _ => None,
        };
        number.filter(|x| x.is_finite()).ok_or_else(|| self.wrong())
    }

    /// A whole number from 1 to 10,000.
    fn count(&self) -> Result<u32, Problem> {
        let DeValue::Integer(n) = self.value else { return Err(self.wrong()) };
        let number = u32::from_str_radix(n.as_str(), n.radix()).ok();
        number.filter(|n| (1..=10_000).contains(n)).ok_or_else(|| self.wrong())
    }

    fn text(&self) -> Result<&str, Problem> {
        self.value.as_str().filter(|t| t.chars().count() <= LONGEST_TEXT).ok_or_else(|| self.wrong())
    }

    fn length_mm(&self) -> Result<f64, Problem> {
        match self.value {
            DeValue::String(text) => text.parse::<Length>().map(Length::mm).map_err(|e| Problem::from_core("", &e)),
            _ => self.number(),
        }
    }

    fn one_of(&self, yes: &str, no: &str) -> Result<bool, Problem> {
        match self.text().map(str::to_lowercase).as_deref() {
            Ok(word) if word == yes => Ok(true),
            Ok(word) if word == no => Ok(false),
            _ => Err(self.wrong()),
        }
    }

    fn with<T>(&self, read: impl Fn(&str) -> Result<T, String>) -> Result<T, Problem> {
        read(self.text()?).map_err(|_| self.wrong())
    }

    fn speed(&self) -> Result<Speed, Problem> {
        match self.value {
            DeValue::String(_) => self.with(quantity::parse_speed),
            _ => Ok(Speed { number: self.number()?, unit: goldward_core::marks::Unit::MetresPerSecond }),
        }
    }
}

fn top(book: &mut Book, key: &str, value: &Value<'_, '_>) -> Result<(), Problem> {
    match key {
        "name" => book.name = Some(value.text()?.to_owned()),
        "eye_to_pin" => book.eye_to_pin_mm = Some(value.length_mm()?),
        "eye_above_arrow" => book.eye_above_arrow_mm = Some(value.length_mm()?),
        "eye_above_arrow_sd" => book.eye_above_arrow_sd_mm = Some(value.length_mm()?),
        "elevation_unit" => book.elevation_unit_mm = Some(value.length_mm()?),
        "elevation_grows" => book.elevation_grows_up = Some(value.one_of("up", "down")?),
        "spread_mrad" => book.spread_mrad = Some(value.number()?),
        "click_windage" => book.click_windage_mm = Some(value.length_mm()?),
        "click_elevation" => book.click_elevation_mm = Some(value.length_mm()?),
        _ => return Err(value.wrong()),
    }
    Ok(())
}

fn arrow(book: &mut Book, key: &str, value: &Value<'_, '_>) -> Result<(), Problem> {
    let arrow = &mut book.arrow;
    match key {
        "mass_g" => arrow.mass_g = Some(value.number()?),
        "diameter_mm" => arrow.diameter_mm = Some(value.length_mm()?),
        "speed" => arrow.speed = Some(value.speed()?),
        "speed_sd" => arrow.speed_sd = Some(value.speed()?),
        "draw_weight" => arrow.draw_weight_n = Some(value.with(quantity::parse_draw_weight)?),
        "bow" => arrow.bow = Some(value.with(quantity::parse_bow)?),
        _ => return Err(value.wrong()),
    }
    Ok(())
}

fn air(book: &mut Book, key: &str, value: &Value<'_, '_>) -> Result<(), Problem> {
    let number = Some(value.number()?);
    match key {
        "temperature_c" => book.air.temperature_c = number,
        "pressure_pa" => book.air.pressure_pa = number,
        "humidity" => book.air.humidity = number,
        _ => return Err(value.wrong()),
    }
    Ok(())
}

fn mark(
    entry: &mut Entry,
    range: &mut Option<Range>,
    reading: &mut Option<f64>,
    key: &str,
    value: &Value<'_, '_>,
) -> Result<(), Problem> {
    match key {
        "distance" => {
            let read = match value.value {
                DeValue::String(text) => text.parse::<Range>(),
                _ => Range::metres(value.number()?),
            };
            *range = Some(read.map_err(|e| Problem::from_core("", &e))?);
        }
        "reading" => *reading = Some(value.number()?),
        "sd" => entry.sd = Some(value.number()?),
        "arrows" => entry.arrows = Some(value.count()?),
        "proof" => entry.shot = value.one_of("shot", "predicted")?,
        "slope_deg" => entry.slope_deg = value.number()?,
        "date" => {
            entry.date = Some(match value.value {
                DeValue::Datetime(d) => quantity::parse_date(&d.to_string()).map_err(|_| value.wrong())?,
                _ => value.with(quantity::parse_date)?,
            });
        }
        "note" => entry.note = Some(value.text()?.to_owned()),
        _ => return Err(value.wrong()),
    }
    Ok(())
}
