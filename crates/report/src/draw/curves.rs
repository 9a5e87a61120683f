//! What each rule loses to the sight, shot by shot: two panels of curves, told apart by dash and label as well as colour.

use goldward_core::units::trim_number;

use super::svg::{Anchor, Paint, Svg};
use crate::words::{Language, Phrase};
use crate::wrap::wrap;

pub(super) const INK: &str = "#1c1c22";
pub(super) const PALE: &str = "#5b5b66";
pub(super) const GRID: &str = "#e3e3e8";
pub(super) const WIDTH: f64 = 960.0;
pub(super) const LEFT: f64 = 70.0;
pub(super) const PLOT_WIDTH: f64 = 600.0;
const PLOT_HEIGHT: f64 = 330.0;
const TOP: f64 = 128.0;
const PITCH: f64 = 432.0;
/// Least distance of two labels.
const LABEL_GAP: f64 = 16.0;

/// Colour and dash of the curves, in turn.
pub(super) const STYLES: [(&str, &str); 10] = [
    ("#444450", ""),
    ("#b3261e", "9 4"),
    ("#0b63b0", "2 4"),
    ("#7a3fb0", "9 4 2 4"),
    ("#a35c00", "5 3"),
    ("#00706a", "14 4"),
    ("#c2185b", "2 3 8 3"),
    ("#5a7d00", "4 4 4 8"),
    ("#22577a", "12 3 3 3 3 3"),
    ("#8a8a00", "1 5"),
];
const OURS: [(&str, &str); 2] = [("#0a0a0a", ""), ("#0a0a0a", "6 3")];

/// One rule's curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Its label.
    pub label: String,
    /// Points lost to the sight at each shot.
    pub lost_at: Vec<f64>,
    /// Whether it is Goldward's.
    pub ours: bool,
}

/// Everything that is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Curves {
    /// Title.
    pub title: String,
    /// The archer and the round.
    pub subtitle: String,
    /// The language of what stands in the drawing.
    pub language: Language,
    /// Shots at first that do not count.
    pub sighting_shots: usize,
    /// Shots an end.
    pub shots_per_end: usize,
    /// The curves.
    pub curves: Vec<Curve>,
}

/// A drawing of two panels: points lost at each arrow, and added up over those that count.
#[must_use]
pub fn curves_svg(curves: &Curves) -> String {
    let mut svg = Svg::new(WIDTH, TOP + 2.0 * PITCH + 8.0);
    svg.rect([0.0, 0.0, WIDTH, TOP + 2.0 * PITCH + 8.0], Paint::fill("#ffffff"));
    svg.text((24.0, 40.0), 24.0, Anchor::Start, INK, &curves.title);
    for (i, line) in wrap(&curves.subtitle, 126, 0).lines().enumerate() {
        svg.text((24.0, 64.0 + 16.0 * i as f64), 12.5, Anchor::Start, PALE, line);
    }
    let each: Vec<Vec<f64>> = curves.curves.iter().map(|c| c.lost_at.clone()).collect();
    let summed = each.iter().map(|lost| {
        let mut sum = 0.0;
        let add = |(i, x): (usize, &f64)| {
            sum += if i < curves.sighting_shots { 0.0 } else { *x };
            sum
        };
        lost.iter().enumerate().map(add).collect::<Vec<f64>>()
    });
    let summed: Vec<Vec<f64>> = summed.collect();
    panel(&mut svg, curves, &each, TOP, true);
    panel(&mut svg, curves, &summed, TOP + PITCH, false);
    let labels: Vec<&str> = curves.curves.iter().map(|c| c.label.as_str()).collect();
    svg.finish(&curves.title, &Phrase::PaceCurvesAre.with(curves.language, &[&curves.subtitle, &labels.join("; ")]))
}

