"""Findings about conditioning blocks: no brake, a complex movement under fatigue, rest against the published table."""

from collections.abc import Iterator, Mapping
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Final

from programs.prescription.conditioning import Conditioning
from programs.prescription.constants import (
    COMPLEX_MOVEMENT_MIN,
    FAST_GLYCOLYSIS_REST_RATIO,
    S_PER_MIN,
    UNBRAKED_MAX_MIN,
)
from programs.prescription.energy_systems import TABLE_SOURCE
from programs.prescription.findings import Finding
from programs.prescription.structure import Block, ExerciseFacts

_PRACTICE: Final = "Practice."
"""What stands as the source where there is none. Practice."""

_TENTH: Final = Decimal("0.1")
"""Minutes are given to a tenth. Practice."""


def conditioning_findings(
    block: Block, found: Conditioning, exercises: Mapping[str, ExerciseFacts], place: str
) -> Iterator[Finding]:
    """Judge one conditioning block.

    Args:
        block: the block.
        found: what was read of it.
        exercises: facts by exercise key; an exercise that is missing is passed over.
        place: the block's JSON Pointer.
    """
    yield from _rest_findings(block, found, place)
    if block.kind == "steady" or found.high_s <= UNBRAKED_MAX_MIN * S_PER_MIN:
        return
    minutes = (Decimal(found.high_s) / S_PER_MIN).quantize(_TENTH, rounding=ROUND_HALF_EVEN)
    if not found.brakes:
        yield Finding(
            severity="warning",
            code="no_brake",
            message=f"The block goes on for {minutes} min, and nothing in it holds the pace down.",
            pointer=place,
            rule=f"Conditioning over {UNBRAKED_MAX_MIN} min has a brake.",
            source=_PRACTICE,
            suggestion=(
                "Write work and rest in turns, a slow movement, a minute or more on a machine first, loaded and "
                "bodyweight work in turns, or a cap on pace, heart rate or RPE."
            ),
            figure=minutes,
            bound=Decimal(UNBRAKED_MAX_MIN),
            unit="min",
        )
    if _rests_restore(block):
        return
    for index, slot in enumerate(block.slots):
        facts = exercises.get(slot.exercise)
        if facts is not None and facts.complexity >= COMPLEX_MOVEMENT_MIN:
            yield Finding(
                severity="warning",
                code="complex_when_tired",
                message=f"{facts.name} is a complex movement, and comes up again and again in {minutes} min of work.",
                pointer=f"{place}/slots/{index}/exercise",
                rule=f"Movements of complexity {COMPLEX_MOVEMENT_MIN} stay out of conditioning.",
                source=_PRACTICE,
                suggestion="Put it first in the session, fresh, or take a simpler movement of the same pattern.",
                figure=Decimal(facts.complexity),
                bound=Decimal(COMPLEX_MOVEMENT_MIN),
            )


def _rests_restore(block: Block) -> bool:
    if block.kind != "interval" or not block.work_s:
        return False
    return (block.off_s or 0) >= block.work_s * FAST_GLYCOLYSIS_REST_RATIO[0]


def _rest_findings(block: Block, found: Conditioning, place: str) -> Iterator[Finding]:
    places = {slot.slot_key: index for index, slot in enumerate(block.slots)}
    for work_rest in found.work_rest:
        if work_rest.verdict != "less" or work_rest.row is None or work_rest.published_low_s is None:
            continue
        system = work_rest.row.system.replace("_", " ")
        yield Finding(
            severity="note",
            code="short_interval_rest",
            message=(
                f"{work_rest.slot_key} works {work_rest.work_s} s near-maximally and rests {work_rest.rest_s} s; for "
                f"{system} work the table has {work_rest.published_low_s} to {work_rest.published_high_s} s."
            ),
            pointer=f"{place}/slots/{places[work_rest.slot_key]}",
            rule="Work and rest by energy system, for near-maximal work.",
            source=TABLE_SOURCE,
            suggestion="Rest longer, or write the effort that is meant.",
            figure=Decimal(work_rest.rest_s),
            bound=Decimal(work_rest.published_low_s),
            unit="s",
        )
