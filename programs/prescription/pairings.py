"""Pairings worked out: which exercises take turns, so that a session takes least time at the rests it wants.

1. Each exercise is timed, and the rest that its sets want is read from it (`paired_block`).
2. Every partition into straight and paired blocks of 2 to 4 slots is weighed, and the one of least time kept
   (`pairing_partition`). Inside a block every slot and primary muscle has the rest that it wants, no two slots need
   one station, and grip or trunk is not the limit twice. Across blocks the same rests are findings.
3. Where the session is over its minutes, the smallest cuts that fit are looked for (`pairing_cuts`).

Beside the pairing of least time stand the best one of pairs alone and the straight sets, where they differ.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Final, Literal

from programs.prescription.constants import (
    PAIRED_SLOTS_MAX,
    PAIRED_SLOTS_MIN,
    PAIRINGS_EXERCISES_MAX,
    S_PER_MIN,
)
from programs.prescription.findings import Finding
from programs.prescription.muscle_rest_findings import muscle_rest_findings
from programs.prescription.paired_block import BlockPlan, TimedExercise, time_exercise
from programs.prescription.pairing_cuts import SetCut, fitting_cuts
from programs.prescription.pairing_partition import best_partition
from programs.prescription.pairing_reasons import lone_block_reasons, shared_block_reasons
from programs.prescription.prescribed_loads import SameAsLoad
from programs.prescription.structure import Block, ExerciseFacts, Session, Slot
from programs.prescription.timeline import Timeline, TimelinePolicy, simulate

PairingKind = Literal["least_time", "pairs_only", "straight"]

_LABELS: Final = "ABCDEFGHIJKL"
"""Labels of blocks, as many as there may be. Practice."""

_TENTH: Final = Decimal("0.1")
"""Minutes are given to a tenth. Practice."""


class PairingError(ValueError):
    """Exercises that no pairing can be worked out for; the text says what to change.

    Attributes:
        exercise_index: the place of the exercise at fault, None where all together are.
    """

    code = "pairing"

    def __init__(self, sentence: str, *, exercise_index: int | None = None) -> None:
        """Keep the place beside the sentence."""
        super().__init__(sentence)
        self.exercise_index = exercise_index


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedExercise:
    """An exercise to be placed: what is asked, and what is known of it.

    The slot's ``rest_s``, where written, is the rest wanted between its own sets; its ``slot_key`` is given anew.
    """

    slot: Slot
    facts: ExerciseFacts


@dataclass(frozen=True, slots=True, kw_only=True)
class PairingPolicy:
    """How time is reckoned, and for whom: ``novice`` is under 6 months of training."""

    timeline: TimelinePolicy = field(default_factory=TimelinePolicy)
    novice: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PairingBlock:
    """One block, the places of its exercises as they were given, its rest between sets, its seconds, and why."""

    block: Block
    exercise_indexes: tuple[int, ...]
    rest_s: int
    low_s: int
    high_s: int
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PairingCuts:
    """The fewest sets whose loss makes a pairing fit, and the session as it then is.

    ``cuts`` empty means that no cut is enough, and ``reason`` says what is.
    """

    reason: str
    cuts: tuple[SetCut, ...] = ()
    session: Session | None = None
    timeline: Timeline | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pairing:
    """One way of placing the exercises.

    ``saved_min`` is against straight sets with the same rests wanted. ``over_min`` is by how much the high reading
    passes the minutes, 0 where it fits and None where none were given. ``cuts`` only where it is over.
    """

    kind: PairingKind
    session: Session
    blocks: tuple[PairingBlock, ...]
    timeline: Timeline
    saved_min: Decimal
    over_min: Decimal | None
    findings: tuple[Finding, ...]
    cuts: PairingCuts | None = None

    @property
    def fits(self) -> bool | None:
        """Whether it fits the minutes; None where none were given."""
        return None if self.over_min is None else not self.over_min


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """What every pairing of one answer is worked out from."""

    exercises: Sequence[TimedExercise]
    facts: Mapping[str, ExerciseFacts]
    straight_high_s: int
    minutes: int | None
    policy: PairingPolicy


def best_pairings(
    exercises: Sequence[PlannedExercise], minutes: int | None = None, *, policy: PairingPolicy | None = None
) -> list[Pairing]:
    """Work out the pairings of a session, quickest first.

    Args:
        exercises: what is to be done, in the order wanted, which breaks ties; at most 12.
        minutes: the minutes available, None if not said.
        policy: how time is reckoned, and for whom.

    Returns:
        The pairing of least time; then the best of pairs alone and the straight sets, where they differ from it.

    Raises:
        PairingError: for none or more than 12 exercises, one without a working set, or one whose load is that of
            another slot.
    """
    settings = policy or PairingPolicy()
    _check(exercises)
    timed = [
        time_exercise(index, planned.slot, planned.facts, settings.timeline, novice=settings.novice)
        for index, planned in enumerate(exercises)
    ]
    sizes: list[tuple[PairingKind, int]] = [
        ("least_time", PAIRED_SLOTS_MAX),
        ("pairs_only", PAIRED_SLOTS_MIN),
        ("straight", 1),
    ]
    partitions = [(kind, best_partition(timed, settings.timeline, slots_max=most)) for kind, most in sizes]
    facts = {planned.slot.exercise: planned.facts for planned in exercises}
    asked = _Asked(
        exercises=timed,
        facts=facts,
        straight_high_s=simulate(_session(partitions[-1][1]), facts, settings.timeline).high_s,
        minutes=minutes,
        policy=settings,
    )
    found: dict[tuple[BlockPlan, ...], Pairing] = {}
    for kind, plans in partitions:
        if plans not in found:
            found[plans] = _pairing(kind, plans, asked)
    return list(found.values())


def _check(exercises: Sequence[PlannedExercise]) -> None:
    if not exercises:
        raise PairingError("Give at least one exercise: there is nothing to place.")
    if len(exercises) > PAIRINGS_EXERCISES_MAX:
        raise PairingError(
            f"Give at most {PAIRINGS_EXERCISES_MAX} exercises, not {len(exercises)}: every partition is weighed, and "
            "a longer session is better split in two."
        )
    for index, planned in enumerate(exercises):
        if not any(group.counts_as_work for group in planned.slot.sets):
            raise PairingError(f"Give {planned.facts.name} at least one working set.", exercise_index=index)
        if any(isinstance(group.load, SameAsLoad) for group in planned.slot.sets):
            raise PairingError(
                f"Write the load of {planned.facts.name} itself: which slot comes first is being worked out.",
                exercise_index=index,
            )


def _session(plans: Sequence[BlockPlan]) -> Session:
    return Session(blocks=tuple(plan.block(label) for plan, label in zip(plans, _LABELS, strict=False)))


def _pairing(kind: PairingKind, plans: tuple[BlockPlan, ...], asked: _Asked) -> Pairing:
    session = _session(plans)
    timeline = simulate(session, asked.facts, asked.policy.timeline)
    over_s = None if asked.minutes is None else max(0, timeline.high_s - asked.minutes * S_PER_MIN)
    return Pairing(
        kind=kind,
        session=session,
        blocks=tuple(
            PairingBlock(
                block=block,
                exercise_indexes=tuple(exercise.index for exercise in plan.order),
                rest_s=plan.rest_s,
                low_s=plan.low_s,
                high_s=plan.high_s,
                reasons=tuple(_reasons(kind, plan, block, asked, timeline)),
            )
            for plan, block in zip(plans, session.blocks, strict=True)
        ),
        timeline=timeline,
        saved_min=_minutes(asked.straight_high_s - timeline.high_s),
        over_min=None if over_s is None else _minutes(over_s),
        findings=tuple(muscle_rest_findings(session, timeline.events, asked.facts, "#", novice=asked.policy.novice)),
        cuts=_cuts(plans, asked, over_s) if over_s else None,
    )


def _reasons(kind: PairingKind, plan: BlockPlan, block: Block, asked: _Asked, timeline: Timeline) -> Iterator[str]:
    if len(plan.order) > 1:
        yield from shared_block_reasons(plan, [slot.slot_key for slot in block.slots], timeline)
    elif kind != "straight":
        yield from lone_block_reasons(plan.order[0], asked.exercises)
    else:
        yield f"Straight sets, with the {plan.rest_s} s between them that were wanted."


def _cuts(plans: Sequence[BlockPlan], asked: _Asked, over_s: int) -> PairingCuts:
    fitting = fitting_cuts(plans, over_s, asked.policy.timeline)
    if fitting is None:
        return PairingCuts(
            reason=(
                f"No cut of sets brings it under {asked.minutes} min with one set of each exercise left: take an "
                "exercise out, or split the session in two."
            )
        )
    session = _session(fitting.plans)
    timeline = simulate(session, asked.facts, asked.policy.timeline)
    taken = sum(cut.sets_cut for cut in fitting.cuts)
    return PairingCuts(
        reason=f"Without {taken} set{'s' if taken > 1 else ''} it takes {timeline.high_min} min at most.",
        cuts=fitting.cuts,
        session=session,
        timeline=timeline,
    )


def _minutes(seconds: int) -> Decimal:
    return (Decimal(seconds) / S_PER_MIN).quantize(_TENTH, rounding=ROUND_HALF_EVEN)
