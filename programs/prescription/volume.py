"""Working sets of a session or week: by muscle, by pattern, and in time under tension.

A set counts as 1 for a primary muscle. For a secondary one it counts 0 (direct), 0.5 (fractional) or 1 (total).
Only hard sets are summed; sets whose effort is not said are counted beside, never in.

Source: fractional counting as in Pelland et al. 2024 SportRxiv (preprint).
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from programs.prescription.constants import (
    SECONDARY_SHARE,
    WEEK_SETS_ABOVE_STUDIED,
    WEEK_SETS_HIGH,
    WEEK_SETS_LOW,
)
from programs.prescription.effort import is_hard
from programs.prescription.structure import Block, ExerciseFacts, Session, SetGroup, Slot

SetsBand = Literal["under_5", "5_to_9", "10_to_20", "over_20"]

SETS_SOURCE = "Schoenfeld et al. 2017 J Sports Sci 35:1073-1082; Baz-Valle et al. 2022 (PMC8884877)."

COUNTED_BLOCKS = frozenset({"straight", "paired", "circuit", "rounds_for_time"})
_PUSHES = frozenset({"horizontal_push", "vertical_push"})
_PULLS = frozenset({"horizontal_pull", "vertical_pull"})
_KNEE = frozenset({"squat", "lunge", "knee_extension"})
_HIP = frozenset({"hinge", "knee_flexion", "hip_isolation"})


@dataclass(frozen=True, slots=True, kw_only=True)
class MuscleSets:
    """Sets of one muscle. ``unknown_effort`` counts, by the fractional rule, sets whose effort is not said."""

    muscle: str
    direct: int = 0
    fractional: Decimal = Decimal(0)
    total: int = 0
    unknown_effort: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class SetBalance:
    """Working sets of any effort, by what they oppose."""

    push_sets: int = 0
    pull_sets: int = 0
    knee_dominant_sets: int = 0
    hip_dominant_sets: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Volume:
    """Working sets of a session or a week, with the slots whose number of sets a clock decides left out."""

    work_sets: int
    hard_sets: int
    unknown_effort_sets: int
    muscles: tuple[MuscleSets, ...]
    balance: SetBalance
    not_counted_slots: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _WorkSets:
    facts: ExerciseFacts | None
    count: int
    hard: bool | None


def volume(sessions: Iterable[Session], exercises: Mapping[str, ExerciseFacts]) -> Volume:
    """Count the working sets of one session, or of a week's sessions.

    Sets of intervals, steady work, and blocks against the clock are time, not sets; their slots are named in
    ``not_counted_slots``. A set of ten a side is one set. An exercise that is not in ``exercises`` counts in
    the sums, but for no muscle.
    """
    listed = list(sessions)
    slots = [(block, slot) for session in listed for block in session.blocks for slot in block.slots]
    work = [
        found
        for block, slot in slots
        if block.kind in COUNTED_BLOCKS
        for found in _work_sets(block, slot, exercises.get(slot.exercise))
    ]
    return Volume(
        work_sets=sum(item.count for item in work),
        hard_sets=sum(item.count for item in work if item.hard),
        unknown_effort_sets=sum(item.count for item in work if item.hard is None),
        muscles=_muscles(work),
        balance=SetBalance(
            push_sets=_pattern_sets(work, _PUSHES),
            pull_sets=_pattern_sets(work, _PULLS),
            knee_dominant_sets=_pattern_sets(work, _KNEE),
            hip_dominant_sets=_pattern_sets(work, _HIP),
        ),
        not_counted_slots=tuple(
            dict.fromkeys(slot.slot_key for block, slot in slots if block.kind not in COUNTED_BLOCKS)
        ),
    )


def sets_band(weekly_sets: Decimal) -> SetsBand:
    """Say where a muscle's weekly sets lie among the bands that the reviews compared."""
    if weekly_sets < WEEK_SETS_LOW:
        return "under_5"
    if weekly_sets < WEEK_SETS_HIGH:
        return "5_to_9"
    return "10_to_20" if weekly_sets <= WEEK_SETS_ABOVE_STUDIED else "over_20"


def set_times(block: Block, slot: Slot, group: SetGroup) -> int:
    """Give how often a set group is performed: its count, or the block's rounds if they repeat the slot's one set."""
    return group.count if block.rounds is None or slot.set_count > 1 else group.count * block.rounds


def _work_sets(block: Block, slot: Slot, facts: ExerciseFacts | None) -> list[_WorkSets]:
    return [
        _WorkSets(facts=facts, count=set_times(block, slot, group), hard=is_hard(group))
        for group in slot.sets
        if group.counts_as_work
    ]


def _muscles(work: Iterable[_WorkSets]) -> tuple[MuscleSets, ...]:
    counts: dict[str, list[Decimal]] = {}
    for item in work:
        if item.facts is None or item.hard is False:
            continue
        secondary = [muscle for muscle in item.facts.secondary_muscles if muscle not in item.facts.primary_muscles]
        for muscle in item.facts.primary_muscles:
            _count(counts, muscle, item, Decimal(1))
        for muscle in secondary:
            _count(counts, muscle, item, SECONDARY_SHARE)
    return tuple(
        MuscleSets(
            muscle=muscle,
            direct=int(direct),
            fractional=fractional,
            total=int(total),
            unknown_effort=unknown,
        )
        for muscle, (direct, fractional, total, unknown) in sorted(counts.items())
    )


def _count(counts: dict[str, list[Decimal]], muscle: str, item: _WorkSets, share: Decimal) -> None:
    row = counts.setdefault(muscle, [Decimal(0)] * 4)
    if item.hard is None:
        row[3] += item.count * share
        return
    row[0] += item.count if share == 1 else 0
    row[1] += item.count * share
    row[2] += item.count


def _pattern_sets(work: Iterable[_WorkSets], patterns: frozenset[str]) -> int:
    return sum(item.count for item in work if item.facts is not None and item.facts.pattern in patterns)
