//! Pictures of offsets about a centre: in characters, and as a drawing.

use goldward_core::fleet::Offset;
use goldward_core::plane::Sym2;

use super::svg::{Anchor, Paint, Svg};
use crate::words as page_words;
use goldward_core::stats::ELLIPSE_80;

/// One thing on the map.
#[derive(Debug, Clone, PartialEq)]
pub struct Spot {
    /// What to write beside it.
    pub label: String,
    /// Where it is.
    pub at: Offset,
    /// How well that is known; drawn as an 80 % ellipse.
    pub cov_mrad2: Sym2,
    /// Whether to draw attention to it.
    pub accent: bool,
}

/// A map.
#[derive(Debug, Clone, PartialEq)]
pub struct Map {
    /// Title of the drawing.
    pub title: String,
    /// What it shows.
    pub subtitle: String,
    /// What is on it.
    pub spots: Vec<Spot>,
    /// Single shots, small: those of the first kind and of the second.
    pub shots: Vec<(Offset, bool)>,
    /// Radius of a circle about the middle, and what it means.
    pub circle: Option<(f64, String)>,
    /// Millimetres on the face for one milliradian.
    pub metres: f64,
}

impl Map {
    /// Half the side that shows everything.
    fn reach(&self) -> f64 {
        let of = |s: &Spot| s.at.size_mrad() + 0.6 * s.cov_mrad2.mean_sd();
        let spots = self.spots.iter().map(of).fold(0.0, f64::max);
        let circle = self.circle.as_ref().map_or(0.0, |c| c.0);
        let mut shots: Vec<f64> = self.shots.iter().map(|s| s.0.size_mrad()).collect();
        shots.sort_by(f64::total_cmp);
        // A few strays may go to the edge.
        let shots = shots.get(shots.len() * 49 / 50).copied().unwrap_or(0.0);
        1.2 * spots.max(circle).max(shots).max(1e-3)
    }

    /// The map in characters: labels where things are, dots for the circle.
    #[must_use]
    pub fn text(&self, columns: usize, indent: usize) -> String {
        let (columns, rows) = (columns | 1, (columns / 2) | 1);
        let reach = self.reach();
        let column = |x: f64| (((x / reach + 1.0) / 2.0 * columns as f64).floor().max(0.0) as usize).min(columns - 1);
        let row = |y: f64| (((1.0 - y / reach) / 2.0 * rows as f64).floor().max(0.0) as usize).min(rows - 1);
        let mut grid = vec![vec![' '; columns]; rows];
        if let Some((radius, _)) = &self.circle {
            for k in 0..180 {
                let (s, c) = (f64::from(k) * std::f64::consts::PI / 90.0).sin_cos();
                grid[row(radius * s)][column(radius * c)] = '·';
            }
        }
        grid[row(0.0)][column(0.0)] = '+';
        for (at, second) in &self.shots {
            grid[row(at.up_mrad)][column(at.right_mrad)] = if *second { '●' } else { '○' };
        }
        // What matters most is written last.
        let mut order: Vec<&Spot> = self.spots.iter().collect();
        order.sort_by_key(|s| s.accent);
        for spot in order {
            let label: Vec<char> = spot.label.chars().take(6).collect();
            let start =
                column(spot.at.right_mrad).saturating_sub(label.len() / 2).min(columns - label.len().min(columns));
            for (k, c) in label.iter().enumerate().take(columns) {
                grid[row(spot.at.up_mrad)][start + k] = *c;
            }
        }
        let mut out = String::new();
        // Empty rows above and below tell nothing.
        let empty = |line: &Vec<char>| line.iter().all(|c| *c == ' ');
        let first = grid.iter().position(|l| !empty(l)).unwrap_or(0);
        let last = grid.iter().rposition(|l| !empty(l)).unwrap_or(0);
        for line in grid.drain(..=last).skip(first) {
            let line: String = line.into_iter().collect();
            out.push_str(format!("{}{}", " ".repeat(indent), line).trim_end());
            out.push('\n');
        }
        out
    }

