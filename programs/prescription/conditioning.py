"""Conditioning blocks: their rounds, their brakes, their work and rest, played on the session's own timeline.

A conditioning block is an interval, rounds for time, as many rounds as possible, every minute or steady block, or a
circuit whose slots are all meant for conditioning.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_EVEN, Decimal
from itertools import pairwise
from typing import Final

from programs.prescription.brakes import Brake, block_brakes, is_near_maximal, is_safe_tired, is_slow
from programs.prescription.constants import ROWING_SPLIT_M
from programs.prescription.energy_systems import WorkRest, read_work_rest
from programs.prescription.rowing_pace import power_w
from programs.prescription.set_work import unknown_exercise
from programs.prescription.slot_work import slot_work
from programs.prescription.structure import Block, ExerciseFacts, Session, Slot
from programs.prescription.timeline import BlockTime, Event, Timeline, simulate
from programs.prescription.timeline_policy import TimelinePolicy
from programs.prescription.vocabulary import ROUND_BLOCK_KINDS, BlockKind

_THOUSANDTH: Final = Decimal("0.001")
"""Shares are given to a thousandth. Practice."""

_ROWING_STATION: Final = "rowing_machine"
"""The station of which pace and power are known. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RowingPiece:
    """A distance on the rowing machine: the 500 m split that its time was reckoned with, and that pace's watts."""

    slot_key: str
    split_s: Decimal
    power_w: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditioning:
    """What a conditioning block asks for.

    ``low_s`` and ``high_s`` are the work's own seconds, without an entry piece. ``rounds_*`` are whole rounds, None
    for steady work; ``round_*_s`` one round's seconds with the rest after it. ``slow_share_ratio`` is the share of a
    round's work in movements of 15 s or more a repetition, None where a round has no work of known length.
    ``safe_tired`` is a property of safety, not a brake.
    """

    block_index: int
    kind: BlockKind
    label: str
    low_s: int
    high_s: int
    rounds_low: int | None
    rounds_high: int | None
    round_low_s: int | None
    round_high_s: int | None
    slow_share_ratio: Decimal | None
    work_rest: tuple[WorkRest, ...]
    brakes: tuple[Brake, ...]
    safe_tired: bool
    rowing: tuple[RowingPiece, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Round:
    """The slots of one round with their exercises, and how time is reckoned."""

    block: Block
    exercises: Mapping[str, ExerciseFacts]
    policy: TimelinePolicy

    def facts(self, slot: Slot) -> ExerciseFacts:
        return self.exercises[slot.exercise]

    def work_s(self, slot: Slot) -> int:
        """Give the seconds of a slot's work in one round, high reading."""
        if self.block.kind == "interval":
            return self.block.work_s or 0
        # Of unlike rounds the longest.
        return max((work.duration_high_s for work in slot_work(slot, self.facts(slot), self.policy)), default=0)


def is_conditioning(block: Block) -> bool:
    """Say whether a block is conditioning."""
    if block.kind in ROUND_BLOCK_KINDS:
        return True
    return block.kind == "circuit" and all(slot.goal == "conditioning" for slot in block.slots)


def conditioning(
    session: Session,
    timeline: Timeline,
    exercises: Mapping[str, ExerciseFacts] | None = None,
    policy: TimelinePolicy | None = None,
) -> tuple[Conditioning, ...]:
    """Read every conditioning block of a session.

    Args:
        session: what is prescribed.
        timeline: the session's, reckoned with the same policy.
        exercises: facts by exercise key; an exercise that is missing is reckoned as the timeline does.
        policy: how time is reckoned.
    """
    reckoning = policy or TimelinePolicy()
    found: list[Conditioning] = []
    for index, block in enumerate(session.blocks):
        if is_conditioning(block):
            entries = [block.entry.exercise] if block.entry is not None else []
            keys = [*(slot.exercise for slot in block.slots), *entries]
            known = {key: (exercises or {}).get(key) or unknown_exercise(key, reckoning) for key in keys}
            one_round = _Round(block=block, exercises=known, policy=reckoning)
            found.append(_read(index, one_round, timeline.blocks[index], timeline))
    return tuple(found)


def _read(index: int, one_round: _Round, time: BlockTime, timeline: Timeline) -> Conditioning:
    block = one_round.block
    rounds = _rounds(index, block, time, timeline)
    seconds = _round_s(one_round)
    length = _length_s(index, timeline)
    return Conditioning(
        block_index=index,
        kind=block.kind,
        label=block.label,
        low_s=length[0],
        high_s=length[1],
        rounds_low=rounds[0],
        rounds_high=rounds[1],
        round_low_s=seconds[0],
        round_high_s=seconds[1],
        slow_share_ratio=_slow_share(one_round),
        work_rest=_work_rests(one_round),
        brakes=block_brakes(block, one_round.exercises, one_round.policy),
        safe_tired=is_safe_tired(block, one_round.exercises),
        rowing=_rowing(one_round),
    )


def _length_s(index: int, timeline: Timeline) -> tuple[int, int]:
    events = [event for event in timeline.events if event.block_index == index]
    first = next((event for event in events if event.kind == "work"), None)
    if first is None:
        return 0, 0
    last = events[-1]
    return last.start_low_s + last.low_s - first.start_low_s, last.start_high_s + last.high_s - first.start_high_s


def _rounds(index: int, block: Block, time: BlockTime, timeline: Timeline) -> tuple[int | None, int | None]:
    if block.kind == "max_rounds":
        return time.rounds_low, time.rounds_high
    if block.kind == "every_minute" and block.minutes is not None:
        whole = block.intervals // len(block.slots)
        return whole, whole
    if block.kind == "rounds_for_time":
        work = [event for event in timeline.events if event.block_index == index and event.kind == "work"]
        last = {event.set_number for event in work if event.slot_key == block.slots[-1].slot_key}
        cut_low = {event.set_number for event in work if not event.whole_high}
        cut_high = {event.set_number for event in work if not event.whole_low}
        return len(last - cut_low), len(last - cut_high)
    return block.rounds, block.rounds


def _round_s(one_round: _Round) -> tuple[int | None, int | None]:
    block = one_round.block
    if block.kind == "steady":
        return None, None
    if block.kind == "interval":
        between_s = block.off_s if block.rest_between_rounds_s is None else block.rest_between_rounds_s
        seconds = ((block.work_s or 0) + (block.off_s or 0)) * len(block.slots) - (block.off_s or 0) + (between_s or 0)
        return seconds, seconds
    if block.kind == "every_minute":
        return block.interval_s * len(block.slots), block.interval_s * len(block.slots)
    # One round more than there are unlike ones is played, and each is measured up to where the next starts.
    kind: BlockKind = "circuit" if block.kind == "circuit" else "rounds_for_time"
    unlike = max(max(1, slot.set_count) for slot in block.slots) if kind == block.kind else 1
    longer = replace(block, kind=kind, rounds=unlike + 1, minutes=None, cap_min=None, entry=None)
    played = simulate(Session(blocks=(longer,)), one_round.exercises, one_round.policy)
    first = block.slots[0].slot_key
    starts: dict[int | None, Event] = {}
    for event in played.events:
        if event.kind == "work" and event.slot_key == first:
            starts.setdefault(event.set_number, event)
    rounds = list(pairwise(starts.values()))
    return (
        min(after.start_low_s - before.start_low_s for before, after in rounds),
        max(after.start_high_s - before.start_high_s for before, after in rounds),
    )


def _slow_share(one_round: _Round) -> Decimal | None:
    work = {slot.slot_key: one_round.work_s(slot) for slot in one_round.block.slots}
    total = sum(work.values())
    if not total:
        return None
    slow = sum(
        work[slot.slot_key] for slot in one_round.block.slots if is_slow(slot, one_round.facts(slot), one_round.policy)
    )
    return (Decimal(slow) / total).quantize(_THOUSANDTH, rounding=ROUND_HALF_EVEN)


def _work_rests(one_round: _Round) -> tuple[WorkRest, ...]:
    found: list[WorkRest] = []
    for slot in one_round.block.slots:
        work_s = one_round.work_s(slot)
        rest_s = _rest_s(one_round.block, slot, work_s)
        if work_s and rest_s is not None:
            found.append(read_work_rest(slot.slot_key, work_s, rest_s, near_maximal=is_near_maximal(slot)))
    return tuple(found)


def _rest_s(block: Block, slot: Slot, work_s: int) -> int | None:
    if block.kind == "interval":
        return block.off_s or 0
    if block.kind == "every_minute":
        return max(0, block.interval_s - work_s)
    if slot is block.slots[-1] and block.rest_between_rounds_s is not None:
        return block.rest_between_rounds_s or None
    return slot.rest_s or None


def _rowing(one_round: _Round) -> tuple[RowingPiece, ...]:
    found: list[RowingPiece] = []
    for slot in one_round.block.slots:
        facts = one_round.facts(slot)
        measured = any(group.distance_m is not None for group in slot.sets)
        if facts.station == _ROWING_STATION and facts.measure == "metres" and measured:
            split = facts.repetition_s * ROWING_SPLIT_M
            found.append(RowingPiece(slot_key=slot.slot_key, split_s=split, power_w=power_w(split)))
    return tuple(found)
