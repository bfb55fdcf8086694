"""Effort of a prescribed set as repetitions in reserve."""

from decimal import Decimal

from programs.prescription.constants import HARD_RESERVE_MAX, RPE_MAX
from programs.prescription.structure import SetGroup


def prescribed_reserve(group: SetGroup) -> Decimal | None:
    """Give the repetitions left in reserve, or None where effort is not said.

    A set to the limit leaves none. RPE counts down from 10, which is 0.

    Source: Zourdos et al. 2016 J Strength Cond Res 30:267-275 (RPE 10 = 0, 9 = 1, and so forth).
    """
    if group.to_limit or group.kind == "to_limit" or any(segment.to_limit for segment in group.segments):
        return Decimal(0)
    if group.in_reserve is not None:
        return group.in_reserve
    return None if group.rpe is None else RPE_MAX - group.rpe


def is_hard(group: SetGroup) -> bool | None:
    """Say whether a work set is hard (4 or fewer in reserve, practice); None where effort is not said."""
    reserve = prescribed_reserve(group)
    return None if reserve is None else reserve <= HARD_RESERVE_MAX
