//! What is wrong with an input, as data: where, what, and what a good value looks like. `goldward_report::words::problem` says
//! it in the reader's language.

use goldward_core::face::UnknownFace;
use goldward_core::fleet::FleetError;
use goldward_core::flight::FlightError;
use goldward_core::group::GroupError;
use goldward_core::marks::MarksError;
use goldward_core::matches::MatchError;
use goldward_core::pace::PaceError;
use goldward_core::range::{self, OutOfRange};
use goldward_core::shot::{CallError, UnknownFelt};
use goldward_core::units::UnitError;

use crate::keys::{Good, Key};

/// One thing that is wrong with the input.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// Where.
    pub place: Place,
    /// What is wrong.
    pub what: Box<What>,
    /// What would be good there, when that is known better than `what` tells.
    pub good: Option<Good>,
}

/// Where something is wrong.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Place {
    /// Everywhere, or it need not be said.
    #[default]
    Nowhere,
    /// An option, a key of an object or a file, by its name.
    Named(String),
    /// A line.
    Line(usize),
    /// A column that has no name yet.
    Column {
        /// The line.
        line: usize,
        /// Number of the column.
        number: usize,
    },
    /// A cell of a table.
    Cell {
        /// The line.
        line: usize,
        /// Name of its column.
        column: String,
    },
    /// A key of a file.
    Key {
        /// The line, where there is one.
        line: Option<usize>,
        /// The key.
        key: String,
    },
    /// An option of the command line, or the key of the kit file that says the same.
    Setting(Key),
    /// A mark of a marks file, by its number.
    Mark(usize),
    /// A byte.
    Byte(usize),
    /// A key of an object that stands on a line.
    On(usize, Box<Place>),
}

impl From<&str> for Place {
    fn from(name: &str) -> Self {
        name.to_owned().into()
    }
}

impl From<String> for Place {
    fn from(name: String) -> Self {
        if name.is_empty() { Self::Nowhere } else { Self::Named(name) }
    }
}

impl Place {
    /// The same key, within the object that `parent` names.
    #[must_use]
    pub fn under(self, parent: &str) -> Self {
        match self {
            Self::Nowhere => Self::Named(parent.to_owned()),
            Self::Named(name) => Self::Named(format!("{parent}.{name}")),
            other => other,
        }
    }
}

/// What is wrong.
#[derive(Debug, Clone, PartialEq)]
pub enum What {
    /// It is not there.
    Missing,
    /// A number beyond its range.
    Range(OutOfRange),
    /// No number.
    NotANumber(String),
    /// A number of no end.
    NotFinite(String),
    /// No whole number.
    NotWhole(String),
    /// Of the wrong kind.
    Unusable(String),
    /// A value of the wrong type, by the name that the format has for it.
    OfType(String),
    /// A quantity.
    Unit(UnitError),
    /// A call.
    Call(CallError),
    /// How a shot felt.
    Felt(UnknownFelt),
    /// A face.
    Face(UnknownFace),
    /// The shots.
    Group(GroupError),
    /// Arrows, comparisons and tuning.
    Fleet(FleetError),
    /// Sight marks.
    Marks(MarksError),
    /// An arrow's flight.
    Flight(FlightError),
    /// Shots and touches one by one.
    Pace(PaceError),
    /// A match.
    Match(MatchError),
    /// So many ends or arrows are no match.
    NoSuchMatch,
    /// It goes with matches by sets.
    OnlyBySets,
    /// More points than so many arrows score.
    NoEndScore {
        /// The points.
        points: u32,
        /// The arrows.
        arrows: u32,
    },
    /// More ends than the match has.
    TooManyEnds,
    /// A single arrow decides only where both are level after the last end.
    NotLevel,
    /// An end under way that is not the last.
    OnlyLastUnderWay,
    /// Ends and arrows an end.
    Ends(String),

