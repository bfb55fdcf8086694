"""Two training blocks of a client side by side, from the weekly rows."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any, Final
from uuid import UUID

from django.db.models import Max, Min, Q

from coaching.policy import Principal
from coaching.refusals import Invalid, UnknownObject
from coaching.selectors.clients import get_client
from logs.analysis.constants import DAYS_PER_WEEK
from logs.analysis.training_blocks import BlockSpan, BlockWeek, FigureComparison, compare_figures, compare_lifts
from logs.models import ClientWeek
from logs.selectors.lift_facts import client_spans
from programs.models import PlannedSession
from programs.selectors.business_calendar import BusinessCalendar, get_business_calendar

LONGEST_WEEKS: Final = 104
"""The longest block that is compared. Practice."""

USUAL_WEEKS: Final = 4
"""Weeks of a block that is not chosen: the last ones that are over. Practice."""

EARLIEST: Final = date(1900, 1, 1)
LATEST: Final = date(2199, 12, 31)
"""The days that a block may be given by. Practice."""

AWAY: Final = frozenset({"ill", "away"})

FIGURES: Final = (
    "sessions_planned",
    "sessions_done",
    "sessions_part_done",
    "sessions_missed",
    "adherence_sessions",
    "adherence_sets",
    "adherence_reps",
    "adherence_load",
    "adherence_tempo",
    "work_sets",
    "hard_sets",
    "tonnage_kg",
    "density_s_per_min",
    "session_load",
    "mean_effort",
)


@dataclass(frozen=True, slots=True)
class BlockChoice:
    """One side of a comparison: from and to, or an assignment, or a version of a program; nothing is the usual one."""

    prefix: str
    first: date | None = None
    last: date | None = None
    assignment_id: UUID | None = None
    version_id: UUID | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BlocksSideBySide:
    """Both blocks, their figures and their lift lines."""

    client_id: UUID
    block: BlockSpan
    with_block: BlockSpan
    figures: tuple[FigureComparison, ...]
    lifts: tuple[FigureComparison, ...]


def compare_blocks(
    *, actor: Principal, client_id: UUID, block: BlockChoice, with_block: BlockChoice, now: datetime
) -> BlocksSideBySide:
    """Compare two of a client's training blocks: by default the last four weeks, and as many weeks just before.

    Raises:
        NotFound: there is no such client that the caller may see.
        Invalid: a block is chosen in two ways, is upside down, or is too long.
        UnknownObject: the client has no sessions of the assignment or version.
    """
    client = get_client(actor=actor, client_id=client_id)
    calendar = get_business_calendar()
    this_week = calendar.week_of(calendar.today(now, client["time_zone"]))
    before = this_week - timedelta(days=DAYS_PER_WEEK)
    start, end = _dates(client_id, block, calendar) or (
        before - timedelta(days=DAYS_PER_WEEK * (USUAL_WEEKS - 1)),
        before,
    )
    earlier = start - timedelta(days=DAYS_PER_WEEK)
    spans = [(start, end), _dates(client_id, with_block, calendar) or (earlier - (end - start), earlier)]
    rows = ClientWeek.objects.filter(
        Q(week_start__range=spans[0]) | Q(week_start__range=spans[1]), client_id=client_id
    ).order_by("week_start")
    figures = list(rows.values("week_start", "deload", "lift_values", "days_unknown", *FIGURES))
    away = _away(client_id, {row["week_start"] for row in figures})
    weeks = [_week(row, away=row["week_start"] in away) for row in figures]
    first, second = (_span(weeks, start, last, this_week) for start, last in spans)
    return BlocksSideBySide(
        client_id=client_id,
        block=first,
        with_block=second,
        figures=compare_figures(first, second, FIGURES),
        lifts=compare_lifts(first, second),
    )


def _dates(client_id: UUID, choice: BlockChoice, calendar: BusinessCalendar) -> tuple[date, date] | None:
    """Give the first days of a block's first and last week; None for a block that is not chosen."""
    ways = (choice.first is not None or choice.last is not None, choice.assignment_id, choice.version_id)
    if not any(ways):
        return None
    if sum(map(bool, ways)) > 1:
        raise Invalid.at(
            f"?{choice.prefix}from",
            f"Give {choice.prefix}from and {choice.prefix}to, or {choice.prefix}assignment, or {choice.prefix}version: "
            "one of the three.",
            "one_way",
        )
    first, last = _given_dates(choice) if ways[0] else _planned_dates(client_id, choice)
    if last - first > timedelta(days=DAYS_PER_WEEK * LONGEST_WEEKS):
        raise Invalid.at(f"?{choice.prefix}to", f"A block is at most {LONGEST_WEEKS} weeks long.", "too_long")
    return calendar.week_of(first), calendar.week_of(last)


def _given_dates(choice: BlockChoice) -> tuple[date, date]:
    if choice.first is None or choice.last is None:
        lacking = "from" if choice.first is None else "to"
        raise Invalid.at(f"?{choice.prefix}{lacking}", "Give both the first and the last day of a block.", "required")
    if choice.last < choice.first:
        raise Invalid.at(f"?{choice.prefix}to", "The last day is before the first; swap them.", "upside_down")
    for day, end in ((choice.first, "from"), (choice.last, "to")):
        if not EARLIEST <= day <= LATEST:
            sentence = f"Give a day from {EARLIEST} to {LATEST}."
            raise Invalid.at(f"?{choice.prefix}{end}", sentence, "out_of_reach")
    return choice.first, choice.last


def _planned_dates(client_id: UUID, choice: BlockChoice) -> tuple[date, date]:
    where = Q(assignment_id=choice.assignment_id) if choice.assignment_id else Q(version_id=choice.version_id)
    found = PlannedSession.objects.filter(where, client_id=client_id).aggregate(
        first=Min("local_date"), last=Max("local_date")
    )
    if found["first"] is None:
        name = "assignment" if choice.assignment_id else "version"
        raise UnknownObject.at(f"?{choice.prefix}{name}", f"The client has no sessions of such a {name}.")
    return found["first"], found["last"]


def _away(client_id: UUID, weeks: set[date]) -> set[date]:
    left_out = client_spans(client_ids=[client_id], weeks=weeks)[client_id].left_out if weeks else {}
    return {week for week, reason in left_out.items() if reason in AWAY}


def _week(row: dict[str, Any], *, away: bool) -> BlockWeek:
    figures: dict[str, Decimal | None] = {name: None if row[name] is None else Decimal(row[name]) for name in FIGURES}
    # A sum that lacks an unknown day would compare as a light week.
    if row["days_unknown"]:
        figures["session_load"] = None
    return BlockWeek(
        week_start=row["week_start"],
        deload=row["deload"],
        away=away,
        figures=figures,
        lift_values={line: Decimal(str(value["value_kg"])) for line, value in row["lift_values"].items()},
    )


def _span(weeks: list[BlockWeek], first: date, last: date, this_week: date) -> BlockSpan:
    inside = [week for week in weeks if first <= week.week_start <= last]
    over = tuple(week for week in inside if week.week_start < this_week)
    return BlockSpan(
        first=first,
        last=last + timedelta(days=DAYS_PER_WEEK - 1),
        weeks=over,
        unfinished_weeks=len(inside) - len(over),
    )
