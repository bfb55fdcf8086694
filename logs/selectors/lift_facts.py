"""What lift lines are made from: stored weekly values, weeks that stay out, and the sets; statements do not grow."""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from statistics import median
from typing import Any, Final
from uuid import UUID

from django.db import connection
from django.db.models import Q

from coaching.models import Absence, Business
from coaching.models.clients import AbsenceKind
from coaching.tenancy.scope import current_business_id
from logs.analysis.constants import BODYWEIGHT_KNOWN_DAYS, DAYS_PER_WEEK
from logs.analysis.facts import SetFact, WeighIn
from logs.analysis.lift_lines import BodyMoved, LiftLine
from logs.analysis.lift_weeks import AwayDays, LeftOut, LinePoint, left_out_weeks
from logs.analysis.moved_loads import bodyweight_share_kg
from logs.analysis.performed_sets import counted
from logs.analysis.trend_verdicts import TrendPolicy
from logs.models import CheckIn, ClientWeek, SessionLog
from logs.selectors.set_facts import set_fact, set_rows

_KNOWN: Final = timedelta(days=BODYWEIGHT_KNOWN_DAYS)

# One row a line, so that what crosses the wire grows with the values alone.
_STORED_LINES: Final = """
SELECT w.client_id, min(v.exercise), min(v.side), min(v.tempo_class), min(v.place), min(v.machine),
  array_agg(w.week_start ORDER BY w.week_start), array_agg(v.value_kg ORDER BY w.week_start),
  array_agg(v.sessions ORDER BY w.week_start), array_agg(w.stale ORDER BY w.week_start)
FROM (
  SELECT c.client_id, c.week_start, c.lift_values, EXISTS (
    SELECT FROM coaching_staleweek s
    WHERE s.business_id = %(business)s AND s.client_id = c.client_id AND s.week_start = c.week_start
  ) AS stale
  FROM logs_clientweek c
  WHERE c.business_id = %(business)s AND c.client_id = ANY (%(clients)s)
    AND c.week_start BETWEEN %(first)s AND %(last)s
) w
CROSS JOIN LATERAL jsonb_each(w.lift_values) AS l (line, figures)
CROSS JOIN LATERAL jsonb_to_record(l.figures)
  AS v (exercise text, side text, tempo_class text, place text, machine text, value_kg numeric, sessions int)
WHERE %(exercise)s IS NULL OR v.exercise = %(exercise)s
GROUP BY w.client_id, l.line
"""


def get_trend_policy() -> TrendPolicy:
    """Return what the business in scope calls negligible."""
    bound = Business.objects.values_list("negligible_pct_per_week", flat=True).get(id=current_business_id())
    return TrendPolicy(negligible_pct_per_week=float(bound))


@dataclass(slots=True)
class ClientSpan:
    """What holds for all of a client's lines in a span of weeks.

    Attributes:
        left_out: Weeks that stay out of trends, with the reason.
        bodyweights_kg: The mean bodyweight of each week that has one, four weeks before the span among them.
    """

    left_out: dict[date, LeftOut] = field(default_factory=dict)
    bodyweights_kg: list[Decimal] = field(default_factory=list)

    @property
    def bodyweight_kg(self) -> Decimal | None:
        """The median of the weekly means; None without any."""
        return median(self.bodyweights_kg) if self.bodyweights_kg else None


def stored_lines(
    *, client_ids: Collection[UUID], first: date, last: date, exercise: str | None = None
) -> dict[UUID, dict[LiftLine, tuple[LinePoint, ...]]]:
    """Return the stored weekly values of lines, oldest first, in one statement.

    Args:
        client_ids: whose; the caller has seen to it that they may be seen.
        first: the first week.
        last: the last week.
        exercise: only lines of this key.
    """
    parameters: dict[str, Any] = {
        "business": current_business_id(),
        "clients": list(client_ids),
        "first": first,
        "last": last,
        "exercise": exercise,
    }
    found: defaultdict[UUID, dict[LiftLine, tuple[LinePoint, ...]]] = defaultdict(dict)
    with connection.cursor() as cursor:
        cursor.execute(_STORED_LINES, parameters)
        for client_id, name, side, tempo_class, place, machine, *columns in cursor.fetchall():
            line = LiftLine(name, side, tempo_class, place or "", machine)
            found[client_id][line] = tuple(
                LinePoint(week_start=week, value_kg=value, sessions=sessions, being_refreshed=stale)
                for week, value, sessions, stale in zip(*columns, strict=True)
            )
    return dict(found)


