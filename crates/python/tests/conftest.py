"""What the tests share: the program that the package is held against, and its demo."""

import csv
import json
import os
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture(scope="session")
def program():
    """Runs the program; the text it prints."""
    path = os.environ.get("GOLDWARD_PROGRAM", str(ROOT / "target/debug/goldward"))

    def run(*words, text="", code=0):
        done = subprocess.run([path, *map(str, words)], input=text, capture_output=True, text=True)
        assert done.returncode == code, done.stderr
        return done.stdout

    return run


@pytest.fixture(scope="session")
def demo(program, tmp_path_factory):
    """The folder of the invented club evening."""
    folder = tmp_path_factory.mktemp("demo")
    program("demo", folder)
    return folder


def rows(path):
    """The rows of a session's file; the empty cells are left out."""
    with open(path, newline="") as file:
        return [{k: v for k, v in row.items() if v} for row in csv.DictReader(file)]


def objects(text):
    return [json.loads(line) for line in text.splitlines()]
