"""What pandas reads from a log's CSV and JSON Lines, and the CSV that it writes itself.

Method: pandas reads `../tests/pandas/log.csv` and `log.jsonl`, which `../tests/pandas.rs` writes, told which columns are texts and whole numbers, and that empty cells are the only missing ones. Each cell goes
into `read.json` (numbers as Python prints them, which read back to the same double), the table into `written.csv`.

Versions: Python 3.11.7, pandas 3.1.1, numpy 2.4.6.
Command: python crates/journal/scripts/log_pandas.py
"""

import io
import json
from pathlib import Path

import pandas as pd

FOLDER = Path(__file__).resolve().parent.parent / "tests" / "pandas"
# Columns whose cells are texts even where they look like numbers.
TEXTS = ["id", "archer", "device", "kind", "session", "call", "felt", "arrow", "face", "round", "kit", "mark", "proven"]
TEXTS += ["name", "hand", "about", "text", "was", "later_json"]
# Whole numbers, with a type that knows missing cells.
WHOLE = ["end", "index", "at_ms", "after_end", "after_index", "card_points", "sighting_ends", "ends", "shots_per_end"]
WHOLE += ["shots", "points", "verified_at_ms"]


def plain(value):
    if hasattr(value, "item"):
        value = value.item()
    return value


def unescape(value):
    return value[1:] if isinstance(value, str) and value.startswith("\\") else value


def main() -> None:
    types = {name: "str" for name in TEXTS} | {name: "Int64" for name in WHOLE}
    table = pd.read_csv(FOLDER / "log.csv", dtype=types, keep_default_na=False, na_values=[""])
    told = table.notna()
    csv = [
        {name: unescape(plain(table.at[i, name])) for name in table.columns if told.at[i, name]} for i in table.index
    ]

    lines = (FOLDER / "log.jsonl").read_text(encoding="utf-8").splitlines(keepends=True)
    assert json.loads(lines[0]) == {"format": "goldward-log", "schema": 1}
    records = pd.read_json(
        io.StringIO("".join(lines[1:])), lines=True, dtype=False, precise_float=True
    )
    rows = []
    for record in records.itertuples():
        row = {"schema": plain(record.schema), "id": record.id, "archer": record.archer} | record.stamp
        (kind, body), = record.body.items()
        if record.schema > 1:
            row |= {"kind": "later", "later_json": json.dumps(record.body, separators=(",", ":"), sort_keys=True)}
        else:
            row |= {"kind": kind} | body
        rows.append(row)

    document = {
        "source": "pandas 3.1.1 reading log.csv and log.jsonl of this folder",
        "method": "read_csv and read_json, doubles read exactly; texts and whole numbers of the CSV told by column",
        "command": "python crates/journal/scripts/log_pandas.py",
        "precision": "exact",
        "csv": csv,
        "jsonl": rows,
    }
    text = json.dumps(document, indent=1, allow_nan=False, ensure_ascii=False)
    (FOLDER / "read.json").write_text(text + "\n", encoding="utf-8")
    table.to_csv(FOLDER / "written.csv", index=False, lineterminator="\n")


if __name__ == "__main__":
    main()
