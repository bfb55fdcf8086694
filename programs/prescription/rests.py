"""Effective rest: from the end of a set to the start of the next that matters to the same slot, or muscle.

In a pairing the partner's set counts as rest for this one, which is the whole point of pairing.
Warm-up, ramp and technique sets are time only: rest is measured between sets that count.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

from programs.prescription.structure import ExerciseFacts
from programs.prescription.timeline_clock import Event

_IN_SET = frozenset({"work", "change_sides", "rest_inside"})


@dataclass(frozen=True, slots=True, kw_only=True)
class EffectiveRest:
    """The rest that a slot or muscle really has between its sets, in seconds.

    ``least_s`` is the shortest in the low reading, ``most_s`` the longest in the high one; both are None where
    there is nothing to rest between, and then ``reason`` says so. ``assumed`` marks that a rest on the way is
    not written. ``sets`` counts the sets that are performed in the high reading.
    """

    sets: int
    least_s: int | None = None
    most_s: int | None = None
    assumed: bool = False
    reason: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Span:
    """One performed set, from its first second to its last, in both readings."""

    slot_key: str
    start: tuple[int, int]
    end: tuple[int, int]
    whole: tuple[bool, bool]


def slot_rests(events: Iterable[Event]) -> dict[str, EffectiveRest]:
    """Give each slot's effective rest, by slot_key."""
    listed = list(events)
    spans = list(_spans(listed))
    assumed = {event.slot_key for event in listed if event.kind == "rest" and event.assumed}
    partners = _partners(listed)
    keys = dict.fromkeys(span.slot_key for span in spans)
    return {
        key: _rest([span for span in spans if span.slot_key == key], assumed=bool(assumed & partners[key]))
        for key in keys
    }


def muscle_rests(events: Iterable[Event], exercise_of: Mapping[str, ExerciseFacts]) -> dict[str, EffectiveRest]:
    """Give each primary muscle's effective rest over the session, by muscle.

    Args:
        events: the timeline's events.
        exercise_of: the exercise of each slot, by slot_key.
    """
    listed = list(events)
    assumed = any(event.kind == "rest" and event.assumed for event in listed)
    by_muscle: dict[str, list[_Span]] = {}
    for span in _spans(listed):
        for muscle in exercise_of[span.slot_key].primary_muscles:
            by_muscle.setdefault(muscle, []).append(span)
    return {muscle: _rest(spans, assumed=assumed) for muscle, spans in sorted(by_muscle.items())}


def _partners(events: Iterable[Event]) -> dict[str, set[str]]:
    blocks: dict[int, set[str]] = {}
    for event in events:
        if event.slot_key is not None:
            blocks.setdefault(event.block_index, set()).add(event.slot_key)
    return {key: keys for keys in blocks.values() for key in keys}


def _spans(events: Iterable[Event]) -> Iterator[_Span]:
    current: list[Event] = []
    for event in events:
        if event.kind not in _IN_SET:
            continue
        if current and (event.slot_key, event.set_number) != (current[0].slot_key, current[0].set_number):
            yield from _span(current)
            current = []
        current.append(event)
    yield from _span(current)


def _span(events: list[Event]) -> Iterator[_Span]:
    if not events or not events[0].counts_as_work or events[0].slot_key is None:
        return
    first, last = events[0], events[-1]
    yield _Span(
        slot_key=events[0].slot_key,
        start=(first.start_low_s, first.start_high_s),
        end=(last.start_low_s + last.low_s, last.start_high_s + last.high_s),
        whole=(all(event.whole_low for event in events), all(event.whole_high for event in events)),
    )


def _rest(spans: list[_Span], *, assumed: bool) -> EffectiveRest:
    gaps: list[int] = []
    performed = [[span for span in spans if span.whole[reading]] for reading in (0, 1)]
    for reading, sets in enumerate(performed):
        gaps += [after.start[reading] - before.end[reading] for before, after in pairwise(sets)]
    if not gaps:
        return EffectiveRest(sets=len(performed[1]), reason="One set: there is nothing to rest between.")
    return EffectiveRest(sets=len(performed[1]), least_s=min(gaps), most_s=max(gaps), assumed=assumed)
