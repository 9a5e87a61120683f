"""Groups in whatever they come; what cannot be read is refused with its place and a remedy."""

import math

import pytest

import goldward

PLACES = [(-60.0, 112.0), (-20.5, 150.25), (-75.0, 95.0), (3.0, 80.0)]
AT = {"distance_m": 70, "face": "122", "spread_mrad": 2.1}


@pytest.fixture(scope="module")
def want():
    return goldward.read(PLACES, **AT)


def test_arrays(want):
    np = pytest.importorskip("numpy")
    array = np.array(PLACES)
    assert goldward.read(array, **AT) == want
    assert goldward.read(np.asfortranarray(array), **AT) == want
    wide = np.zeros((8, 4))
    wide[::2, 1:3] = array
    assert goldward.read(wide[::2, 1:3], **AT) == want
    assert goldward.read(array.astype(">f8"), **AT) == want
    # These places are whole quarters, so that nothing is lost.
    assert goldward.read(array.astype("float32"), **AT) == want
    whole = (array // 1).astype(int)
    assert goldward.read(whole, **AT) == goldward.read(whole.tolist(), **AT)
    batch = np.stack([array, array[::-1], -array])
    many = goldward.read_batch(batch, **AT)
    assert many[0] == want and many[2].centre_mm == pytest.approx([-c for c in want.centre_mm], abs=1e-9)
    assert goldward.read_batch([array, PLACES, [{"x_mm": x, "y_mm": y} for x, y in PLACES]], **AT) == [want] * 3
    settings = {**AT, "distance_m": np.float32(70), "shots_left": np.int64(36), "click_mm": np.array([0.1, 0.1])}
    assert goldward.read(array, **settings) == want


@pytest.mark.parametrize("kind", ["pandas", "polars"])
def test_data_frames(want, kind):
    frames = pytest.importorskip(kind)
    table = {
        "who": ["a", "b", "a", "b", "a", "a", "b"],
        "x_mm": [-60.0, None, -20.5, 4.0, -75.0, 3.0, -7.0],
        "y_mm": [112.0, None, 150.25, 5.0, 95.0, 80.0, 9.0],
        "call": [None, "8@11", None, None, None, None, None],
        "felt": ["", "bad", None, "", "", "", ""],
        "weather": ["sun"] * 7,
    }
    frame = frames.DataFrame(table)
    told = goldward.read_by(frame, "who", **AT)
    assert list(told) == ["a", "b"] and told["a"] == want
    shots = [{"call": "8@11", "felt": "bad"}, (4.0, 5.0), (-7.0, 9.0)]
    assert told["b"] == goldward.read(shots, **AT)
    with pytest.raises(ValueError, match="there is no column 'day'.*who, x_mm"):
        goldward.read_by(frame, "day", **AT)
    with pytest.raises(ValueError, match="name those of the places x_mm and y_mm"):
        goldward.read(frames.DataFrame({"x": [1.0], "y": [2.0]}), **AT)
    # Ends that a column with gaps has made to floats.
    ends = frames.DataFrame({"x_mm": [1.0, 2.0, 3.0], "y_mm": [4.0, 5.0, 9.0], "end": [1.0, 1.0, 2.0]})
    listed = [{"x_mm": x, "y_mm": y, "end": e} for x, y, e in [(1, 4, 1), (2, 5, 1), (3, 9, 2)]]
    assert goldward.read(ends, **AT) == goldward.read(listed, **AT)


def test_missing_of_pandas_is_not_told(want):
    pandas = pytest.importorskip("pandas")
    frame = pandas.DataFrame({"x_mm": [p[0] for p in PLACES], "y_mm": [p[1] for p in PLACES]})
    frame["felt"] = pandas.array([pandas.NA] * 4, dtype="string")
    frame["end"] = pandas.array([pandas.NA] * 4, dtype="Int64")
    assert goldward.read(frame, **AT) == want


@pytest.mark.parametrize(
    ("shots", "says"),
    [
        ([(1, 2, 3)], r"shots\[0\]: \(1, 2, 3\) is no shot: give \(x, y\)"),
        ([(1, 2), (math.nan, 2)], r"shots\[1\].x_mm: missing: x_mm and y_mm go together"),
        ([(1, math.inf)], r"shots\[0\].y_mm: "),
        ([("one", 2)], r"shots\[0\].x_mm: 'one' is not a number"),
        ([{"x_mm": 1, "y_mm": 2, "feel": "bad"}], r"shots\[0\]: a shot has no 'feel': it may have x_mm"),
        ([{"x_mm": 1, "y_mm": 2, "felt": "odd"}], r"shots\[0\].felt: "),
        ([{"x_mm": 1, "y_mm": 2, "end": 1.5}], r"shots\[0\].end: 1.5 is not the number of an end"),
        ([{"x_mm": 1, "y_mm": 2, "end": -1}], r"shots\[0\].end: -1"),
        ([{"x_mm": 1, "y_mm": 2, "call": "9@3"}], r"both a position and a call"),
        ([{}], r"shots\[0\]: the shot has no position: give x_mm and y_mm, or call"),
        ([], r"shots: the list is empty: give at least one"),
        ([(0, 0)] * 145, r"shots: 145 shots are more than one reading takes: keep the latest 144"),
        ("9@3", r"shots: a str holds no shots: give an array"),
        (7, r"shots: a int holds no shots"),
        (["14@3"], r"shots\[0\].call: "),
    ],
)
def test_odd_shots_are_refused(shots, says):
    with pytest.raises(ValueError, match=says):
        goldward.read(shots, **AT)
    # Beside it a good group is answered.
    kept = goldward.read_batch([PLACES, {"shots": shots}, PLACES], errors="keep", **AT)
    assert isinstance(kept[1], ValueError) and kept[0] == kept[2] == goldward.read(PLACES, **AT)


def test_an_array_of_another_shape_is_refused():
    np = pytest.importorskip("numpy")
    for shape in [(4, 3), (4,), (1, 4, 2)]:
        with pytest.raises(ValueError, match=r"give one of shape \(shots, 2\)"):
            goldward.read(np.zeros(shape), **AT)


@pytest.mark.parametrize(
    ("settings", "error", "says"),
    [
        ({"face": "122"}, ValueError, "distance_m: missing: "),
        ({"distance_m": 70}, ValueError, "face: missing: "),
        ({**AT, "face": "121"}, ValueError, "face: "),
        ({**AT, "distance_m": math.nan}, ValueError, "distance_m: nan is not a number that can be"),
        ({**AT, "distance_m": "far"}, ValueError, "distance_m: "),
        ({**AT, "spread_mrad": -1}, ValueError, "spread_mrad: "),
        ({**AT, "click_mm": 0.1}, ValueError, "click_mm: "),
        ({**AT, "shots_left": -1}, ValueError, "shots_left: "),
        ({**AT, "spread": 2}, TypeError, "there is no setting 'spread': did you mean spread_mrad?"),
        ({**AT, "face": object()}, ValueError, "face: a object is no setting"),
    ],
)
def test_odd_settings_are_refused(settings, error, says):
    with pytest.raises(error, match=says.replace("?", r"\?")):
        goldward.read(PLACES, **settings)


def test_odd_questions_are_refused():
    good = {"eye_to_pin_mm": 880, "eye_above_arrow_mm": 115, "arrow": {"mass_g": 21, "diameter_mm": 5.5}}
    mark = {"distance_m": 18, "reading_mm": 14.9}
    for says, call in [
        ("marks: the list is empty", lambda: goldward.predict_marks([], [20], **good)),
        (r"marks\[0\].reading_mm: missing", lambda: goldward.predict_marks([{"distance_m": 18}], [20], **good)),
        (r"marks\[0\]: 18 is no mark", lambda: goldward.predict_marks([18], [20], **good)),
        (r"predict_m\[0\]: ", lambda: goldward.predict_marks([mark], [0], **good)),
        ("arrow.mass_g: ", lambda: goldward.predict_marks([mark], [20], **{**good, "arrow": {"mass_g": 1e9, "diameter_mm": 5.5}})),
        ("rules: there is no rule `guess`", lambda: goldward.rehearse(rules=["guess"], rounds=10, **AT)),
        ("rounds: ", lambda: goldward.rehearse(rounds=0, **AT)),
        ("seed: ", lambda: goldward.rehearse(rounds=1, seed=-1, **AT)),
        ("round: ", lambda: goldward.rehearse(round="many", rounds=10, **AT)),
        ("sighting: ", lambda: goldward.rehearse(sighting="2x3", rounds=10, **AT)),
        ("match: a rehearsal plays rounds", lambda: goldward.rehearse(rounds=10, match={"by": "sets"}, **AT)),
        ("match.theirs: ", lambda: goldward.rehearse_matches(matches=10, match={"theirs": [27]}, **AT)),
        ("match.opponent_arrow: ", lambda: goldward.rehearse_matches(matches=10, match={"opponent_arrow": 10.5}, **AT)),
        ("matches: ", lambda: goldward.rehearse_matches(matches=0, **AT)),
        ("flyers: ", lambda: goldward.rehearse(flyers=0.7, rounds=10, **AT)),
        ("first_offset_mm: ", lambda: goldward.rehearse(first_offset_mm=-1.0, rounds=10, **AT)),
        ("sessions: there is none", lambda: goldward.fleet([], distance_m=70)),
        ("face: a call needs the face", lambda: goldward.fleet([["9@3"]], distance_m=70)),
        ("fdr: ", lambda: goldward.fleet([PLACES], fdr=0.9, distance_m=70)),
        ("distances_m: 1 distances for 2 sessions", lambda: goldward.fleet([PLACES, PLACES], distances_m=[70])),
        (r"sessions\[1\].shots\[0\].call", lambda: goldward.fleet([PLACES, ["14@1"]], distance_m=70, face="122")),
        (r"groups\[1\]: the group has no shots", lambda: goldward.read_batch([PLACES, {"distance_m": 70}], **AT)),
        ("errors: ", lambda: goldward.read_batch([PLACES], errors="drop", **AT)),
        ("threads: ", lambda: goldward.read_batch([PLACES], threads=-1, **AT)),
        ("moved_mm: ", lambda: goldward.read(PLACES, moved_mm=(1,), **AT)),
    ]:
        with pytest.raises(ValueError, match=says):
            call()


def test_nothing_is_an_empty_batch():
    assert goldward.read_batch([], **AT) == []
