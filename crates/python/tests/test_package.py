"""The package itself: types, texts, the lock, and that nothing else is needed."""

import dataclasses
import doctest
import inspect
import pickle
import re
import subprocess
import sys
import threading
from pathlib import Path

import pytest

import goldward
from conftest import ROOT
from goldward import _answers

PLACES = [(-60, 112), (-20, 150), (-75, 95)]
AT = {"distance_m": 70, "face": "122"}


def answers():
    kinds = [getattr(goldward, name) for name in goldward.__all__]
    return [k for k in kinds if inspect.isclass(k) and issubclass(k, _answers.Answer)]


def test_examples_of_the_docstrings_run():
    result = doctest.testmod(goldward)
    assert result.attempted >= 3 and result.failed == 0


def test_every_public_thing_is_described():
    for name in goldward.__all__:
        thing = getattr(goldward, name)
        if callable(thing):
            assert inspect.getdoc(thing), name


def test_every_key_is_described_in_the_document():
    text = (ROOT / "docs/formats.md").read_text()
    for kind in answers():
        for field in dataclasses.fields(kind):
            name = field.name.removesuffix("_interval")
            assert re.search(rf'[`".]{name}(_interval)?[`".]', text), (kind, field.name)


def test_answers_go_through_plain_objects_and_pickles():
    reading = goldward.read(PLACES, **AT)
    assert goldward.Reading.of(reading.to_dict()) == reading
    assert pickle.loads(pickle.dumps(reading)) == reading
    with pytest.raises(dataclasses.FrozenInstanceError):
        reading.shots = 4
    # Changing the plain object does not change the answer.
    reading.to_dict()["centre_mm"][0] = 0.0
    assert goldward.read(PLACES, **AT) == reading


def test_the_lock_is_let_go_while_rounds_are_played():
    done, ticks = threading.Event(), 0

    def play():
        goldward.rehearse(rounds=400, threads=1, **AT)
        done.set()

    worker = threading.Thread(target=play)
    worker.start()
    # Whoever held the lock would let nobody else count.
    while not done.wait(0.002):
        ticks += 1
    worker.join()
    assert ticks > 20


def test_threads_do_not_disturb_each_other():
    groups = [[(x + i, y - i) for x, y in PLACES] for i in range(60)]
    want = goldward.read_batch(groups, **AT)
    got = [None] * 4

    def work(k):
        got[k] = goldward.read_batch(groups, **AT)

    workers = [threading.Thread(target=work, args=(k,)) for k in range(4)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    assert got == [want] * 4


def test_faces_and_rules_are_named(program):
    told = program("face")
    assert goldward.faces() and all(name in told for name in goldward.faces())
    assert {"goldward", "never", "every-three"} <= set(goldward.rules())


def test_types_hold():
    package = Path(goldward.__file__).parent
    assert (package / "py.typed").exists()
    uses = Path(__file__).parent / "uses.py"
    checked = subprocess.run(
        [sys.executable, "-m", "mypy", "--strict", "-p", "goldward"], capture_output=True, text=True
    )
    assert checked.returncode == 0, checked.stdout
    checked = subprocess.run([sys.executable, "-m", "mypy", "--strict", str(uses)], capture_output=True, text=True)
    assert checked.returncode == 0, checked.stdout
    stubs = subprocess.run([sys.executable, "-m", "mypy.stubtest", "goldward._native"], capture_output=True, text=True)
    assert stubs.returncode == 0, stubs.stdout
