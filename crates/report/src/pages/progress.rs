//! Progress: for each distance the spread over time with its intervals, where the points went, and what changed.

use std::fmt::Write as _;

use goldward_session::log::{Change, DistanceHistory, SeasonGave, SessionPoint};

use crate::html::escape;
use crate::item::{Item, Picture};
use crate::teller::Teller;
use crate::words::Word;

/// Most sessions of a distance that are drawn and listed; the latest.
const MOST: usize = 24;
const LEFT: f64 = 44.0;
const WIDTH: f64 = 296.0;
const TOP: f64 = 12.0;
const HEIGHT: f64 = 120.0;

/// The page: the distances of `histories`, the one shot last first, each with what the moves of its sessions gave, where that is known.
#[must_use]
pub fn page(teller: &Teller<'_>, histories: &[(DistanceHistory, Option<SeasonGave>)]) -> Vec<Item> {
    let mut order: Vec<_> = histories.iter().filter(|(h, _)| h.sessions.iter().any(told)).collect();
    order.sort_by_key(|(h, _)| std::cmp::Reverse(h.sessions.last().map_or(0, |s| s.at_ms)));
    order.into_iter().flat_map(|(h, moves)| distance(teller, h, moves.as_ref())).collect()
}

/// Whether there is anything to say of a session.
fn told(s: &SessionPoint) -> bool {
    s.spread_mrad.is_some() || s.total.shots > 0
}

fn distance(teller: &Teller<'_>, h: &DistanceHistory, moves: Option<&SeasonGave>) -> Vec<Item> {
    let all: Vec<&SessionPoint> = h.sessions.iter().filter(|s| told(s)).collect();
    let latest = &all[all.len().saturating_sub(MOST)..];
    let mut items = vec![Item::Heading(teller.f(Word::ProgressAt, &[&teller.distance(h.distance_m)]))];
    items.extend(h.change.map(|c| Item::Answer(changed(teller, &c))));
    let spreads: Vec<(u64, (f64, f64, f64))> = latest.iter().filter_map(|s| Some((s.at_ms, s.spread_mrad?))).collect();
    if spreads.len() > 1 {
        items.push(picture(teller, &spreads, h.distance_m));
    }
    let counted: Vec<_> = latest.iter().filter_map(|s| Some((s, s.lost?))).collect();
    if let (Some((last, lost)), false) = (counted.last(), counted.is_empty()) {
        items.push(Item::Text(teller.f(
            Word::PointsWent,
            &[
                &(teller.date)(last.at_ms),
                &last.total.points.to_string(),
                &teller.number(lost.possible, 0),
                &teller.number(lost.to_spread, 0),
                &teller.number(lost.to_sight, 1),
                &teller.number(lost.to_chance, 0),
            ],
        )));
    }
    items.extend(moves.into_iter().flat_map(|m| super::moves::season(teller, m)));
    let head = [Word::Date, Word::Total, Word::Handicap, Word::ToSight, Word::ToSpread].map(|w| teller.t(w));
    let none = || "–".to_owned();
    let rows = latest.iter().rev().map(|s| {
        // Points, and their mean an arrow.
        let mean = |n: u32| teller.number(f64::from(s.total.points) / f64::from(n), 1);
        let score =
            if s.total.shots > 0 { format!("{} · ⌀ {}", s.total.points, mean(s.total.shots)) } else { none() };
        vec![
            (teller.date)(s.at_ms),
            score,
            s.handicap.map_or_else(none, |n| n.to_string()),
            s.lost.map_or_else(none, |l| teller.number(l.to_sight, 1)),
            s.lost.map_or_else(none, |l| teller.number(l.to_spread, 0)),
        ]
    });
    items.push(Item::Table(teller.distance(h.distance_m), head.to_vec(), rows.collect()));
    items
}

/// What changed, with its 80 % interval.
fn changed(teller: &Teller<'_>, c: &Change) -> String {
    let word = if c.high < 1.0 {
        Word::SpreadSmaller
    } else if c.low > 1.0 {
        Word::SpreadLarger
    } else {
        Word::SpreadSame
    };
    let share = |ratio: f64| {
        let percent = (100.0 * (ratio - 1.0)).round();
        format!("{}{}", if percent > 0.0 { "+" } else { "" }, teller.number(percent, 0))
    };
    teller.f(
        word,
        &[&c.sessions_now.to_string(), &c.sessions_before.to_string(), &share(c.ratio), &share(c.low), &share(c.high)],
    )
}

