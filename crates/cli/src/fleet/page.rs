//! The page of `goldward fleet`.

use std::fmt::Write as _;

use goldward_core::fleet::session::FeltMarks;
use goldward_core::fleet::{MOST_MORE, Verdict};
use goldward_core::group::ClassOdds;
use goldward_core::units::trim_number;

use super::Report;
use super::words::{length, mrad, offset};
use crate::plot::map::{Map, Spot};
use crate::words::{arrows, percent, wrap};
use goldward_session::problem::plain;

/// The caution that goes with every accusation.
const INSPECT: &str = "Safety: to inspect an arrow is to look it over before you shoot it again: shaft, nock, vanes, point. Never \
                       shoot a damaged arrow.";

/// Arrows with a lower probability of being off are not called unclear.
const UNCLEAR_FROM: f64 = 0.2;
/// An own spread is told of from this probability on.
const WIDE_FROM: f64 = 0.9;

fn name(report: &Report, v: &Verdict) -> String {
    plain(report.names.get(v.arrow).map_or("", String::as_str))
}

fn several(n: usize, what: &str) -> String {
    if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") }
}

/// The whole page.
pub(super) fn text(report: &Report, width: usize, colour: bool) -> String {
    let bold = |text: &str| {
        let style = if colour { anstyle::Style::new().bold() } else { anstyle::Style::new() };
        format!("{style}{text}{style:#}")
    };
    let fleet = &report.fleet;
    let distance = report.distance();
    let mut out = String::new();
    let _ = writeln!(out, "{}", bold("Arrow by arrow"));
    let spread = fleet.spread_mrad();
    let intro = format!(
        "{} shots of {} in {} and {}. One arrow spreads by {} ({} at {distance}). An arrow counts as off from {} on ({} at \
         {distance}).",
        report.shots.len(),
        arrows(fleet.arrows.len()),
        several(fleet.sessions, "session"),
        several(fleet.ends, "end"),
        mrad(spread),
        length(spread * distance.metres()),
        mrad(fleet.amount_mrad),
        length(fleet.amount_mrad * distance.metres()),
    );
    out.push_str(&wrap(&intro, width, 2));
    if report.nameless > 0 {
        let left_out = format!("{} without an arrow's name left out.", several(report.nameless, "shot"));
        out.push_str(&wrap(&left_out, width, 2));
    }
    out.push('\n');
    for line in verdicts(report) {
        out.push_str(&wrap(&line, width, 0));
    }
    out.push('\n');
    out.push_str(&table(report));
    out.push('\n');
    out.push_str(&map(report).text(41.min(width - 4), 4));
    out.push('\n');
    let legend = format!(
        "Where each arrow lands against the others, as you see it; the dotted circle is {} at {distance}. Of the arrows \
         accused at most about {} should be innocent. Intervals of the own spread are of 80 %.",
        length(fleet.amount_mrad * distance.metres()),
        percent(report.fdr)
    );
    out.push_str(&wrap(&legend, width, 0));
    let _ = writeln!(out, "\n{}", bold("The archer"));
    for line in archer(report) {
        out.push_str(&wrap(&line, width, 2));
    }
    out.push('\n');
    out.push_str(&wrap(INSPECT, width, 0));
    out
}

/// What to do, in sentences: the accused, the wide ones, the unclear ones.
fn verdicts(report: &Report) -> Vec<String> {
    let fleet = &report.fleet;
    let distance = report.distance();
    let mut lines = Vec::new();
    let mut order: Vec<&Verdict> = fleet.arrows.iter().collect();
    order.sort_by(|a, b| b.p_off.total_cmp(&a.p_off));
    for v in order.iter().filter(|v| v.accused) {
        lines.push(format!(
            "Inspect arrow {}: it lands {} of the others at {distance}, {}.",
            name(report, v),
            offset(v.offset, distance),
            percent(v.p_off)
        ));
    }
    for v in fleet.arrows.iter().filter(|v| v.p_wide >= WIDE_FROM) {
        let [ratio, low, high] = v.spread_ratio;
        lines.push(format!(
            "Inspect arrow {}: it scatters {ratio:.1} times as wide as the others ({low:.1} to {high:.1}), {} to be a fifth wider or \
             more.",
            name(report, v),
            percent(v.p_wide)
        ));
    }
    for v in order.iter().filter(|v| !v.accused && v.p_off >= UNCLEAR_FROM) {
        let more = match v.more_shots {
            Some(n) if n < MOST_MORE => {
                format!("{} more of it would settle that in half of the cases", several(n, "shot"))
            }
            _ => format!("it lies so near the limit that {MOST_MORE} more shots may not settle it"),
        };
        lines.push(format!("Arrow {} is unclear ({} to be off): {more}.", name(report, v), percent(v.p_off)));
    }
    let calm = fleet.arrows.iter().all(|v| !v.accused && v.p_wide < WIDE_FROM);
    if calm {
        lines.insert(0, "No arrow stands out. What goes astray is the archer, the sight or the wind.".to_owned());
    }
    lines
}

