//! Tuning: bareshafts against fletched arrows, and groups that walk sideways with distance.

use std::fmt::Write as _;

use goldward_core::fleet::tuning::{Bareshaft, Centre, Possibility, Walk, WalkShape, walk};
use goldward_core::units::Distance;
use goldward_journal::Hand;

use super::compare::Sides;
use super::gather::{Gathered, Placed};
use crate::drawing::Mark;
use crate::html::escape;
use crate::item::{Item, Picture};
use crate::map::{Map, Spot};
use crate::teller::Teller;
use crate::words::Word;

/// Arrows of each kind that it takes to speak of a centre.
const FEWEST: usize = 3;

/// What is asked.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Question {
    /// Arrows without fletching, by name, in the sessions that are of both kinds.
    pub bare: Vec<String>,
    /// The hand that draws, when it is known.
    pub hand: Option<Hand>,
}

/// Which of the two questions is answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    /// Both.
    Both,
    /// Bareshafts against fletched arrows.
    Bare,
    /// How groups walk with distance.
    Walk,
}

/// Names of the arrows in the sessions that are of both kinds, in order.
#[must_use]
pub fn mixed_arrows(chosen: &[(&Gathered, Sides)]) -> Vec<String> {
    super::arrows::names_of(chosen.iter().filter(|(_, s)| s.a && s.b).flat_map(|(g, _)| &g.shots))
}

/// The page of `chosen` sessions: the first set is of fletched arrows, the second of bareshafts, those in both are told
/// apart by the names of the arrows.
#[must_use]
pub fn page(teller: &Teller<'_>, chosen: &[(&Gathered, Sides)], question: &Question) -> Vec<Item> {
    asked(teller, chosen, question, Asked::Both)
}

/// The same, with only what is asked.
#[must_use]
pub fn asked(teller: &Teller<'_>, chosen: &[(&Gathered, Sides)], question: &Question, asked: Asked) -> Vec<Item> {
    let mut items = Vec::new();
    if asked != Asked::Walk {
        bare_part(teller, chosen, question, &mut items);
    }
    if asked != Asked::Bare {
        walk_part(teller, chosen, question, &mut items);
    }
    items.push(Item::Note(teller.t(Word::TunePractice)));
    items
}

/// Whether a shot is of a bareshaft.
fn is_bare(question: &Question, sides: Sides, s: &Placed) -> bool {
    if sides.a && sides.b { question.bare.contains(&s.arrow) } else { sides.b }
}

fn bare_part(teller: &Teller<'_>, chosen: &[(&Gathered, Sides)], question: &Question, items: &mut Vec<Item>) {
    let of = |metres: f64, bare: bool| {
        let at = chosen.iter().filter(move |(g, _)| same(g.distance.metres(), metres));
        at.flat_map(move |(g, sides)| g.shots.iter().filter(move |s| is_bare(question, *sides, s) == bare))
            .collect::<Vec<_>>()
    };
    let mut metres: Vec<f64> = Vec::new();
    for (g, sides) in chosen {
        if (sides.a || sides.b) && !metres.iter().any(|m| same(*m, g.distance.metres())) {
            metres.push(g.distance.metres());
        }
    }
    metres.sort_by(f64::total_cmp);
    let mut found = Vec::new();
    for at in metres {
        let Some((g, _)) = chosen.iter().find(|(g, _)| same(g.distance.metres(), at)) else { continue };
        let (fletched, bare) = (of(at, false), of(at, true));
        let both = centre(&fletched, g).zip(centre(&bare, g));
        if let Some(b) = both.and_then(|(f, b)| Bareshaft::of(&f, &b).ok()) {
            found.push((g.distance, b));
        }
    }
    items.push(Item::Heading(teller.t(Word::BareTitle)));
    if found.is_empty() {
        items.push(Item::Note(teller.f(Word::BareChoose, &[&FEWEST.to_string()])));
    } else {
        bareshafts(teller, &found, question.hand, items);
    }
}

