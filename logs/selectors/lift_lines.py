"""The lift lines of a client, each with its weekly values, trend and matched comparison."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any, Final
from uuid import UUID

from coaching.measures.load import LoadUnit
from coaching.screening.care_groups import care_groups_of, switched_off
from logs.analysis.constants import DAYS_PER_WEEK
from logs.analysis.facts import SetFact
from logs.analysis.lift_lines import BodyMoved, LiftLine, LiftSession, kept_sessions, lift_sessions
from logs.analysis.lift_values import lift_values
from logs.analysis.lift_weeks import LeftOut, LinePoint, line_slopes
from logs.analysis.matched import MatchedComparison, matched_comparison
from logs.analysis.strength import Formula
from logs.analysis.trend_verdicts import Trend, TrendPolicy, trend_of
from logs.selectors.lift_facts import ClientSpan, bodies_moved, client_spans, get_trend_policy, lift_sets, stored_lines
from programs.prescription.structure import ExerciseFacts
from programs.selectors.business_calendar import BusinessCalendar, get_business_calendar
from programs.selectors.exercises import exercise_facts

BEFORE_ALL_LOGS: Final = date(1900, 1, 1)
"""No log is older. Practice."""

STORED_FORMULA: Formula = "epley"
"""The formula of the stored weekly values. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftLineFound:
    """A line of a client.

    Attributes:
        line: what stands on it.
        exercise: what was lifted; None where the business no longer has it.
        points: weekly values, oldest first, with why any stays out.
        trend: what they show.
        matched: the latest session against earlier ones.
        sessions: its sessions of these weeks with their sets, oldest first.
        kept: those of weeks that do not stay out.
        ever: all its sessions; those of these weeks alone where not one lift is asked for.
    """

    line: LiftLine
    exercise: ExerciseFacts | None
    points: tuple[LinePoint, ...]
    trend: Trend
    matched: MatchedComparison
    sessions: tuple[LiftSession, ...]
    kept: tuple[LiftSession, ...]
    ever: tuple[LiftSession, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftsFound:
    """A client's lines, in order, over a span of weeks.

    Attributes:
        client_id: whose.
        since: the first day of the first week.
        this_week: the first day of the present week.
        formula: by which every figure was estimated.
        unit: the client's unit.
        left_out: weeks that stay out of trends, and why.
        weight_hidden: why bodyweights are not shown; empty where they are.
        lines: the lines.
    """

    client_id: UUID
    since: date
    this_week: date
    formula: Formula
    unit: LoadUnit
    left_out: Mapping[date, LeftOut]
    weight_hidden: str
    lines: Sequence[LiftLineFound]


@dataclass(frozen=True, slots=True)
class _Asked:
    """What is looked at: a client, weeks, a formula, one lift or all, and what holds for all lines."""

    client: dict[str, Any]
    calendar: BusinessCalendar
    weeks: list[date]
    formula: Formula
    exercise: str | None
    policy: TrendPolicy
    span: ClientSpan
    weight_hidden: str

    @property
    def first(self) -> date:
        return self.weeks[0]

    @property
    def last(self) -> date:
        return self.weeks[-1] + timedelta(days=DAYS_PER_WEEK - 1)

    def left_out(self, day: date) -> LeftOut:
        return self.span.left_out.get(self.calendar.week_of(day), "")


def lifts_of(
    *, client: dict[str, Any], weeks: int, formula: Formula, exercise: str | None = None, now: datetime
) -> LiftsFound:
    """Return the lift lines of a client whom the caller may see.

    Args:
        client: the client's row.
        weeks: how many, the present one among them.
        formula: of every estimate; the stored weekly values are taken where it is theirs.
        exercise: only the lines of this key.
        now: the present instant.
    """
    calendar = get_business_calendar()
    today = calendar.today(now, client["time_zone"])
    this_week = calendar.week_of(today)
    starts = [this_week - timedelta(days=DAYS_PER_WEEK * back) for back in reversed(range(weeks))]
    groups = care_groups_of(client["care_groups"], birth_date=client["birth_date"], today=today)
    hidden = switched_off("bodyweight", groups)
    span = client_spans(client_ids=[client["id"]], weeks=starts)[client["id"]]
    asked = _Asked(
        client=client,
        calendar=calendar,
        weeks=starts,
        formula=formula,
        exercise=exercise,
        policy=get_trend_policy(),
        span=ClientSpan(span.left_out) if hidden else span,
        weight_hidden=hidden,
    )
    return LiftsFound(
        client_id=client["id"],
        since=asked.first,
        this_week=this_week,
        formula=formula,
        unit=client["unit"],
        left_out=span.left_out,
        weight_hidden=hidden,
        lines=_lines(asked),
    )


def line_body_kg(exercise: ExerciseFacts | None, span: ClientSpan) -> Decimal | None:
    """Return the bodyweight that percents of a line count in: 0 unless its load is added; None when unknown."""
    if exercise is None or exercise.load_basis != "added" or not exercise.bodyweight_share:
        return Decimal(0)
    return None if span.bodyweight_kg is None else span.bodyweight_kg * exercise.bodyweight_share


def trend_points(points: Sequence[LinePoint], left_out: Mapping[date, LeftOut]) -> tuple[LinePoint, ...]:
    """Return points with the reasons of those that stay out."""
    return tuple(replace(one, left_out=left_out.get(one.week_start, "")) for one in points)


def kept_values(points: Sequence[LinePoint], left_out: Mapping[date, LeftOut]) -> dict[date, float]:
    """Return the values of a trend, by week: those of weeks that do not stay out."""
    return {one.week_start: float(one.value_kg) for one in points if one.week_start not in left_out}


def _lines(asked: _Asked) -> list[LiftLineFound]:
    client_id = asked.client["id"]
    # Records look back over one lift's whole history.
    first = asked.first if asked.exercise is None else BEFORE_ALL_LOGS
    within: Any = {"client_ids": [client_id], "first": first, "last": asked.last}
    exercises = None if asked.exercise is None else [asked.exercise]
    sets = lift_sets(**within, exercises=exercises).get(client_id, ())
    body_moved = bodies_moved(**within)(client_id)
    ever = lift_sessions(sets, body_moved, asked.formula)
    points = _points(asked, [one for one in sets if one.local_date >= asked.first], body_moved)
    lines = sorted({line for line, own in ever.items() if own[-1].local_date >= asked.first} | points.keys())
    known = exercise_facts({line.exercise for line in lines})
    shown = [trend_points(points.get(line, ()), asked.span.left_out) for line in lines]
    values = [kept_values(points.get(line, ()), asked.span.left_out) for line in lines]
    bodies = [line_body_kg(known.get(line.exercise), asked.span) for line in lines]
    trends = _trends(values, bodies, asked.policy, asked.client["unit"])
    return [
        _line(asked, line, known.get(line.exercise), own, trend, ever.get(line, ()))
        for line, own, trend in zip(lines, shown, trends, strict=True)
    ]


def _points(asked: _Asked, sets: Sequence[SetFact], body_moved: BodyMoved) -> Mapping[LiftLine, tuple[LinePoint, ...]]:
    """Take the stored weekly values; by another formula than theirs, make them from the sets."""
    client_id = asked.client["id"]
    if asked.formula == STORED_FORMULA:
        stored = stored_lines(client_ids=[client_id], first=asked.first, last=asked.weeks[-1], exercise=asked.exercise)
        return stored.get(client_id, {})
    by_week: defaultdict[date, list[SetFact]] = defaultdict(list)
    for one in sets:
        by_week[asked.calendar.week_of(one.local_date)].append(one)
    found: defaultdict[LiftLine, list[LinePoint]] = defaultdict(list)
    for week in sorted(by_week):
        for value in lift_values(by_week[week], body_moved, asked.formula).values():
            line = LiftLine(value.exercise, value.side, value.tempo_class, value.place, value.machine)
            found[line].append(LinePoint(week_start=week, value_kg=value.value_kg, sessions=value.sessions))
    return {line: tuple(points) for line, points in found.items()}


def _trends(
    values: Sequence[Mapping[date, float]], bodies_kg: Sequence[Decimal | None], policy: TrendPolicy, unit: LoadUnit
) -> list[Trend]:
    bodies = [None if body is None else float(body) for body in bodies_kg]
    slopes = line_slopes(values, bodies, policy)
    return [trend_of(slopes.slope(row), body_kg=body, policy=policy, unit=unit) for row, body in enumerate(bodies)]


def _line(  # noqa: PLR0917 -- everything that a line is made from
    asked: _Asked,
    line: LiftLine,
    exercise: ExerciseFacts | None,
    points: tuple[LinePoint, ...],
    trend: Trend,
    ever: tuple[LiftSession, ...],
) -> LiftLineFound:
    if asked.weight_hidden:
        ever = tuple(without_body(one) for one in ever)
    sessions = tuple(one for one in ever if one.local_date >= asked.first)
    kept = kept_sessions(sessions, asked.left_out)
    return LiftLineFound(
        line=line,
        exercise=exercise,
        points=points,
        trend=trend,
        matched=matched_comparison(kept, line.tempo_class, asked.client["unit"]),
        sessions=sessions,
        kept=kept,
        ever=ever,
    )


def without_body(session: LiftSession) -> LiftSession:
    """Return a session without the bodyweights moved, for whom care hides them."""
    hidden = (replace(one, body_kg=None) if one.load_basis == "added" else one for one in session.sets)
    return replace(session, sets=tuple(hidden))
