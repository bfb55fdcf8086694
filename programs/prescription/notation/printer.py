"""Writing a session as coaches write it; reading it gives an equal session.

Pairs are labelled lines; a block that its labels do not say has a header and marked lines under it. Short rounds
stand on one line. What would not read back as itself stands in braces (keys) or quotation marks (free text).
"""

from collections.abc import Mapping
from functools import lru_cache
from typing import Final

from programs.prescription.constants import PAIRED_SLOTS_MAX
from programs.prescription.names import exercise_slug
from programs.prescription.notation.characters import plain
from programs.prescription.notation.labels import is_simple_label, label_prefix
from programs.prescription.notation.line_reading import words_of
from programs.prescription.notation.printed_sets import (
    is_short,
    printed_entry_amount,
    printed_rounds,
    printed_seconds,
    printed_sets,
)
from programs.prescription.notation.quoting import escaped, quoted, stands_as_written
from programs.prescription.structure import Block, Session, Slot
from programs.prescription.vocabulary import ROUND_BLOCK_KINDS

_DEFAULT_KEY: Final = "session"
_AROUND_NAMES: Final = (
    ("{} 3 x 5", ("NAME", "NUMBER", "X", "NUMBER")),
    ("{} AMRAP", ("NAME", "AMRAP")),
    ("{} 90s, rest 60s", ("NAME", "TIME", "COMMA", "REST", "TIME")),
    ("{}, per side", ("NAME", "COMMA", "SIDE")),
    ("{}", ("NAME",)),
    ("3 {}/side, 2", ("NUMBER", "NAME", "SIDE", "COMMA", "NUMBER")),
    ("30s {}", ("TIME", "NAME")),
)
"""How names are surrounded where they are printed, and the words that must then be read. Practice."""


def print_session(session: Session, names: Mapping[str, str] | None = None) -> str:
    """Write a session.

    Args:
        session: any session that the document admits.
        names: names to show, by exercise key, where there is a catalogue to read them back with. A name is shown
            only where it stands as a name; without one, the key's own words are.
    """
    shown = {} if names is None else names
    lines = _session_lines(session)
    before: Block | None = None
    for block in session.blocks:
        implied = _is_implied(block) and not (before is not None and before.label == block.label)
        if lines:
            lines.append("")
        lines += _labelled(block, shown) if implied else _headed(block, shown)
        before = block
    return "\n".join(lines) + "\n"


def _session_lines(session: Session) -> list[str]:
    lines = []
    if session.title:
        safe = stands_as_written(session.title) and not plain(session.title).startswith("#")
        lines.append(f"# {session.title if safe else quoted(session.title)}")
    if session.template_key != _DEFAULT_KEY:
        lines.append(f"template: {session.template_key}")
    if session.cap_min is not None:
        lines.append(f"cap {session.cap_min} min")
    return lines


def _is_implied(block: Block) -> bool:
    """Say whether the labels of a block's lines say all that its header would."""
    timed = (block.rounds, block.work_s, block.off_s, block.minutes, block.entry, block.rest_between_rounds_s)
    if any(timing is not None for timing in timed) or not block.label:
        return False
    count = len(block.slots)
    kind = "straight" if count == 1 else "paired" if count <= PAIRED_SLOTS_MAX else "circuit"
    return block.kind == kind and all(label_prefix(slot.slot_key) == block.label for slot in block.slots)


def _labelled(block: Block, names: Mapping[str, str]) -> list[str]:
    return [
        f"{slot.slot_key}. {_slot(slot, names, cap_min=block.cap_min if place == 0 else None)}"
        for place, slot in enumerate(block.slots)
    ]


def _headed(block: Block, names: Mapping[str, str]) -> list[str]:
    label = "" if not block.label else f"{_label(block.label)} "
    header = label + _header(block)
    inline = _inline(block, names)
    entry = ""
    if block.entry is not None:
        entry = f"; entry: {_name(block.entry.exercise, names)} {printed_entry_amount(block.entry)}"
    rounds = block.kind in ROUND_BLOCK_KINDS or block.rounds is not None
    if inline is not None:
        return [f"{header}: {inline}{entry}"]
    return [
        f"{header}{entry}",
        *(f"  - {_marked(slot.slot_key)} {_slot(slot, names, in_rounds=rounds)}" for slot in block.slots),
    ]


