"""Sets with the tempo asked of them and what was measured; the same number of statements for any number of sets."""

import json
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, Final, cast
from uuid import UUID

from django.db.models import F, Q, TextField
from django.db.models.functions import Cast

from logs.analysis.asked_sets import AskedSet, AskedSlot, asked_slots, tempo_of
from logs.analysis.performed_tempo import PHASES, PerformedSet, TempoJudgement, judge_tempo
from logs.analysis.time_under_tension import SetTension, set_tension
from logs.models import SetLog
from programs.models import PlannedSession
from programs.prescription.phase_words import PhaseWords
from programs.prescription.tempo import Tempo
from programs.prescription.vocabulary import UNCOUNTED_SET_KINDS, Phase, RestfulEnd

_MEASURES: Final = frozenset({"device", "video"})


@dataclass(frozen=True, slots=True, kw_only=True)
class TempoSet:
    """A counted set, the tempo asked of it, and what is known of how it was performed.

    Attributes:
        set_log_id: which set.
        local_date: its session's date.
        row: the set's and its exercise's columns.
        asked: the tempo it is judged by: the set's own, else the planned slot's; None when nobody knows.
        asked_from: `set`, `plan`, or empty.
        planned: the planned slot's tempo; None without one.
        deload: its planned session is in a deload week.
        performed: what was judged.
        judgement: what came out.
        tension: time under tension, meant and performed; None when not known.
        words: the exercise's own words for the phases; None where it has none.
        order: the phases as they are performed.
    """

    set_log_id: UUID
    local_date: date
    row: dict[str, Any]
    asked: Tempo | None
    asked_from: str
    planned: Tempo | None
    deload: bool
    performed: PerformedSet
    judgement: TempoJudgement
    tension: SetTension | None
    words: PhaseWords | None
    order: tuple[Phase, ...]


def list_tempo_sets(*, where: Q) -> list[TempoSet]:
    """Return sets that count, oldest session first, as performed.

    Args:
        where: which sets; the caller has seen to it that they may be seen.
    """
    rows = list(
        SetLog.objects.filter(where, deleted_at__isnull=True, session_log__deleted_at__isnull=True)
        .exclude(outcome="skipped")
        .exclude(kind__in=UNCOUNTED_SET_KINDS)
        .annotate(
            parts=Cast("segments", TextField()),
            phases=Cast("phase_s", TextField()),
            planned_session_id=F("session_log__planned_session_id"),
            performed_on=F("session_log__local_date"),
        )
        .order_by("performed_on", "session_log_id", "slot_key", "exercise__key", "set_number", "id")
        .values(
            "id",
            "client_id",
            "session_log_id",
            "planned_session_id",
            "performed_on",
            "slot_key",
            "set_number",
            "side",
            "kind",
            "reps",
            "parts",
            "duration_s",
            "tempo",
            "phases",
            "phase_source",
            "exercise__key",
            "exercise__name",
            "exercise__starts_at",
            "exercise__restful_end",
            "exercise__laterality",
            "exercise__phase_words",
        )
    )
    plans = _plans({row["planned_session_id"] for row in rows} - {None})
    return [_tempo_set(row, plans.get(row["planned_session_id"], _NO_PLAN)) for row in rows]


@dataclass(frozen=True, slots=True)
class _Plan:
    slots: dict[str, AskedSlot]
    deload: bool

    def asked(self, slot_key: str, set_number: int) -> AskedSet:
        slot = self.slots.get(slot_key)
        return (slot.asked(set_number) if slot is not None else None) or AskedSet()


_NO_PLAN: Final = _Plan({}, deload=False)


def _plans(ids: set[UUID]) -> dict[UUID, _Plan]:
    rows = PlannedSession.objects.filter(id__in=ids).values_list("id", "prescribed", "deload")
    return {plan_id: _Plan(asked_slots(prescribed), deload=deload) for plan_id, prescribed, deload in rows}


def _tempo_set(row: dict[str, Any], plan: _Plan) -> TempoSet:
    planned = plan.asked(row["slot_key"], row["set_number"])
    own = tempo_of(row["tempo"])
    asked = own or planned.tempo
    segments = _numbers(row["parts"]) or []
    performed = PerformedSet(
        tempo=asked,
        restful_end=cast("RestfulEnd", row["exercise__restful_end"]),
        reps=sum(int(part.get("reps") or 0) for part in segments) if segments else row["reps"],
        phase_s=_phase_s(row),
        duration_s=row["duration_s"],
        both_sides=(row["exercise__laterality"] == "unilateral" or planned.per_side) and row["side"] == "both",
        rests_inside=bool(segments),
    )
    judgement = judge_tempo(performed)
    starts_at, words = row["exercise__starts_at"], row["exercise__phase_words"]
    return TempoSet(
        set_log_id=row["id"],
        local_date=row["performed_on"],
        row=row,
        asked=asked,
        asked_from="set" if own else "plan" if planned.tempo else "",
        planned=planned.tempo,
        deload=plan.deload,
        performed=performed,
        judgement=judgement,
        tension=set_tension(performed, judgement, planned.reps_low),
        words=PhaseWords(**words) if words else None,
        order=asked.performing_order(starts_at) if asked and starts_at else PHASES,
    )


def _phase_s(row: dict[str, Any]) -> dict[Phase, Decimal]:
    """Take seconds only from what can measure them."""
    measured = _numbers(row["phases"]) if row["phase_source"] in _MEASURES else None
    return {phase: measured[phase] for phase in PHASES if phase in measured} if measured else {}


def _numbers(text: str | None) -> Any:
    # Read from the text: a float on the way would cost the last digit.
    return json.loads(text, parse_float=Decimal, parse_int=Decimal) if text else None
