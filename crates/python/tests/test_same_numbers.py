"""The same numbers as the program, to the last digit: what is compared is equal, not close."""

import json
import random

import pytest

import goldward
from conftest import objects, rows

FACES = ["122", "80", "80-6", "40", "40-3v"]


def group(rng):
    """A group as a line of the batch: any settings, any kind of shot."""
    face = rng.choice(FACES)
    line = {"distance_m": rng.choice([18, 30, 50.5, 70, 90]), "face": face}
    for key, low, high in [
        ("spread_mrad", 0.8, 6),
        ("worth", 1, 40),
        ("trust", 0.05, 30),
        ("shaft_mm", 3, 9),
        ("eye_to_pin_mm", 600, 1000),
        ("setting_sd_mm", 0, 0.3),
        ("touch_cost_points", 0, 2),
    ]:
        if rng.random() < 0.5:
            line[key] = rng.uniform(low, high)
    if rng.random() < 0.5:
        line["click_mm"] = [rng.uniform(0.05, 0.5), rng.uniform(0.05, 0.5)]
    if rng.random() < 0.5:
        line["shots_left"] = rng.randrange(0, 72)
    if rng.random() < 0.3:
        line["moved_mm"] = [rng.uniform(-80, 80), rng.uniform(-80, 80)]
    if rng.random() < 0.1:
        line["match"] = {"by": rng.choice(["sets", "total"]), "mine": [27, 28], "theirs": [rng.randrange(20, 30), "19/2"]}
    size, (x, y) = rng.uniform(5, 120), (rng.gauss(0, 60), rng.gauss(0, 60))
    shots = []
    for i in range(rng.choice([1, 2, 3, 3, 6, 6, 6, 7, 12])):
        if rng.random() < 0.15:
            shot = {"call": rng.choice(["X", "9@4:30", "8@11", "7@2", "6", "M"])}
        else:
            shot = {"x_mm": rng.gauss(x, size), "y_mm": rng.gauss(y, size)}
        if rng.random() < 0.2:
            shot["felt"] = rng.choice(["good", "bad"])
        shots.append(shot)
    if rng.random() < 0.5:
        for i, shot in enumerate(shots):
            shot["end"] = 1 + i // 3
    return {**line, "shots": shots}


def test_readings_of_a_batch(program):
    rng = random.Random(18)
    groups = [group(rng) for _ in range(240)]
    # What cannot be read is told in the same words, and costs no other group.
    groups[7]["distance_m"] = 0
    groups[11]["shots"][0] = {"x_mm": 3.0}
    groups[13]["face"] = "nine"
    groups[17]["shots"] = []
    groups[19]["shots"][0] = {"call": "12@3"}
    text = "".join(json.dumps(g) + "\n" for g in groups)
    want = objects(program("read", "--batch", text=text, code=1))
    got = goldward.read_batch(groups, errors="keep")
    refused = 0
    for i, (w, g) in enumerate(zip(want, got)):
        if "error" in w:
            assert str(g) == f"groups[{i}]: {w['error']}"
            refused += 1
        else:
            assert g.to_dict() == w, i
    assert len(want) == len(got) == 240 and refused >= 5
    # On any number of threads.
    assert goldward.read_batch(groups[20:80], errors="keep", threads=1) == got[20:80]
    assert goldward.read_batch(groups[20:80], errors="keep", threads=3) == got[20:80]


def test_rehearsals(program):
    want = json.loads(
        program("pace", "--distance", 70, "--face", 122, "--spread", "2.1mrad", "--round", "6x6", "--sighting", "2x6",
                "--rounds", 130, "--seed", 7, "--json")
    )
    told = goldward.rehearse(distance_m=70, face="122", spread_mrad=2.1, round="6x6", sighting="2x6", rounds=130, seed=7)
    assert told.to_dict() == want
    want = json.loads(
        program("pace", "--distance", 18, "--face", "40-3v", "--trust", "verified", "--round", "5x3", "--flyers", "3%",
                "--drift", "0.2mrad", "--offset", "12mm", "--click-on-face", "2mm", "--rules", "goldward,never,every-six",
                "--rounds", 70, "--json")
    )
    told = goldward.rehearse(
        distance_m=18, face="40-3v", trust=10, round="5x3", flyers=0.03, drift_mrad_per_end=0.2, first_offset_mm=12,
        click_on_face_mm=2, rules=["goldward", "never", "every-six"], rounds=70, threads=3,
    )
    assert told.to_dict() == want
    assert [r.rule for r in told.rules] == ["goldward", "never", "every-six"]


