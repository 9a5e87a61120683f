"""Probability of landing within a circle, and expected score on a ten-zone face -> ../refs/score_circle.json

What:     for a bivariate normal or t whose centre lies at an offset from the centre of a circle, the probability within
          the circle; and the expected score of one shot on the 122 cm face (zone radius 61 mm * k for k = 1..10 scoring
          10..1, a shot scores the zone when its distance from the centre is at most zone radius + shaft radius, a miss 0).
Method:   isotropic normal: scipy.stats.ncx2.cdf((R / sigma)^2, 2, (d / sigma)^2), checked against the integral below.
          All others: the density is integrated over the area of the disc in polar coordinates about the centre of the
          circle, composite Gauss-Legendre in the radius and the trapezoid rule in the angle (spectrally accurate for a
          periodic smooth function). Panels and angles are both increased by half until two results agree to 1e-13 absolute
          and 1e-11 relative; the change is stored. Twelve cases are repeated with scipy.integrate.dblquad in Cartesian coordinates.
          No integral along the boundary is used.
Versions: Python 3.11.7, NumPy 2.4.6, SciPy 1.17.1 (requirements.txt)
Command:  OMP_NUM_THREADS=1 python crates/checks/scripts/score_circle.py
"""

import math

import numpy as np
from scipy.integrate import dblquad
from scipy.stats import ncx2

import refs_io

SEED = 122
ZONES = 61.0 * np.arange(1, 11)
LEGENDRE_X, LEGENDRE_W = np.polynomial.legendre.leggauss(24)


def normal(square, det):
    return np.exp(-0.5 * square) / (2 * math.pi * math.sqrt(det))


def student(dof):
    def density(square, det):
        return np.exp(-0.5 * (dof + 2) * np.log1p(square / dof)) / (2 * math.pi * math.sqrt(det))

    return density


def discs(density, centre, shape, radii, angles, width):
    """Probabilities within each of the increasing radii: panels no wider than `width`, `angles` points on each ring."""
    det = shape[0][0] * shape[1][1] - shape[0][1] ** 2
    turn = 2 * math.pi * np.arange(angles) / angles
    cos, sin = np.cos(turn), np.sin(turn)
    out, total, inner = [], 0.0, 0.0
    for outer in radii:
        edges = np.linspace(inner, outer, max(2, math.ceil((outer - inner) / width)) + 1)
        for a, b in zip(edges[:-1], edges[1:]):
            r = 0.5 * (a + b) + 0.5 * (b - a) * LEGENDRE_X
            dx = r[:, None] * cos - centre[0]
            dy = r[:, None] * sin - centre[1]
            square = (shape[1][1] * dx * dx - 2 * shape[0][1] * dx * dy + shape[0][0] * dy * dy) / det
            ring = density(square, det).sum(axis=1) * (2 * math.pi / angles)
            total += float(0.5 * (b - a) * np.sum(LEGENDRE_W * r * ring))
        inner = outer
        out.append(total)
    return np.array(out)


def integrate(density, centre, shape, radii):
    """Refines until two results agree; returns the probabilities and the last change."""
    narrow = math.sqrt(np.linalg.eigvalsh(np.array(shape))[0])
    # Fine enough from the start that a narrow ridge cannot fall between two angles.
    angles, width = max(256, math.ceil(16 * radii[-1] / narrow)), 2.0 * narrow
    before = discs(density, centre, shape, radii, angles, width)
    for _ in range(8):
        angles, width = angles * 3 // 2, width / 1.5
        now = discs(density, centre, shape, radii, angles, width)
        change = np.abs(now - before)
        if np.all(change < 1e-13) and np.all(change <= 1e-11 * now):
            return now, float(change.max())
        before = now
    raise AssertionError(("no agreement", centre, shape, change))


def cartesian(density, centre, shape, radius):
    """The same probability by dblquad, y inside x."""
    det = shape[0][0] * shape[1][1] - shape[0][1] ** 2

    def at(y, x):
        dx, dy = x - centre[0], y - centre[1]
        return float(density((shape[1][1] * dx * dx - 2 * shape[0][1] * dx * dy + shape[0][0] * dy * dy) / det, det))

    half = lambda x: math.sqrt(max(0.0, radius * radius - x * x))
    return dblquad(at, -radius, radius, lambda x: -half(x), half, epsabs=1e-12, epsrel=1e-12)[0]


def matrix(sd_x, sd_y, correlation):
    cross = correlation * sd_x * sd_y
    return [[sd_x * sd_x, cross], [cross, sd_y * sd_y]]


def isotropic():
    cases, worst = [], 0.0
    for d in np.arange(0, 6.01, 0.5):
        for r in (0.05, 0.1, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0):
            p = float(ncx2.cdf(r * r, 2, d * d))
            again = integrate(normal, [d, 0.0], [[1.0, 0.0], [0.0, 1.0]], [r])[0][0]
            worst = max(worst, abs(p - again) / p)
            cases.append({"offset_over_sigma": float(d), "radius_over_sigma": r, "probability": p, "probability_by_area": again})
    return cases, worst