fn walk_part(teller: &Teller<'_>, chosen: &[(&Gathered, Sides)], question: &Question, items: &mut Vec<Item>) {
    items.push(Item::Heading(teller.t(Word::WalkTitle)));
    let fletched: Vec<Centre> = chosen
        .iter()
        .filter(|(_, sides)| sides.a)
        .filter_map(|(g, sides)| {
            let shots: Vec<&Placed> = g.shots.iter().filter(|s| !is_bare(question, *sides, s)).collect();
            centre(&shots, g)
        })
        .collect();
    match walk(&fletched) {
        Ok(w) => {
            walks(teller, &fletched, &w, items);
            if chosen.iter().any(|(g, sides)| sides.a && g.windage_touched) {
                items.push(Item::Warning(teller.t(Word::WalkTouched)));
            }
        }
        Err(_) => items.push(Item::Note(teller.f(Word::WalkChoose, &[&FEWEST.to_string()]))),
    }
}

fn same(a: f64, b: f64) -> bool {
    (a / b).ln().abs() < 1e-3
}

/// The centre of the shots, with what is expected of the archer in `g`; nothing when there are too few.
fn centre(shots: &[&Placed], g: &Gathered) -> Option<Centre> {
    if shots.len() < FEWEST { None } else { g.centre(shots.iter().copied()).ok() }
}

fn bareshafts(teller: &Teller<'_>, found: &[(Distance, Bareshaft)], hand: Option<Hand>, items: &mut Vec<Item>) {
    let all: Vec<Bareshaft> = found.iter().map(|f| f.1).collect();
    let Ok((together, p_agree)) = Bareshaft::together(&all) else { return };
    for (d, b) in found {
        let sd = b.cov_mrad2.mean_sd() * d.metres();
        let (lands, metres) = (teller.toward(b.offset.at(*d)), teller.distance(d.metres()));
        items.push(Item::Answer(teller.f(Word::BareLands, &[&metres, &lands, &teller.length(sd)])));
    }
    if found.len() > 1 {
        let word = if p_agree < 0.1 { Word::BareDisagree } else { Word::BareAgree };
        items.push(Item::Text(teller.f(word, &[&teller.often(p_agree)])));
    }
    let way = |p: f64, yes: Word, no: Word| {
        if p >= 0.5 { (teller.t(yes), teller.often(p)) } else { (teller.t(no), teller.often(1.0 - p)) }
    };
    let (side, sure) = way(together.p_right, Word::Right, Word::Left);
    let (high, quite) = way(together.p_up, Word::High, Word::Low);
    items.push(Item::Text(teller.f(Word::BareSure, &[&side, &sure, &high, &quite])));
    let near = found[0].0;
    let spots = found.iter().map(|(d, b)| Spot {
        label: teller.distance(d.metres()),
        at: b.offset,
        cov_mrad2: b.cov_mrad2,
        mark: Mark::Flyer,
    });
    let map = Map { spots: spots.collect(), shots: Vec::new(), circle: None, metres: near.metres() };
    let label = teller.t(Word::BarePicture);
    items.push(Picture::of(map, teller, label));
    // Without a hand only the nocking point can be spoken of.
    let possible: Vec<(Word, f64)> = together
        .possibilities(hand != Some(Hand::Left))
        .into_iter()
        .filter_map(|(p, share)| match p {
            Possibility::ActsStiff => hand.map(|_| (Word::ActsStiff, share)),
            Possibility::ActsWeak => hand.map(|_| (Word::ActsWeak, share)),
            Possibility::NockLow => Some((Word::NockLow, share)),
            Possibility::NockHigh => Some((Word::NockHigh, share)),
        })
        .collect();
    if possible.is_empty() {
        items.push(Item::Text(teller.t(Word::BareNothing)));
    }
    for (word, share) in possible {
        items.push(Item::Text(teller.f(Word::Possible, &[&teller.t(word), &teller.often(share)])));
    }
    if hand.is_none() {
        items.push(Item::Note(teller.t(Word::BareHand)));
    }
    items.push(Item::Safety(teller.t(Word::BareSafety)));
}

