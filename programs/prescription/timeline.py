"""The simulated timeline of a session: how long it takes, and what each slot and muscle rests.

Steps, for each block in turn:

1. 120 s after the block before (practice);
2. ramp sets before the first heavy lift of a movement pattern, unless the slot writes its own: one ramp set with an
   effort, as in `ramp to 3 @ RPE 8`, is only the last of them;
3. the entry piece, then the sets in the order of performing: work, the slot's rest, at least the time to change
   station, 5 s to change sides. A finished slot is skipped.

A range of repetitions is played twice, at its low and its high end. Whatever the prescription does not say is
assumed by `TimelinePolicy` and marked.

**The straight-set equivalent** is the same work with each paired slot done alone, resting between its sets
exactly what it effectively rested in the pairing; between two such slots passes the time that the pairing gave
between them. So the minutes saved are what resting while the partner works is worth, and nothing else.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import ROUND_HALF_EVEN, Decimal

from programs.prescription.constants import S_PER_MIN
from programs.prescription.ramp_sets import add_ramp
from programs.prescription.rests import EffectiveRest, muscle_rests, slot_rests
from programs.prescription.set_work import entry_s, unknown_exercise
from programs.prescription.structure import Block, ExerciseFacts, Session, session_exercises
from programs.prescription.timeline_blocks import Slots, change_s, play_block, rest_s
from programs.prescription.timeline_clock import Clock, Event
from programs.prescription.timeline_policy import TimelinePolicy
from programs.prescription.vocabulary import RESTED_BLOCK_KINDS, BlockKind

__all__ = ["BlockTime", "EffectiveRest", "Event", "Timeline", "TimelinePolicy", "simulate"]

_TENTH = Decimal("0.1")
_THOUSANDTH = Decimal("0.001")


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockTime:
    """One block's seconds, and the whole rounds it holds where its length is set by a clock."""

    block_index: int
    kind: BlockKind
    label: str
    low_s: int
    high_s: int
    rounds_low: int | None = None
    rounds_high: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Timeline:
    """What a session takes, in seconds; ``low`` at the fewer repetitions of each range, ``high`` at the more.

    ``effective_rests`` is by slot_key, ``muscle_rests`` by primary muscle. ``assumed_rests`` and
    ``assumed_work`` name the slots whose rest or work the prescription does not say.
    """

    low_s: int
    high_s: int
    work_low_s: int
    work_high_s: int
    straight_equivalent_low_s: int
    straight_equivalent_high_s: int
    events: tuple[Event, ...] = ()
    blocks: tuple[BlockTime, ...] = ()
    effective_rests: Mapping[str, EffectiveRest] = field(default_factory=dict)
    muscle_rests: Mapping[str, EffectiveRest] = field(default_factory=dict)
    assumed_rests: tuple[str, ...] = ()
    assumed_work: tuple[str, ...] = ()

    @property
    def straight_equivalent_s(self) -> int:
        """The straight-set equivalent of the high reading."""
        return self.straight_equivalent_high_s

    @property
    def minutes_saved(self) -> Decimal:
        """Minutes that pairing saves against straight sets with the same effective rests, high reading."""
        return _minutes(self.straight_equivalent_high_s - self.high_s)

    @property
    def low_min(self) -> Decimal:
        """The low reading in minutes, to a tenth."""
        return _minutes(self.low_s)

    @property
    def high_min(self) -> Decimal:
        """The high reading in minutes, to a tenth."""
        return _minutes(self.high_s)

    @property
    def density_ratio(self) -> Decimal | None:
        """Share of the session spent working, high reading; None for a session without time."""
        if not self.high_s:
            return None
        return (Decimal(self.work_high_s) / self.high_s).quantize(_THOUSANDTH, rounding=ROUND_HALF_EVEN)


