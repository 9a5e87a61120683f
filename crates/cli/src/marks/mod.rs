//! `goldward marks`: the sight mark for every distance, shot or predicted, and the card to print.

pub mod aids;
pub mod args;
pub mod card;
pub mod pages;
pub mod write;

pub use goldward_report::wire::marks as wire;

use std::io::Read as _;
use std::path::Path;

use goldward_report::item::Item;
use goldward_report::teller::Teller;

use crate::failure::{EXIT_DATA, EXIT_FINE, Failure, Fault, Said, said};
use crate::files::load_kit;
use crate::source::LogSource;
use crate::terminal::Terminal;
use args::{BookArgs, MarksArgs, MarksCommand};
use goldward_report::words::{Language, Wrong};
use goldward_session::marks::answer::{Known, Unknown};
use goldward_session::marks::book::Book;
use goldward_session::marks::toml;
use goldward_session::problem::What;

/// Largest marks file, in bytes.
const LARGEST_FILE: u64 = 4 << 20;

/// Runs the command; returns the exit code. With `--json` what is wrong with the data is told as JSON too.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &MarksArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let book = args.command.book();
    let result = match &args.command {
        MarksCommand::Predict(a) if book.file.as_os_str() == "-" => question(a, terminal),
        command if book.file.as_os_str() == "-" => {
            let _ = command;
            Err(Failure::usage("-", Wrong::DashIsPredict))
        }
        MarksCommand::Add(a) => pages::add(a, terminal),
        MarksCommand::List(a) => pages::list(a, terminal),
        MarksCommand::Fit(a) => pages::fit(a, terminal),
        MarksCommand::Predict(a) => pages::predict(a, terminal),
        MarksCommand::Card(a) => card::run(a, terminal),
        MarksCommand::Wrong(a) => aids::wrong(a, terminal),
        MarksCommand::Wind(a) => aids::wind(a, terminal),
        MarksCommand::Slope(a) => aids::slope(a, terminal),
    };
    match result {
        Err(Failure::Data { faults, title }) if book.shown.json => {
            let told: Vec<String> = faults.iter().map(Fault::one_line).collect();
            let told = if told.is_empty() { title.text(Language::English) } else { told.join("; ") };
            let line = wire::error_line(&told);
            terminal.out.write_all(line.as_bytes()).map_err(|e| Failure::from_write(&e))?;
            Ok(EXIT_DATA)
        }
        other => other,
    }
}

/// `goldward marks predict --json -`.
fn question(args: &args::PredictArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    if !args.book.shown.json {
        return Err(Failure::usage("-", Wrong::DashIsJson));
    }
    let (options, kit) = (&args.at, &args.book.kit);
    if !options.is_empty() || args.every.is_some() || args.from.is_some() || args.to.is_some() || kit.is_some() {
        return Err(Failure::usage("-", Wrong::DashTellsAll));
    }
    let title = Wrong::TheQuestion;
    let mut text = Vec::new();
    (&mut *terminal.input)
        .take(wire::LARGEST + 1)
        .read_to_end(&mut text)
        .map_err(|e| Failure::data(title, Fault::io(&e).remedy(Wrong::OneJsonObject)))?;
    if text.len() as u64 > wire::LARGEST {
        return Err(Failure::data(title, said(Wrong::Large, ["4 MB".into()])));
    }
    let answer = wire::answer(&text).map_err(|p| Failure::data(title, p))?;
    terminal.out.write_all(answer.as_bytes()).map_err(|e| Failure::from_write(&e))?;
    Ok(EXIT_FINE)
}

fn not_read(args: &BookArgs) -> Said {
    said(Wrong::NotRead, [args.file.display().into()])
}

/// The text of a marks file; `None` when there is none.
///
/// # Errors
/// [`Failure::Data`] when it cannot be read.
pub(crate) fn text_of(args: &BookArgs) -> Result<Option<String>, Failure> {
    let fail = |fault: Fault| Failure::data(not_read(args), fault);
    let mut bytes = Vec::new();
    let file = match std::fs::File::open(&args.file) {
        Ok(file) => file,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(None),
        Err(e) => return Err(fail(Fault::io(&e).remedy(Wrong::CheckTheName))),
    };
    file.take(LARGEST_FILE + 1).read_to_end(&mut bytes).map_err(|e| fail(Fault::io(&e).remedy(Wrong::CheckTheName)))?;
    if bytes.len() as u64 > LARGEST_FILE {
        return Err(fail(said(Wrong::Large, ["4 MB".into()]).into()));
    }
    let text = String::from_utf8(bytes).map_err(|_| fail(Fault::of("", What::NotUtf8)))?;
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
        let title = said(Wrong::MarksNotUsed, [args.name().into()]);
        let book = goldward_session::log::book(&kit, &marks).map_err(|e| Failure::data(title, Fault::of("", e)))?;
        return completed(book, args);
    }
    let text = text_of(args)?.ok_or_else(|| Failure::data(not_read(args), Wrong::NoMarksFile))?;
    let book = toml::parse(&text).map_err(|problems| Failure::all(not_read(args), problems))?;
    completed(book, args)
}

/// The book completed by the kit that the options name.
pub(crate) fn completed(book: Book, args: &BookArgs) -> Result<Book, Failure> {
    Ok(match &args.kit {
        Some(path) => book.or_kit(&load_kit(path)?),
        None => book,
    })
}

/// What follows from the file's marks.
pub(crate) fn open(args: &BookArgs) -> Result<Known, Failure> {
    known(load(args)?, args)
}

fn known(book: Book, args: &BookArgs) -> Result<Known, Failure> {
    Known::new(book).map_err(|e| match e {
        Unknown::Told(problem) => Failure::data(said(Wrong::NotUsed, [args.name().into()]), problem),
        Unknown::Fit(e) => Failure::data(said(Wrong::MarksNotFitted, [args.name().into()]), wire::fit_problem(e)),
    })
}

/// What follows from the marks file at `path`, completed by `kit`.
pub(crate) fn known_of(path: &Path, kit: &goldward_session::kit::Kit) -> Result<Known, Failure> {
    let args = BookArgs::of(path.to_owned());
    known(load(&args)?.or_kit(kit), &args)
}

/// Prints `items`, or what `json` gives.
pub(crate) fn answer(
    args: &BookArgs,
    terminal: &mut Terminal<'_>,
    say: impl FnOnce(&Teller<'_>) -> Vec<Item>,
    json: impl FnOnce() -> Result<String, Failure>,
) -> Result<u8, Failure> {
    args.shown.answer(terminal, &[], &|_| String::new(), say, json)
}

/// JSON that could not be written is our fault.
pub(crate) fn json<T: serde::Serialize>(out: &T) -> Result<String, Failure> {
    wire::line(out).map_err(|p| Failure::Internal(format!("{p:?}")))
}