/// `factors`: equal steps upwards are equal factors, so that small losses can be told apart.
fn panel(svg: &mut Svg, curves: &Curves, lines: &[Vec<f64>], top: f64, factors: bool) {
    let said = |phrase: Phrase| phrase.text(curves.language);
    let title = said(if factors { Phrase::PaceCurvesEach } else { Phrase::PaceCurvesSum });
    let shots = lines.iter().map(Vec::len).max().unwrap_or(0).max(1);
    let most = lines.iter().flatten().copied().fold(0.0, f64::max).max(1e-3);
    let least = lines.iter().flatten().copied().filter(|v| *v > 0.0).fold(most, f64::min);
    let bottom = top + PLOT_HEIGHT;
    let x = |shot: usize| LEFT + PLOT_WIDTH * (shot as f64 + 0.5) / shots as f64;
    let axis = if factors { Axis::factors(least, most) } else { Axis::steps(most) };
    let y = |value: f64| bottom - PLOT_HEIGHT * axis.share(value);

    svg.text((LEFT, top - 12.0), 14.0, Anchor::Start, INK, title);
    if curves.sighting_shots > 0 {
        let width = PLOT_WIDTH * curves.sighting_shots as f64 / shots as f64;
        svg.rect([LEFT, top, width, PLOT_HEIGHT], Paint::fill("#f1f1f4"));
        svg.text((LEFT + 6.0, top + 16.0), 11.0, Anchor::Start, PALE, said(Phrase::PaceCurvesSighting));
    }
    svg.line((LEFT, bottom), (LEFT + PLOT_WIDTH, bottom), PALE, 1.0);
    for value in &axis.grid {
        if *value > axis.least {
            svg.line((LEFT, y(*value)), (LEFT + PLOT_WIDTH, y(*value)), GRID, 1.0);
        }
        svg.text((LEFT - 8.0, y(*value) + 4.0), 11.5, Anchor::End, INK, &curves.language.number(&trim_number(*value)));
    }
    // A mark after every end, numbered where there is room.
    let ends = shots / curves.shots_per_end.max(1);
    let every = ends.div_ceil(14).max(1);
    for end in 0..=ends {
        let at = LEFT + PLOT_WIDTH * (end * curves.shots_per_end) as f64 / shots as f64;
        svg.line((at, bottom), (at, bottom + 4.0), PALE, 1.0);
        if end % every == 0 {
            let label = (end * curves.shots_per_end).to_string();
            svg.text((at, bottom + 17.0), 11.5, Anchor::Middle, INK, &label);
        }
    }
    svg.text((LEFT + PLOT_WIDTH / 2.0, bottom + 35.0), 12.0, Anchor::Middle, PALE, said(Phrase::PaceCurvesShot));

    let styles = styles(&curves.curves);
    // Ours last, so that they lie on top.
    let mut order: Vec<usize> = (0..lines.len()).collect();
    order.sort_by_key(|i| curves.curves[*i].ours);
    for i in order {
        let points: Vec<(f64, f64)> = lines[i].iter().enumerate().map(|(k, v)| (x(k), y(*v))).collect();
        svg.polyline(&points, styles[i].0, if curves.curves[i].ours { 3.0 } else { 1.7 }, styles[i].1);
    }
    let ends: Vec<f64> = lines.iter().map(|line| y(line.last().copied().unwrap_or(0.0))).collect();
    let places = spread_out(&ends, top + 6.0, bottom + 6.0);
    for (i, place) in places.iter().enumerate() {
        let (from, to) = (LEFT + PLOT_WIDTH + 2.0, LEFT + PLOT_WIDTH + 26.0);
        svg.line((from, ends[i]), (to, *place), "#b9b9c2", 0.8);
        svg.polyline(
            &[(to + 2.0, *place), (to + 30.0, *place)],
            styles[i].0,
            if curves.curves[i].ours { 3.0 } else { 1.7 },
            styles[i].1,
        );
        svg.text((to + 36.0, place + 4.0), 12.0, Anchor::Start, INK, &curves.curves[i].label);
    }
}