    /// The map as an SVG.
    #[must_use]
    pub fn svg(&self) -> String {
        const SIDE: f64 = 640.0;
        const LEFT: f64 = 40.0;
        const TOP: f64 = 130.0;
        const INK: &str = "#1c1c22";
        const PALE: &str = "#5b5b66";
        const CALM: &str = "#0b63b0";
        const ALARM: &str = "#b3261e";
        let (width, height) = (SIDE + 2.0 * LEFT, TOP + SIDE + 60.0);
        let scale = SIDE / 2.0 / self.reach();
        let at = |o: Offset| {
            let edge = |v: f64, low: f64| v.clamp(low + 4.0, low + SIDE - 4.0);
            (edge(LEFT + SIDE / 2.0 + scale * o.right_mrad, LEFT), edge(TOP + SIDE / 2.0 - scale * o.up_mrad, TOP))
        };
        let mut svg = Svg::new(width, height);
        svg.rect([0.0, 0.0, width, height], Paint::fill("#ffffff"));
        svg.text((LEFT, 40.0), 23.0, Anchor::Start, INK, &self.title);
        for (i, line) in page_words::wrap(&self.subtitle, 96, 0).lines().enumerate() {
            svg.text((LEFT, 64.0 + 16.0 * i as f64), 12.5, Anchor::Start, PALE, line);
        }
        svg.rect([LEFT, TOP, SIDE, SIDE], Paint { fill: "#f6f6f8", stroke: "#c9c9d1", width: 1.0 });
        let middle = at(Offset::default());
        svg.line((LEFT, middle.1), (LEFT + SIDE, middle.1), "#dcdce2", 1.0);
        svg.line((middle.0, TOP), (middle.0, TOP + SIDE), "#dcdce2", 1.0);
        if let Some((radius, meaning)) = &self.circle {
            svg.ellipse(middle, (scale * radius, scale * radius), 0.0, Paint::line(PALE, 1.2), "5 4");
            svg.text((middle.0, middle.1 - scale * radius - 6.0), 12.0, Anchor::Middle, PALE, meaning);
        }
        for (o, second) in &self.shots {
            let (x, y) = at(*o);
            let paint = if *second { Paint::fill(CALM) } else { Paint::line(ALARM, 1.4) };
            svg.circle(x, y, 3.2, paint);
        }
        for spot in &self.spots {
            let colour = if spot.accent { ALARM } else { CALM };
            let p = spot.cov_mrad2.principal();
            let radii = (scale * ELLIPSE_80 * p.major.max(0.0).sqrt(), scale * ELLIPSE_80 * p.minor.max(0.0).sqrt());
            let dash = if spot.accent { "" } else { "3 3" };
            svg.ellipse(at(spot.at), radii, -p.angle_rad.to_degrees(), Paint::line(colour, 1.5), dash);
            let (x, y) = at(spot.at);
            svg.circle(x, y, 3.0, Paint::fill(colour));
            svg.text((x + 6.0, y - 5.0), if spot.accent { 17.0 } else { 13.0 }, Anchor::Start, colour, &spot.label);
        }
        // A rule of a round length on the face.
        let mm = nice(0.25 * SIDE / scale * self.metres);
        let pixels = mm / self.metres * scale;
        svg.line((LEFT, TOP + SIDE + 24.0), (LEFT + pixels, TOP + SIDE + 24.0), INK, 2.0);
        let told = format!("{} at {} m", page_words::angles::length(mm), page_words::mm(self.metres));
        svg.text((LEFT + pixels + 10.0, TOP + SIDE + 28.0), 12.5, Anchor::Start, INK, &told);
        svg.finish(&self.title, &self.subtitle)
    }
}

/// The largest of 1, 2 and 5 times a power of ten that is not above `value`.
fn nice(value: f64) -> f64 {
    let power = 10.0_f64.powf(value.max(1e-6).log10().floor());
    [5.0, 2.0, 1.0].into_iter().map(|k| k * power).find(|v| *v <= value).unwrap_or(power)
}
