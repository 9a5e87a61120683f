//! When to touch in a match: the chance to win of touching now, of waiting and of leaving the sight.
//!
//! As in the plan by points ([`crate::advice::plan`]) the centre is off by `m` with a variance `V` an axis, which falls to `v_k` when the
//! shots up to `k` are learnt from; a setting made then leaves the centre off by a round normal of `v_k` and what a touch adds. But a match
//! is not the sum of its arrows, and the arrows after one setting share its error. So the chance is the mean over that error,
//!
//! ```text
//! leave   E over c ~ N(m, V)            of W(all arrows from a sight off by c)
//! wait k  E over c ~ N(m, V)            of W(k arrows off by c, then the best of touching)
//! now     E over d ~ N(0, V + setting)  of W(arrows off by d until the next touch, ...)
//! ```
//!
//! with `W` exact over the states of the match ([`super::chance`]). The offset that the shots of an end share is summed over inside each
//! end. Later touches happen between ends, at the end that serves best as the match then stands. A touch costs what an arrow that makes
//! `touch_cost` points less costs now: nothing where nothing depends on it, much where all does.

use super::board::{Board, Outcome};
use super::curve::Curve;
use super::format::MOST_SHOTS;
use super::points::Points;
use super::{Arrow, Format, MatchError, Opponent, Part, Standing, Verdict, nearer};
use crate::advice::{Known, Outlook};
use crate::group::ClassOdds;
use crate::score::Rings;
use crate::stats::quadrature;

/// A match in progress.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Duel {
    /// How it is counted.
    pub format: Format,
    /// How it stands.
    pub standing: Standing,
    /// The other archer.
    pub opponent: Opponent,
}

/// The chance to win of what can be done.
#[derive(Debug, Clone, PartialEq)]
pub struct MatchPlan {
    /// When the sight is touched now and then as serves best, its cost taken off.
    pub now: f64,
    /// When it is touched after so many arrows of the archer, in this order: cost taken off.
    pub wait: Vec<(u32, f64)>,
    /// When it is never touched again.
    pub never: f64,
    /// What a point more in this end is worth, as a chance to win.
    pub point: f64,
    /// What a touch now costs, as a chance to win.
    pub cost: f64,
    /// The average arrow of the other archer that was reckoned with.
    pub opponent: f64,
}

impl MatchPlan {
    /// The best that can be done without touching now: after how many arrows (`None`: never) and the chance.
    #[must_use]
    pub fn best_later(&self) -> (Option<u32>, f64) {
        self.wait.iter().fold((None, self.never), |best, (k, p)| if *p > best.1 { (Some(*k), *p) } else { best })
    }

    fn add(&mut self, weight: f64, other: &Self) {
        for (a, b) in [
            (&mut self.now, other.now),
            (&mut self.never, other.never),
            (&mut self.point, other.point),
            (&mut self.cost, other.cost),
            (&mut self.opponent, other.opponent),
        ] {
            *a += weight * b;
        }
        for (i, (k, p)) in other.wait.iter().enumerate() {
            match self.wait.get_mut(i) {
                Some(own) => own.1 += weight * p,
                None => self.wait.push((*k, weight * p)),
            }
        }
    }
}

/// In matches of more ends than this a touch is followed by one within [`SOON`] ends or by none.
const LONG: usize = 8;
const SOON: usize = 3;

/// The archer's own arrows.
struct Own<'a> {
    rings: &'a Rings,
    odds: ClassOdds,
    spread: f64,
    end: f64,
    /// Nodes of the offset of an end, along the error of the sight and across, with their weights.
    nodes: Vec<([f64; 2], f64)>,
    /// What an arrow scores, by how far the sight is off.
    arrows: Curve,
    /// What a whole end of so many arrows scores.
    ends: Curve,
    shots_per_end: u32,
}

/// Nodes for a round normal of unit variance about a point on the first axis: across it, both sides are one.
fn plane_nodes(along: usize, across: usize) -> Vec<([f64; 2], f64)> {
    let (a, b) = (quadrature::normal(along), quadrature::normal(across));
    let mut out = Vec::new();
    for (x, p) in a.nodes.iter().zip(&a.weights) {
        for (y, q) in b.nodes.iter().zip(&b.weights).filter(|(y, _)| **y > -1e-9) {
            out.push(([*x, *y], p * q * if *y > 1e-9 { 2.0 } else { 1.0 }));
        }
    }
    out
}

