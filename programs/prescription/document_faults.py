"""Faults of a document: where (JSON Pointer), which code, and a sentence that says what to change."""

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Final
from urllib.parse import quote

from pydantic import ValidationError

from programs.prescription.document_fields import (
    LOAD_PARTS,
    BlockPart,
    DayPart,
    EntryPart,
    SegmentPart,
    SetGroupPart,
    SlotPart,
    WeekPart,
)
from programs.prescription.document_values import DocumentPart
from programs.prescription.progression_fields import RULE_PARTS, WaveWeekPart

Place = tuple[str | int, ...]

_POINTER_SAFE: Final = "~!$&'()*+,;=:@"
"""Characters that a fragment may hold as they are. Source: RFC 3986, section 3.5."""

_PART_OF: Final[dict[str, type[DocumentPart]]] = {
    "weeks": WeekPart,
    "days": DayPart,
    "blocks": BlockPart,
    "slots": SlotPart,
    "sets": SetGroupPart,
    "segments": SegmentPart,
    "entry": EntryPart,
}
"""Which part an item of each field is. Practice."""

_RULE_DEPTH: Final = 2
"""Steps from the document to a rule: the list and the place in it. Practice."""

_WRONG_TYPES: Final[dict[str, str]] = {
    "int_type": "Send a whole number, not text or a fraction.",
    "bool_type": "Send true or false.",
    "string_type": "Send text.",
    "string_unicode": "Send text that is valid Unicode.",
    "list_type": "Send a list.",
    "model_type": "Send an object.",
    "model_attributes_type": "Send an object.",
    "dict_type": "Send an object.",
    "is_instance_of": "Write the tempo as text, such as 41X1.",
}
"""What to send instead, by pydantic's error type. Practice."""

_PATTERNS: Final[dict[str, str]] = {
    "template_key": "Use lower-case letters, digits and single hyphens, such as lower-a.",
    "slot_key": "Use letters, digits, points, hyphens and underscores, starting with a letter or digit, such as A1.",
}
"""What a patterned field wants, by its name. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DocumentFault:
    """One fault: ``pointer`` in the form ``#/weeks/0/days/0``, ``code``, and what to change."""

    pointer: str
    code: str
    message: str


class DocumentError(ValueError):
    """A document that cannot be read; ``faults`` holds every fault found, at least one."""

    code = "document"

    def __init__(self, faults: Iterable[DocumentFault]) -> None:
        """Keep the faults, and say the first in the error's own text."""
        self.faults: tuple[DocumentFault, ...] = tuple(faults)
        first = self.faults[0]
        super().__init__(f"{len(self.faults)} fault(s); the first at {first.pointer}: {first.message}")


def pointer(place: Sequence[str | int]) -> str:
    """Give the JSON Pointer of a place as a URI fragment; ``#`` is the whole document."""
    steps = (str(step).replace("~", "~0").replace("/", "~1") for step in place)
    return "".join(["#", *(f"/{quote(step, safe=_POINTER_SAFE, errors='replace')}" for step in steps)])


def shape_faults(error: ValidationError, root: type[DocumentPart]) -> list[DocumentFault]:
    """Put pydantic's errors as faults, with the nearest name for a field that is not known."""
    return [
        _fault(item["type"], _place(item["loc"]), item.get("ctx", {}), item["msg"], _part_at(item["loc"], root))
        for item in error.errors(include_url=False, include_input=False)
    ]


def _kind_part(before: Sequence[str | int], step: str | int) -> type[DocumentPart] | None:
    """Give the part that pydantic chose by its kind, where this step of a location only names that kind."""
    if before and before[-1] == "load":
        return LOAD_PARTS.get(str(step))
    if before[:1] == ("progression",) and len(before) == _RULE_DEPTH:
        return RULE_PARTS.get(str(step))
    return None


def _place(location: Place) -> Place:
    # pydantic puts the chosen kind of load or rule into the path; the document has no such level.
    return tuple(step for index, step in enumerate(location) if _kind_part(location[:index], step) is None)


def _part_at(location: Place, root: type[DocumentPart]) -> type[DocumentPart]:
    part = root
    for index, step in enumerate(location[:-1]):
        chosen = _kind_part(location[:index], step)
        if chosen is not None:
            part = chosen
        elif isinstance(step, str):
            part = _part_of(step, location[0]) or part
    return part


def _part_of(step: str, first: str | int) -> type[DocumentPart] | None:
    if first == "progression" and step == "weeks":
        return WaveWeekPart
    return _PART_OF.get(step)


def _fault(kind: str, place: Place, context: dict[str, Any], message: str, part: type[DocumentPart]) -> DocumentFault:
    name = next((step for step in reversed(place) if isinstance(step, str)), "document")
    if kind == "missing":
        return DocumentFault(pointer=pointer(place), code="required", message=f"Add {name}: it is required here.")
    if kind == "extra_forbidden":
        return DocumentFault(pointer=pointer(place), code="unknown_field", message=_unknown(name, part))
    if kind in ("union_tag_not_found", "union_tag_invalid"):
        choices = RULE_PARTS if place[:1] == ("progression",) else LOAD_PARTS
        place = (*place, "kind")
        context = {"expected": ", ".join(choices)}
    code, sentence = _sentence(kind, name, context, message)
    return DocumentFault(pointer=pointer(place), code=code, message=sentence)


def _unknown(name: str, part: type[DocumentPart]) -> str:
    known = sorted(part.model_fields)
    near = difflib.get_close_matches(name, known, n=1)
    if near:
        return f"{_shown(name)} is not a field here; the nearest name is {near[0]}."
    return f"{_shown(name)} is not a field here; take it out. The fields are {', '.join(known)}."


def _shown(name: str) -> str:
    longest = 60
    writable = name.encode("utf-8", errors="replace").decode()
    return writable if len(writable) <= longest else f"{writable[:longest]}…"


def _sentence(kind: str, name: str, context: dict[str, Any], message: str) -> tuple[str, str]:
    if kind in _WRONG_TYPES:
        return "wrong_type", _WRONG_TYPES[kind]
    if kind in ("literal_error", "union_tag_not_found", "union_tag_invalid"):
        return "unknown_choice", f"Choose one of {str(context['expected']).replace(chr(39), '')}."
    if kind == "string_pattern_mismatch":
        return "wrong_form", _PATTERNS.get(name, "Write it in the form that the field asks for.")
    return _bound(kind, name, context) or (kind, message)


def _bound(kind: str, name: str, context: dict[str, Any]) -> tuple[str, str] | None:
    bounds: dict[str, tuple[str, str, str]] = {
        "greater_than": ("gt", "out_of_range", "{name} must be over {limit}."),
        "greater_than_equal": ("ge", "out_of_range", "{name} must be {limit} or more."),
        "less_than_equal": ("le", "out_of_range", "{name} must be {limit} or less."),
        "too_short": ("min_length", "too_few", "{name} needs at least {limit}."),
        "too_long": ("max_length", "too_many", "{name} takes at most {limit}."),
        "string_too_short": ("min_length", "too_short", "{name} must not be empty."),
        "string_too_long": ("max_length", "too_long", "{name} takes at most {limit} characters."),
    }
    if kind not in bounds:
        return None
    key, code, sentence = bounds[kind]
    return code, sentence.format(name=name, limit=context[key])
