"""Who progresses and who stalls, across clients: every line's trend at once; statements do not grow."""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from coaching.policy import Principal
from coaching.screening.care_groups import care_groups_of, switched_off
from coaching.selectors.clients import list_clients
from logs.analysis.constants import DAYS_PER_WEEK
from logs.analysis.lift_lines import LiftLine, kept_sessions, lift_sessions
from logs.analysis.lift_weeks import LineSlopes, line_slopes
from logs.analysis.matched import MatchedComparison, matched_comparison
from logs.analysis.trend_verdicts import VERDICTS, Trend, TrendPolicy, Verdict, trend_of
from logs.selectors.lift_facts import (
    ClientSpan,
    bodies_moved,
    client_spans,
    get_trend_policy,
    lift_sets,
    stored_lines,
)
from logs.selectors.lift_lines import STORED_FORMULA, kept_values, line_body_kg, without_body
from logs.selectors.readiness_facts import COACHED_STATES
from logs.selectors.visible_clients import coach_named
from programs.prescription.structure import ExerciseFacts
from programs.selectors.business_calendar import BusinessCalendar, get_business_calendar
from programs.selectors.exercises import exercise_facts


@dataclass(frozen=True, slots=True)
class LiftTrendRow:
    """A client's line; `sort_name` and `place` are its place in the list."""

    client: Mapping[str, Any]
    line: LiftLine
    exercise: ExerciseFacts | None
    latest_week: date
    latest_kg: Decimal
    verdict: Verdict
    body_kg: float | None
    number: int
    sort_name: str
    place: str


@dataclass(frozen=True, slots=True)
class LiftTrends:
    """The lines that a list shows, what they are made from, and how many there are of each verdict.

    Attributes:
        rows: the lines that fit the filters, in no order.
        counts: lines by verdict, whatever verdicts are asked for.
        since: the first day of the span.
        last: its last day.
        weight_hidden: clients whose bodyweights care hides.
        policy: the bound of a plateau.
    """

    rows: Sequence[LiftTrendRow]
    counts: Mapping[Verdict, int]
    since: date
    last: date
    policy: TrendPolicy
    slopes: LineSlopes
    spans: Mapping[UUID, ClientSpan]
    weight_hidden: Collection[UUID]
    calendar: BusinessCalendar

    def trend(self, row: LiftTrendRow) -> Trend:
        """Return a row's trend in full."""
        slope = self.slopes.slope(row.number)
        return trend_of(slope, body_kg=row.body_kg, policy=self.policy, unit=row.client["unit"])


def list_lift_trends(
    *, actor: Principal, coach: str | None, verdicts: Collection[str] | None, weeks: int, now: datetime
) -> LiftTrends:
    """Return the lift lines of all coached clients whom the caller may see, in no order.

    Args:
        actor: who calls.
        coach: only this coach's clients: an id, or `me`.
        verdicts: only lines with one of these.
        weeks: how many, the present one among them.
        now: the present instant.

    Raises:
        Invalid: the coach is neither an id nor `me`.
        UnknownObject: there is no such coach in the business.
    """
    rows = list_clients(actor=actor, coach_id=coach_named(actor=actor, coach=coach), states=sorted(COACHED_STATES))
    clients = {row["id"]: row for row in rows}
    calendar = get_business_calendar()
    todays = {client_id: calendar.today(now, row["time_zone"]) for client_id, row in clients.items()}
    this_week = calendar.week_of(max(todays.values(), default=calendar.today(now, "UTC")))
    starts = [this_week - timedelta(days=DAYS_PER_WEEK * back) for back in reversed(range(weeks))]
    spans = client_spans(client_ids=clients.keys(), weeks=starts)
    hidden = {client_id for client_id, row in clients.items() if _weight_hidden(row, todays[client_id])}
    for client_id in hidden:
        spans[client_id].bodyweights_kg.clear()
    policy = get_trend_policy()
    stored = stored_lines(client_ids=clients.keys(), first=starts[0], last=this_week)
    known = exercise_facts({line.exercise for lines in stored.values() for line in lines})
    lines = [(client_id, line) for client_id, own in stored.items() for line in own]
    bodies = [line_body_kg(known.get(line.exercise), spans[client_id]) for client_id, line in lines]
    values = [kept_values(stored[owner][line], spans[owner].left_out) for owner, line in lines]
    floats = [None if body is None else float(body) for body in bodies]
    slopes = line_slopes(values, floats, policy)
    found = [
        LiftTrendRow(
            client=clients[owner],
            line=line,
            exercise=known.get(line.exercise),
            latest_week=stored[owner][line][-1].week_start,
            latest_kg=stored[owner][line][-1].value_kg,
            verdict=VERDICTS[code],
            body_kg=body,
            number=number,
            sort_name=clients[owner]["name"].casefold(),
            place=f"{owner}/{line.key}",
        )
        for number, ((owner, line), code, body) in enumerate(zip(lines, slopes.codes.tolist(), floats, strict=True))
    ]
    counts = Counter(row.verdict for row in found)
    return LiftTrends(
        rows=[row for row in found if not verdicts or row.verdict in verdicts],
        counts={verdict: counts[verdict] for verdict in VERDICTS},
        since=starts[0],
        last=this_week + timedelta(days=DAYS_PER_WEEK - 1),
        policy=policy,
        slopes=slopes,
        spans=spans,
        weight_hidden=hidden,
        calendar=calendar,
    )


def _weight_hidden(client: Mapping[str, Any], today: date) -> bool:
    groups = care_groups_of(client["care_groups"], birth_date=client["birth_date"], today=today)
    return bool(switched_off("bodyweight", groups))


def matched_comparisons(*, found: LiftTrends, rows: Iterable[LiftTrendRow]) -> dict[str, MatchedComparison]:
    """Return the matched comparison of rows, by their place, in three statements.

    Args:
        found: the list that the rows are of.
        rows: those that are shown.
    """
    shown = list(rows)
    within: Any = {"client_ids": {row.client["id"] for row in shown}, "first": found.since, "last": found.last}
    sets = lift_sets(**within, exercises={row.line.exercise for row in shown})
    moved = bodies_moved(**within)
    sessions = {owner: lift_sessions(own, moved(owner), STORED_FORMULA) for owner, own in sets.items()}
    return {row.place: _matched(found, row, sessions.get(row.client["id"], {})) for row in shown}


def _matched(found: LiftTrends, row: LiftTrendRow, sessions: Mapping[LiftLine, Any]) -> MatchedComparison:
    left_out = found.spans[row.client["id"]].left_out
    own = sessions.get(row.line, ())
    if row.client["id"] in found.weight_hidden:
        own = tuple(without_body(one) for one in own)
    kept = kept_sessions(own, lambda day: left_out.get(found.calendar.week_of(day), ""))
    return matched_comparison(kept, row.line.tempo_class, row.client["unit"])