def _label(label: str) -> str:
    return f"{label}." if is_simple_label(label) else f"[{quoted(label)}]"


def _marked(slot_key: str) -> str:
    return f"{slot_key}." if is_simple_label(slot_key) else f"[{slot_key}]"


def _header(block: Block) -> str:
    cap = "" if block.cap_min is None else f", cap {block.cap_min} min"
    rest_s = block.rest_between_rounds_s
    rest = "" if rest_s is None else f", rest {printed_seconds(rest_s)} between rounds"
    return f"{_kind(block)}{cap}{rest}"


def _kind(block: Block) -> str:
    match block.kind:
        case "circuit":
            return "circuit" if block.rounds is None else f"circuit {block.rounds} rounds"
        case "interval":
            on, off = printed_seconds(block.work_s or 0), printed_seconds(block.off_s or 0)
            return f"{block.rounds} x {on} on / {off} off"
        case "rounds_for_time":
            return f"{block.rounds} rounds for time"
        case "max_rounds":
            return f"{block.minutes} min max rounds"
        case "every_minute":
            return _every(block)
        case "steady":
            return "steady" if block.minutes is None else f"steady {block.minutes} min"
        case _:
            return block.kind


def _every(block: Block) -> str:
    if block.every_s is None:
        return f"EMOM {block.rounds} rounds" if block.minutes is None else f"EMOM {block.minutes} min"
    every = f"every {printed_seconds(block.every_s)}"
    return f"{every} x {block.rounds} rounds" if block.minutes is None else f"{every} for {block.minutes} min"


def _inline(block: Block, names: Mapping[str, str]) -> str | None:
    """Give a block's exercises on one line, or None where one of them says more than how much."""
    if not is_simple_label(block.label) or not block.label.isalpha() or block.kind in ("straight", "paired"):
        return None
    items = []
    for number, slot in enumerate(block.slots, start=1):
        name = _name(slot.exercise, names)
        short = is_short(slot.sets) and not name.startswith("{")
        bare = slot.goal is None and slot.rest_s is None and not slot.notes
        if not (short and bare and slot.slot_key == f"{block.label}{number}"):
            return None
        side = "/side" if slot.per_side else ""
        items.append(f"{printed_rounds(slot.sets)} {name[:1].lower()}{name[1:]}{side}")
    return ", ".join(items)


def _slot(slot: Slot, names: Mapping[str, str], *, cap_min: int | None = None, in_rounds: bool = False) -> str:
    name = _name(slot.exercise, names)
    sets = printed_sets(slot.sets, per_side=slot.per_side, in_rounds=in_rounds)
    said = [f"{name}  {sets}"] if slot.sets else [name, *([sets] if sets else [])]
    if slot.rest_s is not None:
        said.append(f"rest {printed_seconds(slot.rest_s)}")
    if slot.goal is not None:
        said.append(f"goal {slot.goal}")
    if cap_min is not None:
        said.append(f"cap {cap_min} min")
    line = ", ".join(said)
    if not slot.notes:
        return line
    return f"{line} -- {slot.notes if stands_as_written(slot.notes) else quoted(slot.notes)}"


def _name(key: str, names: Mapping[str, str]) -> str:
    shown = names.get(key)
    if shown is not None and _reads_as_name(shown):
        return shown
    return _key_words(key)


@lru_cache(maxsize=1024)
def _key_words(key: str) -> str:
    words = key.replace("-", " ")
    words = f"{words[:1].upper()}{words[1:]}"
    if exercise_slug(words) == key and _reads_as_name(words):
        return words
    return f"{{{escaped(key)}}}"


def _reads_as_name(words: str) -> bool:
    return all(
        tuple(word.type for word in words_of(plain(pattern.format(words)))) == types for pattern, types in _AROUND_NAMES
    )
