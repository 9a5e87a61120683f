//! How many arrows tell two spreads apart: the chance against the arrows of each setting, a curve for each difference.

use goldward_core::stats::spread::power;
use goldward_core::units::trim_number;

use super::curves::{GRID, INK, LEFT, PALE, PLOT_WIDTH, STYLES, WIDTH, spread_out};
use super::svg::{Anchor, Paint, Svg};
use crate::words::percent;

const TOP: f64 = 128.0;
const HEIGHT: f64 = 380.0;
/// Fewest and most arrows drawn; equal steps are equal factors.
const FEWEST: f64 = 6.0;
const MOST: f64 = 6912.0;
/// Points of a curve.
const STEPS: u32 = 140;

/// What is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Power {
    /// Differences of the spreads, as shares: 0.1 is 10 % wider.
    pub tell: Vec<f64>,
    /// Shots an end.
    pub shots_an_end: usize,
    /// Level of the test.
    pub level: f64,
    /// The chance that is asked for.
    pub chance: f64,
    /// Arrows that were shot with each setting.
    pub shot: [usize; 2],
}

/// The drawing: for every difference the chance to find it (two-sided F test within ends, as
/// [`power`]), with the arrows that were shot marked.
#[must_use]
pub fn power_svg(asked: &Power) -> String {
    let bottom = TOP + HEIGHT;
    let mut svg = Svg::new(WIDTH, bottom + 60.0);
    svg.rect([0.0, 0.0, WIDTH, bottom + 60.0], Paint::fill("#ffffff"));
    let title = "How many arrows tell two spreads apart";
    svg.text((24.0, 40.0), 24.0, Anchor::Start, INK, title);
    let subtitle = format!(
        "Chance to find a difference, in ends of {} arrows, when {} of equal pairs may be called different by mistake.",
        asked.shots_an_end,
        percent(asked.level)
    );
    svg.text((24.0, 64.0), 12.5, Anchor::Start, PALE, &subtitle);
    let span = (MOST / FEWEST).ln();
    let x = |arrows: f64| LEFT + PLOT_WIDTH * (arrows.clamp(FEWEST, MOST) / FEWEST).ln() / span;
    let y = |chance: f64| bottom - HEIGHT * chance;
    for tenth in (0..=10).step_by(2) {
        let chance = f64::from(tenth) / 10.0;
        svg.line((LEFT, y(chance)), (LEFT + PLOT_WIDTH, y(chance)), if tenth == 0 { PALE } else { GRID }, 1.0);
        svg.text((LEFT - 8.0, y(chance) + 4.0), 11.5, Anchor::End, INK, &format!("{} %", 10 * tenth));
    }
    let mut arrows = FEWEST;
    while arrows <= MOST {
        svg.line((x(arrows), bottom), (x(arrows), bottom + 4.0), PALE, 1.0);
        svg.text((x(arrows), bottom + 17.0), 11.5, Anchor::Middle, INK, &format!("{arrows}"));
        arrows *= 2.0;
    }
    svg.text((LEFT + PLOT_WIDTH / 2.0, bottom + 35.0), 12.0, Anchor::Middle, PALE, "arrows of each setting");
    svg.polyline(&[(LEFT, y(asked.chance)), (LEFT + PLOT_WIDTH, y(asked.chance))], PALE, 1.2, "2 3");
    let fewer = asked.shot[0].min(asked.shot[1]) as f64;
    svg.polyline(&[(x(fewer), TOP), (x(fewer), bottom)], INK, 1.2, "6 3");
    svg.text((x(fewer) + 5.0, TOP - 6.0), 11.5, Anchor::Start, INK, &format!("shot: {fewer}"));
    let mut ends = Vec::new();
    for (i, tell) in asked.tell.iter().enumerate() {
        let points: Vec<(f64, f64)> = (0..=STEPS)
            .map(|k| (FEWEST * (span * f64::from(k) / f64::from(STEPS)).exp()).round())
            .map(|n| (x(n), y(power(n as usize, asked.shots_an_end, 1.0 + tell, asked.level))))
            .collect();
        let (colour, dash) = STYLES[i % STYLES.len()];
        svg.polyline(&points, colour, 2.2, dash);
        ends.push(points.last().map_or(bottom, |p| p.1));
    }
    // Labels from the top, the largest difference first, as the curves lie.
    let places = spread_out(&ends, TOP + 6.0, bottom);
    for (i, place) in places.iter().enumerate() {
        let (colour, dash) = STYLES[i % STYLES.len()];
        let from = LEFT + PLOT_WIDTH + 12.0;
        svg.polyline(&[(from, *place), (from + 40.0, *place)], colour, 2.2, dash);
        svg.text((from + 48.0, place + 4.0), 12.0, Anchor::Start, INK, &format!("{} wider", share(asked.tell[i])));
    }
    let told: Vec<String> = asked.tell.iter().map(|t| share(*t)).collect();
    svg.finish(title, &format!("{subtitle} Curves for differences of {}.", told.join(", ")))
}

/// A share that may be all of it: `100 %`.
fn share(part: f64) -> String {
    format!("{} %", trim_number((1000.0 * part).round() / 10.0))
}
