"""Posterior of the sight marks by brute force -> ../refs/marks_posterior.json

What:     for a handful of sets of marks (one, two, three, five with one mistyped, an uncertain eye, an uphill mark): mean,
          standard deviation and 10 and 90 % points of the mark at distances not shot, mean and standard deviation of speed
          and drag per metre, and the probability that each mark is wrong.
Method:   launch angles by flight_scipy.py (solve_ivp, brentq) on a grid of 19 by 13 in the logarithms of speed and drag factor,
          joined by bicubic splines; the posterior summed on 241 by 161 points of a box of 5.5 prior standard deviations (3.4 towards slow arrows, which do not reach the targets); the
          scale zero given a normal prior of 2 m and the eye's height its own, both taken into the covariance of the
          readings, so that each point has the likelihood and the prediction of a multivariate normal; every set of wrong marks
          up to the number that the fit allows. The tested code uses Gauss-Newton, Gauss-Hermite nodes and a flat zero.
Versions: Python 3.11.7, NumPy 2.4.6, SciPy 1.17.1 (requirements.txt)
Command:  OMP_NUM_THREADS=1 python crates/checks/scripts/marks_posterior.py
"""

from itertools import combinations

import numpy as np
from scipy.interpolate import RectBivariateSpline
from scipy.optimize import brentq
from scipy.stats import norm

import refs_io
from flight_scipy import DENSITY, VISCOSITY, constant, solve

WRONG_ODDS, WRONG_SD_MM, ZERO_SD_MM = 0.02, 15.0, 2000.0
LENGTH_MM, EYE_MM, MASS_G, DIAMETER_MM, CD = 880.0, 115.0, 21.0, 5.5, 1.85
DRAG_LN_SD = 0.22
PER_CD = DENSITY * np.pi * (DIAMETER_MM * 1e-3) ** 2 / 8.0 / (MASS_G * 1e-3)


def pin_mm(ln_speed, ln_factor, distance, slope, eye_mm):
    case = {
        "speed_m_s": np.exp(ln_speed),
        "mass_g": MASS_G,
        "diameter_mm": DIAMETER_MM,
        "law": constant(CD * np.exp(ln_factor)),
        "slope_rad": slope,
        "tail_m_s": 0.0,
        "right_m_s": 0.0,
        "distance_m": distance,
        "eye_above_arrow_mm": eye_mm,
    }
    return LENGTH_MM * np.tan(solve(case))


def lowest(sd):
    """How far the box goes below the prior mean of the speed, in standard deviations."""
    return -5.5 if sd < 0.1 else -3.4


class Surface:
    """The pin at one distance over speed and drag, and how it follows the eye."""

    def __init__(self, prior, distance, slope):
        (mean_a, sd_a), (mean_b, sd_b) = prior
        a = mean_a + sd_a * np.linspace(lowest(sd_a), 5.5, 19)
        b = mean_b + sd_b * np.linspace(-5.5, 5.5, 13)
        values = [[pin_mm(x, y, distance, slope, EYE_MM) for y in b] for x in a]
        self.spline = RectBivariateSpline(a, b, np.log(values))
        self.per_eye = (
            pin_mm(mean_a, mean_b, distance, slope, EYE_MM + 1.0) - pin_mm(mean_a, mean_b, distance, slope, EYE_MM - 1.0)
        ) / 2.0

    def __call__(self, a, b):
        return np.exp(self.spline(a, b))


