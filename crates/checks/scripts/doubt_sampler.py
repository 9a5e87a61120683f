"""Posterior of a group under a doubted prior, by an ensemble sampler -> ../refs/doubt_sampler.json

What:     for invented groups of 2 and 3 shots, measured and steady: mean and standard deviation of the centre and mean of the
          spread (Sigma), with Monte Carlo standard errors, when what was told may be wrong: a setting worth `trust` arrows with
          probability 0.85 and worth trust / 36 else, a spread that may be off by 2^k, k = -4 .. 2, with the weights of a Student t
          of 3 degrees of freedom over k / 0.5, and an offset that the shots of an end share.
Method:   emcee samples (centre, Sigma) jointly, Sigma through its Cholesky factor. The mixtures stand in the density as they are
          written; the likelihood sums over the classes of all shots, each a dense normal of all coordinates in which the end's
          offset is part of the covariance. No conjugacy and no recursion is used.
Versions: Python 3.11.7, NumPy 2.4.6, emcee 3.1.6 (requirements.txt)
Command:  OMP_NUM_THREADS=1 python crates/checks/scripts/doubt_sampler.py   (a minute on one core)
"""

import itertools

import emcee
import numpy as np

import refs_io

WALKERS, BURN, STEPS, BATCHES = 48, 1500, 6000, 20
KAPPA = np.array([1.0, 9.0, 100.0])
ODDS = np.array([0.91, 0.08, 0.01])
SCALES = np.arange(-4, 3)
WIDTH = 0.5
KNOCKED, DOUBT = 36.0, 0.15
CASES = [
    {"name": "promise_two_shots", "shots_mm": [[195, 8], [208, -12]], "ends": [0, 0], "trust": 6.0, "end_effect": [0.0, 0.0]},
    {"name": "three_in_a_hole", "shots_mm": [[300, -40], [304, -47], [297, -36]], "ends": [0, 0, 0], "trust": 1.0, "end_effect": [0.0, 0.0]},
    {"name": "three_wide", "shots_mm": [[-90, 260], [150, 40], [-240, -130]], "ends": [0, 0, 0], "trust": 1.0, "end_effect": [0.3, 0.3]},
    {"name": "two_ends", "shots_mm": [[110, 30], [140, -45], [-60, 15]], "ends": [0, 0, 1], "trust": 1.0, "end_effect": [0.6, 0.6]},
    {"name": "one_of_three_astray", "shots_mm": [[-70, 20], [-40, -35], [480, 250]], "ends": [0, 0, 0], "trust": 0.1, "end_effect": [0.4, 0.4]},
]
SPREAD_MM, WORTH = 105.0, 4.0


class Target:
    def __init__(self, case):
        self.z = np.array(case["shots_mm"], dtype=float) / SPREAD_MM
        n = len(self.z)
        ends = np.array(case["ends"])
        self.same = (ends[:, None] == ends[None, :]).astype(float)
        self.end = np.array(case["end_effect"])
        self.trust = case["trust"]
        self.classes = np.array(list(itertools.product(range(3), repeat=n)))
        self.log_classes = np.log(ODDS)[self.classes].sum(axis=1)
        weights = (1 + (SCALES / WIDTH) ** 2 / 3) ** -2
        self.log_scales = np.log(weights / weights.sum())
        self.nu0 = WORTH + 3

    def __call__(self, theta):
        with np.errstate(all="ignore"):
            out = self.log_density(theta)
        return np.where(np.isfinite(out), out, -np.inf)

    def log_density(self, theta):
        centre = theta[:, :2]
        l11, l21, l22 = np.exp(theta[:, 2]), theta[:, 3], np.exp(theta[:, 4])
        sigma = np.empty((len(theta), 2, 2))
        sigma[:, 0, 0], sigma[:, 1, 1] = l11**2, l21**2 + l22**2
        sigma[:, 0, 1] = sigma[:, 1, 0] = l11 * l21
        log_det = 2 * np.log(l11 * l22)
        # Sigma: a mixture of inverse-Wisharts, their normalising constants as far as the scale is concerned.
        inverse_trace = 1 / l11**2 + (l21 / (l11 * l22)) ** 2 + 1 / l22**2
        psi = WORTH * 4.0**SCALES
        parts = self.log_scales + self.nu0 * np.log(psi) - 0.5 * inverse_trace[:, None] * psi
        out = np.logaddexp.reduce(parts, axis=1) - 0.5 * (self.nu0 + 3) * log_det + 3 * np.log(l11) + 2 * np.log(l22)
        # The centre, as told or knocked.
        u = centre[:, 0] / l11
        v = (centre[:, 1] - l21 * u) / l22
        told = [np.log(p * t) - 0.5 * t * (u * u + v * v) for p, t in ((1 - DOUBT, self.trust), (DOUBT, self.trust / KNOCKED))]
        out += np.logaddexp(*told) - 0.5 * log_det
        # The shots: a dense normal for every choice of classes.
        n = len(self.z)
        shared = self.end[:, None] * sigma * self.end[None, :]
        between = np.einsum("ij,wab->wiajb", self.same, shared).reshape(len(theta), 1, 2 * n, 2 * n)
        own = np.einsum("ci,ij,wab->wciajb", KAPPA[self.classes], np.eye(n), sigma)
        cov = own.reshape(len(theta), len(self.classes), 2 * n, 2 * n) + between
        d = np.broadcast_to((self.z[None] - centre[:, None]).reshape(len(theta), 1, 2 * n, 1), cov.shape[:3] + (1,))
        chol = np.linalg.cholesky(cov)
        y = np.linalg.solve(chol, d)[..., 0]
        logs = self.log_classes - np.log(np.diagonal(chol, axis1=2, axis2=3)).sum(axis=2) - 0.5 * (y * y).sum(axis=2)
        return out + np.logaddexp.reduce(logs, axis=1)