impl<'a> Own<'a> {
    fn new(rings: &'a Rings, odds: ClassOdds, o: &Outlook<'_>, shots_per_end: u32) -> Self {
        let nodes = if o.end_variance > 0.0 { plane_nodes(3, 3) } else { vec![([0.0; 2], 1.0)] };
        let [arrows, ends] = [(); 2].map(|()| Curve::new(o.spread_variance.sqrt()));
        let (spread, end) = (o.spread_variance, o.end_variance.sqrt());
        Self { rings, odds, spread, end, nodes, arrows, ends, shots_per_end }
    }

    fn whole_end(&self, off_mm: f64) -> Points {
        Points::of_rings(self.ends.at(off_mm, |off| self.end(&[(off, self.shots_per_end)]).get().to_vec()))
    }

    fn points(&self, off_mm: f64) -> Points {
        Points::of_rings(self.arrows.at(off_mm, |off| self.exactly(off).get().to_vec()))
    }

    fn exactly(&self, off_mm: f64) -> Points {
        let each: Vec<(f64, Points)> = self
            .odds
            .rounded(off_mm)
            .map(|(p, off, k)| (p, Points::of_rings(self.rings.isotropic(off, (k * self.spread).sqrt()))))
            .collect();
        Points::mixed(each.iter().map(|(w, p)| (*w, p)))
    }

    /// The sum of the arrows of one end, so many from a sight off by each of `offs`; the end has one offset.
    fn end(&self, offs: &[(f64, u32)]) -> Points {
        let each: Vec<(f64, Points)> = self
            .nodes
            .iter()
            .map(|([x, y], w)| {
                let sums = offs
                    .iter()
                    .filter(|(_, n)| *n > 0)
                    .map(|(off, n)| self.points((off + x * self.end).hypot(y * self.end)).times(*n));
                (*w, sums.fold(Points::certain(0), |sum, p| sum.and(&p)))
            })
            .collect();
        Points::mixed(each.iter().map(|(w, p)| (*w, p)))
    }

    /// One arrow by itself, from a sight off by so much.
    fn arrow(&self, off_mm: f64) -> Arrow {
        // A single arrow may as well be blurred by its end.
        let part = |(share, off_mm, k)| Part { share, off_mm, variance_mm2: k * self.spread + self.end * self.end };
        let parts = self.odds.rounded(off_mm).map(part).collect();
        Arrow { parts, points: Points::certain(0) }
    }
}

/// The chance to win of touching now, of waiting, and of leaving the sight, as `o` knows centre and spread (its list of shots is not
/// looked at: the match says what is to come).
///
/// # Errors
/// [`MatchError`]: a standing that cannot be, an opponent who cannot be.
pub fn plan(rings: &Rings, o: &Outlook<'_>, odds: ClassOdds, duel: &Duel) -> Result<MatchPlan, MatchError> {
    let standing = duel.standing.checked(&duel.format, rings.face().highest_value())?.settled(&duel.format);
    let own = Own::new(rings, odds, o, duel.format.shots_per_end);
    let settled = Arrow::shot(rings, odds, 0.0, o.spread_variance + o.end_variance);
    let mut out = MatchPlan { now: 0.0, wait: Vec::new(), never: 0.0, point: 0.0, cost: 0.0, opponent: 0.0 };
    for (weight, arrow) in duel.opponent.arrows(rings, odds, &settled)? {
        let against = Against::new(&own, o, &duel.format, standing, arrow);
        out.add(weight, &against.plan());
    }
    Ok(out)
}

/// A match against one opponent.
struct Against<'a> {
    own: &'a Own<'a>,
    o: &'a Outlook<'a>,
    format: Format,
    now: Standing,
    board: Board,
    theirs: Arrow,
    /// What the other makes in a whole end, and in the rest of this one with what is shot.
    whole: Points,
    rest: Points,
    /// What a whole end comes to, by how far the sight is off.
    ends: Curve,
    /// Variance of the centre now and after each of the archer's arrows in this end, then after each end.
    in_end: Vec<f64>,
    after_end: Vec<f64>,
}

