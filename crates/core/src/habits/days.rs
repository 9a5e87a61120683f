//! How far the spread of one day is from what the days before it told.
//!
//! A group's prior doubts the spread that it is told twice: it is worth so many arrows, and its scale may be off by octaves
//! ([`Doubt`]). Both numbers suit archers in general. How well the spreads of earlier sessions were foretold by those before them says how
//! far this archer's days lie apart. With `m` what was told before a session, and `s` the spread that it showed with `d` degrees of freedom,
//!
//! ```text
//! s^2 ~ sigma^2 chi2(d) / d        sigma^2 ~ inverse-gamma(w + 1, 4^k m^2 w)       k with the weights of the doubt, f times as wide
//! ```
//!
//! where `w` is what was told to be worth, at most what days are worth, so that the marginal is closed (a scaled beta prime). `w` and `f` lie
//! on a grid about the usual values.

use statrs::function::gamma::ln_gamma;

use crate::group::Doubt;

/// What history may be worth at most, in arrows, where no habit is known; the usual value of `w`.
const USUAL_WORTH: f64 = 60.0;
/// The grid of what days are worth.
const WORTHS: [f64; 8] = [4.0, 6.0, 9.0, 14.0, 20.0, 30.0, 42.0, USUAL_WORTH];
/// The grid of the doubt, as a share of the usual.
const SHARES: [f64; 9] = [0.1, 0.14, 0.2, 0.28, 0.4, 0.55, 0.75, 1.0, 1.3];
/// Standard deviation of the logarithms of both about the usual ones (our choice, no source).
const SCATTER: f64 = 1.0;
/// Octaves by which a spread may be off what was told.
const OCTAVES: [i32; 7] = [-4, -3, -2, -1, 0, 1, 2];

/// What one session says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DaySeen {
    /// The spread that it showed, over what was told before it.
    pub ratio: f64,
    /// Its degrees of freedom.
    pub dof: f64,
    /// What was told before was worth so many arrows.
    pub worth: f64,
}

/// How far an archer's days lie apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Days {
    /// Sessions it is from.
    pub sessions: usize,
    /// What earlier days say of the next is worth at most so many arrows.
    pub worth: f64,
    /// How far the spread that is told is to be doubted.
    pub doubt: Doubt,
    /// The spread of four days in five lies between these, over what was told.
    pub range: [f64; 2],
}

impl Days {
    /// What is assumed of an archer without history.
    #[must_use]
    pub fn usual() -> Self {
        Self::of(0, USUAL_WORTH, 1.0)
    }

    fn of(sessions: usize, worth: f64, share: f64) -> Self {
        let usual = Doubt::default();
        let doubt = Doubt {
            tighter_octaves: share * usual.tighter_octaves,
            wider_octaves: share * usual.wider_octaves,
            ..usual
        };
        Self { sessions, worth, doubt, range: [0.1, 0.9].map(|p| quantile(p, worth, share)) }
    }
}

/// Weights of the octaves: a Student t of three degrees of freedom on each side, as [`crate::group::Prior`] has it.
fn octaves(share: f64) -> [f64; OCTAVES.len()] {
    let usual = Doubt::default();
    let w = OCTAVES.map(|k| {
        let width = share * if k < 0 { usual.tighter_octaves } else { usual.wider_octaves };
        if k == 0 { 1.0 } else { (1.0 + (f64::from(k) / width).powi(2) / 3.0).powi(-2) }
    });
    let total: f64 = w.iter().sum();
    w.map(|w| w / total)
}

/// Log density of the session's squared spread, but for a constant.
fn log_density(day: &DaySeen, worth: f64, octaves: &[f64; OCTAVES.len()]) -> f64 {
    let (w, half) = (worth.min(day.worth), 0.5 * day.dof);
    let a = w + 1.0;
    let shape = ln_gamma(a + half) - ln_gamma(a);
    let each = OCTAVES.map(|k| {
        let b = w * 4_f64.powi(k);
        shape + a * b.ln() - (a + half) * (b + half * day.ratio * day.ratio).ln()
    });
    let top = each.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    top + each.iter().zip(octaves).map(|(l, p)| p * (l - top).exp()).sum::<f64>().ln()
}

