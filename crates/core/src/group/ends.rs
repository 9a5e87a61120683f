//! What the ends of earlier sessions tell of the offset that the shots of an end share ([`EndEffect`]).
//!
//! Within an end the shots scatter about its own centre, between ends the centres scatter by more than that allows. Each axis
//! for itself, an end of a session has the mean
//!
//! ```text
//! m_e = c_e + N(0, s^2 (R^2 + 1 / W_e))      c_e = c_(e-1) + N(0, drift^2)      c_1 anywhere
//! ```
//!
//! with `s` the spread within ends, `W_e` the weight of its shots and `R` the end effect. `R` has a log-normal prior about the
//! usual one and is integrated over a grid; the likelihood of a session is that of a Kalman filter (the innovations of a local
//! level model: Harvey 1989, "Forecasting, structural time series models and the Kalman filter", section 3.4).

use super::{ClassOdds, EndEffect, KAPPA};
use crate::plane::Point;

/// Standard deviation of the natural logarithm of an archer's end effect about the usual one: two archers in three lie within a
/// factor of two (our choice, no source).
const SCATTER: f64 = 0.7;
/// The grid: the smallest end effect, the factor from one to the next, and how many.
const GRID: (f64, f64, usize) = (0.04, 1.15, 30);
/// Rounds of weighing the shots of an end.
const ROUNDS: usize = 6;

/// What one session says: its ends as weighted means. Lengths in millimetres on the face.
#[derive(Debug, Clone, PartialEq)]
pub struct EndsSeen {
    spread_mm: f64,
    ends: Vec<(Point, f64)>,
}

impl EndsSeen {
    /// Of the `ends` of a session, each the places of its shots in one frame (mm). Shots far from the middle of their end count
    /// as the flyers they probably are. Nothing of fewer than two ends with two shots and more, or where all shots of every end lie
    /// in one place.
    #[must_use]
    pub fn of(ends: &[Vec<Point>]) -> Option<Self> {
        let ends: Vec<&Vec<Point>> = ends.iter().filter(|e| e.len() >= 2).collect();
        if ends.len() < 2 {
            return None;
        }
        let (spread_mm, ends) = weighed(&ends)?;
        Some(Self { spread_mm, ends })
    }

    /// How many ends it is from.
    #[must_use]
    pub fn ends(&self) -> usize {
        self.ends.len()
    }

    /// Log likelihood of an end effect `r` along an axis, with a drift of `drift_mm` between ends.
    fn log_likelihood(&self, along: fn(Point) -> f64, r: f64, drift_mm: f64) -> f64 {
        let s2 = self.spread_mm * self.spread_mm;
        let noise = |w: f64| s2 * (r * r + 1.0 / w);
        let (mean, weight) = self.ends[0];
        let (mut at, mut v) = (along(mean), noise(weight));
        let mut total = 0.0;
        for (mean, weight) in &self.ends[1..] {
            v += drift_mm * drift_mm;
            let s = v + noise(*weight);
            let d = along(*mean) - at;
            total -= 0.5 * (s.ln() + d * d / s);
            let k = v / s;
            at += k * d;
            v *= 1.0 - k;
        }
        total
    }
}

/// The spread within `groups` of shots, and the mean of each with its weight in clean shots: a shot far from the middle of its group counts
/// as the flyer it probably is. Nothing where all shots of every group lie in one place, or none has a second.
pub(crate) fn weighed(ends: &[&Vec<Point>]) -> Option<(f64, Vec<(Point, f64)>)> {
    let odds = ClassOdds::default().get();
    let mut weights: Vec<Vec<f64>> = ends.iter().map(|e| vec![1.0; e.len()]).collect();
    let mut spread2 = 0.0;
    let mut means: Vec<(Point, f64)> = Vec::new();
    for round in 0..=ROUNDS {
        let (mut squares, mut freedom) = (0.0, 0.0);
        means.clear();
        for (end, weights) in ends.iter().zip(&weights) {
            let total: f64 = weights.iter().sum();
            let mean = end.iter().zip(weights).fold(Point::default(), |a, (p, w)| a + *p * *w) * (1.0 / total);
            squares += end.iter().zip(weights).map(|(p, w)| w * (*p - mean).radius_mm().powi(2)).sum::<f64>();
            freedom += 2.0 * (end.len() as f64 - 1.0);
            means.push((mean, total));
        }
        spread2 = squares / freedom;
        if spread2 <= 0.0 || !spread2.is_finite() {
            return None;
        }
        if round == ROUNDS {
            break;
        }
        for ((end, weights), (mean, total)) in ends.iter().zip(&mut weights).zip(&means) {
            for (p, w) in end.iter().zip(weights.iter_mut()) {
                // The mean leans towards the shot itself, so it is farther from the others than from the mean.
                let share = (*w / total).min(0.9);
                let r2 = (*p - *mean).radius_mm().powi(2) / (1.0 - share) / spread2;
                let mut mass = [0.0; 3];
                for (m, (odds, kappa)) in mass.iter_mut().zip(odds.into_iter().zip(KAPPA)) {
                    *m = odds / kappa * (-0.5 * r2 / kappa).exp();
                }
                let all: f64 = mass.iter().sum();
                *w = if all > 0.0 {
                    mass.iter().zip(KAPPA).map(|(m, k)| m / k).sum::<f64>() / all
                } else {
                    1.0 / KAPPA[2]
                };
            }
        }
    }
    Some((spread2.sqrt(), means))
}

