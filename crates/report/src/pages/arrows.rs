//! Arrow by arrow: which one is to blame, and what the archer's own part is.

use goldward_core::fleet::compare::Setting;
use goldward_core::fleet::session::{FEWEST_ENDS, felt_marks, trend};
use goldward_core::fleet::{ArrowShot, Fleet, MOST_ARROWS, MOST_MORE, Question, Verdict, read};
use goldward_core::group::ClassOdds;
use goldward_core::units::Distance;

use super::gather::{Gathered, Placed};
use crate::drawing::Mark;
use crate::item::{Item, Picture, why_not};
use crate::map::{Map, Spot};
use crate::teller::Teller;
use crate::words::Word;

/// Arrows with a lower probability of being off are not called unclear.
const UNCLEAR_FROM: f64 = 0.2;
/// An own spread is told of from this probability on.
const WIDE_FROM: f64 = 0.9;
/// So many of an archer's latest sessions are read: older ones are of other arrows, or of an archer who has changed.
const MOST_SESSIONS: usize = 40;
/// So many sessions are told of one by one.
const TRENDS: usize = 3;

/// Numbers before names, numbers by size.
#[must_use]
pub fn in_order(name: &str) -> (u64, String) {
    (name.parse().unwrap_or(u64::MAX), name.to_owned())
}

/// Names of the arrows that were shot, in order.
#[must_use]
pub fn names_of<'a>(shots: impl Iterator<Item = &'a Placed>) -> Vec<String> {
    let mut names: Vec<&str> = Vec::new();
    for shot in shots.filter(|s| !s.arrow.is_empty()) {
        if !names.contains(&shot.arrow.as_str()) {
            names.push(&shot.arrow);
        }
    }
    let mut names: Vec<(u64, String)> = names.into_iter().map(in_order).collect();
    names.sort();
    names.into_iter().map(|(_, name)| name).collect()
}

/// The page of an archer, of the latest sessions, with the latest first.
#[must_use]
pub fn page(teller: &Teller<'_>, sessions: &[&Gathered]) -> Vec<Item> {
    asked(teller, &sessions[..sessions.len().min(MOST_SESSIONS)], &Question::default())
}

/// The same of all sessions that are given, with what is asked of the arrows.
#[must_use]
pub fn asked(teller: &Teller<'_>, sessions: &[&Gathered], question: &Question) -> Vec<Item> {
    let Some(latest) = sessions.first() else { return vec![Item::Text(teller.t(Word::ByArrowNone))] };
    let mut items = fleet(teller, sessions, latest.distance, question);
    items.push(Item::Heading(teller.t(Word::TheArcher)));
    trends(teller, sessions, &mut items);
    items.push(felt(teller, sessions));
    items
}

fn fleet(teller: &Teller<'_>, sessions: &[&Gathered], distance: Distance, question: &Question) -> Vec<Item> {
    let all = || sessions.iter().enumerate().flat_map(|(i, g)| g.shots.iter().map(move |s| (i, *g, s)));
    let mut names = names_of(all().map(|(_, _, s)| s));
    names.truncate(MOST_ARROWS);
    let number = |name: &str| names.iter().position(|n| n == name);
    let shots: Vec<ArrowShot> =
        all().filter_map(|(i, g, s)| Some(ArrowShot { arrow: number(&s.arrow)?, ..g.angle(s, i) })).collect();
    let nameless = all().count() - shots.len();
    let placeless: usize = sessions.iter().map(|g| g.placeless).sum();
    let fleet = match read(&shots, question) {
        Ok(fleet) => fleet,
        Err(e) => return vec![why_not(teller, &e)],
    };
    let at = |mrad: f64| teller.length(mrad * distance.metres());
    let metres = teller.distance(distance.metres());
    let mut items = verdicts(teller, &fleet, &names, distance);
    items.push(picture(teller, &fleet, &names, distance));
    items.push(Item::Text(teller.f(
        Word::FleetIntro,
        &[
            &shots.len().to_string(),
            &fleet.arrows.len().to_string(),
            &fleet.sessions.to_string(),
            &at(fleet.spread_mrad()),
            &metres,
            &at(fleet.amount_mrad),
        ],
    )));
    items.push(Item::Text(teller.f(Word::FleetRate, &[&teller.percent(question.fdr)])));
    if nameless + placeless > 0 {
        items.push(Item::Text(teller.f(Word::FleetLeftOut, &[&nameless.to_string(), &placeless.to_string()])));
    }
    let head = [Word::ArrowNumber, Word::Shots, Word::LandsAt, Word::OffChance, Word::OwnSpread];
    let rows = fleet
        .arrows
        .iter()
        .map(|v| {
            let [ratio, low, high] = v.spread_ratio.map(|r| teller.number(r, 1));
            vec![
                names[v.arrow].clone(),
                v.shots.to_string(),
                teller.toward(v.offset.at(distance)),
                teller.percent(v.p_off),
                format!("× {ratio} ({low}–{high})"),
            ]
        })
        .collect();
    items.push(Item::Table(teller.t(Word::ByArrow), head.map(|w| teller.f(w, &[&metres])).to_vec(), rows));
    items
}

