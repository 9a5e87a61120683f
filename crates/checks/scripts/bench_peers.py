"""Peers of the benchmarks, measured in the same run by `cargo xtask bench` -> one JSON object on standard output

What:     seconds a value of the expected score of a round normal on the 122 cm face, on the grid of ../benches/speed.rs; seconds for the
          posterior of centre and spread of a group of six shots (pattern steady only, one of the four that core reads), with
          the accuracy reached; seconds for the variance components of twelve arrows on one axis (statsmodels MixedLM, arrows
          only: no ends, no flyers, no odd arrows, all of which core fits, on both axes).
Method:   scipy.stats.ncx2.cdf on the whole grid times ten zones in one vectorised call; emcee as in posterior_sampler.py.
Command:  OMP_NUM_THREADS=1 python crates/checks/scripts/bench_peers.py
"""

import json
import statistics
import time

import numpy as np
from scipy.stats import ncx2

import fleet_mixed
import posterior_sampler

SHAFT_MM = 5.5
SAMPLES = 7


def expected_scores():
    offset, sigma = (a.ravel()[:, None] for a in np.meshgrid(10.0 * np.arange(40), 40.0 + 6.0 * np.arange(25), indexing="ij"))
    radii = 61.0 * np.arange(1, 11) + SHAFT_MM / 2
    seconds = []
    for _ in range(SAMPLES):
        begun = time.perf_counter()
        scores = ncx2.cdf((radii / sigma) ** 2, 2, (offset / sigma) ** 2).sum(axis=1)
        seconds.append((time.perf_counter() - begun) / len(scores))
    return {"title": "SciPy ncx2.cdf, vectorised", "median_s": statistics.median(seconds)}


def posterior():
    data = next(d for d in posterior_sampler.CASES if d["name"] == "six_one_flyer")
    # Enough steps for a standard error of two per cent of a standard deviation.
    out, burn_s, run_s, _ = posterior_sampler.summarise(data, "steady", posterior_sampler.SEED, walkers=32, burn=500, kept=5000, thin=1)
    error = max(q["mean"]["se"] / q["sd"]["value"] for q in out.values())
    return {
        "title": f"emcee, means to {100 * error:.1f} % of a standard deviation",
        "median_s": burn_s + run_s,
        "worst_se_over_sd": error,
    }


def mixed(each):
    found = fleet_mixed.timing(each)
    return {"title": f"MixedLM, arrows only, one axis, {found['shots']} shots", "median_s": found["seconds"]}


if __name__ == "__main__":
    peers = {"score_ncx2": expected_scores(), "emcee_6": posterior(), "mixedlm_5000": mixed(417), "mixedlm_60000": mixed(5000)}
    print(json.dumps(peers))