def posterior(case):
    prior = [(np.log(case["speed_prior_m_s"]), case["speed_ln_sd"]), (0.0, DRAG_LN_SD)]
    marks, wanted = case["marks"], case["predict_m"]
    # Slow arrows do not reach far: a wide box is cut on that side.
    a = prior[0][0] + prior[0][1] * np.linspace(lowest(prior[0][1]), 5.5, 241)
    b = prior[1][0] + prior[1][1] * np.linspace(-5.5, 5.5, 161)
    shot = [Surface(prior, m[0], m[3]) for m in marks]
    aims = [Surface(prior, d, 0.0) for d in wanted]
    pins = np.array([s(a, b) for s in shot])
    far = np.array([s(a, b) for s in aims])
    y = np.array([m[1] for m in marks])
    sd = np.array([m[2] for m in marks])
    t = np.array([s.per_eye for s in shot])
    t_far = np.array([s.per_eye for s in aims])
    ln_prior = -0.5 * (((a - prior[0][0]) / prior[0][1]) ** 2)[:, None] - 0.5 * ((b / prior[1][1]) ** 2)[None, :]
    n = len(marks)
    most = 1 if n == 2 else min(3, (n - 1) // 2)
    parts = []
    for count in range(most + 1):
        for wrong in combinations(range(n), count):
            own = sd**2 + WRONG_SD_MM**2 * np.isin(np.arange(n), wrong)
            common = ZERO_SD_MM**2 + case["eye_sd_mm"] ** 2 * np.outer(t, t)
            cov = np.diag(own) + common
            inverse, log_det = np.linalg.inv(cov), np.linalg.slogdet(cov)[1]
            r = y[:, None, None] - pins
            ln = ln_prior + count * np.log(WRONG_ODDS) - 0.5 * log_det
            ln = ln - 0.5 * np.einsum("iab,ij,jab->ab", r, inverse, r)
            cross = ZERO_SD_MM**2 + case["eye_sd_mm"] ** 2 * np.outer(t_far, t)
            mean = far + np.einsum("ki,ij,jab->kab", cross, inverse, r)
            # The same as the usual difference, which would cancel with so wide a zero: by the two latent numbers themselves.
            g = np.stack([np.ones(n), t])
            q = (g / own) @ g.T + np.diag([ZERO_SD_MM**-2, case["eye_sd_mm"] ** -2 if case["eye_sd_mm"] else 1e12])
            g_far = np.stack([np.ones(len(wanted)), t_far])
            variance = np.einsum("ik,ij,jk->k", g_far, np.linalg.inv(q), g_far)
            parts.append((wrong, ln, mean, variance))
    top = max(p[1].max() for p in parts)
    weights = [np.exp(p[1] - top) for p in parts]
    total = sum(w.sum() for w in weights)
    weights = [w / total for w in weights]
    edge = sum(w[0].sum() + w[-1].sum() + w[:, 0].sum() + w[:, -1].sum() for w in weights)

    def average(f):
        return sum((w * f(p)).sum() for w, p in zip(weights, parts))

    def moments(value):
        mean = average(lambda p: value)
        return [mean, np.sqrt(average(lambda p: (value - mean) ** 2))]

    predicted = []
    for k, distance in enumerate(wanted):
        mean = average(lambda p: p[2][k])
        sd_k = np.sqrt(average(lambda p: (p[2][k] - mean) ** 2 + p[3][k]))

        def below(x):
            return average(lambda p: norm.cdf((x - p[2][k]) / np.sqrt(p[3][k])))

        ends = [brentq(lambda x: below(x) - q, mean - 9 * sd_k, mean + 9 * sd_k, xtol=1e-5) for q in (0.1, 0.9)]
        predicted.append({"distance_m": distance, "reading_mm": mean, "sd_mm": sd_k, "interval_mm": ends})
    speed = np.broadcast_to(np.exp(a)[:, None], weights[0].shape)
    drag = np.broadcast_to(PER_CD * CD * np.exp(b)[None, :], weights[0].shape)
    p_wrong = [sum(w.sum() for w, p in zip(weights, parts) if i in p[0]) for i in range(n)]
    return {
        **case,
        "predicted": predicted,
        "speed_m_s": moments(speed),
        "drag_per_m": moments(drag),
        "p_wrong": p_wrong,
        "mass_on_edge": edge,
    }


def main():
    # Marks: distance, reading, standard deviation, slope. A pin 18 mm off and errors of the size claimed, made up by hand about a
    # flight of 57 m/s.
    truth = {d: 18.0 + pin_mm(np.log(57.0), 0.05, d, 0.0, EYE_MM) for d in (18.0, 30.0, 40.0, 50.0, 60.0)}
    up = 18.0 + pin_mm(np.log(57.0), 0.05, 45.0, 0.35, EYE_MM)

    def mark(distance, off, sd):
        return [distance, round(truth[distance] + off, 3), sd, 0.0]

    unknown = {"speed_prior_m_s": 58.0, "speed_ln_sd": 0.18, "eye_sd_mm": 0.0}
    measured = {"speed_prior_m_s": 57.3, "speed_ln_sd": 0.02, "eye_sd_mm": 0.0}
    three = [mark(18.0, 0.2, 0.3), mark(30.0, -0.3, 0.3), mark(50.0, 0.1, 0.3)]
    five = [mark(18.0, 0.1, 0.3), mark(30.0, -0.2, 0.3), mark(40.0, -9.0, 0.3), mark(50.0, 0.2, 0.4), mark(60.0, -0.1, 0.5)]
    cases = [
        {"name": "one mark", **unknown, "marks": [mark(30.0, 0.2, 0.3)], "predict_m": [18.0, 40.0]},
        {"name": "one mark and a chronograph", **measured, "marks": [mark(30.0, 0.2, 0.3)], "predict_m": [18.0, 50.0, 70.0]},
        {"name": "two marks", **unknown, "marks": [mark(18.0, -0.1, 0.3), mark(50.0, 0.2, 0.3)], "predict_m": [30.0, 70.0]},
        {"name": "three marks", **unknown, "marks": three, "predict_m": [10.0, 40.0, 70.0]},
        {"name": "a noisy mark", **unknown, "marks": three[:2] + [mark(50.0, 2.5, 3.0)], "predict_m": [40.0, 70.0]},
        {"name": "an uncertain eye", **unknown, "eye_sd_mm": 5.0, "marks": three, "predict_m": [10.0, 40.0, 70.0]},
        {"name": "an uphill mark", **unknown, "marks": three + [[45.0, round(up - 0.2, 3), 0.3, 0.35]], "predict_m": [25.0, 70.0]},
        {"name": "one mistyped", **unknown, "marks": five, "predict_m": [25.0, 40.0, 70.0]},
        {"name": "three of which one is off by 2 mm", **measured, "marks": three[:2] + [mark(50.0, 2.4, 0.3)], "predict_m": [40.0, 70.0]},
    ]
    refs_io.write(
        "marks_posterior.json",
        {
            "source": "the model of core::marks: normal readings about zero + L tan(theta), or wrong by another 15 mm with odds 0.02",
            "method": "brute-force sum over a grid of speed and drag; zero and eye height in the covariance of the readings",
            "command": "OMP_NUM_THREADS=1 python crates/checks/scripts/marks_posterior.py",
            "precision": "about 1e-4 of each standard deviation",
            "density_kg_m3": DENSITY,
            "viscosity_pa_s": VISCOSITY,
            "eye_to_pin_mm": LENGTH_MM,
            "eye_above_arrow_mm": EYE_MM,
            "mass_g": MASS_G,
            "diameter_mm": DIAMETER_MM,
            "cd": CD,
            "drag_ln_sd": DRAG_LN_SD,
            "cases": [posterior(case) for case in cases],
        },
    )


if __name__ == "__main__":
    main()
