"""What a planned session asks of each single set, as arrays beside its document, so that no sum has to decode it.

Set n of a slot stands n - 1 places after the slot's first. A block's rounds repeat its sets.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from programs.prescription.snapshot_reading import listed_times
from programs.prescription.tempo import Tempo, parse_tempo
from programs.prescription.vocabulary import UNCOUNTED_SET_KINDS
from programs.prescription.volume import COUNTED_BLOCKS

HELPED_S: Final = -1
"""How an assisted concentric is written: one second, in which the muscle is helped. Practice."""

Figures = tuple[int | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedSets:
    """A session's sets, one entry each, in the order written.

    ``slots`` has each set's slot_key; ``figures`` its eccentric, lengthened, concentric and shortened seconds (X as
    1, A as -1; all None without a tempo), its fewest repetitions over all segments (None where none are counted) and
    the sides that they are of; ``loads_kg`` its load, None where only the day will tell. ``reps`` sums the fewest
    repetitions of the work sets, both sides, without those against a clock.
    """

    slots: tuple[str, ...]
    figures: tuple[Figures, ...]
    loads_kg: tuple[Decimal | None, ...]
    reps: int


def planned_sets(prescribed: Mapping[str, Any]) -> PlannedSets:
    """Read what a planned session asks of its sets.

    Args:
        prescribed: the session's document, with loads resolved.
    """
    sets = [
        (slot, group, block["kind"] in COUNTED_BLOCKS)
        for block in prescribed.get("blocks", ())
        for slot, group in _in_order(block)
    ]
    figures = tuple(_figures(slot, group) for slot, group, _counted in sets)
    return PlannedSets(
        slots=tuple(slot["slot_key"] for slot, _group, _counted in sets),
        figures=figures,
        loads_kg=tuple(_load_kg(group) for _slot, group, _counted in sets),
        reps=sum(
            (reps or 0) * (sides or 1)
            for (_slot, group, counted), (*_tempo, reps, sides) in zip(sets, figures, strict=True)
            if counted and group.get("kind", "work") not in UNCOUNTED_SET_KINDS
        ),
    )


def tempo_seconds(tempo: Tempo) -> tuple[int, int, int, int]:
    """Give a tempo's four parts as `PlannedSets.figures` has them."""
    concentric_s = HELPED_S if tempo.assisted else tempo.phase_s("concentric")
    return tempo.eccentric_s, tempo.lengthened_s, concentric_s, tempo.shortened_s


def tempo_of_seconds(seconds: Sequence[int | None]) -> Tempo | None:
    """Read a tempo off `PlannedSets.figures`; an X has become 1 s, which is what it counts for.

    Args:
        seconds: the four parts, or more figures after them.
    """
    eccentric_s, lengthened_s, concentric_s, shortened_s, *_rest = seconds
    if eccentric_s is None or lengthened_s is None or concentric_s is None or shortened_s is None:
        return None
    assisted = concentric_s == HELPED_S
    return Tempo(
        eccentric_s=eccentric_s,
        lengthened_s=lengthened_s,
        concentric_s=0 if assisted else concentric_s,
        shortened_s=shortened_s,
        assisted=assisted,
    )


def _in_order(block: Mapping[str, Any]) -> Iterator[tuple[Mapping[str, Any], Mapping[str, Any]]]:
    for slot in block["slots"]:
        for _round in range(listed_times(block, slot)):
            for group in slot["sets"]:
                for _set in range(group.get("count", 1)):
                    yield slot, group


def _figures(slot: Mapping[str, Any], group: Mapping[str, Any]) -> Figures:
    tempo = group.get("tempo")
    seconds = (None, None, None, None) if tempo is None else tempo_seconds(parse_tempo(tempo))
    return (*seconds, _fewest_reps(group), 2 if slot.get("per_side") else 1)


def _fewest_reps(group: Mapping[str, Any]) -> int | None:
    parts = [segment.get("reps") for segment in group.get("segments") or ()]
    if not parts:
        reps: int | None = group.get("reps_low")
        return reps
    return None if None in parts else sum(parts)


def _load_kg(group: Mapping[str, Any]) -> Decimal | None:
    load = group.get("load_kg")
    return None if load is None else Decimal(load)
