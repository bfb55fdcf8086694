"""What a planned session asks of each set, read off the document that the client follows."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from programs.prescription.snapshot_reading import listed_times
from programs.prescription.tempo import Tempo, TempoError, parse_tempo
from programs.prescription.vocabulary import ROUND_BLOCK_KINDS


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedSet:
    """What is asked of one set.

    Attributes:
        tempo: None where none is asked.
        reps_low: The fewest repetitions that fulfil it, segments summed; None where none are counted.
        reps_high: The most.
        per_side: They are asked of each side.
    """

    tempo: Tempo | None = None
    reps_low: int | None = None
    reps_high: int | None = None
    per_side: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedSlot:
    """A slot's sets in the order performed, warm-ups included.

    Attributes:
        sets: The sets of the slot, over all rounds; of one round where the block goes on until a clock stops it.
        repeats: A clock stops the block, so set numbers run on past the sets of one round.
    """

    sets: tuple[AskedSet, ...]
    repeats: bool = False

    def asked(self, set_number: int) -> AskedSet | None:
        """Give what is asked of the set of a number, counted from 1; None beyond what is planned."""
        if not self.sets or set_number < 1:
            return None
        place = set_number - 1
        if self.repeats:
            return self.sets[place % len(self.sets)]
        return self.sets[place] if place < len(self.sets) else None


def asked_slots(prescribed: Mapping[str, Any]) -> dict[str, AskedSlot]:
    """Read a planned session's slots.

    Args:
        prescribed: The planned session's document, as stored.

    Returns:
        By slot key, what each set asks.

    Source: practice.
    """
    return {
        slot["slot_key"]: AskedSlot(
            sets=tuple(asked for group in slot["sets"] for asked in _sets(slot, group)) * listed_times(block, slot),
            repeats=block.get("kind") in ROUND_BLOCK_KINDS and not block.get("rounds"),
        )
        for block in prescribed.get("blocks") or ()
        for slot in block["slots"]
    }


def tempo_of(text: str | None) -> Tempo | None:
    """Read a tempo, or give None for an empty or unreadable one: an unknown tempo blocks nothing.

    Args:
        text: A tempo as written.

    Source: practice.
    """
    try:
        return parse_tempo(text) if text else None
    except TempoError:
        return None


def _sets(slot: Mapping[str, Any], group: Mapping[str, Any]) -> tuple[AskedSet, ...]:
    low, high = _repetitions(group)
    per_side = bool(slot.get("per_side"))
    asked = AskedSet(tempo=tempo_of(group.get("tempo")), reps_low=low, reps_high=high, per_side=per_side)
    return (asked,) * int(group.get("count", 1))


def _repetitions(group: Mapping[str, Any]) -> tuple[int | None, int | None]:
    segments = group.get("segments")
    if segments:
        parts = [segment.get("reps") for segment in segments]
        total = None if None in parts else sum(parts)
        return total, total
    low = group.get("reps_low")
    high = group.get("reps_high")
    return low, low if high is None else high
