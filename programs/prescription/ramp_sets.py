"""Ramp sets: which slots are heavy enough to be ramped up to, and when the prescription writes the ramp itself."""

from typing import Final

from programs.prescription.constants import HEAVY_PCT, HEAVY_REPS_MAX
from programs.prescription.prescribed_loads import PercentLoad
from programs.prescription.structure import SetGroup, Slot
from programs.prescription.timeline_blocks import Slots
from programs.prescription.timeline_clock import Clock
from programs.prescription.timeline_policy import TimelinePolicy
from programs.prescription.vocabulary import Loading

_RAMPED: Final[frozenset[Loading]] = frozenset(
    {"barbell", "dumbbell", "dumbbell_pair", "kettlebell", "kettlebell_pair", "stack", "plate_machine"}
)
"""Loadings that are raised in steps. Practice."""

_OWN_RAMP: Final = frozenset({"warm_up", "ramp"})
"""Kinds of sets on the way up. Practice."""


def is_ramped_up_to(slot: Slot) -> bool:
    """Say whether a slot's work asks for ramp sets: strength or power, few repetitions, or a high percentage."""
    if slot.goal in ("strength", "power"):
        return True
    for group in slot.sets:
        reps = group.first_segment_reps
        if group.counts_as_work and reps is not None and reps[1] <= HEAVY_REPS_MAX:
            return True
        if isinstance(group.load, PercentLoad) and group.load.pct >= HEAVY_PCT:
            return True
    return False


def add_ramp(clock: Clock, slots: Slots, ramped: set[str], policy: TimelinePolicy) -> None:
    """Put the ramp sets before a block's first heavy lifts on the clock, once for each movement pattern.

    Args:
        clock: the session's clock.
        slots: the block's slots with their exercises.
        ramped: the patterns that are ramped up to already; those of this block are added.
        policy: how many ramp sets there are, and how long one takes.
    """
    for slot, facts in slots:
        if facts.pattern in ramped or facts.loading not in _RAMPED or facts.measure != "reps":
            continue
        if not is_ramped_up_to(slot):
            continue
        ramped.add(facts.pattern)
        if not any(_is_on_the_way_up(group) for group in slot.sets):
            clock.add("ramp", policy.ramp_sets * policy.ramp_set_s, assumed=True)


def _is_on_the_way_up(group: SetGroup) -> bool:
    # One ramp set with an effort is what is ramped up to: the sets before it are not written.
    ends_ramp = group.kind == "ramp" and group.count == 1 and (group.rpe, group.in_reserve) != (None, None)
    return group.kind in _OWN_RAMP and not ends_ramp