/// A setting made at some time: where it may leave the sight off, and what the ends then come to.
struct Setting {
    weight: f64,
    /// What each end from the first that is whole comes to.
    ends: Vec<Outcome>,
    /// Chance of the single arrow.
    shoot_off: f64,
}

impl<'a> Against<'a> {
    fn new(own: &'a Own<'a>, o: &'a Outlook<'a>, format: &Format, now: Standing, theirs: Arrow) -> Self {
        let n = format.shots_per_end;
        let whole = theirs.points.times(n);
        let rest =
            Points::certain(now.theirs.end_points).and(&theirs.points.times(n.saturating_sub(now.theirs.end_shots)));
        let left = f64::from(format.ends - now.ends_done.min(format.ends));
        let mine = own.whole_end(o.off_mm).variance().max(own.whole_end(0.0).variance());
        let board = Board::new(format, &now, left * (2.0 * mine + whole.variance()) + 1.0);
        let (mut in_end, mut after_end) = (Vec::new(), Vec::new());
        let mut known = Known::new(o);
        in_end.push(known.centre);
        for i in now.mine.end_shots.min(n)..n {
            known.shot(o, i + 1 == n);
            in_end.push(known.centre);
        }
        after_end.push(if now.mine.end_shots >= n { known.centre + o.drift_variance } else { known.centre });
        for _ in now.ends_done + 1..format.ends {
            (0..n).for_each(|i| known.shot(o, i + 1 == n));
            after_end.push(known.centre);
        }
        let ends = Curve::new(o.spread_variance.sqrt());
        Self { own, o, format: *format, now, board, theirs, whole, rest, ends, in_end, after_end }
    }

    /// Number of the end under way, from 0, and how many arrows of it the archer still has.
    fn left_in_end(&self) -> u32 {
        self.format.shots_per_end.saturating_sub(self.now.mine.end_shots.min(MOST_SHOTS))
    }

    /// First end that has not begun.
    fn next_end(&self) -> u32 {
        self.now.ends_done + 1
    }

    fn whole_end(&self, off_mm: f64) -> Outcome {
        self.ends.at(off_mm, |off| self.board.outcome(&self.own.whole_end(off), &self.whole))
    }

    /// This end, with so many arrows from a sight off by each of `offs`.
    fn this_end(&self, offs: &[(f64, u32)]) -> Points {
        Points::certain(self.now.mine.end_points).and(&self.own.end(offs))
    }

    fn shoot_off(&self, off_mm: f64) -> f64 {
        nearer(self.own.rings, &self.own.arrow(off_mm), &self.theirs)
    }

    /// Where a setting made when the centre is known to `variance` leaves the sight off at end `end`, `since` ends later, for a node.
    fn off(&self, node: f64, variance: f64, since: u32) -> f64 {
        node * (variance + self.o.setting_variance + self.o.drift_variance * f64::from(since)).sqrt()
    }

    /// A setting made before end `first` (or within the one before it) with what `variance` leaves.
    fn settings(&self, variance: f64, first: u32, since: u32) -> Vec<(f64, Setting)> {
        // The squared error over twice its variance is exponential.
        let rule = quadrature::gamma(4, 1.0);
        rule.nodes
            .iter()
            .zip(&rule.weights)
            .map(|(x, w)| {
                let node = (2.0 * x).sqrt();
                let off = |end: u32| self.off(node, variance, since + end - first);
                let ends = (first..self.format.ends).map(|end| self.whole_end(off(end))).collect();
                let shoot_off = self.shoot_off(off(self.format.ends.max(first)));
                (node, Setting { weight: *w, ends, shoot_off })
            })
            .collect()
    }

