"""Posterior of a group by an ensemble sampler, pattern by pattern -> ../refs/posterior_sampler.json

What:     for invented groups of 1 to 6 shots and each pattern that they allow: posterior mean, standard deviation and 10, 50,
          90 % quantiles of the centre aimed at by the next shot (r B) and of the entries of the spread (Sigma), with Monte
          Carlo standard errors; and the wall time that the sampler needs for one group of six shots, pattern steady.
Method:   emcee samples (B, Sigma) jointly, Sigma through the logarithms of the diagonal and the lower entry of its Cholesky factor,
          all lengths divided by s0. The likelihood sums over the classes of the shots, and over labels or change points, by
          brute force; the prior densities are those of the model. No conjugacy is used. In split the labels of each kept
          draw are then sampled given (B, Sigma), and the sign of the next shot given the labels.
          Standard errors come from the integrated autocorrelation time of the quantity itself (mean), of its squared deviation
          (sd), and of the indicator of lying below (quantiles), or from the scatter of long batches or of
          the walkers where that is larger.
Versions: Python 3.11.7, NumPy 2.4.6, emcee 3.1.6 (requirements.txt)
Command:  OMP_NUM_THREADS=1 python crates/checks/scripts/posterior_sampler.py   (a few minutes on one core)
"""

import itertools
import math
import time

import emcee
import numpy as np

import refs_io
from posterior_exact import CASES  # the invented data only

SEED = 6
WALKERS, BURN, KEPT, THIN = 64, 3000, 2000, 10
BATCHES = 10  # an ensemble
ENSEMBLES = {"steady": 1, "split": 2, "drifting": 1, "jumped": 1}  # the posterior of split has a mode for each partition
KAPPA = np.array([1.0, 9.0, 100.0])
RUNS = [
    ("one_shot", ["steady"]),
    ("two_shots_far_apart", ["steady"]),
    ("three_good_bad", ["steady"]),
    ("four_two_clusters", ["steady", "split"]),
    ("five_split_with_bad", ["steady", "split"]),
    ("six_one_flyer", ["steady"]),
    ("six_drift_down", ["drifting"]),
    ("six_jump_early_with_marks", ["steady", "split", "drifting", "jumped"]),
]