def run(case, seed):
    target = Target(case)
    random = np.random.default_rng(seed)
    start = np.zeros((WALKERS, 5))
    start[:, :2] = np.median(target.z, axis=0)
    start += random.standard_normal(start.shape) * 0.3
    moves = [(emcee.moves.StretchMove(), 0.5), (emcee.moves.DEMove(), 0.4), (emcee.moves.DEMove(gamma0=1.0), 0.1)]
    sampler = emcee.EnsembleSampler(WALKERS, 5, target, vectorize=True, moves=moves)
    sampler.random_state = np.random.RandomState(seed).get_state()
    state = sampler.run_mcmc(start, BURN, store=False)
    sampler.run_mcmc(state, STEPS)
    t = sampler.get_chain()
    l11, l21, l22 = np.exp(t[..., 2]), t[..., 3], np.exp(t[..., 4])
    named = {
        "centre_x_mm": t[..., 0] * SPREAD_MM,
        "centre_y_mm": t[..., 1] * SPREAD_MM,
        "spread_xx_mm2": l11**2 * SPREAD_MM**2,
        "spread_yy_mm2": (l21**2 + l22**2) * SPREAD_MM**2,
    }
    out = {}
    for name, v in named.items():
        means = v.reshape(BATCHES, STEPS // BATCHES, -1).mean(axis=(1, 2))
        squares = ((v - v.mean()) ** 2).reshape(BATCHES, STEPS // BATCHES, -1).mean(axis=(1, 2))
        out[name] = {
            "mean": {"value": v.mean(), "se": means.std(ddof=1) / np.sqrt(BATCHES)},
            "sd": {"value": v.std(), "se": squares.std(ddof=1) / np.sqrt(BATCHES) / (2 * v.std())},
        }
    print(case["name"], {k: [round(float(x["mean"]["value"]), 2), round(float(x["mean"]["se"]), 2), round(float(x["sd"]["value"]), 2)] for k, x in out.items()}, np.mean(sampler.acceptance_fraction))
    return {**case, "spread_mm": SPREAD_MM, "worth": WORTH, "seed": seed, **out}


if __name__ == "__main__":
    cases = [run(case, 60 + i) for i, case in enumerate(CASES)]
    refs_io.write(
        "doubt_sampler.json",
        {
            "source": "doubt_sampler.py, emcee 3.1.6, NumPy 2.4.6, Python 3.11.7; invented data",
            "method": "ensemble sampling of centre and spread; mixtures of the prior and classes of the shots summed in the density",
            "command": "OMP_NUM_THREADS=1 python crates/checks/scripts/doubt_sampler.py",
            "precision": f"Monte Carlo standard errors beside the values, from {BATCHES} batches of {STEPS // BATCHES} steps of {WALKERS} walkers",
            "cases": cases,
        },
    )
