//! `goldward marks`: the sight mark for every distance, shot or predicted, and the card to print.

pub mod aids;
pub mod args;
pub mod card;
pub mod pages;
pub mod wire;
pub mod write;

use std::io::Read as _;
use std::path::Path;

use goldward_core::marks::Fitted;
use goldward_core::plane::Point;
use goldward_report::words::{self, Language, Phrase};

use crate::failure::{EXIT_DATA, EXIT_FINE, Failure};
use crate::files::load_kit;
use crate::source::LogSource;
use crate::terminal::Terminal;
use crate::words::wrap;
use args::{BookArgs, MarksArgs, MarksCommand};
use goldward_session::marks::book::{Book, Setup};
use goldward_session::marks::{answer, toml};
use goldward_session::problem::Problem;

/// How a page is told.
#[derive(Debug, Clone, Copy)]
pub struct Said {
    width: usize,
    language: Language,
}

impl Said {
    /// A phrase with its gaps filled.
    fn with(self, phrase: Phrase, values: &[&str]) -> String {
        phrase.with(self.language, values)
    }

    /// Numbers, as this language writes them.
    fn number(self, text: &str) -> String {
        self.language.number(text)
    }

    /// A probability.
    fn percent(self, p: f64) -> String {
        words::percent(self.language, p)
    }

    /// A height on the face, in millimetres.
    fn height(self, mm: f64) -> String {
        words::place_mm(self.language, Point::new(0.0, mm))
    }

    /// Adds a paragraph.
    fn put(self, page: &mut String, text: &str) {
        page.push_str(&wrap(text, self.width, 0));
    }
}

/// Largest marks file, in bytes.
const LARGEST_FILE: u64 = 4 << 20;

/// Runs the command; returns the exit code. With `--json` what is wrong with the data is told as JSON too.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &MarksArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let book = args.command.book();
    let width = book.width.map_or(terminal.width, usize::from);
    let as_said = Said { width, language: book.language.or(terminal.language).unwrap_or_default() };
    let result = match &args.command {
        MarksCommand::Predict(a) if book.file.as_os_str() == "-" => question(a, terminal),
        command if book.file.as_os_str() == "-" => Err(no_dash(command)),
        MarksCommand::Add(a) => pages::add(a, as_said),
        MarksCommand::List(a) => pages::list(a, as_said),
        MarksCommand::Fit(a) => pages::fit(a, as_said),
        MarksCommand::Predict(a) => pages::predict(a, as_said),
        MarksCommand::Card(a) => card::run(a, as_said),
        MarksCommand::Wrong(a) => aids::wrong(a, as_said),
        MarksCommand::Wind(a) => aids::wind(a, as_said),
        MarksCommand::Slope(a) => aids::slope(a, as_said),
    };
    let (text, code) = match result {
        Ok(text) => (text, EXIT_FINE),
        Err(Failure::Data { problems, title }) if book.json => {
            let told: Vec<String> = problems.iter().map(Problem::one_line).collect();
            let told = if told.is_empty() { title } else { told.join("; ") };
            (wire::error_line(&told), EXIT_DATA)
        }
        Err(failure) => return Err(failure),
    };
    terminal.out.write_all(text.as_bytes()).map_err(|e| Failure::from_write(&e))?;
    Ok(code)
}

fn no_dash(_: &MarksCommand) -> Failure {
    Failure::Usage(Problem::new(
        "-",
        "standard input is read by `goldward marks predict --json -` only",
        "name a marks file",
    ))
}

/// `goldward marks predict --json -`.
fn question(args: &args::PredictArgs, terminal: &mut Terminal<'_>) -> Result<String, Failure> {
    let usage = |message: &str, remedy: &str| Err(Failure::Usage(Problem::new("-", message, remedy)));
    if !args.book.json {
        return usage("standard input is read as a JSON object", "add --json, or name a marks file");
    }
    let (options, kit) = (&args.at, &args.book.kit);
    if !options.is_empty() || args.every.is_some() || args.from.is_some() || args.to.is_some() || kit.is_some() {
        return usage("the JSON object says what to predict", "leave out the other options and use its predict_m");
    }
    let title = "the question cannot be answered";
    let mut text = Vec::new();
    (&mut *terminal.input)
        .take(wire::LARGEST + 1)
        .read_to_end(&mut text)
        .map_err(|e| Failure::data(title, Problem::new("", e.to_string(), "send one JSON object")))?;
    if text.len() as u64 > wire::LARGEST {
        return Err(Failure::data(title, Problem::new("", "the object is larger than 4 MB", "send one question")));
    }
    wire::answer(&text).map_err(|p| Failure::data(title, p))
}

