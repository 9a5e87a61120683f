//! Two sets of sessions compared: is the group tighter after a change, and how sure is that?

use goldward_core::fleet::compare::{
    CHANCE_DEFAULT as CHANCE, Comparison, LEVEL_DEFAULT as LEVEL, Setting, SpreadRatio, compare,
};
use goldward_core::fleet::{ArrowShot, Offset};
use goldward_core::plane::Sym2;
use goldward_core::stats::spread::shots_to_tell;

use super::gather::{Gathered, Placed};
use super::power;
use crate::drawing::Mark;
use crate::item::{Item, Picture, why_not};
use crate::map::{Map, Spot};
use crate::teller::Teller;
use crate::words::Word;

/// The difference of spreads asked about where nobody says.
pub const TELL: f64 = 0.1;

/// Which sets a session is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Sides {
    /// In the first set.
    pub a: bool,
    /// In the second; in both, its odd ends are of the first and its even ends of the second.
    pub b: bool,
}

/// The shots of one set, each with the number of its session within the set and the number of its end.
///
/// A session that is in both sets has its ends numbered by pairs.
fn set<'a>(chosen: &[(&'a Gathered, Sides)], second: bool) -> Vec<(usize, u32, &'a Gathered, &'a Placed)> {
    let mut out = Vec::new();
    let wanted = chosen.iter().filter(|(_, s)| if second { s.b } else { s.a });
    for (i, (g, sides)) in wanted.enumerate() {
        for shot in &g.shots {
            if !(sides.a && sides.b) {
                out.push((i, shot.end, *g, shot));
            } else if (shot.end % 2 == 0) == second {
                out.push((i, shot.end.div_ceil(2), *g, shot));
            }
        }
    }
    out
}

/// The page of `chosen` sessions, oldest first. With `in_turn`, ends of the same number in the first, second, ... session of
/// both sets belong together.
#[must_use]
pub fn page(teller: &Teller<'_>, chosen: &[(&Gathered, Sides)], in_turn: bool) -> Vec<Item> {
    asked(teller, chosen, in_turn, TELL)
}

/// The same, told how many arrows would find a difference of `tell` (a share: 0.1 is 10 % wider).
#[must_use]
pub fn asked(teller: &Teller<'_>, chosen: &[(&Gathered, Sides)], in_turn: bool, tell: f64) -> Vec<Item> {
    let sets = [set(chosen, false), set(chosen, true)];
    if sets.iter().any(Vec::is_empty) {
        return vec![Item::Note(teller.t(Word::CompareChoose))];
    }
    let angles = sets.each_ref().map(|of| {
        let angle =
            |(i, end, g, s): &(usize, u32, &Gathered, &Placed)| ArrowShot { end: *end as usize, ..g.angle(s, *i) };
        of.iter().map(angle).collect::<Vec<ArrowShot>>()
    });
    let read = |i: usize| Setting::read(&angles[i], sets[i][0].2.odds);
    let found = read(0).and_then(|a| {
        let b = read(1)?;
        let c = compare(&a, &b, in_turn)?;
        Ok(([a, b], c))
    });
    let (settings, comparison) = match found {
        Ok(found) => found,
        Err(e) => return vec![why_not(teller, &e)],
    };
    let metres = sets[0][0].2.distance.metres();
    let mut items = vec![headline(teller, &comparison), picture(teller, &settings, &angles, metres)];
    let length = |mrad: f64| teller.length(mrad * metres);
    for (word, s) in [(Word::SetA, &settings[0]), (Word::SetB, &settings[1])] {
        items.push(Item::Text(teller.f(
            Word::CompareSet,
            &[
                &teller.t(word),
                &s.shots.to_string(),
                &s.ends.len().to_string(),
                &length(s.spread_mrad()),
                &teller.distance(metres),
                &teller.number(s.flyers, 1),
            ],
        )));
    }
    let told = |word: Word, r: &SpreadRatio| {
        let [low, high] = r.interval;
        Item::Text(teller.f(
            word,
            &[&change(teller, r.ratio), &change(teller, low), &change(teller, high), &teller.often(r.p_tighter)],
        ))
    };
    match &comparison.paired {
        Some((r, _)) => items.push(told(Word::ComparePaired, r)),
        None => items.push(Item::Note(teller.t(Word::CompareTurns))),
    }
    items.push(told(Word::CompareAll, &comparison.spread));
    let [windage, elevation] = comparison.by_axis.map(|r| change(teller, r));
    items.push(Item::Text(teller.f(Word::CompareAxes, &[&windage, &elevation])));
    centres(teller, &comparison, metres, &mut items);
    if sets.iter().flatten().any(|s| (s.2.distance.metres() / metres).ln().abs() > 0.05) {
        items.push(Item::Note(teller.t(Word::CompareDistances)));
    }
    let an_end = settings[0].shots_an_end().max(2);
    if let Ok(needed) = shots_to_tell(1.0 + tell, an_end, CHANCE, LEVEL) {
        let (tell, chance) = (teller.percent(tell), teller.percent(CHANCE));
        items.push(Item::Heading(teller.t(Word::PowerTitle)));
        items.push(Item::Answer(teller.f(Word::PowerNeeded, &[&tell, &chance, &needed.to_string()])));
    }
    items.push(power::picture(teller, an_end, settings[0].shots.min(settings[1].shots), tell));
    items
}

