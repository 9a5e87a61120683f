//! `goldward marks add`, `list`, `fit` and `predict`, and their JSON.

use goldward_core::marks::MarksError;
use goldward_report::item::Item;
use goldward_report::pages::marks as page;
use goldward_report::teller::Teller;
use goldward_report::words::{Phrase, Word, Wrong};
use serde::Serialize;

use super::args::{AddArgs, BookArgs, PredictArgs};
use super::wire::{PredictOut, PredictedOut, SuspectOut};
use super::write::{self, Replacing, Twice};
use super::{answer, completed, json, load, not_read, open, text_of, wire};
use crate::failure::{Failure, Fault, said};
use crate::terminal::Terminal;
use crate::wire::SCHEMA;
use goldward_session::marks::answer::{Known, next};
use goldward_session::marks::book::{Book, Entry};
use goldward_session::marks::numbers::{Numbers, ladder, usual_end};
use goldward_session::marks::quantity::Range;
use goldward_session::problem::{Problem, plain};

/// A mark of the file as JSON.
#[derive(Debug, Serialize)]
struct MarkOut<'a> {
    distance_m: f64,
    reading: f64,
    reading_mm: f64,
    sd_mm: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    arrows: Option<u32>,
    proof: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    slope_deg: Option<f64>,
    date: Option<&'a str>,
    note: Option<&'a str>,
}

fn mark_out<'a>(entry: &'a Entry, book: &Book) -> Result<MarkOut<'a>, Problem> {
    let scale = book.scale()?;
    let mark = book.mark(entry, &scale).map_err(|e| Problem::new(entry.name(), e))?;
    Ok(MarkOut {
        distance_m: mark.distance_m(),
        reading: entry.reading,
        reading_mm: mark.reading_mm(),
        sd_mm: mark.sd_mm(),
        arrows: entry.arrows,
        proof: proof(entry),
        slope_deg: (entry.slope_deg != 0.0).then_some(entry.slope_deg),
        date: entry.date.as_deref(),
        note: entry.note.as_deref(),
    })
}

fn proof(entry: &Entry) -> &'static str {
    if entry.shot { "shot" } else { "predicted" }
}

/// `goldward marks add`.
///
/// # Errors
/// [`Failure`].
pub fn add(args: &AddArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let name = args.book.file.display().to_string();
    let entry = Entry {
        sd: args.sd,
        arrows: args.arrows,
        shot: !args.predicted,
        slope_deg: args.slope.unwrap_or(0.0),
        date: args.date.clone(),
        note: args.note.clone(),
        ..Entry::shot(args.distance, args.reading)
    };
    let twice = match (args.replace, args.both) {
        (true, _) => Twice::Replace,
        (_, true) => Twice::Both,
        _ => Twice::Refuse,
    };
    if args.book.log.is_some() {
        return Err(Failure::usage("--log", Wrong::MarkIntoFile));
    }
    // Named first and read after, so that nobody else's mark is lost.
    let replacing = Replacing::start(&args.book.file)?;
    let old = text_of(&args.book)?;
    let text = match (&old, head(args)) {
        (Some(text), None) => text.clone(),
        (None, Some(head)) => head?,
        (Some(_), Some(_)) => return Err(Failure::usage(&name, Wrong::MarksFileThere)),
        (None, None) => return Err(Failure::data(not_read(&args.book), Wrong::NewMarksFile)),
    };
    let title = || said(Wrong::NothingAdded, [name.as_str().into()]);
    let fail = |problem: Problem| Failure::data(title(), problem);
    let (text, book) = write::added(&text, &entry, twice).map_err(|faults| Failure::all(title(), faults))?;
    let full = completed(book.clone(), &args.book)?;
    let out = mark_out(&entry, &full).map_err(fail)?;
    if old.is_none() {
        full.setup().map_err(fail)?;
    }
    replacing.finish(&text)?;
    let marks = book.marks.len();
    let say = |t: &Teller<'_>| {
        let proof = t.t(if entry.shot { Word::ProofShot } else { Word::ProofPredicted });
        let told = [page::place(t, &entry), t.number(entry.reading, 3), proof, plain(&name), marks.to_string()];
        let mut items = vec![Item::Answer(Phrase::MarkAdded.with(t.language, &told.each_ref().map(String::as_str)))];
        items.extend((!entry.shot).then(|| Item::Safety(t.t(Word::MarkUnproven))));
        items
    };
    answer(&args.book, terminal, say, || json(&AddOut { schema: SCHEMA, added: out, marks }))
}

/// The head of a new file, when any of its options is given.
fn head(args: &AddArgs) -> Option<Result<String, Failure>> {
    match (args.eye_to_pin, args.eye_above_arrow, args.mass, args.shaft) {
        (None, None, None, None) => None,
        (Some(pin), Some(above), Some(mass), Some(shaft)) => {
            Some(Ok(write::new_head(pin.mm(), above.mm(), mass, shaft.mm())))
        }
        _ => Some(Err(Failure::usage("", Wrong::AllFour))),
    }
}

#[derive(Debug, Serialize)]
struct AddOut<'a> {
    schema: u8,
    added: MarkOut<'a>,
    marks: usize,
}

