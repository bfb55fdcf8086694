"""Whether the fields of an exercise make sense together; each fault says what to change."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from programs.catalogue.fields import ExerciseFields
from programs.catalogue.vocabulary import (
    LOAD_BASES,
    LOADED_BY_MACHINE,
    LOADED_WITH,
    SHARED_STATIONS,
    Loading,
    Measure,
    RestfulEnd,
)


@dataclass(frozen=True)
class EntryFault:
    """One thing wrong with an exercise: the field to change and a sentence."""

    field: str
    message: str


def comparable_name(text: str) -> str:
    """Fold a name, key or alias to the form in which two of them count as the same.

    Args:
        text: a name, key or alias as written.

    Returns:
        Lower case, hyphens as spaces, single spaces: `Pull-Up` and `pull up` are one name.
    """
    return " ".join(text.casefold().replace("-", " ").split())


def entry_sense_faults(entry: ExerciseFields) -> tuple[EntryFault, ...]:
    """Find what in an exercise contradicts itself, field against field.

    Args:
        entry: an exercise whose fields are each valid alone.

    Returns:
        Every fault, none when the exercise makes sense.
    """
    return (
        *_alias_faults(entry),
        *_muscle_faults(entry),
        *_repetition_faults(entry),
        *_rest_faults(entry),
        *_load_faults(entry),
        *_equipment_faults(entry),
    )


def _repeated(values: Iterable[str]) -> list[str]:
    return [value for value, count in Counter(values).items() if count > 1]


def _alias_faults(entry: ExerciseFields) -> Iterator[EntryFault]:
    own = comparable_name(entry.name)
    folded = [comparable_name(alias) for alias in entry.aliases]
    if own in folded:
        yield EntryFault("aliases", f"The alias {own!r} is the exercise's own name; leave it out.")
    for alias in _repeated(folded):
        yield EntryFault("aliases", f"The alias {alias!r} is given more than once; keep one.")


def _muscle_faults(entry: ExerciseFields) -> Iterator[EntryFault]:
    for field in ("primary_muscles", "secondary_muscles", "rests_muscles", "equipment"):
        for value in _repeated(getattr(entry, field)):
            yield EntryFault(field, f"{value!r} is listed more than once; keep one.")
    for muscle in entry.primary_muscles:
        if muscle in entry.secondary_muscles:
            yield EntryFault(
                "secondary_muscles",
                f"{muscle.value!r} is both a primary and a secondary muscle; keep it in one list.",
            )


def _repetition_faults(entry: ExerciseFields) -> Iterator[EntryFault]:
    counted = entry.measure is Measure.REPS
    for field in ("starts_at", "phase_words"):
        given = getattr(entry, field) is not None
        if counted and not given:
            yield EntryFault(field, f"An exercise counted in repetitions needs {field!r}; give it.")
        if given and not counted:
            yield EntryFault(
                field,
                f"An exercise measured in {entry.measure.value} has no phases; set {field!r} to null.",
            )
    if entry.phase_words is not None:
        for word in _repeated(comparable_name(word) for word in entry.phase_words.in_written_order()):
            yield EntryFault(
                "phase_words",
                f"{word!r} names more than one phase; give each of the four its own words.",
            )


def _rest_faults(entry: ExerciseFields) -> Iterator[EntryFault]:
    if entry.restful_end is RestfulEnd.NONE:
        if entry.rests_muscles:
            yield EntryFault(
                "rests_muscles",
                "Without a restful end no muscle rests; empty the list or name the restful end.",
            )
        return
    if entry.measure is not Measure.REPS:
        yield EntryFault(
            "restful_end",
            f"An exercise measured in {entry.measure.value} has no restful end; set it to 'none'.",
        )
    if not entry.rests_muscles:
        yield EntryFault(
            "rests_muscles",
            "A restful end rests at least one muscle; list those, or set 'restful_end' to 'none'.",
        )
    for muscle in entry.rests_muscles:
        if muscle not in entry.muscles:
            yield EntryFault(
                "rests_muscles",
                f"{muscle.value!r} is not worked by this exercise; take it out, or add it to the muscles.",
            )


def _load_faults(entry: ExerciseFields) -> Iterator[EntryFault]:
    bases = LOAD_BASES[entry.loading]
    if entry.load_basis not in bases:
        wanted = " or ".join(sorted(repr(basis.value) for basis in bases))
        yield EntryFault(
            "load_basis",
            f"With the loading {entry.loading.value!r} a load is read as {wanted}; use that.",
        )
    moves_body = entry.loading is Loading.BODYWEIGHT and entry.measure is Measure.REPS
    if moves_body and not entry.bodyweight_share:
        yield EntryFault(
            "bodyweight_share",
            "A bodyweight lift moves a share of the body; give it, above 0 and at most 1.",
        )
    if entry.bodyweight_share and not moves_body:
        yield EntryFault(
            "bodyweight_share",
            "Only a bodyweight lift counted in repetitions moves a share of the body; set it to '0'.",
        )
    if entry.loading is Loading.STACK and entry.station in SHARED_STATIONS:
        yield EntryFault(
            "station",
            "A weight stack stands at a machine or a cable; name that station.",
        )


def _equipment_faults(entry: ExerciseFields) -> Iterator[EntryFault]:
    wanted = LOADED_WITH.get(entry.loading, frozenset())
    if wanted and not wanted.intersection(entry.equipment):
        named = " or ".join(sorted(repr(item.value) for item in wanted))
        yield EntryFault("equipment", f"The loading {entry.loading.value!r} needs {named}; add it to the equipment.")
    if entry.loading in LOADED_BY_MACHINE and not entry.equipment:
        yield EntryFault(
            "equipment", f"The loading {entry.loading.value!r} needs a machine; name it among the equipment."
        )
