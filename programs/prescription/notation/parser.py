"""Reading a written session: text in, structure and faults out. No text makes it raise."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final

from programs.prescription.constants import PAIRED_SLOTS_MAX
from programs.prescription.document import DocumentError, decode_session, encode_session
from programs.prescription.names import Catalogue, NamedExercise
from programs.prescription.notation.assembly import Assembly
from programs.prescription.notation.characters import plain
from programs.prescription.notation.drafts import BlockDraft, EntryDraft, Timing
from programs.prescription.notation.faults import WrittenFault
from programs.prescription.notation.free_labels import FreeLabels
from programs.prescription.notation.line_reading import read_line
from programs.prescription.notation.remarks import Remarks
from programs.prescription.structure import Block, Entry, Session, Slot
from programs.prescription.vocabulary import BlockKind

Exercises = Catalogue | Iterable[NamedExercise] | Mapping[str, NamedExercise]

_DEFAULT_KEY: Final = "session"


@dataclass(frozen=True, slots=True, kw_only=True)
class ParseResult:
    """What was read, and every fault in the order of the text.

    Without a fault of severity ``error`` the session can be performed as written: its document is admitted.
    ``lines`` gives the line, from 1, on which each block and slot, and the session's cap, stands, by its JSON Pointer
    in the document (``#/blocks/0/slots/1``, ``#/cap_min``).
    """

    session: Session
    faults: tuple[WrittenFault, ...] = ()
    lines: Mapping[str, int] = field(default_factory=dict)

    @property
    def has_errors(self) -> bool:
        """Whether anything was not read as written."""
        return any(fault.severity == "error" for fault in self.faults)

    def line_of(self, pointer: str) -> int | None:
        """Give the line of a place in the document, or of the nearest round it; None for the session itself."""
        while pointer:
            if pointer in self.lines:
                return self.lines[pointer]
            pointer = pointer.rpartition("/")[0]
        return None


def parse_session(text: str, catalogue: Exercises | None = None) -> ParseResult:
    """Read a session as coaches write it.

    One exercise or block on a line; ``programs/prescription/notation/session.lark`` is the grammar. A fault in one
    clause leaves that clause out and spoils nothing else. What is said of sets belongs to the sets just before it,
    and what is said before any set to all of them; rest, sides, goal and notes belong to the exercise. A percentage
    of nothing named is of the tested maximum. ``+ drop 2 x -20%`` takes a fifth off twice, each time to the limit.
    ``ramp to 3`` is one set of kind ``ramp``.

    Args:
        text: the session as written, any line ends.
        catalogue: the exercises to match names against, each with ``key``, ``name`` and, if it has them, ``aliases``
            and ``load_basis``. Without it, a name becomes a key by its spelling alone.
    """
    remarks = Remarks()
    assembly = Assembly(remarks, None if catalogue is None else Catalogue.of(catalogue))
    for number, written in enumerate(text.splitlines(), start=1):
        remarks.begin(number, written)
        line = plain(written)
        if not line.strip():
            assembly.blank()
            continue
        tree, unreadable = read_line(line, written)
        for place in unreadable:
            remarks.error(place.start, "unexpected", place.message)
        if tree is not None:
            assembly.line(tree)
    session, places = _built(assembly)
    faults = [*remarks.faults, *_empty_blocks(assembly, remarks.faults)]
    faults += _structure_faults(session, places, faults)
    return ParseResult(
        session=session,
        faults=tuple(sorted(faults, key=lambda fault: (fault.line, fault.column))),
        lines={pointer: line for pointer, (line, _) in places.items()},
    )


def _built(assembly: Assembly) -> tuple[Session, dict[str, tuple[int, int]]]:
    drafts = [draft for draft in assembly.blocks if draft.slots]
    taken = {slot.key for draft in drafts for slot in draft.slots if slot.key is not None}
    taken |= {draft.label for draft in drafts}
    labels = FreeLabels(taken)
    used: set[str] = set()
    places: dict[str, tuple[int, int]] = {}
    blocks: list[Block] = []
    if assembly.cap_min is not None and assembly.cap_line is not None:
        places["#/cap_min"] = (assembly.cap_line, 0)
    for index, draft in enumerate(drafts):
        pointer = f"#/blocks/{index}"
        places[pointer] = (draft.line, 0)
        for slot_index, slot in enumerate(draft.slots):
            places[f"{pointer}/slots/{slot_index}"] = (slot.line, slot.column)
        blocks.append(_block(draft, labels, used))
    session = Session(
        title=assembly.title or "",
        template_key=assembly.template_key or _DEFAULT_KEY,
        cap_min=assembly.cap_min,
        blocks=tuple(blocks),
    )
    return session, places


def _block(draft: BlockDraft, labels: FreeLabels, used: set[str]) -> Block:
    draft.settle()
    timing = draft.timing or Timing(kind=_implied_kind(len(draft.slots)))
    if timing.kind == "straight" and draft.round_rest_s is not None and draft.slots[0].rest_s is None:
        # One exercise alone has no rounds but its sets.
        draft.slots[0].rest_s, draft.round_rest_s = draft.round_rest_s, None
    label = draft.label
    if not label and draft.timing is None and all(slot.key is None for slot in draft.slots):
        label = labels.label()
    stem = labels.stem(label)
    keys = [labels.key(stem) if slot.key is None else slot.key for slot in draft.slots]
    return Block(
        kind=timing.kind,
        label=label,
        slots=tuple(
            Slot(
                slot_key=_unrepeated(key, used),
                exercise=slot.exercise,
                goal=slot.goal,
                per_side=slot.per_side,
                rest_s=slot.rest_s,
                notes=slot.notes,
                sets=slot.groups,
            )
            for slot, key in zip(draft.slots, keys, strict=True)
        ),
        rounds=timing.rounds,
        work_s=timing.work_s,
        off_s=timing.off_s,
        minutes=timing.minutes,
        cap_min=draft.cap_min,
        entry=None if draft.entry is None else _entry(draft.entry),
        every_s=timing.every_s,
        rest_between_rounds_s=draft.round_rest_s,
    )


def _implied_kind(slots: int) -> BlockKind:
    if slots == 1:
        return "straight"
    return "paired" if slots <= PAIRED_SLOTS_MAX else "circuit"


def _unrepeated(key: str, used: set[str]) -> str:
    # A repeated label is answered by the rules of a session; here it stays as written.
    used.add(key)
    return key


def _entry(draft: EntryDraft) -> Entry:
    return Entry(
        exercise=draft.exercise,
        duration_s=draft.duration_s,
        distance_m=draft.distance_m,
        calories_kcal=draft.calories_kcal,
    )


def _empty_blocks(assembly: Assembly, faults: list[WrittenFault]) -> list[WrittenFault]:
    spoilt = {fault.line for fault in faults if fault.severity == "error"}
    return [
        WrittenFault(
            line=draft.line,
            column=1,
            code="no_exercise",
            severity="error",
            message="This block has no exercise; expected one after a colon, or on the lines under it.",
        )
        for draft in assembly.blocks
        if not draft.slots and draft.line not in spoilt
    ]


def _structure_faults(
    session: Session, places: Mapping[str, tuple[int, int]], faults: list[WrittenFault]
) -> list[WrittenFault]:
    """Find what the lines together ask for and nobody could perform; lines that have an error already are let be."""
    spoilt = {fault.line for fault in faults if fault.severity == "error"}
    if not session.blocks:
        nothing = "Found no exercise in the text; expected a line such as A1. Bench press 4 x 6-8."
        return [] if spoilt else [WrittenFault(line=1, column=1, code="empty", severity="error", message=nothing)]
    try:
        decode_session(encode_session(session))
    except DocumentError as error:
        found = [(_nearest(fault.pointer, places), fault) for fault in error.faults]
        return [
            WrittenFault(line=line, column=column + 1, code=fault.code, severity="error", message=fault.message)
            for (line, column), fault in found
            if line not in spoilt
        ]
    return []


def _nearest(pointer: str, places: Mapping[str, tuple[int, int]]) -> tuple[int, int]:
    while pointer:
        if pointer in places:
            return places[pointer]
        pointer = pointer.rpartition("/")[0]
    return 1, 0