/// `goldward marks list`.
///
/// # Errors
/// [`Failure`].
pub fn list(args: &BookArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let book = load(args)?;
    let cannot = |p: Problem| Failure::data(said(Wrong::NotUsed, [args.name().into()]), p);
    let setup = book.setup().map_err(cannot)?;
    let mut order: Vec<&Entry> = book.marks.iter().collect();
    order.sort_by(|a, b| a.range.m().total_cmp(&b.range.m()));
    let outs = order.iter().map(|e| mark_out(e, &book)).collect::<Result<Vec<_>, _>>();
    let outs = outs.map_err(cannot)?;
    let numbers = Numbers::new(setup.scale);
    answer(
        args,
        terminal,
        |t| [vec![page::title(t, &book)], page::list(t, &book, &numbers)].concat(),
        || json(&ListOut { schema: SCHEMA, name: book.name.as_deref(), marks: outs }),
    )
}

#[derive(Debug, Serialize)]
struct ListOut<'a> {
    schema: u8,
    name: Option<&'a str>,
    marks: Vec<MarkOut<'a>>,
}

#[derive(Debug, Serialize)]
struct FitOut {
    schema: u8,
    speed_m_s: f64,
    speed_sd: f64,
    drag_per_m: f64,
    drag_sd: f64,
    scale_zero_mm: f64,
    scale_zero_sd: f64,
    eye_above_arrow_mm: f64,
    scatter: Option<f64>,
    marks: Vec<ResidualOut>,
    suspect: Vec<SuspectOut>,
}

#[derive(Debug, Serialize)]
struct ResidualOut {
    distance_m: f64,
    reading_mm: f64,
    fitted_mm: f64,
    residual_mm: f64,
    p_wrong: f64,
}

/// `goldward marks fit`.
///
/// # Errors
/// [`Failure`].
pub fn fit(args: &BookArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let known = open(args)?;
    let residuals = known
        .residuals()
        .map_err(|(name, e)| Failure::data(said(Wrong::MarksNotFitted, [args.name().into()]), Fault::of(name, e)))?;
    let fitted = &known.fitted;
    let object = || {
        let ((speed_m_s, speed_sd), (drag_per_m, drag_sd)) = (fitted.speed_m_s(), fitted.drag_per_m());
        let (scale_zero_mm, scale_zero_sd) = fitted.scale_zero_mm();
        let marks = fitted.marks().iter().zip(&residuals).map(|(mark, row)| ResidualOut {
            distance_m: mark.distance_m(),
            reading_mm: mark.reading_mm(),
            fitted_mm: row.fitted_mm,
            residual_mm: row.off_mm,
            p_wrong: row.p_wrong,
        });
        json(&FitOut {
            schema: SCHEMA,
            speed_m_s,
            speed_sd,
            drag_per_m,
            drag_sd,
            scale_zero_mm,
            scale_zero_sd,
            eye_above_arrow_mm: fitted.eye_above_arrow_mm().0,
            scatter: fitted.scatter(),
            marks: marks.collect(),
            suspect: wire::suspects(fitted),
        })
    };
    let say = |t: &Teller<'_>| [vec![page::title(t, &known.book)], page::fit(t, &known, &residuals)].concat();
    answer(args, terminal, say, object)
}

/// The distances asked for.
fn wanted(args: &PredictArgs, known: &Known) -> Result<Vec<Range>, Failure> {
    let mut list = args.at.clone();
    let ladder_asked = args.every.is_some() || args.from.is_some() || args.to.is_some();
    if list.is_empty() || ladder_asked {
        let from = args.from.unwrap_or(10.0);
        let to = args.to.unwrap_or_else(|| usual_end(known.longest_m(), from, args.yards));
        let rungs = ladder(from, to, args.every.unwrap_or(5.0), args.yards)
            .map_err(|e| Failure::Usage(Fault::of("--from, --to", e)))?;
        list.extend(rungs);
    }
    list.sort_by(|a, b| a.m().total_cmp(&b.m()));
    list.dedup_by(|a, b| (a.m() - b.m()).abs() < 1e-9);
    if list.is_empty() || list.len() > wire::MOST_DISTANCES {
        let asked = said(Wrong::AskForDistances, [list.len().into(), wire::MOST_DISTANCES.into()]);
        return Err(Failure::usage("--from, --to", asked));
    }
    Ok(list)
}

/// `goldward marks predict` from a file.
///
/// # Errors
/// [`Failure`].
pub fn predict(args: &PredictArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let known = open(&args.book)?;
    let ranges = wanted(args, &known)?;
    let cannot = |range: Range, e: MarksError| Failure::data(Wrong::NoMarkPredicted, Fault::of(range.to_string(), e));
    let expected = known.expect(&ranges).map_err(|(range, e)| cannot(range, e))?;
    let metres: Vec<f64> = ranges.iter().map(|r| r.m()).collect();
    let next = next(&known.fitted, &metres).map_err(|e| cannot(ranges[0], e))?;
    let object = || {
        let out = expected.iter().map(|e| PredictedOut {
            distance_m: e.at.distance_m,
            reading_mm: e.at.reading_mm,
            sd_mm: e.at.sd_mm,
            extrapolated: e.at.extrapolated,
            interval_mm: Some(e.at.interval_mm),
            reading: Some(known.setup.scale.number_at(e.at.reading_mm)),
        });
        json(&PredictOut::new(&known.fitted, out.collect(), next.distance_m))
    };
    let say =
        |t: &Teller<'_>| [vec![page::title(t, &known.book)], page::predict(t, &known, &expected, Some(&next))].concat();
    answer(&args.book, terminal, say, object)
}
