"""Reading a log batch: every fault of every item, and the good items beside them.

The whole body is validated at once, straight from its bytes. Only a body with faults is read a second time,
item by item.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import orjson
from pydantic import TypeAdapter, ValidationError

from coaching.http.parsers import check_members, decode_object
from coaching.http.unknown_fields import MAX_SUGGESTIONS, nearest
from coaching.refusals import Fault, Invalid
from logs.actions.cautions import beside_refusal
from logs.actions.item_rules import item_faults
from logs.actions.log_fields import KINDS, LISTS, Item, ItemFault, Kind, faults_of_single
from logs.api.items import CheckInItem, LogBatchBody, LogItem, SessionLogItem, SetLogItem, fields_of

MAX_ITEMS: Final = 5_000
MAX_ITEM_FAULTS: Final = 20
"""Faults that an item is answered with. Practice."""
_MODELS: Final[Mapping[Kind, type[LogItem]]] = {
    "session_log": SessionLogItem,
    "set_log": SetLogItem,
    "check_in": CheckInItem,
}
_ADAPTERS: Final[Mapping[Kind, TypeAdapter[Any]]] = {
    "session_log": TypeAdapter(list[SessionLogItem]),
    "set_log": TypeAdapter(list[SetLogItem]),
    "check_in": TypeAdapter(list[CheckInItem]),
}
_SENTENCES: Final = {
    "missing": "This field is missing; add it.",
    "float_type": "This is a number, without quotes.",
    "int_type": "This is a whole number, without quotes or decimals.",
    "string_type": "This is text, in quotes.",
    "bool_type": "This is true or false, without quotes.",
    "list_type": "This is a list, in brackets.",
    "model_type": "This is an object, in braces.",
    "finite_number": "This must be a finite number.",
    "date_type": "This is a date as YYYY-MM-DD, in quotes.",
    "datetime_type": "This is an instant as 2031-03-04T07:02:00+01:00, in quotes.",
    "timezone_aware": "An instant needs its offset from UTC, such as 2031-03-04T07:02:00+01:00.",
    "string_pattern_mismatch": "This text holds a character that can't stand here.",
    "model_attributes_type": "This is an object, in braces.",
}
_UNREADABLE: Final = "?"
_EXTRA: Final = "extra_forbidden"
_BEFORE_COLONS: Final = (b" :", b"\n", b"\t", b"\r")


@dataclass(frozen=True, slots=True)
class BatchBody:
    """A batch as read: the source that it names, and its items by kind in the order sent."""

    source: str | None
    items: dict[Kind, list[Item]]


def read_batch(body: bytes) -> BatchBody:
    """Read a log batch.

    Raises:
        Problem: the body is not one JSON object that every reader reads alike.
        Invalid: the envelope is wrong; items with faults are returned with them instead.
    """
    check_members(body)
    try:
        batch = LogBatchBody.model_validate_json(body)
    except ValidationError as error:
        return _read_with_faults(decode_object(body), error)
    lists: dict[Kind, list[Any]] = {
        "session_log": batch.session_logs,
        "set_log": batch.set_logs,
        "check_in": batch.check_ins,
    }
    # As many colons after quotes as keys were read: none stood twice. Where that can't be said so cheaply
    # (a text that looks like a key, space before a colon), the strict reader decides.
    if body.count(b'":') != _keys_of(batch, lists) or any(space in body for space in _BEFORE_COLONS):
        decode_object(body)
    _check_count(sum(map(len, lists.values())))
    return BatchBody(batch.source, {kind: _items(kind, models) for kind, models in lists.items()})


def read_item(kind: Kind, sent: dict[str, Any]) -> Item:
    """Read a single item.

    Raises:
        Invalid: with every fault.
    """
    try:
        model = _MODELS[kind].model_validate_json(orjson.dumps(sent))
    except ValidationError as error:
        item = _faulty(kind, 0, sent, [_item_fault(kind, fault, fault["loc"]) for fault in _errors(error)])
    else:
        item = _items(kind, [model])[0]
    if item.faults:
        raise Invalid(item.faults[0].detail, faults=faults_of_single(item), extra=beside_refusal(item))
    return item


def _items(kind: Kind, models: list[Any]) -> list[Item]:
    items = []
    for index, model in enumerate(models):
        fields = fields_of(model)
        items.append(Item(kind, index, fields, item_faults(kind, fields)))
    return items


def _keys_of(batch: LogBatchBody, lists: dict[Kind, list[Any]]) -> int:
    keys = len(batch.model_fields_set)
    for models in lists.values():
        keys += sum(len(model.__pydantic_fields_set__) for model in models)
    for item in batch.set_logs:
        if item.phase_s is not None:
            keys += len(item.phase_s.model_fields_set)
        if item.swapped is not None:
            keys += len(item.swapped.model_fields_set)
        if item.segments is not None:
            keys += sum(len(segment.model_fields_set) for segment in item.segments)
    for check_in in batch.check_ins:
        keys += len(check_in.answers) + sum(len(pain.model_fields_set) for pain in check_in.pains)
    return keys


def _read_with_faults(document: dict[str, Any], error: ValidationError) -> BatchBody:
    _check_envelope(document)
    by_item: dict[tuple[Kind, int], list[ItemFault]] = {}
    kind_of: dict[Any, Kind] = {name: kind for kind, name in LISTS.items()}
    unknown = 0
    for fault in _errors(error):
        kind, index = kind_of[fault["loc"][0]], int(fault["loc"][1])
        said = by_item.setdefault((kind, index), [])
        if len(said) < MAX_ITEM_FAULTS:
            unknown += fault["type"] == _EXTRA
            said.append(_item_fault(kind, fault, fault["loc"][2:], suggest=unknown <= MAX_SUGGESTIONS))
    return BatchBody(
        document.get("source"),
        {kind: _mixed(kind, document.get(LISTS[kind], []), by_item) for kind in KINDS},
    )


def _mixed(kind: Kind, sent: list[Any], faults: dict[tuple[Kind, int], list[ItemFault]]) -> list[Item]:
    good = [one for index, one in enumerate(sent) if (kind, index) not in faults]
    models = iter(_items(kind, _ADAPTERS[kind].validate_json(orjson.dumps(good))))
    items = []
    for index, one in enumerate(sent):
        if (kind, index) in faults:
            items.append(_faulty(kind, index, one, faults[kind, index]))
        else:
            item = next(models)
            item.index = index
            items.append(item)
    return items


def _faulty(kind: Kind, index: int, sent: Any, faults: list[ItemFault]) -> Item:
    fields = sent if isinstance(sent, dict) else {}
    told = {fault.field for fault in faults}
    more = [fault for fault in item_faults(kind, fields) if fault.field not in told] if fields else []
    external_id = fields.get("external_id")
    known = {**fields, "revision": 0, "external_id": external_id if isinstance(external_id, str) else _UNREADABLE}
    return Item(kind, index, known, [*faults, *more])


def _check_envelope(document: dict[str, Any]) -> None:
    known = ("source", *LISTS.values())
    faults = [
        Fault(f"#/{name}", "unknown_field", f"There is no field {name!r} here.{nearest(name, known)}")
        for name in document
        if name not in known
    ]
    faults += [
        Fault(f"#/{name}", "list_type", _SENTENCES["list_type"])
        for name in LISTS.values()
        if not isinstance(document.get(name, []), list)
    ]
    try:
        LogBatchBody.model_validate({"source": document.get("source")})
    except ValidationError as error:
        faults += [Fault("#/source", fault["type"], _sentence(fault)) for fault in _errors(error)]
    if faults:
        raise Invalid(faults[0].detail, faults=faults)
    _check_count(sum(len(document.get(name, [])) for name in LISTS.values()))


def _check_count(count: int) -> None:
    if count > MAX_ITEMS:
        raise Invalid.at("#", f"A batch holds at most {MAX_ITEMS:,} items; send these {count:,} in parts.", "too_many")


def _errors(error: ValidationError) -> list[Any]:
    return error.errors(include_url=False, include_input=False)


def _item_fault(kind: Kind, fault: Any, place: tuple[Any, ...], *, suggest: bool = True) -> ItemFault:
    field = "/".join(str(part).replace("~", "~0").replace("/", "~1") for part in place)
    if fault["type"] != _EXTRA:
        return ItemFault(field, fault["type"], _sentence(fault))
    name = str(place[-1])
    suggestion = nearest(name, _known_fields(kind, place)) if suggest else ""
    return ItemFault(field, "unknown_field", f"There is no field {name!r} here.{suggestion}")


def _known_fields(kind: Kind, place: tuple[Any, ...]) -> list[str]:
    """Return the fields that an item or a part of it takes."""
    if len(place) == 1:
        return list(_MODELS[kind].model_fields)
    schema = _MODELS[kind].model_json_schema()
    parts = {"segments": "SegmentItem", "phase_s": "PhasesItem", "swapped": "SwapItem", "pains": "PainItem"}
    return list(schema["$defs"][parts[place[0]]]["properties"])


def _sentence(fault: Any) -> str:
    return _SENTENCES.get(fault["type"]) or f"{fault['msg']}."
