//! What the moves of the sight gave: of one session, and of a season in two sentences.

use std::fmt::Write as _;

use goldward_core::pace::hindsight::{Stretch, Worth};
use goldward_core::stats::Z_80;
use goldward_session::log::{MovesGave, SeasonGave};

use crate::html::escape;
use crate::item::{Item, Picture};
use crate::teller::Teller;
use crate::words::{self, Word};

const LEFT: f64 = 58.0;
const TOP: f64 = 8.0;
const WIDTH: f64 = 282.0;
/// Height of the picture of one axis, and what lies between the two.
const HEIGHT: f64 = 96.0;
const GAP: f64 = 26.0;

/// The page of one session.
#[must_use]
pub fn page(t: &Teller<'_>, gave: &MovesGave) -> Vec<Item> {
    let mut items = vec![Item::Heading(t.t(Word::MovesHead))];
    items.push(Item::Answer(told(t, Word::MovesAll, &[&gave.moves.len().to_string()], gave.all)));
    if let Some(hasty) = gave.hasty.filter(|_| gave.hasty_moves() < gave.moves.len()) {
        items.push(Item::Text(told(t, Word::MovesHasty, &[&gave.hasty_moves().to_string()], hasty)));
    }
    if let Some(waiting) = gave.over_waiting {
        items.push(Item::Text(told(t, Word::MovesWaiting, &[], waiting)));
    }
    items.extend(gave.goldward_beyond.map(|beyond| Item::Text(told(t, Word::MovesGoldward, &[], beyond))));
    items.push(picture(t, &gave.stretches));
    let rows = gave.moves.iter().map(|(m, worth)| {
        let clicks = [(m.pin_mm.x_mm, 0), (m.pin_mm.y_mm, 1)].map(|(mm, i)| (mm / gave.click_mm[i]).round() as i32);
        let [points, low, high] = points(t, *worth);
        vec![m.after.to_string(), words::turns(t.language, clicks), points, format!("{low} … {high}")]
    });
    let head = [Word::MoveAfter, Word::MoveWas, Word::MoveGave, Word::MoveHolds].map(|w| t.t(w));
    items.push(Item::Table(t.t(Word::MovesEach), head.to_vec(), rows.collect()));
    items.push(Item::Note(t.t(Word::MovesNote)));
    items
}

/// A season in two sentences; nothing without a move.
#[must_use]
pub fn season(t: &Teller<'_>, gave: &SeasonGave) -> Vec<Item> {
    let (sessions, moves) = (gave.sessions.to_string(), gave.moves.to_string());
    let mut text = told(t, Word::MovesSeason, &[&sessions, &moves], gave.all);
    if let Some((count, worth)) = gave.hasty {
        let _ = write!(text, " {}", told(t, Word::MovesSeasonHasty, &[&count.to_string()], worth));
    }
    vec![Item::Text(text)]
}

fn points(t: &Teller<'_>, worth: Worth) -> [String; 3] {
    let [low, high] = worth.interval_points;
    [worth.points, low, high].map(|p| words::points(t.language, p))
}

/// A sentence whose last three gaps are the points and their interval.
fn told(t: &Teller<'_>, word: Word, first: &[&str], worth: Worth) -> String {
    let points = points(t, worth);
    let all: Vec<&str> = first.iter().copied().chain(points.iter().map(String::as_str)).collect();
    t.f(word, &all)
}

/// The sight against where it should have stood, arrow by arrow: windage above, elevation below.
fn picture(t: &Teller<'_>, stretches: &[Stretch]) -> Item {
    let mut out = String::new();
    let across = |s: &Stretch| [s.sight.x_mm, s.centre.x_mm, s.centre_sd_mm[0]];
    let up_down = |s: &Stretch| [s.sight.y_mm, s.centre.y_mm, s.centre_sd_mm[1]];
    panel(t, &mut out, TOP, Word::MovesAcross, stretches, across);
    panel(t, &mut out, TOP + HEIGHT + GAP, Word::MovesUpDown, stretches, up_down);
    let label = t.t(Word::MovesPicture);
    let view = format!("viewBox=\"0 0 350 {}\"", TOP + 2.0 * (HEIGHT + GAP));
    Picture::drawn(label.clone(), format!("<svg {view} role=\"img\" aria-label=\"{}\">{out}</svg>", escape(&label)))
}

