//! The page of `goldward compare`.

use std::fmt::Write as _;

use goldward_core::fleet::compare::{Setting, SpreadRatio};
use goldward_core::units::trim_number;

use super::{CHANCE, Report};
use crate::words::angles::{length, mrad, offset};
use crate::words::{percent, wrap};

/// The comparison that counts: pair by pair where ends belong together.
fn ratio(report: &Report) -> SpreadRatio {
    report.comparison.paired.map_or(report.comparison.spread, |p| p.0)
}

/// The answer in one sentence.
pub(super) fn headline(report: &Report) -> String {
    let r = ratio(report);
    match r.p_tighter {
        p if p >= 0.95 => format!("Tighter after the change, {}", percent(p)),
        p if p <= 0.05 => format!("Wider after the change, {}", percent(1.0 - p)),
        p if p >= 0.8 => format!("Perhaps tighter after the change ({}), not settled", percent(p)),
        p if p <= 0.2 => format!("Perhaps wider after the change ({}), not settled", percent(1.0 - p)),
        _ => "No difference can be told".to_owned(),
    }
}

/// A change of the spread: `12 % tighter`.
fn change(ratio: f64) -> String {
    let share = (100.0 * (ratio - 1.0)).round();
    match share {
        s if s < 0.0 => format!("{:.0} % tighter", -s),
        s if s > 0.0 => format!("{s:.0} % wider"),
        _ => "the same".to_owned(),
    }
}

fn bars(report: &Report, width: usize) -> String {
    let spreads = report.settings.each_ref().map(Setting::spread_mrad);
    let most = spreads[0].max(spreads[1]);
    let room = width.saturating_sub(34).clamp(10, 48) as f64;
    let mut out = String::new();
    for (i, label) in ["before", "after"].into_iter().enumerate() {
        let bar = "█".repeat(((spreads[i] / most * room).round() as usize).max(1));
        let on_face = length(spreads[i] * report.files[i].distance.metres());
        let _ = writeln!(out, "  {label:<7}{bar} {}, {on_face}", mrad(spreads[i]));
    }
    out
}

/// The whole page.
pub(super) fn text(report: &Report, width: usize, colour: bool) -> String {
    let style = if colour { anstyle::Style::new().bold() } else { anstyle::Style::new() };
    let [before, after] = &report.settings;
    let c = &report.comparison;
    let distance = report.files[0].distance;
    let mut out = String::new();
    let _ = writeln!(out, "{style}{}{style:#}", headline(report));
    let shots = format!(
        "{} shots in {} ends before, {} in {} after, at {distance}. Spread of a clean shot within an end:",
        before.shots,
        before.ends.len(),
        after.shots,
        after.ends.len()
    );
    out.push_str(&wrap(&shots, width, 2));
    out.push('\n');
    out.push_str(&bars(report, width));
    out.push('\n');
    let told = |r: &SpreadRatio| {
        let [low, high] = r.interval;
        format!("{} (from {} to {}, 90 % interval)", change(r.ratio), change(low), change(high))
    };
    let mut lines = Vec::new();
    match &c.paired {
        Some((r, pairs)) => {
            lines.push(format!(
                "Pair by pair, over {pairs} pairs of ends: {}, {} to be tighter.",
                told(r),
                percent(r.p_tighter)
            ));
            lines.push(format!(
                "All ends together: {}, {} to be tighter.",
                told(&c.spread),
                percent(c.spread.p_tighter)
            ));
        }
        None => {
            lines.push(format!(
                "After the change: {}, {} to be tighter.",
                told(&c.spread),
                percent(c.spread.p_tighter)
            ));
            lines.push(
                "If all of the one was shot before all of the other, fatigue, light or wind may be the difference: shoot them in \
                 turn, end by end, and add --in-turn."
                    .to_owned(),
            );
        }
    }
    lines.push(format!("Windage {}, elevation {}.", change(c.by_axis[0]), change(c.by_axis[1])));
    let flyers = |s: &Setting| trim_number((10.0 * s.flyers).round() / 10.0);
    lines.push(format!(
        "Flyers: about {} of {} before, {} of {} after.",
        flyers(before),
        before.shots,
        flyers(after),
        after.shots
    ));
    match &c.centre {
        Some(h) if h.p_value < 0.1 => lines.push(format!(
            "The centre after is {} of the one before (chance of so much without a cause: {}). That says nothing of the change \
             if the sight was moved in between.",
            offset(h.difference.into(), distance),
            percent(h.p_value)
        )),
        Some(h) => lines.push(format!("The centres cannot be told apart (chance of so much without a cause: {}).", percent(h.p_value))),
        None => {}
    }
    if let Some(needed) = report.needed {
        lines.push(format!(
            "To tell {} apart with a chance of {} takes about {needed} arrows of each setting in ends like these; six arrows cannot.",
            percent(report.tell),
            percent(CHANCE)
        ));
    }
    for line in lines {
        out.push_str(&wrap(&line, width, 0));
    }
    out
}
