//! The states of a match between ends, and the chance to win from each: exact dynamic programming.

use super::format::verdict;
use super::points::Points;
use super::{Arrow, Count, Format, Standing, Verdict, nearer};
use crate::score::Rings;

/// A lead beyond so many standard deviations of what is still to come is taken as this one: the chance differs by less than 1e-9.
const REACH: f64 = 7.0;

/// Between ends a match is in one of these states: points of the match of both, or the lead.
#[derive(Debug)]
pub(super) struct Board {
    format: Format,
    /// Sets: points of the match of one archer, from 0. Totals: leads, from `-reach` to `reach`.
    reach: usize,
}

/// What an end may come to: for sets won, level and lost; for totals the lead of that end from `-(len - 1) / 2`.
pub(super) type Outcome = Vec<f64>;

impl Board {
    /// For a match that stands as `standing` with at most `variance` of the lead to come.
    pub(super) fn new(format: &Format, standing: &Standing, ends_variance: f64) -> Self {
        let reach = match format.count {
            Count::Sets { win, level, first_to } => (first_to - 1 + win.max(level)) as usize,
            Count::Total => {
                let lead = standing.mine.points.abs_diff(standing.theirs.points) as f64;
                (lead + REACH * ends_variance.sqrt()).ceil() as usize + 2
            }
        };
        Self { format: *format, reach }
    }

    pub(super) fn len(&self) -> usize {
        match self.format.count {
            Count::Sets { .. } => (self.reach + 1) * (self.reach + 1),
            Count::Total => 2 * self.reach + 1,
        }
    }

    fn side(&self) -> usize {
        self.reach + 1
    }

    /// The state of these points of the match.
    pub(super) fn at(&self, mine: u32, theirs: u32) -> usize {
        match self.format.count {
            Count::Sets { .. } => {
                mine.min(self.reach as u32) as usize * self.side() + theirs.min(self.reach as u32) as usize
            }
            Count::Total => self.lead(i64::from(mine) - i64::from(theirs)),
        }
    }

    fn lead(&self, lead: i64) -> usize {
        let reach = self.reach as i64;
        (lead.clamp(-reach, reach) + reach) as usize
    }

    /// How far the match has come in that state when so many ends are over.
    pub(super) fn verdict(&self, state: usize, ends_done: u32) -> Verdict {
        let done = ends_done >= self.format.ends;
        match self.format.count {
            Count::Sets { .. } => {
                verdict(&self.format, done, (state / self.side()) as u32, (state % self.side()) as u32)
            }
            Count::Total => {
                let lead = state as i64 - self.reach as i64;
                verdict(&self.format, done, lead.max(0) as u32, (-lead).max(0) as u32)
            }
        }
    }

    /// What an end comes to in which the archers make these points.
    pub(super) fn outcome(&self, mine: &Points, theirs: &Points) -> Outcome {
        match self.format.count {
            Count::Sets { .. } => mine.against(theirs).to_vec(),
            Count::Total => {
                let most = mine.most().max(theirs.most());
                let mut out = vec![0.0; 2 * most + 1];
                for (a, p) in mine.get().iter().enumerate().filter(|(_, p)| **p > 1e-15) {
                    for (b, q) in theirs.get().iter().enumerate() {
                        out[most + a - b] += p * q;
                    }
                }
                out
            }
        }
    }

    /// The states of sets that follow `state`: won, level, lost.
    fn sets(&self, state: usize, win: u32, level: u32) -> [usize; 3] {
        let (win, level) = (win as usize, level as usize);
        let (m, t) = (state / self.side(), state % self.side());
        let to = |m: usize, t: usize| m.min(self.reach) * self.side() + t.min(self.reach);
        [to(m + win, t), to(m + level, t + level), to(m, t + win)]
    }

    /// The chance in `state` when `then` holds the chances after an end of that `outcome`.
    pub(super) fn expect(&self, state: usize, outcome: &[f64], then: &[f64]) -> f64 {
        match self.format.count {
            Count::Sets { win, level, .. } => {
                self.sets(state, win, level).iter().zip(outcome).map(|(s, p)| p * then[*s]).sum()
            }
            Count::Total => {
                let (most, lead) = ((outcome.len() as i64 - 1) / 2, state as i64 - self.reach as i64);
                outcome.iter().zip(lead - most..).map(|(p, lead)| p * then[self.lead(lead)]).sum()
            }
        }
    }