def test_rehearsals_of_matches(program):
    at = ("match", "--distance", 70, "--face", 122, "--spread", "2.1mrad")
    want = json.loads(program(*at, "--trust", 1, "--opponent", 8.8, "--rehearse", 90, "--seed", 5, "--json"))
    told = goldward.rehearse_matches(
        distance_m=70, face="122", spread_mrad=2.1, trust=1, match={"by": "sets", "opponent_arrow": 8.8}, matches=90, seed=5,
    )
    assert told.to_dict() == want
    want = json.loads(program(*at, "--by", "total", "--ends", "4x3", "--rehearse", 70, "--json"))
    told = goldward.rehearse_matches(
        distance_m=70, face="122", spread_mrad=2.1, match={"by": "total", "ends": 4, "shots_per_end": 3}, matches=70, threads=3,
    )
    assert told.to_dict() == want


MARKS = {
    "marks": [
        {"distance_m": 18, "reading_mm": 14.9, "arrows": 12},
        {"distance_m": 30, "reading_mm": 18.7, "sd_mm": 0.2},
        {"distance_m": 50, "reading_mm": 32.9, "slope_deg": 2.5},
    ],
    "eye_to_pin_mm": 880,
    "eye_above_arrow_mm": 115,
    "eye_above_arrow_sd_mm": 3,
    "spread_mrad": 2.2,
    "arrow": {"mass_g": 21, "diameter_mm": 5.5, "speed_m_s": 60, "speed_sd_m_s": 2},
    "air": {"temperature_c": 24, "humidity": 0.4},
    "predict_m": [20, 25.5, 40, 70],
}


def test_marks(program):
    want = json.loads(program("marks", "predict", "--json", "-", text=json.dumps(MARKS)))
    asked = dict(MARKS)
    told = goldward.predict_marks(asked.pop("marks"), asked.pop("predict_m"), **asked)
    assert told.to_dict() == want
    assert told.predicted[-1].extrapolated and told.predicted[-1].distance_m == 70


def test_arrows(program, demo):
    files = [demo / "arrows-may.csv", demo / "arrows-june.csv"]
    want = json.loads(program("fleet", *files, "--distance", 70, "--json"))
    sessions = [
        [{k: row[k] for k in ("x_mm", "y_mm", "end", "arrow", "felt") if k in row} for row in rows(f)] for f in files
    ]
    assert goldward.fleet(sessions, distance_m=70).to_dict() == want
    want = json.loads(program("fleet", *files, "--distance", "70,50", "--amount", "0.5mrad", "--fdr", "5%", "--json"))
    told = goldward.fleet(sessions, distances_m=[70, 50], amount_mrad=0.5, fdr=0.05)
    assert told.to_dict() == want
    assert {a.arrow for a in told.arrows} >= {"7"}


@pytest.mark.parametrize("kind", ["pandas", "polars"])
def test_arrows_of_a_data_frame(program, demo, kind):
    frames = pytest.importorskip(kind)
    files = [demo / "arrows-may.csv", demo / "arrows-june.csv"]
    want = json.loads(program("fleet", *files, "--distance", 70, "--json"))
    tables = [frames.read_csv(f) for f in files]
    if kind == "pandas":
        whole = frames.concat([t.assign(day=i) for i, t in enumerate(tables)])
    else:
        whole = frames.concat([t.with_columns(frames.lit(i).alias("day")) for i, t in enumerate(tables)], how="diagonal_relaxed")
    assert goldward.fleet(whole, by="day", distance_m=70).to_dict() == want
