"""What goes to the native half."""

from __future__ import annotations

from typing import Optional, TypedDict


class Columns(TypedDict):
    """Shots, one entry a shot; bytes are 64-bit floats of this machine, not a number where nothing is told."""

    x_mm: bytes
    y_mm: bytes
    call: Optional[list[Optional[str]]]
    felt: Optional[list[Optional[str]]]
    end: Optional[list[Optional[int]]]


class Wanted(TypedDict):
    """What a rehearsal is asked beside the settings."""

    round: Optional[str]
    sighting: Optional[str]
    first_offset_mm: Optional[float]
    flyers: Optional[float]
    drift_mrad_per_end: Optional[float]
    click_on_face_mm: Optional[float]
    rules: list[str]
    rounds: int
    seed: int
