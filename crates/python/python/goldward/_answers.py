"""The answers: the objects that the program writes as JSON, with types. The keys are a contract (docs/formats.md)."""

from __future__ import annotations

import dataclasses
import typing
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Optional, TypeVar

T = TypeVar("T", bound="Answer")

Pair = list[float]
"""``[right, up]``, or ``[x, y]``, or the ends of an interval ``[low, high]``."""
Covariance = list[list[float]]
"""``[[xx, xy], [xy, yy]]``."""


@lru_cache(maxsize=None)
def _within(kind: Any) -> dict[str, Any]:
    """The fields of an answer, and for those that hold answers of what kind."""
    hints = typing.get_type_hints(kind)
    found: dict[str, Any] = {}
    for field in dataclasses.fields(kind):
        found[field.name], parts = None, [hints[field.name]]
        while parts:
            part = parts.pop()
            if isinstance(part, type) and issubclass(part, Answer):
                found[field.name] = part
            parts.extend(typing.get_args(part))
    return found


def _typed(kind: Any, value: Any) -> Any:
    if isinstance(value, (list, tuple)):
        return [_typed(kind, v) for v in value]
    return kind.of(value) if kind is not None and value is not None else value


def _plain(value: Any) -> Any:
    if isinstance(value, list):
        return [_plain(v) for v in value]
    return value.to_dict() if isinstance(value, Answer) else value


@dataclass(frozen=True)
class Answer:
    """An answer, or a part of one."""

    @classmethod
    def of(cls: type[T], plain: dict[str, Any]) -> T:
        """The answer of a plain object, such as ``json.loads`` makes of what the program prints. Keys that are not known are left."""
        kind: Any = cls
        fields = _within(kind)
        return cls(**{k: _typed(fields[k], v) for k, v in plain.items() if k in fields})

    def to_dict(self) -> dict[str, Any]:
        """The plain object, as the program writes it."""
        told = {f.name: _plain(getattr(self, f.name)) for f in dataclasses.fields(self)}
        # What only some answers have is not written by the others.
        only = {f.name for f in dataclasses.fields(self) if f.default is None}
        return {k: v for k, v in told.items() if v is not None or k not in only}


@dataclass(frozen=True)
class Pattern(Answer):
    """Probabilities of the processes that may have made a group; they add up to 1."""

    steady: float
    """One process that stays."""
    split: float
    """Two that take turns."""
    drifting: float
    """One that moves slowly."""
    jumped: float
    """One that moved once."""


@dataclass(frozen=True)
class Advice(Answer):
    """What to do. ``clicks``, ``pin_mm`` and ``shift_mm`` are to be done now: zeros unless the action is ``"move"``."""

    action: str
    """``"move"``, ``"wait"`` or ``"leave"``."""
    reason: str
    """A stable name for why."""
    clicks: list[int]
    """Whole clicks, ``[right, up]`` as the pin is seen."""
    best_clicks: list[int]
    """Those of the best move, made or not."""
    pin_mm: Pair
    """The move at the pin, in millimetres."""
    shift_mm: Pair
    """The same on the face, in millimetres: later arrows land this much towards the other side."""
    gain_points: float
    """What the best move, made or not, is expected to gain over the shots left, in points."""
    gain_interval_points: Pair
    """80 % interval of that."""
    p_better: float
    """Probability that the best move makes things better."""
    more_shots: int
    """After how many more shots, four times in five, no further touch would gain what it costs."""
    look_after: Optional[int]
    """After how many shots to look at the sight again."""
    gain_over_waiting_points: float
    """Points of touching now less those of the best of waiting and leaving."""


@dataclass(frozen=True)
class Notice(Answer):
    """What to know beside an answer."""

    kind: str
    """A stable name."""
    weight: str
    """``"note"``, ``"warning"`` or ``"safety"``."""
    text: str
    """Plain English."""


@dataclass(frozen=True)
class Side(Answer):
    """One archer in a match."""

    points: int
    """Points of the match: of sets, or of all arrows."""
    end_shots: int
    """Arrows of the end under way."""
    end_points: int
    """Their points."""


@dataclass(frozen=True)
class Waiting(Answer):
    """The chance of a later touch."""

    shots: int
    """After so many of one's own arrows."""
    chance: float
    """The chance to win, what the touch costs taken off."""


