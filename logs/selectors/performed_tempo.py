"""Tempo as performed: of a client, lift by lift over weeks; of one session, set by set."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Q

from coaching.policy import Principal
from coaching.refusals import UnknownObject
from coaching.selectors.clients import get_client
from logs.analysis.constants import DAYS_PER_WEEK
from logs.analysis.tempo_counts import JudgedSet, TempoCounts, WeekTempo, tempo_counts, weekly_tempo
from logs.analysis.tempo_trend import TempoTrend, tempo_sentences, tempo_trend
from logs.analysis.time_under_tension import TensionTotal, tension_total
from logs.models import SessionLog
from logs.selectors.logs_by_kind import get_log
from logs.selectors.tempo_sets import TempoSet, list_tempo_sets
from programs.models import Exercise
from programs.selectors.business_calendar import get_business_calendar
from programs.selectors.exercises import named_by


@dataclass(frozen=True, slots=True, kw_only=True)
class TempoSummary:
    """What is known of many sets' tempo."""

    counts: TempoCounts
    tension: TensionTotal
    weeks: tuple[WeekTempo, ...]
    trend: TempoTrend
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftTempo:
    """One lift's."""

    exercise: str
    name: str
    summary: TempoSummary


@dataclass(frozen=True, slots=True, kw_only=True)
class ClientTempo:
    """A client's, over all lifts and for each."""

    client_id: UUID
    since: date
    summary: TempoSummary
    lifts: list[LiftTempo]


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionTempo:
    """One session's sets, in the order of its slots."""

    session: dict[str, Any]
    sets: list[TempoSet]
    counts: TempoCounts
    tension: TensionTotal


def get_client_tempo(
    *, actor: Principal, client_id: UUID, weeks: int, exercise: str | None, now: datetime
) -> ClientTempo:
    """Return how a client kept the tempos asked over the last weeks, the present one among them.

    Raises:
        NotFound: there is no such client that the caller may see.
        UnknownObject: there is no such exercise.
    """
    client = get_client(actor=actor, client_id=client_id)
    calendar = get_business_calendar()
    this_week = calendar.week_of(calendar.today(now, client["time_zone"]))
    since = this_week - timedelta(days=DAYS_PER_WEEK * (weeks - 1))
    # Sessions first: in one join the planner tries each set against each session where it has no statistics yet.
    sessions = SessionLog.objects.filter(
        client_id=client_id,
        local_date__gte=since,
        local_date__lt=this_week + timedelta(days=DAYS_PER_WEEK),
        deleted_at__isnull=True,
    )
    where = Q(client_id=client_id, session_log_id__in=list(sessions.values_list("id", flat=True)))
    if exercise is not None:
        where &= Q(exercise_id=_exercise_id(exercise))
    by_lift: dict[str, list[JudgedSet]] = {}
    names: dict[str, str] = {}
    for one in list_tempo_sets(where=where):
        key = one.row["exercise__key"]
        names[key] = one.row["exercise__name"]
        by_lift.setdefault(key, []).append(_judged(one, calendar.week_of(one.local_date)))
    # What nobody asked a tempo of has nothing to say here.
    lifts = {key: sets for key, sets in by_lift.items() if any(one.judgement.reason != "no_tempo" for one in sets)}
    return ClientTempo(
        client_id=client_id,
        since=since,
        summary=_summary([one for sets in by_lift.values() for one in sets]),
        lifts=[LiftTempo(exercise=key, name=names[key], summary=_summary(lifts[key])) for key in sorted(lifts)],
    )


def get_session_tempo(*, actor: Principal, session_log_id: UUID) -> SessionTempo:
    """Return a session's sets, each with the tempo asked and performed side by side.

    Raises:
        NotFound: there is no such session log that the caller may see.
    """
    session = get_log(actor=actor, kind="session_log", log_id=session_log_id)
    sets = list_tempo_sets(where=Q(session_log_id=session_log_id))
    judged = [_judged(one, one.local_date) for one in sets]
    return SessionTempo(
        session=session,
        sets=sets,
        counts=tempo_counts(judged),
        tension=tension_total(one.tension for one in sets),
    )


def _exercise_id(reference: str) -> UUID:
    found = Exercise.objects.filter(named_by([reference])).values_list("id", flat=True).first()
    if found is None:
        raise UnknownObject.at("?exercise", "There is no such exercise in this business; give its key or id.")
    return found


def _judged(one: TempoSet, week_start: date) -> JudgedSet:
    return JudgedSet(
        exercise=one.row["exercise__key"],
        week_start=week_start,
        judgement=one.judgement,
        tension=one.tension,
        deload=one.deload,
    )


def _summary(sets: Iterable[JudgedSet]) -> TempoSummary:
    listed = list(sets)
    counts, tension = tempo_counts(listed), tension_total(one.tension for one in listed)
    weeks = weekly_tempo(listed)
    trend = tempo_trend(weeks)
    return TempoSummary(
        counts=counts,
        tension=tension,
        weeks=weeks,
        trend=trend,
        sentences=tempo_sentences(counts, tension, trend),
    )
