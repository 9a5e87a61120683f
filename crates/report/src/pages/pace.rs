//! When to touch the sight: what the same rounds came to under every rule.

use goldward_core::pace::rehearsal::{Outcome, Rule};
use goldward_core::units::trim_number;
use goldward_session::pace::{Played, Rehearsed};

use crate::item::Item;
use crate::teller::Teller;
use crate::words::Word;

/// A rule in plain words.
#[must_use]
pub fn rule(t: &Teller<'_>, rule: Rule) -> String {
    t.t(match rule {
        Rule::Never => Word::RuleNever,
        Rule::EveryArrow => Word::RuleEvery,
        Rule::EveryThree => Word::RuleThree,
        Rule::EverySix => Word::RuleSix,
        Rule::ThreeThenSix => Word::RuleThreeThenSix,
        Rule::OnceAfterThree => Word::RuleOnceThree,
        Rule::OnceAfterSix => Word::RuleOnceSix,
        Rule::Harmonic => Word::RuleHarmonic,
        Rule::Goldward => Word::RuleGoldward,
        Rule::GoldwardCalm => Word::RuleCalm,
        Rule::PerfectLearner => Word::RuleLearner,
        Rule::Oracle => Word::RuleOracle,
    })
}

/// The archer and the round.
#[must_use]
pub fn archer(t: &Teller<'_>, rehearsed: &Rehearsed) -> String {
    let scene = &rehearsed.scene;
    let sighting = match scene.sighting_ends {
        0 => String::new(),
        n => t.f(Word::PaceSighting, &[&n.to_string()]) + " ",
    };
    let trust =
        rehearsed.trust.map_or_else(String::new, |trust| format!(" {}", t.f(Word::PaceTrust, &[&t.number(trust, 3)])));
    let [wide, high] = scene.click_mm.map(|x| t.length(x));
    let clicks = if wide == high { wide } else { t.f(Word::PaceTwoClicks, &[&wide, &high]) };
    let values = [
        sighting,
        scene.ends.to_string(),
        scene.shots_per_end.to_string(),
        t.distance(rehearsed.distance.metres()),
        rehearsed.face.name.to_owned(),
        t.length(scene.spread_mm),
        t.length(scene.first_offset_mm),
        trust,
        t.number(100.0 * scene.flyers, 1),
        t.length(scene.drift_mm),
        clicks,
    ];
    t.f(Word::PaceArcher, &values.each_ref().map(String::as_str))
}

/// A figure with its standard error, to a tenth or, where that says nothing, a hundredth.
pub(super) fn with_error(t: &Teller<'_>, value: f64, error: f64) -> String {
    let decimals = if error < 0.095 { 2 } else { 1 };
    format!("{} ± {}", t.language.decimals(value, decimals), t.language.decimals(error, decimals))
}

/// How often something was so in the rounds; what never was is counted as such.
pub(super) fn counted(t: &Teller<'_>, share: f64) -> String {
    if share <= 0.0 { "0".to_owned() } else { t.often(share) }
}

/// The bounds, Goldward, and the rules of thumb, each the best first.
fn in_blocks(played: &Played) -> Vec<&Outcome> {
    let block = |rule: Rule| match rule {
        Rule::Oracle => 0,
        Rule::PerfectLearner => 1,
        Rule::Goldward | Rule::GoldwardCalm => 2,
        _ => 3,
    };
    let mut rows: Vec<&Outcome> = played.outcomes.iter().collect();
    rows.sort_by(|a, b| block(a.rule).cmp(&block(b.rule)).then(b.points.total_cmp(&a.points)));
    rows
}

/// What the rounds came to.
#[must_use]
pub fn page(t: &Teller<'_>, rehearsed: &Rehearsed, played: &Played) -> Vec<Item> {
    let l = t.language;
    let rows = in_blocks(played).into_iter().map(|o| {
        let exact = o.rule == Rule::Oracle;
        let points = format!("{} ± {}", l.decimals(o.points, 1), l.decimals(o.points_se, 1));
        vec![
            rule(t, o.rule),
            l.decimals(o.given_away.max(0.0), 1),
            if exact { "–".to_owned() } else { l.decimals(o.touches, 1) },
            if matches!(o.rule, Rule::Never | Rule::Oracle) { "–".to_owned() } else { counted(t, o.worse) },
            if exact { l.decimals(o.points, 1) } else { points },
        ]
    });
    let head = [Word::Rule, Word::GivenAway, Word::Touches, Word::Worse, Word::PointsARound].map(|w| t.t(w)).to_vec();
    let mut items = vec![
        Item::Text(archer(t, rehearsed)),
        Item::Text(t.f(Word::PaceRounds, &[&rehearsed.seed.to_string(), &played.rounds.to_string()])),
    ];
    items.extend(meaning(t, rehearsed, played));
    items.push(Item::Table(t.t(Word::PacingTitle), head, rows.collect()));
    let mut legend = t.t(Word::PaceLegend);
    if played.outcome(Rule::PerfectLearner).is_some() {
        legend += &format!(" {}", t.f(Word::PaceLegendLearner, &[&rule(t, Rule::PerfectLearner)]));
    }
    items.push(Item::Note(legend));
    items
}

/// What the table means, in a sentence or two.
fn meaning(t: &Teller<'_>, rehearsed: &Rehearsed, played: &Played) -> Vec<Item> {
    let Some(gain) = played.gain() else { return Vec::new() };
    let word = if gain.points.abs() < 2.0 * gain.points_se {
        Word::PaceSame
    } else if gain.points > 0.0 {
        Word::PaceMore
    } else {
        Word::PaceLess
    };
    let mut line = t.f(word, &[&rule(t, gain.best_fixed), &with_error(t, gain.points.abs(), gain.points_se)]);
    if let Some(share) = gain.share {
        line += &format!(" {}", t.f(Word::PaceShare, &[&t.percent(share)]));
    }
    let mut items = vec![Item::Answer(line)];
    if let (Some(free), Some(calm)) = (played.outcome(Rule::Goldward), played.outcome(Rule::GoldwardCalm)) {
        let (less, se) = played.difference(Rule::Goldward, Rule::GoldwardCalm).unwrap_or_default();
        let cost = t.language.number(&trim_number(rehearsed.scene.touch_cost));
        let [calm, free] = [calm, free].map(|o| t.language.decimals(o.touches, 1));
        items.push(Item::Text(t.f(Word::PaceMustGain, &[&cost, &calm, &free, &with_error(t, less, se)])));
    }
    items
}
