"""The native half: columns in, plain objects out. Use the functions of ``goldward`` itself."""

from typing import Any, Optional, Union

from ._columns import Columns, Wanted

__all__ = ["SCHEMA", "FACES_FROM", "__version__", "faces", "rules", "read", "fleet", "rehearse", "rehearse_matches", "marks"]

SCHEMA: int
FACES_FROM: str
__version__: str

def faces() -> list[str]:
    """Names of the faces."""

def rules() -> list[str]:
    """Names of the rules for touching the sight that a rehearsal can play."""

def read(
    settings: list[str],
    which: list[int],
    lengths: list[int],
    columns: Columns,
    moved_mm: list[Optional[tuple[float, float]]],
    threads: int,
) -> list[Union[dict[str, Any], str]]: ...
def fleet(
    settings: list[str],
    lengths: list[int],
    columns: Columns,
    arrows: list[str],
    amount_mrad: Optional[float],
    fdr: Optional[float],
) -> dict[str, Any]: ...
def rehearse(settings: str, wanted: Wanted, threads: int) -> dict[str, Any]: ...
def rehearse_matches(settings: str, matches: int, seed: int, threads: int) -> dict[str, Any]: ...
def marks(question: str) -> dict[str, Any]: ...