fn walks(teller: &Teller<'_>, centres: &[Centre], w: &Walk, items: &mut Vec<Item>) {
    let [b, sb] = w.windage_mrad;
    let headline = match w.shape() {
        WalkShape::Windage if b.abs() < 2.0 * sb => Word::WalkStays,
        WalkShape::Windage => Word::WalkWindage,
        WalkShape::Slant => Word::WalkSlant,
        WalkShape::Curve => Word::WalkCurve,
    };
    items.push(Item::Answer(teller.t(headline)));
    items.push(walk_picture(teller, centres, w));
    let way = teller.t(if b < 0.0 { Word::Left } else { Word::Right });
    let far = centres.iter().map(|c| c.distance.metres()).fold(0.0, f64::max);
    let [side, near] = [b.abs(), sb].map(|mrad| teller.length(mrad * far));
    let values = [&side, &way, &near, &teller.often(w.p_windage_alone), &teller.distance(far)];
    items.push(Item::Text(teller.f(Word::WalkAsWindage, &values.map(String::as_str))));
    match w.shape() {
        WalkShape::Windage => items.push(Item::Text(teller.t(Word::WalkMoveWindage))),
        WalkShape::Slant => items.push(Item::Text(teller.t(Word::WalkMaybeCentreShot))),
        WalkShape::Curve => items.push(Item::Text(teller.t(Word::WalkMaybeButton))),
    }
    if w.p_straight.is_none() {
        items.push(Item::Text(teller.t(Word::WalkThird)));
    }
}

/// The groups from above: the bow at the bottom, each group at its distance with four fifths of certainty, and the line that
/// one windage setting would put right.
fn walk_picture(teller: &Teller<'_>, centres: &[Centre], w: &Walk) -> Item {
    const HALF: f64 = 120.0;
    const HEIGHT: f64 = 220.0;
    let far = centres.iter().map(|c| c.distance.metres()).fold(1.0, f64::max);
    let bar = |c: &Centre| goldward_core::stats::Z_80 * c.cov_mm2.xx.sqrt();
    let reach = centres.iter().map(|c| c.at.x_mm.abs() + bar(c)).fold(10.0, f64::max);
    let x = |mm: f64| HALF * mm / reach;
    let y = |metres: f64| -HEIGHT * metres / far;
    let mut out = format!("<path class=\"axes\" d=\"M0 0V{:.1}\"/>", y(far) - 12.0);
    let _ = write!(out, "<path class=\"limit\" d=\"M0 0L{:.1} {:.1}\"/>", x(w.windage_mrad[0] * far), y(far));
    if w.shape() != WalkShape::Windage {
        let [at, slope] = [w.at_bow_mm[0], w.slope_mrad[0]];
        let _ =
            write!(out, "<path class=\"curve flyer\" d=\"M{:.1} 0L{:.1} {:.1}\"/>", x(at), x(at + slope * far), y(far));
    }
    for c in centres {
        let (px, py, half) = (x(c.at.x_mm), y(c.distance.metres()), x(bar(c)));
        let _ = write!(
            out,
            "<path class=\"rule\" d=\"M{:.1} {py:.1}h{:.1}\"/><circle class=\"spot clean\" cx=\"{px:.1}\" cy=\"{py:.1}\" r=\"5\"/>\
             <text class=\"way\" x=\"{}\" y=\"{:.1}\" text-anchor=\"end\">{}</text><text class=\"way\" x=\"{}\" y=\"{:.1}\">{}</text>",
            px - half,
            2.0 * half,
            -HALF - 6.0,
            py + 4.0,
            escape(&teller.distance(c.distance.metres())),
            HALF + 8.0,
            py + 4.0,
            escape(&format!(
                "{} {}",
                teller.length(c.at.x_mm),
                teller.t(if c.at.x_mm < 0.0 { Word::Left } else { Word::Right })
            ))
        );
    }
    let label = teller.t(Word::WalkPicture);
    let svg = format!(
        "<svg viewBox=\"-184 {:.0} 400 {:.0}\" role=\"img\" aria-label=\"{}\">{out}<path class=\"rule\" d=\"M-14 4Q0 -8 14 4\"/></svg>",
        -HEIGHT - 18.0,
        HEIGHT + 30.0,
        escape(&label)
    );
    Picture::drawn(label, svg)
}