/// The comparison that counts: pair by pair where ends belong together.
fn headline(teller: &Teller<'_>, c: &Comparison) -> Item {
    let p = c.paired.map_or(c.spread, |p| p.0).p_tighter;
    let (word, p) = match p {
        p if p >= 0.95 => (Word::CompareTighter, p),
        p if p <= 0.05 => (Word::CompareWider, 1.0 - p),
        p if p >= 0.8 => (Word::ComparePerhapsTighter, p),
        p if p <= 0.2 => (Word::ComparePerhapsWider, 1.0 - p),
        p => (Word::CompareNone, p.max(1.0 - p)),
    };
    Item::Answer(teller.f(word, &[&teller.often(p)]))
}

/// A change of the spread: `12 % tighter`.
fn change(teller: &Teller<'_>, ratio: f64) -> String {
    let share = (100.0 * (ratio - 1.0)).round();
    let word = match share {
        s if s < 0.0 => Word::ByTighter,
        s if s > 0.0 => Word::ByWider,
        _ => Word::BySame,
    };
    teller.f(word, &[&format!("{:.0}", share.abs())])
}

fn centres(teller: &Teller<'_>, c: &Comparison, metres: f64, items: &mut Vec<Item>) {
    let Some(h) = &c.centre else { return };
    let p = teller.often(h.p_value);
    items.push(Item::Text(if h.p_value < 0.1 {
        let d = goldward_core::plane::Point::new(h.difference[0], h.difference[1]) * metres;
        teller.f(Word::CentresApart, &[&teller.toward(d), &p])
    } else {
        teller.f(Word::CentresSame, &[&p])
    }));
}

/// Both groups about the point halfway between them.
fn picture(teller: &Teller<'_>, settings: &[Setting; 2], angles: &[Vec<ArrowShot>; 2], metres: f64) -> Item {
    let middles = settings.each_ref().map(Setting::middle);
    let half = |get: fn(&Offset) -> f64| 0.5 * (get(&middles[0]) + get(&middles[1]));
    let (x, y) = (half(|o| o.right_mrad), half(|o| o.up_mrad));
    let about = |o: Offset| Offset { right_mrad: o.right_mrad - x, up_mrad: o.up_mrad - y };
    let marks = [Mark::Clean, Mark::Flyer];
    let spot = |i: usize| Spot {
        label: teller.t([Word::SetA, Word::SetB][i]),
        at: about(middles[i]),
        cov_mrad2: Sym2::new(settings[i].variance_mrad2[0], 0.0, settings[i].variance_mrad2[1]),
        mark: marks[i],
    };
    // More shots than these only make the picture black.
    const MOST: usize = 150;
    let shots = (0..2).flat_map(|i| {
        let of = &angles[i];
        of[of.len().saturating_sub(MOST)..].iter().map(move |s| (about(s.at), marks[i]))
    });
    let map = Map { spots: vec![spot(0), spot(1)], shots: shots.collect(), circle: None, metres };
    let label = teller.t(Word::ComparePicture);
    Picture::of(map, teller, label)
}

#[cfg(test)]
mod tests {
    use super::super::gather::{sessions, tests::Book};
    use super::*;
    use crate::words::Language;

    fn told(book: &Book, sides: &[Sides], in_turn: bool) -> Vec<Item> {
        let date = |ms: u64| format!("day {ms}");
        let teller = Teller { language: Language::English, imperial: false, date: &date };
        let all = sessions(&book.log, book.archer);
        let chosen: Vec<(&Gathered, Sides)> = all.iter().rev().zip(sides.iter().copied()).collect();
        page(&teller, &chosen, in_turn)
    }

    const A: Sides = Sides { a: true, b: false };
    const B: Sides = Sides { a: false, b: true };
    const BOTH: Sides = Sides { a: true, b: true };

    #[test]
    fn half_the_spread_is_told_and_equal_ones_are_not() {
        let mut book = Book::new(8);
        book.session(50.0, 12, 4.0, |_, _| (0.0, 0.0));
        book.session(50.0, 12, 2.0, |_, _| (1.0, 0.0));
        let items = told(&book, &[A, B], false);
        assert!(matches!(&items[0], Item::Answer(a) if a.starts_with("B is tighter than A")), "{items:#?}");
        let items = told(&book, &[B, A], false);
        assert!(matches!(&items[0], Item::Answer(a) if a.starts_with("B is wider than A")), "{items:#?}");
        assert!(items.iter().any(|i| matches!(i, Item::Answer(a) if a.contains("six arrows cannot"))), "{items:#?}");
        assert!(matches!(&told(&book, &[A, A], false)[..], [Item::Note(_)]));
    }

    #[test]
    fn ends_in_turn_are_odd_and_even_ends_of_one_session() {
        let mut book = Book::new(9);
        // The odd ends twice as wide; both members of a pair drift together.
        let id = book.session(30.0, 16, 0.001, |end, arrow| {
            let k = if end % 2 == 1 { 4.0 } else { 2.0 };
            let turn = f64::from(arrow) + 0.37 * f64::from(end);
            (k * turn.cos(), k * turn.sin())
        });
        assert!(Gathered::of(&book.log, book.archer, id).is_some());
        let items = told(&book, &[BOTH], true);
        assert!(matches!(&items[0], Item::Answer(a) if a.starts_with("B is tighter than A")), "{items:#?}");
        let paired = |i: &&Item| matches!(i, Item::Text(t) if t.starts_with("Pair by pair"));
        assert_eq!(items.iter().filter(paired).count(), 1);
        assert!(items.iter().any(|i| matches!(i, Item::Text(t) if t.contains("48 shots in 8 ends"))), "{items:#?}");
    }
}
