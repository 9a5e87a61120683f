"""Flights and launch angles by an independent integrator -> ../refs/flight_scipy.json

What:     for a grid of speeds, arrows, slopes, winds and distances: the launch angle above the line of sight that brings the
          arrow to the target, and time, drop, drift, impact speed, impact angle and highest point of the flight at a stated
          angle (the solved one rounded to 1e-6 rad, plus 0.002 rad so that the height is not nought); the same for a drag
          coefficient that goes from laminar to turbulent.
Method:   Newton's equation in the frame of the ground (x level towards the target, z up, y to the right), time as the
          independent variable, scipy.integrate.solve_ivp with DOP853 (rtol 1e-12, atol 1e-12), the plane of the face and
          the top of the path as events; the angle by scipy.optimize.brentq. The tested code works in the frame of the line of
          sight, with distance as the independent variable and another pair of formulae.
Versions: Python 3.11.7, NumPy 2.4.6, SciPy 1.17.1 (requirements.txt)
Command:  OMP_NUM_THREADS=1 python crates/checks/scripts/flight_scipy.py
"""

import itertools

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

import refs_io

GRAVITY = 9.80665
DENSITY, VISCOSITY = 1.2, 1.81e-5


def constant(cd):
    return lambda reynolds: cd


def transition(laminar, turbulent, middle, width):
    return lambda reynolds: laminar + (turbulent - laminar) / (1.0 + np.exp(-np.log(reynolds / middle) / width))


def fly(case, angle, top=False):
    """The state on the plane of the face, its time, and the highest point above the line of sight."""
    d = case["diameter_mm"] * 1e-3
    per_cd = DENSITY * np.pi * d * d / 8.0 / (case["mass_g"] * 1e-3)
    wind = np.array([case["tail_m_s"], case["right_m_s"], 0.0])
    slope, h, v, far = case["slope_rad"], case["eye_above_arrow_mm"] * 1e-3, case["speed_m_s"], case["distance_m"]
    sight = np.array([np.cos(slope), 0.0, np.sin(slope)])
    up = np.array([-np.sin(slope), 0.0, np.cos(slope)])
    aim = np.cos(angle) * sight + np.sin(angle) * up
    above = -np.sin(angle) * sight + np.cos(angle) * up
    drag = case["law"]

    def motion(t, state):
        through = state[3:] - wind
        speed = np.sqrt(through @ through)
        a = -per_cd * drag(DENSITY * speed * d / VISCOSITY) * speed * through
        a[2] -= GRAVITY
        return np.concatenate([state[3:], a])

    def face(t, state):
        return state[:3] @ sight - far

    face.terminal, face.direction = True, 1

    def summit(t, state):
        return state[3:] @ up

    summit.direction = -1
    start = np.concatenate([-h * above, v * aim])
    path = solve_ivp(motion, (0.0, 60.0), start, method="DOP853", rtol=1e-12, atol=1e-12, events=[face, summit])
    if not len(path.t_events[0]):
        return None
    end = path.y_events[0][0]
    tops = [s[:3] @ up for s in path.y_events[1]] + [start[:3] @ up, end[:3] @ up]
    straight = start[:3] @ up + (far - start[:3] @ sight) * np.tan(angle)
    return {
        "time_s": path.t_events[0][0],
        "height_m": end[:3] @ up,
        "drop_m": straight - end[:3] @ up,
        "drift_m": end[1],
        "impact_speed_m_s": np.linalg.norm(end[3:]),
        "impact_rad": np.arctan2(end[3:] @ up, end[3:] @ sight),
        "peak_height_m": max(tops),
    }


def solve(case):
    """The flatter launch angle that brings the arrow to the target."""
    return brentq(lambda a: fly(case, a)["height_m"], -0.02, 0.7, xtol=1e-14, rtol=1e-14)


def cases():
    arrows = [(21.0, 5.5, 1.85), (17.0, 4.5, 1.3), (28.0, 9.3, 2.6), (21.0, 5.5, 0.0)]
    slopes = [-0.45, 0.0, 0.3]
    winds = [(0.0, 0.0), (4.0, 2.5), (-6.0, -1.0)]
    for speed, (mass, diameter, cd), slope, (tail, right), far in itertools.product(
        [45.0, 60.0, 85.0], arrows, slopes, winds, [8.0, 30.0, 90.0]
    ):
        yield {
            "speed_m_s": speed,
            "mass_g": mass,
            "diameter_mm": diameter,
            "slope_rad": slope,
            "tail_m_s": tail,
            "right_m_s": right,
            "distance_m": far,
            "eye_above_arrow_mm": 115.0,
            "drag": [cd],
            "law": constant(cd),
        }
    for speed, far in itertools.product([50.0, 58.0, 66.0], [18.0, 70.0, 90.0]):
        drag = [1.3, 2.6, 2e4, 0.08]
        yield {
            "speed_m_s": speed,
            "mass_g": 21.0,
            "diameter_mm": 5.5,
            "slope_rad": 0.0,
            "tail_m_s": 0.0,
            "right_m_s": 1.5,
            "distance_m": far,
            "eye_above_arrow_mm": 115.0,
            "drag": drag,
            "law": transition(*drag),
        }


def main():
    rows = []
    for case in cases():
        angle = solve(case)
        at = round(angle, 6) + 0.002
        flown = fly(case, at)
        del case["law"]
        rows.append({**case, "angle_rad": angle, "flown_at_rad": at, **flown})
    refs_io.write(
        "flight_scipy.json",
        {
            "source": "Newton's equation with quadratic drag",
            "method": "scipy solve_ivp (DOP853, rtol 1e-12) in the frame of the ground with time as the variable; brentq",
            "command": "OMP_NUM_THREADS=1 python crates/checks/scripts/flight_scipy.py",
            "precision": "1e-10 relative",
            "density_kg_m3": DENSITY,
            "viscosity_pa_s": VISCOSITY,
            "gravity_m_s2": GRAVITY,
            "drag": "[cd], or [laminar, turbulent, Reynolds number half way, width on its logarithm]",
            "cases": rows,
        },
    )


if __name__ == "__main__":
    main()
