"""Tests of variance, of centres and of many hypotheses -> ../refs/fleet_tests.json

What:     two-sample F and Brown-Forsythe tests, Hotelling's T^2 (one and two samples), Benjamini-Hochberg adjustment, critical
          values of Grubbs' test, expected ranges (d2), tails of F and t over a grid.
Method:   scipy.stats.f, levene(center='median'), t; statsmodels test_mvmean, test_mvmean_2indep and multipletests; ranges by
          scipy.integrate.quad. Goldward has its own incomplete beta function and bisections.
Source:   samples are invented here (numpy default_rng, fixed seeds).
Command:  OMP_NUM_THREADS=1 python crates/checks/scripts/fleet_tests.py
"""

import numpy as np
from scipy import integrate, stats
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.multivariate import test_mvmean, test_mvmean_2indep

from refs_io import write


def variances():
    rng = np.random.default_rng(11)
    out = []
    for n, m, ratio in [(6, 6, 1.0), (12, 30, 1.5), (36, 36, 0.8), (7, 72, 2.5)]:
        a, b = np.round(rng.normal(0, 1, n), 3), np.round(rng.normal(1, ratio, m), 3)
        f = a.var(ddof=1) / b.var(ddof=1)
        above = stats.f.sf(f, n - 1, m - 1)
        levene = stats.levene(a, b, center="median")
        q = stats.f.ppf([0.05, 0.95], n - 1, m - 1)
        out.append(
            {
                "first": a,
                "second": b,
                "f": f,
                "p_value": 2 * min(above, 1 - above),
                "interval_90": [f / q[1], f / q[0]],
                "brown_forsythe": levene.statistic,
                "brown_forsythe_p": levene.pvalue,
            }
        )
    return out


def centres():
    rng = np.random.default_rng(12)
    out = []
    for n, m, shift in [(5, 7, 0.0), (12, 12, 0.8), (30, 9, 2.0)]:
        cov = [[1.0, 0.4], [0.4, 2.0]]
        a = np.round(rng.multivariate_normal([0, 0], cov, n), 3)
        b = np.round(rng.multivariate_normal([shift, -shift], cov, m), 3)
        one, two = test_mvmean(a, [0.3, -0.2]), test_mvmean_2indep(a, b)
        out.append(
            {
                "first": a,
                "second": b,
                "at": [0.3, -0.2],
                "one_t2": one.t2,
                "one_p": one.pvalue,
                "two_t2": two.t2,
                "two_p": two.pvalue,
            }
        )
    return out


def discoveries():
    rng = np.random.default_rng(13)
    lists = [rng.uniform(size=12), rng.uniform(size=40) ** 3, [0.01, 0.01, 0.02, 0.9, 0.9], [0.5]]
    return [{"p": np.asarray(p), "adjusted": multipletests(p, method="fdr_bh")[1]} for p in lists]


def grubbs():
    out = []
    for n in [3, 6, 8, 12, 30, 144]:
        for level in [0.01, 0.05, 0.1]:
            t = stats.t.isf(level / (2 * n), n - 2)
            out.append([n, level, (n - 1) / np.sqrt(n) * np.sqrt(t * t / (n - 2 + t * t))])
    return out


def ranges():
    value = lambda n: integrate.quad(lambda x: 1 - stats.norm.cdf(x) ** n - stats.norm.sf(x) ** n, -9, 9, epsabs=1e-13, limit=400)[0]
    return [[n, value(n)] for n in [2, 3, 5, 6, 10, 12, 36]]


def tails():
    f = [[x, a, b, stats.f.sf(x, a, b)] for x in [0.2, 0.9, 1.1, 3.0, 20.0] for a in [1, 2, 10, 500, 50_000] for b in [3, 20, 900, 80_000]]
    t = [[x, d, stats.t.sf(x, d)] for x in [-3.0, 0.1, 1.0, 5.0] for d in [1, 4, 30, 10_000]]
    return f, t


def main():
    f, t = tails()
    write(
        "fleet_tests.json",
        {
            "source": "invented samples; SciPy 1.17.1, statsmodels 0.15.0",
            "method": "scipy.stats and statsmodels.stats, see the script",
            "command": "OMP_NUM_THREADS=1 python crates/checks/scripts/fleet_tests.py",
            "precision": "double precision; ranges to 1e-12",
            "variances": variances(),
            "centres": centres(),
            "discoveries": discoveries(),
            "grubbs_critical": grubbs(),
            "expected_range": ranges(),
            "f_above": f,
            "t_above": t,
        },
    )


if __name__ == "__main__":
    main()