/// The share `p` of days has a spread below this, over what was told.
fn quantile(p: f64, worth: f64, share: f64) -> f64 {
    const STEPS: usize = 400;
    let (octaves, a) = (octaves(share), worth + 1.0);
    // The density of the logarithm of the spread, from a sixteenth to eight times what was told.
    let at = |i: usize| (2.0_f64).powf(-4.0 + 7.0 * i as f64 / (STEPS - 1) as f64);
    let mass: Vec<f64> = (0..STEPS)
        .map(|i| {
            let x2 = at(i).powi(2);
            let of = |k: i32| {
                let b = worth * 4_f64.powi(k);
                (a * (b / x2).ln() - b / x2 - a * worth.ln() + worth).exp()
            };
            OCTAVES.iter().zip(octaves).map(|(k, w)| w * of(*k)).sum()
        })
        .collect();
    let mut left = p * mass.iter().sum::<f64>();
    let found = mass.iter().position(|m| {
        left -= m;
        left <= 0.0
    });
    at(found.unwrap_or(STEPS - 1))
}

/// How far the days of an archer lie apart, from earlier sessions, each with its weight (1 counts in full). Without them it is what is usual.
#[must_use]
pub fn learn_days(sessions: &[(DaySeen, f64)]) -> Days {
    let usable = |d: &DaySeen| d.ratio > 0.0 && d.ratio.is_finite() && d.dof > 0.0 && d.worth > 0.0;
    let sessions: Vec<_> = sessions.iter().filter(|(d, _)| usable(d)).collect();
    if sessions.is_empty() {
        return Days::usual();
    }
    let mut grid = Vec::with_capacity(WORTHS.len() * SHARES.len());
    for share in SHARES {
        let octaves = octaves(share);
        for worth in WORTHS {
            let far = share.ln().powi(2) + (worth / USUAL_WORTH).ln().powi(2);
            let said: f64 = sessions.iter().map(|(d, weight)| weight * log_density(d, worth, &octaves)).sum();
            grid.push((worth, share, said - 0.5 * far / (SCATTER * SCATTER)));
        }
    }
    let top = grid.iter().map(|g| g.2).fold(f64::NEG_INFINITY, f64::max);
    let (mut mass, mut worth, mut share) = (0.0, 0.0, 0.0);
    for (w, f, log) in grid {
        let p = (log - top).exp();
        mass += p;
        worth += p * w.ln();
        share += p * f.ln();
    }
    Days::of(sessions.len(), (worth / mass).exp(), (share / mass).exp())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::Random;

    fn days(random: &mut Random, count: usize, scatter: f64) -> Vec<(DaySeen, f64)> {
        let day = |_| {
            let (sigma, dof) = ((scatter * random.normal()).exp(), 70.0);
            let ratio = sigma * (random.gamma(0.5 * dof) / (0.5 * dof)).sqrt();
            (DaySeen { ratio, dof, worth: 120.0 }, 1.0)
        };
        (0..count).map(day).collect()
    }

    /// Days that scatter by a log-normal, which is not how the prior has it.
    #[test]
    fn four_days_in_five_lie_in_the_range() {
        let mut random = Random::seeded(8);
        let width = |scatter: f64, random: &mut Random| {
            let (mut inside, mut width) = (0.0, 0.0);
            for _ in 0..40 {
                let found = learn_days(&days(random, 12, scatter));
                let [low, high] = found.range;
                width += (high / low).ln() / 40.0;
                for _ in 0..50 {
                    let sigma = (scatter * random.normal()).exp();
                    inside += f64::from(u8::from((low..=high).contains(&sigma))) / 2000.0;
                }
            }
            (inside, width)
        };
        let (steady, wandering) = (width(0.05, &mut random), width(0.5, &mut random));
        // Little scatter is told with some caution, much of it about right: four in five would be 0.128 and 1.28 wide.
        assert!(steady.0 > 0.8 && steady.1 < 0.6, "{steady:?}");
        assert!((0.65..0.95).contains(&wandering.0) && wandering.1 > 0.9, "{wandering:?}");
        let [low, high] = Days::usual().range;
        assert!((high / low).ln() > 2.0 * steady.1, "{low} {high}");
    }

    #[test]
    fn little_says_little_and_nothing_says_nothing() {
        assert_eq!(learn_days(&[]), Days::usual());
        let odd = DaySeen { ratio: f64::NAN, dof: 70.0, worth: 60.0 };
        assert_eq!(learn_days(&[(odd, 1.0)]), Days::usual());
        let day = |weight| learn_days(&[(DaySeen { ratio: 1.0, dof: 70.0, worth: 60.0 }, weight)]).doubt;
        let (old, new) = (day(0.1), day(1.0));
        let usual = Doubt::default().tighter_octaves;
        assert!(new.tighter_octaves < old.tighter_octaves && old.tighter_octaves < usual, "{old:?} {new:?}");
        assert!(new.tighter_octaves > 0.3 * usual, "one day is no habit: {new:?}");
    }
}