/// What to do, in sentences: the accused, the wide ones, the unclear ones.
fn verdicts(teller: &Teller<'_>, fleet: &Fleet, names: &[String], distance: Distance) -> Vec<Item> {
    let metres = teller.distance(distance.metres());
    let name = |v: &Verdict| names[v.arrow].clone();
    let mut items = Vec::new();
    let mut order: Vec<&Verdict> = fleet.arrows.iter().collect();
    order.sort_by(|a, b| b.p_off.total_cmp(&a.p_off));
    for v in order.iter().filter(|v| v.accused) {
        let lands = teller.toward(v.offset.at(distance));
        items.push(Item::Warning(teller.f(Word::FleetOff, &[&name(v), &lands, &metres, &teller.often(v.p_off)])));
    }
    for v in fleet.arrows.iter().filter(|v| v.p_wide >= WIDE_FROM) {
        let [ratio, low, high] = v.spread_ratio.map(|r| teller.number(r, 1));
        let sure = teller.often(v.p_wide);
        items.push(Item::Warning(teller.f(Word::FleetWide, &[&name(v), &ratio, &low, &high, &sure])));
    }
    if items.is_empty() {
        items.push(Item::Answer(teller.t(Word::FleetCalm)));
    } else {
        items.push(Item::Safety(teller.t(Word::FleetSafety)));
    }
    for v in order.iter().filter(|v| !v.accused && v.p_off >= UNCLEAR_FROM) {
        let (word, more) = match v.more_shots {
            Some(n) if n < MOST_MORE => (Word::FleetUnclear, n),
            _ => (Word::FleetUnclearNear, MOST_MORE),
        };
        items.push(Item::Note(teller.f(word, &[&name(v), &teller.often(v.p_off), &more.to_string()])));
    }
    items
}

fn picture(teller: &Teller<'_>, fleet: &Fleet, names: &[String], distance: Distance) -> Item {
    let spot = |v: &Verdict| Spot {
        label: names[v.arrow].clone(),
        at: v.offset,
        cov_mrad2: v.offset_cov_mrad2,
        mark: if v.accused { Mark::Flyer } else { Mark::Clean },
    };
    let limit = teller.length(fleet.amount_mrad * distance.metres());
    // What matters most is drawn last.
    let of = |accused: bool| fleet.arrows.iter().filter(move |v| v.accused == accused);
    let spots: Vec<Spot> = of(false).chain(of(true)).map(spot).collect();
    let map = Map {
        spots,
        shots: Vec::new(),
        circle: Some((fleet.amount_mrad, teller.f(Word::OffFrom, &[&limit]))),
        metres: distance.metres(),
    };
    let label = teller.t(Word::FleetPicture);
    Picture::of(map, teller, label)
}

/// Fatigue and warm-up in the latest sessions that have ends enough.
fn trends(teller: &Teller<'_>, sessions: &[&Gathered], items: &mut Vec<Item>) {
    let mut told = 0;
    for g in sessions {
        let shots: Vec<ArrowShot> = g.shots.iter().map(|s| g.angle(s, 0)).collect();
        let found = Setting::read(&shots, g.odds).and_then(|setting| trend(&setting));
        let Ok(t) = found else { continue };
        let numbers = [t.ratio, t.interval[0], t.interval[1]].map(|v| teller.number(v, 2));
        let (word, p) = match t.p_grows {
            p if p >= 0.9 => (Word::TrendGrew, p),
            p if p <= 0.1 => (Word::TrendShrank, 1.0 - p),
            p => (Word::TrendNone, p),
        };
        let when = format!("{}, {}", (teller.date)(g.at_ms), teller.distance(g.distance.metres()));
        let [ratio, low, high] = &numbers;
        items.push(Item::Text(teller.f(word, &[&when, ratio, low, high, &teller.often(p)])));
        if t.p_warm_up >= 0.9 && t.p_grows > 0.1 {
            let [ratio, low, high] = t.warm_up.map(|v| teller.number(v, 2));
            items.push(Item::Text(teller.f(Word::WarmUp, &[&when, &ratio, &low, &high])));
        }
        told += 1;
        if told == TRENDS {
            return;
        }
    }
    if told == 0 {
        items.push(Item::Text(teller.f(Word::TrendFew, &[&FEWEST_ENDS.to_string()])));
    }
}

