"""How each kind of block is performed, set by set."""

from collections.abc import Iterable, Iterator, Sequence

from programs.prescription.constants import MAX_ROUNDS_SETS_SHOWN, S_PER_MIN
from programs.prescription.set_work import set_work
from programs.prescription.structure import Block, ExerciseFacts, Slot
from programs.prescription.timeline_clock import Clock, PlannedSet
from programs.prescription.timeline_policy import TimelinePolicy

Slots = Sequence[tuple[Slot, ExerciseFacts]]


def play_block(clock: Clock, block: Block, slots: Slots, policy: TimelinePolicy) -> None:
    """Put one block's sets, rests and changes on the clock, entry piece and ramp sets apart."""
    match block.kind:
        case "interval":
            _play_intervals(clock, block, slots)
        case "every_minute":
            _play_every_minute(clock, block, slots, policy)
        case "max_rounds":
            _play_max_rounds(clock, block, slots, policy)
        case "rounds_for_time":
            if block.cap_min is not None:
                clock.stop_after(block.cap_min * S_PER_MIN)
            _play_sets(clock, block, _in_rounds(slots, block.rounds or 1), policy)
            clock.run_on()
        case "steady":
            clock_s = (block.minutes or 0) * S_PER_MIN
            for planned in _in_rounds(slots, 1):
                _play_set(clock, planned, policy, clock_s)
        case _:
            _play_sets(clock, block, planned_sets(block, slots), policy)


def planned_sets(block: Block, slots: Slots) -> list[PlannedSet]:
    """Give the sets of a straight, paired or circuit block in the order of performing.

    Slots take turns, one set each; a finished slot is skipped.
    """
    if block.rounds is not None:
        return list(_in_rounds(slots, block.rounds))
    queues = [list(_listed(slot, facts)) for slot, facts in slots]
    longest = max((len(queue) for queue in queues), default=0)
    return [queue[turn] for turn in range(longest) for queue in queues if turn < len(queue)]


def change_s(slots: Iterable[ExerciseFacts], policy: TimelinePolicy) -> int:
    """Give the least time between two exercises: none where they share one station."""
    stations = {facts.station or facts.key for facts in slots}
    return policy.change_station_s if len(stations) > 1 else 0


def rest_s(block: Block, slot: Slot, policy: TimelinePolicy) -> tuple[int, bool]:
    """Give the rest after a slot's set, and whether it is assumed."""
    if slot.rest_s is None:
        return policy.assumed_rest_s(block.kind, slot.goal), True
    return slot.rest_s, False


def _listed(slot: Slot, facts: ExerciseFacts) -> Iterator[PlannedSet]:
    groups = [group for group in slot.sets for _ in range(group.count)]
    for number, group in enumerate(groups, start=1):
        yield PlannedSet(slot=slot, facts=facts, group=group, set_number=number)


def _in_rounds(slots: Slots, rounds: int) -> Iterator[PlannedSet]:
    for number in range(1, rounds + 1):
        for slot, facts in slots:
            yield PlannedSet(slot=slot, facts=facts, group=slot.set_of_round(number), set_number=number)


def _play_sets(clock: Clock, block: Block, sets: Iterable[PlannedSet], policy: TimelinePolicy) -> None:
    before: PlannedSet | None = None
    for planned in sets:
        if before is not None:
            _play_gap(clock, block, before, planned, policy)
        _play_set(clock, planned, policy)
        before = planned


def _play_gap(clock: Clock, block: Block, before: PlannedSet, after: PlannedSet, policy: TimelinePolicy) -> None:
    rested_s, assumed = rest_s(block, before.slot, policy)
    if block.rest_between_rounds_s is not None and after.set_number != before.set_number:
        rested_s, assumed = block.rest_between_rounds_s, False
    clock.add("rest", rested_s, planned=before, assumed=assumed)
    if before.slot is not after.slot:
        least_s = change_s((before.facts, after.facts), policy)
        clock.add("change_station", max(0, least_s - rested_s), assumed=True)


def _play_set(clock: Clock, planned: PlannedSet, policy: TimelinePolicy, clock_s: int = 0) -> None:
    work = set_work(planned.group, planned.facts, policy, clock_s)
    for side in range(2 if planned.slot.per_side else 1):
        if side:
            clock.add("change_sides", policy.change_sides_s, planned=planned, assumed=True)
        clock.add("work", work.low_s, work.high_s, planned=planned, assumed=work.assumed)
        clock.add("rest_inside", work.inside_rest_s, planned=planned)


def _play_intervals(clock: Clock, block: Block, slots: Slots) -> None:
    before: PlannedSet | None = None
    for planned in _in_rounds(slots, block.rounds or 1):
        if before is not None:
            between_s = block.rest_between_rounds_s if planned.set_number != before.set_number else None
            clock.add("rest", (block.off_s or 0) if between_s is None else between_s, planned=before)
        clock.add("work", block.work_s or 0, planned=planned)
        before = planned


def _play_every_minute(clock: Clock, block: Block, slots: Slots, policy: TimelinePolicy) -> None:
    sets = list(_in_rounds(slots, -(-block.intervals // len(slots))))[: block.intervals]
    for planned in sets:
        clock.stop_after(block.interval_s)
        _play_set(clock, planned, policy)
        clock.add("rest", clock.left_low_s, clock.left_high_s, planned=planned)
        clock.run_on()


def _play_max_rounds(clock: Clock, block: Block, slots: Slots, policy: TimelinePolicy) -> None:
    clock.stop_after((block.minutes or 0) * S_PER_MIN)
    before: PlannedSet | None = None
    for planned in _in_rounds(slots, max(1, MAX_ROUNDS_SETS_SHOWN // len(slots))):
        if not (clock.left_low_s or clock.left_high_s):
            break
        if before is not None:
            _play_gap(clock, block, before, planned, policy)
        _play_set(clock, planned, policy)
        before = planned
    clock.add("rounds", clock.left_low_s, clock.left_high_s, assumed=True)
    clock.run_on()
