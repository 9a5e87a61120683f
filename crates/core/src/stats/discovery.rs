//! Which of many to accuse, with the share of innocents among the accused held down.

/// Which to accuse when each is guilty with probability `p`: as many of the likeliest as keep the expected share of innocents
/// at or below `rate`, and none that is more likely innocent than guilty.
///
/// Source: Newton, Noueiry, Sarkar & Ahlquist 2004, "Detecting differential gene expression with a semiparametric
/// hierarchical mixture method", Biostatistics 5, section 3.4 (direct posterior probability approach).
#[must_use]
pub fn accuse(p: &[f64], rate: f64) -> Vec<bool> {
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|a, b| p[*b].total_cmp(&p[*a]));
    let mut accused = vec![false; p.len()];
    let mut innocents = 0.0;
    for (k, &i) in order.iter().enumerate() {
        innocents += 1.0 - p[i];
        if p[i] < 0.5 || innocents > rate * (k as f64 + 1.0) {
            break;
        }
        accused[i] = true;
    }
    accused
}

/// The p-values adjusted so that those at most `rate` may be rejected at a false discovery rate of `rate`.
///
/// Source: Benjamini & Hochberg 1995, "Controlling the false discovery rate", J. R. Statist. Soc. B 57.
#[must_use]
pub fn benjamini_hochberg(p: &[f64]) -> Vec<f64> {
    let n = p.len();
    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by(|a, b| p[*b].total_cmp(&p[*a]));
    let mut adjusted = vec![1.0; n];
    let mut least = 1.0_f64;
    for (k, &i) in order.iter().enumerate() {
        least = least.min(p[i] * n as f64 / (n - k) as f64);
        adjusted[i] = least;
    }
    adjusted
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_expected_share_of_innocents_is_held() {
        assert_eq!(accuse(&[0.99, 0.2, 0.95, 0.7], 0.1), [true, false, true, false]);
        assert_eq!(accuse(&[0.99, 0.99, 0.99, 0.4], 0.2), [true, true, true, false]);
        assert_eq!(accuse(&[0.8], 0.1), [false]);
        assert!(accuse(&[], 0.1).is_empty());
    }

    #[test]
    fn adjusted_values_grow_with_the_raw_ones() {
        let got = benjamini_hochberg(&[0.01, 0.04, 0.03, 0.5]);
        for (got, want) in got.iter().zip([0.04, 0.16 / 3.0, 0.16 / 3.0, 0.5]) {
            assert!((got - want).abs() < 1e-12, "{got} {want}");
        }
    }
}
