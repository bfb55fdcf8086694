"""A client's readiness day by day: today as on the morning page, the days before as they are known now."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any, Final, cast
from uuid import UUID

from django.db.models import Q

from coaching.measures.local_calendar import DateSpan
from coaching.policy import Principal
from coaching.screening.care_groups import care_groups_of, switched_off
from coaching.selectors.clients import get_client
from logs.analysis.overview import MorningFacts, OverviewPolicy, Readiness, StandingFlag, readiness
from logs.analysis.readiness import Action, FlagKind, Severity
from logs.analysis.readiness_days import FlagSpan, PlannedDay, ReadinessHistory, readiness_on
from logs.models import CheckIn, SessionLog
from logs.selectors.absences import absence_spans
from logs.selectors.flags import shown_flags
from logs.selectors.overview import list_overview
from logs.selectors.readiness_facts import COACHED_STATES
from programs.models import AssignmentPause, PlannedSession
from programs.prescription.session_states import State
from programs.selectors.business_calendar import BusinessCalendar, get_business_calendar

_POLICY: Final = OverviewPolicy()
_FLAG_COLUMNS: Final = (
    "id",
    "kind",
    "severity",
    "action",
    "scope",
    "state",
    "sentence",
    "figures",
    "rule",
    "source",
    "caution",
    "opened_on",
    "closed_at",
)

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class ReadinessDay:
    """One day's verdict with the flags that stood."""

    local_date: date
    readiness: Readiness
    flags: Sequence[Row]


@dataclass(frozen=True, slots=True)
class ClientReadiness:
    """A client's verdicts, today first; and why heart rate is no part of them, if care says so."""

    client_id: UUID
    today: date
    days: Sequence[ReadinessDay]
    heart_rate_off: str


def get_readiness(*, actor: Principal, client_id: UUID, days: int, now: datetime) -> ClientReadiness:
    """Return a client's verdicts of the last days, today first.

    Raises:
        NotFound: there is no such client that the caller may see.
    """
    client = get_client(actor=actor, client_id=client_id)
    calendar = get_business_calendar()
    today = calendar.today(now, client["time_zone"])
    first = today - timedelta(days=days - 1)
    flags = _flags(client_id, first, client["time_zone"], calendar)
    groups = care_groups_of(client["care_groups"], birth_date=client["birth_date"], today=today)
    heart_rate_off = switched_off("heart_rate", groups)
    history = _history(client_id, client["state"], first, today, [span for _, span in flags])
    if heart_rate_off:
        history = replace(history, resting_hr_days=frozenset(), hrv_days=frozenset())
    found = [_day(today, _readiness_today(actor, client_id, today, now), flags)]
    for ago in range(1, days):
        day = today - timedelta(days=ago)
        found.append(_day(day, readiness_on(history, day, _POLICY), flags))
    return ClientReadiness(client_id, today, found, heart_rate_off)


def _readiness_today(actor: Principal, client_id: UUID, today: date, now: datetime) -> Readiness:
    rows = list_overview(actor=actor, client_id=client_id, now=now)
    # Who has ended, and of whom no flag stands, is not on the morning page.
    return rows[0].readiness if rows else readiness(MorningFacts(today=today, coached=False), _POLICY)


def _day(day: date, verdict: Readiness, flags: Sequence[tuple[Row, FlagSpan]]) -> ReadinessDay:
    return ReadinessDay(day, verdict, [row for row, span in flags if span.stood_on(day)])


def _flags(client_id: UUID, first: date, zone: str, calendar: BusinessCalendar) -> list[tuple[Row, FlagSpan]]:
    day_before = first - timedelta(days=1)
    rows = shown_flags().filter(Q(closed_at__isnull=True) | Q(closed_at__date__gte=day_before), client_id=client_id)
    found = []
    for row in rows.order_by("opened_at", "id").values(*_FLAG_COLUMNS):
        closed_at = row.pop("closed_at")
        flag = StandingFlag(
            kind=cast("FlagKind", row["kind"]),
            severity=cast("Severity", row["severity"]),
            action=cast("Action", row["action"]),
            scope=row["scope"],
        )
        closed_on = None if closed_at is None else calendar.today(closed_at, zone)
        found.append((row, FlagSpan(flag=flag, opened_on=row["opened_on"], closed_on=closed_on)))
    return found


def _history(client_id: UUID, state: str, first: date, today: date, flags: Sequence[FlagSpan]) -> ReadinessHistory:
    since = first - timedelta(days=_POLICY.recent_days)
    sessions = SessionLog.objects.filter(client_id=client_id, deleted_at__isnull=True, local_date__gte=since)
    check_ins = CheckIn.objects.filter(client_id=client_id, deleted_at__isnull=True, local_date__gte=since)
    rated = list(sessions.values_list("local_date", "session_rpe"))
    said = list(
        check_ins.values("local_date", "sleep", "fatigue", "stress", "soreness", "resting_hr_bpm", "hrv_rmssd_ms")
    )
    return ReadinessHistory(
        coached=state in COACHED_STATES,
        planned=_planned(client_id, since),
        session_days=frozenset(day for day, _ in rated),
        rated_days=frozenset(day for day, rpe in rated if rpe is not None),
        check_in_days=frozenset(row["local_date"] for row in said),
        wellness_days=_days_with(said, "sleep", "fatigue", "stress", "soreness"),
        resting_hr_days=_days_with(said, "resting_hr_bpm"),
        hrv_days=_days_with(said, "hrv_rmssd_ms"),
        away=_away(client_id, since, today),
        flags=flags,
    )


def _days_with(rows: Sequence[Any], *names: str) -> frozenset[date]:
    return frozenset(row["local_date"] for row in rows if any(row[name] is not None for name in names))


def _planned(client_id: UUID, since: date) -> list[PlannedDay]:
    rows = PlannedSession.objects.filter(client_id=client_id, local_date__gte=since)
    columns = ("local_date", "window_start", "performed_on", "state")
    return [
        PlannedDay(local_date=day, window_start=start, performed_on=done, state=cast("State", state))
        for day, start, done, state in rows.values_list(*columns)
    ]


def _away(client_id: UUID, first: date, last: date) -> list[DateSpan]:
    pauses = AssignmentPause.objects.filter(assignment__client_id=client_id, from_date__lte=last)
    spans = absence_spans(client_id=client_id, first=first, last=last)
    for from_date, resumed_on in pauses.values_list("from_date", "resumed_on"):
        until = None if resumed_on is None else resumed_on - timedelta(days=1)
        if until is None or until >= from_date:
            spans.append(DateSpan(from_date, until))
    return spans