def simulate(
    session: Session,
    exercises: Mapping[str, ExerciseFacts] | None = None,
    policy: TimelinePolicy | None = None,
) -> Timeline:
    """Play a session through.

    Args:
        session: what is prescribed.
        exercises: facts by exercise key. An exercise that is missing has a station of its own, the policy's
            usual seconds a repetition, no muscles and no ramp sets.
        policy: how time is reckoned; the defaults are a gym's.
    """
    reckoning = policy or TimelinePolicy()
    known = exercises or {}
    facts = {key: known.get(key) or unknown_exercise(key, reckoning) for key in session_exercises(session)}
    clock = Clock()
    blocks: list[BlockTime] = []
    extra_low_s = extra_high_s = 0
    ramped: set[str] = set()
    for index, block in enumerate(session.blocks):
        clock.block_index = index
        if index:
            clock.add("between_blocks", reckoning.between_blocks_s, assumed=True)
        slots = [(slot, facts[slot.exercise]) for slot in block.slots]
        start = (clock.low_s, clock.high_s)
        if block.kind in RESTED_BLOCK_KINDS:
            add_ramp(clock, slots, ramped, reckoning)
        _add_entry(clock, block, facts, reckoning)
        first = len(clock.events)
        play_block(clock, block, slots, reckoning)
        played = clock.events[first:]
        extra = _straight_extra(block, slots, played, reckoning)
        extra_low_s, extra_high_s = extra_low_s + extra[0], extra_high_s + extra[1]
        blocks.append(_block_time(index, block, start, clock, played))
    return _timeline(session, clock, tuple(blocks), (extra_low_s, extra_high_s), facts)


def _add_entry(clock: Clock, block: Block, facts: Mapping[str, ExerciseFacts], policy: TimelinePolicy) -> None:
    if block.entry is None:
        return
    machine = facts[block.entry.exercise]
    clock.add("entry", entry_s(block.entry, machine, policy), assumed=block.entry.duration_s is None)
    clock.add("change_station", change_s((machine, facts[block.slots[0].exercise]), policy), assumed=True)


def _straight_extra(block: Block, slots: Slots, played: Sequence[Event], policy: TimelinePolicy) -> tuple[int, int]:
    if block.kind not in ("paired", "circuit") or not played:
        return 0, 0
    between_s = sum(
        max(rest_s(block, slot, policy)[0], change_s([facts for _, facts in slots], policy)) for slot, _ in slots[:-1]
    )
    alone_low_s = alone_high_s = 0
    for slot, _ in slots:
        own = [event for event in played if event.slot_key == slot.slot_key and event.kind != "rest"]
        if own:
            alone_low_s += own[-1].start_low_s + own[-1].low_s - own[0].start_low_s
            alone_high_s += own[-1].start_high_s + own[-1].high_s - own[0].start_high_s
    return (
        alone_low_s + between_s - sum(event.low_s for event in played),
        alone_high_s + between_s - sum(event.high_s for event in played),
    )


def _block_time(index: int, block: Block, start: tuple[int, int], clock: Clock, played: Sequence[Event]) -> BlockTime:
    rounds: tuple[int | None, int | None] = (None, None)
    if block.kind == "max_rounds":
        last = block.slots[-1].slot_key
        rounds = (_whole_rounds(played, last, high=True), _whole_rounds(played, last, high=False))
    return BlockTime(
        block_index=index,
        kind=block.kind,
        label=block.label,
        low_s=clock.low_s - start[0],
        high_s=clock.high_s - start[1],
        rounds_low=rounds[0],
        rounds_high=rounds[1],
    )


def _whole_rounds(played: Sequence[Event], last_slot_key: str, *, high: bool) -> int:
    work = [event for event in played if event.kind == "work" and event.slot_key == last_slot_key]
    begun = {event.set_number for event in work}
    cut = {event.set_number for event in work if not (event.whole_high if high else event.whole_low)}
    return len(begun - cut)


def _timeline(
    session: Session,
    clock: Clock,
    blocks: tuple[BlockTime, ...],
    extra_s: tuple[int, int],
    facts: Mapping[str, ExerciseFacts],
) -> Timeline:
    events = tuple(clock.events)
    working = [event for event in events if event.kind in ("work", "entry")]
    exercise_of = {slot.slot_key: facts[slot.exercise] for slot in session.slots}
    return Timeline(
        low_s=clock.low_s,
        high_s=clock.high_s,
        work_low_s=sum(event.low_s for event in working),
        work_high_s=sum(event.high_s for event in working),
        straight_equivalent_low_s=clock.low_s + extra_s[0],
        straight_equivalent_high_s=clock.high_s + extra_s[1],
        events=events,
        blocks=blocks,
        effective_rests=slot_rests(events),
        muscle_rests=muscle_rests(events, exercise_of),
        assumed_rests=_assumed_slots(events, "rest"),
        assumed_work=_assumed_slots(events, "work"),
    )


def _assumed_slots(events: Sequence[Event], kind: str) -> tuple[str, ...]:
    keys = [event.slot_key for event in events if event.kind == kind and event.assumed and event.slot_key]
    return tuple(dict.fromkeys(keys))


def _minutes(seconds: int) -> Decimal:
    return (Decimal(seconds) / S_PER_MIN).quantize(_TENTH, rounding=ROUND_HALF_EVEN)
