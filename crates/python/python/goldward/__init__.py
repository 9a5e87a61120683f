"""Goldward: where the arrows of a group landed, what that says, and whether to move the sight.

Frames and units are those of the program (docs/formats.md): positions in millimetres from the centre of the face that was
aimed at, +x to the right and +y up as the archer sees it; moves of the pin as the archer sees the pin; angles in milliradians
(1 mrad is 1 mm for each metre of distance); a covariance is ``[[xx, xy], [xy, yy]]``.

Every answer is the object that the program writes as JSON, number for number, as a typed object; ``to_dict()`` gives the plain
one. What cannot be answered is a ``ValueError`` that names the place and what to do.

>>> import goldward
>>> reading = goldward.read([(-60, 112), (-20, 150), (-75, 95)], distance_m=70, face="122")
>>> reading.advice.action
'move'

Safety: inspect an arrow before you shoot it again, and never shoot a damaged one. A mark that is new, predicted or far corrected
is first shot close, with a clear overshoot area. Range captain, club and national rules come before anything a program says.
"""

from ._answers import (
    Advice,
    Arrow,
    FeltMarks,
    FirstTouch,
    Fleet,
    Marks,
    MatchRehearsal,
    Notice,
    Pattern,
    PredictedMark,
    Reading,
    Rehearsal,
    RuleOutcome,
    RuleWon,
    Scene,
    Side,
    Standing,
    SuspectMark,
    Trend,
    Waiting,
)
from ._native import FACES_FROM, SCHEMA, __version__, faces, rules
from ._reading import read, read_batch, read_by
from ._settings import Match, Settings
from ._beside import fleet, predict_marks, rehearse, rehearse_matches

__all__ = [
    "FACES_FROM",
    "SCHEMA",
    "Advice",
    "Arrow",
    "FeltMarks",
    "FirstTouch",
    "Fleet",
    "Marks",
    "Match",
    "MatchRehearsal",
    "Notice",
    "Pattern",
    "PredictedMark",
    "Reading",
    "Rehearsal",
    "RuleOutcome",
    "RuleWon",
    "Scene",
    "Settings",
    "Side",
    "Standing",
    "SuspectMark",
    "Trend",
    "Waiting",
    "__version__",
    "faces",
    "fleet",
    "predict_marks",
    "read",
    "read_batch",
    "read_by",
    "rehearse",
    "rehearse_matches",
    "rules",
]
