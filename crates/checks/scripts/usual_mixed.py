"""Mean and scatter of log spreads over the archers of a club, without noise -> ../refs/usual_mixed.json

What:     spreads of sessions in mrad with their numbers of shots, by archer; the mean of the true log spread over archers and the variance of a
          session's about it, between archers and from day to day together.
Method:   statsmodels MixedLM of the logarithms (REML: an intercept, archers as groups); from the residual variance the known sampling variance of
          a log standard deviation, trigamma(d / 2) / 4 with d = 2 (shots - 1), is taken off. Goldward averages bounded moments archer by archer.
Source:   the spreads are invented here (numpy default_rng, fixed seeds).
Command:  OMP_NUM_THREADS=1 python crates/checks/scripts/usual_mixed.py
"""

import warnings

import numpy as np
import pandas as pd
import statsmodels.formula.api as smf
from scipy.special import digamma, polygamma

from refs_io import write

warnings.filterwarnings("ignore")


def club(seed, archers, sessions, shots, mean_ln, between, day):
    rng = np.random.default_rng(seed)
    rows = []
    for archer in range(archers):
        own = rng.normal(mean_ln, between)
        for _ in range(sessions):
            freedom = 2 * (shots - 1)
            spread = np.exp(own + rng.normal(0, day)) * np.sqrt(rng.chisquare(freedom) / freedom)
            rows.append((archer, round(float(spread), 4)))
    return pd.DataFrame(rows, columns=["archer", "spread"])


def case(name, seed, archers, sessions, shots, mean_ln, between, day):
    data = club(seed, archers, sessions, shots, mean_ln, between, day)
    half = shots - 1
    # What is expected of half the logarithm of a mean square: not quite that of the variance.
    data["y"] = np.log(data.spread) - 0.5 * (digamma(half) - np.log(half))
    fit = smf.mixedlm("y ~ 1", data, groups=data["archer"]).fit(reml=True)
    sampling = float(polygamma(1, half)) / 4
    between2, within2 = float(fit.cov_re.iloc[0, 0]), float(fit.scale)
    return {
        "name": name,
        "shots": shots,
        "sessions": sessions,
        "spread_mrad": data.spread.to_numpy(),
        "spread_median_mrad": float(np.exp(fit.params["Intercept"])),
        "mean_ln_se": float(fit.bse["Intercept"]),
        "scatter": float(np.sqrt(between2 + within2 - sampling)),
    }


write(
    "usual_mixed.json",
    {
        "source": "invented spreads, numpy default_rng with the seeds of the script",
        "method": "statsmodels MixedLM (REML) of log spreads, the sampling variance of a log standard deviation taken off",
        "command": "OMP_NUM_THREADS=1 python crates/checks/scripts/usual_mixed.py",
        "precision": "the optimiser's, about 1e-5",
        "cases": [
            case("club archers", 1, 400, 3, 30, np.log(3.0), 0.30, 0.12),
            case("tighter than the table", 2, 400, 3, 30, np.log(2.2), 0.25, 0.10),
            case("wider, few shots", 3, 300, 5, 15, np.log(3.9), 0.35, 0.20),
        ],
    },
)
