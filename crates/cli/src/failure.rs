//! Why a command could not do its work, as data; it is told at the end, in the reader's language.

use goldward_journal::jsonl::LineError;
use goldward_report::words::error;
use goldward_report::words::problem::{self, Told};
use goldward_report::words::{Language, Wrong};
use goldward_session::log::{PickError, ViewError};
use goldward_session::problem::{Place, Problem, What, plain};

/// Exit code: all went well.
pub const EXIT_FINE: u8 = 0;
/// Exit code: the input or the archer's data is wrong.
pub const EXIT_DATA: u8 = 1;
/// Exit code: the command was called wrongly.
pub const EXIT_USAGE: u8 = 2;
/// Exit code: the program itself is at fault.
pub const EXIT_INTERNAL: u8 = 70;

/// Most problems listed at once.
pub const MOST_PROBLEMS: usize = 20;

/// A sentence of the catalogue with its values.
#[derive(Debug, Clone, PartialEq)]
pub struct Said {
    wrong: Wrong,
    values: Vec<Value>,
}

/// What stands in a gap of a sentence.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// As it is.
    Text(String),
    /// A sentence of its own.
    Said(Said),
}

impl<T: ToString> From<T> for Value {
    fn from(value: T) -> Self {
        Self::Text(value.to_string())
    }
}

/// A sentence with its values.
pub fn said<const N: usize>(wrong: Wrong, values: [Value; N]) -> Said {
    Said { wrong, values: values.into() }
}

/// What messages call the file `path`; - is standard input.
#[must_use]
pub fn name_of(path: &std::path::Path) -> Value {
    if path.as_os_str() == "-" { Value::Said(Wrong::StandardInput.into()) } else { path.display().into() }
}

impl From<Wrong> for Said {
    fn from(wrong: Wrong) -> Self {
        Self { wrong, values: Vec::new() }
    }
}

impl Value {
    /// In the language `l`.
    #[must_use]
    pub fn text(&self, l: Language) -> String {
        match self {
            Self::Text(text) => text.clone(),
            Self::Said(said) => said.text(l),
        }
    }
}

impl Said {
    /// In the language `l`.
    #[must_use]
    pub fn text(&self, l: Language) -> String {
        let values: Vec<String> = self.values.iter().map(|v| v.text(l)).collect();
        self.wrong.with(l, &values.iter().map(String::as_str).collect::<Vec<_>>())
    }
}

/// One thing that is wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    place: At,
    what: Box<Matter>,
    remedy: Option<Said>,
}

#[derive(Debug, Clone, PartialEq)]
enum At {
    Place(Place),
    Said(Said),
}

#[derive(Debug, Clone, PartialEq)]
enum Matter {
    Input(Problem),
    Line(LineError),
    Said(Said),
}

impl From<Problem> for Fault {
    fn from(problem: Problem) -> Self {
        Self { place: At::Place(problem.place.clone()), what: Box::new(Matter::Input(problem)), remedy: None }
    }
}

impl From<LineError> for Fault {
    fn from(error: LineError) -> Self {
        Self { place: At::Place(Place::Nowhere), what: Box::new(Matter::Line(error)), remedy: None }
    }
}

impl From<PickError> for Fault {
    fn from(error: PickError) -> Self {
        match error {
            PickError::Empty => Wrong::EmptyLog.into(),
            PickError::Archer { named, several, known } => {
                let wrong = match (named, several) {
                    (true, true) => Wrong::SeveralSoCalled,
                    (true, false) => Wrong::NobodySoCalled,
                    (false, _) => Wrong::SeveralArchers,
                };
                Self::from(said(wrong, [known.join(", ").into()])).at("--archer")
            }
            PickError::NoSession => Wrong::NoSessionWithShot.into(),
            PickError::View(ViewError::NoSession(id)) => said(Wrong::NoSession, [id.into()]).into(),
            PickError::View(ViewError::Face(e)) => Self::of("", e),
            PickError::View(ViewError::Unit(e)) => Self::of("", e),
            PickError::View(ViewError::Setting(e)) => Problem::from(e).into(),
        }
    }
}

