//! The posterior of long strings by sampling: a Rao-Blackwellised particle filter over classes and labels.
//!
//! A particle is a hypothesis on the shots so far, with its exact posterior of centre and spread carried by the chain. At each shot
//! it chooses among its continuations in proportion to their weight, its own weight is multiplied by their sum, and the
//! particles are resampled when they have become uneven (Chen & Liu 2000, "Mixture Kalman filters", J. R. Statist. Soc. B 62).
//! The evidence is unbiased for any number of particles; nothing is pruned for good and nothing is merged. Errors come from
//! independent repetitions.

use goldward_core::group::{KAPPA, Pattern};
use goldward_core::random::Random;
use goldward_core::shot::Felt;

use crate::chain::Chain;
use crate::enumerate::{Data, Totals};
use crate::model::{SECOND_PRECISION, cap, class_odds, drift_row, next_rows};

#[derive(Debug, Clone)]
struct Particle {
    chain: Chain,
    classes: Vec<u8>,
    astray: usize,
    /// Shots in the second group, and those not marked bad in both.
    second: usize,
    good: [usize; 2],
    log_weight: f64,
}

struct Filter<'a> {
    data: &'a Data,
    pattern: Pattern,
    particles: usize,
    /// The second entry of each row, where it is known.
    rows: Vec<f64>,
}

impl Filter<'_> {
    fn run(&self, random: &mut Random) -> Totals {
        let n = self.data.places.len();
        let start = Particle {
            chain: Chain::of_prior(&self.data.prior, SECOND_PRECISION[self.pattern as usize]),
            classes: Vec::with_capacity(n),
            astray: 0,
            second: 0,
            good: [0; 2],
            log_weight: -(self.particles as f64).ln(),
        };
        let mut cloud = vec![start; self.particles];
        for i in 0..n {
            for particle in &mut cloud {
                self.step(i, particle, random);
            }
            cloud.retain(|p| p.log_weight > f64::NEG_INFINITY);
            if i + 1 < n {
                self.resample(&mut cloud, random);
            }
        }
        let mut totals = Totals::new(n);
        for p in &cloud {
            let born = self.pattern != Pattern::Split || (p.second >= 2 && n - p.second >= 2);
            if born {
                let next = next_rows(self.pattern, n, p.good[0], p.good[1]);
                totals.add(p.log_weight, &p.chain, &next, &p.classes);
            }
        }
        totals
    }

    fn step(&self, i: usize, particle: &mut Particle, random: &mut Random) {
        let n = self.data.places.len();
        let odds = class_odds(self.data.felt[i], self.pattern, self.data.unmarked);
        let labels: &[(bool, f64)] = if self.pattern != Pattern::Split || i == 0 {
            &[(false, 1.0)]
        } else {
            let p = (particle.second + 1) as f64 / (i + 2) as f64;
            &[(false, 1.0 - p), (true, p)]
        };
        let mut choices = Vec::with_capacity(6);
        for (other, p) in labels {
            for (k, kappa) in KAPPA.into_iter().enumerate() {
                if particle.astray + usize::from(k > 0) > cap(self.pattern, n) {
                    continue;
                }
                let u = if self.pattern == Pattern::Split { if *other { -0.5 } else { 0.5 } } else { self.rows[i] };
                let chain = particle.chain.with(self.data.places[i], u, kappa);
                choices.push((chain, *other, k, (p * odds[k]).ln() + chain.log_evidence - particle.chain.log_evidence));
            }
        }
        let top = choices.iter().map(|c| c.3).fold(f64::NEG_INFINITY, f64::max);
        let weights: Vec<f64> = choices.iter().map(|c| (c.3 - top).exp()).collect();
        let total: f64 = weights.iter().sum();
        let shares: Vec<f64> = weights.iter().map(|w| w / total).collect();
        let (chain, other, k, _) = choices[random.choose(&shares)];
        particle.chain = chain;
        particle.classes.push(k as u8);
        particle.astray += usize::from(k > 0);
        particle.second += usize::from(other);
        particle.good[usize::from(other)] += usize::from(self.data.felt[i] != Felt::Bad);
        particle.log_weight += top + total.ln();
    }

    /// Systematic resampling, when fewer than half of the particles are worth anything.
    fn resample(&self, cloud: &mut Vec<Particle>, random: &mut Random) {
        let top = cloud.iter().map(|p| p.log_weight).fold(f64::NEG_INFINITY, f64::max);
        let weights: Vec<f64> = cloud.iter().map(|p| (p.log_weight - top).exp()).collect();
        let total: f64 = weights.iter().sum();
        let squares: f64 = weights.iter().map(|w| w * w).sum();
        if total * total / squares > 0.5 * self.particles as f64 {
            return;
        }
        let each = top + (total / self.particles as f64).ln();
        let start = random.uniform();
        let mut out = Vec::with_capacity(self.particles);
        let mut sum = 0.0;
        for (p, w) in cloud.iter().zip(&weights) {
            sum += w / total * self.particles as f64;
            while (out.len() as f64 + start) < sum && out.len() < self.particles {
                out.push(Particle { log_weight: each, ..p.clone() });
            }
        }
        *cloud = out;
    }
}

/// One run over one pattern; the weight is an unbiased estimate of its evidence, the prior odds of the pattern left out.
#[must_use]
pub fn pattern(data: &Data, pattern: Pattern, particles: usize, random: &mut Random) -> Totals {
    let n = data.places.len();
    let filter = |rows: Vec<f64>, particles: usize| Filter { data, pattern, particles, rows };
    match pattern {
        Pattern::Steady => filter(vec![0.0; n], particles).run(random),
        Pattern::Drifting => filter((0..n).map(|i| drift_row(i, n)).collect(), particles).run(random),
        Pattern::Jumped => {
            // Every place of the jump by itself.
            let mut totals = Totals::new(n);
            for c in 3..n - 2 {
                let rows = (0..n).map(|i| if i < c { -0.5 } else { 0.5 }).collect();
                totals.merge(&filter(rows, (particles / 20).max(20)).run(random), -((n - 5) as f64).ln());
            }
            totals
        }
        Pattern::Split => {
            let run = filter(Vec::new(), particles).run(random);
            // With the first label given, both groups have two shots and more with probability (n - 3) / (n + 1).
            let mut totals = Totals::new(n);
            totals.merge(&run, ((n + 1) as f64 / (n - 3) as f64).ln());
            totals
        }
    }
}
