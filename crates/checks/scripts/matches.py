"""Matches by plain simulation -> ../refs/matches.json

What:     chances to win set matches (at most five sets of three, two points and one each, first to six, one arrow each nearest to the centre)
          and matches by the sum of fifteen arrows, from several standings, for archers whose arrows are round normals on the 122 cm face.
          Three kinds: every arrow drawn by itself; the sight off by one error for the whole match; and that error replaced by a smaller one
          before a later end ("touch").
Method:   NumPy draws every arrow of every match, scores it by its distance and plays the match out. No formula of the project is used.
          The standard error of each chance is stored beside it.
Versions: Python 3.11, NumPy 2 (requirements.txt)
Command:  python crates/checks/scripts/matches.py
"""

import numpy as np

import refs_io

MATCHES = 400_000
SHAFT = 2.75
RADII = 61.0 * np.arange(1, 11) + SHAFT


def value(radius):
    """Ten inside the inmost circle, nothing beyond the outmost."""
    return np.where(radius > RADII[-1], 0, 10 - np.searchsorted(RADII, radius))


def radii(rng, spread, centre, count):
    """Distances from the middle of the face of so many arrows a match, shape (matches, count)."""
    noise = rng.normal(size=(MATCHES, count, 2)) * spread
    return np.hypot(noise[..., 0] + centre[:, None, 0], noise[..., 1] + centre[:, None, 1])


def won(rng, case):
    """Whether each match is won."""
    ends, arrows = case["ends"], case["arrows"]
    sets = case["count"] == "sets"
    centre = rng.normal(size=(MATCHES, 2)) * case["centre_sd"] + np.array([case["off"], 0.0])
    after = rng.normal(size=(MATCHES, 2)) * case["after_sd"]
    nothing = np.zeros((MATCHES, 2))
    mine, theirs = (np.full(MATCHES, case[k]) for k in ("mine", "theirs"))
    over = np.zeros(MATCHES, bool)
    result = np.zeros(MATCHES, bool)
    for end in range(case["ends_done"], ends):
        here = after if end >= case["touch_before"] else centre
        first = end == case["ends_done"]
        shot = case["shot"] if first else [[0, 0], [0, 0]]
        a = value(radii(rng, case["spread"], here, arrows - shot[0][0])).sum(axis=1) + shot[0][1]
        b = value(radii(rng, case["other"], nothing, arrows - shot[1][0])).sum(axis=1) + shot[1][1]
        if sets:
            mine = np.where(over, mine, mine + np.where(a > b, 2, np.where(a == b, 1, 0)))
            theirs = np.where(over, theirs, theirs + np.where(b > a, 2, np.where(a == b, 1, 0)))
            done = ~over & (np.maximum(mine, theirs) >= 6) & (mine != theirs)
            result |= done & (mine > theirs)
            over |= done
        else:
            mine, theirs = mine + a, theirs + b
    done = ~over & (mine != theirs)
    result |= done & (mine > theirs)
    over |= done
    while not over.all():
        here = after if ends >= case["touch_before"] else centre
        a = radii(rng, case["spread"], here, 1)[:, 0]
        b = radii(rng, case["other"], nothing, 1)[:, 0]
        done = ~over & (np.minimum(a, b) <= RADII[-1])
        result |= done & (a < b)
        over |= done
    return result


def main():
    rng = np.random.default_rng(20)
    base = {
        "count": "sets", "ends": 5, "arrows": 3, "ends_done": 0, "mine": 0, "theirs": 0, "shot": [[0, 0], [0, 0]],
        "spread": 120.0, "other": 120.0, "off": 0.0, "centre_sd": 0.0, "after_sd": 0.0, "touch_before": 99,
    }
    total = {**base, "count": "total"}
    cases = [
        {**base, "other": 105.0},
        {**base, "other": 140.0, "ends_done": 2, "mine": 1, "theirs": 3},
        {**base, "ends_done": 3, "mine": 3, "theirs": 3, "shot": [[2, 17], [1, 10]]},
        {**base, "ends_done": 4, "mine": 4, "theirs": 4, "shot": [[0, 0], [3, 26]]},
        {**base, "spread": 400.0, "other": 500.0},
        {**base, "off": 70.0, "centre_sd": 60.0},
        {**base, "off": 70.0, "centre_sd": 60.0, "ends_done": 2, "mine": 2, "theirs": 2},
        {**base, "off": 90.0, "centre_sd": 40.0, "after_sd": 40.0, "touch_before": 1},
        {**base, "off": 90.0, "centre_sd": 40.0, "after_sd": 40.0, "touch_before": 0},
        {**total, "other": 110.0},
        {**total, "ends_done": 3, "mine": 79, "theirs": 77, "shot": [[1, 8], [2, 17]]},
        {**total, "off": 70.0, "centre_sd": 60.0},
        {**total, "off": 90.0, "centre_sd": 40.0, "after_sd": 40.0, "touch_before": 0},
    ]
    out = []
    for case in cases:
        result = won(rng, case)
        chance = result.mean()
        out.append({**case, "chance": chance, "se": float(np.sqrt(chance * (1 - chance) / MATCHES))})
    refs_io.write("matches.json", {
        "source": "our own simulation",
        "method": "plain Monte Carlo, " + str(MATCHES) + " matches a case",
        "command": "python crates/checks/scripts/matches.py",
        "precision": "standard error stored with each case",
        "cases": out,
    })


main()
