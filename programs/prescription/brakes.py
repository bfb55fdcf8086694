"""Brakes: what in a conditioning block's structure holds its intensity down, so that it can be kept up."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from programs.prescription.constants import (
    NEAR_MAXIMAL_RPE,
    PRE_FATIGUE_ENTRY_S,
    S_PER_MIN,
    SAFE_TIRED_COMPLEXITY_MAX,
    SLOW_MOVEMENT_S,
)
from programs.prescription.effort import prescribed_reserve
from programs.prescription.prescribed_loads import AbsoluteLoad
from programs.prescription.set_work import entry_s
from programs.prescription.slot_work import slot_work
from programs.prescription.structure import Block, ExerciseFacts, Slot
from programs.prescription.timeline_policy import TimelinePolicy

BrakeKind = Literal["work_rest", "slow_movement", "pre_fatigue_entry", "mixed_loading", "written_cap"]

_LOADED: Final = frozenset(
    {
        "barbell",
        "dumbbell_pair",
        "dumbbell",
        "kettlebell_pair",
        "kettlebell",
        "stack",
        "plate_machine",
        "sled",
        "sandbag",
    }
)
"""Ways of loading that always mean a load. Practice."""

_CAP_IN_NOTES: Final = re.compile(r"\b(pace|split|heart rate|hr|bpm|rpe)\b|% ?hr", re.IGNORECASE)
"""Words by which a note caps the effort. Practice."""

_NEAR_MAXIMAL_RESERVE: Final = Decimal(10) - NEAR_MAXIMAL_RPE
"""Repetitions in reserve up to which work is near-maximal. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Brake:
    """One brake, in words."""

    kind: BrakeKind
    detail: str


def block_brakes(block: Block, exercises: Mapping[str, ExerciseFacts], policy: TimelinePolicy) -> tuple[Brake, ...]:
    """Find the brakes of a block.

    Args:
        block: a conditioning block.
        exercises: facts of every exercise in it, by key.
        policy: how time is reckoned.
    """
    kinds: tuple[tuple[BrakeKind, Callable[..., str | None]], ...] = (
        ("work_rest", _work_rest),
        ("slow_movement", _slow_movement),
        ("pre_fatigue_entry", _entry),
        ("mixed_loading", _mixed),
        ("written_cap", _cap),
    )
    found = ((kind, find(block, exercises, policy)) for kind, find in kinds)
    return tuple(Brake(kind=kind, detail=detail) for kind, detail in found if detail is not None)


def is_safe_tired(block: Block, exercises: Mapping[str, ExerciseFacts]) -> bool:
    """Say whether every movement is simple enough to be done tired: a property of safety, not a brake."""
    return all(exercises[slot.exercise].complexity <= SAFE_TIRED_COMPLEXITY_MAX for slot in block.slots)


def is_near_maximal(slot: Slot) -> bool:
    """Say whether a slot's work is written as near-maximal: RPE 9 or more, or to the limit (practice)."""
    reserves = [prescribed_reserve(group) for group in slot.sets if group.counts_as_work]
    return any(reserve is not None and reserve <= _NEAR_MAXIMAL_RESERVE for reserve in reserves)


def is_slow(slot: Slot, facts: ExerciseFacts, policy: TimelinePolicy) -> bool:
    """Say whether a repetition of a slot takes 15 s or more (practice)."""
    tempos = [group.tempo for group in slot.sets if group.tempo is not None]
    if tempos:
        return any(tempo.repetition_s(policy.explosive_s) >= SLOW_MOVEMENT_S for tempo in tempos)
    return facts.measure == "reps" and facts.repetition_s >= SLOW_MOVEMENT_S


def _work_rest(block: Block, exercises: Mapping[str, ExerciseFacts], policy: TimelinePolicy) -> str | None:
    if block.kind == "interval" and block.off_s:
        return f"Work and rest take turns: {block.work_s} s on, {block.off_s} s off."
    if block.kind == "every_minute":
        longest_s = max(
            work.duration_high_s for slot in block.slots for work in slot_work(slot, exercises[slot.exercise], policy)
        )
        if longest_s < block.interval_s:
            span = "minute" if block.interval_s == S_PER_MIN else f"interval of {block.interval_s} s"
            return f"Each {span} leaves {block.interval_s - longest_s} s of rest or more."
        return None
    if block.rest_between_rounds_s:
        return f"A rest of {block.rest_between_rounds_s} s is written between rounds."
    rested = [slot.slot_key for slot in block.slots if slot.rest_s]
    return f"A rest is written after {', '.join(rested)}." if rested and block.kind != "interval" else None


def _slow_movement(block: Block, exercises: Mapping[str, ExerciseFacts], policy: TimelinePolicy) -> str | None:
    slow = [exercises[slot.exercise].name for slot in block.slots if is_slow(slot, exercises[slot.exercise], policy)]
    return f"{', '.join(slow)}: {SLOW_MOVEMENT_S} s or more a repetition slows the round." if slow else None


def _entry(block: Block, exercises: Mapping[str, ExerciseFacts], policy: TimelinePolicy) -> str | None:
    if block.entry is None:
        return None
    facts = exercises[block.entry.exercise]
    seconds = entry_s(block.entry, facts, policy)
    steady = facts.pattern == "steady_conditioning" or facts.loading == "machine_monitor"
    if not steady or seconds < PRE_FATIGUE_ENTRY_S:
        return None
    return f"{facts.name} for about {seconds} s comes first, so that the rounds begin tired."


def _mixed(block: Block, exercises: Mapping[str, ExerciseFacts], _policy: TimelinePolicy) -> str | None:
    loaded = [slot for slot in block.slots if _is_loaded(slot, exercises[slot.exercise])]
    unloaded = [slot for slot in block.slots if _is_bodyweight(slot, exercises[slot.exercise])]
    if not loaded or not unloaded:
        return None
    return f"Loaded work ({loaded[0].slot_key}) and bodyweight work ({unloaded[0].slot_key}) take turns."


def _cap(block: Block, _exercises: Mapping[str, ExerciseFacts], _policy: TimelinePolicy) -> str | None:
    for slot in block.slots:
        if _CAP_IN_NOTES.search(slot.notes):
            return f"The note on {slot.slot_key} caps the effort."
        reserves = [prescribed_reserve(group) for group in slot.sets]
        if any(reserve is not None and reserve > _NEAR_MAXIMAL_RESERVE for reserve in reserves):
            return f"The effort of {slot.slot_key} is capped below near-maximal."
    return None


def _added_load(slot: Slot) -> bool:
    return any(isinstance(group.load, AbsoluteLoad) and group.load.value > 0 for group in slot.sets)


def _is_loaded(slot: Slot, facts: ExerciseFacts) -> bool:
    if facts.loading in _LOADED:
        return True
    thing = facts.loading == "none" and facts.load_basis == "total"
    return thing or (facts.loading == "bodyweight" and _added_load(slot))


def _is_bodyweight(slot: Slot, facts: ExerciseFacts) -> bool:
    if facts.pattern == "steady_conditioning" or _is_loaded(slot, facts):
        return False
    return facts.loading in ("bodyweight", "none")
