//! The model of a group, written down a second time from design.md: its tables, and archers drawn from its prior.

use goldward_core::group::{ClassOdds, EXACT_SHOTS, KAPPA, Pattern, Prior};
use goldward_core::plane::{Point, Sym2};
use goldward_core::random::Random;
use goldward_core::shot::{Felt, Shot};

/// Prior odds of the patterns.
pub const ODDS: [f64; 4] = [0.86, 0.08, 0.03, 0.03];
/// Fewest shots that can show each pattern.
pub const ALLOWED_FROM: [usize; 4] = [1, 4, 6, 6];
/// Prior precision of the second coefficient; that of `steady`, which has none, is never used.
pub const SECOND_PRECISION: [f64; 4] = [1.0, 1.0 / 25.0, 1.0 / 9.0, 1.0 / 25.0];

/// How many of `n` shots may be flyer or stray: one only where a string is short enough for every hypothesis to be visited.
#[must_use]
pub fn cap(pattern: Pattern, n: usize) -> usize {
    if pattern == Pattern::Steady || n > EXACT_SHOTS { n } else { 1 }
}

/// Prior probabilities of the patterns with `n` shots.
#[must_use]
pub fn pattern_prior(n: usize) -> [f64; 4] {
    let odds = [0, 1, 2, 3].map(|k| if n >= ALLOWED_FROM[k] { ODDS[k] } else { 0.0 });
    let total: f64 = odds.iter().sum();
    odds.map(|o| o / total)
}

/// Class probabilities of a shot felt as `felt`.
#[must_use]
pub fn class_odds(felt: Felt, pattern: Pattern, unmarked: ClassOdds) -> [f64; 3] {
    match felt {
        Felt::Bad if pattern != Pattern::Split => [0.30, 0.60, 0.10],
        Felt::Good => [0.985, 0.010, 0.005],
        Felt::Bad | Felt::Unmarked => unmarked.get(),
    }
}

/// Evenly spaced from -1/2 to 1/2 in shot order.
#[must_use]
pub fn drift_row(i: usize, n: usize) -> f64 {
    i as f64 / (n - 1) as f64 - 0.5
}

/// Second entries of the row of the next shot, with probabilities; `first` and `second` count the shots of the groups of
/// `split` (+1/2 and -1/2) that were not marked bad.
#[must_use]
pub fn next_rows(pattern: Pattern, n: usize, first: usize, second: usize) -> Vec<(f64, f64)> {
    match pattern {
        Pattern::Steady => vec![(1.0, 0.0)],
        Pattern::Split => {
            let p = (first + 1) as f64 / (first + second + 2) as f64;
            vec![(p, 0.5), (1.0 - p, -0.5)]
        }
        Pattern::Drifting => vec![(1.0, 0.5 + 1.0 / (n - 1) as f64)],
        Pattern::Jumped => vec![(1.0, 0.5)],
    }
}

/// A normal deviate of covariance `cov` about the origin.
pub fn normal(cov: Sym2, random: &mut Random) -> Point {
    let (l11, l21, l22) = cov.cholesky();
    let (a, b) = random.normal_pair();
    Point::new(l11 * a, l21 * a + l22 * b)
}

/// `Sigma ~ inverse-Wishart(nu, psi)` by definition: the inverse of a sum of `nu` outer products of normal deviates with
/// covariance `psi^-1`.
pub fn inverse_wishart(nu: usize, psi: Sym2, random: &mut Random) -> Sym2 {
    let inverse = |m: Sym2| {
        let det = m.det();
        Sym2::new(m.yy / det, -m.xy / det, m.xx / det)
    };
    let precision = inverse(psi);
    inverse((0..nu).fold(Sym2::default(), |sum, _| sum + Sym2::outer(normal(precision, random))))
}

/// An archer drawn from the prior, and the shots.
#[derive(Debug, Clone)]
pub struct Drawn {
    /// The shots.
    pub shots: Vec<Shot>,
    /// Where each landed.
    pub places: Vec<Point>,
    /// Their classes.
    pub classes: Vec<usize>,
    /// The pattern.
    pub pattern: Pattern,
    /// The centre of the next shot's process.
    pub centre: Point,
    /// The covariance of a clean shot.
    pub spread: Sym2,
}

/// Draws the truth and the shots from the model, for shots felt as `felt`.
///
/// Hypotheses with too many shots astray are absent and not renormalised within their pattern, so a draw with too many is
/// drawn again from the pattern on.
///
/// # Panics
/// When the worth is no whole number (degrees of freedom are counted here).
pub fn draw(prior: &Prior, unmarked: ClassOdds, felt: &[Felt], random: &mut Random) -> Drawn {
    let n = felt.len();
    assert!(prior.worth().fract().abs() < 1e-12, "the worth must be whole");
    let nu0 = prior.worth() as usize + 3;
    let (pattern, rows, classes) = loop {
        let pattern = Pattern::ALL[random.choose(&pattern_prior(n))];
        let rows: Vec<f64> = match pattern {
            Pattern::Steady => vec![0.0; n],
            Pattern::Drifting => (0..n).map(|i| drift_row(i, n)).collect(),
            Pattern::Jumped => {
                let c = 3 + random.choose(&vec![1.0 / (n - 5) as f64; n - 5]);
                (0..n).map(|i| if i < c { -0.5 } else { 0.5 }).collect()
            }
            Pattern::Split => loop {
                let theta = random.uniform();
                let rows: Vec<f64> = (0..n).map(|_| if random.uniform() < theta { 0.5 } else { -0.5 }).collect();
                let first = rows.iter().filter(|u| **u > 0.0).count();
                if first >= 2 && n - first >= 2 {
                    break rows;
                }
            },
        };
        let classes: Vec<usize> = felt.iter().map(|f| random.choose(&class_odds(*f, pattern, unmarked))).collect();
        if classes.iter().filter(|k| **k > 0).count() <= cap(pattern, n) {
            break (pattern, rows, classes);
        }
    };
    let spread = inverse_wishart(nu0, Sym2::isotropic(prior.spread_mm().powi(2) * (nu0 - 3) as f64), random);
    let b0 = normal(spread * (1.0 / prior.trust()), random);
    let b1 = normal(spread * (1.0 / SECOND_PRECISION[pattern as usize]), random);
    let places: Vec<Point> =
        rows.iter().zip(&classes).map(|(u, k)| b0 + b1 * *u + normal(spread * KAPPA[*k], random)).collect();
    let counted = |sign: f64| rows.iter().zip(felt).filter(|(u, f)| **u * sign > 0.0 && **f != Felt::Bad).count();
    let next = next_rows(pattern, n, counted(1.0), counted(-1.0));
    let u = next[random.choose(&next.iter().map(|r| r.0).collect::<Vec<_>>())].1;
    let shots = places.iter().zip(felt).map(|(p, f)| Shot::at(p.x_mm, p.y_mm).felt(*f)).collect();
    Drawn { shots, places, classes, pattern, centre: b0 + b1 * u, spread }
}

/// Marks for `n` shots: one in eight bad, one in eight good.
pub fn marks(n: usize, random: &mut Random) -> Vec<Felt> {
    (0..n).map(|_| [Felt::Unmarked, Felt::Bad, Felt::Good][random.choose(&[0.75, 0.125, 0.125])]).collect()
}
