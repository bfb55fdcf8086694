"""What a set is likely to train, read two ways under one heading: a coaching heuristic, not science.

One reading goes by time under tension (bands, practice), one by load with repetitions (published zones). They are
shown side by side and never merged.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from programs.prescription.constants import (
    STIMULUS_MARGIN_RATIO,
    STIMULUS_RESERVE_MAX,
    TRAINING_MAX_RATIO,
    TUT_SIZE_MAX_S,
    TUT_STRENGTH_MAX_S,
    TUT_STRENGTH_SIZE_MAX_S,
    ZONE_ENDURANCE_MAX_PCT,
    ZONE_ENDURANCE_REPS_MIN,
    ZONE_POWER_REPEATED_PCT,
    ZONE_POWER_REPEATED_REPS,
    ZONE_POWER_SINGLE_PCT,
    ZONE_POWER_SINGLE_REPS,
    ZONE_SIZE_MAX_PCT,
    ZONE_SIZE_MIN_PCT,
    ZONE_SIZE_REPS_MAX,
    ZONE_SIZE_REPS_MIN,
    ZONE_STRENGTH_MIN_PCT,
    ZONE_STRENGTH_REPS_MAX,
)
from programs.prescription.prescribed_loads import PercentLoad
from programs.prescription.structure import SetGroup
from programs.prescription.vocabulary import Goal

HEADING: Final = "coaching heuristic"
"""The heading under which both readings stand. Practice."""

ZONES_SOURCE: Final = "NSCA goal table (load with repetitions)."
"""Ground of the reading by load with repetitions. Source: NSCA goal table, in agreeing copies."""

BANDS_SOURCE: Final = "Practice: bands of time under tension are a trade heuristic."
"""Ground of the reading by time under tension. Practice."""

_BAND_OF_GOAL: Final[dict[Goal, tuple[int, int | None]]] = {
    "strength": (0, TUT_STRENGTH_SIZE_MAX_S),
    "size": (TUT_STRENGTH_MAX_S, TUT_SIZE_MAX_S),
    "endurance": (TUT_SIZE_MAX_S, None),
}
"""The seconds of time under tension in which a goal is read. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StimulusReading:
    """The goals that one way of reading finds in a set; none with a reason where it cannot read."""

    trains: tuple[Goal, ...]
    reason: str | None
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stimulus:
    """Both readings of one set, under the heading that says what they are worth."""

    by_time: StimulusReading
    by_load: StimulusReading
    heading: str = HEADING

    @property
    def goals(self) -> frozenset[Goal]:
        """The goals that either reading finds."""
        return frozenset(self.by_time.trains) | frozenset(self.by_load.trains)


def time_band(tut_s: int) -> tuple[Goal, ...]:
    """Give the goals of the band that a set's time under tension falls in; upper ends are inclusive.

    To 20 s strength, to 40 s strength and size, to 70 s size, over 70 s endurance. Practice.
    """
    if tut_s <= TUT_STRENGTH_MAX_S:
        return ("strength",)
    if tut_s <= TUT_STRENGTH_SIZE_MAX_S:
        return ("strength", "size")
    return ("size",) if tut_s <= TUT_SIZE_MAX_S else ("endurance",)


def load_zone(reps: int, pct: Decimal | None = None) -> tuple[Goal, ...]:
    """Give the goals whose published zone holds these repetitions, and this share of the maximum where known.

    The zones overlap at their edges, and leave gaps between them: an empty answer means between zones. Power is read
    only where the share is known, since its repetitions alone are those of strength.

    Source: NSCA goal table.
    """
    zones: list[Goal] = []
    if reps <= ZONE_STRENGTH_REPS_MAX and (pct is None or pct >= ZONE_STRENGTH_MIN_PCT):
        zones.append("strength")
    if pct is not None and _is_power(reps, pct):
        zones.append("power")
    in_size_reps = ZONE_SIZE_REPS_MIN <= reps <= ZONE_SIZE_REPS_MAX
    if in_size_reps and (pct is None or ZONE_SIZE_MIN_PCT <= pct <= ZONE_SIZE_MAX_PCT):
        zones.append("size")
    if reps >= ZONE_ENDURANCE_REPS_MIN and (pct is None or pct <= ZONE_ENDURANCE_MAX_PCT):
        zones.append("endurance")
    return tuple(zones)


def _is_power(reps: int, pct: Decimal) -> bool:
    rows = (ZONE_POWER_SINGLE_REPS, ZONE_POWER_SINGLE_PCT), (ZONE_POWER_REPEATED_REPS, ZONE_POWER_REPEATED_PCT)
    return any(fewest <= reps <= most and least <= pct <= greatest for (fewest, most), (least, greatest) in rows)


def share_of_maximum_pct(group: SetGroup) -> Decimal | None:
    """Give the prescribed share of the maximum, where the load is a percentage that can be put so.

    A training maximum counts as 90 % of the maximum (practice); a working load says nothing of it.
    """
    if not isinstance(group.load, PercentLoad) or group.load.of == "working":
        return None
    if group.load.of == "training_max":
        return group.load.pct * TRAINING_MAX_RATIO
    return group.load.pct


def read_stimulus(group: SetGroup, tut_s: tuple[int, int] | None) -> Stimulus:
    """Read one set both ways.

    Args:
        group: the set.
        tut_s: time under tension of one side, low and high; None where no tempo or duration gives it.
    """
    by_time = StimulusReading(
        trains=() if tut_s is None else _united([time_band(tut_s[0]), time_band(tut_s[1])]),
        reason="No tempo: time under tension is not known." if tut_s is None else None,
        source=BANDS_SOURCE,
    )
    reps = group.first_segment_reps
    pct = share_of_maximum_pct(group)
    zones = () if reps is None else _united([load_zone(reps[0], pct), load_zone(reps[1], pct)])
    reason = "Not counted in repetitions." if reps is None else None
    if reps is not None and not zones:
        reason = "Between the published zones."
    return Stimulus(by_time=by_time, by_load=StimulusReading(trains=zones, reason=reason, source=ZONES_SOURCE))


def off_goal_bound_s(
    goal: Goal | None, stimulus: Stimulus, tut_s: tuple[int, int] | None, reserve: Decimal | None
) -> tuple[int, int] | None:
    """Give the time under tension that misses a slot's goal, with the bound it misses; None where there is none.

    Only where the goal is in neither reading, the set is within 3 of failure, and the time is 15 % past the
    goal's band (practice).
    """
    if goal not in _BAND_OF_GOAL or goal in stimulus.goals or tut_s is None:
        return None
    if reserve is None or reserve > STIMULUS_RESERVE_MAX:
        return None
    least_s, most_s = _BAND_OF_GOAL[goal]
    if most_s is not None and tut_s[0] > most_s * (1 + STIMULUS_MARGIN_RATIO):
        return tut_s[0], most_s
    if tut_s[1] < least_s * (1 - STIMULUS_MARGIN_RATIO):
        return tut_s[1], least_s
    return None


def _united(readings: Sequence[tuple[Goal, ...]]) -> tuple[Goal, ...]:
    return tuple(dict.fromkeys(goal for reading in readings for goal in reading))
