//! The posterior of a group by visiting every hypothesis, each by the chain of one-step densities.

use goldward_core::group::{ClassOdds, Pattern, Prior};
use goldward_core::plane::{Point, Sym2};
use goldward_core::shot::Felt;

use crate::chain::Chain;
use crate::model::{SECOND_PRECISION, cap, class_odds, drift_row, next_rows, pattern_prior};

/// A group as the other methods of this crate take it.
#[derive(Debug, Clone)]
pub struct Data {
    /// Where the shots landed.
    pub places: Vec<Point>,
    /// How they felt.
    pub felt: Vec<Felt>,
    /// The prior.
    pub prior: Prior,
    /// Class probabilities of an unmarked shot.
    pub unmarked: ClassOdds,
}

/// Weighted sums over hypotheses, with weights relative to a moving largest one.
#[derive(Debug, Clone)]
pub struct Totals {
    /// Log of the largest weight seen.
    pub top: f64,
    /// Sum of weights.
    pub weight: f64,
    /// Sum of weighted centres.
    pub centre: Point,
    /// Sum of weighted second moments of the centre.
    pub centre2: Sym2,
    /// Sum of weighted spreads.
    pub spread: Sym2,
    /// Sum of weights by shot and class.
    pub classes: Vec<[f64; 3]>,
}

impl Totals {
    /// Nothing yet, for `n` shots.
    #[must_use]
    pub fn new(n: usize) -> Self {
        Self {
            top: f64::NEG_INFINITY,
            weight: 0.0,
            centre: Point::default(),
            centre2: Sym2::default(),
            spread: Sym2::default(),
            classes: vec![[0.0; 3]; n],
        }
    }

    fn scale(&mut self, k: f64) {
        self.weight *= k;
        self.centre = self.centre * k;
        self.centre2 = self.centre2 * k;
        self.spread = self.spread * k;
        self.classes.iter_mut().flatten().for_each(|x| *x *= k);
    }

    /// Adds a hypothesis: its log weight, its chain, the rows of the next shot and the classes of the shots.
    pub fn add(&mut self, log_weight: f64, chain: &Chain, next: &[(f64, f64)], classes: &[u8]) {
        if log_weight > self.top {
            self.scale((self.top - log_weight).exp());
            self.top = log_weight;
        }
        let w = (log_weight - self.top).exp();
        let spread = chain.psi * (1.0 / (chain.nu - 3.0));
        self.weight += w;
        self.spread = self.spread + spread * w;
        for (p, u) in next {
            let mean = chain.mean(*u);
            self.centre = self.centre + mean * (w * p);
            self.centre2 = self.centre2 + (Sym2::outer(mean) + spread * chain.lever(*u)) * (w * p);
        }
        for (sum, k) in self.classes.iter_mut().zip(classes) {
            sum[*k as usize] += w;
        }
    }

    /// Adds all of `other`, its weights times `exp(log_factor)`.
    pub fn merge(&mut self, other: &Self, log_factor: f64) {
        let mut other = other.clone();
        other.top += log_factor;
        if other.top > self.top {
            std::mem::swap(self, &mut other);
        }
        if other.weight > 0.0 {
            other.scale((other.top - self.top).exp());
        }
        self.weight += other.weight;
        self.centre = self.centre + other.centre;
        self.centre2 = self.centre2 + other.centre2;
        self.spread = self.spread + other.spread;
        for (a, b) in self.classes.iter_mut().flatten().zip(other.classes.iter().flatten()) {
            *a += b;
        }
    }

    /// Log of the sum of weights.
    #[must_use]
    pub fn log_weight(&self) -> f64 {
        self.top + self.weight.ln()
    }

    /// What the sums say.
    #[must_use]
    pub fn answer(&self) -> Answer {
        let k = 1.0 / self.weight;
        let centre = self.centre * k;
        Answer {
            centre,
            centre_cov: self.centre2 * k - Sym2::outer(centre),
            spread: self.spread * k,
            p_class: self.classes.iter().map(|p| p.map(|x| x * k)).collect(),
        }
    }
}

/// Posterior moments and class probabilities.
#[derive(Debug, Clone)]
pub struct Answer {
    /// Mean of the centre.
    pub centre: Point,
    /// Its covariance.
    pub centre_cov: Sym2,
    /// Mean of the spread.
    pub spread: Sym2,
    /// Class probabilities of the shots.
    pub p_class: Vec<[f64; 3]>,
}

/// Of the hypotheses of two coefficients those with more flyers and strays than this are left out: in thirteen shots of an archer
/// with ten flyers in a hundred there are more nine times in ten thousand.
const MOST_ASTRAY: usize = 5;

