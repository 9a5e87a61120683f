//! Whether what is told comes true as often as it is told.

use goldward_core::advice::TOUCH_COST_DEFAULT;
use goldward_core::score::Scorer;

use super::told::{self, Answer};
use super::{AHEAD, Mean, Trial, World, crowd};

/// What was told in one trial and what came.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Whether the 80 % intervals of windage and elevation hold the centre.
    pub holds: [bool; 2],
    /// Of a move: its chance to help and whether it did, in the long run and over the string that came.
    pub better: Option<(f64, bool, bool)>,
    /// Whether the 80 % interval of the gain holds it, in the long run and over the string that came.
    pub gain: Option<(bool, bool)>,
    /// The gain told, and the true one.
    pub gains: Option<(f64, f64)>,
    /// One shot of the group: its chances to be clean, flyer, stray, and what it was.
    pub class: Option<([f64; 3], usize)>,
    /// Shots that would settle it, as told, and whether after so many more no touch would gain more than it costs: from where the
    /// sight then stands, to where it should, over the shots then left.
    pub more: Option<(u32, bool)>,
    /// Clicks, and clicks after three shots more.
    pub after_three: ([i32; 2], [i32; 2]),
    /// The action's name.
    pub action: String,
}

/// Outcomes of one world and number of shots.
#[derive(Debug, Clone)]
pub struct Study {
    /// Of every trial.
    pub outcomes: Vec<Outcome>,
}

/// Half the width of an 80 % interval, in standard deviations.
const Z_80: f64 = 1.281_551_6;

/// `sims` trials of `world` with `n` shots each. `more` also asks what comes of "about k more would settle it".
#[must_use]
pub fn study(world: &World, n: usize, sims: usize, more: bool, scorer: &Scorer) -> Study {
    let outcomes = crowd(sims, |number| {
        let most = if more { n + AHEAD } else { n };
        // The same shots with more to follow: the first n are those of the shorter session.
        let long = Trial::draw(world, most, number);
        let told = |k: usize| told::answer(&world.told, &long.shots[..k], scorer);
        outcome(&long, n, number, &told(n), more.then_some(&told as &dyn Fn(usize) -> Answer), scorer)
    });
    Study { outcomes }
}

fn outcome(
    trial: &Trial,
    n: usize,
    number: u64,
    answer: &Answer,
    later: Option<&dyn Fn(usize) -> Answer>,
    scorer: &Scorer,
) -> Outcome {
    let (reading, advice) = (&answer.reading, &answer.advice);
    let off = trial.centre - reading.centre;
    let holds =
        [off.x_mm.abs() <= Z_80 * reading.centre_cov.xx.sqrt(), off.y_mm.abs() <= Z_80 * reading.centre_cov.yy.sqrt()];
    let moved = advice.best.clicks != [0, 0];
    let gained = || {
        let shift = told::shift(advice.best.clicks);
        trial.points(scorer, shift) - trial.points(scorer, goldward_core::plane::Point::default())
    };
    let true_gain = moved.then(gained);
    let [low, high] = advice.gain_interval_points;
    let within = |g: f64| (low..=high).contains(&g);
    let one = number as usize % n;
    let (mut more, mut after_three) = (None, ([0; 2], [0; 2]));
    if let Some(later) = later {
        after_three = (advice.best.clicks, later(n + 3).advice.best.clicks);
        let k = advice.more_shots;
        if (1..AHEAD).contains(&(k as usize)) {
            let stands = told::in_clicks(later(n + k as usize).reading.centre);
            let lost = trial.points(scorer, told::in_clicks(trial.centre)) - trial.points(scorer, stands);
            let left = (AHEAD - k as usize) as f64 / AHEAD as f64;
            more = Some((k, lost.long_run * left <= TOUCH_COST_DEFAULT));
        }
    }
    Outcome {
        holds,
        better: true_gain.map(|g| (advice.p_better, g.long_run > 0.0, g.this_string > 0.0)),
        gain: true_gain.map(|g| (within(g.long_run), within(g.this_string))),
        gains: true_gain.map(|g| (advice.best.gain_points, g.long_run)),
        class: reading.p_class.get(one).map(|p| (*p, trial.classes[one])),
        more,
        after_three,
        action: format!("{:?}", advice.action).to_lowercase(),
    }
}

