//! Rounds of several distances: is it worth carrying the windage from one to the next?

use goldward_core::pace::distances::Memory;

use super::pace::with_error;
use crate::item::Item;
use crate::teller::Teller;
use crate::words::{Phrase, Word};

/// What a way of remembering came to.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Which.
    pub memory: Memory,
    /// Points a round.
    pub points: f64,
    /// Their standard error.
    pub points_se: f64,
    /// Points given away at each distance.
    pub given_away: Vec<f64>,
    /// Touches a round.
    pub touches: f64,
}

/// The rounds, played.
#[derive(Debug, Clone, PartialEq)]
pub struct Distances {
    /// Distances in metres and names of faces, in the order of the round.
    pub stages: Vec<(f64, &'static str)>,
    /// Ends at each, and arrows an end.
    pub ends: (usize, usize),
    /// Spread, in milliradians.
    pub spread_mrad: f64,
    /// Trust at first and of each mark.
    pub trust: f64,
    /// Share of flyers.
    pub flyers: f64,
    /// Drift an end, in milliradians.
    pub drift_mrad: f64,
    /// Rounds.
    pub rounds: u64,
    /// Where the random numbers start.
    pub seed: u64,
    /// Points of one who always knows the centre.
    pub oracle_points: f64,
    /// What each way of remembering came to.
    pub plans: Vec<Plan>,
    /// Points a round that carrying gains over starting anew, and their standard error.
    pub gain: (f64, f64),
}

/// What the rounds came to.
#[must_use]
pub fn page(t: &Teller<'_>, found: &Distances) -> Vec<Item> {
    let l = t.language;
    let places = found.stages.iter().map(|(m, face)| Phrase::FourAt.with(l, &[&t.number(*m, 1), face]));
    let values = [
        found.ends.0.to_string(),
        found.ends.1.to_string(),
        places.collect::<Vec<_>>().join(", "),
        t.number(found.spread_mrad, 3),
        t.number(found.trust, 3),
        t.number(100.0 * found.flyers, 3),
        t.number(found.drift_mrad, 3),
        found.rounds.to_string(),
        found.seed.to_string(),
    ];
    let title = Phrase::FourTitle.text(l).to_owned();
    let mut head = vec![String::new(), t.t(Word::PointsARound)];
    head.extend(found.stages.iter().map(|(m, _)| t.distance(*m)));
    head.push(t.t(Word::Touches));
    let oracle = vec![t.t(Word::RuleOracle), l.decimals(found.oracle_points, 1)];
    let mut plans: Vec<&Plan> = found.plans.iter().collect();
    plans.sort_by(|a, b| b.points.total_cmp(&a.points));
    let rows = plans.into_iter().map(|plan| {
        let name = match plan.memory {
            Memory::Windage => Phrase::FourCarry.text(l).to_owned(),
            Memory::Anew => Phrase::FourAnew.text(l).to_owned(),
            Memory::Never => t.t(Word::RuleNever),
        };
        let mut row = vec![name, format!("{} ± {}", l.decimals(plan.points, 1), l.decimals(plan.points_se, 1))];
        row.extend(plan.given_away.iter().map(|lost| format!("−{}", l.decimals(lost.max(0.0), 1))));
        row.push(l.decimals(plan.touches, 1));
        row
    });
    let (gain, se) = found.gain;
    let (phrase, value) = if gain.abs() < 2.0 * se {
        (Phrase::FourSame, gain)
    } else {
        (if gain > 0.0 { Phrase::FourWorth } else { Phrase::FourLoss }, gain.abs())
    };
    vec![
        Item::Heading(title),
        Item::Text(Phrase::FourAbout.with(l, &values.each_ref().map(String::as_str))),
        Item::Table(String::new(), head, std::iter::once(oracle).chain(rows).collect()),
        Item::Answer(phrase.with(l, &[&with_error(t, value, se)])),
        Item::Note(Phrase::FourLegend.text(l).to_owned()),
    ]
}