fn table(report: &Report) -> String {
    let distance = report.distance();
    let mut out = String::new();
    let _ = writeln!(out, "  {:<8}{:>6}  {:<20}{:>11}{:>22}", "", "", format!("lands at {distance}"), "", "own spread");
    let _ = writeln!(
        out,
        "  {:<8}{:>6}  {:<20}{:>11}{:>22}",
        "arrow", "shots", "off the others", "off", "over the others'"
    );
    for v in &report.fleet.arrows {
        let [ratio, low, high] = v.spread_ratio;
        let label: String = name(report, v).chars().take(8).collect();
        let _ = writeln!(
            out,
            "{} {label:<8}{:>6}  {:<20}{:>11}{:>22}",
            if v.accused { "!" } else { " " },
            v.shots,
            offset(v.offset, distance),
            percent(v.p_off),
            format!("{ratio:.2} ({low:.2} to {high:.2})"),
        );
    }
    out
}

/// Fatigue, warm-up and felt marks.
fn archer(report: &Report) -> Vec<String> {
    let mut lines = Vec::new();
    for (file, trend) in report.files.iter().zip(&report.trends) {
        let Some(t) = trend else { continue };
        let name = std::path::Path::new(&file.name)
            .file_name()
            .map_or(file.name.clone(), |n| n.to_string_lossy().into_owned());
        let session = if report.files.len() > 1 { format!("{}: ", plain(&name)) } else { String::new() };
        let [low, high] = t.interval;
        let change = format!("{:.2} times as wide at the last end as at the first ({low:.2} to {high:.2})", t.ratio);
        lines.push(match t.p_grows {
            p if p >= 0.9 => {
                format!("{session}The spread grew, {change}, {}: tired, or the light or the wind changed.", percent(p))
            }
            p if p <= 0.1 => format!("{session}The spread shrank, {change}, {}: a warm-up may help.", percent(1.0 - p)),
            _ => format!("{session}No sign of fatigue: the spread was {change}."),
        });
        if t.p_warm_up >= 0.9 && t.p_grows > 0.1 {
            let [ratio, low, high] = t.warm_up;
            lines.push(format!(
                "{session}The first two ends were {ratio:.2} times as wide as the rest ({low:.2} to {high:.2}): a warm-up may help."
            ));
        }
    }
    if lines.is_empty() {
        lines.push("Too few ends to speak of fatigue or warm-up: number the ends, and shoot four or more.".to_owned());
    }
    match &report.felt {
        Some(f) => {
            let [ratio, low, high] = f.likelihood_ratio;
            let marks = format!(
                "{} felt bad, of which about {} were flyers. A flyer is {} times as likely to feel bad as a clean shot ({} to {})",
                several(f.marked[0], "shot"),
                trim_number((10.0 * f.flyers[0]).round() / 10.0),
                trim_number((10.0 * ratio).round() / 10.0),
                trim_number((10.0 * low).round() / 10.0),
                trim_number((10.0 * high).round() / 10.0),
            );
            let odds = f.bad_odds.get();
            let weight = format!(
                "your own odds of a shot that feels bad are clean {}, flyer {}, stray {}",
                percent(odds[0]),
                percent(odds[1]),
                percent(odds[2])
            );
            lines.push(if f.tell() {
                format!("{marks}: your marks earn their weight; {weight}. For your kit file:")
            } else {
                format!("{marks}: too little yet to trust the marks; {weight}.")
            });
            if f.tell() {
                lines.extend(kit_lines(f));
            }
        }
        None => lines.push(
            "No shot was marked by how it felt; mark them before you look, to learn how well you know.".to_owned(),
        ),
    }
    lines
}

/// The map of all arrows.
pub(super) fn map(report: &Report) -> Map {
    let fleet = &report.fleet;
    let distance = report.distance();
    let spots = fleet
        .arrows
        .iter()
        .map(|v| Spot { label: name(report, v), at: v.offset, cov_mrad2: v.offset_cov_mrad2, accent: v.accused })
        .collect();
    let accused: Vec<String> = fleet.arrows.iter().filter(|v| v.accused).map(|v| name(report, v)).collect();
    let title = match accused.as_slice() {
        [] => "No arrow stands out".to_owned(),
        [one] => format!("Inspect arrow {one}"),
        many => format!("Inspect arrows {}", many.join(", ")),
    };
    let subtitle = format!(
        "Where each of {} lands against the others, as the archer sees it, with 80 % ellipses; {} shots.",
        arrows(fleet.arrows.len()),
        report.shots.len()
    );
    let meaning = format!("off from {} on", length(fleet.amount_mrad * distance.metres()));
    Map {
        title,
        subtitle,
        spots,
        shots: Vec::new(),
        circle: Some((fleet.amount_mrad, meaning)),
        metres: distance.metres(),
    }
}

/// What a kit file says of felt marks (docs/kit.md): of each kind that was used.
fn kit_lines(f: &FeltMarks) -> Vec<String> {
    let list = |odds: ClassOdds| {
        let [_, flyer, stray] = odds.get().map(|p| (1000.0 * p).round() / 1000.0);
        // Rounded so that they still add up.
        let clean = ((1.0 - flyer - stray) * 1000.0).round() / 1000.0;
        format!("[{clean:?}, {flyer:?}, {stray:?}]")
    };
    [("felt_bad", f.marked[0], f.bad_odds), ("felt_good", f.marked[1], f.good_odds)]
        .into_iter()
        .filter(|(_, marked, _)| *marked > 0)
        .map(|(key, _, odds)| format!("{key} = {}", list(odds)))
        .collect()
}
