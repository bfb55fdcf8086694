"""An item's content as the text that COPY reads and that its hash is taken of.

One rendering for both: two items with equal content give equal bytes, whatever order or spelling their
fields came in.
"""

from datetime import UTC
from decimal import Decimal
from hashlib import blake2b
from typing import Any, Final

import orjson

from coaching.measures.load import lb_to_kg
from logs.actions.log_fields import CheckInFields, Item, SessionFields, SetFields

NULL: Final = "\\N"
DIGEST_BYTES: Final = 16
SESSION_UNSAID: Final = f"\t{NULL}\tf"
"""The end of a session's content that names no place and confirms no minutes, as logs of before those were."""
CHECK_IN_UNSAID: Final = f"\t{NULL}\t{{}}\t{NULL}"
"""The end of a check-in's content that answers no form, as check-ins of before there were any."""
_KG_PLACES: Final = Decimal("0.00000001")
_ESCAPES: Final = str.maketrans({"\\": "\\\\", "\t": "\\t", "\n": "\\n", "\r": "\\r"})


def text_of(value: str) -> str:
    """Write text for COPY."""
    if not value or (value.isprintable() and "\\" not in value):
        return value
    return value.translate(_ESCAPES)


def set_content(
    fields: SetFields, *, session_id: str, exercise_id: str, load: tuple[str, str, str, str], tempo_class: str
) -> str:
    """Write a set's content, in the order of `log_tables.SET_LOG`.

    Args:
        fields: the set as sent.
        session_id: the session log that it belongs to.
        exercise_id: the exercise that was done.
        load: its load as entered, the unit, the load in kg and the basis, as `load_text` writes them.
        tempo_class: the class of the tempo that the item says; empty for none.
    """
    reps, duration_s, distance_m = fields["reps"], fields["duration_s"], fields["distance_m"]
    calories_kcal, rounds, segments = fields["calories_kcal"], fields["rounds"], fields["segments"]
    rpe, in_reserve, phase_s, swapped = fields["rpe"], fields["in_reserve"], fields["phase_s"], fields["swapped"]
    return "\t".join(
        (
            session_id,
            exercise_id,
            text_of(fields["slot"]),
            str(fields["set_number"]),
            fields["kind"],
            fields["side"],
            NULL if reps is None else str(reps),
            NULL if duration_s is None else repr(duration_s),
            NULL if distance_m is None else repr(distance_m),
            NULL if calories_kcal is None else repr(calories_kcal),
            NULL if rounds is None else repr(rounds),
            NULL if segments is None else _json(_segments(segments)),
            *load,
            text_of(fields["machine"]),
            NULL if rpe is None else repr(rpe),
            NULL if in_reserve is None else repr(in_reserve),
            text_of(fields["tempo"]),
            tempo_class,
            NULL if phase_s is None else _json(phase_s),
            fields["phase_source"],
            fields["outcome"],
            _codes(fields["symptoms"]),
            NULL if swapped is None else _json(swapped),
            text_of(fields["notes"]),
        )
    )


def session_content(fields: SessionFields, *, planned_session_id: str | None, place_id: str | None) -> str:
    """Write a session's content, in the order of `log_tables.SESSION_LOG`."""
    return "\t".join(
        (
            planned_session_id or NULL,
            "f" if planned_session_id is None else "t",
            _instant(fields["started_at"]),
            _instant(fields["finished_at"]),
            _number(fields["duration_min"]),
            _number(fields["session_rpe"]),
            text_of(fields["cut_reason"]),
            _codes(fields["symptoms"]),
            text_of(fields["notes"]),
            place_id or NULL,
            "t" if fields["minutes_confirmed"] else "f",
        )
    )


def check_in_content(
    fields: CheckInFields, *, pains: list[dict[str, Any]], form_id: str | None, form_version: int | None
) -> str:
    """Write a check-in's content, in the order of `log_tables.CHECK_IN`."""
    bodyweight, unit, bodyweight_kg = load_text(fields["bodyweight_kg"], fields["bodyweight_lb"])
    return "\t".join(
        (
            _number(fields["sleep"]),
            _number(fields["fatigue"]),
            _number(fields["stress"]),
            _number(fields["soreness"]),
            _codes(fields["symptoms"]),
            _json(pains),
            bodyweight,
            unit,
            bodyweight_kg,
            _number(fields["resting_hr_bpm"]),
            _number(fields["hrv_rmssd_ms"]),
            text_of(fields["notes"]),
            form_id or NULL,
            _json(fields["answers"]),
            _number(form_version),
        )
    )


def load_text(load_kg: float | None, load_lb: float | None) -> tuple[str, str, str]:
    """Write a load as entered, its unit, and in kg; all empty where none was given."""
    if load_kg is not None:
        entered = repr(load_kg)
        return entered, "kg", entered
    if load_lb is None:
        return NULL, "", NULL
    return repr(load_lb), "lb", kg_text(Decimal(repr(load_lb)))


def kg_text(load_lb: Decimal) -> str:
    """Write pounds as kilograms, to the hundredth of a microgram that the column holds, half to even."""
    return str(lb_to_kg(load_lb).quantize(_KG_PLACES))


def seal(item: Item, content: str, *, dated: str = "", unsaid: str = "") -> None:
    """Give an item its content and the hash of it.

    Args:
        item: the item.
        content: its content's text.
        dated: the date that the sender gave, where it gave one: a date that was found stays out of the
            hash, since it may be found otherwise later without the content being another.
        unsaid: an end of the content that says nothing, and so is no part of the hash.
    """
    item.content = content
    content = content.removesuffix(unsaid)
    if item.named_exercise_id is not None:
        content = _as_named(content, item.named_exercise_id)
    item.digest = blake2b(f"{content}\t{dated}".encode(), digest_size=DIGEST_BYTES).hexdigest()


def _as_named(content: str, named_exercise_id: str) -> str:
    """Write a set's content with the exercise that its sender named, so that merging it makes no correction of it."""
    session_id, _exercise_id, rest = content.split("\t", 2)
    return f"{session_id}\t{named_exercise_id}\t{rest}"


def _segments(segments: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [_segment(segment) for segment in segments]


def _segment(segment: dict[str, Any]) -> dict[str, Any]:
    entered, unit, in_kg = load_text(segment["load_kg"], segment["load_lb"])
    given = {"load": orjson.Fragment(entered), "unit": unit, "load_kg": orjson.Fragment(in_kg)} if unit else {}
    rest = {} if segment["rest_before_s"] is None else {"rest_before_s": segment["rest_before_s"]}
    return {"reps": segment["reps"], **given, **rest}


def _json(value: Any) -> str:
    return text_of(orjson.dumps(value, option=orjson.OPT_SORT_KEYS).decode())


def _codes(symptoms: list[str]) -> str:
    return f"{{{','.join(sorted(set(symptoms)))}}}"


def _number(value: float | None) -> str:
    return NULL if value is None else repr(value)


def _instant(value: Any) -> str:
    return NULL if value is None else value.astimezone(UTC).isoformat()
