//! The archer's own habits, each as a sentence with what it is from, and what archers have in common where little is known.

use goldward_core::habits::{Along, Count, Course, Days, Habits, Patterns, Step};
use goldward_core::plane::Point;
use goldward_session::log::{HABITS_HALF_LIFE_DAYS, HabitsShown};

use crate::item::Item;
use crate::teller::Teller;
use crate::words::Word;

/// Fewer marked shots than this tell little: what is common is said beside them.
const FEW: usize = 5;

/// Fewer days than this tell no range.
const FEWEST_DAYS: usize = 3;

/// The page; `shown` is nothing where no session was shot.
#[must_use]
pub fn page(t: &Teller<'_>, shown: Option<&HabitsShown>) -> Vec<Item> {
    let mut items = vec![Item::Heading(t.t(Word::HabitsHead))];
    let (habits, shown) = match shown.and_then(|s| Some((s.learnt.habits?, s))) {
        Some(both) => both,
        None => {
            items.push(Item::Text(t.t(Word::HabitsNone)));
            items.extend(share(t, &Habits::usual()).map(Item::Text));
            return items;
        }
    };
    if !shown.used {
        items.push(Item::Note(t.t(Word::HabitsOff)));
    }
    let spread_mm = habits.spread_ratio * shown.learnt.spread.mrad() * shown.distance.metres();
    let far = |spreads: f64| t.length(spreads * spread_mm);
    let at = t.distance(shown.distance.metres());
    items.push(Item::Answer(side(t, &habits, spread_mm, &at)));
    let [x, y] = habits.along.map(|a: Along| far(a.factor.sqrt()));
    items.push(Item::Text(t.f(Word::HabitsWide, &[&x, &y, &far(1.0), &at])));
    items.extend(share(t, &habits).map(Item::Text));
    items.push(Item::Text(felt(t, Word::HabitsFeltBad, habits.counts[1], habits.odds[1])));
    items.push(Item::Text(felt(t, Word::HabitsFeltGood, habits.counts[2], habits.odds[2])));
    items.extend(shown.learnt.ends.map(|e| {
        let spread_mm = shown.learnt.spread.mrad() * shown.distance.metres();
        let far = |share: f64| t.length(share * spread_mm);
        Item::Text(t.f(Word::PriorEnds, &[&far(e.effect.windage), &far(e.effect.elevation), &e.ends.to_string()]))
    }));
    items.extend(shown.learnt.course.iter().flat_map(|c| course(t, c, spread_mm, &at)));
    items.extend(shown.learnt.days.filter(|d| d.sessions >= FEWEST_DAYS).map(|d| days(t, &d, spread_mm, &at)));
    items.extend(patterns(t, &habits.patterns).map(Item::Text));
    let days = t.number(HABITS_HALF_LIFE_DAYS, 0);
    items.push(Item::Note(
        t.f(Word::HabitsNote, &[&habits.sessions.to_string(), &habits.all().shots.to_string(), &days]),
    ));
    items
}

/// Where the bad shots go.
fn side(t: &Teller<'_>, habits: &Habits, spread_mm: f64, at: &str) -> String {
    let bad = t.number(habits.all().bad, 0);
    if !habits.has_side() {
        return t.f(Word::HabitsNoSide, &[&bad]);
    }
    // An axis that does not tell a side is left out of it.
    let [x, y] = habits.along.map(|a| if a.has_side() { a.mean * spread_mm } else { 0.0 });
    t.f(Word::HabitsSide, &[&t.toward(Point::new(x, y)), at, &bad])
}

