//! A problem with an input in the reader's language: where, what is wrong, and the remedy apart from it.

use goldward_core::face::Face;
use goldward_core::fleet::FleetError;
use goldward_core::flight::FlightError;
use goldward_core::group::{GroupError, MOST_SHOTS};
use goldward_core::marks::MarksError;
use goldward_core::matches::MatchError;
use goldward_core::pace::PaceError;
use goldward_core::range::OutOfRange;
use goldward_core::shot::CallError;
use goldward_core::units::{UnitError, trim_number};
use goldward_session::keys::{COLUMNS, Good};
use goldward_session::problem::{Place, Problem, What, plain, short};
use goldward_session::session::Oddity;

use super::{Language, Wrong, error};

/// A problem as it is told.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Told {
    /// Where; may be empty.
    pub place: String,
    /// What is wrong.
    pub what: String,
    /// What to do about it; may be empty.
    pub remedy: String,
}

impl Told {
    /// A sentence whose second line, if any, is the remedy.
    #[must_use]
    pub fn of(text: &str) -> Self {
        let (what, remedy) = text.split_once('\n').unwrap_or((text, ""));
        Self { place: String::new(), what: what.to_owned(), remedy: remedy.to_owned() }
    }

    /// Place and what is wrong.
    #[must_use]
    pub fn placed(&self) -> String {
        if self.place.is_empty() { self.what.clone() } else { format!("{}: {}", self.place, self.what) }
    }

    /// All of it in one line, without what a terminal would obey.
    #[must_use]
    pub fn one_line(&self) -> String {
        let placed = self.placed();
        plain(&if self.remedy.is_empty() {
            placed
        } else {
            format!("{}: {}", placed.trim_end_matches('.'), self.remedy)
        })
    }
}

/// `problem` in English in one line, as programs are told.
#[must_use]
pub fn one_line(problem: &Problem) -> String {
    tell(Language::English, problem).one_line()
}

/// `problem` in the language `l`.
#[must_use]
pub fn tell(l: Language, problem: &Problem) -> Told {
    let mut told = Told::of(&what(l, &problem.what));
    told.place = place(l, &problem.place);
    if let Some(good) = problem.good {
        let remedy = give(l, good);
        told.remedy = if told.remedy.is_empty() { remedy } else { format!("{}; {remedy}", told.remedy) };
    }
    told
}

/// Where.
#[must_use]
pub fn place(l: Language, place: &Place) -> String {
    let say = |wrong: Wrong, values: &[&str]| wrong.with(l, values);
    match place {
        Place::Nowhere => String::new(),
        Place::Named(name) => name.clone(),
        Place::Line(line) => say(Wrong::AtLine, &[&line.to_string()]),
        Place::Column { line, number } => say(Wrong::AtColumn, &[&line.to_string(), &number.to_string()]),
        Place::Cell { line, column } => say(Wrong::AtColumn, &[&line.to_string(), column]),
        Place::Key { line: Some(line), key } => say(Wrong::AtLineKey, &[&line.to_string(), key]),
        Place::Key { line: None, key } => say(Wrong::AtKey, &[key]),
        Place::Setting(key) => match (key.field().option, key.field().of_kit()) {
            ("", "") => key.json().to_owned(),
            (option, "") => option.to_owned(),
            ("", kit) => say(Wrong::AtKitKey, &[kit]),
            (option, kit) => say(Wrong::AtOptionKey, &[option, kit]),
        },
        Place::Mark(number) => say(Wrong::AtMark, &[&number.to_string()]),
        Place::Byte(at) => say(Wrong::AtByte, &[&at.to_string()]),
        Place::On(line, within) => {
            let (line, within) = (say(Wrong::AtLine, &[&line.to_string()]), self::place(l, within));
            if within.is_empty() { line } else { format!("{line}: {within}") }
        }
    }
}

fn quoted(words: &[&str]) -> String {
    words.iter().map(|w| format!("\"{w}\"")).collect::<Vec<_>>().join(", ")
}