    fn plan(&self) -> MatchPlan {
        match self.now.verdict(&self.format) {
            Verdict::Open => {}
            Verdict::ShootOff => return self.one_arrow(),
            verdict => {
                let p = f64::from(u8::from(verdict == Verdict::Won));
                return self.told(p, Vec::new(), p, 0.0);
            }
        }
        let (format, first) = (&self.format, self.next_end());
        // Chances right after a touch before each end still to come, the single arrow last, its cost taken off.
        let later = self.later(first);
        let state = self.board.at(self.now.mine.points, self.now.theirs.points);
        let start: Vec<f64> = (0..self.board.len()).map(|s| f64::from(u8::from(s == state))).collect();
        let left = self.left_in_end();

        // From here: what this end comes to, then a setting that stays until it is touched anew or the match is over.
        let from = |this: &Outcome, settings: &[Setting]| -> Vec<f64> {
            let mut touched = vec![0.0; later.len() + 1];
            for s in settings {
                let mut at = self.board.forth(self.now.ends_done, this, &start);
                for (k, end) in (first..=format.ends).enumerate() {
                    touched[k] += s.weight * dot(&at, &later[k]);
                    if end < format.ends {
                        at = self.board.forth(end, &s.ends[k], &at);
                    }
                }
                touched[later.len()] += s.weight * dot(&at, &self.board.last(s.shoot_off));
            }
            touched
        };
        let best = |touched: &[f64]| touched.iter().copied().fold(0.0, f64::max);

        let standing = plane_nodes(5, 5);
        let sd = |since: u32| (self.o.centre_variance + self.o.drift_variance * f64::from(since)).sqrt();
        let off = |node: &[f64; 2], since: u32| (self.o.off_mm + node[0] * sd(since)).hypot(node[1] * sd(since));

        // Touching after `i` more arrows of this end.
        let within = |i: u32| -> (f64, Points) {
            let settings = self.settings(self.in_end[i as usize], first, 1);
            let mut total = vec![0.0; later.len() + 1];
            let mut sums: Vec<(f64, Points)> = Vec::new();
            for (node, s) in settings {
                let d = self.off(node, self.in_end[i as usize], 0);
                let sum = if i == 0 {
                    self.this_end(&[(d, left)])
                } else {
                    let each: Vec<(f64, Points)> = plane_nodes(3, 3)
                        .iter()
                        .map(|(c, w)| (*w, self.this_end(&[(off(c, 0), i), (d, left - i)])))
                        .collect();
                    Points::mixed(each.iter().map(|(w, p)| (*w, p)))
                };
                let this = self.board.outcome(&sum, &self.rest);
                let weight = s.weight;
                let touched = from(&this, std::slice::from_ref(&s));
                total.iter_mut().zip(touched).for_each(|(a, b)| *a += b);
                sums.push((weight, sum));
            }
            (best(&total), Points::mixed(sums.iter().map(|(w, p)| (*w, p))))
        };
        let (now, sum) = within(0);
        // A point less, with the match going on as after a touch.
        let at_next = &later[0];
        let worth = |sum: &Points| self.board.expect(state, &self.board.outcome(sum, &self.rest), at_next);
        let point = if left > 0 {
            worth(&sum) - worth(&sum.less_one())
        } else {
            let then = self.board.outcome(&sum, &self.rest);
            let price = self.price(first, self.after_end[0], later.get(1).unwrap_or(at_next));
            self.board.expect(state, &then, &price)
        };
        let cost = self.o.touch_cost * point.max(0.0);

        let mut wait = Vec::new();
        for i in 1..left {
            wait.push((i, within(i).0 - cost));
        }
        // Leaving it for the rest of this end and longer.
        let mut touched = vec![0.0; later.len() + 1];
        for (node, w) in &standing {
            let this = self.board.outcome(&self.this_end(&[(off(node, 0), left)]), &self.rest);
            let mut at = self.board.forth(self.now.ends_done, &this, &start);
            for (k, end) in (first..=format.ends).enumerate() {
                touched[k] += w * dot(&at, &later[k]);
                if end < format.ends {
                    at = self.board.forth(end, &self.whole_end(off(node, k as u32 + 1)), &at);
                }
            }
            let shoot_off = self.shoot_off(off(node, later.len() as u32));
            touched[later.len()] += w * dot(&at, &self.board.last(shoot_off));
        }
        for (k, p) in touched[..later.len()].iter().enumerate() {
            let arrows = left + k as u32 * format.shots_per_end;
            if arrows > 0 {
                wait.push((arrows, *p));
            }
        }
        MatchPlan { cost, ..self.told(now - cost, wait, touched[later.len()], point) }
    }