#[cfg(test)]
mod tests {
    use super::super::gather::{sessions, tests::Book};
    use super::*;
    use crate::words::Language;

    fn told(book: &Book, sides: &[Sides], question: &Question) -> Vec<Item> {
        let date = |ms: u64| format!("day {ms}");
        let teller = Teller { language: Language::English, imperial: false, date: &date };
        let all = sessions(&book.log, book.archer);
        let chosen: Vec<(&Gathered, Sides)> = all.iter().rev().zip(sides.iter().copied()).collect();
        page(&teller, &chosen, question)
    }

    const A: Sides = Sides { a: true, b: false };
    const B: Sides = Sides { a: false, b: true };
    const BOTH: Sides = Sides { a: true, b: true };

    fn texts(items: &[Item]) -> Vec<&str> {
        let mut out = Vec::new();
        for item in items {
            if let Item::Text(t) | Item::Answer(t) | Item::Note(t) = item {
                out.push(t.as_str());
            }
        }
        out
    }

    #[test]
    fn left_bareshafts_may_act_stiff_for_a_right_hand_only() {
        let mut book = Book::new(4);
        book.session(18.0, 3, 2.0, |_, _| (0.0, 0.0));
        book.session(18.0, 2, 2.0, |_, _| (-9.0, 0.0));
        let ask = |hand| told(&book, &[A, B], &Question { hand, ..Question::default() });
        let of = |items: &[Item], what: &str| texts(items).iter().any(|t| t.contains(what));
        assert!(of(&ask(Some(Hand::Right)), "acts too stiff") && of(&ask(Some(Hand::Left)), "acts too weak"));
        let none = ask(None);
        assert!(!of(&none, "acts too") && of(&none, "hand"), "{none:#?}");
    }

    #[test]
    fn bareshafts_in_one_session_are_told_apart_by_name() {
        let mut book = Book::new(6);
        book.session(30.0, 6, 1.5, |_, arrow| if arrow > 4 { (0.0, 6.0) } else { (0.0, 0.0) });
        let all = sessions(&book.log, book.archer);
        assert_eq!(mixed_arrows(&[(&all[0], BOTH)]).len(), 6);
        let bare = ["5", "6"].map(str::to_owned).to_vec();
        let items = told(&book, &[BOTH], &Question { bare, hand: Some(Hand::Right) });
        assert!(texts(&items).iter().any(|t| t.contains("nocking point is low")), "{items:#?}");
        // Nobody said which are bare.
        let items = told(&book, &[BOTH], &Question::default());
        assert!(!items.iter().any(|i| matches!(i, Item::Picture(..))));
    }

    #[test]
    fn a_windage_error_is_no_walk() {
        let mut book = Book::new(7);
        for metres in [18.0, 30.0, 50.0, 70.0] {
            book.session(metres, 6, 1.0, |_, _| (2.0, 0.0));
        }
        let items = told(&book, &[A; 4], &Question::default());
        assert!(texts(&items).iter().any(|t| t.starts_with("One windage setting")), "{items:#?}");
        let mut book = Book::new(7);
        for (metres, mrad) in [(18.0, 0.0), (30.0, 2.0), (50.0, 5.0), (70.0, 8.0)] {
            book.session(metres, 6, 1.0, move |_, _| (mrad, 0.0));
        }
        let items = told(&book, &[A; 4], &Question::default());
        assert!(!texts(&items).iter().any(|t| t.starts_with("One windage setting")), "{items:#?}");
        assert!(texts(&items).iter().any(|t| t.starts_with("The groups walk")), "{items:#?}");
    }
}