impl From<Said> for Fault {
    fn from(said: Said) -> Self {
        Self { place: At::Place(Place::Nowhere), what: Box::new(Matter::Said(said)), remedy: None }
    }
}

impl From<Wrong> for Fault {
    fn from(wrong: Wrong) -> Self {
        Said::from(wrong).into()
    }
}

impl Fault {
    /// What core or a reader of files finds wrong, at `place`.
    pub fn of(place: impl Into<Place>, what: impl Into<What>) -> Self {
        Problem::new(place, what).into()
    }

    /// What the system says.
    #[must_use]
    pub fn io(error: &std::io::Error) -> Self {
        use std::io::ErrorKind::{
            AlreadyExists, FileTooLarge, IsADirectory, NotADirectory, NotFound, PermissionDenied, QuotaExceeded,
            ReadOnlyFilesystem, StorageFull,
        };
        match error.kind() {
            NotFound => Wrong::IoNotFound.into(),
            PermissionDenied => Wrong::IoDenied.into(),
            IsADirectory => Wrong::IoFolder.into(),
            NotADirectory => Wrong::IoNoFolder.into(),
            AlreadyExists => Wrong::IoExists.into(),
            StorageFull | QuotaExceeded | FileTooLarge => Wrong::IoFull.into(),
            ReadOnlyFilesystem => Wrong::IoReadOnly.into(),
            _ => said(Wrong::Io, [error.into()]).into(),
        }
    }

    /// The same, at `place`.
    #[must_use]
    pub fn at(self, place: impl Into<Place>) -> Self {
        Self { place: At::Place(place.into()), ..self }
    }

    /// The same, at what a sentence names.
    #[must_use]
    pub fn at_said(self, place: impl Into<Said>) -> Self {
        Self { place: At::Said(place.into()), ..self }
    }

    /// The same, its place a key of the object that `parent` names.
    #[must_use]
    pub fn under(self, parent: &str) -> Self {
        let At::Place(place) = self.place else { return self };
        Self { place: At::Place(place.under(parent)), ..self }
    }

    /// The same, where it stands on a line.
    #[must_use]
    pub fn on_line(self, line: usize) -> Self {
        let At::Place(place) = self.place else { return self };
        Self { place: At::Place(Place::On(line, Box::new(place))), ..self }
    }

    /// The same, with a remedy of its own.
    #[must_use]
    pub fn remedy(self, remedy: impl Into<Said>) -> Self {
        Self { remedy: Some(remedy.into()), ..self }
    }

    /// In the language `l`.
    #[must_use]
    pub fn told(&self, l: Language) -> Told {
        let mut told = match &*self.what {
            Matter::Input(problem) => problem::tell(l, problem),
            Matter::Line(e) => Told::of(&error::line(l, e)),
            Matter::Said(said) => Told::of(&said.text(l)),
        };
        told.place = match &self.place {
            At::Place(place) => problem::place(l, place),
            At::Said(said) => said.text(l),
        };
        if let Some(remedy) = &self.remedy {
            let remedy = remedy.text(l);
            told.remedy = if told.remedy.is_empty() { remedy } else { format!("{}; {remedy}", told.remedy) };
        }
        told
    }

    /// In English in one line, as programs are told.
    #[must_use]
    pub fn one_line(&self) -> String {
        self.told(Language::English).one_line()
    }
}

/// Why a command stopped.
#[derive(Debug)]
#[non_exhaustive]
pub enum Failure {
    /// The input or the archer's data is wrong.
    Data {
        /// What could not be done.
        title: Said,
        /// All that is wrong.
        faults: Vec<Fault>,
    },
    /// Options that contradict each other or make no sense.
    Usage(Fault),
    /// Whoever reads the output has gone away: no fault.
    NobodyReads,
    /// The program itself is at fault.
    Internal(String),
}

