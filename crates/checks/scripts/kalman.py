"""Steady state of a scalar Kalman filter, by FilterPy, for the drift of a group's centre between ends.

Method: FilterPy's KalmanFilter is run for 400 ends of 6 shots (random walk between ends, none within), and the variance of
the state before each of the six shots of the last end is kept. Goldward's recursion is another one: it works on the
variance in units of a spread that it also learns.

Versions: Python 3.11.7, filterpy 2.0.0, numpy 2.4.6.
Command: python kalman.py
"""

import numpy as np
from filterpy.kalman import KalmanFilter

from refs_io import write


def before_shots(spread: float, drift: float, first: float) -> list[float]:
    kf = KalmanFilter(dim_x=1, dim_z=1)
    kf.x = np.zeros((1, 1))
    kf.F = np.eye(1)
    kf.H = np.eye(1)
    kf.P = np.array([[first * first]])
    kf.R = np.array([[spread * spread]])
    kf.Q = np.zeros((1, 1))
    seen = []
    for _ in range(400):
        seen = []
        for _ in range(6):
            seen.append(float(kf.P[0, 0]))
            kf.update(np.zeros((1, 1)))
        kf.predict(Q=np.array([[drift * drift]]))
    return seen


def main() -> None:
    cases = []
    for spread, drift, first in [(60.0, 25.0, 30.0), (150.0, 10.0, 150.0), (300.0, 25.0, 60.0), (20.0, 2.0, 5.0)]:
        cases.append(
            {"spread_mm": spread, "drift_mm": drift, "first_mm": first, "variance_before_shot_mm2": before_shots(spread, drift, first)}
        )
    write(
        "kalman.json",
        {
            "source": "FilterPy 2.0.0, scalar random walk observed with noise",
            "method": "400 ends of six updates, a prediction between ends",
            "command": "python kalman.py",
            "precision": "double precision, steady to 1e-12",
            "cases": cases,
        },
    )


if __name__ == "__main__":
    main()
