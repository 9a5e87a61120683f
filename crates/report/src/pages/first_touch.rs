//! How many arrows before the first touch, when every arrow counts.

use goldward_session::pace::{FirstTouch, TRUSTS};

use super::pace::counted;
use crate::item::Item;
use crate::teller::Teller;
use crate::words::{Phrase, Word};

/// The table, one row a spread, one column a trust.
#[must_use]
pub fn page(t: &Teller<'_>, first: &[FirstTouch]) -> Vec<Item> {
    let l = t.language;
    let title = Phrase::PaceFirstTitle.text(l).to_owned();
    let trusts = [Phrase::PaceUnknown, Phrase::PacePredicted, Phrase::PaceVerified].map(|p| p.text(l).to_owned());
    let head = std::iter::once(t.t(Word::Spread)).chain(trusts).collect();
    let rows = first.chunks(TRUSTS.len()).map(|row| {
        let spread = row.first().map_or_else(String::new, |f| t.length(f.spread_mm));
        std::iter::once(spread).chain(row.iter().map(|f| cell(t, f))).collect()
    });
    vec![
        Item::Heading(title),
        Item::Table(String::new(), head, rows.collect()),
        Item::Note(Phrase::PaceFirstLegend.text(l).to_owned()),
    ]
}

fn cell(t: &Teller<'_>, f: &FirstTouch) -> String {
    let l = t.language;
    let Some(median) = f.median else {
        return Phrase::PaceLeave.with(l, &[&counted(t, f.never)]);
    };
    let (middle, low) = (median.to_string(), f.low.unwrap_or(median).to_string());
    match f.high {
        Some(high) => Phrase::PaceFromTo.with(l, &[&middle, &low, &high.to_string()]),
        None => Phrase::PaceToNever.with(l, &[&middle, &low]),
    }
}
