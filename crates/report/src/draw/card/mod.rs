//! The card of sight marks: a page to print and a strip to stick beside the scale, both at true size.

mod funnel;
mod sheet;
mod strip;

use crate::draw::svg::{Svg, escape, n};
use crate::words::{Language, Phrase};
use goldward_core::marks::MarksError;
use goldward_session::marks::answer::{self, CardMark, Known, Standing};
use goldward_session::marks::numbers::Numbers;
use goldward_session::marks::quantity::Range;

/// Dark, for everything that is read.
const INK: &str = "#1b1b1f";
/// For what only helps.
const SOFT: &str = "#6c6c75";
/// For hairlines.
const FAINT: &str = "#c9c8c2";
/// The gold of the house.
const GOLD: &str = "#e9c33c";

/// Most marks on a card.
pub const MOST_MARKS: usize = 129;

/// Everything that a card shows.
#[derive(Debug)]
pub struct Card<'a> {
    /// What is known of the marks.
    pub known: &'a Known,
    /// How their numbers are written.
    pub numbers: Numbers,
    /// The marks on the card, nearest first.
    pub marks: Vec<CardMark>,
    /// Whether it counts in yards.
    pub yards: bool,
    /// The language it speaks.
    pub language: Language,
    /// Width and height of the paper, in millimetres.
    pub paper: [f64; 2],
}

/// The strip is longer than the paper has room for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TooLong {
    /// Length of the strip, in millimetres.
    pub length_mm: f64,
    /// Room for it, in millimetres.
    pub room_mm: f64,
}

/// The marks of a card at `ranges`, with every one that was shot between the first and the last of them.
///
/// # Errors
/// The range that has no mark, and why.
pub fn marks(known: &Known, ranges: &[Range]) -> Result<Vec<CardMark>, (Range, MarksError)> {
    let mut all = ranges.to_vec();
    let (low, high) = (ranges.first().map_or(0.0, |r| r.m()), ranges.last().map_or(0.0, |r| r.m()));
    for entry in known.book.marks.iter().filter(|e| e.shot && e.slope_deg == 0.0) {
        let inside = entry.range.m() > low - 0.05 && entry.range.m() < high + 0.05;
        if inside && !all.iter().any(|r| r.same_as(entry.range)) {
            all.push(entry.range);
        }
    }
    all.sort_by(|a, b| a.m().total_cmp(&b.m()));
    all.into_iter().map(|range| answer::card_mark(&known.fitted, range).map_err(|e| (range, e))).collect()
}

impl Card<'_> {
    fn with(&self, phrase: Phrase, values: &[&str]) -> String {
        phrase.with(self.language, values)
    }

    /// The number of a distance in the card's unit.
    fn number(&self, range: Range) -> f64 {
        if self.yards { range.distance().yards() } else { range.m() }
    }

    fn told(&self, phrase: Phrase) -> &'static str {
        phrase.text(self.language)
    }

    /// What stands beside a mark on the strip: the number, with its unit where that is not the card's.
    fn label(&self, range: Range) -> String {
        if range.is_yards() == self.yards {
            self.language.number(&n(range.number()))
        } else {
            self.language.number(&range.to_string()).replace(' ', "")
        }
    }

    fn unit(&self) -> &'static str {
        if self.yards { "yd" } else { "m" }
    }

    /// Whether a distance is a whole multiple of `of` in the card's unit.
    fn multiple(&self, range: Range, of: f64) -> bool {
        let ratio = self.number(range) / of;
        (ratio - ratio.round()).abs() < 1e-6
    }
}

/// Text in a heavier weight: the font that the program carries has one only.
fn heavy(svg: &mut Svg, (x, y): (f64, f64), size: f64, anchor: &str, text: &str) {
    svg.raw(&format!(
        "<text x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"{anchor}\" fill=\"{INK}\" stroke=\"{INK}\" \
         stroke-width=\"{}\">{}</text>",
        n(x),
        n(y),
        n(size),
        n(0.055 * size),
        escape(text)
    ));
}

/// The sign of a mark's standing, about 2 mm across, centred: a full square, an open circle or an open diamond.
fn sign(svg: &mut Svg, (x, y): (f64, f64), r: f64, standing: Standing) {
    use crate::draw::svg::Paint;
    match standing {
        Standing::Shot => svg.rect([x - r, y - r, 2.0 * r, 2.0 * r], Paint::fill(INK)),
        Standing::Between => svg.circle(x, y, 0.9 * r, Paint { fill: "#ffffff", stroke: INK, width: 0.22 }),
        Standing::Beyond => {
            let points = [(x - 1.2 * r, y), (x, y - 1.2 * r), (x + 1.2 * r, y), (x, y + 1.2 * r)];
            svg.polygon(&points, Paint { fill: "#ffffff", stroke: SOFT, width: 0.22 });
        }
    }
}

/// A cross, for a mark that was shot and is doubted.
fn cross(svg: &mut Svg, (x, y): (f64, f64), r: f64) {
    svg.line((x - r, y - r), (x + r, y + r), INK, 0.35);
    svg.line((x - r, y + r), (x + r, y - r), INK, 0.35);
}
