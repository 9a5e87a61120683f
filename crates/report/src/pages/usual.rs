//! What is usual by bow, level and distance: what Goldward ships, and a club's own document.

use goldward_core::usual::{Band, Bow, Level, Row, argued};
use goldward_session::usual::Usual;

use crate::item::Item;
use crate::teller::Teller;
use crate::words::{Phrase, Word};

/// How a bow is called.
#[must_use]
pub const fn bow(bow: Bow) -> Word {
    match bow {
        Bow::Recurve => Word::BowRecurve,
        Bow::Compound => Word::BowCompound,
        Bow::Barebow => Word::BowBarebow,
        Bow::Longbow => Word::BowLongbow,
    }
}

/// How a level is called.
#[must_use]
pub const fn level(level: Level) -> Word {
    match level {
        Level::Beginner => Word::LevelBeginner,
        Level::Club => Word::LevelClub,
        Level::Strong => Word::LevelStrong,
    }
}

const fn band(band: Band) -> Phrase {
    match band {
        Band::Short => Phrase::UsualShort,
        Band::Middle => Phrase::UsualMiddle,
        Band::Long => Phrase::UsualLong,
    }
}

fn mrad(t: &Teller<'_>, x: f64) -> String {
    format!("{} mrad", t.number(x, 2))
}

/// The table that ships: argued, no source.
#[must_use]
pub fn shipped(t: &Teller<'_>) -> Vec<Item> {
    let l = t.language;
    let rows = Bow::ALL.into_iter().map(|b| {
        let spread = |v| mrad(t, argued(Some(b), Some(v)).spread_mrad);
        std::iter::once(t.t(bow(b))).chain(Level::ALL.map(spread)).collect()
    });
    let head = std::iter::once(t.t(Word::Bow)).chain(Level::ALL.map(|v| t.t(level(v)))).collect();
    vec![
        Item::Heading(Phrase::UsualTitle.text(l).to_owned()),
        Item::Text(Phrase::UsualArgued.text(l).to_owned()),
        Item::Table(Phrase::UsualTitle.text(l).to_owned(), head, rows.collect()),
        Item::Note(Phrase::UsualMake.text(l).to_owned()),
    ]
}

/// A club's document.
#[must_use]
pub fn page(t: &Teller<'_>, usual: &Usual) -> Vec<Item> {
    let l = t.language;
    let title = Phrase::UsualOf.with(l, &[&usual.made]);
    let mut items = vec![Item::Heading(title.clone())];
    let rows = usual.rows();
    if rows.is_empty() {
        items.push(Item::Text(Phrase::UsualNone.with(l, &[&usual.least_archers.to_string()])));
        items.push(Item::Note(Phrase::UsualAgree.text(l).to_owned()));
        return items;
    }
    let line = |r: &Row| {
        let (low, high) = (r.spread_mrad * (-r.scatter).exp(), r.spread_mrad * r.scatter.exp());
        vec![
            format!("{}, {}, {}", t.t(bow(r.cell.bow)), t.t(level(r.cell.level)), band(r.cell.band).text(l)),
            r.archers.to_string(),
            mrad(t, r.spread_mrad),
            Phrase::UsualFromTo.with(l, &[&t.number(low, 2), &mrad(t, high)]),
            Phrase::UsualOneIn.with(l, &[&t.number(1.0 / r.bad_share, 0)]),
            t.number(r.end_factor, 2),
        ]
    };
    let head = [
        Phrase::UsualWho,
        Phrase::UsualArchers,
        Phrase::UsualSpread,
        Phrase::UsualMost,
        Phrase::UsualAstray,
        Phrase::UsualEnds,
    ];
    items.push(Item::Table(title, head.map(|p| p.text(l).to_owned()).to_vec(), rows.iter().map(line).collect()));
    let epsilon = t.number(usual.epsilon, 2);
    // A chance so small is written out.
    let delta = t.number(1.0 / usual.delta.max(1e-9), 0);
    items.push(Item::Text(Phrase::UsualPrivate.with(l, &[&usual.least_archers.to_string()])));
    items.push(Item::Note(Phrase::UsualBudget.with(l, &[&epsilon, &delta])));
    items
}
