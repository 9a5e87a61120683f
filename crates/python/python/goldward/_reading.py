"""Readings: of one group, of many, and of the groups of a data frame."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from typing import TYPE_CHECKING, Any, Literal, Optional, Union, overload

from . import _native, _settings, _shots
from ._answers import Reading

if TYPE_CHECKING:
    from typing_extensions import Unpack

    from ._settings import Settings

_Moved = Optional[tuple[float, float]]


def read(shots: Any, *, moved_mm: _Moved = None, **settings: Unpack[Settings]) -> Reading:
    """Reads one group.

    Parameters
    ----------
    shots
        Oldest first, 1 to 144: an array of shape ``(n, 2)`` with x and y in millimetres on the face, a list of ``(x, y)``, of calls
        such as ``"9@4:30"``, or of dicts with ``x_mm`` and ``y_mm`` or ``call``, and ``felt`` and ``end``; or a data frame with
        columns of these names. They stand in the frame of the present setting of the sight.
    moved_mm
        What touches since the setting that ``trust`` speaks of have moved the arrows by on the face, right and up, in millimetres.
    settings
        See ``Settings``; ``distance_m`` and ``face`` are needed.

    Returns
    -------
    Reading
        Centre, spread, classes of the shots, pattern, and the advice: number for number what ``goldward read --batch`` answers.

    Raises
    ------
    ValueError
        Names the place and what to do.
    """
    (answer,) = _read([("shots", shots, {}, moved_mm)], dict(settings), 1)
    if isinstance(answer, ValueError):
        raise answer
    return answer


@overload
def read_batch(
    groups: Iterable[Any], *, threads: int = 0, errors: Literal["raise"] = "raise", **settings: Unpack[Settings]
) -> list[Reading]: ...
@overload
def read_batch(
    groups: Iterable[Any], *, threads: int = 0, errors: Literal["keep"], **settings: Unpack[Settings]
) -> list[Union[Reading, ValueError]]: ...
def read_batch(
    groups: Iterable[Any],
    *,
    threads: int = 0,
    errors: Literal["raise", "keep"] = "raise",
    **settings: Unpack[Settings],
) -> Any:
    """Reads many groups on all cores, without holding Python's lock.

    Parameters
    ----------
    groups
        Each a group as ``read`` takes it, so also one array of shape ``(groups, n, 2)``; or a dict with ``shots``, and beside it ``moved_mm`` and
        settings of its own, which stand above those of the call: the object of a line of ``goldward read --batch``.
    threads
        How many; 0 is one a core.
    errors
        ``"raise"`` raises the first error; ``"keep"`` puts each in the place of its reading and answers the rest.
    settings
        See ``Settings``, for every group that does not say otherwise.

    Returns
    -------
    list of Reading
        In the order of the groups.
    """
    if errors not in ("raise", "keep"):
        raise ValueError(f"errors: {errors!r} is neither 'raise' nor 'keep'")
    jobs: list[_Job] = []
    for i, group in enumerate(groups):
        at = f"groups[{i}]"
        if isinstance(group, Mapping):
            if "shots" not in group:
                raise ValueError(f"{at}: the group has no shots: give {{'shots': [...]}}")
            own = {k: v for k, v in group.items() if k not in ("shots", "moved_mm", "schema")}
            jobs.append((f"{at}.shots", group["shots"], own, group.get("moved_mm")))
        else:
            jobs.append((at, group, {}, None))
    answers = _read(jobs, dict(settings), threads)
    if errors == "raise":
        for answer in answers:
            if isinstance(answer, ValueError):
                raise answer
    return answers


def read_by(frame: Any, by: str, *, threads: int = 0, **settings: Unpack[Settings]) -> dict[Hashable, Reading]:
    """Reads the groups of a data frame, of pandas or polars or any that is asked by the names of its columns.

    Parameters
    ----------
    frame
        One row a shot, oldest first, with the columns ``x_mm`` and ``y_mm`` (millimetres) or ``call``, and ``felt`` and ``end`` if it has
        them; other columns are left alone.
    by
        The column that tells the groups apart.

    Returns
    -------
    dict
        For each value of that column, in the order in which they first stand there, the reading of its rows.
    """
    if not _shots.is_frame(frame):
        raise ValueError(f"frame: a {type(frame).__name__} is no data frame: give one of pandas or polars, or use read_batch")
    if by not in _shots.names_of(frame):
        raise ValueError(f"by: there is no column {by!r}: the columns are {', '.join(_shots.names_of(frame))}")
    groups: dict[Hashable, list[dict[str, Any]]] = {}
    for key, row in zip(_shots.column_of(frame, by), _shots.rows_of("frame", frame)):
        groups.setdefault(key, []).append(row)
    jobs: list[_Job] = [(f"{by} {key!r}", rows, {}, None) for key, rows in groups.items()]
    out: dict[Hashable, Reading] = {}
    for key, answer in zip(groups, _read(jobs, dict(settings), threads)):
        if isinstance(answer, ValueError):
            raise answer
        out[key] = answer
    return out


_Job = tuple[str, Any, Mapping[str, Any], Any]


def _read(jobs: list[_Job], common: Mapping[str, Any], threads: int) -> list[Union[Reading, ValueError]]:
    if threads < 0 or threads > 256:
        raise ValueError(f"threads: {threads} cannot be: give 1 to 256, or 0 for one a core")
    common = _settings.known(common)
    base = _settings.text(common)
    texts, numbers = [base], {base: 0}
    shots = _shots.Shots()
    lengths: list[int] = []
    which: list[int] = []
    moved: list[_Moved] = []
    wrong: dict[int, ValueError] = {}
    for i, (at, data, own, pair) in enumerate(jobs):
        before = len(shots)
        try:
            lengths.append(_shots.add(shots, at, data))
            moved.append(_moved(at, pair))
            text = base if not own else _settings.text({**common, **_settings.known(own)})
        except ValueError as error:
            # What was begun of it is read with nothing else, and its answer dropped.
            del lengths[i:], moved[i:]
            lengths.append(len(shots) - before)
            moved.append(None)
            wrong[i], text = error, base
        which.append(numbers.setdefault(text, len(texts)))
        if numbers[text] == len(texts):
            texts.append(text)
    answers = _native.read(texts, which, lengths, shots.columns(), moved, threads)
    out: list[Union[Reading, ValueError]] = []
    for i, answer in enumerate(answers):
        if i in wrong:
            out.append(wrong[i])
        elif isinstance(answer, str):
            # A group of a batch is named, since the rest of the message stands within it.
            at = jobs[i][0].removesuffix(".shots")
            out.append(ValueError(answer if at == "shots" else f"{at}: {answer}"))
        else:
            out.append(Reading.of(answer))
    return out


def _moved(at: str, pair: Any) -> _Moved:
    if pair is None:
        return None
    values = _settings.plain("moved_mm", pair)
    if not isinstance(values, list) or len(values) != 2:
        raise ValueError(f"{at}: moved_mm: {pair!r} is no shift: give (right, up) in millimetres")
    return float(values[0]), float(values[1])
