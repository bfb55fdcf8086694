"""Between the JSON document of a prescription and its structure, both ways.

``decode_session`` and ``decode_version`` refuse a document with every fault at once; what they return encodes
back to a document that decodes to an equal value.
"""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any, TypeVar

from pydantic import ValidationError

from programs.prescription.document_encoding import encode_day, encode_session_fields
from programs.prescription.document_faults import DocumentError, DocumentFault, shape_faults
from programs.prescription.document_fields import (
    AbsolutePart,
    BandPart,
    BlockPart,
    BodyweightPart,
    DayPart,
    LoadPart,
    PercentPart,
    RelativeToTopPart,
    SessionPart,
    SetGroupPart,
    SlotPart,
    VersionPart,
)
from programs.prescription.document_rules import session_rule_faults, version_rule_faults
from programs.prescription.document_values import DocumentPart
from programs.prescription.prescribed_loads import (
    AbsoluteLoad,
    BandLoad,
    BodyweightLoad,
    Load,
    PercentLoad,
    RelativeToTopLoad,
    SameAsLoad,
)
from programs.prescription.progression_document import encode_rule, read_rule
from programs.prescription.structure import Block, Day, Entry, Segment, Session, SetGroup, Slot, VersionContent, Week

__all__ = [
    "DocumentError",
    "DocumentFault",
    "decode_session",
    "decode_version",
    "encode_session",
    "encode_version",
]

PartT = TypeVar("PartT", bound=DocumentPart)


def decode_session(data: object) -> Session:
    """Read one session from parsed JSON.

    Raises:
        DocumentError: with every fault of shape and of structure, each at its JSON Pointer.
    """
    return _session(_read(SessionPart, data, session_rule_faults(data)))


def decode_version(data: object) -> VersionContent:
    """Read a version's content from parsed JSON. A draft may have no weeks yet.

    Raises:
        DocumentError: with every fault of shape and of structure, each at its JSON Pointer.
    """
    read = _read(VersionPart, data, version_rule_faults(data))
    return VersionContent(
        weeks=tuple(
            Week(week_number=week.week_number, deload=week.deload, days=tuple(_day(day) for day in week.days))
            for week in read.weeks
        ),
        progression=tuple(read_rule(rule) for rule in read.progression),
    )


def encode_session(session: Session) -> dict[str, Any]:
    """Write a session as a JSON document; decimals become text, so that nothing is rounded on the way."""
    return encode_session_fields(session)


def encode_version(content: VersionContent) -> dict[str, Any]:
    """Write a version's content as a JSON document; ``progression`` stands in it only where there are rules."""
    document: dict[str, Any] = {
        "weeks": [
            {
                "week_number": week.week_number,
                "deload": week.deload,
                "days": [encode_day(day) for day in week.days],
            }
            for week in content.weeks
        ]
    }
    if content.progression:
        document["progression"] = [encode_rule(rule) for rule in content.progression]
    return document


def _read(root: type[PartT], data: object, rule_faults: Iterable[DocumentFault]) -> PartT:
    read: PartT | None = None
    faults: list[DocumentFault] = []
    try:
        read = root.model_validate(data)
    except ValidationError as error:
        faults = shape_faults(error, root)
    pointers = {(fault.pointer, fault.code) for fault in faults}
    faults += [fault for fault in rule_faults if (fault.pointer, fault.code) not in pointers]
    if read is None or faults:
        raise DocumentError(faults)
    return read


def _day(part: DayPart) -> Day:
    return Day(day_number=part.day_number, session=_session(part))


def _session(part: SessionPart | DayPart) -> Session:
    return Session(
        title=part.title,
        template_key=part.template_key,
        cap_min=part.cap_min,
        blocks=tuple(_block(block) for block in part.blocks),
    )


def _block(part: BlockPart) -> Block:
    entry = part.entry
    return Block(
        kind=part.kind,
        label=part.label,
        slots=tuple(_slot(slot) for slot in part.slots),
        rounds=part.rounds,
        work_s=part.work_s,
        off_s=part.off_s,
        minutes=part.minutes,
        cap_min=part.cap_min,
        entry=None if entry is None else Entry(**entry.model_dump()),
        every_s=part.every_s,
        rest_between_rounds_s=part.rest_between_rounds_s,
    )


def _slot(part: SlotPart) -> Slot:
    return Slot(
        slot_key=part.slot_key,
        exercise=part.exercise,
        goal=part.goal,
        per_side=part.per_side,
        rest_s=part.rest_s,
        notes=part.notes,
        sets=tuple(_set_group(group) for group in part.sets),
    )


def _set_group(part: SetGroupPart) -> SetGroup:
    return SetGroup(
        count=part.count,
        kind=part.kind,
        reps_low=part.reps_low,
        reps_high=part.reps_high,
        duration_s=part.duration_s,
        distance_m=part.distance_m,
        calories_kcal=part.calories_kcal,
        to_limit=part.to_limit,
        segments=tuple(Segment(**segment.model_dump()) for segment in part.segments),
        tempo=part.tempo,
        rpe=part.rpe,
        in_reserve=part.in_reserve,
        load=None if part.load is None else _load(part.load),
    )


def _load(part: LoadPart) -> Load:
    match part:
        case AbsolutePart():
            return _absolute_load(part)
        case BodyweightPart():
            return BodyweightLoad()
        case PercentPart():
            return PercentLoad(of=part.of, pct=part.pct)
        case RelativeToTopPart():
            return RelativeToTopLoad(pct=part.pct)
        case BandPart():
            return BandLoad(text=part.text)
        case _:
            return SameAsLoad(slot_key=part.slot_key)


def _absolute_load(part: AbsolutePart) -> AbsoluteLoad:
    if part.load_lb is not None:
        return AbsoluteLoad(value=part.load_lb, unit="lb")
    # The rules have refused a load in neither unit, or in both.
    return AbsoluteLoad(value=part.load_kg or Decimal(0), unit="kg")