    /// A text that is no UTF-8.
    NotUtf8,
    /// A line that is no UTF-8 from this byte on.
    LineNotUtf8(usize),
    /// A text that is UTF-16.
    Utf16,
    /// What the reader of the format said.
    Reader(String),
    /// A file that is no TOML, and what its reader said.
    NoToml {
        /// What it said.
        said: String,
        /// The page that describes the file.
        page: &'static str,
    },
    /// A key that is not known.
    UnknownKey {
        /// What may be meant.
        near: Option<&'static str>,
        /// Those there are.
        known: Vec<&'static str>,
    },
    /// A key of a table that holds no table.
    NoTable {
        /// Its name.
        name: &'static str,
        /// Whether it may stand there several times.
        many: bool,
    },
    /// A reading of a scale of which nobody knows where it goes, windage or elevation.
    ReadingAlone(&'static str),

    /// A file without a line.
    EmptyFile,
    /// A file without a shot.
    NoShots,
    /// A line such as `sep=|`.
    UnknownSeparator(String),
    /// The names of the columns are missing.
    NoHeader,
    /// A column that is there twice.
    TwoColumns(String),
    /// A column that is not known.
    UnknownColumn {
        /// What it is called.
        name: String,
        /// What may be meant.
        near: Option<&'static str>,
    },
    /// Of two columns that go together one is missing.
    HalfAPlace {
        /// The one there is.
        has: &'static str,
        /// The one that is missing.
        lacks: &'static str,
    },
    /// No column says where shots landed.
    NoPlaceColumn,
    /// A cell that runs over several lines.
    OpenCell,
    /// A cell under no name.
    NamelessCell(String),
    /// A row with other columns than the first line.
    Ragged {
        /// Cells of the row.
        cells: usize,
        /// Columns of the first line.
        columns: usize,
        /// Whether decimal commas may be why.
        commas: bool,
    },
    /// The name of an arrow that is too long.
    LongArrow,
    /// A cell that is empty though its partner is not.
    HalfEmpty(&'static str),
    /// A position and a call.
    Both,
    /// Neither a shot nor a touch.
    EmptyRow,
    /// A feeling without a shot.
    FeltNothing,
    /// A position too far out, or a touch too large, as it is written.
    TooFar {
        /// As it is written.
        text: String,
        /// Most, in millimetres.
        most: f64,
        /// Whether it is a touch.
        touch: bool,
    },

    /// A line without anything.
    EmptyLine,
    /// A line that is no object.
    NoObject,
    /// A line that is no JSON, and what its reader said.
    NoJson {
        /// The column.
        column: usize,
        /// What it said.
        said: String,
    },
    /// A text that is no question, and what its reader said.
    NoQuestion(String),
    /// More distances than are predicted at once.
    TooManyDistances {
        /// How many.
        given: usize,
        /// Most.
        most: usize,
    },
    /// A list without anything in it.
    EmptyList,
    /// A list where an object should stand.
    ListForObject,
    /// More shots than one reading takes.
    TooManyShots(usize),
    /// Only one of two coordinates.
    OneCoordinate,
    /// A shot without a position.
    NoPosition,

    /// Sighting ends with other arrows than those that count; what to write.
    OtherSighting(String),
    /// More arrows than a round takes.
    LongRound(usize),
    /// A rule of touching that is not known.
    UnknownRule {
        /// What it is called.
        name: String,
        /// Those there are.
        known: Vec<&'static str>,
    },
    /// The program failed.
    Fault,
}

impl Problem {
    /// A problem at `place`.
    pub fn new(place: impl Into<Place>, what: impl Into<What>) -> Self {
        Self { place: place.into(), what: Box::new(what.into()), good: None }
    }

    /// The same, with what a good value looks like.
    #[must_use]
    pub fn good(self, good: Good) -> Self {
        Self { good: Some(good), ..self }
    }

    /// The same, within the object that `parent` names.
    #[must_use]
    pub fn under(self, parent: &str) -> Self {
        Self { place: self.place.under(parent), ..self }
    }

    /// The same, elsewhere.
    #[must_use]
    pub fn at(self, place: impl Into<Place>) -> Self {
        Self { place: place.into(), ..self }
    }
}

/// Whether `value` lies between `least` and `most`.
///
/// # Errors
/// [`What::Range`].
pub fn within(value: f64, unit: &'static str, [least, most]: [f64; 2]) -> Result<(), What> {
    range::within("", value, unit, least, most).map(drop).map_err(What::Range)
}

macro_rules! from_core {
    ($($error:ident => $what:ident),*) => {
        $(impl From<$error> for What {
            fn from(error: $error) -> Self {
                Self::$what(error)
            }
        })*
    };
}

from_core!(
    UnitError => Unit, CallError => Call, UnknownFelt => Felt, UnknownFace => Face, GroupError => Group, FleetError => Fleet,
    MarksError => Marks, FlightError => Flight, PaceError => Pace, MatchError => Match
);

/// Whether a terminal must not see it.
#[must_use]
pub fn is_wild(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
        || matches!(c, '\u{e0000}'..='\u{e007f}')
}

/// `text` without control characters, which a file may hold and a terminal would obey, and without those that turn the direction
/// of writing.
#[must_use]
pub fn plain(text: &str) -> String {
    text.chars().map(|c| if is_wild(c) { '\u{fffd}' } else { c }).collect()
}

/// At most 40 characters from the input, to be quoted.
#[must_use]
pub fn short(text: &str) -> String {
    let mut short: String = text.chars().take(40).collect();
    if short.len() < text.len() {
        short.push('…');
    }
    short
}

/// The one of `known` that `name` may be meant for: so few letters differ that most of the name is right.
#[must_use]
pub fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let name = name.to_lowercase();
    let known: Vec<&str> = known.into_iter().collect();
    // The first part of a name that has several (`x` of `x_mm`), where only one begins so.
    let mut begins = known.iter().filter(|k| k.split('_').next() == Some(&name));
    if let (Some(only), None) = (begins.next(), begins.next()) {
        return Some(only);
    }
    let near = known.into_iter().map(|k| (strsim::damerau_levenshtein(k, &name), k)).min()?;
    (near.0 <= 3 && 2 * near.0 < name.chars().count().max(near.1.chars().count())).then_some(near.1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_near_name_is_one_that_is_mostly_right() {
        let columns = ["end", "arrow", "x_mm", "y_mm", "call", "felt"];
        let check = |name: &str, want: Option<&str>| assert_eq!(nearest(name, columns), want, "{name}");
        check("x", Some("x_mm"));
        check("y", Some("y_mm"));
        check("x_nm", Some("x_mm"));
        check("arow", Some("arrow"));
        check("Fell", Some("felt"));
        check("q", None);
        check("elevation", None);
    }
}
