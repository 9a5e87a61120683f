//! The pages of `goldward marks add`, `list`, `fit` and `predict`, and their JSON.

use std::fmt::Write as _;

use goldward_core::marks::{Fitted, Mark};
use goldward_report::words::Phrase;
use serde::Serialize;

use super::args::{AddArgs, BookArgs, PredictArgs};
use super::wire::{PredictOut, PredictedOut, SuspectOut};
use super::write::{self, Replacing, Twice};
use super::{Said, answer, completed, json, open, open_fitted, text_of, wire};
use crate::failure::Failure;
use crate::wire::SCHEMA;
use goldward_session::marks::book::{Book, Entry, Setup};
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
    let mark = book.mark(entry, &scale).map_err(|e| Problem::from_core(entry.name(), &e))?;
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

fn told_proof(said: Said, entry: &Entry) -> &'static str {
    (if entry.shot { Phrase::ProofShot } else { Phrase::ProofPredicted }).text(said.language)
}

fn proof(entry: &Entry) -> &'static str {
    if entry.shot { "shot" } else { "predicted" }
}

/// `goldward marks add`.
///
/// # Errors
/// [`Failure`].
pub fn add(args: &AddArgs, said: Said) -> Result<String, Failure> {
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
        let remedy = "add the mark in the app, or name a marks file";
        return Err(Failure::Usage(Problem::new("--log", "a mark is added to a marks file", remedy)));
    }
    // Named first and read after, so that nobody else's mark is lost.
    let replacing = Replacing::start(&args.book.file)?;
    let old = text_of(&args.book)?;
    let text = match (&old, head(args)) {
        (Some(text), None) => text.clone(),
        (None, Some(head)) => head?,
        (Some(_), Some(_)) => {
            let message = "the file is there already, with its own geometry and arrow";
            let remedy = "leave out --eye-to-pin, --eye-above-arrow, --mass and --shaft, or change them in the file";
            return Err(Failure::Usage(Problem::new(plain(&name), message, remedy)));
        }
        (None, None) => {
            let remedy = "add --eye-to-pin, --eye-above-arrow, --mass and --shaft to start it, such as --eye-to-pin 88cm \
                          --eye-above-arrow 115mm --mass 21 --shaft 5.5mm";
            return Err(Failure::data(
                format!("{name} cannot be read"),
                Problem::new("", "there is no such file", remedy),
            ));
        }
    };
    let fail = |problems| Failure::Data { title: format!("nothing was added to {name}"), problems };
    let (text, book) = write::added(&text, &entry, twice).map_err(fail)?;
    let full = completed(book.clone(), &args.book)?;
    let out = mark_out(&entry, &full).map_err(|p| fail(vec![p]))?;
    if old.is_none() {
        full.setup().map_err(|p| fail(vec![p]))?;
    }
    replacing.finish(&text)?;
    if args.book.json {
        let marks = book.marks.len();
        return json(&AddOut { schema: SCHEMA, added: out, marks });
    }
    let mut page = said.with(
        Phrase::MarkAdded,
        &[
            &said.number(&entry.name()),
            &said.number(&entry.reading.to_string()),
            told_proof(said, &entry),
            &plain(&name),
            &book.marks.len().to_string(),
        ],
    );
    page.push('\n');
    if !entry.shot {
        said.put(&mut page, Phrase::MarksCaution.text(said.language));
    }
    Ok(page)
}

