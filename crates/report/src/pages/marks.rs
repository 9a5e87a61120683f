//! Sight marks: those shot, those to expect, how they hang together, and which to shoot next.

use goldward_core::marks::{Next, Suspect};
use goldward_session::marks::answer::{Expected, Known, Residual};
use goldward_session::marks::book::{Book, Entry};
use goldward_session::marks::numbers::Numbers;

use crate::item::Item;
use crate::teller::Teller;
use crate::words::{Phrase, Word};
use goldward_core::stats::Z_80;

/// Where a mark was shot.
#[must_use]
pub fn place(t: &Teller<'_>, entry: &Entry) -> String {
    let far = t.range(entry.range);
    if entry.slope_deg == 0.0 { far } else { t.f(Word::MarkOnSlope, &[&far, &t.number(entry.slope_deg, 1)]) }
}

/// What the marks are of.
#[must_use]
pub fn title(t: &Teller<'_>, book: &Book) -> Item {
    Item::Heading(match &book.name {
        Some(name) => Phrase::MarksTitleOf.with(t.language, &[name]),
        None => Phrase::MarksTitle.text(t.language).to_owned(),
    })
}

/// What the numbers are.
fn legend(t: &Teller<'_>, numbers: &Numbers) -> Item {
    Item::Note(match numbers.unit() {
        Some(unit) => t.f(Word::ScaleUnitIs, &[&t.number(unit, 3)]),
        None => t.t(Word::ScaleInMm),
    })
}

/// The marks of a book as they were told, nearest first.
#[must_use]
pub fn list(t: &Teller<'_>, book: &Book, numbers: &Numbers) -> Vec<Item> {
    let mut order: Vec<&Entry> = book.marks.iter().collect();
    order.sort_by(|a, b| a.range.m().total_cmp(&b.range.m()));
    if order.is_empty() {
        return vec![Item::Text(t.t(Word::MarksNone))];
    }
    let rows = order.iter().map(|e| {
        let scale = numbers.scale();
        let sd = t.language.number(&numbers.length(book.sd_mm(e, &scale)));
        let told = t.language.number(&goldward_core::units::trim_number(e.reading));
        let proof = if e.shot { String::new() } else { t.t(Word::ProofPredicted) };
        let more: Vec<String> = [Some(proof), e.date.clone(), e.note.clone()].into_iter().flatten().collect();
        let more: Vec<&str> = more.iter().map(String::as_str).filter(|m| !m.is_empty()).collect();
        vec![place(t, e), format!("{told} ± {sd}"), more.join(", ")]
    });
    let head = [Word::Distance, Word::Reading, Word::MarkNote].map(|w| t.t(w)).to_vec();
    let mut items = vec![narrow(t.t(Word::MarkShot), head, rows.collect()), legend(t, numbers)];
    items.push(Item::Note(t.t(Word::PlusMinus)));
    if order.iter().any(|e| !e.shot) {
        items.push(Item::Safety(t.t(Word::MarkUnproven)));
    }
    items
}

/// A table whose last column goes where nothing stands in it.
fn narrow(label: String, mut head: Vec<String>, mut rows: Vec<Vec<String>>) -> Item {
    if rows.iter().all(|r| r.last().is_none_or(String::is_empty)) {
        head.pop();
        rows.iter_mut().for_each(|r| drop(r.pop()));
    }
    Item::Table(label, head, rows)
}

/// The marks that do not belong with the others.
#[must_use]
pub fn suspects(t: &Teller<'_>, known: &Known) -> Vec<Item> {
    let numbers = known.numbers();
    let at = |mm: f64| t.language.number(&numbers.at(mm));
    let one = |s: &Suspect| {
        let name = known.entry(s.index).map_or_else(|| s.name.clone(), |e| place(t, e));
        let (reading, often) = (at(known.fitted.marks()[s.index].reading_mm()), t.often(s.p_wrong));
        Item::Warning(match s.expected_mm {
            Some(mm) => t.f(Word::MarkSuspect, &[&name, &reading, &often, &at(mm)]),
            None => t.f(Word::MarkSuspectAlone, &[&name, &reading, &often]),
        })
    };
    known.fitted.suspects().iter().map(one).collect()
}

