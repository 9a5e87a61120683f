"""Writes a stored reference: one JSON file in ../refs, innermost lists on one line, floats as their shortest
decimal form that reads back to the same double."""

import json
import re
from pathlib import Path

REFS = Path(__file__).resolve().parent.parent / "refs"
NUMBER_LIST = re.compile(r"\[\s+((?:[^\[\]{}\"]|\"[^\"\n]*\")*?)\s+\]")


def plain(value):
    """NumPy scalars and arrays as plain Python numbers and lists."""
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(item) for item in value]
    if hasattr(value, "tolist"):
        return value.tolist()
    return value


def write(name, document):
    for key in ("source", "method", "command", "precision"):
        assert key in document, f"{name}: no {key}"
    text = json.dumps(plain(document), indent=1, allow_nan=False)
    text = NUMBER_LIST.sub(lambda found: "[" + re.sub(r"\s*\n\s*", " ", found.group(1)) + "]", text)
    assert json.loads(text) == plain(document)
    REFS.mkdir(exist_ok=True)
    (REFS / name).write_text(text + "\n")
