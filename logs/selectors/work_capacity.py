"""Sessions of one template repeated: their work, minutes and density."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from functools import partial
from typing import Any
from uuid import UUID

from django.db.models import Sum

from coaching.policy import Principal
from coaching.selectors.clients import get_client
from logs.analysis.capacity_comparison import CapacityComparison, compare_latest
from logs.analysis.constants import DAYS_PER_WEEK
from logs.analysis.counted_sets import repetitions
from logs.analysis.facts import SetFact, WeekFacts
from logs.analysis.moved_loads import bodyweight_share_kg, tonnage_kg
from logs.analysis.performed_sets import counted
from logs.analysis.weekly import session_minutes
from logs.analysis.work_capacity import (
    Occurrence,
    SessionWork,
    WorkUnit,
    known_minutes,
    recent_density,
    work_unit,
)
from logs.models import SessionLog, SetLog
from logs.selectors.week_facts import week_facts
from programs.prescription.vocabulary import UNCOUNTED_SET_KINDS
from programs.selectors.business_calendar import get_business_calendar


@dataclass(frozen=True, slots=True, kw_only=True)
class TemplateCapacity:
    """A template's sessions, oldest first, and what they say together."""

    template_key: str
    title: str
    unit: WorkUnit | None
    occurrences: tuple[Occurrence, ...]
    recent_density: Decimal | None
    recent_sessions: int
    comparison: CapacityComparison


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkCapacity:
    """A client's templates."""

    client_id: UUID
    since: date
    templates: list[TemplateCapacity]


def get_work_capacity(*, actor: Principal, client_id: UUID, weeks: int, now: datetime) -> WorkCapacity:
    """Return a client's repeated sessions of the last weeks, the present one among them.

    Raises:
        NotFound: there is no such client that the caller may see.
    """
    client = get_client(actor=actor, client_id=client_id)
    calendar = get_business_calendar()
    this_week = calendar.week_of(calendar.today(now, client["time_zone"]))
    starts = [this_week - timedelta(days=DAYS_PER_WEEK * back) for back in range(weeks)]
    facts = week_facts(weeks=[(client_id, start) for start in starts])
    logs = _logs(client_id, starts[-1], this_week + timedelta(days=DAYS_PER_WEEK - 1))
    templates = _by_template(logs, _session_figures(facts.values(), _lengths(logs)))
    return WorkCapacity(
        client_id=client_id,
        since=starts[-1],
        templates=[_template(key, titles[-1], tuple(done)) for key, (titles, done) in sorted(templates.items())],
    )


@dataclass(frozen=True, slots=True)
class _Figures:
    """One session log's work and minutes."""

    work: SessionWork
    minutes: Decimal | None


def _logs(client_id: UUID, first: date, last: date) -> dict[str, dict[str, Any]]:
    rows = SessionLog.objects.filter(
        client_id=client_id,
        local_date__range=(first, last),
        deleted_at__isnull=True,
        planned_session__isnull=False,
    ).order_by("local_date", "id")
    columns = (
        "id",
        "local_date",
        "planned_session_id",
        "planned_session__template_key",
        "planned_session__title",
        "planned_session__deload",
    )
    return {str(row["id"]): row for row in rows.values(*columns)}


def _lengths(logs: Mapping[str, Any]) -> dict[str, tuple[Decimal, Decimal]]:
    """Sum metres and kilocalories by session."""
    rows = (
        SetLog.objects.filter(session_log_id__in=list(logs), deleted_at__isnull=True)
        .exclude(outcome="skipped")
        .exclude(kind__in=UNCOUNTED_SET_KINDS)
        .values_list("session_log_id")
        .annotate(metres=Sum("distance_m"), kcal=Sum("calories_kcal"))
    )
    return {str(session): (metres or Decimal(0), kcal or Decimal(0)) for session, metres, kcal in rows}


def _session_figures(weeks: Iterable[WeekFacts], lengths: Mapping[str, tuple[Decimal, Decimal]]) -> dict[str, _Figures]:
    figures: dict[str, _Figures] = {}
    for week in weeks:
        sets: defaultdict[str, list[SetFact]] = defaultdict(list)
        for one in counted(week.sets):
            sets[one.session_id].append(one)
        for session in week.sessions:
            own = sets[session.session_id]
            metres, kcal = lengths.get(session.session_id, (Decimal(0), Decimal(0)))
            known_kg, unknown = tonnage_kg(own, partial(_body_kg, week))
            work = SessionWork(
                tonnage_kg=None if unknown else known_kg,
                repetitions=Decimal(repetitions(own)),
                metres=metres,
                kilocalories=kcal,
                known_tonnage_kg=known_kg,
                unknown_load_sets=unknown,
            )
            figures[session.session_id] = _Figures(work, session_minutes(session))
    return figures


def _body_kg(week: WeekFacts, one: SetFact) -> Decimal | None:
    return bodyweight_share_kg(one, week.weigh_ins)


def _by_template(
    logs: Mapping[str, dict[str, Any]], figures: Mapping[str, _Figures]
) -> dict[str, tuple[list[str], list[Occurrence]]]:
    by_planned: dict[UUID, list[str]] = {}
    for session_id, row in logs.items():
        if session_id in figures:
            by_planned.setdefault(row["planned_session_id"], []).append(session_id)
    templates: dict[str, tuple[list[str], list[Occurrence]]] = {}
    for planned_id, sessions in by_planned.items():
        row = logs[sessions[0]]
        titles, done = templates.setdefault(row["planned_session__template_key"], ([], []))
        titles.append(row["planned_session__title"])
        done.append(
            Occurrence(
                planned_session=str(planned_id),
                local_date=row["local_date"],
                deload=row["planned_session__deload"],
                work=_summed([figures[one].work for one in sessions]),
                minutes=known_minutes(figures[one].minutes for one in sessions),
            )
        )
    return templates


def _summed(works: list[SessionWork]) -> SessionWork:
    def total(unit: WorkUnit) -> Decimal | None:
        amounts = [work.amount(unit) for work in works]
        known = [amount for amount in amounts if amount is not None]
        return sum(known, Decimal(0)) if len(known) == len(amounts) else None

    return SessionWork(
        tonnage_kg=total("tonnage_kg"),
        repetitions=total("repetitions"),
        metres=total("metres"),
        kilocalories=total("kilocalories"),
        known_tonnage_kg=sum((work.known_tonnage_kg for work in works), Decimal(0)),
        unknown_load_sets=sum(work.unknown_load_sets for work in works),
    )


def _template(key: str, title: str, occurrences: tuple[Occurrence, ...]) -> TemplateCapacity:
    unit = work_unit(occurrences)
    density, sessions = (None, 0) if unit is None else recent_density(occurrences, unit)
    return TemplateCapacity(
        template_key=key,
        title=title,
        unit=unit,
        occurrences=occurrences,
        recent_density=density,
        recent_sessions=sessions,
        comparison=compare_latest(occurrences),
    )
