//! Nodes and weights for Gaussian quadrature, from the recurrence of the orthogonal polynomials (Golub & Welsch 1969,
//! "Calculation of Gauss quadrature rules", Math. Comp. 23).

/// Nodes and weights, the weights adding up to 1.
#[derive(Debug, Clone, PartialEq)]
pub struct Rule {
    /// Where to evaluate.
    pub nodes: Vec<f64>,
    /// With what weight.
    pub weights: Vec<f64>,
}

/// For a standard normal weight.
#[must_use]
pub fn normal(n: usize) -> Rule {
    golub_welsch(vec![0.0; n], (1..n).map(|k| (k as f64).sqrt()).collect())
}

/// For a standard normal weight, evenly spaced by `spacing`: better than Gauss for a function that wiggles on the scale of
/// `2 pi / (3 spacing)` or slower but over many of its wiggles.
#[must_use]
pub fn normal_evenly(spacing: f64) -> Rule {
    const REACH: f64 = 5.8;
    let half = (REACH / spacing).ceil() as i32;
    let nodes: Vec<f64> = (-half..=half).map(|k| f64::from(k) * spacing).collect();
    let raw: Vec<f64> = nodes.iter().map(|x| (-0.5 * x * x).exp()).collect();
    let total: f64 = raw.iter().sum();
    Rule { nodes, weights: raw.iter().map(|w| w / total).collect() }
}

/// For a gamma weight of the given `shape` (positive) and scale 1: generalised Gauss-Laguerre.
#[must_use]
pub fn gamma(n: usize, shape: f64) -> Rule {
    let alpha = shape - 1.0;
    golub_welsch(
        (0..n).map(|k| 2.0 * k as f64 + alpha + 1.0).collect(),
        (1..n).map(|k| (k as f64 * (k as f64 + alpha)).sqrt()).collect(),
    )
}

/// Eigenvalues of the symmetric tridiagonal matrix, and the squares of the first components of its eigenvectors, by the
/// implicit QL method with at most 60 sweeps an eigenvalue.
fn golub_welsch(mut d: Vec<f64>, mut e: Vec<f64>) -> Rule {
    let n = d.len();
    e.push(0.0);
    let mut z = vec![0.0; n];
    z[0] = 1.0;
    for l in 0..n {
        for _ in 0..60 {
            let m = (l..n - 1).find(|&m| e[m].abs() <= f64::EPSILON * (d[m].abs() + d[m + 1].abs())).unwrap_or(n - 1);
            if m == l {
                break;
            }
            let mut g = (d[l + 1] - d[l]) / (2.0 * e[l]);
            let mut r = g.hypot(1.0);
            g = d[m] - d[l] + e[l] / (g + r.copysign(g));
            let (mut s, mut c, mut p) = (1.0, 1.0, 0.0);
            for i in (l..m).rev() {
                let (f, b) = (s * e[i], c * e[i]);
                r = f.hypot(g);
                e[i + 1] = r;
                if r < f64::MIN_POSITIVE {
                    break;
                }
                s = f / r;
                c = g / r;
                g = d[i + 1] - p;
                r = (d[i] - g) * s + 2.0 * c * b;
                p = s * r;
                d[i + 1] = g + p;
                g = c * r - b;
                let t = z[i + 1];
                z[i + 1] = s * z[i] + c * t;
                z[i] = c * z[i] - s * t;
            }
            d[l] -= p;
            e[l] = g;
            e[m] = 0.0;
        }
    }
    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by(|a, b| d[*a].total_cmp(&d[*b]));
    Rule { nodes: order.iter().map(|&i| d[i]).collect(), weights: order.iter().map(|&i| z[i] * z[i]).collect() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rule_of_n_nodes_gives_the_first_2n_moments() {
        for n in [1, 2, 5, 9, 15, 31] {
            let rule = normal(n);
            let mut moment = 1.0;
            for k in (0..n.min(12)).map(|k| 2 * k) {
                let got: f64 = rule.nodes.iter().zip(&rule.weights).map(|(x, w)| w * x.powi(k as i32)).sum();
                assert!((got / moment - 1.0).abs() < 1e-9, "normal moment {k} of {n}: {got} {moment}");
                moment *= k as f64 + 1.0;
            }
            for shape in [0.8, 3.5, 20.0] {
                let rule = gamma(n, shape);
                let mut moment = 1.0;
                for k in 0..(2 * n).min(12) {
                    let got: f64 = rule.nodes.iter().zip(&rule.weights).map(|(x, w)| w * x.powi(k as i32)).sum();
                    assert!((got / moment - 1.0).abs() < 1e-9, "gamma moment {k} of {n}: {got} {moment}");
                    moment *= shape + k as f64;
                }
            }
        }
    }
}