/// A bin of a forecast: how often, what was said on average, what came, with the error of chance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bin {
    /// From, to.
    pub range: (f64, f64),
    /// How often.
    pub count: usize,
    /// Said on average.
    pub said: f64,
    /// Came.
    pub came: Mean,
}

/// Forecasts sorted into `edges`; empty bins are left out.
#[must_use]
pub fn bins(forecasts: &[(f64, bool)], edges: &[f64]) -> Vec<Bin> {
    edges
        .windows(2)
        .filter_map(|w| {
            let last = w[1] >= 1.0;
            let inside: Vec<_> = forecasts.iter().filter(|(p, _)| *p >= w[0] && (*p < w[1] || last)).collect();
            let count = inside.len();
            if count == 0 {
                return None;
            }
            let said = inside.iter().map(|(p, _)| p).sum::<f64>() / count as f64;
            let came = inside.iter().filter(|(_, c)| *c).count();
            Some(Bin { range: (w[0], w[1]), count, said, came: Mean::share(came, count, said) })
        })
        .collect()
}

impl Study {
    /// Share of intervals that hold the centre: windage, elevation.
    #[must_use]
    pub fn intervals(&self) -> [Mean; 2] {
        let n = self.outcomes.len();
        [0, 1].map(|i| Mean::share(self.outcomes.iter().filter(|o| o.holds[i]).count(), n, 0.8))
    }

    /// Share of gain intervals that hold the gain in the long run, and that over the string that came.
    #[must_use]
    pub fn gain_intervals(&self) -> [Mean; 2] {
        let all: Vec<_> = self.outcomes.iter().filter_map(|o| o.gain).collect();
        let share = |f: fn(&(bool, bool)) -> bool| Mean::share(all.iter().filter(|g| f(g)).count(), all.len(), 0.8);
        [share(|g| g.0), share(|g| g.1)]
    }

    /// Gain told less the true one.
    #[must_use]
    pub fn gain_error(&self) -> Mean {
        Mean::of(self.outcomes.iter().filter_map(|o| o.gains).map(|(told, came)| told - came))
    }

    /// `p_better`, and whether the move helped: in the long run, or over the string that came.
    #[must_use]
    pub fn better(&self, this_string: bool) -> Vec<(f64, bool)> {
        let all = self.outcomes.iter().filter_map(|o| o.better);
        all.map(|(p, long, string)| (p, if this_string { string } else { long })).collect()
    }

    /// Chance of a shot to be of class `k`, and whether it was.
    #[must_use]
    pub fn class(&self, k: usize) -> Vec<(f64, bool)> {
        self.outcomes.iter().filter_map(|o| o.class).map(|(p, was)| (p[k], was == k)).collect()
    }

    /// How often "about k more would settle it" was said, and came true.
    #[must_use]
    pub fn more(&self) -> (usize, Mean) {
        let all: Vec<_> = self.outcomes.iter().filter_map(|o| o.more).collect();
        (all.len(), Mean::share(all.iter().filter(|(_, came)| *came).count(), all.len(), 0.8))
    }

    /// Share of answers that change by more than `clicks` on an axis after three shots more, of those that say it is settled.
    #[must_use]
    pub fn changes(&self, clicks: i32) -> Mean {
        let far = |o: &&Outcome| (0..2).any(|i| (o.after_three.0[i] - o.after_three.1[i]).abs() > clicks);
        Mean::share(self.outcomes.iter().filter(far).count(), self.outcomes.len(), 0.5)
    }
}
