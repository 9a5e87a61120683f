//! Reads a marks file: every mistake with its line and key.

use goldward_core::units::{Length, parse_decimal};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::book::{Book, Entry};
use super::quantity::{self, Range, Speed};
use crate::keys::Good;
use crate::problem::{Place, Problem, What, nearest, short};

/// Keys of one table, each with what a good value looks like.
type Keys = &'static [(&'static str, Good)];

/// The keys at the top of a marks file.
pub const TOP: Keys = &[
    ("name", Good::Text),
    ("eye_to_pin", Good::Length("88cm")),
    ("eye_above_arrow", Good::Length("115mm")),
    ("eye_above_arrow_sd", Good::Sd("\"5mm\"")),
    ("elevation_unit", Good::ScaleUnit("1mm")),
    ("elevation_grows", Good::Grows(&["up", "down"])),
    ("spread_mrad", Good::Quantity { unit: "mrad", such: "2.1" }),
    ("click_windage", Good::Length("0.1mm")),
    ("click_elevation", Good::Length("0.1mm")),
];
/// The keys of `[arrow]`.
pub const ARROW: Keys = &[
    ("mass_g", Good::Quantity { unit: "g", such: "21" }),
    ("diameter_mm", Good::Quantity { unit: "mm", such: "5.5" }),
    ("speed", Good::Speed),
    ("speed_sd", Good::Sd("\"0.5m/s\"")),
    ("draw_weight", Good::DrawWeight),
    ("bow", Good::OneOf(&["recurve", "compound", "longbow"])),
];
/// The keys of `[air]`.
pub const AIR: Keys = &[
    ("temperature_c", Good::Quantity { unit: "°C", such: "24" }),
    ("pressure_pa", Good::Quantity { unit: "Pa", such: "101325" }),
    ("humidity", Good::Number("0.5")),
];
/// The keys of a `[[mark]]`.
pub const MARK: Keys = &[
    ("distance", Good::Such("\"50m\"")),
    ("reading", Good::Reading("42.3")),
    ("sd", Good::Sd("0.3")),
    ("arrows", Good::Arrows("6")),
    ("proof", Good::OneOf(&["shot", "predicted"])),
    ("slope_deg", Good::Quantity { unit: "°", such: "12" }),
    ("date", Good::Date),
    ("note", Good::Text),
];

/// Longest name and note, in characters.
const LONGEST_TEXT: usize = 200;

fn no_table(name: &'static str, many: bool) -> Problem {
    Problem { place: Place::Nowhere, what: Box::new(What::NoTable { name, many }), good: None }
}

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
        let line = e.span().map_or(Place::Nowhere, |s| Place::Line(reader.line(s.start)));
        vec![Problem::new(line, What::NoToml { said: e.message().replace('\n', ", "), page: "docs/marks.md" })]
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
            ("arrow", _) => reader.push(at, name, no_table("arrow", false)),
            ("air", _) => reader.push(at, name, no_table("air", false)),
            ("mark", _) => reader.push(at, name, no_table("mark", true)),
            _ => {
                if let Err(problem) =
                    known(name, TOP).and_then(|good| top(&mut book, name, &Value { value: value.get_ref(), good }))
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

/// What is good for a key, or how it should be called.
fn known(key: &str, keys: Keys) -> Result<Good, Problem> {
    if let Some((_, good)) = keys.iter().find(|(k, _)| *k == key) {
        return Ok(*good);
    }
    let known: Vec<&str> = keys.iter().map(|(k, _)| *k).collect();
    Err(Problem::new("", What::UnknownKey { near: nearest(key, known.iter().copied()), known }))
}

impl Reader<'_> {
    fn line(&self, at: usize) -> usize {
        1 + self.text.bytes().take(at).filter(|b| *b == b'\n').count()
    }

    fn push(&mut self, at: usize, key: &str, problem: Problem) {
        let place = Place::Key { line: Some(self.line(at)), key: crate::problem::plain(key) };
        self.problems.push((at, problem.at(place)));
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
            let done = known(key, keys).and_then(|good| set(key, &Value { value: value.get_ref(), good }));
            if let Err(problem) = done {
                self.push(value.span().start, &format!("{name}.{key}"), problem);
            }
        }
    }

    fn mark(&mut self, book: &mut Book, number: usize, item: &Spanned<DeValue<'_>>) {
        let (at, name) = (item.span().start, format!("mark {number}"));
        let DeValue::Table(table) = item.get_ref() else {
            self.push(at, &name, no_table("mark", true));
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
                let good = MARK.iter().find(|(k, _)| *k == key).map(|(_, g)| *g);
                self.push(
                    at,
                    &format!("{name}.{key}"),
                    Problem { place: Place::Nowhere, what: Box::new(What::Missing), good },
                );
            }
        }
        if let (Ok(entry), Some(range), Some(reading)) = (entry, range, reading) {
            book.marks.push(Entry { range, reading, ..entry });
        }
    }
}

/// A value with what would be good for its key.
struct Value<'a, 'i> {
    value: &'a DeValue<'i>,
    good: Good,
}

impl Value<'_, '_> {
    fn wrong(&self) -> Problem {
        self.not(match self.value {
            DeValue::String(text) => What::Unusable(short(text)),
            DeValue::Integer(n) => What::Unusable(short(n.as_str())),
            DeValue::Float(x) => What::Unusable(short(x.as_str())),
            other => What::OfType(other.type_str().to_owned()),
        })
    }

    fn not(&self, what: impl Into<What>) -> Problem {
        Problem::new("", what).good(self.good)
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
            DeValue::String(text) => text.parse::<Length>().map(Length::mm).map_err(|e| self.not(e)),
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
            *range = Some(read.map_err(|e| value.not(e))?);
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
