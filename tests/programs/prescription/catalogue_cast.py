"""The shared catalogue as the pure computations see it."""

from decimal import Decimal
from functools import cache

from programs.catalogue.entries import ExerciseEntry, load_entries
from programs.prescription.structure import ExerciseFacts


def facts_of(entry: ExerciseEntry) -> ExerciseFacts:
    row = entry.model_dump(mode="json", exclude={"aliases", "phase_words"})
    lists = {name: tuple(value) for name, value in row.items() if isinstance(value, list)}
    numbers = {name: Decimal(row[name]) for name in ("bodyweight_share", "repetition_s")}
    return ExerciseFacts(**(row | lists | numbers))


@cache
def catalogue() -> dict[str, ExerciseFacts]:
    return {entry.key: facts_of(entry) for entry in load_entries()}
