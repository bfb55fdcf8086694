"""Rows of set logs to facts, with what the planned session asks of each set."""

import json
from decimal import Decimal
from typing import Any, Final, cast

from django.db.models import F, QuerySet, TextField
from django.db.models.functions import Cast

from logs.analysis.facts import AskedFact, LiftedExercise, SegmentFact, SetFact
from logs.analysis.strength import TempoClass
from logs.models import SetLog
from programs.prescription.planned_sets import tempo_of_seconds
from programs.prescription.tempo import parse_tempo
from programs.prescription.vocabulary import Phase

_PHASES: Final[tuple[Phase, ...]] = ("eccentric", "lengthened", "concentric", "shortened")


def set_rows() -> QuerySet[SetLog, dict[str, Any]]:
    """Return the sets of which facts are made, with what their planned session asks; deleted ones left out."""
    return (
        SetLog.objects.filter(deleted_at__isnull=True, session_log__deleted_at__isnull=True)
        .annotate(
            parts=Cast("segments", TextField()),
            phases=Cast("phase_s", TextField()),
            planned_id=F("session_log__planned_session_id"),
            slot_classes=F("session_log__planned_session__slot_classes"),
            set_slots=F("session_log__planned_session__set_slots"),
            set_figures=F("session_log__planned_session__set_figures"),
            set_loads_kg=F("session_log__planned_session__set_loads_kg"),
        )
        .values(
            "client_id",
            "session_log__local_date",
            "session_log_id",
            "set_number",
            "kind",
            "slot_key",
            "side",
            "outcome",
            "reps",
            "parts",
            "load_kg",
            "load_basis",
            "machine",
            "session_log__place_id",
            "rpe",
            "in_reserve",
            "tempo_class",
            "tempo",
            "duration_s",
            "phases",
            "phase_source",
            "swapped",
            "planned_id",
            "slot_classes",
            "set_slots",
            "set_figures",
            "set_loads_kg",
            "exercise__measure",
            "exercise__restful_end",
            "exercise__key",
            "exercise__primary_muscles",
            "exercise__secondary_muscles",
            "exercise__bodyweight_share",
            "exercise__loading",
        )
    )


def set_fact(row: dict[str, Any]) -> SetFact:
    """Turn a row of `set_rows` into a fact."""
    return SetFact(
        session_id=str(row["session_log_id"]),
        local_date=row["local_date"],
        exercise=LiftedExercise(
            key=row["exercise__key"],
            primary_muscles=tuple(row["exercise__primary_muscles"]),
            secondary_muscles=tuple(row["exercise__secondary_muscles"]),
            bodyweight_share=row["exercise__bodyweight_share"],
            loading=row["exercise__loading"],
            measure=row["exercise__measure"],
            restful_end=row["exercise__restful_end"],
        ),
        set_number=row["set_number"],
        kind=row["kind"],
        slot_key=row["slot_key"],
        side=row["side"],
        outcome=row["outcome"],
        reps=row["reps"],
        segments=_segments(row["parts"]),
        load_kg=row["load_kg"],
        load_basis=row["load_basis"],
        machine=row["machine"],
        place=str(row["session_log__place_id"] or ""),
        rpe=row["rpe"],
        in_reserve=row["in_reserve"],
        tempo_class=_tempo_class(row),
        tempo=parse_tempo(row["tempo"]) if row["tempo"] else None,
        duration_s=row["duration_s"],
        phase_s=_phase_s(row),
        asked=_asked(row),
        slot_planned=row["slot_key"] in (row["set_slots"] or ()),
        swapped=row["swapped"] is not None,
    )


def _asked(row: dict[str, Any]) -> AskedFact | None:
    """Find what the plan asks of this set: set n of a slot stands n - 1 places after the slot's first."""
    slots, slot = row["set_slots"] or [], row["slot_key"]
    place = slots.index(slot) + row["set_number"] - 1 if slot in slots else len(slots)
    if not 0 <= place < len(slots) or slots[place] != slot:
        return None
    figures = row["set_figures"][place]
    *_tempo, reps, sides = figures
    return AskedFact(tempo=tempo_of_seconds(figures), reps=reps, sides=sides, load_kg=row["set_loads_kg"][place])


def _phase_s(row: dict[str, Any]) -> dict[Phase, Decimal]:
    measured = _numbers(row["phases"]) if row["phase_source"] else None
    return {phase: measured[phase] for phase in _PHASES if measured and measured.get(phase) is not None}


def _segments(text: str | None) -> tuple[SegmentFact, ...]:
    parts = _numbers(text)
    return tuple(
        SegmentFact(reps=int(part.get("reps") or 0), load_kg=part.get("load_kg"))
        for part in (parts if isinstance(parts, list) else ())
    )


def _numbers(text: str | None) -> Any:
    # Read from the text: a float on the way would cost the last digit.
    return json.loads(text, parse_float=Decimal, parse_int=Decimal) if text else None


def _tempo_class(row: dict[str, Any]) -> TempoClass:
    """Take the class that the app said, else that of the planned slot's set."""
    if row["tempo_class"]:
        return cast("TempoClass", row["tempo_class"])
    planned = (row["slot_classes"] or {}).get(row["slot_key"]) or []
    number = row["set_number"]
    return cast("TempoClass", (planned[number - 1] if 0 < number <= len(planned) else "") or "unspecified")
