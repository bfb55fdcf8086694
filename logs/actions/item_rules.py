"""What an item's fields may not say together.

Written over plain mappings, and wary of values of the wrong type, so that an item with a malformed field
hears of these faults too, in the same answer.
"""

from collections.abc import Callable, Iterator, Mapping
from datetime import datetime
from typing import Any, Final

from coaching.screening.red_flags import RED_FLAGS, UnknownSymptomError, red_flag
from logs.actions.log_fields import ItemFault, Kind
from programs.prescription.tempo import TempoError, parse_tempo

LOAD_PLACES: Final = 4
EFFORT_PLACES: Final = 1
AMOUNT_PLACES: Final = 2
_HALF: Final = 0.5
_MEASURES: Final = ("reps", "duration_s", "distance_m", "calories_kcal", "rounds", "segments")

Fields = Mapping[str, Any]


def item_faults(kind: Kind, fields: Fields) -> list[ItemFault]:
    """Find the faults of an item's fields taken together."""
    if kind == "set_log" and _is_plain_set(fields):
        return []
    faults = list(_RULES[kind](fields))
    if fields.get("symptoms"):
        faults.extend(_symptom_faults(fields["symptoms"]))
    return faults


def _is_plain_set(fields: Fields) -> bool:
    """Say of the common set, at a tenth of the price, that the rules below find nothing."""
    get = fields.get
    load_kg, rpe, in_reserve = get("load_kg"), get("rpe"), get("in_reserve")
    return (
        get("reps") is not None
        and type(get("session_external_id")) is str
        and get("session_log") is get("load_lb") is get("segments") is None
        and get("duration_s") is get("distance_m") is get("calories_kcal") is get("rounds") is None
        and (load_kg is None or (type(load_kg) is float and round(load_kg, LOAD_PLACES) == load_kg))
        and (rpe is None or in_reserve is None)
        and (rpe is None or (type(rpe) is float and rpe % _HALF == 0))
        and (in_reserve is None or (type(in_reserve) is float and in_reserve % _HALF == 0))
        and not get("tempo")
        and not get("symptoms")
        and bool(get("phase_source") or not get("phase_s"))
    )


def _session_faults(fields: Fields) -> Iterator[ItemFault]:
    started_at, finished_at = fields.get("started_at"), fields.get("finished_at")
    if fields.get("local_date") is None and started_at is None:
        yield ItemFault("started_at", "required", "Give started_at, or local_date where the time isn't known.")
    if isinstance(started_at, datetime) and isinstance(finished_at, datetime) and finished_at < started_at:
        yield ItemFault(
            "finished_at", "finished_before_started", "The session finished before it started; check both instants."
        )
    yield from _places(fields, "session_rpe", EFFORT_PLACES)
    yield from _places(fields, "duration_min", AMOUNT_PLACES)


def _set_faults(fields: Fields) -> Iterator[ItemFault]:
    get = fields.get
    if (get("session_external_id") is None) == (get("session_log") is None):
        yield ItemFault(
            "session_external_id",
            "one_session",
            "Name the set's session by session_external_id or by session_log, exactly one.",
        )
    if get("load_kg") is not None and get("load_lb") is not None:
        yield ItemFault("load_lb", "one_unit", "Give the load as load_kg or as load_lb, not as both.")
    if get("rpe") is not None and get("in_reserve") is not None:
        yield ItemFault("in_reserve", "one_effort", "Give rpe or in_reserve, not both: they say the same thing.")
    if get("outcome", "done") != "skipped" and all(get(measure) is None for measure in _MEASURES):
        yield ItemFault("", "no_measure", f"Say how much was done: one of {', '.join(_MEASURES)}; or outcome skipped.")
    if get("phase_s") and not get("phase_source"):
        yield ItemFault("phase_source", "required", "Say what measured phase_s: device or video.")
    if get("load_kg") is not None or get("load_lb") is not None:
        yield from _places(fields, "load_kg", LOAD_PLACES)
        yield from _places(fields, "load_lb", LOAD_PLACES)
    yield from _rarer_set_faults(fields)


def _rarer_set_faults(fields: Fields) -> Iterator[ItemFault]:
    for name in ("duration_s", "distance_m", "calories_kcal", "rounds"):
        yield from _places(fields, name, AMOUNT_PLACES)
    if fields.get("rpe") is not None or fields.get("in_reserve") is not None:
        yield from _places(fields, "rpe", EFFORT_PLACES)
        yield from _places(fields, "in_reserve", EFFORT_PLACES)
    if fields.get("tempo"):
        yield from _tempo_faults(fields["tempo"])
    if fields.get("segments"):
        yield from _segment_faults(fields["segments"])


def _check_in_faults(fields: Fields) -> Iterator[ItemFault]:
    if fields.get("bodyweight_kg") is not None and fields.get("bodyweight_lb") is not None:
        yield ItemFault(
            "bodyweight_lb", "one_unit", "Give the bodyweight as bodyweight_kg or as bodyweight_lb, not as both."
        )
    yield from _places(fields, "bodyweight_kg", LOAD_PLACES)
    yield from _places(fields, "bodyweight_lb", LOAD_PLACES)
    yield from _places(fields, "hrv_rmssd_ms", AMOUNT_PLACES)
    if fields.get("form") is None and (fields.get("answers") or fields.get("form_version") is not None):
        yield ItemFault("form", "required", "Name the form that this answers, by its id.")


_RULES: Final[Mapping[Kind, Callable[[Fields], Iterator[ItemFault]]]] = {
    "session_log": _session_faults,
    "set_log": _set_faults,
    "check_in": _check_in_faults,
}


def _places(fields: Fields, name: str, places: int) -> Iterator[ItemFault]:
    value: Any = fields.get(name)
    if type(value) in (int, float) and round(value, places) != value:
        yield ItemFault(name, "too_precise", f"Give {name} with at most {places} decimals, not {value!r}.")


def _tempo_faults(tempo: Any) -> Iterator[ItemFault]:
    if not isinstance(tempo, str):
        return
    try:
        parse_tempo(tempo)
    except TempoError as error:
        yield ItemFault("tempo", error.code, str(error))


def _segment_faults(segments: Any) -> Iterator[ItemFault]:
    if not isinstance(segments, list):
        return
    for index, segment in enumerate(segments):
        if not isinstance(segment, dict):
            continue
        if segment.get("load_kg") is not None and segment.get("load_lb") is not None:
            yield ItemFault(
                f"segments/{index}/load_lb", "one_unit", "Give the load as load_kg or as load_lb, not as both."
            )
        for name in ("load_kg", "load_lb"):
            for fault in _places(segment, name, LOAD_PLACES):
                yield ItemFault(f"segments/{index}/{name}", fault.code, fault.detail)


def _symptom_faults(symptoms: Any) -> Iterator[ItemFault]:
    if not isinstance(symptoms, list):
        return
    for index, code in enumerate(symptoms):
        if isinstance(code, str) and code not in RED_FLAGS:
            try:
                red_flag(code)
            except UnknownSymptomError as error:
                yield ItemFault(f"symptoms/{index}", error.code, str(error))
