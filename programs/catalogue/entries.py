"""One exercise of the catalogue, checked; and the shared catalogue read from its data files."""

from collections.abc import Iterable, Mapping
from functools import cache
from importlib.resources import files
from typing import Any, Final, Self

import yaml
from pydantic import ValidationError, model_validator
from pydantic_core import ErrorDetails, PydanticCustomError

from programs.catalogue.fields import ExerciseFields
from programs.catalogue.sense import EntryFault, comparable_name, entry_sense_faults

SENSE_FAULT: Final = "exercise_sense"

_LENGTHS: Final = {
    "too_short": ("min_length", "{field!r} is empty; list at least {limit}."),
    "string_too_short": ("min_length", "{value!r} is too short for {field!r}; write at least {limit} characters."),
    "string_too_long": ("max_length", "{value!r} is too long for {field!r}; write at most {limit} characters."),
}
"""How a wrong length is told, by pydantic's error type."""


class CatalogueError(ValueError):
    """An exercise, or the catalogue as a whole, does not hold; `faults` has each one."""

    def __init__(self, where: str, faults: Iterable[EntryFault]) -> None:
        self.faults = tuple(faults)
        super().__init__(" ".join(f"{where}, {fault.field}: {fault.message}" for fault in self.faults))


class ExerciseEntry(ExerciseFields):
    """An exercise as the catalogue describes it: its fields make sense together too."""

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        faults = entry_sense_faults(self)
        if faults:
            raise PydanticCustomError(
                SENSE_FAULT,
                "{sentences}",
                {
                    "sentences": " ".join(fault.message for fault in faults),
                    "faults": faults,
                },
            )
        return self


def read_entry(row: Mapping[str, Any], *, where: str = "This exercise") -> ExerciseEntry:
    """Read one exercise from a decoded document.

    Args:
        row: field names to values, as decoded from YAML or JSON.
        where: what to call the exercise in the error.

    Returns:
        The exercise, valid field by field and as a whole.

    Raises:
        CatalogueError: with every fault as a field and a sentence that says what to change.
    """
    try:
        return ExerciseEntry.model_validate(dict(row))
    except ValidationError as error:
        raise CatalogueError(where, entry_faults(error)) from error


def entry_faults(error: ValidationError) -> tuple[EntryFault, ...]:
    """Turn a validation error of `ExerciseEntry` into faults, each a field and a sentence.

    Args:
        error: as raised by `ExerciseEntry.model_validate`.

    Returns:
        The faults in the order found; a field inside another is written with a dot.
    """
    faults: list[EntryFault] = []
    for detail in error.errors(include_url=False):
        if detail["type"] == SENSE_FAULT:
            faults.extend(detail["ctx"]["faults"])
        else:
            field = ".".join(str(part) for part in detail["loc"]) or "exercise"
            faults.append(EntryFault(field, _sentence(field, detail)))
    return tuple(faults)


def _sentence(field: str, detail: ErrorDetails) -> str:
    kind, value = detail["type"], detail["input"]
    expected = detail.get("ctx", {}).get("expected", "")
    if kind == "extra_forbidden":
        return f"{field!r} is not a field of an exercise; remove it."
    if kind == "missing":
        return f"{field!r} is missing; give it."
    if kind == "enum":
        return f"{value!r} is not a known value of {field!r}; use {expected}."
    if kind == "tuple_type":
        return f"{field!r} takes a list, not {value!r}; put it in square brackets."
    if field == "key" and kind == "string_pattern_mismatch":
        return f"{value!r} is not a key; use lower-case words joined by hyphens, such as 'back-squat'."
    if kind in _LENGTHS:
        name, sentence = _LENGTHS[kind]
        return sentence.format(field=field, value=value, limit=detail.get("ctx", {})[name])
    return f"{value!r} does not fit {field!r}; {detail['msg'][:1].lower()}{detail['msg'][1:]}."


def find_name_faults(entries: Iterable[ExerciseEntry]) -> tuple[EntryFault, ...]:
    """Find keys, names and aliases that stand for more than one exercise.

    Args:
        entries: the exercises of one catalogue.

    Returns:
        A fault for each word that two exercises claim; case and hyphens make no difference.
    """
    claims: dict[str, list[str]] = {}
    for entry in entries:
        for text in {comparable_name(text) for text in (entry.key, entry.name, *entry.aliases)}:
            claims.setdefault(text, []).append(entry.key)
    return tuple(
        EntryFault(
            "aliases",
            f"{text!r} stands for {' and for '.join(map(repr, keys))}; keep it for one.",
        )
        for text, keys in sorted(claims.items())
        if len(keys) > 1
    )


@cache
def load_entries() -> tuple[ExerciseEntry, ...]:
    """Read the shared catalogue.

    Returns:
        Every exercise of the data files beside this module, by file name and then as written.

    Raises:
        CatalogueError: when a row does not hold, or two exercises claim one key, name or alias.
    """
    entries: list[ExerciseEntry] = []
    folder = files("programs.catalogue")
    for source in sorted(folder.iterdir(), key=lambda item: item.name):
        if source.name.endswith(".yaml"):
            rows = yaml.safe_load(source.read_text(encoding="utf-8"))
            entries.extend(read_entry(row, where=f"{source.name}, {row.get('key', '?')}") for row in rows)
    faults = find_name_faults(entries)
    if faults:
        raise CatalogueError("The catalogue", faults)
    return tuple(entries)
