//! The curve of how many arrows it takes to tell two spreads apart.

use std::fmt::Write as _;

use goldward_core::stats::spread::power;

use crate::html::escape;
use crate::item::{Item, Picture};
use crate::teller::Teller;
use crate::words::Word;
use goldward_core::fleet::compare::LEVEL_DEFAULT as LEVEL;

/// Ratios drawn, with the class of their lines.
const RATIOS: [(f64, &str); 3] = [(1.1, "flyer"), (1.25, "other"), (1.5, "clean")];

/// The ratios drawn when a difference of `tell` is asked about: it stands for the nearest of the usual ones.
fn ratios(tell: f64) -> [(f64, &'static str); 3] {
    let mut all = RATIOS;
    let far = |r: &(f64, &str)| ((r.0 - 1.0) / tell).ln().abs();
    if let Some(nearest) = all.iter_mut().min_by(|a, b| far(a).total_cmp(&far(b))) {
        nearest.0 = 1.0 + tell;
    }
    all
}
/// Arrows of each setting at the left edge and the right one.
const ENDS: [f64; 2] = [6.0, 1200.0];
const TICKS: [usize; 6] = [6, 18, 60, 180, 600, 1200];
const STEPS: usize = 36;
const LEFT: f64 = 44.0;
const WIDTH: f64 = 290.0;
const TOP: f64 = 14.0;
const HEIGHT: f64 = 150.0;

fn x(shots: f64) -> f64 {
    LEFT + WIDTH * (shots / ENDS[0]).ln() / (ENDS[1] / ENDS[0]).ln()
}

fn y(chance: f64) -> f64 {
    TOP + HEIGHT * (1.0 - chance)
}

/// The chance to find differences of 10, 25 and 50 %, the nearest of them replaced by `tell`, against the arrows of each setting, in
/// ends of `an_end`, with the arrows there are.
pub(super) fn picture(teller: &Teller<'_>, an_end: usize, have: usize, tell: f64) -> Item {
    let mut chances = Vec::new();
    let mut out = format!("viewBox=\"0 0 350 {}\" role=\"img\"", TOP + HEIGHT + 40.0);
    let head = std::mem::take(&mut out);
    for chance in [0.0, 0.5, 0.8, 1.0] {
        let _ = write!(
            out,
            "<path class=\"axes\" d=\"M{LEFT} {0:.1}h{WIDTH}\"/><text class=\"way\" x=\"{1}\" y=\"{2:.1}\" text-anchor=\"end\">{3:.0} %</text>",
            y(chance),
            LEFT - 5.0,
            y(chance) + 4.0,
            100.0 * chance
        );
    }
    for shots in TICKS {
        let _ = write!(
            out,
            "<text class=\"way\" x=\"{:.1}\" y=\"{}\" text-anchor=\"middle\">{shots}</text>",
            x(shots as f64),
            TOP + HEIGHT + 16.0
        );
    }
    for (ratio, class) in ratios(tell) {
        let mut line = String::new();
        for k in 0..=STEPS {
            let shots = ENDS[0] * (ENDS[1] / ENDS[0]).powf(k as f64 / STEPS as f64);
            let _ = write!(line, "{:.1},{:.1} ", x(shots), y(power(shots.round() as usize, an_end, ratio, LEVEL)));
        }
        let _ = write!(out, "<polyline class=\"curve {class}\" points=\"{line}\"/>");
        // The name stands where the line passes half.
        let half = (0..=200)
            .map(|k| ENDS[0] * (ENDS[1] / ENDS[0]).powf(f64::from(k) / 200.0))
            .find(|n| power(n.round() as usize, an_end, ratio, LEVEL) >= 0.45)
            .unwrap_or(ENDS[1]);
        let _ = write!(
            out,
            "<text class=\"label {class}\" x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{:.0} %</text>",
            x(half),
            y(0.45),
            100.0 * (ratio - 1.0)
        );
        let found = teller.percent(power(have.max(2), an_end, ratio, LEVEL));
        chances.push(format!("{}: {found}", teller.percent(ratio - 1.0)));
    }
    if have as f64 >= ENDS[0] {
        let at = x((have as f64).min(ENDS[1]));
        let _ = write!(out, "<path class=\"rule\" d=\"M{at:.1} {TOP}V{}\"/>", TOP + HEIGHT);
    }
    let _ = write!(
        out,
        "<text class=\"way\" x=\"{}\" y=\"{}\" text-anchor=\"middle\">{}</text></svg>",
        LEFT + 0.5 * WIDTH,
        TOP + HEIGHT + 34.0,
        escape(&teller.t(Word::PowerAxis))
    );
    let label = teller.f(Word::PowerPicture, &[&have.to_string(), &chances.join(", ")]);
    Picture::drawn(label.clone(), format!("<svg {head} aria-label=\"{}\">{out}", escape(&label)))
}
