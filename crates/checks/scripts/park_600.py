"""The spread behind a score of 600 at 70 m -> ../refs/park_600.json

What:     expected total of a 720 round (72 arrows, 70 m, 122 cm face) for an isotropic normal group centred on the gold, with
          standard deviation 107 mm and a shaft of no width, and with 107.6 mm and a shaft of 5.5 mm; and the standard
          deviations at which the total is exactly 600. The figure of about 107 mm for a score of about 600 is J. Park's
          published relation, quoted from memory and not looked up.
Method:   the sum over zones k = 1..10 of scipy.stats.ncx2.cdf((61 k + shaft / 2)^2 / sigma^2, 2, 0), times 72; checked against
          1 - exp(-R^2 / (2 sigma^2)). The spread for 600 by scipy.optimize.brentq.
Versions: Python 3.11.7, NumPy 2.4.6, SciPy 1.17.1 (requirements.txt)
Command:  OMP_NUM_THREADS=1 python crates/checks/scripts/park_600.py
"""

import math

from scipy.optimize import brentq
from scipy.stats import ncx2

import refs_io

ARROWS = 72


def total(sigma_mm, shaft_mm):
    radii = [61.0 * k + shaft_mm / 2 for k in range(1, 11)]
    chances = [float(ncx2.cdf((r / sigma_mm) ** 2, 2, 0)) for r in radii]
    assert all(abs(p + math.expm1(-0.5 * (r / sigma_mm) ** 2)) < 1e-14 for p, r in zip(chances, radii))
    return ARROWS * math.fsum(chances)


if __name__ == "__main__":
    cases = []
    for sigma, shaft in ((107.0, 0.0), (107.6, 5.5)):
        exact = brentq(lambda s: total(s, shaft) - 600.0, 50.0, 300.0, xtol=1e-12, rtol=1e-15)
        cases.append(
            {
                "sigma_mm": sigma,
                "sigma_mrad": sigma / 70.0,
                "shaft_diameter_mm": shaft,
                "expected_total": total(sigma, shaft),
                "sigma_for_600_mm": exact,
            }
        )
    refs_io.write(
        "park_600.json",
        {
            "source": "park_600.py, SciPy 1.17.1 ncx2; the relation is J. Park's, quoted from memory and not looked up",
            "method": "sum of circle probabilities by ncx2.cdf; root by brentq",
            "command": "OMP_NUM_THREADS=1 python crates/checks/scripts/park_600.py",
            "precision": "totals to 1e-11 points, spreads to 1e-11 mm",
            "distance_m": 70.0,
            "arrows": ARROWS,
            "zone_radii_mm": [61.0 * k for k in range(1, 11)],
            "cases": cases,
        },
    )