/// The marks to expect, and which to shoot next.
#[must_use]
pub fn predict(t: &Teller<'_>, known: &Known, expected: &[Expected], next: Option<&Next>) -> Vec<Item> {
    let numbers = known.numbers();
    let l = t.language;
    let rows = expected.iter().map(|e| {
        let [low, high] = numbers.interval(e.at.interval_mm).map(|n| l.number(&n));
        let what = match (e.shot, e.at.extrapolated) {
            (true, false) => t.t(Word::ProofShot),
            (true, true) => t.t(Word::ShotDoubted),
            (false, true) => t.t(Word::Extrapolated),
            (false, false) => String::new(),
        };
        vec![
            t.range(e.range),
            l.number(&numbers.at(e.at.reading_mm)),
            format!("{low} – {high}"),
            format!("± {}", t.length(Z_80 * e.at.sd_on_face_mm)),
            what,
        ]
    });
    let head = [Word::Distance, Word::Reading, Word::FourInFive, Word::OnFace, Word::MarkNote].map(|w| t.t(w)).to_vec();
    let mut items = suspects(t, known);
    items.push(narrow(t.t(Word::MarkPredicted), head, rows.collect()));
    if let Some(next) = next {
        let told = expected.iter().map(|e| e.range).chain(known.book.marks.iter().map(|m| m.range));
        let name = told.into_iter().find(|r| (r.m() - next.distance_m).abs() < 0.05);
        let name = name.map_or_else(|| t.distance(next.distance_m), |r| t.range(r));
        let [now, after] = [next.sd_now_mm, next.sd_after_mm].map(|mm| l.decimals(mm, 2));
        items.push(Item::Text(t.f(Word::MarkNext, &[&name, &now, &after])));
        if next.extrapolated {
            items.push(Item::Warning(t.t(Word::StartCloser)));
        }
    }
    items.push(legend(t, &numbers));
    items.push(Item::Safety(t.t(Word::MarkUnproven)));
    items
}

/// Speed, drag and zero of the scale, and how far each mark lies from the curve.
#[must_use]
pub fn fit(t: &Teller<'_>, known: &Known, residuals: &[Residual]) -> Vec<Item> {
    let (numbers, fitted, l) = (known.numbers(), &known.fitted, t.language);
    let ((speed, speed_sd), (drag, drag_sd)) = (fitted.speed_m_s(), fitted.drag_per_m());
    let (zero, zero_sd) = fitted.scale_zero_mm();
    let lost = 100.0 * (1.0 - (-10.0 * drag).exp());
    let drags = [l.decimals(1e3 * drag, 2), l.decimals(1e3 * drag_sd, 2), l.decimals(lost, 1)];
    let told = [
        (Phrase::RowSpeed, format!("{} ± {} m/s", l.decimals(speed, 1), l.decimals(speed_sd, 1))),
        (Phrase::RowDrag, Phrase::DragIs.with(l, &drags.each_ref().map(String::as_str))),
        (Phrase::RowZero, l.number(&format!("{} ± {}", numbers.at(zero), numbers.length(zero_sd)))),
    ];
    let mut items: Vec<Item> =
        told.into_iter().map(|(name, value)| Item::Text(format!("{}: {value}", name.text(l)))).collect();
    let rows = fitted.marks().iter().zip(residuals).enumerate().map(|(i, (mark, row))| {
        vec![
            known.entry(i).map_or_else(|| mark.name().to_owned(), |e| place(t, e)),
            l.number(&format!("{} ± {}", numbers.at(mark.reading_mm()), numbers.length(mark.sd_mm()))),
            l.number(&numbers.at(row.fitted_mm)),
            l.number(&numbers.change(row.off_mm)),
            t.often(row.p_wrong),
        ]
    });
    let head = [Phrase::HeadShot, Phrase::HeadFitted, Phrase::HeadOffBy, Phrase::HeadWrong].map(|p| p.text(l));
    let head = std::iter::once(t.t(Word::Distance)).chain(head.map(str::to_owned)).collect();
    items.push(Item::Table(t.t(Word::MarkShot), head, rows.collect()));
    items.extend(verdict(t, known));
    items.push(legend(t, &numbers));
    items.push(Item::Note(t.t(Word::PlusMinus)));
    items
}

/// What the fit means.
fn verdict(t: &Teller<'_>, known: &Known) -> Vec<Item> {
    let mut items = suspects(t, known);
    let (fitted, l) = (&known.fitted, t.language);
    let marks = fitted.marks().len();
    if items.is_empty() {
        items.push(Item::Answer(match (marks, fitted.scatter()) {
            (1, _) => Phrase::OneMarkTells.text(l).to_owned(),
            (_, Some(scatter)) if scatter > 2.0 => Phrase::MarksScatter.with(l, &[&l.decimals(scatter, 1)]),
            _ => Phrase::MarksBelong.text(l).to_owned(),
        }));
    }
    if marks > 1 && fitted.speed_drag_correlation() > 0.95 {
        items.push(Item::Note(Phrase::SpeedOrDrag.text(l).to_owned()));
    }
    items
}