def areas():
    random = np.random.default_rng(SEED)
    gauss, heavy, witness = [], [], []

    def draw(i):
        sd_x = float(np.round(np.exp(random.uniform(np.log(20), np.log(300))), 1))
        sd_y = float(np.round(sd_x * np.exp(random.uniform(-1.4, 1.4)), 1))
        correlation = (0.0, 0.3, -0.6, 0.9, -0.97, 0.75)[i % 6]
        radius = float(np.round(np.exp(random.uniform(np.log(10), np.log(610))), 1))
        reach = (0.0, 0.4, 0.95, 1.3, 2.0)[i % 5] * radius + 0.3 * (i % 3) * max(sd_x, sd_y)
        turn = random.uniform(0, 2 * math.pi)
        centre = [float(np.round(reach * math.cos(turn), 1)), float(np.round(reach * math.sin(turn), 1))]
        return centre, sd_x, sd_y, correlation, radius

    for i in range(84):
        centre, sd_x, sd_y, correlation, radius = draw(i)
        shape = matrix(sd_x, sd_y, correlation)
        p, change = integrate(normal, centre, shape, [radius])
        gauss.append({"centre_mm": centre, "cov_mm2": shape, "radius_mm": radius, "probability": p[0], "change": change})
        if i % 14 == 3:
            witness.append(abs(cartesian(normal, centre, shape, radius) - p[0]))
    for i in range(84):
        centre, sd_x, sd_y, correlation, radius = draw(i)
        if i % 3 == 0:
            sd_y, correlation = sd_x, 0.0
        dof = (2.5, 5.0, 12.0, 40.0)[(i + i // 4) % 4]
        shape = matrix(sd_x, sd_y, correlation)
        p, change = integrate(student(dof), centre, shape, [radius])
        heavy.append({"centre_mm": centre, "scale_mm2": shape, "dof": dof, "radius_mm": radius, "probability": p[0], "change": change})
        if i % 14 == 3:
            witness.append(abs(cartesian(student(dof), centre, shape, radius) - p[0]))
    return gauss, heavy, max(witness)


def scores():
    random = np.random.default_rng(SEED + 1)
    cases = []
    for i in range(40):
        sd_x = float((20, 27, 36, 48, 65, 87, 117, 158, 213, 400)[i % 10])
        sd_y = float(np.round(min(400.0, max(20.0, sd_x * (1.0, 0.6, 1.5, 1.0)[i // 10])), 1))
        correlation = (0.0, -0.8, 0.5, 0.8, -0.4)[(i + i // 10) % 5]
        reach = (0.0, 35.0, 90.0, 180.0, 320.0, 500.0)[(i + i // 6) % 6]
        turn = random.uniform(0, 2 * math.pi)
        centre = [float(np.round(reach * math.cos(turn), 1)), float(np.round(reach * math.sin(turn), 1))]
        shape = matrix(sd_x, sd_y, correlation)
        values = {}
        for shaft in (5.5, 9.3):
            p, change = integrate(normal, centre, shape, ZONES + shaft / 2)
            values[shaft] = (p, change)
        cases.append(
            {
                "centre_mm": centre,
                "sd_mm": [sd_x, sd_y],
                "correlation": correlation,
                "cov_mm2": shape,
                "by_shaft": [
                    # Ten nested circles, one point each: the expected score is the sum of their probabilities.
                    {"shaft_diameter_mm": shaft, "circle_probabilities": p, "expected_score": math.fsum(p), "change": change}
                    for shaft, (p, change) in values.items()
                ],
            }
        )
    return cases


if __name__ == "__main__":
    round_cases, worst_round = isotropic()
    gauss, heavy, worst_witness = areas()
    assert worst_round < 1e-10 and worst_witness < 1e-10, (worst_round, worst_witness)
    refs_io.write(
        "score_circle.json",
        {
            "source": "score_circle.py, SciPy 1.17.1 ncx2 and dblquad, NumPy 2.4.6; invented data",
            "method": "ncx2.cdf for the isotropic normal; polar area integrals of the density for the rest; no boundary integral",
            "command": "OMP_NUM_THREADS=1 python crates/checks/scripts/score_circle.py",
            "precision": "area integrals to 1e-13 absolute and 1e-11 relative (see `change`); expected scores to 1e-12",
            "agreement": {
                "ncx2_against_area_worst_relative": worst_round,
                "area_against_dblquad_worst_absolute": worst_witness,
            },
            "notes": {
                "scale_mm2": "shape matrix of the t, not its covariance",
                "circle": "centred on the origin; centre_mm is the centre of the distribution",
                "face": "zone radii 61..610 mm by 61, scores 10..1; circles have the shaft radius added",
            },
            "isotropic_normal": round_cases,
            "normal": gauss,
            "student_t": heavy,
            "zone_radii_mm": ZONES,
            "expected_score": scores(),
        },
    )