/// What touches give, how precisely the sight is set, and the drift from end to end.
fn course(t: &Teller<'_>, course: &Course, spread_mm: f64, at: &str) -> Vec<Item> {
    let mut items = Vec::new();
    let [windage, elevation] = course.gives;
    let count = |n: usize| n.to_string();
    let share = |x: f64| format!("{} %", t.number(100.0 * x, 0));
    if course.tells_of_setting() {
        let told = [windage, elevation].map(|g| share(g.told()));
        items.push(Item::Text(
            t.f(Word::HabitsGives, &[&told[0], &told[1], &count(windage.touches), &count(elevation.touches)]),
        ));
        for (gives, axis) in [(windage, Word::HabitsWindage), (elevation, Word::HabitsElevation)] {
            if !gives.is_near() {
                let text = &[&*t.t(axis), &*share(gives.mean), &*count(gives.touches)];
                items.push(Item::Warning(t.f(Word::HabitsGivesOdd, text)));
            }
        }
        let error = t.number(course.error_mm, if course.error_mm < 0.1 { 2 } else { 1 });
        items.push(Item::Text(t.f(Word::HabitsSetting, &[&error, &count(course.touches)])));
    }
    let side = course.step.map(|s| if s.has_side() { s.mean * spread_mm } else { 0.0 });
    items.push(Item::Text(if course.step.iter().any(Step::has_side) {
        t.f(Word::HabitsDrift, &[&t.toward(Point::new(side[0], side[1])), at, &count(course.ends)])
    } else {
        t.f(Word::HabitsNoDrift, &[&count(course.ends)])
    }));
    items
}

/// How far the days lie apart.
fn days(t: &Teller<'_>, days: &Days, spread_mm: f64, at: &str) -> Item {
    let [low, high] = days.range.map(|r| t.length(r * spread_mm));
    Item::Text(t.f(Word::HabitsDays, &[&low, &high, at, &days.sessions.to_string()]))
}

/// How often the group is two, and has moved.
fn patterns(t: &Teller<'_>, patterns: &Patterns) -> Option<String> {
    if patterns.sessions < FEWEST_DAYS {
        return None;
    }
    let one_in = |share: f64| t.number(1.0 / share, 0);
    let [splits, jumps] = patterns.odds.shares();
    let [usual_splits, usual_jumps] = Patterns::USUAL.odds.shares();
    let (double, moved) = (t.number(patterns.splits, 0), t.number(patterns.jumps, 0));
    let sessions = patterns.sessions.to_string();
    let values = [one_in(splits), double, sessions, one_in(jumps), moved, one_in(usual_splits), one_in(usual_jumps)];
    Some(t.f(Word::HabitsSplits, &values.each_ref().map(String::as_str)))
}

/// How often one goes astray.
fn share(t: &Teller<'_>, habits: &Habits) -> [String; 1] {
    let one_in = |p: f64| t.number(1.0 / p.max(1e-3), 0);
    let (all, usual) = (habits.all(), Habits::usual().bad_share());
    if all.shots == 0 {
        return [t.f(Word::HabitsShareUsual, &[&one_in(usual)])];
    }
    let astray = t.number(all.bad + all.strays, 0);
    [t.f(Word::HabitsShare, &[&one_in(habits.bad_share()), &astray, &all.shots.to_string(), &one_in(usual)])]
}

/// What shots with a mark turned out to be.
fn felt(t: &Teller<'_>, word: Word, count: Count, odds: [f64; 3]) -> String {
    let astray = t.percent(odds[1] + odds[2]);
    let text = t.f(word, &[&count.shots.to_string(), &astray]);
    if count.shots < FEW { format!("{text} {}", t.t(Word::HabitsFew)) } else { text }
}

#[cfg(test)]
mod tests {
    use goldward_core::habits::{Gives, learn_course};
    use goldward_core::units::{Distance, Spread};
    use goldward_session::log::Learnt;

    use super::*;
    use crate::words::Language;