/// One axis, `of` which a stretch has the sight, the centre and its standard deviation.
fn panel(
    t: &Teller<'_>,
    out: &mut String,
    top: f64,
    name: Word,
    stretches: &[Stretch],
    of: impl Fn(&Stretch) -> [f64; 3],
) {
    let shots = stretches.last().map_or(1, |s| s.first + s.shots) as f64;
    let x = |shot: usize| LEFT + WIDTH * shot as f64 / shots;
    let values = stretches.iter().map(&of).flat_map(|[sight, at, sd]| [sight, at - Z_80 * sd, at + Z_80 * sd]);
    let (low, high) = values.fold((0.0_f64, 0.0_f64), |(low, high), v| (low.min(v), high.max(v)));
    let y = |mm: f64| top + HEIGHT * (1.0 - (mm - low) / (high - low).max(1.0));
    let _ = write!(
        out,
        "<path class=\"axes\" d=\"M{LEFT} {:.1}h{WIDTH}\"/><text class=\"way\" x=\"{LEFT}\" y=\"{}\">{}</text>",
        y(0.0),
        top + HEIGHT + 14.0,
        escape(&t.t(name))
    );
    for mm in [low, high] {
        let _ = write!(
            out,
            "<text class=\"way\" x=\"{}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
            LEFT - 5.0,
            y(mm) + 3.0,
            escape(&signed(t, mm))
        );
    }
    let mut line = String::new();
    for s in stretches {
        let [sight, at, sd] = of(s);
        let (from, to) = (x(s.first), x(s.first + s.shots));
        let _ = write!(line, "{from:.1},{0:.1} {to:.1},{0:.1} ", y(sight));
        let _ = write!(
            out,
            "<path class=\"curve clean\" d=\"M{0:.1} {1:.1}V{2:.1}\"/><circle class=\"spot clean\" cx=\"{0:.1}\" cy=\"{3:.1}\" r=\"3\"/>",
            0.5 * (from + to),
            y(at - Z_80 * sd),
            y(at + Z_80 * sd),
            y(at)
        );
    }
    let _ = write!(out, "<polyline class=\"rule\" points=\"{line}\"/>");
}

/// A length on the face with its sign.
fn signed(t: &Teller<'_>, mm: f64) -> String {
    let sign = if mm < -0.5 { "−" } else { "" };
    format!("{sign}{}", t.length(mm))
}

#[cfg(test)]
mod tests {
    use goldward_session::log::MovesSum;

    use goldward_core::pace::hindsight::Move;
    use goldward_core::plane::Point;
    use goldward_core::units::Distance;
    use goldward_journal::Uuid;

    use super::*;
    use crate::words::Language;

    fn worth(points: f64) -> Worth {
        Worth { points, interval_points: [points - 2.0, points + 3.0], p_gained: 0.6 }
    }

    fn gave() -> MovesGave {
        let of = |after, since, x, y| Move {
            after,
            since,
            within_end: since < 6,
            pin_mm: Point::new(x, y),
            shift_mm: Point::new(80.0 * x, 80.0 * y),
        };
        let stretch = |first, shots, moves, x: f64| Stretch {
            first,
            shots,
            counted: shots,
            end: first / 6,
            moves,
            sight: Point::new(x, 0.0),
            centre: Point::new(40.0, -10.0),
            centre_sd_mm: [12.0, 9.0],
        };
        MovesGave {
            id: Uuid::nil(),
            at_ms: 0,
            distance: Distance::from_metres(70.0).unwrap(),
            click_mm: [0.1, 0.1],
            moves: vec![(of(1, 1, 1.2, -0.4), worth(-3.0)), (of(6, 5, 0.0, 0.5), worth(7.5))],
            all: worth(4.5),
            hasty: Some(worth(-3.0)),
            over_waiting: Some(worth(-1.0)),
            goldward_beyond: Some(worth(2.0)),
            stretches: vec![stretch(0, 1, 0, 0.0), stretch(1, 5, 1, 96.0), stretch(6, 6, 2, 96.0)],
        }
    }

    #[test]
    fn a_session_is_told_with_its_moves_and_a_season_in_two_sentences() {
        let date = |_| String::new();
        for language in Language::ALL {
            let t = Teller { language, imperial: false, date: &date };
            let items = page(&t, &gave());
            let Item::Answer(answer) = &items[1] else { panic!("{items:?}") };
            let number = |text: &str| language.number(text);
            assert!(answer.contains(&number("+4.5")) && answer.contains(&number("+2.5")), "{answer}");
            assert!(!answer.contains('{') && answer.contains('2'), "{answer}");
            let Some(Item::Table(_, head, rows)) = items.iter().find(|i| matches!(i, Item::Table(..))) else {
                panic!()
            };
            assert_eq!((head.len(), rows.len()), (4, 2));
            let Some(Item::Picture(p)) = items.iter().find(|i| matches!(i, Item::Picture(_))) else { panic!() };
            assert_eq!(p.svg.matches("<circle").count(), 6);
            let season = SeasonGave::of(&[gave(), gave()].map(|g| MovesSum::from(&g))).unwrap();
            let [Item::Text(text)] = &self::season(&t, &season)[..] else { panic!() };
            assert!(
                text.contains(&number("+9")) && text.contains(&number("-6")) || text.contains(&number("−6")),
                "{text}"
            );
        }
        let t = Teller { language: Language::English, imperial: false, date: &date };
        let Some(Item::Table(.., rows)) = page(&t, &gave()).pop().and(page(&t, &gave()).into_iter().rev().nth(1))
        else {
            panic!()
        };
        assert_eq!(rows[0][0], "1");
        assert!(rows[0][1].contains("right 12") && rows[0][1].contains("down 4"), "{rows:?}");
    }
}