/// The head of a new file, when any of its options is given.
fn head(args: &AddArgs) -> Option<Result<String, Failure>> {
    match (args.eye_to_pin, args.eye_above_arrow, args.mass, args.shaft) {
        (None, None, None, None) => None,
        (Some(pin), Some(above), Some(mass), Some(shaft)) => {
            Some(Ok(write::new_head(pin.mm(), above.mm(), mass, shaft.mm())))
        }
        _ => Some(Err(Failure::Usage(Problem::new(
            "",
            "a new marks file needs all four of geometry and arrow",
            "give --eye-to-pin, --eye-above-arrow, --mass and --shaft",
        )))),
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
pub fn list(args: &BookArgs, said: Said) -> Result<String, Failure> {
    let (book, setup) = open(args)?;
    let mut order: Vec<&Entry> = book.marks.iter().collect();
    order.sort_by(|a, b| a.range.m().total_cmp(&b.range.m()));
    let outs = order.iter().map(|e| mark_out(e, &book)).collect::<Result<Vec<_>, _>>();
    let outs = outs.map_err(|p| Failure::data(format!("{} cannot be used", args.name()), p))?;
    if args.json {
        return json(&ListOut { schema: SCHEMA, name: book.name.as_deref(), marks: outs });
    }
    let numbers = Numbers::new(setup.scale);
    let mut page = format!("{}\n\n", title(said, &book));
    if outs.is_empty() {
        let _ = writeln!(page, "  {}", Phrase::NoMarks.text(said.language));
    }
    let longest = order.iter().map(|e| e.name().chars().count()).max().unwrap_or(0).max(8);
    for (entry, out) in order.iter().zip(&outs) {
        let known = said.number(&format!("{} ± {}", numbers.at(out.reading_mm), numbers.length(out.sd_mm)));
        let mut line =
            format!("  {:<longest$}  {known:>16}  {:<9}", said.number(&entry.name()), told_proof(said, entry));
        for more in [&entry.date, &entry.note].into_iter().flatten() {
            let _ = write!(line, "  {}", plain(more));
        }
        page.push_str(line.trim_end());
        page.push('\n');
    }
    page.push('\n');
    said.put(&mut page, &legend(said, &numbers, Phrase::OneSd));
    if order.iter().any(|e| !e.shot) {
        said.put(&mut page, Phrase::MarksCaution.text(said.language));
    }
    Ok(page)
}

#[derive(Debug, Serialize)]
struct ListOut<'a> {
    schema: u8,
    name: Option<&'a str>,
    marks: Vec<MarkOut<'a>>,
}

/// What the marks are of.
fn title(said: Said, book: &Book) -> String {
    match &book.name {
        Some(name) => said.with(Phrase::MarksTitleOf, &[&plain(name)]),
        None => Phrase::MarksTitle.text(said.language).to_owned(),
    }
}

fn legend(said: Said, numbers: &Numbers, more: Phrase) -> String {
    let more = more.text(said.language);
    match numbers.unit() {
        Some(unit) => said.with(Phrase::ScaleUnitIs, &[&said.number(&goldward_core::units::trim_number(unit)), more]),
        None => said.with(Phrase::ScaleInMm, &[more]),
    }
}

/// The suspects in words.
pub(crate) fn suspect_lines(said: Said, fitted: &Fitted, numbers: &Numbers) -> Vec<String> {
    let lines = fitted.suspects().iter().map(|s| {
        let mark = &fitted.marks()[s.index];
        let expected = s.expected_mm.map_or_else(
            || Phrase::OthersNeither.text(said.language).to_owned(),
            |mm| said.with(Phrase::OthersSay, &[&said.number(&numbers.at(mm))]),
        );
        let phrase = if s.p_wrong > 0.5 { Phrase::SuspectIs } else { Phrase::SuspectMayBe };
        let reading = said.number(&numbers.at(mark.reading_mm()));
        said.with(phrase, &[&said.number(&s.name), &reading, &said.percent(s.p_wrong), &expected])
    });
    lines.collect()
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

fn residuals(fitted: &Fitted) -> Result<Vec<ResidualOut>, Problem> {
    let rows = fitted.marks().iter().zip(fitted.p_wrong()).map(|(mark, p)| {
        let at =
            fitted.predict_on(mark.distance_m(), mark.slope_rad()).map_err(|e| Problem::from_core(mark.name(), &e))?;
        Ok(ResidualOut {
            distance_m: mark.distance_m(),
            reading_mm: mark.reading_mm(),
            fitted_mm: at.reading_mm,
            residual_mm: mark.reading_mm() - at.reading_mm,
            p_wrong: *p,
        })
    });
    rows.collect()
}

/// `goldward marks fit`.
///
/// # Errors
/// [`Failure`].
pub fn fit(args: &BookArgs, said: Said) -> Result<String, Failure> {
    let (book, setup, fitted) = open_fitted(args)?;
    let rows = residuals(&fitted).map_err(|p| Failure::data("the marks cannot be fitted", p))?;
    let ((speed, speed_sd), (drag, drag_sd)) = (fitted.speed_m_s(), fitted.drag_per_m());
    let (zero, zero_sd) = fitted.scale_zero_mm();
    if args.json {
        return json(&FitOut {
            schema: SCHEMA,
            speed_m_s: speed,
            speed_sd,
            drag_per_m: drag,
            drag_sd,
            scale_zero_mm: zero,
            scale_zero_sd: zero_sd,
            eye_above_arrow_mm: fitted.eye_above_arrow_mm().0,
            scatter: fitted.scatter(),
            marks: rows,
            suspect: wire::suspects(&fitted),
        });
    }
    let numbers = Numbers::new(setup.scale);
    let mut page = format!("{}\n\n", title(said, &book));
    let l = said.language;
    let lost = 100.0 * (1.0 - (-10.0 * drag).exp());
    let drags = [l.decimals(1e3 * drag, 2), l.decimals(1e3 * drag_sd, 2), l.decimals(lost, 1)];
    let told = [
        (Phrase::RowSpeed, format!("{} ± {} m/s", l.decimals(speed, 1), l.decimals(speed_sd, 1))),
        (Phrase::RowDrag, said.with(Phrase::DragIs, &drags.each_ref().map(String::as_str))),
        (Phrase::RowZero, said.number(&format!("{} ± {}", numbers.at(zero), numbers.length(zero_sd)))),
    ];
    let wide = told.iter().map(|(name, _)| name.text(l).chars().count()).max().unwrap_or(0);
    for (name, value) in told {
        let _ = writeln!(page, "  {:<wide$}  {value}", name.text(l));
    }
    page.push('\n');
    let longest = fitted.marks().iter().map(|m| m.name().chars().count()).max().unwrap_or(0).max(8);
    let [mark, shot, curve, off, wrong] =
        [Phrase::HeadMark, Phrase::HeadShot, Phrase::HeadFitted, Phrase::HeadOffBy, Phrase::HeadWrong]
            .map(|p| p.text(l));
    let _ = writeln!(page, "  {mark:<longest$}  {shot:>14}  {curve:>8}  {off:>8}  {wrong}");
    for (mark, row) in fitted.marks().iter().zip(&rows) {
        let _ = writeln!(
            page,
            "  {:<longest$}  {:>14}  {:>8}  {:>8}  {}",
            said.number(mark.name()),
            said.number(&format!("{} ± {}", numbers.at(mark.reading_mm()), numbers.length(mark.sd_mm()))),
            said.number(&numbers.at(row.fitted_mm)),
            said.number(&numbers.change(row.residual_mm)),
            said.percent(row.p_wrong),
        );
    }
    page.push('\n');
    for line in verdict(said, &fitted, &numbers) {
        said.put(&mut page, &line);
    }
    said.put(&mut page, &legend(said, &numbers, Phrase::OneSd));
    Ok(page)
}

/// What the fit means.
fn verdict(said: Said, fitted: &Fitted, numbers: &Numbers) -> Vec<String> {
    let mut lines = suspect_lines(said, fitted, numbers);
    let l = said.language;
    let marks: &[Mark] = fitted.marks();
    if lines.is_empty() {
        lines.push(match (marks.len(), fitted.scatter()) {
            (1, _) => Phrase::OneMarkTells.text(l).to_owned(),
            (_, Some(scatter)) if scatter > 2.0 => said.with(Phrase::MarksScatter, &[&l.decimals(scatter, 1)]),
            _ => Phrase::MarksBelong.text(l).to_owned(),
        });
    }
    if marks.len() > 1 && fitted.speed_drag_correlation() > 0.95 {
        lines.push(Phrase::SpeedOrDrag.text(l).to_owned());
    }
    lines
}

/// The distances asked for.
fn wanted(args: &PredictArgs, setup: &Setup) -> Result<Vec<Range>, Failure> {
    let mut list = args.at.clone();
    let ladder_asked = args.every.is_some() || args.from.is_some() || args.to.is_some();
    if list.is_empty() || ladder_asked {
        let longest = setup.shot.iter().map(Mark::distance_m).fold(0.0, f64::max);
        let from = args.from.unwrap_or(10.0);
        let to = args.to.unwrap_or_else(|| usual_end(longest, from, args.yards));
        let rungs = ladder(from, to, args.every.unwrap_or(5.0), args.yards)
            .map_err(|e| Failure::Usage(Problem::from_core("--from, --to", &e)))?;
        list.extend(rungs);
    }
    list.sort_by(|a, b| a.m().total_cmp(&b.m()));
    list.dedup_by(|a, b| (a.m() - b.m()).abs() < 1e-9);
    if list.is_empty() || list.len() > wire::MOST_DISTANCES {
        let remedy = format!("ask for 1 to {} distances, --to beyond --from", wire::MOST_DISTANCES);
        return Err(Failure::Usage(Problem::new(
            "--from, --to",
            format!("these are {} distances", list.len()),
            remedy,
        )));
    }
    Ok(list)
}

/// `goldward marks predict` from a file.
///
/// # Errors
/// [`Failure`].
pub fn predict(args: &PredictArgs, said: Said) -> Result<String, Failure> {
    let (book, setup, fitted) = open_fitted(&args.book)?;
    let ranges = wanted(args, &setup)?;
    let at = |range: &Range| {
        let range = *range;
        move |e: goldward_core::marks::MarksError| {
            Failure::data("a mark cannot be predicted", Problem::from_core(range.to_string(), &e))
        }
    };
    let mut predictions = Vec::with_capacity(ranges.len());
    for range in &ranges {
        predictions.push(fitted.predict(range.m()).map_err(at(range))?);
    }
    let metres: Vec<f64> = ranges.iter().map(|r| r.m()).collect();
    let next = answer::next(&fitted, &metres).map_err(at(&ranges[0]))?;
    let numbers = Numbers::new(setup.scale);
    if args.book.json {
        let out = predictions.iter().map(|p| PredictedOut {
            distance_m: p.distance_m,
            reading_mm: p.reading_mm,
            sd_mm: p.sd_mm,
            extrapolated: p.extrapolated,
            interval_mm: Some(p.interval_mm),
            reading: Some(setup.scale.number_at(p.reading_mm)),
        });
        return json(&PredictOut::new(&fitted, out.collect(), next.distance_m));
    }
    let mut page = format!("{}\n\n", title(said, &book));
    let l = said.language;
    let and = Phrase::AndBetween.text(l);
    let [far, mark, between, face] =
        [Phrase::HeadDistance, Phrase::HeadMark, Phrase::HeadEighty, Phrase::HeadOnFace].map(|p| p.text(l));
    let _ = writeln!(page, "  {far:<10}{mark:>6}   {between:<18}{face}");
    for (range, p) in ranges.iter().zip(&predictions) {
        let [low, high] = numbers.interval(p.interval_mm);
        let shot = setup.from.iter().any(|i| book.marks[*i].range.same_as(*range) && book.marks[*i].slope_deg == 0.0);
        let what = match (shot, p.extrapolated) {
            (true, false) => Phrase::ProofShot.text(l),
            (true, true) => Phrase::ShotDoubted.text(l),
            (false, true) => Phrase::BeyondMarks.text(l),
            (false, false) => "",
        };
        let line = format!(
            "  {:<8}  {:>6}   {:>6} {and} {:<6}  ± {:>4} cm  {what}",
            said.number(&range.to_string()),
            said.number(&numbers.at(p.reading_mm)),
            said.number(&low),
            said.number(&high),
            l.decimals(0.1 * p.sd_on_face_mm, 1)
        );
        page.push_str(line.trim_end());
        page.push('\n');
    }
    page.push('\n');
    for line in suspect_lines(said, &fitted, &numbers) {
        said.put(&mut page, &line);
    }
    let named =
        ranges.iter().chain(book.marks.iter().map(|m| &m.range)).find(|r| (r.m() - next.distance_m).abs() < 0.05);
    let name = named.map_or_else(|| format!("{:.1} m", next.distance_m), ToString::to_string);
    let start = if next.extrapolated { Phrase::StartCloser.text(l) } else { "" };
    let [now, after] = [next.sd_now_mm, next.sd_after_mm].map(|mm| l.decimals(mm, 2));
    said.put(&mut page, &said.with(Phrase::ShootNext, &[&said.number(&name), &now, &after, start]));
    said.put(&mut page, &legend(said, &numbers, Phrase::OnFaceSd));
    said.put(&mut page, Phrase::MarksCaution.text(said.language));
    Ok(page)
}
