"""Rows to the facts of weeks, for the pure reference; the same number of queries whatever the number of weeks."""

import json
from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from decimal import Decimal
from typing import Any, Final, cast
from uuid import UUID

from django.db.models import F, QuerySet, TextField
from django.db.models.functions import Cast

from logs.analysis.constants import BODYWEIGHT_KNOWN_DAYS, DAYS_PER_WEEK
from logs.analysis.facts import (
    CheckInFact,
    LiftedExercise,
    PlannedFact,
    SegmentFact,
    SessionFact,
    SetFact,
    WeekFacts,
    WeighIn,
)
from logs.analysis.strength import TempoClass
from logs.models import CheckIn, SessionLog, SetLog
from programs.models import PlannedSession

_LAST_DAY: Final = timedelta(days=DAYS_PER_WEEK - 1)
_KNOWN: Final = timedelta(days=BODYWEIGHT_KNOWN_DAYS)

ClientWeek = tuple[UUID, date]
Rows = Mapping[UUID, list[dict[str, Any]]]


def week_facts(*, weeks: Iterable[ClientWeek]) -> dict[ClientWeek, WeekFacts]:
    """Read what weeks are computed from; deleted logs, and the sets of deleted sessions, are left out.

    Args:
        weeks: pairs of client and first day of the week.

    Returns:
        The facts of each; empty ones where nothing was planned or logged.
    """
    pairs = sorted(set(weeks))
    if not pairs:
        return {}
    client_ids = {client_id for client_id, _ in pairs}
    first, last = min(week for _, week in pairs), max(week for _, week in pairs) + _LAST_DAY
    sets = _by_client(_sets().filter(client_id__in=client_ids, session_log__local_date__range=(first, last)))
    sessions = _by_client(_sessions().filter(client_id__in=client_ids, local_date__range=(first, last)))
    planned = _by_client(_planned().filter(client_id__in=client_ids, local_date__range=(first, last)))
    check_ins = _by_client(_check_ins().filter(client_id__in=client_ids, local_date__range=(first - _KNOWN, last)))
    return {
        (client_id, week): WeekFacts(
            week_start=week,
            sets=tuple(map(_set_fact, _between(sets, client_id, week, week + _LAST_DAY))),
            sessions=tuple(map(_session_fact, _between(sessions, client_id, week, week + _LAST_DAY))),
            planned=tuple(map(_planned_fact, _between(planned, client_id, week, week + _LAST_DAY))),
            check_ins=tuple(map(_check_in_fact, _between(check_ins, client_id, week, week + _LAST_DAY))),
            earlier_weigh_ins=tuple(
                WeighIn(local_date=row["local_date"], bodyweight_kg=row["bodyweight_kg"])
                for row in _between(check_ins, client_id, week - _KNOWN, week - timedelta(days=1))
                if row["bodyweight_kg"] is not None
            ),
        )
        for client_id, week in pairs
    }


def _sets() -> QuerySet[SetLog, dict[str, Any]]:
    return (
        SetLog.objects.filter(deleted_at__isnull=True, session_log__deleted_at__isnull=True)
        .annotate(parts=Cast("segments", TextField()), slot_classes=F("session_log__planned_session__slot_classes"))
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
            "slot_classes",
            "exercise__key",
            "exercise__primary_muscles",
            "exercise__secondary_muscles",
            "exercise__bodyweight_share",
            "exercise__loading",
        )
    )


def _sessions() -> QuerySet[SessionLog, dict[str, Any]]:
    return (
        SessionLog.objects.filter(deleted_at__isnull=True)
        .annotate(planned_high_min=F("planned_session__planned_high_min"))
        .values(
            "client_id",
            "local_date",
            "id",
            "session_rpe",
            "duration_min",
            "started_at",
            "finished_at",
            "minutes_confirmed",
            "planned_high_min",
        )
    )


def _planned() -> QuerySet[PlannedSession, Any]:
    return PlannedSession.objects.values(
        "client_id", "local_date", "state", "planned_work_sets", "done_work_sets", "deload"
    )


def _check_ins() -> QuerySet[CheckIn, Any]:
    return CheckIn.objects.filter(deleted_at__isnull=True).values(
        "client_id", "local_date", "sleep", "fatigue", "stress", "soreness", "bodyweight_kg"
    )


def _by_client(rows: QuerySet[Any, dict[str, Any]]) -> Rows:
    by_client: defaultdict[UUID, list[dict[str, Any]]] = defaultdict(list)
    for row in rows:
        # A set belongs to the day of its session.
        row.setdefault("local_date", row.get("session_log__local_date"))
        by_client[row["client_id"]].append(row)
    for own in by_client.values():
        own.sort(key=_day)
    return by_client


def _between(rows: Rows, client_id: UUID, first: date, last: date) -> list[dict[str, Any]]:
    own = rows.get(client_id, [])
    return own[bisect_left(own, first, key=_day) : bisect_right(own, last, key=_day)]


def _day(row: dict[str, Any]) -> Any:
    return row["local_date"]


def _set_fact(row: dict[str, Any]) -> SetFact:
    return SetFact(
        session_id=str(row["session_log_id"]),
        local_date=row["local_date"],
        exercise=LiftedExercise(
            key=row["exercise__key"],
            primary_muscles=tuple(row["exercise__primary_muscles"]),
            secondary_muscles=tuple(row["exercise__secondary_muscles"]),
            bodyweight_share=row["exercise__bodyweight_share"],
            loading=row["exercise__loading"],
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
    )


def _segments(text: str | None) -> tuple[SegmentFact, ...]:
    # Read from the text: a float on the way would cost the last digit.
    parts = json.loads(text, parse_float=Decimal, parse_int=Decimal) if text else None
    return tuple(
        SegmentFact(reps=int(part.get("reps") or 0), load_kg=part.get("load_kg"))
        for part in (parts if isinstance(parts, list) else ())
    )


def _tempo_class(row: dict[str, Any]) -> TempoClass:
    """Take the class that the app said, else that of the planned slot's set."""
    if row["tempo_class"]:
        return cast("TempoClass", row["tempo_class"])
    planned = (row["slot_classes"] or {}).get(row["slot_key"]) or []
    number = row["set_number"]
    return cast("TempoClass", (planned[number - 1] if 0 < number <= len(planned) else "") or "unspecified")


def _session_fact(row: dict[str, Any]) -> SessionFact:
    return SessionFact(
        session_id=str(row["id"]),
        local_date=row["local_date"],
        session_rpe=row["session_rpe"],
        duration_min=row["duration_min"],
        started_at=row["started_at"],
        finished_at=row["finished_at"],
        planned_high_min=row["planned_high_min"],
        minutes_confirmed=row["minutes_confirmed"],
    )


def _planned_fact(row: dict[str, Any]) -> PlannedFact:
    return PlannedFact(
        local_date=row["local_date"],
        state=row["state"],
        planned_work_sets=row["planned_work_sets"],
        done_work_sets=row["done_work_sets"] or 0,
        deload=row["deload"],
    )


def _check_in_fact(row: dict[str, Any]) -> CheckInFact:
    fields = ("local_date", "sleep", "fatigue", "stress", "soreness", "bodyweight_kg")
    return CheckInFact(**{name: row[name] for name in fields})
