//! What is wrong, and what to do about it, in the reader's language: every kind of error that core and the journal have.

use goldward_core::fleet::{FleetError, MOST_ARROWS, MOST_SHOTS};
use goldward_core::flight::FlightError;
use goldward_core::marks::MarksError;
use goldward_core::range::OutOfRange;
use goldward_core::shot::CallError;
use goldward_core::units::{UnitError, trim_number};
use goldward_journal::RecordError;
use goldward_journal::jsonl::{BadLine, LONGEST_LINE, LineError};
use goldward_journal::record::LONGEST_TEXT;

use super::{Language, Word, fill};

fn say(l: Language, word: Word, values: &[&str]) -> String {
    fill(word.text(l), values)
}

/// As long as it is worth reading, without what would turn or break the line.
fn quoted(text: &str) -> String {
    goldward_session::problem::plain(&text.chars().take(40).collect::<String>())
}

fn range(l: Language, out: &OutOfRange) -> String {
    let &OutOfRange { value, unit, bounds: [least, most], .. } = out;
    // Core says "a share" of what has no unit.
    let unit = if unit.starts_with('(') { "" } else { unit };
    let number = |v: f64| l.number(&if v.is_finite() { trim_number(v) } else { v.to_string() });
    let with = |v: f64| format!("{} {unit}", number(v)).trim_end().to_owned();
    say(l, Word::ErrorRange, &[&with(value), &number(least), &with(most)])
}

fn metres(l: Language, m: f64) -> String {
    l.number(&trim_number((10.0 * m).round() / 10.0))
}

/// A quantity.
#[must_use]
pub fn unit(l: Language, error: &UnitError) -> String {
    match error {
        UnitError::NotANumber { text, .. } => say(l, Word::ErrorNumber, &[&quoted(text)]),
        UnitError::UnknownUnit { unit, .. } => say(l, Word::ErrorUnit, &[&quoted(unit)]),
        UnitError::OutOfRange(out) => range(l, out),
    }
}

/// An arrow's flight.
#[must_use]
pub fn flight(l: Language, error: &FlightError) -> String {
    match error {
        FlightError::Unit(e) => unit(l, e),
        FlightError::OutOfReach { distance_m, speed_m_s, .. } => {
            say(l, Word::ErrorReach, &[&metres(l, *speed_m_s), &metres(l, *distance_m)])
        }
        FlightError::Stopped { stopped_m, distance_m } => {
            say(l, Word::ErrorStopped, &[&metres(l, *stopped_m), &metres(l, *distance_m)])
        }
        FlightError::NotSettled { distance_m, .. } => say(l, Word::ErrorFlight, &[&metres(l, *distance_m)]),
    }
}

/// Sight marks.
#[must_use]
pub fn marks(l: Language, error: &MarksError) -> String {
    match error {
        MarksError::Unit(e) => unit(l, e),
        MarksError::Flight(e) => flight(l, e),
        MarksError::NoMarks => say(l, Word::MarksNone, &[]),
        MarksError::TooMany { marks, most } => say(l, Word::ErrorManyMarks, &[&marks.to_string(), &most.to_string()]),
        MarksError::NoDistances => say(l, Word::ErrorNoDistance, &[]),
        MarksError::NotSettled { .. } => say(l, Word::ErrorMarks, &[]),
    }
}

/// Arrows, comparisons and tuning.
#[must_use]
pub fn fleet(l: Language, error: &FleetError) -> String {
    match error {
        FleetError::OneArrow { .. } => say(l, Word::ByArrowNone, &[]),
        FleetError::TooFew { shots, needed } => say(l, Word::TooFewShots, &[&shots.to_string(), &needed.to_string()]),
        FleetError::TooFewEnds { ends, needed } => say(l, Word::TooFewEnds, &[&ends.to_string(), &needed.to_string()]),
        FleetError::NoSpread => say(l, Word::NoScatter, &[]),
        FleetError::TooManyArrows { arrows } => {
            say(l, Word::ErrorManyArrows, &[&arrows.to_string(), &MOST_ARROWS.to_string()])
        }
        FleetError::TooManyShots { shots } => {
            say(l, Word::ErrorManyShots, &[&shots.to_string(), &MOST_SHOTS.to_string()])
        }
        FleetError::OutOfRange(out) => range(l, out),
        FleetError::Shape => say(l, Word::ErrorShape, &[]),
        FleetError::NotSettled { .. } => say(l, Word::ErrorShots, &[]),
    }
}