/// What the archer's own feeling of a shot is worth.
fn felt(teller: &Teller<'_>, sessions: &[&Gathered]) -> Item {
    let shots: Vec<ArrowShot> =
        sessions.iter().enumerate().flat_map(|(i, g)| g.shots.iter().map(move |s| g.angle(s, i))).collect();
    let odds = sessions.first().map_or_else(ClassOdds::default, |g| g.odds);
    let Ok(f) = felt_marks(&shots, odds) else { return Item::Text(teller.t(Word::FeltNone)) };
    let [ratio, low, high] = f.likelihood_ratio.map(|v| teller.number(v, 1));
    let word = if f.tell() { Word::FeltTell } else { Word::FeltUnproven };
    let odds = f.bad_odds.get();
    Item::Text(teller.f(
        word,
        &[
            &f.marked[0].to_string(),
            &teller.number(f.flyers[0], 1),
            &ratio,
            &low,
            &high,
            &teller.percent(odds[1] + odds[2]),
        ],
    ))
}

#[cfg(test)]
mod tests {
    use super::super::gather::{sessions, tests::Book};
    use super::*;
    use crate::words::Language;

    fn told(book: &Book) -> Vec<Item> {
        let date = |ms: u64| format!("day {ms}");
        let teller = Teller { language: Language::English, imperial: false, date: &date };
        let all = sessions(&book.log, book.archer);
        page(&teller, &all.iter().collect::<Vec<_>>())
    }

    #[test]
    fn the_bad_arrow_is_named_over_two_distances() {
        let mut book = Book::new(3);
        // Arrow 4 flies 4 mrad low and right: 28 cm at 70 m.
        let off = |_, arrow| if arrow == 4 { (2.9, -2.8) } else { (0.0, 0.0) };
        book.session(50.0, 8, 2.0, off);
        book.session(70.0, 8, 2.0, off);
        let items = told(&book);
        let Item::Warning(first) = &items[0] else { panic!("{items:#?}") };
        assert!(first.starts_with("Inspect arrow 4: it lands ") && first.contains("low-right"), "{first}");
        assert!(first.contains("at 70 m (true over 99 times in 100)"), "{first}");
        assert_eq!(items.iter().filter(|i| matches!(i, Item::Warning(_))).count(), 1, "only that one");
        assert!(items.iter().any(|i| matches!(i, Item::Safety(s) if s.contains("Never shoot a damaged arrow"))));
        let Some(Item::Table(_, head, rows)) = items.iter().find(|i| matches!(i, Item::Table(..))) else { panic!() };
        assert_eq!((head.len(), rows.len(), rows[3][1].as_str()), (5, 6, "16"));
    }

    #[test]
    fn all_sessions_that_are_asked_about_are_read() {
        let mut book = Book::new(7);
        for _ in 0..=MOST_SESSIONS {
            book.session(30.0, 1, 2.0, |_, _| (0.0, 0.0));
        }
        let date = |ms: u64| format!("day {ms}");
        let teller = Teller { language: Language::English, imperial: false, date: &date };
        let all = sessions(&book.log, book.archer);
        let chosen: Vec<&Gathered> = all.iter().collect();
        let told = |items: &[Item], n: usize| {
            let wanted = format!("in {n} sessions");
            items.iter().any(|i| matches!(i, Item::Text(t) if t.contains(&wanted)))
        };
        assert!(told(&asked(&teller, &chosen, &Question::default()), MOST_SESSIONS + 1));
        assert!(told(&page(&teller, &chosen), MOST_SESSIONS));
    }

    #[test]
    fn good_arrows_are_left_alone_and_one_arrow_is_no_fleet() {
        let mut book = Book::new(5);
        assert!(matches!(&told(&book)[..], [Item::Text(_)]));
        book.session(30.0, 10, 2.0, |_, _| (0.0, 0.0));
        let items = told(&book);
        assert!(matches!(&items[0], Item::Answer(a) if a.starts_with("No arrow stands out")), "{items:#?}");
    }
}