impl Failure {
    /// A failure of the data with one fault.
    pub fn data(title: impl Into<Said>, fault: impl Into<Fault>) -> Self {
        Self::Data { title: title.into(), faults: vec![fault.into()] }
    }

    /// A failure of the data with all that is wrong with it.
    pub fn all<F: Into<Fault>>(title: impl Into<Said>, faults: Vec<F>) -> Self {
        Self::Data { title: title.into(), faults: faults.into_iter().map(Into::into).collect() }
    }

    /// Options at `place` that make no sense.
    pub fn usage(place: &str, fault: impl Into<Fault>) -> Self {
        Self::Usage(fault.into().at(place))
    }

    /// A setting that cannot be.
    #[must_use]
    pub fn setting(error: goldward_session::settings::KeyProblem) -> Self {
        Self::data(Wrong::NoSuchSettings, Problem::from(error))
    }

    /// Output that could not be written.
    #[must_use]
    pub fn from_write(error: &std::io::Error) -> Self {
        use std::io::ErrorKind::{BrokenPipe, FileTooLarge, QuotaExceeded, StorageFull};
        match error.kind() {
            BrokenPipe => Self::NobodyReads,
            StorageFull | QuotaExceeded | FileTooLarge => Self::data(Wrong::OutputNotWritten, Fault::io(error)),
            _ => Self::Internal(format!("the output could not be written: {error}")),
        }
    }

    /// The exit code that tells it.
    #[must_use]
    pub fn exit_code(&self) -> u8 {
        match self {
            Self::Data { .. } => EXIT_DATA,
            Self::Usage(_) => EXIT_USAGE,
            Self::NobodyReads => EXIT_FINE,
            Self::Internal(_) => EXIT_INTERNAL,
        }
    }

    /// The failure as told to a person, ending in a line break; empty when there is nothing to tell.
    #[must_use]
    pub fn text(&self, l: Language) -> String {
        let mut lines: Vec<String> = Vec::new();
        let mut tell = |margin: &str, within: &str, fault: &Fault| {
            let told = fault.told(l);
            lines.push(format!(
                "{margin}{}",
                if margin.is_empty() { Wrong::Error.with(l, &[&told.placed()]) } else { told.placed() }
            ));
            if !told.remedy.is_empty() {
                lines.push(format!("{within}{}", Wrong::Hint.with(l, &[&told.remedy])));
            }
        };
        match self {
            Self::Data { title, faults } => {
                faults.iter().take(MOST_PROBLEMS).for_each(|f| tell("  ", "    ", f));
                lines.insert(0, Wrong::Error.with(l, &[&title.text(l)]));
                if faults.len() > MOST_PROBLEMS {
                    lines.push(format!("  {}", Wrong::AndMore.with(l, &[&(faults.len() - MOST_PROBLEMS).to_string()])));
                }
            }
            Self::Usage(fault) => tell("", "", fault),
            Self::NobodyReads => {}
            Self::Internal(what) => {
                lines.push(Wrong::Internal.with(l, &[what]));
                lines.push(Wrong::Hint.with(l, &[Wrong::ReportIt.text(l)]));
            }
        }
        lines.iter().map(|line| plain(line) + "\n").collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_is_cut_and_control_characters_do_not_reach_the_terminal() {
        let wild = "bad \u{1b}[31m\u{202e}".to_owned();
        let problems = (0..30).map(|i| Problem::new(Place::Line(i), What::NotANumber(wild.clone()))).collect();
        let text = Failure::all(said(Wrong::NotRead, ["f".into()]), problems).text(Language::English);
        assert!(text.contains("line 19") && !text.contains("line 20") && text.contains("and 10 more"));
        assert!(!text.contains(['\u{1b}', '\u{202e}']));
    }
}