    /// The chances before an end of that `outcome`, number `end` from 0, from those after it.
    pub(super) fn back(&self, end: u32, outcome: &[f64], then: &[f64]) -> Vec<f64> {
        if let Count::Sets { .. } = self.format.count {
            let open = |s: usize| self.verdict(s, end) == Verdict::Open;
            return (0..self.len()).map(|s| if open(s) { self.expect(s, outcome, then) } else { then[s] }).collect();
        }
        // Leads beyond the reach are as those at it.
        let (outcome, most) = trimmed(outcome);
        let pad = |end: f64| std::iter::repeat_n(end, most);
        let wide: Vec<f64> = pad(then[0]).chain(then.iter().copied()).chain(pad(then[then.len() - 1])).collect();
        (0..self.len()).map(|s| outcome.iter().zip(&wide[s..]).map(|(p, v)| p * v).sum()).collect()
    }

    /// Where the match is after that end, from where it was before.
    pub(super) fn forth(&self, end: u32, outcome: &[f64], from: &[f64]) -> Vec<f64> {
        let mut out = vec![0.0; self.len()];
        if let Count::Sets { win, level, .. } = self.format.count {
            for (s, w) in from.iter().enumerate().filter(|(_, w)| **w > 0.0) {
                match self.verdict(s, end) {
                    Verdict::Open => self.sets(s, win, level).iter().zip(outcome).for_each(|(to, p)| out[*to] += w * p),
                    _ => out[s] += w,
                }
            }
            return out;
        }
        let (outcome, most) = trimmed(outcome);
        let mut wide = vec![0.0; self.len() + 2 * most];
        for (s, w) in from.iter().enumerate().filter(|(_, w)| **w > 1e-15) {
            wide[s..].iter_mut().zip(outcome).for_each(|(o, p)| *o += w * p);
        }
        let last = self.len() - 1;
        for (i, w) in wide.into_iter().enumerate() {
            out[i.saturating_sub(most).min(last)] += w;
        }
        out
    }

    /// The chances when all ends are over and one arrow each is won with the chance `shoot_off`.
    pub(super) fn last(&self, shoot_off: f64) -> Vec<f64> {
        (0..self.len())
            .map(|s| match self.verdict(s, self.format.ends) {
                Verdict::Won => 1.0,
                Verdict::Lost => 0.0,
                Verdict::ShootOff | Verdict::Open => shoot_off,
            })
            .collect()
    }
}

/// The leads of an end that can be told from none, and how far they reach to either side.
fn trimmed(outcome: &[f64]) -> (&[f64], usize) {
    let most = (outcome.len() - 1) / 2;
    let none = |i: &usize| outcome[*i].abs() < 1e-13 && outcome[2 * most - i].abs() < 1e-13;
    let cut = (0..most).take_while(none).count();
    (&outcome[cut..=2 * most - cut], most - cut)
}

/// Chance to win a match that stands as `standing`, when every arrow of either archer is drawn by itself from `mine` and `theirs`.
///
/// Exact up to the probabilities of the arrows (within 1e-9 for totals whose lead is cut far out).
#[must_use]
pub fn chance(rings: &Rings, format: &Format, standing: &Standing, mine: &Arrow, theirs: &Arrow) -> f64 {
    let now = standing.settled(format);
    let n = format.shots_per_end;
    let variance = f64::from(n * (format.ends - now.ends_done.min(format.ends)))
        * (mine.points.variance() + theirs.points.variance());
    let board = Board::new(format, &now, variance);
    let state = board.at(now.mine.points, now.theirs.points);
    let shoot_off = nearer(rings, mine, theirs);
    let mut values = board.last(shoot_off);
    match now.verdict(format) {
        Verdict::Won => return 1.0,
        Verdict::Lost => return 0.0,
        Verdict::ShootOff => return shoot_off,
        Verdict::Open => {}
    }
    let whole = board.outcome(&mine.points.times(n), &theirs.points.times(n));
    for end in (now.ends_done + 1..format.ends).rev() {
        values = board.back(end, &whole, &values);
    }
    let rest = |side: &super::Side, arrow: &Arrow| {
        Points::certain(side.end_points).and(&arrow.points.times(n.saturating_sub(side.end_shots)))
    };
    board.expect(state, &board.outcome(&rest(&now.mine, mine), &rest(&now.theirs, theirs)), &values)
}