/// A call.
#[must_use]
pub fn call(l: Language, error: &CallError) -> String {
    match error {
        CallError::NotACall(text) => say(l, Word::ErrorCall, &[&quoted(text)]),
        CallError::NotAClock(text) => say(l, Word::ErrorClock, &[&quoted(text)]),
        CallError::NoSuchRing { face, ring, .. } => say(l, Word::ErrorRing, &[face, &quoted(ring)]),
    }
}

/// A record.
#[must_use]
pub fn record(l: Language, error: &RecordError) -> String {
    match error {
        RecordError::OutOfRange(out) => format!("{}: {}", out.what, range(l, out)),
        RecordError::TooLong { field, bytes } => {
            say(l, Word::ErrorLong, &[field, &bytes.to_string(), &LONGEST_TEXT.to_string()])
        }
        RecordError::Place => say(l, Word::ErrorPlace, &[]),
        RecordError::Call(e) => call(l, e),
        RecordError::Id(id) => say(l, Word::ErrorId, &[&id.to_string()]),
    }
}

/// A line of a log.
#[must_use]
pub fn line(l: Language, error: &LineError) -> String {
    let what = match &error.what {
        BadLine::TooLong { bytes } => say(l, Word::ErrorLong, &["JSON", &bytes.to_string(), &LONGEST_LINE.to_string()]),
        BadLine::Format(format) => say(l, Word::ErrorFormat, &[&quoted(format)]),
        BadLine::NoRecord(_) | BadLine::NoRow(_) => say(l, Word::ErrorRecord, &[]),
        BadLine::Refused(e) => record(l, e),
        BadLine::UnknownColumn(name) => say(l, Word::ErrorColumn, &[&quoted(name)]),
        BadLine::NoColumn(name) => say(l, Word::ErrorNoColumn, &[name]),
        BadLine::NoJson { column, .. } => say(l, Word::ErrorCell, &[column, "JSON"]),
        BadLine::Distance(e) => unit(l, e),
        BadLine::Face(e) => say(l, Word::ErrorFace, &[&quoted(&e.name)]),
        BadLine::Points { points, shots, face } => {
            say(l, Word::ErrorPoints, &[&points.to_string(), &shots.to_string(), face])
        }
        BadLine::Cell { column, cell, .. } => say(l, Word::ErrorCell, &[&quoted(column), &quoted(cell)]),
    };
    say(l, Word::ErrorLine, &[&error.line.to_string(), &what])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Words of four letters and more.
    fn words(text: &str) -> Vec<String> {
        let split = text.split(|c: char| !c.is_alphabetic()).filter(|w| w.chars().count() > 3);
        split.map(str::to_lowercase).collect()
    }

    #[test]
    fn every_error_is_said_in_every_language_and_nothing_stays_english() {
        let range = || UnitError::from(OutOfRange { what: "a wind", value: 99.5, unit: "m/s", bounds: [0.0, 30.0] });
        let flights = || {
            [
                FlightError::Unit(range()),
                FlightError::OutOfReach { distance_m: 400.0, speed_m_s: 30.0, short_m: 9.0 },
                FlightError::Stopped { stopped_m: 40.0, distance_m: 70.0 },
                FlightError::NotSettled { distance_m: 70.0, iterations: 9, residual: 0.1 },
            ]
        };
        let calls = || {
            [
                CallError::NotACall("q".to_owned()),
                CallError::NotAClock("25".to_owned()),
                CallError::NoSuchRing { face: "80-6", ring: "4".to_owned(), zones: "10 to 5".to_owned() },
            ]
        };
        let records = || {
            let mut all = vec![
                OutOfRange { what: "x_mm", value: f64::NAN, unit: "", bounds: [-1.0, 1.0] }.into(),
                RecordError::TooLong { field: "text", bytes: 9 },
                RecordError::Place,
                RecordError::Id(goldward_journal::Uuid::nil()),
            ];
            all.extend(calls().map(RecordError::Call));
            all
        };
        let said = |l: Language| {
            let mut all = vec![
                unit(l, &UnitError::NotANumber { text: "q".to_owned(), example: "a distance such as 70m" }),
                unit(l, &UnitError::UnknownUnit { unit: "q".to_owned(), accepted: "metres or yards" }),
            ];
            all.extend(flights().map(|e| flight(l, &e)));
            let mut of_marks = vec![
                MarksError::Unit(range()),
                MarksError::NoMarks,
                MarksError::TooMany { marks: 9, most: 5 },
                MarksError::NoDistances,
                MarksError::NotSettled { iterations: 9 },
            ];
            of_marks.extend(flights().map(MarksError::Flight));
            all.extend(of_marks.iter().map(|e| marks(l, e)));
            let of_fleets = [
                FleetError::OneArrow { arrows: 1 },
                FleetError::TooManyArrows { arrows: 999 },
                FleetError::TooManyShots { shots: 999 },
                FleetError::TooFew { shots: 1, needed: 6 },
                FleetError::TooFewEnds { ends: 1, needed: 6 },
                FleetError::NoSpread,
                OutOfRange { what: "the rate", value: 2.0, unit: "", bounds: [0.0, 1.0] }.into(),
                FleetError::Shape,
                FleetError::NotSettled { rounds: 9, change: 0.1 },
            ];
            all.extend(of_fleets.iter().map(|e| fleet(l, e)));
            let mut lines = vec![
                BadLine::TooLong { bytes: 99_999 },
                BadLine::Format("other".to_owned()),
                BadLine::NoRecord("expected value".to_owned()),
                BadLine::UnknownColumn("q".to_owned()),
                BadLine::NoColumn("id"),
                BadLine::NoRow("unequal lengths".to_owned()),
                BadLine::Distance(range()),
                BadLine::Face(goldward_core::face::Face::named("q").unwrap_err()),
                BadLine::Points { points: 99, shots: 1, face: "122" },
                BadLine::NoJson { column: "more", said: "expected value".to_owned() },
            ];
            let wanted = [
                goldward_journal::jsonl::Wanted::Bool,
                goldward_journal::jsonl::Wanted::Whole,
                goldward_journal::jsonl::Wanted::Number,
                goldward_journal::jsonl::Wanted::Day,
            ];
            lines.extend(wanted.map(|wanted| BadLine::Cell { column: "end".to_owned(), cell: "q".to_owned(), wanted }));
            lines.extend(records().into_iter().map(BadLine::Refused));
            all.extend(lines.into_iter().map(|what| line(l, &LineError { line: 3, what })));
            all
        };
        let [english, others @ ..] = Language::ALL.map(said);
        // Names of what stands in a file, and what is the same word in both.
        let same = [
            "goldward",
            "uuids",
            "bytes",
            "json",
            "distance",
            "text",
            "format",
            "more",
            "other",
            "version",
            "wind",
            "points",
            "ring",
            "angle",
            "long",
            "direction",
        ];
        let mut english_left = Vec::new();
        for other in others {
            assert_eq!(english.len(), other.len());
            for (en, said) in english.iter().zip(other) {
                assert!(!en.contains('{') && !said.contains('{') && said.len() > 9, "{said}");
                let left: Vec<String> =
                    words(&said).into_iter().filter(|w| words(en).contains(w) && !same.contains(&w.as_str())).collect();
                if !left.is_empty() {
                    english_left.push(format!("{said} still says {left:?}"));
                }
            }
        }
        assert!(english_left.is_empty(), "{english_left:#?}");
    }
}