/// The end effect of an archer: what is usual, and what `sessions` say, each with its weight (1 counts in full) and its drift
/// between ends in millimetres. Without sessions it is the usual one.
#[must_use]
pub fn learn_ends(sessions: &[(&EndsSeen, f64, f64)], usual: EndEffect) -> EndEffect {
    if sessions.is_empty() {
        return usual;
    }
    let of = |along: fn(Point) -> f64, usual: f64| {
        let (least, factor, count) = GRID;
        let grid: Vec<(f64, f64)> = (0..count)
            .map(|i| {
                let r = least * factor.powi(i as i32);
                let prior = -0.5 * ((r / usual.max(least)).ln() / SCATTER).powi(2);
                let said: f64 = sessions.iter().map(|(s, w, drift)| w * s.log_likelihood(along, r, *drift)).sum();
                (r, prior + said)
            })
            .collect();
        let top = grid.iter().map(|g| g.1).fold(f64::NEG_INFINITY, f64::max);
        let (mut mass, mut squares) = (0.0, 0.0);
        for (r, log) in grid {
            let w = (log - top).exp();
            mass += w;
            squares += w * r * r;
        }
        (squares / mass).sqrt()
    };
    EndEffect { windage: of(|p| p.x_mm, usual.windage), elevation: of(|p| p.y_mm, usual.elevation) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::Random;

    const USUAL: EndEffect = EndEffect { windage: 0.5, elevation: 0.2 };

    /// A session of `count` ends of six with an end effect of `r` in windage; one shot in twelve is a flyer.
    fn session(random: &mut Random, count: usize, r: f64) -> EndsSeen {
        let (u, v) = random.normal_pair();
        let ends: Vec<Vec<Point>> = (0..count)
            .map(|_| {
                let wind = 100.0 * r * random.normal();
                (0..6)
                    .map(|_| {
                        let (x, y) = random.normal_pair();
                        let k = if random.uniform() < 1.0 / 12.0 { 300.0 } else { 100.0 };
                        Point::new(80.0 * u + wind + k * x, 80.0 * v + k * y)
                    })
                    .collect()
            })
            .collect();
        EndsSeen::of(&ends).unwrap()
    }

    #[test]
    fn what_ends_share_is_found_on_its_axis() {
        let mut random = Random::seeded(3);
        for r in [0.0, 0.3, 0.6, 1.0] {
            let mut error = 0.0;
            for _ in 0..20 {
                let seen: Vec<EndsSeen> = (0..10).map(|_| session(&mut random, 12, r)).collect();
                let told: Vec<_> = seen.iter().map(|s| (s, 1.0, 0.0)).collect();
                let learnt = learn_ends(&told, USUAL);
                // 120 ends of six leave 0.05 to 0.09 (measured); nothing shared is told as a fifth of the spread.
                assert!((learnt.windage - r).abs() < 0.35, "{r}: {learnt:?}");
                assert!(learnt.elevation < 0.4, "{r}: {learnt:?}");
                error += (learnt.windage - r) / 20.0;
            }
            assert!(error.abs() < if r < 0.2 { 0.25 } else { 0.08 }, "{r}: off by {error} on average");
        }
    }

    #[test]
    fn little_is_learnt_of_little_and_old_sessions_say_less() {
        let mut random = Random::seeded(4);
        let one = session(&mut random, 3, 1.2);
        assert_eq!(learn_ends(&[], USUAL), USUAL);
        let (full, old) = (learn_ends(&[(&one, 1.0, 0.0)], USUAL), learn_ends(&[(&one, 0.1, 0.0)], USUAL));
        assert!((old.windage - full.windage).abs() > 0.01 && old.windage < 0.75, "{old:?} {full:?}");
        // Drift explains a part of what lies between ends.
        let many = session(&mut random, 30, 0.6);
        let (still, drifting) = (learn_ends(&[(&many, 1.0, 0.0)], USUAL), learn_ends(&[(&many, 1.0, 40.0)], USUAL));
        assert!(drifting.windage < still.windage, "{drifting:?} {still:?}");
        assert!(EndsSeen::of(&[vec![Point::default(); 6], vec![Point::default(); 6]]).is_none());
        assert!(EndsSeen::of(&[vec![Point::default(), Point::new(1.0, 2.0)], vec![Point::default()]]).is_none());
    }
}
