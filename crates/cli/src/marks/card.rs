//! `goldward marks card`: a page to print and a strip to stick beside the scale.

use goldward_report::draw::card::{Card, MOST_MARKS, marks};
use goldward_report::item::Item;
use goldward_report::words::{Phrase, Wrong};
use serde::Serialize;

use super::args::{CardArgs, Paper};
use super::{answer, json, open};
use crate::failure::{Failure, Fault, said};
use crate::terminal::Terminal;
use crate::wire::SCHEMA;
use goldward_session::marks::answer::Standing;
use goldward_session::marks::numbers::{ladder, usual_end};
use goldward_session::problem::plain;

/// Runs the command; returns the exit code.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &CardArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let known = open(&args.book)?;
    let to = args.to.unwrap_or_else(|| usual_end(known.longest_m(), args.from, args.yards));
    let every = args.every.unwrap_or(if args.yards { 5.0 } else { 1.0 });
    let ranges = ladder(args.from, to, every, args.yards).map_err(|e| Failure::Usage(Fault::of("--from, --to", e)))?;
    let cannot = |fault: Fault| Failure::data(Wrong::NoCard, fault);
    let many =
        |n: usize| Failure::usage("--from, --to, --every", said(Wrong::CardMarksMany, [MOST_MARKS.into(), n.into()]));
    if ranges.len() > MOST_MARKS {
        return Err(many(ranges.len()));
    }
    let marks = marks(&known, &ranges)
        .map_err(|(range, e)| cannot(Fault::of(range.to_string(), e).remedy(Wrong::CloserCard)))?;
    if !(2..=MOST_MARKS).contains(&marks.len()) {
        return Err(many(marks.len()));
    }
    let paper = match args.paper {
        Paper::A4 => [210.0, 297.0],
        Paper::Letter => [215.9, 279.4],
    };
    let language = terminal.language();
    let card = Card { known: &known, numbers: known.numbers(), marks, yards: args.yards, language, paper };
    let svg = (if args.strip { card.strips() } else { card.sheet() }).map_err(|long| {
        let lengths = [long.length_mm, long.room_mm].map(|mm| format!("{mm:.0}").into());
        cannot(said(Wrong::LongStrip, lengths).into())
    })?;
    args.output.write_true_size(&svg)?;
    let file = args.output.path.display().to_string();
    let named = plain(&file);
    let object = || {
        let marks = card.marks.iter().map(|m| CardMarkOut {
            distance_m: m.range.m(),
            reading_mm: m.reading_mm,
            sd_mm: m.sd_mm,
            standing: m.standing.word(),
            suspect: m.suspect,
        });
        json(&CardOut { schema: SCHEMA, file: &file, marks: marks.collect() })
    };
    let count = |s: Standing| card.marks.iter().filter(|m| m.standing == s).count();
    let (shot, between, beyond) = (count(Standing::Shot), count(Standing::Between), count(Standing::Beyond));
    let counts = [shot, between + beyond, beyond].map(|n| n.to_string());
    let told = [&named, &counts[0], &counts[1], &counts[2]].map(String::as_str);
    let say = |l| Phrase::CardDrawn.with(l, &told).lines().map(|line| Item::Text(line.to_owned())).collect();
    answer(&args.book, terminal, |t| say(t.language), object)
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
