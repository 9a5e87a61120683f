"""What is asked beside readings: rehearsals, sight marks, and arrow by arrow."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Optional

from . import _native, _settings, _shots
from ._answers import Fleet, Marks, MatchRehearsal, Rehearsal

if TYPE_CHECKING:
    from typing_extensions import Unpack

    from ._settings import Settings


def _whole(**numbers: Any) -> None:
    """Refuses what is no whole number of 64 bits."""
    for key, value in numbers.items():
        if not isinstance(value, int) or not 0 <= value < 2**64:
            raise ValueError(f"{key}: {value!r} cannot be: give a whole number such as 2000")


def rehearse(
    *,
    round: str = "12x6",
    sighting: Optional[str] = None,
    rules: Sequence[str] = (),
    rounds: int = 2000,
    seed: int = 1,
    first_offset_mm: Optional[float] = None,
    flyers: Optional[float] = None,
    drift_mrad_per_end: Optional[float] = None,
    click_on_face_mm: Optional[float] = None,
    threads: int = 0,
    **settings: Unpack[Settings],
) -> Rehearsal:
    """Plays the same simulated rounds under every rule for touching the sight, on all cores, without holding Python's lock.

    Parameters
    ----------
    round, sighting
        Ends and arrows an end that count, and sighting ends before them, such as ``"12x6"`` and ``"2x6"``.
    rules
        Which, of ``goldward.rules()``; all where none is named.
    rounds, seed
        How many rounds, 1 to 1 000 000, and where the random numbers start: the same seed gives the same numbers on any number of threads.
    first_offset_mm
        How far off the first setting is on the face, one standard deviation an axis; from ``trust`` unless told.
    flyers
        Share of arrows that are flyers, 0 to 0.5.
    drift_mrad_per_end
        How much the centre wanders between ends, one standard deviation an axis, in milliradians.
    click_on_face_mm
        Size of a click on the face, in place of that of the sight.
    settings
        See ``Settings``; the trust is that of a predicted mark unless told. A ``match`` is refused: rounds are played, not matches.

    Returns
    -------
    Rehearsal
        What ``goldward pace --json`` prints, number for number.
    """
    given = _settings.known(dict(settings))
    if given.get("match") is not None:
        raise ValueError("match: a rehearsal plays rounds; rehearse_matches plays matches")
    beside = {
        "first_offset_mm": first_offset_mm,
        "flyers": flyers,
        "drift_mrad_per_end": drift_mrad_per_end,
        "click_on_face_mm": click_on_face_mm,
    }
    told = {k: None if v is None else float(_settings.plain(k, v)) for k, v in beside.items()}
    wanted: Any = {
        "round": str(round),
        "sighting": None if sighting is None else str(sighting),
        "rules": [str(r) for r in rules],
        "rounds": rounds,
        "seed": seed,
        **told,
    }
    _whole(rounds=rounds, seed=seed)
    return Rehearsal.of(_native.rehearse(_settings.text(given), wanted, threads))


def rehearse_matches(
    *, matches: int = 2000, seed: int = 1, threads: int = 0, **settings: Unpack[Settings]
) -> MatchRehearsal:
    """Plays the same simulated matches under every rule for touching the sight, on all cores, without holding Python's lock.

    Parameters
    ----------
    matches, seed
        How many, 1 to 1 000 000, and where the random numbers start: the same seed gives the same numbers on any number of threads.
    settings
        See ``Settings``. Its ``match`` tells what decides and the other's average arrow (``by``, ``ends``, ``shots_per_end``, ``first_to``,
        ``opponent_arrow``); without one, five sets of three arrows against somebody as strong. The trust is that of a predicted mark
        unless told.

    Returns
    -------
    MatchRehearsal
        What ``goldward match --rehearse --json`` prints, number for number.
    """
    given = _settings.known(dict(settings))
    for key in ("mine", "theirs", "nearer"):
        if (given.get("match") or {}).get(key):
            raise ValueError(f"match.{key}: a rehearsal begins with the first end: leave the ends out")
    _whole(matches=matches, seed=seed)
    return MatchRehearsal.of(_native.rehearse_matches(_settings.text(given), matches, seed, threads))


def predict_marks(
    marks: Any,
    predict_m: Iterable[float],
    *,
    eye_to_pin_mm: float,
    eye_above_arrow_mm: float,
    arrow: Mapping[str, Any],
    air: Optional[Mapping[str, Any]] = None,
    eye_above_arrow_sd_mm: Optional[float] = None,
    spread_mrad: Optional[float] = None,
) -> Marks:
    """Fits the flight of an arrow to the marks that were shot and predicts others.

    Parameters
    ----------
    marks
        1 to 60 marks: dicts, or rows of a data frame, with ``distance_m``, ``reading_mm`` (millimetres of the scale, growing as the pin goes
        down), and if told ``arrows`` (with how many it was shot) or ``sd_mm``, and ``slope_deg``.
    predict_m
        Distances in metres.
    eye_to_pin_mm, eye_above_arrow_mm, eye_above_arrow_sd_mm
        Geometry of the sight, in millimetres.
    arrow
        ``mass_g`` and ``diameter_mm``; also ``speed_m_s`` with ``speed_sd_m_s``, or ``draw_weight_n`` with ``bow``.
    air
        ``temperature_c``, ``pressure_pa``, ``humidity`` (a share of 1).

    Returns
    -------
    Marks
        What ``goldward marks predict --json -`` answers, number for number. A predicted mark is first shot close, with a clear
        overshoot area.
    """
    if _shots.is_frame(marks):
        names = _shots.names_of(marks)
        columns = [_shots.column_of(marks, n) for n in names]
        marks = [dict(zip(names, row)) for row in zip(*columns)]
    rows = []
    for i, mark in enumerate(marks):
        if not isinstance(mark, Mapping):
            raise ValueError(f"marks[{i}]: {mark!r} is no mark: give a dict such as {{'distance_m': 18, 'reading_mm': 14.9}}")
        known = ("distance_m", "reading_mm", "sd_mm", "arrows", "slope_deg")
        row = {k: mark[k] for k in known if k in mark and not _shots._empty(mark[k])}
        if "arrows" in row:
            row["arrows"] = _shots._whole(f"marks[{i}].arrows", row["arrows"])
        rows.append({k: _settings.plain(f"marks[{i}].{k}", v) for k, v in row.items()})
    question = {
        "marks": rows,
        "predict_m": [_settings.plain("predict_m", m) for m in predict_m],
        "eye_to_pin_mm": _settings.plain("eye_to_pin_mm", eye_to_pin_mm),
        "eye_above_arrow_mm": _settings.plain("eye_above_arrow_mm", eye_above_arrow_mm),
        "eye_above_arrow_sd_mm": _settings.plain("eye_above_arrow_sd_mm", eye_above_arrow_sd_mm),
        "spread_mrad": _settings.plain("spread_mrad", spread_mrad),
        "arrow": {k: _settings.plain(f"arrow.{k}", v) for k, v in arrow.items()},
        "air": None if air is None else {k: _settings.plain(f"air.{k}", v) for k, v in air.items()},
    }
    told = {k: v for k, v in question.items() if v is not None}
    return Marks.of(_native.marks(json.dumps(told, allow_nan=False)))


def fleet(
    sessions: Any,
    *,
    by: Optional[str] = None,
    amount_mrad: Optional[float] = None,
    fdr: Optional[float] = None,
    distances_m: Optional[Sequence[float]] = None,
    **settings: Unpack[Settings],
) -> Fleet:
    """Reads the arrows apart: which lands elsewhere than the others or scatters more.

    Parameters
    ----------
    sessions
        Each with its own centre, oldest first: groups as ``read`` takes them, with ``arrow`` in each shot or row and ``end`` where it is known;
        or one data frame, with ``by`` the column that tells the sessions apart (without it, one session).
    amount_mrad
        An arrow is off when it lands further from the others than this, in milliradians; half the spread unless told.
    fdr
        How many of the arrows accused may be innocent, a share (0.1).
    distances_m
        The distance of each session, where they differ; else ``distance_m``.
    settings
        See ``Settings``; a face is needed for calls alone.

    Returns
    -------
    Fleet
        What ``goldward fleet --json`` prints, number for number.
    """
    if _shots.is_frame(sessions):
        rows = _shots.rows_of("sessions", sessions)
        if by is None:
            sessions = [rows]
        elif by not in _shots.names_of(sessions):
            raise ValueError(f"by: there is no column {by!r}: the columns are {', '.join(_shots.names_of(sessions))}")
        else:
            split: dict[Any, list[Any]] = {}
            for key, row in zip(_shots.column_of(sessions, by), rows):
                split.setdefault(key, []).append(row)
            sessions = list(split.values())
    given = _settings.known(dict(settings))
    shots, lengths = _shots.Shots(), []
    for i, session in enumerate(sessions):
        lengths.append(_shots.add(shots, f"sessions[{i}]", session))
    if not lengths:
        raise ValueError("sessions: there is none: give at least one session")
    if "face" not in given:
        if any(c is not None for c in shots.call):
            raise ValueError("face: a call needs the face it was made on: give face, or measured places")
        # Measured places need no face; the 122 cm face stands in.
        given["face"] = "122"
    distances = None if distances_m is None else [float(_settings.plain("distances_m", d)) for d in distances_m]
    if distances is not None and len(distances) != len(lengths):
        raise ValueError(f"distances_m: {len(distances)} distances for {len(lengths)} sessions: give one for each")
    texts = [
        _settings.text(given if distances is None else {**given, "distance_m": distances[i]}) for i in range(len(lengths))
    ]
    amount = None if amount_mrad is None else float(_settings.plain("amount_mrad", amount_mrad))
    share = None if fdr is None else float(_settings.plain("fdr", fdr))
    return Fleet.of(_native.fleet(texts, lengths, shots.columns(), shots.arrow, amount, share))
