"""Weekly rows: kept equal to what their facts give, by marks that each change of a fact leaves behind."""

import logging
from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from typing import Final
from uuid import UUID

from django.db import DatabaseError

from coaching.actions.stale_weeks import (
    FAILURES_AT_MOST,
    StaleWeekMark,
    clear_stale_weeks,
    mark_stale,
    set_aside,
    take_stale_weeks,
)
from coaching.measures.local_calendar import week_start_of
from coaching.tenancy.models import new_id
from coaching.tenancy.scope import business_scope, current_business_id
from logs.actions.flags import evaluate_flags
from logs.actions.session_paces import push_session_paces
from logs.actions.weekly_statement import run_store_weeks
from logs.analysis.touched_weeks import weeks_touched_by_bodyweight
from logs.selectors.client_weeks import list_client_ids, list_weeks_with_facts
from programs.selectors.business_calendar import BusinessCalendar, get_business_calendar

WEEKS_A_PIECE: Final = 200
_CLIENTS_A_CHUNK: Final = 20
# Nobody's local date is further ahead of UTC than this.
_AHEAD: Final = timedelta(days=1)

# What a week's own facts may bring about; a task's end and a process's are not among them.
_FAILURES: Final = (DatabaseError, ArithmeticError, LookupError, TypeError, ValueError)

ClientWeek = tuple[UUID, date]

logger = logging.getLogger(__name__)


def refresh_weeks(business_id: UUID, now: datetime) -> bool:
    """Refresh a business's stale weeks and the flags of their clients, a bounded piece at a time.

    Args:
        business_id: the business, in no scope yet.
        now: the present instant.

    Returns:
        Whether more may be stale.
    """
    taken, _changed = _refresh_piece(business_id, now)
    return taken == WEEKS_A_PIECE


def _refresh_piece(business_id: UUID, now: datetime) -> tuple[int, int]:
    # The claim commits first: held in the same transaction it would keep the next log of a week waiting.
    with business_scope(business_id):
        marks = take_stale_weeks(limit=WEEKS_A_PIECE)
    return len(marks), _refresh_marks(business_id, marks, now) if marks else 0


def _refresh_marks(business_id: UUID, marks: Sequence[StaleWeekMark], now: datetime) -> int:
    """Refresh claimed weeks; if that fails, half by half, until the week that fails stands alone and is set aside."""
    try:
        with business_scope(business_id):
            calendar = get_business_calendar()
            client_ids = {mark.client_id for mark in marks}
            changed = store_client_weeks(weeks=[(mark.client_id, mark.week_start) for mark in marks], calendar=calendar)
            evaluate_flags(client_ids=client_ids, now=now, calendar=calendar)
            push_session_paces(client_ids=client_ids)
            clear_stale_weeks(marks=marks)
    except _FAILURES as error:
        if len(marks) == 1:
            _set_aside(business_id, marks[0], error)
            return 0
        half = len(marks) // 2
        return sum(_refresh_marks(business_id, some, now) for some in (marks[:half], marks[half:]))
    return changed


def _set_aside(business_id: UUID, mark: StaleWeekMark, error: Exception) -> None:
    with business_scope(business_id):
        failures = set_aside(mark=mark)
    what = (mark.week_start, mark.client_id, business_id, failures)
    logger.error("week %s of client %s, business %s, can't be computed (%d in a row)", *what, exc_info=error)
    if failures >= FAILURES_AT_MOST:
        logger.critical("ALARM: week %s of client %s, business %s, is left alone after %d failures", *what)


def store_client_weeks(*, weeks: Iterable[ClientWeek], calendar: BusinessCalendar | None = None) -> int:
    """Compute weekly rows and store them, all by one statement.

    A week has a row exactly if something was planned or logged in it; so an incremental refresh and a full rebuild
    leave the same rows.

    Args:
        weeks: pairs of client and first day of the week.
        calendar: the business's, where the caller has read it.

    Returns:
        How many rows are other than before.
    """
    pairs = sorted(set(weeks))
    known = calendar or get_business_calendar()
    return run_store_weeks(
        business_id=current_business_id(),
        ids=[new_id() for _ in pairs],
        client_ids=[client_id for client_id, _ in pairs],
        weeks=[week_start for _, week_start in pairs],
        aligned=[known.week_of(week_start) == week_start for _, week_start in pairs],
    )


def mark_weeks_of_logs(
    *,
    performed: Iterable[tuple[UUID, date]] = (),
    checked_in: Iterable[tuple[UUID, date]] = (),
    week_start: int,
    now: datetime,
) -> None:
    """Mark the weeks that logs touch, in the transaction that wrote, corrected or deleted them.

    Args:
        performed: client and local date of session and set logs; of a corrected one with its old date too.
        checked_in: client and local date of check-ins that have or had a bodyweight, on which the loads of the next
            weeks may rest; others may stand in either list.
        week_start: the business's first weekday.
        now: the present instant.
    """
    until = now.date() + _AHEAD
    weeks = {(client_id, week_start_of(day, week_start)) for client_id, day in performed}
    for client_id, day in set(checked_in):
        touched = weeks_touched_by_bodyweight(day, week_start=week_start, until=until)
        weeks |= {(client_id, week) for week in touched}
    mark_stale(weeks=weeks, now=now)


def mark_every_week(*, now: datetime) -> None:
    """Mark all weeks of the business: after its week start has moved, or its constants have changed."""
    for chunk in _chunks(list_client_ids(), _CLIENTS_A_CHUNK):
        mark_stale(weeks=_weeks_of(chunk), now=now)


def follow_business_policy(changed: frozenset[str], now: datetime) -> None:
    """Let the weekly rows follow when the business has moved the start of its weeks."""
    if "week_start" in changed:
        mark_every_week(now=now)


def rebuild_weeks(business_id: UUID, now: datetime) -> tuple[int, int]:
    """Compute every week of a business from its facts again, as a refresh of all of them.

    Weeks that a worker is just refreshing are left marked, and so done by the next one.

    Args:
        business_id: the business, in no scope yet.
        now: the present instant.

    Returns:
        How many weeks there are, and how many rows were other than their facts.
    """
    weeks, changed = 0, 0
    with business_scope(business_id):
        client_ids = list_client_ids()
    for chunk in _chunks(client_ids, _CLIENTS_A_CHUNK):
        with business_scope(business_id):
            pairs = _weeks_of(chunk)
            mark_stale(weeks=pairs, now=now)
        weeks += len(pairs)
        # A piece that is not full was the last.
        taken = WEEKS_A_PIECE
        while taken == WEEKS_A_PIECE:
            taken, rows = _refresh_piece(business_id, now)
            changed += rows
    return weeks, changed


def _weeks_of(client_ids: list[UUID]) -> list[ClientWeek]:
    return list_weeks_with_facts(client_ids=client_ids, week_start=get_business_calendar().week_start)


def _chunks(ids: list[UUID], size: int) -> Iterable[list[UUID]]:
    return (ids[start : start + size] for start in range(0, len(ids), size))
