//! The page of `goldward pace`.

use std::fmt::Write as _;

use goldward_core::pace::rehearsal::{Outcome, Rule};
use goldward_core::units::trim_number;

use super::first_touch::{First, TRUSTS};
use super::report::{Report, archer, words};
use crate::words::wrap;
use goldward_report::words::{Language, Phrase, percent};

/// The whole page.
pub(super) fn text(report: &Report<'_>, width: usize, colour: bool) -> String {
    let bold = |text: &str| {
        let style = if colour { anstyle::Style::new().bold() } else { anstyle::Style::new() };
        format!("{style}{text}{style:#}")
    };
    let l = report.language;
    let mut out = String::new();
    let _ = writeln!(out, "{}", bold(Phrase::PaceTitle.text(l)));
    out.push_str(&wrap(&archer(l, report.rehearsed), width, 2));
    let rounds = report.played.rounds;
    let phrase = if rounds == 1 { Phrase::PaceRound } else { Phrase::PaceRounds };
    out.push_str(&wrap(&phrase.with(l, &[&report.seed.to_string(), &rounds.to_string()]), width, 2));
    out.push('\n');
    out.push_str(&table(report));
    out.push('\n');
    for line in meaning(report) {
        out.push_str(&wrap(&line, width, 0));
    }
    out.push_str(&wrap(&legend(report), width, 0));
    let _ = writeln!(out, "\n{}", bold(Phrase::PaceFirstTitle.text(l)));
    out.push_str(&first_table(l, report.first));
    out.push_str(&wrap(Phrase::PaceFirstLegend.text(l), width, 0));
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
    let l = report.language;
    let mut out = String::new();
    // Columns as wide as their heads ask for; the last has room for two numbers more.
    let heads = [
        ["", Phrase::PaceWhen.text(l)],
        [Phrase::PacePoints, Phrase::PaceARound].map(|p| p.text(l)),
        [Phrase::PaceGiven, Phrase::PaceAway].map(|p| p.text(l)),
        [Phrase::PaceMadeIt, Phrase::PaceWorse].map(|p| p.text(l)),
        [Phrase::PaceTouches, Phrase::PaceARound].map(|p| p.text(l)),
    ];
    let least = [38, 14, 8, 9, 9];
    let [name, points, given, worse, touches] = std::array::from_fn(|i| {
        let long = |text: &str| text.chars().count() + usize::from(i > 0);
        let names = rows(report).into_iter().map(|o| if i == 0 { long(words(l, o.rule)) } else { 0 }).max();
        least[i].max(heads[i].iter().map(|h| long(h)).max().unwrap_or(0)).max(names.unwrap_or(0))
    });
    for k in 0..2 {
        let [a, b, c, d, e] = heads.each_ref().map(|h| h[k]);
        let _ = writeln!(out, "  {a:<name$}{b:>points$}{c:>given$}{d:>worse$}{e:>touches$}");
    }
    let (wide, wide_given, wide_worse, wide_touches) = (points, given, worse, touches);
    for o in rows(report) {
        let exact = o.rule == Rule::Oracle;
        let points =
            if exact { format!("{:.1}      ", o.points) } else { format!("{:.1} ± {:.1}", o.points, o.points_se) };
        let points = l.number(&points);
        let worse = if matches!(o.rule, Rule::Never | Rule::Oracle) { "-".to_owned() } else { share_of(l, o.worse) };
        let touches = if exact { "-".to_owned() } else { l.decimals(o.touches, 1) };
        let given = l.decimals(o.given_away.max(0.0), 1);
        let _ = writeln!(
            out,
            "  {:<name$}{points:>wide$}{given:>wide_given$}{worse:>wide_worse$}{touches:>wide_touches$}",
            words(l, o.rule)
        );
    }
    out
}

/// A share that was counted.
fn share_of(l: Language, p: f64) -> String {
    match p {
        p if p <= 0.0 => "0 %".to_owned(),
        p if p < 0.01 => "< 1 %".to_owned(),
        p if p > 0.99 => "> 99 %".to_owned(),
        p => percent(l, p),
    }
}

/// A figure with its standard error, to a tenth or, where that says nothing, a hundredth.
pub(super) fn with_error(value: f64, error: f64) -> String {
    if error < 0.095 { format!("{value:.2} ± {error:.2}") } else { format!("{value:.1} ± {error:.1}") }
}

/// What the table means, in a sentence or two.
fn meaning(report: &Report<'_>) -> Vec<String> {
    let Some(gain) = report.gain() else { return Vec::new() };
    let l = report.language;
    let about = l.number(&with_error(gain.points.abs(), gain.points_se));
    let phrase = if gain.points.abs() < 2.0 * gain.points_se {
        Phrase::PaceSame
    } else if gain.points > 0.0 {
        Phrase::PaceMore
    } else {
        Phrase::PaceLess
    };
    let mut line = phrase.with(l, &[words(l, gain.best_fixed), &about]);
    if let Some(share) = gain.share {
        line += &Phrase::PaceShare.with(l, &[&percent(l, share)]);
    }
    line.push('.');
    let mut lines = vec![line];
    let played = report.played;
    if let (Some(free), Some(calm)) = (played.of(Rule::Goldward), played.of(Rule::GoldwardCalm)) {
        let (less, se) = played.difference(Rule::Goldward, Rule::GoldwardCalm).unwrap_or_default();
        let cost = l.number(&trim_number(report.rehearsed.scene.touch_cost));
        let [calm, free] = [calm, free].map(|o| l.decimals(o.touches, 1));
        lines.push(Phrase::PaceMustGain.with(l, &[&cost, &calm, &free, &l.number(&with_error(less, se))]));
    }
    lines
}

fn legend(report: &Report<'_>) -> String {
    let played = |rule| report.played.of(rule).is_some();
    let l = report.language;
    let mut text = Phrase::PaceLegend.text(l).to_owned();
    if played(Rule::PerfectLearner) {
        text += Phrase::PaceLegendLearner.text(l);
    }
    if played(Rule::Oracle) {
        text += Phrase::PaceLegendOracle.text(l);
    }
    text
}

fn first_table(l: Language, first: &[First]) -> String {
    let mut out = String::new();
    let mut line = format!("  {:<16}", Phrase::PaceSpread.text(l));
    for (_, name) in TRUSTS {
        let _ = write!(line, "{:<21}", name.text(l));
    }
    let _ = writeln!(out, "{}", line.trim_end());
    for row in first.chunks(TRUSTS.len()) {
        let mrad = row.first().map_or(0.0, |f| f.spread_mrad);
        let mut line = format!("  {:<16}", format!("{} mrad", l.number(&trim_number(mrad))));
        for f in row {
            let _ = write!(line, "{:<21}", cell(l, f));
        }
        let _ = writeln!(out, "{}", line.trim_end());
    }
    out
}

fn cell(l: Language, f: &First) -> String {
    let Some(median) = f.median else {
        return Phrase::PaceLeave.with(l, &[&share_of(l, f.never)]);
    };
    let (middle, low) = (median.to_string(), f.low.unwrap_or(median).to_string());
    match f.high {
        Some(high) => Phrase::PaceFromTo.with(l, &[&middle, &low, &high.to_string()]),
        None => Phrase::PaceToNever.with(l, &[&middle, &low]),
    }
}
