//! `goldward marks card`: a page to print and a strip to stick beside the scale, both at true size.

mod funnel;
mod sheet;
mod strip;

use goldward_core::marks::{Fitted, Mark};
use goldward_report::words::Phrase;
use serde::Serialize;

use super::args::{CardArgs, Paper};
use super::{Said, json, open_fitted};
use crate::failure::Failure;
use crate::plot::svg::{Svg, escape, n};
use crate::wire::SCHEMA;
use goldward_session::marks::answer::{self, CardMark, Standing};
use goldward_session::marks::book::{Book, Setup};
use goldward_session::marks::numbers::{Numbers, ladder, usual_end};
use goldward_session::marks::quantity::Range;
use goldward_session::problem::{Problem, plain};

/// Dark, for everything that is read.
const INK: &str = "#1b1b1f";
/// For what only helps.
const SOFT: &str = "#6c6c75";
/// For hairlines.
const FAINT: &str = "#c9c8c2";
/// The gold of the house.
const GOLD: &str = "#e9c33c";

/// Most marks on a card.
const MOST_MARKS: usize = 129;

/// Everything that a card shows.
#[derive(Debug)]
struct Card<'a> {
    book: &'a Book,
    setup: &'a Setup,
    fitted: &'a Fitted,
    numbers: Numbers,
    marks: Vec<CardMark>,
    yards: bool,
    said: Said,
    /// Paper, in millimetres.
    paper: [f64; 2],
}

/// Runs the command; gives the text for the terminal.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &CardArgs, said: Said) -> Result<String, Failure> {
    let (book, setup, fitted) = open_fitted(&args.book)?;
    let longest = setup.shot.iter().map(Mark::distance_m).fold(0.0, f64::max);
    let to = args.to.unwrap_or_else(|| usual_end(longest, args.from, args.yards));
    let every = args.every.unwrap_or(if args.yards { 5.0 } else { 1.0 });
    let mut ranges =
        ladder(args.from, to, every, args.yards).map_err(|e| Failure::Usage(Problem::from_core("--from, --to", &e)))?;
    // A mark that was shot stands on the card also between the rungs.
    let (low, high) = (ranges.first().map_or(0.0, |r| r.m()), ranges.last().map_or(0.0, |r| r.m()));
    for entry in book.marks.iter().filter(|e| e.shot && e.slope_deg == 0.0) {
        let inside = entry.range.m() > low - 0.05 && entry.range.m() < high + 0.05;
        if inside && !ranges.iter().any(|r| r.same_as(entry.range)) {
            ranges.push(entry.range);
        }
    }
    ranges.sort_by(|a, b| a.m().total_cmp(&b.m()));
    if ranges.len() < 2 || ranges.len() > MOST_MARKS {
        let message = format!("a card has 2 to {MOST_MARKS} marks, and these are {}", ranges.len());
        return Err(Failure::Usage(Problem::new(
            "--from, --to, --every",
            message,
            "take another --every or another --to",
        )));
    }
    let mut marks = Vec::with_capacity(ranges.len());
    for range in ranges {
        marks.push(answer::card_mark(&fitted, range).map_err(|e| {
            let problem = Problem::from_core(range.to_string(), &e);
            let remedy = format!("{}; or end the card closer with --to", problem.remedy);
            Failure::data("the card cannot be drawn", Problem { remedy, ..problem })
        })?);
    }
    let paper = match args.paper {
        Paper::A4 => [210.0, 297.0],
        Paper::Letter => [215.9, 279.4],
    };
    let numbers = Numbers::new(setup.scale);
    let card = Card { book: &book, setup: &setup, fitted: &fitted, numbers, marks, yards: args.yards, said, paper };
    let svg = if args.strip { card.strips()? } else { card.sheet()? };
    args.output.write_true_size(&svg)?;
    if args.book.json {
        return card.json(&args.output.path.display().to_string());
    }
    let count = |s: Standing| card.marks.iter().filter(|m| m.standing == s).count();
    let file = plain(&args.output.path.display().to_string());
    let counts = [count(Standing::Shot), count(Standing::Between) + count(Standing::Beyond), count(Standing::Beyond)]
        .map(|n| n.to_string());
    Ok(said.with(Phrase::CardDrawn, &[&file, &counts[0], &counts[1], &counts[2]]))
}

#[derive(Serialize)]
struct CardOut<'a> {
    schema: u8,
    file: &'a str,
    marks: Vec<CardMarkOut>,
}

#[derive(Serialize)]
struct CardMarkOut {
    distance_m: f64,
    reading_mm: f64,
    sd_mm: f64,
    standing: &'static str,
    suspect: bool,
}

impl Card<'_> {
    fn json(&self, file: &str) -> Result<String, Failure> {
        let marks = self.marks.iter().map(|m| CardMarkOut {
            distance_m: m.range.m(),
            reading_mm: m.reading_mm,
            sd_mm: m.sd_mm,
            standing: m.standing.word(),
            suspect: m.suspect,
        });
        json(&CardOut { schema: SCHEMA, file, marks: marks.collect() })
    }

    /// The number of a distance in the card's unit.
    fn number(&self, range: Range) -> f64 {
        if self.yards { range.distance().yards() } else { range.m() }
    }

    fn told(&self, phrase: Phrase) -> &'static str {
        phrase.text(self.said.language)
    }

    /// What stands beside a mark on the strip: the number, with its unit where that is not the card's.
    fn label(&self, range: Range) -> String {
        if range.is_yards() == self.yards {
            self.said.number(&n(range.number()))
        } else {
            self.said.number(&range.to_string()).replace(' ', "")
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
    use crate::plot::svg::Paint;
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