/// What to give.
#[must_use]
pub fn give(l: Language, good: Good) -> String {
    let say = |wrong: Wrong, values: &[&str]| wrong.with(l, values);
    match good {
        Good::Number(such) => say(Wrong::GiveNumber, &[such]),
        Good::Whole(such) => say(Wrong::GiveWhole, &[such]),
        Good::Quantity { unit, such } => say(Wrong::GiveQuantity, &[unit, such]),
        Good::Length(such) => say(Wrong::GiveLength, &[such]),
        Good::Arrows(such) => say(Wrong::GiveArrows, &[such]),
        Good::Points(such) => say(Wrong::GivePoints, &[such]),
        Good::Trust => say(Wrong::GiveTrust, &[]),
        Good::OneOf(words) => say(Wrong::GiveOneOf, &[&quoted(words)]),
        Good::Grows(words) => say(Wrong::GiveGrows, &[&quoted(words)]),
        Good::Reading(such) => say(Wrong::GiveReading, &[such]),
        Good::ScaleUnit(such) => say(Wrong::GiveScaleUnit, &[such]),
        Good::Sd(such) => say(Wrong::GiveSd, &[such]),
        Good::Pair(such) => say(Wrong::GivePair, &[such]),
        Good::Two { least, most, such } => say(Wrong::GiveTwo, &[least, most, such]),
        Good::InSpreads { least, most, such } => say(Wrong::GiveInSpreads, &[least, most, such]),
        Good::Clicks(such) => say(Wrong::GiveClicks, &[such]),
        Good::Chances(such) => say(Wrong::GiveChances, &[such]),
        Good::Flag => say(Wrong::GiveFlag, &[]),
        Good::True => say(Wrong::GiveTrue, &[]),
        Good::Face => say(Wrong::GiveFace, &[&faces()]),
        Good::Call => say(Wrong::GiveCall, &[]),
        Good::Felt => say(Wrong::GiveFelt, &[]),
        Good::Speed => say(Wrong::GiveSpeed, &[]),
        Good::DrawWeight => say(Wrong::GiveDrawWeight, &[]),
        Good::Date => say(Wrong::GiveDate, &[]),
        Good::Text => say(Wrong::GiveText, &[]),
        Good::Such(such) => say(Wrong::GiveSuch, &[such]),
        Good::Distance => say(Wrong::GiveDistance, &[]),
        Good::Coordinates => say(Wrong::GiveCoordinates, &[]),
        Good::InMarks(such) => say(Wrong::GiveInMarks, &[such]),
        Good::InMarksOrKit(such) => say(Wrong::GiveInMarksOrKit, &[such]),
    }
}

fn faces() -> String {
    Face::all().iter().map(|f| f.name).collect::<Vec<_>>().join(", ")
}

fn range(l: Language, out: &OutOfRange) -> String {
    let &OutOfRange { value, unit, bounds: [least, most], .. } = out;
    let number = |v: f64| l.number(&if v.is_finite() { trim_number(v) } else { v.to_string() });
    // Core says "(a share)" and the like of what has no unit.
    let with =
        |v: f64| format!("{} {}", number(v), if unit.starts_with('(') { "" } else { unit }).trim_end().to_owned();
    Wrong::OutOfRange.with(l, &[&with(value), &number(least), &with(most)])
}

