//! A match: how it stands, what to do, and the chance to win.

use goldward_core::advice::Advice;
use goldward_core::matches::{Duel, MatchAdvice, Verdict};

use crate::item::Item;
use crate::teller::Teller;
use crate::words::{self, Word};

/// How it stands, in a sentence or two.
#[must_use]
pub fn standing(t: &Teller<'_>, duel: &Duel) -> String {
    let s = duel.standing.settled(&duel.format);
    let [mine, theirs, ends] = [s.mine.points, s.theirs.points, s.ends_done].map(|n| n.to_string());
    let mut text = t.f(Word::MatchStands, &[&mine, &theirs, &ends]);
    let verdict = match s.verdict(&duel.format) {
        Verdict::Open => None,
        Verdict::ShootOff => Some(Word::MatchShootOff),
        Verdict::Won => Some(Word::MatchWon),
        Verdict::Lost => Some(Word::MatchLost),
    };
    if let Some(word) = verdict {
        text += " ";
        text += &t.t(word);
    } else if s.mine.end_shots + s.theirs.end_shots > 0 {
        let (m, o) = (s.mine, s.theirs);
        let numbers = [m.end_points, m.end_shots, o.end_points, o.end_shots].map(|n| n.to_string());
        text += " ";
        text += &t.f(Word::MatchEnd, &numbers.each_ref().map(String::as_str));
    }
    text
}

/// A chance with a decimal, since a point is worth little: `4.1 %`.
#[must_use]
pub fn fine(t: &Teller<'_>, p: f64) -> String {
    format!("{} %", t.number(100.0 * p, 1))
}

/// The chance in one sentence, and what touching now would make of it.
#[must_use]
pub fn chance(t: &Teller<'_>, told: &MatchAdvice) -> String {
    t.f(Word::MatchChance, &[&t.percent(told.chance)])
}

/// What touching now gives, what waiting, and what a point is worth.
#[must_use]
pub fn because(t: &Teller<'_>, told: &MatchAdvice) -> String {
    let plan = &told.plan;
    let gain = t.f(Word::MatchGain, &[&fine(t, plan.now), &fine(t, plan.best_later().1)]);
    format!("{gain} {}", t.f(Word::MatchPoint, &[&fine(t, plan.point)]))
}

/// Everything about a match as a page.
#[must_use]
pub fn page(t: &Teller<'_>, duel: &Duel, advice: &Advice, told: &MatchAdvice) -> Vec<Item> {
    let l = t.language;
    let verdict = duel.standing.settled(&duel.format).verdict(&duel.format);
    let mut items = vec![Item::Heading(t.t(Word::MatchTitle)), Item::Text(standing(t, duel))];
    if matches!(verdict, Verdict::Won | Verdict::Lost) {
        return items;
    }
    items.push(Item::Answer(format!("{}. {}.", words::action(l, advice), chance(t, told))));
    items.push(Item::Text(words::why(l, told.why).to_owned()));
    items.push(Item::Text(because(t, told)));
    let plan = &told.plan;
    let mut rows = vec![vec![t.t(Word::MatchNow), fine(t, plan.now)]];
    rows.extend(plan.wait.iter().map(|(k, p)| vec![t.f(Word::MatchAfter, &[&k.to_string()]), fine(t, *p)]));
    rows.push(vec![t.t(Word::MatchNever), fine(t, plan.never)]);
    items.push(Item::Table(t.t(Word::MatchWins), vec![t.t(Word::MatchWays), t.t(Word::MatchWins)], rows));
    items.push(Item::Text(t.f(Word::MatchOther, &[&t.number(plan.opponent, 1)])));
    items.push(Item::Note(t.t(Word::MatchRules)));
    items
}
