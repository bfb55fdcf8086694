"""What each part of a written rule says, as fields of the rule's JSON."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any, Final
from unicodedata import normalize

from lark import Token, Tree

from programs.prescription.notation.characters import plain

_FIELDS: Final = {"kg": "step_kg", "lb": "step_lb", "pct": "step_pct"}
"""Which field of a rule a change is, by its unit. Practice."""

_LIMITED: Final = {
    "reps_step": ("step_reps", "limit_reps"),
    "set_step": ("step_sets", "limit_sets"),
    "rest_step": ("step_s", "limit_s"),
    "tempo_step": ("step_s", "limit_s"),
}
"""Fields of a step and of how far it goes, by the kind of rule. Practice."""

_SHARES: Final = {"sets_share": "sets_pct", "rounds_share": "rounds_pct", "load_share": "load_pct"}
"""Fields of a deload. Practice."""

_WAVE_FIELDS: Final = {"wave_load": "load_pct", "wave_reps": "reps", "wave_sets": "sets"}
"""Fields of a week of a wave. Practice."""


def rule_fields(part: Tree[Token], written: str) -> dict[str, Any]:
    """Give the fields of a rule's JSON that one part of its line says.

    Args:
        part: a part of the line, as the grammar has it.
        written: the line.
    """
    match part.data:
        case "targets" | "templates":
            return _targets(part, written)
        case "weekly" | "every" | "from_week" | "to_week" | "weeks":
            return _pace(part)
        case "wave":
            return {"kind": "wave", "weeks": [_wave_week(week) for week in parts_of(part)]}
        case "deload":
            shares = {_SHARES[share.data]: _figure(_words(share)[0]) for share in parts_of(part)}
            return {"kind": "deload", "every_weeks": _whole(_words(part)[0]), **shares}
        case _:
            return _step(part)


def _step(part: Tree[Token]) -> dict[str, Any]:
    match part.data:
        case "load_step":
            return {"kind": "load_step", **_change(part)}
        case "points":
            return {"kind": "percent", "step_pct": _figure(_words(part)[0])}
        case "pcts":
            return {"kind": "percent", "pcts": [_figure(word) for word in _words(part)]}
        case "double_progression":
            by = [_whole(_words(step)[0]) for step in parts_of(part) if step.data == "by"]
            fields = {"reps_high": _whole(_words(part)[0]), **({"step_reps": by[0]} if by else {})}
            return {"kind": "double_progression", **fields, **_change(part)}
        case kind:
            return _limited(kind, part)


def _limited(kind: str, part: Tree[Token]) -> dict[str, Any]:
    step, limit = _LIMITED[kind]
    figures = [_whole(word) for word in _words(part) if word.type != "PHASE"]
    phases = [word.removeprefix("on the ").split()[0] for word in _words(part) if word.type == "PHASE"]
    fields = dict(zip((step, limit), figures, strict=False))
    return {"kind": kind, **fields, **({"phase": phases[0]} if phases else {})}


def _targets(part: Tree[Token], written: str) -> dict[str, Any]:
    names: dict[str, list[str]] = {"slot_keys": [], "template_keys": []}
    kind = "template_keys" if part.data == "templates" else "slot_keys"
    last_end: int | None = None
    for word in _words(part):
        start, end = word.start_pos or 0, word.end_pos or 0
        # Between the slots and the sessions stands `in`.
        if last_end is not None and "in" in plain(written[last_end:start]).split():
            kind = "template_keys"
        names[kind].append(normalize("NFKC", written[start:end]).strip("[]"))
        last_end = end
    return {name: keys for name, keys in names.items() if keys}


def _change(part: Tree[Token]) -> dict[str, Any]:
    return {_FIELDS[change.data]: _figure(_words(change)[0]) for change in parts_of(part) if change.data in _FIELDS}


def _wave_week(week: Tree[Token]) -> dict[str, Any]:
    return {
        _WAVE_FIELDS[change.data]: (_figure if change.data == "wave_load" else _whole)(_words(change)[0])
        for change in parts_of(week)
    }


def _pace(part: Tree[Token]) -> dict[str, Any]:
    if part.data == "weekly":
        return {"every_weeks": 1}
    if part.data == "weeks":
        first, last = _words(part)[0].split("-")
        return {"from_week": int(first), "to_week": int(last)}
    return {"every_weeks" if part.data == "every" else part.data: _whole(_words(part)[0])}


def _figure(word: Token) -> str:
    return "".join(word.split()).replace(",", ".")


def _whole(word: Token) -> int | str:
    value = Decimal(_figure(word))
    return int(value) if value == value.to_integral_value() else _figure(word)


def parts_of(tree: Tree[Token]) -> Iterator[Tree[Token]]:
    """Give the parts that a part is made of, words apart."""
    return (child for child in tree.children if isinstance(child, Tree))


def _words(tree: Tree[Token]) -> list[Token]:
    return [child for child in tree.children if isinstance(child, Token)]
