//! The strip: distances where their marks are, along the millimetres of the scale.

use super::{Card, FAINT, INK, SOFT, heavy};
use crate::draw::svg::{Anchor, Paint, Svg, n};
use goldward_session::marks::answer::{CardMark, Standing};

/// Paper above the first mark and below the last.
pub(super) const END_MM: f64 = 7.0;
/// Least way between the labels.
const LABEL_MM: f64 = 2.1;
/// Ticks closer than this are left out, unless they are labelled.
const TICK_MM: f64 = 0.45;

/// What a strip shows: the marks from the least reading on, where readings grow with the distance.
pub(super) fn marks_of<'a>(card: &'a Card<'_>) -> &'a [CardMark] {
    let least = (0..card.marks.len())
        .min_by(|a, b| card.marks[*a].reading_mm.total_cmp(&card.marks[*b].reading_mm))
        .unwrap_or(0);
    &card.marks[least..]
}

/// Least and greatest reading of a strip, in millimetres.
pub(super) fn span(marks: &[CardMark]) -> (f64, f64) {
    marks.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), m| (a.min(m.reading_mm), b.max(m.reading_mm)))
}

/// Length of the strip with its ends.
pub(super) fn length_mm(marks: &[CardMark]) -> f64 {
    let (low, high) = span(marks);
    high - low + 2.0 * END_MM
}

/// Draws a strip `width` wide with its upper left corner at `(x, y)`; one of 9 mm or more repeats the scale on its left
/// edge, one of 13 mm or more with numbers.
pub(super) fn draw(svg: &mut Svg, card: &Card<'_>, (x, y): (f64, f64), width: f64) {
    let marks = marks_of(card);
    let (low, _) = span(marks);
    let length = length_mm(marks);
    let at = |reading_mm: f64| y + END_MM + (reading_mm - low);
    let right = x + width;
    svg.raw(&format!("<g class=\"strip\" data-width-mm=\"{}\">", n(width)));
    svg.raw(&format!(
        "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"0.8\" fill=\"#ffffff\" stroke=\"{SOFT}\" \
         stroke-width=\"0.15\" stroke-dasharray=\"1.2 0.8\"/>",
        n(x),
        n(y),
        n(width),
        n(length)
    ));
    if width >= 9.0 {
        scale(svg, card, [x, y, length], low, width >= 13.0);
    }
    svg.text((right - 1.0, y + 2.6), 1.8, Anchor::End, SOFT, card.unit());
    let labelled = labelled(card, marks);
    let (mut last_tick, mut lane) = (f64::NEG_INFINITY, 0.0);
    for (mark, label) in marks.iter().zip(&labelled) {
        let here = at(mark.reading_mm);
        if !label && here - last_tick < TICK_MM {
            continue;
        }
        last_tick = here;
        tick(svg, card, (right, here), mark, *label);
        if *label {
            // How far the mark may be off, beside its label; in two lanes, so that long ones can be told apart.
            let [a, b] = mark.interval_mm.map(|mm| at(mm).clamp(y + 0.8, y + length - 0.8));
            let bar = right - 3.1 - lane;
            svg.line((bar, a), (bar, b), SOFT, 0.25);
            for end in [a, b] {
                svg.line((bar - 0.25, end), (bar + 0.25, end), SOFT, 0.15);
            }
            lane = 0.7 - lane;
            let text = card.label(mark.range);
            let place = (right - 4.3, here + 0.8);
            match mark.standing {
                Standing::Shot => heavy(svg, place, 2.4, "end", &text),
                Standing::Between => svg.text(place, 2.2, Anchor::End, INK, &text),
                Standing::Beyond => svg.text(place, 2.0, Anchor::End, SOFT, &text),
            }
        }
    }
    svg.raw("</g>");
}

/// A tick at the right edge: a full wedge for a mark that was shot, a line for a predicted one, a broken line beyond.
fn tick(svg: &mut Svg, card: &Card<'_>, (right, here): (f64, f64), mark: &CardMark, label: bool) {
    svg.raw(&format!("<g class=\"{}\" data-m=\"{}\">", mark.standing.word(), n(mark.range.m())));
    match mark.standing {
        Standing::Shot => {
            svg.polygon(&[(right, here), (right - 2.5, here - 0.75), (right - 2.5, here + 0.75)], Paint::fill(INK));
        }
        Standing::Between | Standing::Beyond => {
            let five = card.multiple(mark.range, 5.0);
            let reach = if label || five { 2.5 } else { 1.4 };
            let thick = if five { 0.22 } else { 0.14 };
            if mark.standing == Standing::Between {
                svg.line((right - reach, here), (right, here), INK, thick);
            } else {
                svg.line((right - reach, here), (right - 0.62 * reach, here), INK, thick);
                svg.line((right - 0.3 * reach, here), (right, here), INK, thick);
            }
        }
    }
    svg.raw("</g>");
}

/// Which marks are labelled: those shot first, then tens, then fives, as far as there is room.
fn labelled(card: &Card<'_>, marks: &[CardMark]) -> Vec<bool> {
    let rank = |i: usize| {
        let range = marks[i].range;
        let (ten, five) = (card.multiple(range, 10.0), card.multiple(range, 5.0));
        [marks[i].standing == Standing::Shot, ten, five, i + 1 == marks.len()].iter().position(|class| *class)
    };
    let mut order: Vec<(usize, usize)> = (0..marks.len()).filter_map(|i| rank(i).map(|r| (r, i))).collect();
    order.sort_unstable();
    let mut labels = vec![false; marks.len()];
    for (_, i) in order {
        let clear = |other: &CardMark| (other.reading_mm - marks[i].reading_mm).abs() >= LABEL_MM;
        labels[i] = marks.iter().zip(&labels).all(|(other, taken)| !taken || clear(other));
    }
    labels
}

/// The sight's own scale on the left edge, to lay the strip by.
fn scale(svg: &mut Svg, card: &Card<'_>, [x, y, length]: [f64; 3], low: f64, numbered: bool) {
    let own = card.numbers.scale();
    let unit = own.unit_mm();
    let step = [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0]
        .into_iter()
        .find(|s| s * unit >= 7.9)
        .unwrap_or(1000.0);
    let parts = if step * unit >= 9.0 { 10.0 } else { 5.0 };
    let (top, bottom) = (low - END_MM, low - END_MM + length);
    let [a, b] = [top, bottom].map(|mm| own.number_at(mm));
    let (from, to) = (a.min(b), a.max(b));
    let small = step / parts;
    let count = ((to - from) / small).floor().clamp(0.0, 2000.0) as usize;
    let start = (from / small).ceil();
    for i in 0..=count {
        let index = start + i as f64;
        let number = index * small;
        if number > to {
            break;
        }
        let here = y + END_MM + own.to_mm(number) - low;
        let big = (index / parts - (index / parts).round()).abs() < 1e-6;
        svg.line((x, here), (x + if big { 2.0 } else { 1.0 }, here), if big { SOFT } else { FAINT }, 0.14);
        if big && numbered && here > y + 3.6 && here < y + length - 1.5 {
            svg.text((x + 2.3, here + 0.6), 1.7, Anchor::Start, SOFT, &n(number));
        }
    }
}