fn styles(curves: &[Curve]) -> Vec<(&'static str, &'static str)> {
    let (mut ours, mut others) = (OURS.iter().cycle(), STYLES.iter().cycle());
    let next = |curve: &Curve| {
        let style = if curve.ours { ours.next() } else { others.next() };
        style.copied().unwrap_or((INK, ""))
    };
    curves.iter().map(next).collect()
}

/// An axis of values.
struct Axis {
    least: f64,
    most: f64,
    factors: bool,
    grid: Vec<f64>,
}

impl Axis {
    /// From nothing to `most`, in equal steps.
    fn steps(most: f64) -> Self {
        let step = round_up(most / 5.0);
        let count = (most / step).ceil();
        let grid = (0..=count as usize).map(|i| step * i as f64).collect();
        Self { least: 0.0, most: step * count, factors: false, grid }
    }

    /// From about `least` up to `most` in equal factors: seven to ten lines.
    fn factors(least: f64, most: f64) -> Self {
        let most = round_up(most);
        let mut grid = vec![most];
        let mut last = most;
        while grid.len() < 7 || (last > least && grid.len() < 10) {
            // From 5 to 2, from 2 to 1, from 1 to 0.5.
            let leading = last / 10f64.powf((last.log10() + 1e-9).floor());
            last *= if leading > 4.0 { 0.4 } else { 0.5 };
            grid.push(last);
        }
        Self { least: last, most, factors: true, grid }
    }

    /// How far up the axis a value is, from 0 to 1.
    fn share(&self, value: f64) -> f64 {
        let value = value.clamp(self.least, self.most);
        if self.factors {
            (value / self.least).ln() / (self.most / self.least).ln()
        } else {
            (value - self.least) / (self.most - self.least)
        }
    }
}

/// 1, 2 or 5 times a power of ten, at least `wanted`.
fn round_up(wanted: f64) -> f64 {
    let power = 10f64.powf(wanted.log10().floor());
    [1.0, 2.0, 5.0].into_iter().map(|k| k * power).find(|s| *s >= wanted).unwrap_or(10.0 * power)
}

/// Places for labels that belong to the heights `at`: in the same order, apart from each other, between `top` and `bottom`
/// as far as there is room.
pub(super) fn spread_out(at: &[f64], top: f64, bottom: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..at.len()).collect();
    order.sort_by(|a, b| at[*a].total_cmp(&at[*b]));
    let mut places = at.to_vec();
    let mut least = top;
    for i in &order {
        places[*i] = places[*i].max(least);
        least = places[*i] + LABEL_GAP;
    }
    let mut most = bottom;
    for i in order.iter().rev() {
        places[*i] = places[*i].min(most);
        most = places[*i] - LABEL_GAP;
    }
    places
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_do_not_overlap() {
        let places = spread_out(&[100.0, 101.0, 99.0, 20.0, 100.0], 0.0, 104.0);
        let mut sorted = places.clone();
        sorted.sort_by(f64::total_cmp);
        assert!(sorted.windows(2).all(|w| w[1] - w[0] >= LABEL_GAP - 1e-9), "{places:?}");
        assert!(places[2] < places[0] && places[0] < places[1] && places.iter().all(|p| *p <= 104.0));
    }

    #[test]
    fn axes_have_round_numbers() {
        let near = |a: f64, b: f64| assert!((a / b - 1.0).abs() < 1e-9, "{a} {b}");
        near(round_up(0.13), 0.2);
        near(round_up(7.0), 10.0);
        let axis = Axis::factors(0.5, 1.5);
        assert_eq!(axis.grid.len(), 7);
        assert_eq!(Axis::factors(0.011, 1.5).grid.len(), 8);
        assert_eq!(Axis::factors(0.0, 1.5).grid.len(), 10);
        for (got, want) in axis.grid.iter().zip([2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02]) {
            near(*got, want);
        }
        near(axis.share(0.2), 0.5);
        near(Axis::steps(130.0).most, 150.0);
        assert!(Axis::steps(130.0).share(-1.0).abs() < 1e-12);
    }
}
