"""What a reading needs beside the shots."""

from __future__ import annotations

import difflib
import json
import math
from collections.abc import Mapping
from typing import Any, Optional, Sequence, TypedDict, Union


class Match(TypedDict, total=False):
    """A match as it stands: then the chance to win decides, not points. What is left out is as usual."""

    by: Optional[str]
    """What decides: ``"sets"`` or ``"total"`` (sets)."""
    ends: Optional[int]
    """Most ends (5)."""
    shots_per_end: Optional[int]
    """Arrows of each archer an end (3)."""
    first_to: Optional[int]
    """Points of sets that win (one more than there are ends)."""
    opponent_arrow: Optional[float]
    """The other's average arrow (one's own, corrected by their ends)."""
    mine: Sequence[Union[int, str]]
    """One's ends: points, or points and arrows of an end under way such as ``"19/2"``."""
    theirs: Sequence[Union[int, str]]
    """The other's."""
    nearer: Optional[str]
    """Level after the last end: whose single arrow was nearer, ``"mine"`` or ``"theirs"``, once the judge has said so."""


class Settings(TypedDict, total=False):
    """Settings of a group. ``distance_m`` and ``face`` are needed; what is left out, or None, takes the program's default."""

    distance_m: float
    """Shooting distance in metres, 1 to 400."""
    face: str
    """Name of the face, one of ``faces()``."""
    shaft_mm: Optional[float]
    """Diameter of the shaft in millimetres (5.5)."""
    spread_mrad: Optional[float]
    """Spread expected of the archer, one standard deviation an axis, in milliradians (3)."""
    worth: Optional[float]
    """How many arrows that expectation is worth (4)."""
    trust: Optional[float]
    """How many arrows the present setting of the sight is worth: 0.1 unknown, 1 predicted, 10 verified (0.1)."""
    eye_to_pin_mm: Optional[float]
    """Distance from eye to pin in millimetres (880)."""
    click_mm: Optional[Sequence[float]]
    """Millimetres of the pin a click: windage, elevation (0.1, 0.1)."""
    setting_sd_mm: Optional[float]
    """Error of a setting at the pin, one standard deviation in millimetres (0)."""
    shots_left: Optional[int]
    """Shots still to come (36)."""
    touch_cost_points: Optional[float]
    """Points that a touch of the sight must gain (0.5)."""
    unmarked: Optional[Sequence[float]]
    """Probabilities of clean, flyer and stray for a shot of which nothing was said."""
    felt_bad: Optional[Sequence[float]]
    """The same for a shot that felt bad."""
    felt_good: Optional[Sequence[float]]
    """The same for a shot that felt good."""
    end_effect: Optional[Sequence[float]]
    """What the shots of an end share, windage and elevation, in spreads (what is usual at the distance)."""
    bad_mean: Optional[Sequence[float]]
    """Where bad shots go from where clean ones go, right and up, in spreads (0, 0)."""
    bad_spread: Optional[Sequence[float]]
    """How widely bad shots scatter about that, windage and elevation, in spreads (3, 3)."""
    touch_gives: Optional[Sequence[float]]
    """How far a touch of windage and one of elevation move the arrows, over what click and eye-to-pin say (1, 1)."""
    end_drift: Optional[Sequence[float]]
    """How far the group goes from each end to the next, right and up, in spreads (0, 0)."""
    spread_doubt: Optional[Sequence[float]]
    """How far the spread that is told may be off, less and more, in octaves (1.2, 0.75)."""
    pattern_shares: Optional[Sequence[float]]
    """In which share of the strings the group is two, and has moved once (0.08, 0.03)."""
    bow: Optional[str]
    """What kind of bow it is: recurve, compound, barebow or longbow; where an archer starts of whom no spread is told."""
    level: Optional[str]
    """How well it is shot, the same: beginner, club or strong."""
    match: Optional[Match]
    """The match that it is, as it stands (none)."""


KEYS = tuple(Settings.__annotations__)


def plain(key: str, value: Any) -> Any:
    """A number, text or list as JSON knows them; numbers of numpy too."""
    if value is None or isinstance(value, (str, bool, int)):
        return value
    if hasattr(value, "tolist"):
        value = value.tolist()
    if isinstance(value, Mapping):
        return {str(k): plain(f"{key}.{k}", v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(key, v) for v in value]
    if isinstance(value, float):
        if not math.isfinite(value):
            raise ValueError(f"{key}: {value} is not a number that can be: give a finite one, or leave it out")
        return value
    if isinstance(value, int):
        return value
    try:
        return plain(key, float(value))
    except (TypeError, ValueError):
        raise ValueError(f"{key}: a {type(value).__name__} is no setting: give a number, a text or a list of numbers") from None


def known(settings: Mapping[str, Any], also: Sequence[str] = ()) -> dict[str, Any]:
    """The settings, where every key is one; a slip of the pen is not overlooked."""
    for key in settings:
        if key not in KEYS and key not in also:
            # A name without its unit comes before one that looks alike.
            names = [*KEYS, *also]
            near = [k for k in names if k.startswith(f"{key}_")] or difflib.get_close_matches(str(key), names, n=1)
            hint = f"did you mean {near[0]}?" if near else "the settings are " + ", ".join(KEYS)
            raise TypeError(f"there is no setting {key!r}: {hint}")
    return {k: plain(k, v) for k, v in settings.items() if k in KEYS and v is not None}


def text(settings: Mapping[str, Any]) -> str:
    """As the native half takes them."""
    return json.dumps(settings, allow_nan=False)

