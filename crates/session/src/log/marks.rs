//! The marks of a kit of the log.

use goldward_core::marks::{MARK_ARROWS, MarksError, PinDown, Scale, mark_sd_mm};
use goldward_core::sight::Sight;
use goldward_core::units::{Distance, Shaft, UnitError};
use goldward_journal::{Body, Kit, Log, Mark, Proven};
use uuid::Uuid;

use super::learnt::same_distance;
use super::seen::spreads_where;
use super::{DAY_MS, learn};
use crate::kit;
use crate::marks::answer::{Known, Unknown};
use crate::marks::book::{ArrowIn, Book, Entry};
use crate::marks::quantity::{Range, Speed};

/// The marks of a kit, nearest first, each known as well as the log tells.
///
/// A mark that was shot and does not say how well it is known gets its error from the arrows it was shot with
/// ([`mark_sd_mm`]): as many as it says, else as many as were shot at its distance with this kit in the half day before
/// it, and as far apart as earlier sessions at that distance have shown ([`learn`]). Where the log tells neither, the mark
/// stays as it is, and the book takes what is usual.
#[must_use]
pub fn marks_of(log: &Log, archer: Uuid, kit_id: Uuid, kit: &Kit) -> Vec<(Uuid, Mark)> {
    let all = log.of(|b| if let Body::Mark(m) = b { Some(m) } else { None }).into_iter();
    let mut marks: Vec<(Uuid, Mark)> =
        all.filter(|(r, m)| r.archer == archer && m.kit == kit_id).map(|(r, m)| (r.id, m.clone())).collect();
    marks.sort_by(|a, b| a.1.distance_m.total_cmp(&b.1.distance_m).then(a.1.at_ms.cmp(&b.1.at_ms)).then(a.0.cmp(&b.0)));
    let open = |m: &Mark| m.proven == Proven::Shot && m.reading_sd.is_none();
    if !marks.iter().any(|(_, m)| open(m)) {
        return marks;
    }
    let distances: Vec<f64> = marks.iter().map(|(_, m)| m.distance_m).collect();
    let seen = spreads_where(log, archer, |s| distances.iter().any(|d| same_distance(s.distance_m, *d)));
    let own = kit::Kit::from(kit).wishes;
    let eye_to_pin_mm = own.eye_to_pin_mm.unwrap_or_else(|| Sight::default().eye_to_pin_mm());
    let Ok(scale) = Scale::new(kit.elevation_unit_mm.unwrap_or(1.0), PinDown::Grows) else { return marks };
    for (_, mark) in marks.iter_mut().filter(|(_, m)| open(m)) {
        mark.arrows = mark.arrows.or_else(|| shot_before(log, archer, kit_id, mark));
        let Ok(distance) = Distance::from_metres(mark.distance_m) else { continue };
        let Ok(learnt) = learn(&seen, distance, Some(kit), mark.at_ms.saturating_add(1)) else { continue };
        if learnt.sessions > 0 {
            let arrows = mark.arrows.unwrap_or(MARK_ARROWS);
            mark.reading_sd = Some(scale.units(mark_sd_mm(eye_to_pin_mm, learnt.spread.mrad(), arrows)));
        }
    }
    marks
}

/// How many arrows were shot at the distance of a mark, with its kit, in the half day before it.
fn shot_before(log: &Log, archer: Uuid, kit: Uuid, mark: &Mark) -> Option<u32> {
    let since = mark.at_ms.saturating_sub((0.5 * DAY_MS) as u64);
    let sessions = log.heads(archer).filter(|r| {
        matches!(&r.body, Body::Session(s) if s.kit == Some(kit)
            && (since..=mark.at_ms).contains(&s.at_ms) && same_distance(s.distance_m, mark.distance_m))
    });
    let shot = |session: Uuid| {
        let parts = log.parts(archer, session);
        parts.filter(|p| matches!(&p.body, Body::Shot(s) if s.at_ms.is_none_or(|at| at <= mark.at_ms))).count()
    };
    let arrows: usize = sessions.map(|r| shot(r.id)).sum();
    u32::try_from(arrows).ok().filter(|n| *n > 0)
}

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
                arrows: m.arrows,
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

/// What follows from the marks of a kit, their distances told in yards where `yards` says so; nothing when the kit says too
/// little.
#[must_use]
pub fn known(kit: &Kit, marks: &[Mark], yards: bool) -> Option<Result<Known, MarksError>> {
    match Known::new(book(kit, marks).ok()?.told_in(yards)) {
        Err(Unknown::Told(_)) => None,
        Err(Unknown::Fit(e)) => Some(Err(e)),
        Ok(known) => Some(Ok(known)),
    }
}