struct Walk<'a> {
    data: &'a Data,
    rows: Vec<f64>,
    log_odds: Vec<[f64; 3]>,
    cap: usize,
    next: Vec<(f64, f64)>,
    log_prior: f64,
    classes: Vec<u8>,
}

impl Walk<'_> {
    fn descend(&mut self, i: usize, chain: &Chain, log_prior: f64, astray: usize, totals: &mut Totals) {
        if i == self.rows.len() {
            totals.add(log_prior + chain.log_evidence, chain, &self.next, &self.classes);
            return;
        }
        for (k, shape) in self.data.unmarked.shapes().into_iter().enumerate() {
            // One factor for both axes is what the chain can tell.
            debug_assert!((shape.factors[0] - shape.factors[1]).abs() < 1e-12);
            let astray = astray + usize::from(k > 0);
            if astray <= self.cap {
                self.classes[i] = k as u8;
                let chain = chain.with(self.data.places[i] - shape.mean_mm, self.rows[i], shape.factors[0]);
                self.descend(i + 1, &chain, log_prior + self.log_odds[i][k], astray, totals);
            }
        }
    }
}

/// Every hypothesis of one pattern; the weight is its evidence, the prior odds of the pattern left out.
#[must_use]
pub fn pattern(data: &Data, pattern: Pattern) -> Totals {
    let n = data.places.len();
    let mut totals = Totals::new(n);
    let start = Chain::of_prior(&data.prior, SECOND_PRECISION[pattern as usize]);
    let mut walk = Walk {
        data,
        rows: vec![0.0; n],
        log_odds: data.felt.iter().map(|f| class_odds(*f, pattern, data.unmarked).map(f64::ln)).collect(),
        cap: cap(pattern, n).min(if pattern == Pattern::Steady { n } else { MOST_ASTRAY }),
        next: next_rows(pattern, n, 0, 0),
        log_prior: 0.0,
        classes: vec![0; n],
    };
    let go = |walk: &mut Walk<'_>, totals: &mut Totals| walk.descend(0, &start, walk.log_prior, 0, totals);
    match pattern {
        Pattern::Steady => go(&mut walk, &mut totals),
        Pattern::Drifting => {
            walk.rows = (0..n).map(|i| drift_row(i, n)).collect();
            go(&mut walk, &mut totals);
        }
        Pattern::Jumped => {
            walk.log_prior = -((n - 5) as f64).ln();
            for c in 3..n - 2 {
                walk.rows = (0..n).map(|i| if i < c { -0.5 } else { 0.5 }).collect();
                go(&mut walk, &mut totals);
            }
        }
        Pattern::Split => {
            // Labels with the first shot in the first group stand for the unordered partitions.
            for others in 1..1_usize << (n - 1) {
                let second = |i: usize| i > 0 && others >> (i - 1) & 1 == 1;
                walk.rows = (0..n).map(|i| if second(i) { -0.5 } else { 0.5 }).collect();
                let m = (0..n).filter(|i| second(*i)).count();
                if m < 2 || n - m < 2 {
                    continue;
                }
                // 1 / ((n + 1) C(n, m)) a labelling, two labellings a partition, over the (n - 3) / (n + 1) whose groups have two shots and more.
                let choose = (0..m).map(|j| (n - j) as f64 / (j + 1) as f64).product::<f64>();
                walk.log_prior = (2.0 / ((n - 3) as f64 * choose)).ln();
                let good = |wanted: bool| (0..n).filter(|i| second(*i) == wanted && data.felt[*i] != Felt::Bad).count();
                walk.next = next_rows(pattern, n, good(false), good(true));
                go(&mut walk, &mut totals);
            }
        }
    }
    totals
}

/// Every hypothesis there is: the log evidence of each pattern, their probabilities, and the answer over all.
#[must_use]
pub fn all(data: &Data) -> ([f64; 4], [f64; 4], Answer) {
    mix(data.places.len(), |p| pattern(data, p))
}

/// Puts the patterns together, each found by `search`.
pub fn mix(n: usize, mut search: impl FnMut(Pattern) -> Totals) -> ([f64; 4], [f64; 4], Answer) {
    let prior = pattern_prior(n);
    let mut totals = Totals::new(n);
    let mut log_evidence = [f64::NEG_INFINITY; 4];
    for p in Pattern::ALL.into_iter().filter(|p| prior[*p as usize] > 0.0) {
        let own = search(p);
        log_evidence[p as usize] = own.log_weight();
        totals.merge(&own, prior[p as usize].ln());
    }
    let total = totals.log_weight();
    let probability =
        [0, 1, 2, 3].map(|k| if prior[k] > 0.0 { (log_evidence[k] + prior[k].ln() - total).exp() } else { 0.0 });
    (log_evidence, probability, totals.answer())
}
