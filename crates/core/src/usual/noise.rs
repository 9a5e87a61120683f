//! Noise of differential privacy, drawn exactly: whole numbers from whole numbers, so that no rounding tells what was added.
//!
//! The discrete Laplace distribution, `P(k) = (1 - r) / (1 + r) r^|k|` with `r = exp(-s / t)`, is drawn as in Canonne, Kamath & Steinke
//! 2020, "The discrete Gaussian for differential privacy", algorithms 1 and 2 (from memory). The bits come from the caller, who takes them
//! from a source that cannot be guessed.

/// A source of random bits.
pub type Bits<'a> = dyn FnMut() -> u64 + 'a;

/// A whole number from 0 to `below - 1`, each as likely; 0 where `below` is 0.
fn whole(bits: &mut Bits<'_>, below: u64) -> u64 {
    if below < 2 {
        return 0;
    }
    // What would make the small ones likelier is drawn again.
    let most = u64::MAX - u64::MAX % below;
    loop {
        let x = bits();
        if x < most {
            return x % below;
        }
    }
}

/// True with probability `exp(-num / den)`, for `num <= den`.
fn one_in_exp(bits: &mut Bits<'_>, num: u64, den: u64) -> bool {
    let mut k = 1;
    while whole(bits, den * k) < num {
        k += 1;
    }
    k % 2 == 1
}

/// A whole number `k` with probability proportional to `exp(-|k| s / t)`.
///
/// `s` and `t` are positive; `t` up to 2^40.
pub fn discrete_laplace(bits: &mut Bits<'_>, s: u64, t: u64) -> i64 {
    let (s, t) = (s.max(1), t.max(1));
    loop {
        let u = whole(bits, t);
        if !one_in_exp(bits, u, t) {
            continue;
        }
        let mut v = 0;
        while one_in_exp(bits, 1, 1) {
            v += 1;
        }
        let y = ((u + t * v) / s) as i64;
        match bits() & 1 {
            1 if y == 0 => {}
            1 => return -y,
            _ => return y,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::Random;

    #[test]
    fn it_is_the_discrete_laplace() {
        // Pearson's statistic over the cells from -6 to 6 and the two tails; the 0.9999 quantile of chi-square with 14 degrees of freedom
        // is 43.6 (from memory, as by the quantile of Wilson & Hilferty: 43.5).
        for (s, t) in [(1, 2), (3, 2), (7, 10), (1, 1)] {
            let mut random = Random::seeded(11 + s);
            let mut bits = || random.bits();
            let n = 200_000;
            let mut seen = [0.0; 15];
            for _ in 0..n {
                let k = discrete_laplace(&mut bits, s, t);
                seen[(k.clamp(-7, 7) + 7) as usize] += 1.0;
            }
            let r = (-(s as f64) / t as f64).exp();
            let chi2: f64 = seen
                .iter()
                .enumerate()
                .map(|(i, o)| {
                    let k = (i as f64 - 7.0).abs();
                    let p = if k > 6.5 { r.powf(7.0) / (1.0 + r) } else { (1.0 - r) / (1.0 + r) * r.powf(k) };
                    let e = f64::from(n) * p;
                    (o - e).powi(2) / e
                })
                .sum();
            assert!(chi2 < 43.6, "{s}/{t}: {chi2}");
        }
    }
}