/// The text of a marks file; `None` when there is none.
///
/// # Errors
/// [`Failure::Data`] when it cannot be read.
pub(crate) fn text_of(args: &BookArgs) -> Result<Option<String>, Failure> {
    let name = args.file.display();
    let fail = |message: String, remedy: &str| {
        Failure::data(format!("{name} cannot be read"), Problem::new("", message, remedy))
    };
    let mut bytes = Vec::new();
    let file = match std::fs::File::open(&args.file) {
        Ok(file) => file,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(None),
        Err(e) => return Err(fail(e.to_string(), "check the name and its permissions")),
    };
    file.take(LARGEST_FILE + 1)
        .read_to_end(&mut bytes)
        .map_err(|e| fail(e.to_string(), "name a marks file (docs/marks.md)"))?;
    if bytes.len() as u64 > LARGEST_FILE {
        return Err(fail("the file is larger than 4 MB".to_owned(), "is it a marks file?"));
    }
    let text = String::from_utf8(bytes)
        .map_err(|_| fail("the file is not UTF-8 text".to_owned(), "save it as plain text in UTF-8"))?;
    Ok(Some(text))
}

/// The book of the file, completed by the kit.
///
/// # Errors
/// [`Failure::Data`] with every problem found.
pub(crate) fn load(args: &BookArgs) -> Result<Book, Failure> {
    if args.log.is_some() {
        let source = LogSource { log: args.log.clone(), archer: args.archer.clone(), session: Vec::new() };
        let Some(opened) = source.open()? else { return Err(Failure::Internal("the log is gone".to_owned())) };
        let (kit, marks) = opened.kit(args.bow.as_deref())?;
        let title = format!("the marks of {} cannot be used", args.name());
        let book =
            goldward_session::log::book(&kit, &marks).map_err(|e| Failure::data(title, Problem::from_core("", &e)))?;
        return completed(book, args);
    }
    let name = args.file.display();
    let text = text_of(args)?.ok_or_else(|| {
        let remedy =
            "start one with `goldward marks add --distance 18 --reading 14.9`, or name another (docs/marks.md)";
        Failure::data(format!("{name} cannot be read"), Problem::new("", "there is no such file", remedy))
    })?;
    let book =
        toml::parse(&text).map_err(|problems| Failure::Data { title: format!("{name} cannot be read"), problems })?;
    completed(book, args)
}

/// The book completed by the kit that the options name.
pub(crate) fn completed(book: Book, args: &BookArgs) -> Result<Book, Failure> {
    Ok(match &args.kit {
        Some(path) => book.or_kit(&load_kit(path)?),
        None => book,
    })
}

/// The file's book, checked.
pub(crate) fn open(args: &BookArgs) -> Result<(Book, Setup), Failure> {
    let book = load(args)?;
    let setup = checked(&book, args)?;
    Ok((book, setup))
}

fn checked(book: &Book, args: &BookArgs) -> Result<Setup, Failure> {
    book.setup().map_err(|p| Failure::data(format!("{} cannot be used", args.name()), p))
}

/// The file's marks, fitted.
pub(crate) fn open_fitted(args: &BookArgs) -> Result<(Book, Setup, Fitted), Failure> {
    let (book, setup) = open(args)?;
    let fitted = fitted(&setup, args)?;
    Ok((book, setup, fitted))
}

fn fitted(setup: &Setup, args: &BookArgs) -> Result<Fitted, Failure> {
    answer::fit(setup).map_err(|e| {
        Failure::data(format!("the marks of {} cannot be fitted", args.name()), wire::fit_problem(setup, &e))
    })
}

/// The marks file at `path`, completed by `kit`, checked and fitted.
pub(crate) fn fitted_of(path: &Path, kit: &goldward_session::kit::Kit) -> Result<(Book, Setup, Fitted), Failure> {
    let args = BookArgs::of(path.to_owned());
    let book = load(&args)?.or_kit(kit);
    let setup = checked(&book, &args)?;
    let fitted = fitted(&setup, &args)?;
    Ok((book, setup, fitted))
}

/// JSON that could not be written is our fault.
pub(crate) fn json<T: serde::Serialize>(out: &T) -> Result<String, Failure> {
    wire::line(out).map_err(|p| Failure::Internal(p.one_line()))
}