class Target:
    """Log posterior of one pattern for one group, lengths in units of s0."""

    def __init__(self, data, pattern):
        self.pattern, self.n = pattern, len(data["shots_mm"])
        n = self.n
        self.s0 = data["spread_mrad"] * data["distance_m"]
        self.shots = np.array(data["shots_mm"]) / self.s0
        self.nu0 = data["worth"] + 3
        self.psi0 = data["worth"]  # times the identity
        self.bad = np.array([mark == "bad" for mark in data["marks"]])
        table = {"unmarked": data["unmarked"], "bad": [0.30, 0.60, 0.10], "good": [0.985, 0.010, 0.005]}
        lenient = {"bad": "unmarked"} if pattern == "split" else {}
        self.log_class = np.log(np.array([table[lenient.get(mark, mark)] for mark in data["marks"]]))
        second = {"steady": [], "split": [1 / 25], "drifting": [1 / 9], "jumped": [1 / 25]}[pattern]
        self.precision = np.array([data["trust"]] + second)
        if pattern == "steady":
            columns, prior = [[]], [1.0]
        elif pattern == "split":
            # Shot 1 in the + group stands for each unordered partition.
            columns = [(0.5,) + c for c in itertools.product((0.5, -0.5), repeat=n - 1) if 2 <= c.count(-0.5) <= n - 2]
            sizes = [sum(v > 0 for v in c) for c in columns]
            # Beta(1,1)-binomial: 1 / ((n + 1) C(n, m)) a labelling, two labellings a partition, groups of two and more only.
            prior = [2 / ((n + 1) * math.comb(n, m)) for m in sizes]
            prior = [p / sum(prior) for p in prior]
        elif pattern == "drifting":
            columns, prior = [list(np.linspace(-0.5, 0.5, n))], [1.0]
        else:
            columns = [[-0.5] * c + [0.5] * (n - c) for c in range(3, n - 2)]
            prior = [1 / len(columns)] * len(columns)
        self.columns = np.array(columns, dtype=float)  # (designs, n), or empty for steady
        self.log_prior = np.log(np.array(prior))
        self.k = len(self.precision)
        self.dim = 2 * self.k + 3

    def unpack(self, theta):
        b = theta[:, : 2 * self.k].reshape(-1, self.k, 2)
        l11, l21, l22 = np.exp(theta[:, -3]), theta[:, -2], np.exp(theta[:, -1])
        return b, l11, l21, l22

    def by_design(self, theta):
        """Log likelihood plus log prior of each design, (draws, designs), classes summed out."""
        b, l11, l21, l22 = self.unpack(theta)
        error = self.shots[None, None] - b[:, None, None, 0]
        if self.k == 2:
            error = error - self.columns[None, :, :, None] * b[:, None, None, 1]
        u = error[..., 0] / l11[:, None, None]
        v = (error[..., 1] - l21[:, None, None] * u) / l22[:, None, None]
        half = 0.5 * (u * u + v * v)
        base = -math.log(2 * math.pi) - np.log(l11 * l22)[:, None, None]
        clean, flyer, stray = (base - half / k - math.log(k) + self.log_class[:, c] for c, k in enumerate(KAPPA))
        other = np.logaddexp(flyer, stray)
        if self.pattern == "steady":
            return np.logaddexp(clean, other).sum(axis=2)
        # Six shots or fewer: at most one is a flyer or a stray. All clean, or all clean but one.
        assert max(1, self.n // 6) == 1
        return clean.sum(axis=2) + np.logaddexp(0.0, np.logaddexp.reduce(other - clean, axis=2)) + self.log_prior

    def __call__(self, theta):
        # A proposal so far out that a square overflows has no density.
        with np.errstate(all="ignore"):
            out = self.log_density(theta)
        return np.where(np.isfinite(out), out, -np.inf)

    def log_density(self, theta):
        b, l11, l21, l22 = self.unpack(theta)
        per_design = self.by_design(theta)
        top = per_design.max(axis=1)
        out = top + np.log(np.exp(per_design - top[:, None]).sum(axis=1))
        # B | Sigma: rows independent, row j ~ N(0, Sigma / precision_j).
        u = b[..., 0] / l11[:, None]
        v = (b[..., 1] - l21[:, None] * u) / l22[:, None]
        log_det = 2 * np.log(l11 * l22)
        out += -0.5 * ((u * u + v * v) @ self.precision) - 0.5 * self.k * log_det
        # Sigma ~ inverse-Wishart, with the Jacobian of the Cholesky factor and of the logarithms.
        trace = self.psi0 * (1 / l11**2 + (l21 / (l11 * l22)) ** 2 + 1 / l22**2)
        return out - 0.5 * (self.nu0 + 3) * log_det - 0.5 * trace + 3 * np.log(l11) + 2 * np.log(l22)

    def quantities(self, theta, random):
        """Centre (x, y) in mm and spread (xx, xy, yy) in mm^2 for each draw."""
        b, l11, l21, l22 = self.unpack(theta)
        if self.pattern == "steady":
            step = None
        elif self.pattern == "drifting":
            step = np.full(len(theta), 0.5 + 1 / (self.n - 1))
        elif self.pattern == "jumped":
            step = np.full(len(theta), 0.5)
        else:
            logs = self.by_design(theta)
            # Gumbel trick: a draw of the labels in proportion to their weight.
            labels = self.columns[np.argmax(logs + random.gumbel(size=logs.shape), axis=1)]
            counted = labels[:, ~self.bad]
            p_plus = ((counted > 0).sum(axis=1) + 1) / (counted.shape[1] + 2)
            step = np.where(random.random(len(theta)) < p_plus, 0.5, -0.5)
        centre = b[:, 0] if step is None else b[:, 0] + step[:, None] * b[:, 1]
        spread = np.column_stack([l11**2, l11 * l21, l21**2 + l22**2])
        return np.column_stack([centre * self.s0, spread * self.s0**2])


def sample(target, seed, walkers=WALKERS, burn=BURN, kept=KEPT, thin=THIN):
    """Draws (kept, walkers, dim), wall time in seconds of burn-in and of the rest, acceptance."""
    random = np.random.default_rng(seed)
    start = np.zeros((walkers, target.dim))
    start[:, :2] = target.shots.mean(axis=0)
    start += random.standard_normal(start.shape) * np.array([0.5] * 2 + [2.0] * (2 * target.k - 2) + [0.3] * 3)
    moves = [(emcee.moves.StretchMove(), 0.6), (emcee.moves.DEMove(), 0.3), (emcee.moves.DEMove(gamma0=1.0), 0.1)]
    sampler = emcee.EnsembleSampler(walkers, target.dim, target, vectorize=True, moves=moves)
    sampler.random_state = np.random.RandomState(seed).get_state()
    begun = time.perf_counter()
    # A first search from scattered starts, then all walkers begin close to the best point found, so that none is stranded in an
    # isolated mode of next to no weight.
    state = sampler.run_mcmc(start, burn // 3, store=False)
    best = state.coords[np.argmax(state.log_prob)]
    state = sampler.run_mcmc(best + 0.05 * random.standard_normal(start.shape), burn - burn // 3, store=False)
    burnt = time.perf_counter()
    sampler.run_mcmc(state, kept, thin_by=thin)
    done = time.perf_counter()
    return sampler.get_chain(), burnt - begun, done - burnt, float(np.mean(sampler.acceptance_fraction))


def autocorrelation_time(values):
    """Of (steps, ensembles, walkers), in stored steps, not below 1: the largest of three estimates. The first has the
    autocovariance about the mean of all walkers and Sokal's window, the first lag of at least five times the estimate. The
    others are what the scatter of the means of long batches and of the means of walkers say: they see a walker that lingers
    in a lesser mode, which the first misses."""
    steps, ensembles, walkers = values.shape
    batches = values.reshape(BATCHES, steps // BATCHES, ensembles, walkers).mean(axis=(1, 3))
    by_batches = float(batches.var(ddof=1) * (steps // BATCHES) * walkers / values.var())
    by_walkers = float(values.mean(axis=0).var(ddof=1) * steps / values.var())
    values = values.reshape(steps, -1)
    padded = np.fft.rfft(values - values.mean(), n=2 * steps, axis=0)
    cov = np.fft.irfft(np.abs(padded) ** 2, axis=0)[:steps].mean(axis=1)
    tau = 2 * np.cumsum(cov / cov[0]) - 1
    ready = np.arange(steps) >= 5 * tau
    assert ready.any(), "chain too short for its autocorrelation time"
    return max(1.0, float(tau[np.argmax(ready)]), by_batches, by_walkers)


def describe(values, fourth_moment):
    """values: (steps, ensembles, walkers)."""
    count = values.size
    mean, sd = float(values.mean()), float(values.std())
    tau = autocorrelation_time(values)
    square = (values - mean) ** 2
    sd_se = math.sqrt(float(square.var()) * autocorrelation_time(square) / count) / (2 * sd)
    quantiles = {}
    for q in (0.1, 0.5, 0.9):
        at = float(np.quantile(values, q))
        p_se = math.sqrt(q * (1 - q) * autocorrelation_time((values < at).astype(float)) / count)
        low, high = np.quantile(values, [q - p_se, q + p_se])
        quantiles[f"q{round(100 * q)}"] = {"value": at, "se": float(high - low) / 2}
    return {
        "mean": {"value": mean, "se": sd * math.sqrt(tau / count)},
        "sd": {"value": sd, "se": sd_se if fourth_moment else None},
        **quantiles,
        "effective_draws": count / tau,
    }


NAMES = ("centre_x_mm", "centre_y_mm", "spread_xx_mm2", "spread_xy_mm2", "spread_yy_mm2")


def summarise(data, pattern, seed, ensembles=1, **lengths):
    """Seeds used are seed, seed + 1, ... for the ensembles and seed + 50 for the draws of labels and signs."""
    target = Target(data, pattern)
    random = np.random.default_rng(seed + 50)
    all_values, burn_s, run_s, acceptance = [], 0.0, 0.0, []
    for i in range(ensembles):
        chain, b, r, a = sample(target, seed + i, **lengths)
        steps, walkers, _ = chain.shape
        all_values.append(target.quantities(chain.reshape(-1, target.dim), random).reshape(steps, walkers, len(NAMES)))
        burn_s, run_s = burn_s + b, run_s + r
        acceptance.append(a)
    values = np.stack(all_values, axis=1)
    nu = target.nu0 + target.n
    # The fourth moment of an entry of Sigma is finite when (nu - 1) / 2 > 4, that of the centre when nu - 1 > 4.
    finite = [nu > 5] * 2 + [nu > 9] * 3
    out = {name: describe(values[..., i], finite[i]) for i, name in enumerate(NAMES)}
    return out, burn_s, run_s, sum(acceptance) / ensembles


if __name__ == "__main__":
    by_name = {data["name"]: data for data in CASES}
    cases, seed = [], SEED
    for name, patterns in RUNS:
        entry = {**by_name[name], "patterns": {}}
        for pattern in patterns:
            seed += 100
            out, _, _, acceptance = summarise(by_name[name], pattern, seed, ENSEMBLES[pattern])
            entry["patterns"][pattern] = {"seed": seed, "ensembles": ENSEMBLES[pattern], "acceptance": acceptance, **out}
        cases.append(entry)

    timing = []
    for walkers, burn, kept, thin in ((32, 500, 1000, 1), (32, 500, 5000, 1), (64, 3000, 2000, 10)):
        out, burn_s, run_s, _ = summarise(by_name["six_one_flyer"], "steady", SEED, walkers=walkers, burn=burn, kept=kept, thin=thin)
        worst = {
            part: max(out[n]["mean"]["se"] / out[n]["sd"]["value"] for n in NAMES if n.startswith(part))
            for part in ("centre", "spread")
        }
        timing.append(
            {
                "walkers": walkers,
                "burn_in_steps": burn,
                "steps": kept * thin,
                "burn_in_s": burn_s,
                "sampling_s": run_s,
                "wall_time_s": burn_s + run_s,
                "centre_mean_se_over_sd": worst["centre"],
                "spread_mean_se_over_sd": worst["spread"],
                "smallest_effective_draws": min(out[n]["effective_draws"] for n in NAMES),
            }
        )

    refs_io.write(
        "posterior_sampler.json",
        {
            "source": "posterior_sampler.py, emcee 3.1.6, NumPy 2.4.6, Python 3.11.7; invented data, the same as in posterior_exact.json",
            "method": "ensemble sampling of (B, Sigma) with classes, labels and change points summed out; no conjugacy",
            "command": "OMP_NUM_THREADS=1 python crates/checks/scripts/posterior_sampler.py",
            "precision": "Monte Carlo: one standard error beside each value; an isolated mode of split with a weight of 1e-3 or less may be missed",
            "notes": {
                "patterns": "posterior given that pattern alone, prior odds of the patterns left out",
                "centre": "r B with r the row of the next shot; in split a mixture over its sign",
                "sd.se": "null where the fourth moment of the quantity is infinite",
                "walkers": WALKERS,
                "burn_in_steps": BURN,
                "steps": KEPT * THIN,
                "kept_every": THIN,
            },
            "cases": cases,
            "timing": {
                "case": "six_one_flyer",
                "pattern": "steady",
                "machine": "one core of an x86-64 server, single thread, vectorised likelihood; wall times vary from run to run",
                "runs": timing,
            },
        },
    )