/// The spread of each session with its 80 % interval, as it is on the face at `metres`.
fn picture(teller: &Teller<'_>, spreads: &[(u64, (f64, f64, f64))], metres: f64) -> Item {
    let unit = if teller.imperial { 25.4 } else { 10.0 };
    let on_face = |mrad: f64| mrad * metres / unit;
    let spreads: Vec<_> =
        spreads.iter().map(|(at, (x, low, high))| (*at, (on_face(*x), on_face(*low), on_face(*high)))).collect();
    let most = spreads.iter().map(|s| s.1.2).fold(0.0, f64::max).max(0.1);
    let step = [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0].into_iter().find(|s| most / s <= 5.0).unwrap_or(100.0);
    let top = step * (most / step).ceil();
    let y = |value: f64| TOP + HEIGHT * (1.0 - value / top);
    let x = |i: usize| LEFT + WIDTH * (i as f64 + 0.5) / spreads.len() as f64;
    let mut out = String::new();
    for k in 0..=(top / step).round() as u32 {
        let value = step * f64::from(k);
        let _ = write!(
            out,
            "<path class=\"axes\" d=\"M{LEFT} {0:.1}h{WIDTH}\"/><text class=\"way\" x=\"{1}\" y=\"{2:.1}\" text-anchor=\"end\">{3}</text>",
            y(value),
            LEFT - 5.0,
            y(value) + 4.0,
            teller.number(value, 1)
                + if k == 0 {
                    ""
                } else if teller.imperial {
                    " in"
                } else {
                    " cm"
                }
        );
    }
    let mut line = String::new();
    for (i, (_, (value, low, high))) in spreads.iter().enumerate() {
        let _ = write!(line, "{:.1},{:.1} ", x(i), y(*value));
        let _ = write!(
            out,
            "<path class=\"curve clean\" d=\"M{0:.1} {1:.1}V{2:.1}M{3:.1} {1:.1}h8M{3:.1} {2:.1}h8\"/><circle class=\"spot clean\" cx=\"{0:.1}\" cy=\"{4:.1}\" r=\"4\"/>",
            x(i),
            y(*low),
            y(*high),
            x(i) - 4.0,
            y(*value)
        );
    }
    let _ = write!(out, "<polyline class=\"limit\" points=\"{line}\"/>");
    for (i, anchor) in [(0, "start"), (spreads.len() - 1, "end")] {
        let _ = write!(
            out,
            "<text class=\"way\" x=\"{}\" y=\"{}\" text-anchor=\"{anchor}\">{}</text>",
            if i == 0 { LEFT } else { LEFT + WIDTH },
            TOP + HEIGHT + 18.0,
            escape(&(teller.date)(spreads[i].0))
        );
    }
    let label = teller.f(Word::SpreadPicture, &[&teller.distance(metres)]);
    let view = format!("viewBox=\"0 0 350 {}\"", TOP + HEIGHT + 28.0);
    Picture::drawn(label.clone(), format!("<svg {view} role=\"img\" aria-label=\"{}\">{out}</svg>", escape(&label)))
}

#[cfg(test)]
mod tests {
    use goldward_journal::Uuid;
    use goldward_session::log::{Lost, Total};

    use super::*;
    use crate::words::Language;

    fn session(day: u64, mrad: f64) -> SessionPoint {
        SessionPoint {
            id: Uuid::from_u128(u128::from(day)),
            at_ms: day,
            round: None,
            face: "122".to_owned(),
            total: Total { points: 300, shots: 36, ..Total::default() },
            spread_mrad: Some((mrad, 0.8 * mrad, 1.2 * mrad)),
            lost: Some(Lost {
                possible: 360.0,
                perfect_sight: 310.0,
                to_spread: 50.0,
                to_sight: 7.25,
                to_chance: 2.75,
            }),
            handicap: Some(41),
            spread_shots: 36,
            shots: 36,
        }
    }

    #[test]
    fn the_distance_shot_last_comes_first_and_says_where_the_points_went() {
        let change = Some(Change { ratio: 0.8, low: 0.7, high: 0.9, sessions_now: 1, sessions_before: 2 });
        let histories = [
            (DistanceHistory { distance_m: 18.0, sessions: vec![session(40, 2.0)], change: None }, None),
            (
                DistanceHistory {
                    distance_m: 70.0,
                    sessions: vec![session(10, 2.5), session(20, 2.4), session(50, 1.9)],
                    change,
                },
                None,
            ),
        ];
        let date = |ms: u64| format!("day {ms}");
        let teller = Teller { language: Language::English, imperial: false, date: &date };
        let items = page(&teller, &histories);
        assert!(matches!(&items[0], Item::Heading(t) if t.contains("70 m")), "{items:?}");
        let Item::Answer(answer) = &items[1] else { panic!("{items:?}") };
        assert!(answer.contains("smaller") && answer.contains("-20 %") && answer.contains("-30 to -10"), "{answer}");
        let Item::Picture(Picture { svg, .. }) = &items[2] else { panic!("{items:?}") };
        assert_eq!((svg.matches("<circle").count(), svg.matches("curve clean").count()), (3, 3));
        assert!(svg.contains(">20 cm</text>") && svg.contains("day 10") && svg.contains("day 50"), "{svg}");
        let Item::Text(went) = &items[3] else { panic!("{items:?}") };
        assert!(
            went.contains("day 50") && went.contains("300 of 360") && went.contains("50") && went.contains("7.3"),
            "{went}"
        );
        let Item::Table(_, head, rows) = &items[4] else { panic!("{items:?}") };
        assert_eq!((head.len(), rows.len()), (5, 3));
        assert_eq!(rows[0], ["day 50", "300 · ⌀ 8.3", "41", "7.3", "50"]);
        assert!(items.iter().any(|i| matches!(i, Item::Heading(t) if t.contains("18 m"))));
        // One session alone has no picture.
        assert_eq!(items.iter().filter(|i| matches!(i, Item::Picture(..))).count(), 1);
    }

    #[test]
    fn nothing_shot_says_nothing() {
        let date = |_| String::new();
        let teller = Teller { language: Language::French, imperial: true, date: &date };
        assert!(page(&teller, &[]).is_empty());
        let mut blank = session(1, 1.0);
        (blank.spread_mrad, blank.total.shots) = (None, 0);
        let history = DistanceHistory { distance_m: 18.0, sessions: vec![blank], change: None };
        assert!(page(&teller, &[(history, None)]).is_empty());
    }
}
