//! Matches under rules of thumb and under Goldward's: three spreads, three opponents, three errors of the first mark.

use goldward_core::face::Face;
use goldward_core::group::ClassOdds;
use goldward_core::matches::rehearsal::{MatchScene, Matches, Wins};
use goldward_core::matches::{Arrow, Format};
use goldward_core::pace::rehearsal::{Rule, Scene};
use goldward_core::score::{Rings, Scorer};
use goldward_core::units::Shaft;
use rayon::prelude::*;

/// One cell of the table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    /// Spread of the archer, in milliradians.
    pub spread_mrad: f64,
    /// The other's average arrow, less that of the archer with a sight that is right.
    pub stronger: f64,
    /// Error of the first setting, in spreads.
    pub first: f64,
}

/// Share of flyers.
const FLYERS: f64 = 0.08;
const DISTANCE_M: f64 = 70.0;

/// All 27 cells.
#[must_use]
pub fn cells() -> Vec<Cell> {
    let mut out = Vec::new();
    for spread_mrad in [1.5, 2.5, 4.0] {
        for stronger in [-0.4, 0.0, 0.4] {
            for first in [0.4, 1.0, 3.0] {
                out.push(Cell { spread_mrad, stronger, first });
            }
        }
    }
    out
}

/// The rules of thumb, and Goldward.
#[must_use]
pub fn rules(calm: bool) -> Vec<Rule> {
    let goldward = if calm { Rule::GoldwardCalm } else { Rule::Goldward };
    Rule::ALL.into_iter().filter(|r| r.is_fixed()).chain([goldward]).collect()
}

/// What became of a cell.
#[derive(Debug, Clone, PartialEq)]
pub struct Told {
    /// Share won by Goldward, and its standard error.
    pub goldward: (f64, f64),
    /// The best rule of thumb and the share that it won.
    pub best: (Rule, f64),
    /// By how much Goldward is ahead of it in the same matches, and its standard error.
    pub ahead: (f64, f64),
    /// Touches a match of Goldward.
    pub touches: f64,
    /// Share won when the sight is never touched.
    pub never: f64,
}

/// Plays `matches` of a cell by `format`, 70 m on the 122 cm face, clicks of 0.1 mm.
///
/// # Panics
/// When the face is not there.
#[must_use]
pub fn play(cell: &Cell, format: Format, matches: u64, calm: bool) -> Told {
    let (face, shaft) = (Face::named("122").expect("a face"), Shaft::default());
    let (scorer, rings) = (Scorer::new(face, shaft), Rings::new(face, shaft));
    let spread_mm = cell.spread_mrad * DISTANCE_M;
    let odds = ClassOdds::new([1.0 - FLYERS, FLYERS, 0.0]).expect("odds");
    let own = Arrow::shot(&rings, odds, 0.0, spread_mm * spread_mm);
    let average = (own.points.mean() + cell.stronger).clamp(0.1, 9.98);
    let opponent = Arrow::averaging(&rings, odds, average).expect("an opponent");
    let mut archer = Scene::ranking_round(spread_mm, cell.first * spread_mm, FLYERS);
    archer.click_mm = [0.1 * DISTANCE_M * 1000.0 / 880.0; 2];
    let scene = MatchScene { archer, format, opponent };
    let game = Matches::new(scene, &scorer, &rings, shaft, 17);
    let rules = rules(calm);
    let step = 100;
    let wins: Wins = (0..matches.div_ceil(step))
        .into_par_iter()
        .map(|i| game.play(&rules, i * step..((i + 1) * step).min(matches)))
        .reduce_with(|mut a, b| {
            a.add(&b);
            a
        })
        .expect("some matches");
    let ours = rules.len() - 1;
    let best = (0..ours).max_by(|a, b| wins.share(*a).0.total_cmp(&wins.share(*b).0)).expect("rules");
    Told {
        goldward: wins.share(ours),
        best: (rules[best], wins.share(best).0),
        ahead: wins.ahead(ours, best),
        touches: wins.touches(ours),
        never: wins.share(0).0,
    }
}
