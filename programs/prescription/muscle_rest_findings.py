"""Whether each muscle is rested when the next exercise needs it: between exercises, inside a block or across blocks.

`programs.prescription.rest_findings` holds each slot against its own last set; this holds it against the last set
of any other slot for a muscle that is primary in both.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from programs.prescription.findings import Finding
from programs.prescription.rest_findings import LeastRest, least_rest
from programs.prescription.structure import ExerciseFacts, Session
from programs.prescription.timeline_clock import Event
from programs.prescription.vocabulary import RESTED_BLOCK_KINDS

_IN_SET: Final = frozenset({"work", "change_sides", "rest_inside"})
"""Events of one set. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Before:
    slot_key: str
    block_index: int
    set_number: int | None
    end_s: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Meeting:
    """Two slots that meet at a muscle, with the shortest time between them, low reading."""

    first: str
    second: str
    muscle: str
    across_blocks: bool
    least_s: int


def muscle_rest_findings(
    session: Session,
    events: Iterable[Event],
    exercises: Mapping[str, ExerciseFacts],
    pointer: str,
    *,
    novice: bool = False,
) -> Iterator[Finding]:
    """Hold the time between unlike exercises of one muscle against what the later one wants.

    Args:
        session: what is prescribed; its slot keys name the events' slots.
        events: the timeline's events.
        exercises: facts by exercise key; an exercise that is missing is passed over.
        pointer: the session's place in its document.
        novice: whether the client has trained for less than 6 months.
    """
    wanted: dict[str, LeastRest] = {}
    muscles: dict[str, tuple[str, ...]] = {}
    places: dict[str, str] = {}
    for block_index, block in enumerate(session.blocks):
        for slot_index, slot in enumerate(block.slots):
            facts = exercises.get(slot.exercise)
            least = least_rest(slot, facts, novice=novice)
            if facts is None or least is None or block.kind not in RESTED_BLOCK_KINDS:
                continue
            wanted[slot.slot_key] = least
            muscles[slot.slot_key] = facts.primary_muscles
            places[slot.slot_key] = f"{pointer}/blocks/{block_index}/slots/{slot_index}"
    for met in _meetings(events, muscles):
        bound = wanted[met.second]
        if met.least_s < bound.least_s:
            yield _finding(met, bound, places[met.second])


def _meetings(events: Iterable[Event], muscles: Mapping[str, tuple[str, ...]]) -> list[_Meeting]:
    last: dict[str, _Before] = {}
    found: dict[tuple[str, str], _Meeting] = {}
    for event in events:
        key = event.slot_key
        if key is None or key not in muscles or event.kind not in _IN_SET or not event.counts_as_work:
            continue
        now = _Before(
            slot_key=key,
            block_index=event.block_index,
            set_number=event.set_number,
            end_s=event.start_low_s + event.low_s,
        )
        for muscle in muscles[key]:
            before = last.get(muscle)
            last[muscle] = now
            if before is None or before.slot_key == key:
                continue
            met = _Meeting(
                first=before.slot_key,
                second=key,
                muscle=muscle,
                across_blocks=before.block_index != event.block_index,
                least_s=event.start_low_s - before.end_s,
            )
            known = found.get((met.first, met.second))
            if known is None or met.least_s < known.least_s:
                found[met.first, met.second] = met
    return list(found.values())


def _finding(met: _Meeting, bound: LeastRest, place: str) -> Finding:
    muscle = met.muscle.replace("_", " ")
    where = "across blocks" if met.across_blocks else "inside the block"
    return Finding(
        severity="note",
        code="short_muscle_rest",
        message=(
            f"{met.second} starts {met.least_s} s after a set of {met.first}, which works the {muscle} too ({where}); "
            f"its work usually wants {bound.least_s} s or more."
        ),
        pointer=place,
        rule="Least effective rest of each primary muscle, by the goal of the set that comes.",
        source=bound.source,
        suggestion=f"Put work for other muscles between them, or rest {bound.least_s - met.least_s} s longer.",
        figure=Decimal(met.least_s),
        bound=Decimal(bound.least_s),
        unit="s",
    )
