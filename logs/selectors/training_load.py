"""A client's load by day and by week; the same number of statements however long the history."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, Final
from uuid import UUID

from django.db.models import F

from coaching.policy import Principal
from coaching.selectors.clients import get_client
from logs.analysis.constants import DAYS_PER_WEEK
from logs.analysis.facts import SessionFact
from logs.analysis.load_days import LoadDay, PlannedWindow, load_series, planned_days
from logs.analysis.training_load import (
    LoadComparison,
    LoadSpan,
    load_comparison,
    load_span,
    load_weeks,
)
from logs.analysis.weighted_load import WeightedLoad, weighted_load
from logs.models import SessionLog
from logs.selectors.absences import absence_spans
from programs.models import PlannedSession
from programs.selectors.business_calendar import get_business_calendar

_ONE_DAY: Final = timedelta(days=1)
_HISTORY: Final = timedelta(days=730)
"""What is older weighs less than one part in a thousand million million in a mean of 28 days. Practice."""


@dataclass(frozen=True, slots=True)
class TrainingLoad:
    """A client's load: the days and weeks asked for, and what the whole history says.

    Attributes:
        client_id: whose.
        today: the client's local date.
        as_of: the last day that counts as over: today once something is logged on it and nothing is open, else
            yesterday; None while nothing was ever logged.
        first_day: the first day with a session, at most two years back.
        days: the days shown, oldest first.
        weeks: the weeks shown, oldest first.
        last_7_days: the seven days up to `as_of`; None within the first seven.
        comparison: the last complete week against the client's own.
        weighted: the weighted means.
    """

    client_id: UUID
    today: date
    as_of: date | None
    first_day: date | None
    days: list[LoadDay]
    weeks: list[LoadSpan]
    last_7_days: LoadSpan | None
    comparison: LoadComparison
    weighted: WeightedLoad


def get_training_load(*, actor: Principal, client_id: UUID, weeks: int, now: datetime) -> TrainingLoad:
    """Return a client's load over the last weeks, the present one among them.

    Raises:
        NotFound: there is no such client that the caller may see.
    """
    client = get_client(actor=actor, client_id=client_id)
    calendar = get_business_calendar()
    today = calendar.today(now, client["time_zone"])
    sessions = _session_facts(client_id, today - _HISTORY, today)
    if not sessions:
        return TrainingLoad(client_id, today, None, None, [], [], None, load_comparison([]), weighted_load([]))
    first_day = min(session.local_date for session in sessions)
    days = [first_day + timedelta(days=offset) for offset in range((today - first_day).days + 1)]
    trained = {session.local_date for session in sessions}
    series = load_series(days, sessions, planned_days(_planned(client_id, first_day, today), trained))
    over = series if series[-1].kind == "trained" else series[:-1]
    as_of = over[-1].local_date if over else first_day - _ONE_DAY
    since = calendar.week_of(today) - timedelta(days=DAYS_PER_WEEK * (weeks - 1))
    spans = load_weeks(series, week_start_of=since, as_of=as_of)
    return TrainingLoad(
        client_id=client_id,
        today=today,
        as_of=as_of if over else None,
        first_day=first_day,
        days=[day for day in series if day.local_date >= since],
        weeks=[span for span in spans if span.first >= since],
        last_7_days=load_span(over[-DAYS_PER_WEEK:]) if len(over) >= DAYS_PER_WEEK else None,
        comparison=load_comparison(spans, away=absence_spans(client_id=client_id, first=first_day, last=today)),
        weighted=weighted_load(over),
    )


def _session_facts(client_id: UUID, first: date, last: date) -> list[SessionFact]:
    rows = SessionLog.objects.filter(
        client_id=client_id, deleted_at__isnull=True, local_date__range=(first, last)
    ).annotate(planned_high_min=F("planned_session__planned_high_min"))
    columns = (
        "local_date",
        "session_rpe",
        "duration_min",
        "started_at",
        "finished_at",
        "minutes_confirmed",
        "planned_high_min",
    )
    return [SessionFact(session_id="", **row) for row in rows.values(*columns)]


def _planned(client_id: UUID, first: date, last: date) -> list[PlannedWindow]:
    rows: Any = PlannedSession.objects.filter(client_id=client_id, local_date__range=(first, last))
    shown = rows.order_by("local_date", "id").values("local_date", "window_start", "window_end", "state")
    return [PlannedWindow(**row) for row in shown]