/// What is wrong; the second line, if any, is the remedy.
fn what(l: Language, what: &What) -> String {
    let say = |wrong: Wrong, values: &[&str]| wrong.with(l, values);
    let n = |n: usize| n.to_string();
    match what {
        What::Missing => say(Wrong::Missing, &[]),
        What::Range(out) => range(l, out),
        What::NotANumber(text) => say(Wrong::NotANumber, &[text]),
        What::NotFinite(text) => say(Wrong::NotFinite, &[text]),
        What::NotWhole(text) => say(Wrong::NotWhole, &[text]),
        What::Unusable(text) => say(Wrong::Unusable, &[text]),
        What::OfType(name) => say(Wrong::OfType, &[name]),
        What::Unit(e) => unit(l, e),
        What::Call(e) => call(l, e),
        What::Felt(e) => say(Wrong::NotFelt, &[&e.0]),
        What::Face(e) => say(Wrong::NoFace, &[&e.name, &faces()]),
        What::Group(e) => group(l, e),
        What::Fleet(e) => match e {
            FleetError::OutOfRange(out) => range(l, out),
            e => error::fleet(l, e),
        },
        What::Marks(e) => marks(l, e),
        What::Flight(e) => flight(l, e),
        What::Pace(e) => match e {
            PaceError::Group(e) => group(l, e),
            PaceError::NoSuchShot { shot, shots: 0 } => say(Wrong::NoShotYet, &[&n(*shot)]),
            PaceError::NoSuchShot { shot, shots } => say(Wrong::NoSuchShot, &[&n(*shot), &n(*shots)]),
            PaceError::OutOfRange(out) => range(l, out),
            PaceError::Nothing(act) => say(Wrong::NothingTo, &[act]),
        },
        What::Match(e) => match e {
            MatchError::NoProbabilities { sum } => say(Wrong::NoPointChances, &[&l.number(&trim_number(*sum))]),
            MatchError::OutOfRange(out) => range(l, out),
        },
        What::NoSuchMatch => say(Wrong::NoSuchMatch, &[]),
        What::OnlyBySets => say(Wrong::OnlyBySets, &[]),
        What::NoEndScore { points, arrows } => say(Wrong::NoEndScore, &[&points.to_string(), &arrows.to_string()]),
        What::TooManyEnds => say(Wrong::TooManyEnds, &[]),
        What::NotLevel => say(Wrong::NotLevel, &[]),
        What::OnlyLastUnderWay => say(Wrong::OnlyLastUnderWay, &[]),
        What::Ends(text) => say(Wrong::NotEnds, &[text]),
        What::NotUtf8 => say(Wrong::NotUtf8, &[]),
        What::LineNotUtf8(at) => say(Wrong::LineNotUtf8, &[&n(*at)]),
        What::Utf16 => say(Wrong::Utf16, &[]),
        What::Reader(said) => say(Wrong::Unreadable, &[said]),
        What::NoToml { said, page } => say(Wrong::NoToml, &[said, page]),
        What::UnknownKey { near: None, known } => say(Wrong::UnknownKey, &[&known.join(", ")]),
        What::UnknownKey { near: Some(near), known } => say(Wrong::UnknownKeyNear, &[&known.join(", "), near]),
        What::NoTable { name, many } => say(if *many { Wrong::NoTables } else { Wrong::NoTable }, &[name]),
        What::ReadingAlone(scale) => say(Wrong::ReadingAlone, &[scale]),
        What::EmptyFile => say(Wrong::EmptyFile, &[&COLUMNS[2..6].join(",")]),
        What::NoShots => say(Wrong::NoShots, &[]),
        What::UnknownSeparator(text) => say(Wrong::UnknownSeparator, &[text]),
        What::NoHeader => say(Wrong::NoHeader, &[&COLUMNS.join(", ")]),
        What::TwoColumns(name) => say(Wrong::TwoColumns, &[name]),
        What::UnknownColumn { name, near: None } => say(Wrong::UnknownColumn, &[name, &COLUMNS.join(", ")]),
        What::UnknownColumn { name, near: Some(near) } => {
            say(Wrong::UnknownColumnNear, &[name, &COLUMNS.join(", "), near])
        }
        What::HalfAPlace { has, lacks } => say(Wrong::HalfAPlace, &[has, lacks]),
        What::NoPlaceColumn => say(Wrong::NoPlaceColumn, &[]),
        What::OpenCell => say(Wrong::OpenCell, &[]),
        What::NamelessCell(text) => say(Wrong::NamelessCell, &[text]),
        What::Ragged { cells, columns, commas } => {
            say(if *commas { Wrong::RaggedCommas } else { Wrong::Ragged }, &[&n(*cells), &n(*columns)])
        }
        What::LongArrow => say(Wrong::LongArrow, &[]),
        What::HalfEmpty(there) => say(Wrong::HalfEmpty, &[there]),
        What::Both => say(Wrong::BothPlaces, &[]),
        What::EmptyRow => say(Wrong::EmptyRow, &[]),
        What::FeltNothing => say(Wrong::FeltNothing, &[]),
        What::TooFar { text, most, touch } => {
            say(if *touch { Wrong::TouchFar } else { Wrong::ShotFar }, &[text, &trim_number(*most)])
        }
        What::EmptyLine => say(Wrong::EmptyLine, &[]),
        What::NoObject => say(Wrong::NoObject, &[]),
        What::NoJson { column, said } => say(Wrong::NoJson, &[&n(*column), said]),
        What::NoQuestion(said) => say(Wrong::NotTheQuestion, &[said]),
        What::EmptyList => say(Wrong::EmptyList, &[]),
        What::ListForObject => say(Wrong::ListForObject, &[]),
        What::TooManyShots(shots) => say(Wrong::TooManyShots, &[&n(*shots), &n(MOST_SHOTS)]),
        What::TooManyDistances { given, most } => say(Wrong::TooManyDistances, &[&n(*given), &n(*most)]),
        What::OneCoordinate => format!("{}\n{}", say(Wrong::Missing, &[]), say(Wrong::GiveCoordinates, &[])),
        What::NoPosition => say(Wrong::NoPosition, &[]),
        What::OtherSighting(write) => say(Wrong::OtherSighting, &[write]),
        What::LongRound(most) => say(Wrong::LongRound, &[&n(*most)]),
        What::UnknownRule { name, known } => say(Wrong::UnknownRule, &[name, &known.join(", ")]),
        What::Fault => say(Wrong::FailedHere, &[]),
    }
}