@dataclass(frozen=True)
class Standing(Answer):
    """A match as it stands, and the chances to win it, from 0 to 1."""

    by: str
    """``"sets"`` or ``"total"``."""
    ends: int
    """Most ends."""
    shots_per_end: int
    """Arrows of each archer an end."""
    first_to: Optional[int]
    """Points of sets that win."""
    ends_done: int
    """Ends that are over."""
    mine: Side
    """The archer."""
    theirs: Side
    """The other."""
    verdict: str
    """``"open"``, ``"shoot_off"``, ``"won"`` or ``"lost"``."""
    opponent_arrow: float
    """The other's average arrow that was reckoned with."""
    chance: float
    """When the advice is followed."""
    chance_touching: float
    """When the sight is touched now, what that costs taken off."""
    chance_waiting: list[Waiting]
    """When it is touched later."""
    chance_leaving: float
    """When it is never touched again."""
    chance_a_point: float
    """What a point more in the arrows that follow adds."""
    chance_a_touch: float
    """What a touch is taken to cost."""


@dataclass(frozen=True)
class Reading(Answer):
    """What a group says."""

    schema: int
    """Version of the keys."""
    shots: int
    """How many were read."""
    centre_mm: Pair
    """Centre of the next shot's process on the face, in millimetres, ``[x, y]``."""
    centre_cov_mm2: Covariance
    """Its covariance, in square millimetres."""
    spread_cov_mm2: Covariance
    """Covariance of one clean shot, in square millimetres."""
    p_class: list[list[float]]
    """For each shot the probabilities ``[clean, flyer, stray]``: shape ``(shots, 3)``."""
    pattern: Pattern
    """Which process made the group."""
    dropped_mass: float
    """Probability of the explanations that the search dropped."""
    advice: Advice
    """What to do."""
    expected_score_now: float
    """Expected points of the next shot with the sight as it is."""
    notices: list[Notice]
    """What to know beside it, the weightiest first."""
    match: Optional[Standing] = None
    """The match as it stands; only of a match. The advice is then by the chance to win."""


@dataclass(frozen=True)
class Scene(Answer):
    """The simulated archer and round."""

    distance_m: float
    face: str
    spread_mm: float
    first_offset_mm: float
    flyers: float
    drift_mm_per_end: float
    setting_sd_on_face_mm: float
    click_on_face_mm: Pair
    sighting_ends: int
    ends: int
    shots_per_end: int
    touch_cost_points: float
    worth: float


@dataclass(frozen=True)
class RuleOutcome(Answer):
    """What a rule for touching the sight came to; points are those of a round."""

    rule: str
    points: float
    points_se: float
    """Standard error."""
    given_away_points: float
    """Against someone who always knows where the centre is."""
    given_away_se_points: float
    worse: float
    """Share of rounds with fewer points than never touching."""
    touches: float
    """Touches a round."""
    lost_points_by_shot: list[float]
    """Points lost by each shot of the round: shape ``(shots,)``."""


@dataclass(frozen=True)
class FirstTouch(Answer):
    """After how many shots to touch first, for a spread and a trust; None where so many never touch."""

    spread_mrad: float
    trust: float
    rounds: int
    median_shots: Optional[int]
    low_shots: Optional[int]
    """The quantile 10 %."""
    high_shots: Optional[int]
    """The quantile 90 %."""
    never: float
    """Share of rounds without a touch."""


@dataclass(frozen=True)
class Rehearsal(Answer):
    """The same simulated rounds under every rule."""

    schema: int
    scene: Scene
    rounds: int
    seed: int
    oracle_points: float
    """Points of a round with a sight that is always exact."""
    rules: list[RuleOutcome]
    """In the order asked for."""
    best_fixed: Optional[str]
    """The best rule of thumb that was played."""
    goldward_gain_points: Optional[float]
    """What Goldward's rule brings above that, in points a round."""
    goldward_gain_se_points: Optional[float]
    share_of_possible: Optional[float]
    """What Goldward gains over never touching, in parts of what the perfect learner gains."""
    first_touch: list[FirstTouch]


