"""True sight marks of simulated archers by an independent integrator -> ../refs/marks_flights.json

What:     for archers drawn from a wide population, and for one named reference archer, how far the pin sits below the line
          through the eye parallel to the arrow (mm) when the arrow meets the line of sight at each of a list of distances;
          and the launch angles for one archer at short range, where the mark turns back.
Method:   flight_scipy.py's integrator and root search. The pin lies on the line from the eye to the target; the bar turns with
          the arrow, so its offset is the eye-to-pin distance times the tangent of the angle between arrow and line of sight.
          The population: every number uniform and independent, wider than any club: speed 45 to 75 m/s, mass 16 to 28 g,
          shaft 4.5 to 9.3 mm, drag coefficient 1.3 to 2.6, eye to pin 700 to 950 mm, eye above the arrow 95 to 135 mm; one
          in four has a coefficient that goes from laminar (1.3 to 1.7) to turbulent (2.1 to 2.6) at a Reynolds number of
          1.5e4 to 2.5e4 over 0.08 of its logarithm. Air of 1.2 kg/m3. Random numbers: numpy default_rng(70).
Versions: Python 3.11.7, NumPy 2.4.6, SciPy 1.17.1 (requirements.txt)
Command:  OMP_NUM_THREADS=1 python crates/checks/scripts/marks_flights.py
"""

import numpy as np

import refs_io
from flight_scipy import DENSITY, VISCOSITY, constant, solve, transition

DISTANCES = [10.0, 18.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 70.0, 90.0]
SHORT = [2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 12.0, 15.0, 18.0]
ARCHERS = 240


def pin_mm(archer, distance, slope=0.0):
    drag = archer["drag"]
    case = {
        **archer,
        "law": constant(*drag) if len(drag) == 1 else transition(*drag),
        "slope_rad": slope,
        "tail_m_s": 0.0,
        "right_m_s": 0.0,
        "distance_m": distance,
    }
    return archer["eye_to_pin_mm"] * np.tan(solve(case))


def draw(random, i):
    u = random.uniform
    archer = {
        "speed_m_s": u(45.0, 75.0),
        "mass_g": u(16.0, 28.0),
        "diameter_mm": u(4.5, 9.3),
        "drag": [u(1.3, 2.6)],
        "eye_to_pin_mm": u(700.0, 950.0),
        "eye_above_arrow_mm": u(95.0, 135.0),
    }
    if i % 4 == 3:
        archer["drag"] = [u(1.3, 1.7), u(2.1, 2.6), u(1.5e4, 2.5e4), 0.08]
    return archer


def main():
    reference = {
        "speed_m_s": 57.0,
        "mass_g": 21.0,
        "diameter_mm": 5.5,
        "drag": [1.95],
        "eye_to_pin_mm": 880.0,
        "eye_above_arrow_mm": 115.0,
    }
    slopes = [[40.0, 0.4], [40.0, -0.4], [55.0, 0.25], [25.0, -0.6]]
    random = np.random.default_rng(70)
    archers = [draw(random, i) for i in range(ARCHERS)]
    refs_io.write(
        "marks_flights.json",
        {
            "source": "Newton's equation with quadratic drag, seen from a sight on a bar that turns with the arrow",
            "method": "scipy solve_ivp (DOP853, rtol 1e-12) and brentq, as flight_scipy.py",
            "command": "OMP_NUM_THREADS=1 python crates/checks/scripts/marks_flights.py",
            "precision": "1e-7 mm",
            "density_kg_m3": DENSITY,
            "viscosity_pa_s": VISCOSITY,
            "distances_m": DISTANCES,
            "reference": {
                **reference,
                "pin_mm": [pin_mm(reference, d) for d in DISTANCES],
                "short_m": SHORT,
                "short_pin_mm": [pin_mm(reference, d) for d in SHORT],
                "sloped": [[d, slope, pin_mm(reference, d, slope)] for d, slope in slopes],
            },
            "archers": [{**a, "pin_mm": [pin_mm(a, d) for d in DISTANCES]} for a in archers],
        },
    )


if __name__ == "__main__":
    main()
