"""Shots in whatever they come: arrays, sequences, rows, data frames. Nothing of numpy, pandas or polars is needed or imported."""

from __future__ import annotations

import array
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Optional, TypeVar

from ._columns import Columns

T = TypeVar("T")

COLUMNS = ("x_mm", "y_mm", "call", "felt", "end", "arrow")
_MANY = 100_000


def _empty(value: Any) -> bool:
    """Whether a cell says nothing: None, an empty text, or what data frames put where nothing is."""
    if value is None or (isinstance(value, str) and not value.strip()):
        return True
    try:
        return bool(value != value)
    except (TypeError, ValueError):
        # pandas.NA answers no question.
        return True


class Shots:
    """Shots as columns; ``at`` is where they stand, for messages."""

    __slots__ = ("x", "y", "call", "felt", "end", "arrow")

    def __init__(self) -> None:
        self.x: array.array[float] = array.array("d")
        self.y: array.array[float] = array.array("d")
        self.call: list[Optional[str]] = []
        self.felt: list[Optional[str]] = []
        self.end: list[Optional[int]] = []
        self.arrow: list[str] = []

    def __len__(self) -> int:
        return len(self.x)

    def _pad(self) -> None:
        n = len(self.x)
        for column in (self.call, self.felt, self.end):
            column.extend([None] * (n - len(column)))
        self.arrow.extend([""] * (n - len(self.arrow)))

    def add_places(self, xs: "array.array[float]", ys: "array.array[float]") -> None:
        """Adds measured places."""
        self.x.extend(xs)
        self.y.extend(ys)
        self._pad()

    def add(self, at: str, row: Mapping[str, Any]) -> None:
        """Adds one shot with the keys of a shot of the batch, and the name of its arrow."""
        for key in row:
            if key not in COLUMNS:
                raise ValueError(f"{at}: a shot has no {key!r}: it may have {', '.join(COLUMNS)}")
        self.x.append(_number(f"{at}.x_mm", row.get("x_mm")))
        self.y.append(_number(f"{at}.y_mm", row.get("y_mm")))
        self.call.append(_text(row.get("call")))
        self.felt.append(_text(row.get("felt")))
        self.end.append(_whole(f"{at}.end", row.get("end")))
        arrow = row.get("arrow")
        self.arrow.append("" if _empty(arrow) else _name(arrow))

    def columns(self) -> Columns:
        """As the native half takes them."""
        return {
            "x_mm": self.x.tobytes(),
            "y_mm": self.y.tobytes(),
            "call": _some(self.call),
            "felt": _some(self.felt),
            "end": _some(self.end),
        }


def _some(column: list[Optional[T]]) -> Optional[list[Optional[T]]]:
    return column if any(v is not None for v in column) else None


def _number(at: str, value: Any) -> float:
    if _empty(value):
        return math.nan
    try:
        return float(value)
    except (TypeError, ValueError):
        raise ValueError(f"{at}: {value!r} is not a number: give millimetres such as 12.5") from None


def _whole(at: str, value: Any) -> Optional[int]:
    if _empty(value):
        return None
    try:
        whole = int(value)
        if whole == float(value) and 0 <= whole < 2**32:
            return whole
    except (TypeError, ValueError, OverflowError):
        pass
    raise ValueError(f"{at}: {value!r} is not the number of an end: give a whole number such as 1")


def _text(value: Any) -> Optional[str]:
    return None if _empty(value) else str(value)


def _name(value: Any) -> str:
    # A column of numbers with gaps comes as floats: arrow 7.0 is arrow 7.
    if not isinstance(value, str) and float(value).is_integer():
        return str(int(value))
    return str(value).strip()


def is_frame(data: Any) -> bool:
    """Whether it is a data frame, of pandas, polars or another that is asked by the names of its columns."""
    return hasattr(data, "columns") and hasattr(data, "__getitem__") and not isinstance(data, Mapping)


def names_of(frame: Any) -> list[str]:
    """The names of its columns."""
    return [str(name) for name in frame.columns]


def column_of(frame: Any, name: str) -> list[Any]:
    """One of its columns, as Python's own values."""
    column = frame[name]
    for way in ("tolist", "to_list", "to_pylist"):
        if hasattr(column, way):
            return list(getattr(column, way)())
    return list(column)


def rows_of(at: str, frame: Any) -> list[dict[str, Any]]:
    """The shots of a data frame: those of its columns that a shot has; others are left alone."""
    names = [n for n in names_of(frame) if n in COLUMNS]
    if "call" not in names and not {"x_mm", "y_mm"} <= set(names):
        raise ValueError(
            f"{at}: the data frame has the columns {', '.join(names_of(frame)) or 'none'}: "
            "name those of the places x_mm and y_mm, or give call"
        )
    columns = [column_of(frame, n) for n in names]
    return [dict(zip(names, row)) for row in zip(*columns)]


def _buffer(at: str, data: Any) -> "Optional[tuple[array.array[float], array.array[float]]]":
    """The places of an array of shape (n, 2), without looking at each."""
    if not hasattr(data, "__array__") and not isinstance(data, memoryview):
        return None
    if hasattr(data, "astype"):
        data = data.astype("float64")
    try:
        view = memoryview(data)
    except TypeError:
        return None
    if view.ndim != 2 or view.shape is None or view.shape[1] != 2:
        shape = tuple(view.shape or ())
        raise ValueError(f"{at}: an array of shape {shape} holds no shots: give one of shape (shots, 2), x and y in millimetres")
    if view.format != "d":
        return None
    flat: array.array[float] = array.array("d")
    flat.frombytes(view.tobytes())
    return flat[0::2], flat[1::2]


def add(shots: Shots, at: str, data: Any) -> int:
    """Adds the shots of one group, in whatever they come; returns how many."""
    before = len(shots)
    if is_frame(data):
        for i, row in enumerate(rows_of(at, data)):
            shots.add(f"{at}[{i}]", row)
        return len(shots) - before
    places = _buffer(at, data)
    if places is not None:
        shots.add_places(*places)
        return len(shots) - before
    if isinstance(data, (str, bytes)) or not isinstance(data, Iterable):
        raise ValueError(
            f"{at}: a {type(data).__name__} holds no shots: give an array of shape (shots, 2), a list of (x, y), of calls or of "
            "dicts, or a data frame"
        )
    for i, shot in enumerate(data):
        if i > _MANY:
            raise ValueError(f"{at}: more than {_MANY} shots are too many: split them into groups")
        where = f"{at}[{i}]"
        if isinstance(shot, Mapping):
            shots.add(where, shot)
        elif isinstance(shot, str):
            shots.add(where, {"call": shot})
        else:
            shots.add(where, dict(zip(("x_mm", "y_mm"), _pair(where, shot))))
    return len(shots) - before


def _pair(at: str, shot: Any) -> Sequence[Any]:
    try:
        pair = list(shot)
    except TypeError:
        pair = []
    if len(pair) != 2:
        raise ValueError(f"{at}: {shot!r} is no shot: give (x, y) in millimetres, a call such as '9@4:30', or a dict")
    return pair