@dataclass(frozen=True)
class RuleWon(Answer):
    """Simulated matches under one rule."""

    rule: str
    won: float
    """Share of the matches, 0 to 1."""
    won_se: float
    """Its standard error."""
    touches: float
    """Touches a match."""


@dataclass(frozen=True)
class MatchRehearsal(Answer):
    """The same simulated matches under the rules of thumb, Goldward's, and a sight that is always right."""

    schema: int
    matches: int
    seed: int
    by: str
    """``sets`` or ``total``."""
    ends: int
    shots_per_end: int
    opponent_arrow: float
    """The other's average arrow, in points."""
    rules: list[RuleWon]


@dataclass(frozen=True)
class PredictedMark(Answer):
    """A mark nobody has shot. It is first shot close, with a clear overshoot area."""

    distance_m: float
    reading_mm: float
    """Reading of the scale in millimetres, growing as the pin goes down."""
    sd_mm: float
    """One standard deviation."""
    extrapolated: bool
    """Whether the distance lies outside those shot."""


@dataclass(frozen=True)
class SuspectMark(Answer):
    """A mark that does not belong with the others."""

    distance_m: float
    reading_mm: float
    p: float
    """Probability that it is wrong."""
    expected_mm: Optional[float]
    """What the others say."""


@dataclass(frozen=True)
class Marks(Answer):
    """The flight of an arrow fitted to marks, and the marks it predicts."""

    schema: int
    speed_m_s: float
    """Launch speed."""
    speed_sd: float
    drag_per_m: float
    """``k`` in ``a = -k v^2`` at that speed, per metre."""
    scale_zero_mm: float
    """The reading at which the pin would look parallel to the arrow."""
    predicted: list[PredictedMark]
    suspect: list[SuspectMark]
    next_distance_m: float
    """The distance that would teach most when shot next."""


@dataclass(frozen=True)
class Arrow(Answer):
    """One arrow of a fleet; angles in milliradians."""

    arrow: str
    """Its name."""
    shots: int
    flyers: float
    """How many of them are expected to be flyers."""
    offset_mrad: Pair
    """Where it lands against the others."""
    offset_cov_mrad2: Covariance
    p_off: float
    """Probability that it lands further from the others than ``amount_mrad``."""
    p_odd: float
    p_value: float
    p_adjusted: float
    """After Benjamini and Hochberg."""
    accused: bool
    more_shots: Optional[int]
    """How many more would settle it; None when settled, 500 for that many or more."""
    spread_ratio: float
    """Its own spread over the common one."""
    spread_ratio_interval: Pair
    """80 % interval."""
    p_wide: float
    """Probability that it scatters more than a fifth wider."""


@dataclass(frozen=True)
class Trend(Answer):
    """Whether the spread grew over a session; intervals are 90 %."""

    ends: int
    ratio: float
    """Spread of the last end over the first."""
    ratio_interval: Pair
    p_grows: float
    warm_up_ratio: float
    """First two ends over the rest."""
    warm_up_interval: Pair
    p_warm_up: float


@dataclass(frozen=True)
class FeltMarks(Answer):
    """What an archer's own marks of good and bad shots are worth; intervals are 90 %."""

    bad_shots: int
    good_shots: int
    unmarked_shots: int
    bad_flyers: float
    good_flyers: float
    unmarked_flyers: float
    sensitivity: float
    sensitivity_interval: Pair
    likelihood_ratio: float
    likelihood_ratio_interval: Pair
    class_odds_bad: list[float]
    """``[clean, flyer, stray]``, for ``felt_bad``."""
    class_odds_good: list[float]


@dataclass(frozen=True)
class Fleet(Answer):
    """Arrow by arrow."""

    schema: int
    shots: int
    unnamed_shots: int
    """Shots without an arrow's name, which are left out."""
    sessions: int
    ends: int
    spread_mrad: float
    """Spread of one clean shot of one arrow within an end, one standard deviation an axis."""
    within_cov_mrad2: Covariance
    between_arrows_cov_mrad2: Covariance
    ends_cov_mrad2: Covariance
    amount_mrad: float
    fdr: float
    p_none_odd: float
    """Probability that no arrow is of the odd kind."""
    arrows: list[Arrow]
    trends: list[Optional[Trend]]
    """For each session; None where it has fewer than four ends."""
    felt: Optional[FeltMarks]
    """None without marks."""
