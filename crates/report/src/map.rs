//! A picture of offsets about a centre, as the archer sees them.

use std::fmt::Write as _;

use goldward_core::fleet::Offset;
use goldward_core::plane::Sym2;

use crate::drawing::{self, Mark};
use crate::escape::escape;
use crate::teller::Teller;
use crate::words::Word;

/// One thing on the map.
#[derive(Debug, Clone, PartialEq)]
pub struct Spot {
    /// What to write beside it.
    pub label: String,
    /// Where it is.
    pub at: Offset,
    /// How well that is known, or how it scatters: an ellipse that holds four fifths.
    pub cov_mrad2: Sym2,
    /// How it is drawn: its shape and its colour.
    pub mark: Mark,
}

/// A map.
#[derive(Debug, Clone, PartialEq)]
pub struct Map {
    /// What is on it.
    pub spots: Vec<Spot>,
    /// Single shots, small.
    pub shots: Vec<(Offset, Mark)>,
    /// Radius of a circle about the middle in milliradians, and what it means.
    pub circle: Option<(f64, String)>,
    /// The distance that the rule below the map is for, in metres.
    pub metres: f64,
}

/// Longest label, in characters: what is longer would not fit into the picture.
const LONGEST: usize = 24;

/// A label that fits.
fn shortened(label: &str) -> String {
    if label.chars().count() <= LONGEST {
        return label.to_owned();
    }
    label.chars().take(LONGEST - 1).chain(['…']).collect()
}

/// Half the side of the picture, in its own units.
const HALF: f64 = 170.0;
/// Millimetres of an inch.
const INCH: f64 = 25.4;

impl Map {
    /// Milliradians from the middle to the edge.
    fn reach(&self) -> f64 {
        let of = |s: &Spot| s.at.size_mrad() + 1.2 * s.cov_mrad2.mean_sd();
        let spots = self.spots.iter().map(of).fold(0.0, f64::max);
        let circle = self.circle.as_ref().map_or(0.0, |c| c.0);
        let mut shots: Vec<f64> = self.shots.iter().map(|s| s.0.size_mrad()).collect();
        shots.sort_by(f64::total_cmp);
        // A few strays may go to the edge.
        let shots = shots.get(shots.len() * 49 / 50).copied().unwrap_or(0.0);
        1.15 * spots.max(circle).max(shots).max(1e-3)
    }