def client_spans(*, client_ids: Collection[UUID], weeks: Collection[date]) -> dict[UUID, ClientSpan]:
    """Return which weeks of clients stay out and why, and their bodyweights, in two statements.

    Args:
        client_ids: whose.
        weeks: first days of the weeks of the span.
    """
    first, last = min(weeks), max(weeks)
    deloads: defaultdict[UUID, set[date]] = defaultdict(set)
    away: defaultdict[UUID, list[AwayDays]] = defaultdict(list)
    spans = {client_id: ClientSpan() for client_id in client_ids}
    rows = ClientWeek.objects.filter(
        Q(deload=True) | Q(mean_bodyweight_kg__isnull=False),
        client_id__in=client_ids,
        week_start__range=(first - _KNOWN, last),
    )
    for row in rows.values("client_id", "week_start", "deload", "mean_bodyweight_kg"):
        if row["mean_bodyweight_kg"] is not None:
            spans[row["client_id"]].bodyweights_kg.append(row["mean_bodyweight_kg"])
        if row["deload"]:
            deloads[row["client_id"]].add(row["week_start"])
    absences = Absence.objects.filter(
        client_id__in=client_ids, ends_on__gte=first, starts_on__lt=last + timedelta(days=DAYS_PER_WEEK)
    )
    for client_id, starts_on, ends_on, kind in absences.values_list("client_id", "starts_on", "ends_on", "kind"):
        away[client_id].append(AwayDays(first=starts_on, last=ends_on, ill=kind == AbsenceKind.ILL))
    for client_id, span in spans.items():
        span.left_out = left_out_weeks(weeks, deloads[client_id], away[client_id])
    return spans


def lift_sets(
    *, client_ids: Collection[UUID], exercises: Collection[str] | None, first: date, last: date
) -> dict[UUID, tuple[SetFact, ...]]:
    """Return the counted sets of clients' sessions, in two statements.

    Args:
        client_ids: whose.
        exercises: only these keys; None for all.
        first: the first day.
        last: the last day.
    """
    # Sessions first: in one join the planner tries each set against each session where it has no statistics yet.
    sessions = SessionLog.objects.filter(
        client_id__in=client_ids, local_date__range=(first, last), deleted_at__isnull=True
    )
    rows = set_rows().filter(client_id__in=client_ids, session_log_id__in=list(sessions.values_list("id", flat=True)))
    if exercises is not None:
        rows = rows.filter(exercise__key__in=exercises)
    found: defaultdict[UUID, list[SetFact]] = defaultdict(list)
    for row in rows.order_by("session_log__local_date", "session_log_id", "set_number", "id"):
        row["local_date"] = row["session_log__local_date"]
        found[row["client_id"]].append(set_fact(row))
    return {client_id: counted(sets) for client_id, sets in found.items()}


def bodies_moved(*, client_ids: Collection[UUID], first: date, last: date) -> Callable[[UUID], BodyMoved]:
    """Return, for each client, how much of the body a set moved, in one statement.

    Args:
        client_ids: whose.
        first: the first day of the sets.
        last: the last.
    """
    rows: Any = CheckIn.objects.filter(
        client_id__in=client_ids,
        local_date__range=(first - _KNOWN, last),
        bodyweight_kg__isnull=False,
        deleted_at__isnull=True,
    )
    weigh_ins: defaultdict[UUID, list[WeighIn]] = defaultdict(list)
    for client_id, day, bodyweight_kg in rows.values_list("client_id", "local_date", "bodyweight_kg"):
        weigh_ins[client_id].append(WeighIn(local_date=day, bodyweight_kg=bodyweight_kg))
    return lambda client_id: _body_moved(weigh_ins[client_id])


def _body_moved(weigh_ins: Iterable[WeighIn]) -> BodyMoved:
    own = sorted(weigh_ins, key=_weighed_on)
    known: dict[tuple[date, Decimal], Decimal | None] = {}

    def moved(one: SetFact) -> Decimal | None:
        key = (one.local_date, one.exercise.bodyweight_share)
        if key not in known:
            first = bisect_left(own, one.local_date - _KNOWN, key=_weighed_on)
            last = bisect_right(own, one.local_date, key=_weighed_on)
            known[key] = bodyweight_share_kg(one, own[first:last])
        return known[key]

    return moved


def _weighed_on(one: WeighIn) -> date:
    return one.local_date
