//! The marks of a kit of the log.

use goldward_core::marks::{Fitted, MarksError};
use goldward_core::sight::Sight;
use goldward_core::units::{Distance, Shaft, UnitError};
use goldward_journal::{Kit, Mark, Proven};

use crate::kit;
use crate::marks::answer;
use crate::marks::book::{ArrowIn, Book, Entry};
use crate::marks::quantity::{Range, Speed};

/// The book of a kit: the same that a marks file with these numbers would be.
///
/// # Errors
/// [`UnitError`] for a mark at a distance that is none.
pub fn book(kit: &Kit, marks: &[Mark]) -> Result<Book, UnitError> {
    let entries: Result<Vec<Entry>, UnitError> = marks
        .iter()
        .map(|m| {
            let range = Range::metres(Distance::from_metres(m.distance_m)?.metres())?;
            Ok(Entry {
                sd: m.reading_sd,
                shot: m.proven == Proven::Shot,
                slope_deg: m.slope_deg.unwrap_or(0.0),
                ..Entry::shot(range, m.elevation_reading)
            })
        })
        .collect();
    let book = Book {
        name: (!kit.name.is_empty()).then(|| kit.name.clone()),
        eye_above_arrow_mm: kit.eye_above_arrow_mm,
        arrow: ArrowIn {
            mass_g: kit.arrow_mass_g,
            speed: kit.arrow_speed_m_s.map(Speed::metres_per_second),
            ..ArrowIn::default()
        },
        marks: entries?,
        ..Book::default()
    };
    let mut book = book.or_kit(&kit::Kit::from(kit));
    // As every reading takes them where the kit does not say.
    book.eye_to_pin_mm = book.eye_to_pin_mm.or(Some(Sight::default().eye_to_pin_mm()));
    book.arrow.diameter_mm = book.arrow.diameter_mm.or(Some(Shaft::default().diameter_mm()));
    Ok(book)
}

/// What core makes of the marks that were shot, each named as `label` says for its metres; nothing when the kit says too
/// little.
#[must_use]
pub fn fit(kit: &Kit, marks: &[Mark], label: impl Fn(f64) -> String) -> Option<Result<Fitted, MarksError>> {
    let mut setup = book(kit, marks).ok()?.setup().ok()?;
    setup.shot = setup
        .shot
        .into_iter()
        .map(|m| {
            let name = label(m.distance_m());
            m.named(name)
        })
        .collect();
    Some(answer::fit(&setup))
}