    fn told(&self, now: f64, wait: Vec<(u32, f64)>, never: f64, point: f64) -> MatchPlan {
        MatchPlan { now, wait, never, point, cost: 0.0, opponent: self.theirs.points.mean() }
    }

    /// Only the single arrow is left.
    fn one_arrow(&self) -> MatchPlan {
        let v = self.in_end[0];
        let rule = quadrature::gamma(4, 1.0);
        let nodes = rule.nodes.iter().zip(&rule.weights);
        let now = nodes.map(|(x, w)| w * self.shoot_off(self.off((2.0 * x).sqrt(), v, 0))).sum::<f64>();
        let sd = v.sqrt();
        let off = |c: &[f64; 2]| (self.o.off_mm + c[0] * sd).hypot(c[1] * sd);
        let never = plane_nodes(5, 5).iter().map(|(c, w)| w * self.shoot_off(off(c))).sum::<f64>();
        let point = self.last_point();
        let cost = self.o.touch_cost * point;
        MatchPlan { cost, ..self.told(now - cost, Vec::new(), never, point) }
    }

    /// What a point is worth in the single arrow: half of it where the zones are level.
    fn last_point(&self) -> f64 {
        let mine = self.own.points(0.0);
        let win = |p: &Points| {
            let [more, level, _] = p.against(&self.theirs.points);
            more + 0.5 * level
        };
        (win(&mine) - win(&mine.less_one())).max(0.0)
    }

    /// For each state what a point less in end `end` costs after a setting of that variance, going on with `then`.
    fn price(&self, end: u32, variance: f64, then: &[f64]) -> Vec<f64> {
        if end >= self.format.ends {
            let point = self.last_point();
            let open = |s: usize| self.board.verdict(s, end) == Verdict::ShootOff;
            return (0..self.board.len()).map(|s| if open(s) { point } else { 0.0 }).collect();
        }
        let mine = self.own.whole_end(self.off(1.0, variance, 0));
        let [full, less] = [&mine, &mine.less_one()].map(|p| self.board.outcome(p, &self.whole));
        let at = |s: usize| match self.board.verdict(s, end) {
            Verdict::Open => (self.board.expect(s, &full, then) - self.board.expect(s, &less, then)).max(0.0),
            _ => 0.0,
        };
        (0..self.board.len()).map(at).collect()
    }

    /// For each end from `first` and the single arrow: the chances of touching before it, its cost taken off, by state.
    fn later(&self, first: u32) -> Vec<Vec<f64>> {
        let ends = self.format.ends;
        let mut out: Vec<Vec<f64>> = Vec::new();
        for end in (first..=ends).rev() {
            let variance = self.after_end[(end - first) as usize];
            let mut best = vec![0.0_f64; self.board.len()];
            let settings = self.settings(variance, end, 0);
            // Kept until the match is over, or until the touch before a later end: `out` runs backwards from the single arrow.
            for k in 0..=out.len() {
                // In long matches only a touch soon after, or none: what comes after it plans for itself.
                if k > 0 && k + SOON < out.len() + 1 && out.len() > LONG {
                    continue;
                }
                let mut value = vec![0.0_f64; self.board.len()];
                for (_, s) in &settings {
                    let (upto, mut then) = match k.checked_sub(1) {
                        None => (ends, self.board.last(s.shoot_off)),
                        Some(k) => (ends - k as u32, out[k].clone()),
                    };
                    for e in (end..upto).rev() {
                        then = self.board.back(e, &s.ends[(e - end) as usize], &then);
                    }
                    value.iter_mut().zip(&then).for_each(|(a, b)| *a += s.weight * b);
                }
                best.iter_mut().zip(&value).for_each(|(a, b)| *a = a.max(*b));
            }
            let after = out.last().cloned().unwrap_or_else(|| best.clone());
            let price = self.price(end, variance, &after);
            best.iter_mut().zip(price).for_each(|(a, p)| *a -= self.o.touch_cost * p);
            out.push(best);
        }
        out.reverse();
        out
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
