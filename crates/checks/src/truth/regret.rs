//! Points lost against one who knows the centre, for every way of setting the sight, on the same arrows.

use goldward_core::plane::Point;
use goldward_core::score::Scorer;

use super::rivals::Rival;
use super::{Mean, Trial, World, crowd, known, told};

/// Losses of one trial: Goldward, the rules in the order of [`Rival::ALL`], and the bound.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Losses {
    /// Goldward's best move.
    pub goldward: f64,
    /// The rules of thumb.
    pub rivals: [f64; 3],
    /// Who knows the world.
    pub known: Option<f64>,
}

/// A row of the table.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Of every trial.
    pub trials: Vec<Losses>,
}

impl Row {
    /// Loss of Goldward.
    #[must_use]
    pub fn goldward(&self) -> Mean {
        Mean::of(self.trials.iter().map(|t| t.goldward))
    }

    /// Loss of a rule.
    #[must_use]
    pub fn rival(&self, rival: Rival) -> Mean {
        Mean::of(self.trials.iter().map(move |t| t.rivals[rival as usize]))
    }

    /// Loss of who knows the world.
    #[must_use]
    pub fn known(&self) -> Option<Mean> {
        let has = self.trials.iter().all(|t| t.known.is_some());
        has.then(|| Mean::of(self.trials.iter().map(|t| t.known.unwrap_or(0.0))))
    }

    /// What Goldward loses more than a rule, paired.
    #[must_use]
    pub fn behind(&self, rival: Rival) -> Mean {
        Mean::of(self.trials.iter().map(move |t| t.goldward - t.rivals[rival as usize]))
    }

    /// What Goldward loses more than who knows the world, paired.
    #[must_use]
    pub fn behind_known(&self) -> Option<Mean> {
        let has = self.trials.iter().all(|t| t.known.is_some());
        has.then(|| Mean::of(self.trials.iter().map(|t| t.goldward - t.known.unwrap_or(0.0))))
    }
}

/// `sims` trials of `world` with `n` shots each.
#[must_use]
pub fn row(world: &World, n: usize, sims: usize, scorer: &Scorer) -> Row {
    let trials = crowd(sims, |number| {
        let trial = Trial::draw(world, n, number);
        let best = trial.points(scorer, trial.centre).long_run;
        let loss = |to: Point| best - trial.points(scorer, told::in_clicks(to)).long_run;
        let answer = told::answer(&world.told, &trial.shots, scorer);
        // Rules of thumb need places: those of calls are what the reading makes of them without a prior to speak of.
        let places = &trial.places;
        Losses {
            goldward: loss(told::shift(answer.advice.best.clicks)),
            rivals: Rival::ALL.map(|r| loss(r.shift(places, world.told.trust))),
            known: known::shift(world, &trial).map(loss),
        }
    });
    Row { trials }
}
