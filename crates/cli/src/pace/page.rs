//! The page of `goldward pace`.

use std::fmt::Write as _;

use goldward_core::pace::rehearsal::{Outcome, Rule};
use goldward_core::units::trim_number;

use super::first_touch::{First, TRUSTS};
use super::report::{Report, archer, words};
use crate::words::{percent, wrap};

/// The whole page.
pub(super) fn text(report: &Report<'_>, width: usize, colour: bool) -> String {
    let bold = |text: &str| {
        let style = if colour { anstyle::Style::new().bold() } else { anstyle::Style::new() };
        format!("{style}{text}{style:#}")
    };
    let mut out = String::new();
    let _ = writeln!(out, "{}", bold("When to touch the sight"));
    out.push_str(&wrap(&archer(report.rehearsed), width, 2));
    let rounds = report.played.rounds;
    let rounds =
        if rounds == 1 { "One simulated round".to_owned() } else { format!("The same {rounds} simulated rounds") };
    out.push_str(&wrap(&format!("{rounds} under every rule (seed {}).", report.seed), width, 2));
    out.push('\n');
    out.push_str(&table(report));
    out.push('\n');
    for line in meaning(report) {
        out.push_str(&wrap(&line, width, 0));
    }
    out.push_str(&wrap(&legend(report), width, 0));
    let _ = writeln!(out, "\n{}", bold("How many arrows before the first touch?"));
    out.push_str(&first_table(report.first));
    out.push_str(&wrap(FIRST_LEGEND, width, 0));
    out
}

/// Blocks of the table: the bounds, Goldward, and the rules of thumb, each the best first.
fn rows<'a>(report: &'a Report<'_>) -> Vec<&'a Outcome> {
    let block = |rule: Rule| match rule {
        Rule::Oracle => 0,
        Rule::PerfectLearner => 1,
        Rule::Goldward | Rule::GoldwardCalm => 2,
        _ => 3,
    };
    let mut rows: Vec<&Outcome> = report.played.outcomes.iter().collect();
    rows.sort_by(|a, b| block(a.rule).cmp(&block(b.rule)).then(b.points.total_cmp(&a.points)));
    rows
}

fn table(report: &Report<'_>) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "  {:<38}{:>14}{:>8}{:>9}{:>9}", "", "points", "given", "made it", "touches");
    let _ = writeln!(out, "  {:<38}{:>14}{:>8}{:>9}{:>9}", "when to touch", "a round", "away", "worse", "a round");
    for o in rows(report) {
        let exact = o.rule == Rule::Oracle;
        let points =
            if exact { format!("{:.1}      ", o.points) } else { format!("{:.1} ± {:.1}", o.points, o.points_se) };
        let worse = if matches!(o.rule, Rule::Never | Rule::Oracle) { "-".to_owned() } else { share_of(o.worse) };
        let touches = if exact { "-".to_owned() } else { format!("{:.1}", o.touches) };
        let given = format!("{:.1}", o.given_away.max(0.0));
        let _ = writeln!(out, "  {:<38}{points:>14}{given:>8}{worse:>9}{touches:>9}", words(o.rule));
    }
    out
}

/// A share that was counted.
fn share_of(p: f64) -> String {
    if p > 0.0 { percent(p).replace("under", "<").replace("over", ">") } else { "0 %".to_owned() }
}

/// A figure with its standard error, to a tenth or, where that says nothing, a hundredth.
pub(super) fn with_error(value: f64, error: f64) -> String {
    if error < 0.095 { format!("{value:.2} ± {error:.2}") } else { format!("{value:.1} ± {error:.1}") }
}

/// What the table means, in a sentence or two.
fn meaning(report: &Report<'_>) -> Vec<String> {
    let Some(gain) = report.gain() else { return Vec::new() };
    let best = format!("the best rule of thumb here ({})", words(gain.best_fixed));
    let about = format!("{} points a round", with_error(gain.points.abs(), gain.points_se));
    let mut line = if gain.points.abs() < 2.0 * gain.points_se {
        format!("Goldward's rule and {best} are worth the same within the error of these rounds ({about} apart)")
    } else if gain.points > 0.0 {
        format!("Goldward's rule is worth {about} more than {best}")
    } else {
        format!("Goldward's rule is worth {about} less than {best}")
    };
    if let Some(share) = gain.share {
        let _ = write!(line, "; it gets {} of what anyone could gain who learns from arrows", percent(share));
    }
    line.push('.');
    let mut lines = vec![line];
    let played = report.played;
    if let (Some(free), Some(calm)) = (played.of(Rule::Goldward), played.of(Rule::GoldwardCalm)) {
        let (less, se) = played.difference(Rule::Goldward, Rule::GoldwardCalm).unwrap_or_default();
        lines.push(format!(
            "When a touch must gain {} points, it touches {:.1} times a round instead of {:.1}, and that gives up {} points.",
            trim_number(report.rehearsed.scene.touch_cost),
            calm.touches,
            free.touches,
            with_error(less, se)
        ));
    }
    lines
}

fn legend(report: &Report<'_>) -> String {
    let played = |rule| report.played.of(rule).is_some();
    let mut text =
        "A shot counts the score expected of where the sight was; given away is against the oracle; made it worse is \
                    the share of rounds with fewer points than never touching."
            .to_owned();
    if played(Rule::PerfectLearner) {
        text.push_str(
            " The perfect learner knows the spread and which arrows were flyers and sets the sight without error after \
             every arrow: no rule that learns from arrows can do better, and what it gives away nobody can keep.",
        );
    }
    if played(Rule::Oracle) {
        text.push_str(" The oracle always knows where the centre is.");
    }
    text
}

const FIRST_LEGEND: &str = "Goldward when a touch must pay and every arrow counts: the median, and from when to when in 80 % \
                            of simulated rounds; “leave it” where most rounds never touch. In sighting ends waiting costs \
                            nothing: touch towards their end. The rules of thumb say one, three or six arrows whatever the \
                            spread and the mark.";

fn first_table(first: &[First]) -> String {
    let mut out = String::new();
    let mut line = format!("  {:<16}", "spread");
    for (_, name) in TRUSTS {
        let _ = write!(line, "{name:<21}");
    }
    let _ = writeln!(out, "{}", line.trim_end());
    for row in first.chunks(TRUSTS.len()) {
        let mrad = row.first().map_or(0.0, |f| f.spread_mrad);
        let mut line = format!("  {:<16}", format!("{} mrad", trim_number(mrad)));
        for f in row {
            let _ = write!(line, "{:<21}", cell(f));
        }
        let _ = writeln!(out, "{}", line.trim_end());
    }
    out
}

fn cell(f: &First) -> String {
    let Some(median) = f.median else {
        return format!("leave it ({})", share_of(f.never));
    };
    let low = f.low.unwrap_or(median);
    match f.high {
        Some(high) => format!("{median} ({low} to {high})"),
        None => format!("{median} ({low} to never)"),
    }
}