    fn shown(mean: f64, sd: f64, used: bool) -> HabitsShown {
        let usual = Habits::usual();
        let along = [Along { mean, sd, factor: 2.25 }, Along { mean: 0.3, sd: 0.5, factor: 4.0 }];
        let counts = [
            Count { shots: 400, bad: 30.0, strays: 2.0 },
            Count { shots: 14, bad: 11.0, strays: 0.0 },
            Count::default(),
        ];
        let habits = Habits {
            sessions: 9,
            counts,
            along,
            odds: [[0.92, 0.075, 0.005], [0.2, 0.78, 0.02], usual.odds[2]],
            spread_ratio: 1.0,
            patterns: usual.patterns,
        };
        let learnt = Learnt {
            sessions: 9,
            shots: 414,
            habits: Some(habits),
            course: Some(learn_course(&[], 0.0)),
            days: Some(Days { sessions: 7, ..Days::usual() }),
            ..Learnt::of(Spread::from_mrad(1.5).unwrap(), 60.0)
        };
        HabitsShown { distance: Distance::from_metres(70.0).unwrap(), learnt, used }
    }

    #[test]
    fn how_sessions_go_is_said_where_they_tell() {
        let date = |_| String::new();
        let t = Teller { language: Language::English, imperial: false, date: &date };
        let mut shown = shown(2.7, 0.3, true);
        let quiet = format!("{:?}", page(&t, Some(&shown)));
        assert!(!quiet.contains("touch") && quiet.contains("to no side in particular (0 ends)"), "{quiet}");
        assert!(quiet.contains("On four days in five") && quiet.contains("foretold 7 times"), "{quiet}");
        let course = shown.learnt.course.as_mut().unwrap();
        course.touches = 12;
        course.error_mm = 0.43;
        course.gives[0] = Gives { near: 1.18, mean: 1.18, sd: 0.04, p_near: 0.99, touches: 12 };
        course.gives[1] = Gives { near: 1.2, mean: -1.02, sd: 0.1, p_near: 0.01, touches: 9 };
        course.step[1] = Step { mean: -0.1, sd: 0.02 };
        let said = page(&t, Some(&shown));
        let all = format!("{said:?}");
        assert!(all.contains("118 %") && all.contains("100 %") && all.contains("12 and 9 touches"), "{all}");
        assert!(
            said.iter().any(|i| matches!(i, Item::Warning(w) if w.contains("elevation") && w.contains("-102 %"))),
            "{all}"
        );
        assert!(all.contains("about 0.4 mm") && all.contains("goes 11 mm low"), "{all}");
    }

    #[test]
    fn each_habit_is_said_with_what_it_is_from() {
        let date = |_| String::new();
        let t = Teller { language: Language::English, imperial: false, date: &date };
        let items = page(&t, Some(&shown(2.7, 0.3, true)));
        let Item::Answer(side) = &items[1] else { panic!("{items:?}") };
        assert!(side.contains("28 cm right") && side.contains("41") && side.contains("70 m"), "{side}");
        let all = format!("{items:?}");
        assert!(all.contains("16 cm") && all.contains("14 shots") && all.contains("80 %"), "{all}");
        assert!(!all.contains("two groups"), "no session tells of it: {all}");
        let mut often = shown(2.7, 0.3, true);
        let patterns = goldward_core::group::PatternOdds::new(0.25, 0.02).unwrap();
        let told = often.learnt.habits.as_mut().unwrap();
        told.patterns = Patterns { sessions: 9, splits: 4.2, jumps: 0.1, odds: patterns };
        let all = format!("{:?}", page(&t, Some(&often)));
        assert!(all.contains("In one session of 4 your arrows make two groups (about 4 of 9)"), "{all}");
        assert!(
            all.contains("in one of 50 the group has moved once") && all.contains("one of 13 and one of 33"),
            "{all}"
        );
        let vague = format!("{:?}", page(&t, Some(&shown(0.4, 0.5, false))));
        assert!(!vague.contains("right of") && vague.contains("not use"), "{vague}");
        let none = format!("{:?}", page(&t, None));
        assert!(none.contains("one arrow in 11"), "{none}");
    }
}
