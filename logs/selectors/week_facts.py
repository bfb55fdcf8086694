"""Rows to the facts of weeks, for the pure reference; the same number of queries whatever the number of weeks."""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from typing import Any, Final
from uuid import UUID

from django.db.models import F, QuerySet

from logs.analysis.constants import BODYWEIGHT_KNOWN_DAYS, DAYS_PER_WEEK
from logs.analysis.facts import (
    CheckInFact,
    PlannedFact,
    SessionFact,
    WeekFacts,
    WeighIn,
)
from logs.models import CheckIn, SessionLog
from logs.selectors.set_facts import set_fact, set_rows
from programs.models import PlannedSession

_LAST_DAY: Final = timedelta(days=DAYS_PER_WEEK - 1)
_KNOWN: Final = timedelta(days=BODYWEIGHT_KNOWN_DAYS)

ClientWeek = tuple[UUID, date]
_CHECK_IN: Final = (
    "local_date",
    "sleep",
    "fatigue",
    "stress",
    "soreness",
    "bodyweight_kg",
    "resting_hr_bpm",
    "hrv_rmssd_ms",
)
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
    within = {"client_id__in": client_ids, "session_log__local_date__range": (first, last)}
    sets = _by_client(set_rows().filter(**within))
    for_plan = _by_plan(
        set_rows().filter(client_id__in=client_ids, session_log__planned_session__local_date__range=(first, last))
    )
    sessions = _by_client(_sessions().filter(client_id__in=client_ids, local_date__range=(first, last)))
    planned = _by_client(_planned().filter(client_id__in=client_ids, local_date__range=(first, last)))
    check_ins = _by_client(_check_ins().filter(client_id__in=client_ids, local_date__range=(first - _KNOWN, last)))
    return {
        (client_id, week): WeekFacts(
            week_start=week,
            sets=tuple(map(set_fact, _between(sets, client_id, week, week + _LAST_DAY))),
            sessions=tuple(map(_session_fact, _between(sessions, client_id, week, week + _LAST_DAY))),
            planned=tuple(
                _planned_fact(row, for_plan.get(row["id"], ()))
                for row in _between(planned, client_id, week, week + _LAST_DAY)
            ),
            check_ins=tuple(map(_check_in_fact, _between(check_ins, client_id, week, week + _LAST_DAY))),
            earlier_weigh_ins=tuple(
                WeighIn(local_date=row["local_date"], bodyweight_kg=row["bodyweight_kg"])
                for row in _between(check_ins, client_id, week - _KNOWN, week - timedelta(days=1))
                if row["bodyweight_kg"] is not None
            ),
        )
        for client_id, week in pairs
    }


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
        "client_id", "local_date", "id", "state", "planned_work_sets", "done_work_sets", "planned_reps", "deload"
    )


def _check_ins() -> QuerySet[CheckIn, Any]:
    rows: QuerySet[CheckIn, Any] = CheckIn.objects.filter(deleted_at__isnull=True).values("client_id", *_CHECK_IN)
    return rows


def _by_client(rows: QuerySet[Any, dict[str, Any]]) -> Rows:
    by_client: defaultdict[UUID, list[dict[str, Any]]] = defaultdict(list)
    for row in rows:
        # A set belongs to the day of its session.
        row.setdefault("local_date", row.get("session_log__local_date"))
        by_client[row["client_id"]].append(row)
    for own in by_client.values():
        own.sort(key=_day)
    return by_client


def _by_plan(rows: QuerySet[Any, dict[str, Any]]) -> Rows:
    by_plan: defaultdict[UUID, list[dict[str, Any]]] = defaultdict(list)
    for row in rows:
        row["local_date"] = row["session_log__local_date"]
        by_plan[row["planned_id"]].append(row)
    return by_plan


def _between(rows: Rows, client_id: UUID, first: date, last: date) -> list[dict[str, Any]]:
    own = rows.get(client_id, [])
    return own[bisect_left(own, first, key=_day) : bisect_right(own, last, key=_day)]


def _day(row: dict[str, Any]) -> Any:
    return row["local_date"]


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


def _planned_fact(row: dict[str, Any], sets: Iterable[dict[str, Any]]) -> PlannedFact:
    return PlannedFact(
        local_date=row["local_date"],
        state=row["state"],
        planned_work_sets=row["planned_work_sets"],
        done_work_sets=row["done_work_sets"] or 0,
        planned_reps=row["planned_reps"],
        deload=row["deload"],
        sets=tuple(map(set_fact, sets)),
    )


def _check_in_fact(row: dict[str, Any]) -> CheckInFact:
    return CheckInFact(**{name: row[name] for name in _CHECK_IN})
