"""From a set as sent to a set as stored: its exercise, its load's basis, its tempo's class."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any, Final

from logs.actions.log_content import kg_text, load_text, set_content
from logs.actions.log_fields import Item, SetFields
from logs.selectors.log_references import LoggedExercise
from programs.prescription.tempo import parse_tempo
from programs.prescription.tempo_classes import tempo_class
from programs.prescription.vocabulary import RestfulEnd

_PAIRS: Final = frozenset({"dumbbell_pair", "kettlebell_pair"})
_HANDS: Final = 2
_LOAD_PLACES: Final = Decimal("0.0001")

# The session's id is put in front when it is known; a held set waits for it.
_LATER: Final = ""


def resolve_sets(*, items: Iterable[Item], exercises: Mapping[str, LoggedExercise]) -> list[Item]:
    """Give sets the part of their content that does not depend on their session.

    Returns:
        The sets whose exercise or whose swap's exercise is unknown, still to be refused with candidates.
    """
    unknown = []
    classes: dict[tuple[str, str], str] = {}
    for item in items:
        fields: SetFields = item.fields
        exercise = exercises.get(fields["exercise"])
        swapped = fields["swapped"]
        if exercise is None or (swapped is not None and swapped["from"] not in exercises):
            unknown.append(item)
            continue
        if swapped is not None:
            fields["swapped"] = {**swapped, "from": exercises[swapped["from"]].named_key}
        load = _load(item, fields, exercise)
        if load is None:
            continue
        tempo = fields["tempo"]
        item.named_exercise_id = None if exercise.named_id == exercise.id else exercise.named_id
        item.content = set_content(
            fields,
            session_id=_LATER,
            exercise_id=exercise.id,
            load=load,
            tempo_class=_class_of(tempo, exercise.restful_end, classes) if tempo else "",
        )
    return unknown


def _class_of(tempo: str, restful_end: RestfulEnd, classes: dict[tuple[str, str], str]) -> str:
    found = classes.get((tempo, restful_end))
    if found is None:
        found = classes[tempo, restful_end] = tempo_class(parse_tempo(tempo), restful_end)
    return found


def _load(item: Item, fields: SetFields, exercise: LoggedExercise) -> tuple[str, str, str, str] | None:
    """Write the load in the exercise's own basis; None when it can't be said in it."""
    load_kg, load_lb, own = fields["load_kg"], fields["load_lb"], exercise.load_basis
    basis = fields["load_basis"]
    if own != "added" and _refuses_negative(item, fields):
        return None
    if basis is None or basis == own or (load_kg is None and load_lb is None):
        return (*load_text(load_kg, load_lb), own)
    if exercise.loading not in _PAIRS or {basis, own} != {"total", "each_hand"}:
        item.refuse(
            "load_basis",
            "load_basis",
            f"The load of {exercise.key} is kept as {own}, and {basis} can't be turned into it; "
            f"send it as {own}, or leave load_basis out.",
        )
        return None
    return _converted(item, fields, own)


def _refuses_negative(item: Item, fields: SetFields) -> bool:
    """Refuse loads below nothing: only what is added to the body may be less, where the body is helped."""
    parts: list[tuple[str, Mapping[str, Any]]] = [("", fields)]
    parts += [(f"segments/{index}/", segment) for index, segment in enumerate(fields["segments"] or ())]
    negative = [
        (place + name, value)
        for place, part in parts
        for name in ("load_kg", "load_lb")
        if (value := part[name]) is not None and value < 0
    ]
    for field, value in negative:
        item.refuse(
            field,
            "negative_load",
            f"A load of {value} can't be: only loads that are added to the body may be negative, for help from a "
            "machine or band; send what was lifted.",
        )
    return bool(negative)


def _converted(item: Item, fields: SetFields, own: str) -> tuple[str, str, str, str] | None:
    unit = "kg" if fields["load_kg"] is not None else "lb"
    sent = Decimal(repr(fields["load_kg"] if unit == "kg" else fields["load_lb"]))
    value = sent / _HANDS if own == "each_hand" else sent * _HANDS
    if value != value.quantize(_LOAD_PLACES):
        item.refuse(f"load_{unit}", "too_precise", f"Half of {sent} {unit} has more than 4 decimals; send {own}.")
        return None
    item.notes.append(
        f"The load of {sent} {unit} was sent as {fields['load_basis']} and is kept as {value} {unit} {own}."
    )
    in_kg = str(value) if unit == "kg" else kg_text(value)
    return str(value), unit, in_kg, own


def refuse_unknown_exercises(
    *, items: Iterable[Item], exercises: Mapping[str, LoggedExercise], candidates: Mapping[str, list[str]]
) -> None:
    """Refuse sets whose exercise is unknown, with the keys most like what they said."""
    for item in items:
        fields: SetFields = item.fields
        swapped = fields["swapped"]
        if fields["exercise"] not in exercises:
            item.refuse("exercise", "unknown_object", unknown_exercise(fields["exercise"], candidates))
        if swapped is not None and swapped["from"] not in exercises:
            item.refuse("swapped/from", "unknown_object", unknown_exercise(swapped["from"], candidates))


def unknown_exercise(name: str, candidates: Mapping[str, list[str]]) -> str:
    """Write the sentence about an exercise that is in no catalogue of the business."""
    near = candidates.get(name)
    hint = f" Did you mean {' or '.join(near)}?" if near else " List /exercises for their keys."
    return f"There is no exercise {name[:60]!r} in this business.{hint}"


def exercise_names(items: Iterable[Item]) -> set[str]:
    """Collect the exercises that sets name."""
    names: set[str] = set()
    for item in items:
        names.add(item.fields["exercise"])
        if item.fields["swapped"] is not None:
            names.add(item.fields["swapped"]["from"])
    return names


def faulty_exercise_names(items: Iterable[Item]) -> set[str]:
    """Collect the exercises that sets name which could not be read otherwise."""
    names = (item.fields.get("exercise") for item in items if item.kind == "set_log")
    return {name for name in names if isinstance(name, str)}
