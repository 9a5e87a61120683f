//! The funnel: how far off the first arrow may be at each distance, narrow where marks were shot.

use super::{Card, FAINT, GOLD, INK, SOFT, sign};
use crate::draw::svg::{Anchor, Paint, Svg, n};
use goldward_session::marks::answer::Standing;

/// Points of the outline on each side.
const POINTS: usize = 90;

/// Draws the funnel into the box `[x, y, width, height]`.
pub(super) fn draw(svg: &mut Svg, card: &Card<'_>, [x, y, w, h]: [f64; 4]) {
    let (Some(first), Some(last)) = (card.marks.first(), card.marks.last()) else { return };
    let (from, to) = (card.number(first.range), card.number(last.range));
    let metre = if card.yards { 0.9144 } else { 1.0 };
    let pin_mm = card.known.setup.rig.sighting().eye_to_pin_mm();
    // Half of the 80 % interval on the face, in centimetres.
    let half_cm = |at: f64| {
        let metres = at * metre;
        let p = card.known.fitted.predict(metres).ok()?;
        Some(0.1 * 0.5 * (p.interval_mm[1] - p.interval_mm[0]) * 1000.0 * metres / pin_mm)
    };
    let band: Vec<(f64, f64)> = (0..=POINTS)
        .filter_map(|i| {
            let at = from + (to - from) * i as f64 / POINTS as f64;
            half_cm(at).map(|half| (at, half))
        })
        .collect();
    let most = band.iter().map(|b| b.1).fold(0.1, f64::max);
    let middle = y + 0.5 * h - 1.0;
    let across = |at: f64| x + w * (at - from) / (to - from).max(1e-9);
    let up = |half: f64| (0.5 * h - 5.0) * half / most;
    let outline: Vec<(f64, f64)> = band
        .iter()
        .map(|(at, half)| (across(*at), middle - up(*half)))
        .chain(band.iter().rev().map(|(at, half)| (across(*at), middle + up(*half))))
        .collect();
    svg.polygon(&outline, Paint { fill: GOLD, stroke: INK, width: 0.2 });
    svg.line((x, middle), (x + w, middle), INK, 0.15);
    let step = if to - from > 30.0 { 10.0 } else { 5.0 };
    let mut ticks: Vec<f64> = (0..=400).map(|i| step * f64::from(i)).filter(|at| (from..=to).contains(at)).collect();
    if ticks.last().is_none_or(|at| to - at > 0.4 * step) {
        ticks.push(to);
    }
    for at in ticks {
        let here = across(at);
        svg.line((here, y + h - 4.0), (here, y + h - 3.0), SOFT, 0.2);
        svg.text((here, y + h - 0.4), 2.5, Anchor::Middle, SOFT, &format!("{} {}", n(at), card.unit()));
        if let Some(half) = half_cm(at) {
            let text = card.language.number(&if half < 9.95 { format!("±{half:.1}") } else { format!("±{half:.0}") });
            let top = (middle - up(half) - 0.9).max(y + 2.6);
            svg.text((here, top), 2.3, Anchor::Middle, INK, &text);
        }
    }
    svg.line((x, y + h - 4.0), (x + w, y + h - 4.0), FAINT, 0.2);
    for mark in card.marks.iter().filter(|m| m.standing == Standing::Shot) {
        sign(svg, (across(card.number(mark.range)), middle), 0.9, Standing::Shot);
    }
}