    /// The map as an SVG that says `label` to those who cannot see it.
    #[must_use]
    pub fn svg(&self, teller: &Teller<'_>, label: &str) -> String {
        let scale = HALF / self.reach();
        let at = |o: Offset| {
            let edge = |v: f64| v.clamp(6.0 - HALF, HALF - 6.0);
            (edge(scale * o.right_mrad), edge(-scale * o.up_mrad))
        };
        let mut out = format!(
            "<svg viewBox=\"{} {} {} {}\" role=\"img\" aria-label=\"{}\"><path class=\"axes\" d=\"M{} 0H{HALF}M0 {}V{HALF}\"/>",
            -HALF,
            -HALF,
            2.0 * HALF,
            2.0 * HALF + 26.0,
            escape(label),
            -HALF,
            -HALF
        );
        let mut text = |class: &str, x: f64, y: f64, anchor: &str, t: &str| {
            let _ = write!(
                out,
                "<text class=\"{class}\" x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\">{}</text>",
                escape(t)
            );
        };
        text("way", 0.0, 13.0 - HALF, "middle", &teller.t(Word::High));
        text("way", 0.0, HALF - 5.0, "middle", &teller.t(Word::Low));
        text("way", 5.0 - HALF, -5.0, "start", &teller.t(Word::Left));
        text("way", HALF - 5.0, -5.0, "end", &teller.t(Word::Right));
        let rule = self.rule(teller.imperial, scale);
        let told = format!("{} · {}", teller.length(rule), teller.distance(self.metres));
        let end = 5.0 - HALF + rule / self.metres * scale;
        text("", end + 7.0, HALF + 19.0, "start", &told);
        let _ = write!(out, "<path class=\"rule\" d=\"M{} {}H{end:.1}\"/>", 5.0 - HALF, HALF + 15.0);
        if let Some((radius, meaning)) = &self.circle {
            let r = scale * radius;
            // Below the circle, or inside it where the word for low stands.
            let y = if r + 13.0 > HALF - 18.0 { r - 6.0 } else { r + 13.0 };
            let _ = write!(
                out,
                "<circle class=\"limit\" r=\"{r:.1}\"/><text class=\"way\" y=\"{y:.1}\" text-anchor=\"middle\">{}</text>",
                escape(meaning)
            );
        }
        for (o, mark) in &self.shots {
            let (x, y) = at(*o);
            let _ = write!(out, "<path class=\"dot {}\" d=\"{}\"/>", mark.name(), drawing::outline(*mark, x, y, 2.6));
        }
        for s in &self.spots {
            let ((x, y), (rx, ry, turn)) = (at(s.at), drawing::ellipse(s.cov_mrad2));
            let _ = write!(
                out,
                "<ellipse class=\"known {}\" rx=\"{:.1}\" ry=\"{:.1}\" transform=\"translate({x:.1} {y:.1}) rotate({turn:.1})\"/>",
                s.mark.name(),
                scale * rx,
                scale * ry
            );
        }
        let mut placed: Vec<(f64, f64, f64)> = Vec::new();
        for s in &self.spots {
            let (x, y) = at(s.at);
            // The label stands on the far side from the middle, inside the picture, and below those it would cover.
            let d = x.hypot(y).max(1e-9);
            let label = shortened(&s.label);
            let half = 5.2 * label.chars().count() as f64;
            let lx = (x + (9.0 + half) * x / d).clamp(half - HALF + 3.0, HALF - 3.0 - half);
            let mut ly = y + 13.0 * y / d + 5.0;
            while placed.iter().any(|(px, py, w)| (lx - px).abs() < half + w && (ly - py).abs() < 14.0_f64) {
                ly += 7.0;
            }
            placed.push((lx, ly, half));
            let _ = write!(
                out,
                "<path class=\"spot {0}\" d=\"{1}\"/><text class=\"label {0}\" x=\"{lx:.1}\" y=\"{ly:.1}\" text-anchor=\"middle\">{2}</text>",
                s.mark.name(),
                drawing::outline(s.mark, x, y, 4.5),
                escape(&label)
            );
        }
        out.push_str("</svg>");
        out
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
        for (at, mark) in &self.shots {
            grid[row(at.up_mrad)][column(at.right_mrad)] = if *mark == Mark::Clean { '○' } else { '◆' };
        }
        // What matters most is written last.
        let mut order: Vec<&Spot> = self.spots.iter().collect();
        order.sort_by_key(|s| s.mark != Mark::Clean);
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

    /// A round length on the face, in millimetres, about a quarter of the map.
    fn rule(&self, imperial: bool, scale: f64) -> f64 {
        let unit = if imperial { INCH } else { 1.0 };
        unit * nice(0.5 * HALF / scale * self.metres / unit)
    }
}

/// The largest of 1, 2 and 5 times a power of ten that is not above `value`.
fn nice(value: f64) -> f64 {
    let power = 10.0_f64.powf(value.max(1e-6).log10().floor());
    [5.0, 2.0, 1.0].into_iter().map(|k| k * power).find(|v| *v <= value).unwrap_or(power)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::Language;

    #[test]
    fn what_is_high_and_right_is_drawn_there() {
        let date = |_| String::new();
        let teller = Teller { language: Language::English, imperial: false, date: &date };
        let map = Map {
            spots: vec![Spot {
                label: "<7>".into(),
                at: Offset { right_mrad: 2.0, up_mrad: 1.0 },
                cov_mrad2: Sym2::isotropic(0.01),
                mark: Mark::Flyer,
            }],
            shots: Vec::new(),
            circle: None,
            metres: 70.0,
        };
        let svg = map.svg(&teller, "a \"map\"");
        // 2.236 + 0.12 mrad and 15 % reach to the edge at 170.
        let scale = HALF / (1.15 * (5.0_f64.sqrt() + 0.12));
        assert!(svg.contains(&format!("translate({:.1} {:.1})", 2.0 * scale, -scale)), "{svg}");
        assert!(
            svg.contains("&lt;7&gt;") && svg.contains("a &quot;map&quot;") && svg.contains("50 mm · 70 m"),
            "{svg}"
        );
    }

    #[test]
    fn rules_are_round() {
        for (value, round) in [(0.7, 0.5), (4.9, 2.0), (50.0, 50.0), (199.0, 100.0)] {
            assert!((nice(value) - round).abs() < 1e-9, "{value}");
        }
    }
}