fn unit(l: Language, error: &UnitError) -> String {
    match error {
        UnitError::NotANumber { text, .. } => Wrong::NotANumber.with(l, &[&short(text)]),
        UnitError::UnknownUnit { unit, .. } => Wrong::UnknownUnit.with(l, &[&short(unit)]),
        UnitError::OutOfRange(out) => range(l, out),
    }
}

fn call(l: Language, error: &CallError) -> String {
    match error {
        CallError::NotACall(text) => Wrong::NotACall.with(l, &[&short(text)]),
        CallError::NotAClock(text) => Wrong::NotAClock.with(l, &[&short(text)]),
        CallError::NoSuchRing { face, ring, zones } => Wrong::NoSuchRing.with(l, &[face, &short(ring), zones]),
    }
}

fn group(l: Language, error: &GroupError) -> String {
    let number = |v: f64| l.number(&v.to_string());
    match error {
        GroupError::TooManyShots { shots } => what(l, &What::TooManyShots(*shots)),
        GroupError::Position { shot, x_mm, y_mm } => {
            Wrong::PositionFar.with(l, &[&shot.to_string(), &number(*x_mm), &number(*y_mm)])
        }
        GroupError::Call { shot, source } => Wrong::OfShot.with(l, &[&shot.to_string(), &call(l, source)]),
        GroupError::ClassOdds { odds } => {
            Wrong::NoChances.with(l, &[&number(odds[0]), &number(odds[1]), &number(odds[2])])
        }
        GroupError::OutOfRange(out) => range(l, out),
    }
}

fn flight(l: Language, error: &FlightError) -> String {
    match error {
        FlightError::Unit(e) => unit(l, e),
        e => error::flight(l, e),
    }
}

fn marks(l: Language, error: &MarksError) -> String {
    match error {
        MarksError::Unit(e) => unit(l, e),
        MarksError::Flight(e) => flight(l, e),
        e => error::marks(l, e),
    }
}

/// What is odd about a session.
#[must_use]
pub fn oddity(l: Language, oddity: &Oddity) -> String {
    match oddity {
        Oddity::EndGoesBack { line, end } => Wrong::EndGoesBack.with(l, &[&line.to_string(), &end.to_string()]),
        Oddity::LeftOut(shots) => Wrong::LeftOut.with(l, &[&shots.to_string()]),
        Oddity::SharedSpots(ends) => {
            Wrong::SharedSpots.with(l, &[&ends.iter().map(u32::to_string).collect::<Vec<_>>().join(", ")])
        }
    }
}
