"""Mark weeks whose figures must be computed anew, and take them up."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final
from uuid import UUID

from django.db import connection

from coaching.tenancy.models import new_id
from coaching.tenancy.scope import current_business_id

# Longer than the task that refreshes may run, so that a claim never ends under a living claimant.
CLAIM_S: Final = 120

FAILURES_AT_MOST: Final = 5
"""So often in a row is a week tried that can't be computed; then it waits for a change of its facts. Practice."""


@dataclass(frozen=True, slots=True)
class StaleWeekMark:
    """A client's week to refresh, at the generation that was read."""

    client_id: UUID
    week_start: date
    generation: int


def mark_stale(*, weeks: Iterable[tuple[UUID, date]], now: datetime) -> None:
    """Mark weeks in the transaction of the change that made them stale.

    Args:
        weeks: pairs of client and the first day of the business week.
        now: when they became stale.
    """
    # In one order everywhere, so that two batches that touch the same weeks can't deadlock.
    pairs = sorted(set(weeks))
    if not pairs:
        return
    with connection.cursor() as cursor:
        cursor.execute(
            "INSERT INTO coaching_staleweek (id, business_id, client_id, week_start, generation, marked_at, failures) "
            "SELECT i, %s, c, w, 1, %s, 0 FROM unnest(%s::uuid[], %s::uuid[], %s::date[]) AS t (i, c, w) "
            "ON CONFLICT (business_id, client_id, week_start) "
            "DO UPDATE SET generation = coaching_staleweek.generation + 1, failures = 0",
            [
                current_business_id(),
                now,
                [new_id() for _ in pairs],
                [client_id for client_id, _ in pairs],
                [week_start for _, week_start in pairs],
            ],
        )


def take_stale_weeks(*, limit: int) -> list[StaleWeekMark]:
    """Claim up to `limit` marks, oldest first, for as long as a refresh may take.

    No two refreshers work on one week at once: the slower would overwrite newer figures with older. The
    claim is a lease on the database's clock, not a lock: logs of the week are not kept waiting, and a
    claimant that died, or whose week can't be computed, is followed by another only after a while.
    """
    with connection.cursor() as cursor:
        cursor.execute(
            # Materialised: as a sub-query it may be run again for each row, and then takes other marks, or fewer.
            "WITH free AS MATERIALIZED (SELECT id FROM coaching_staleweek WHERE business_id = %s "
            "AND (claimed_until IS NULL OR claimed_until < clock_timestamp()) AND failures < %s "
            "ORDER BY marked_at, id LIMIT %s FOR UPDATE SKIP LOCKED) "
            "UPDATE coaching_staleweek s SET claimed_until = clock_timestamp() + make_interval(secs => %s) "
            "FROM free WHERE s.business_id = %s AND s.id = free.id "
            "RETURNING s.client_id, s.week_start, s.generation",
            [current_business_id(), FAILURES_AT_MOST, limit, CLAIM_S, current_business_id()],
        )
        return [StaleWeekMark(*row) for row in cursor.fetchall()]


def set_aside(*, mark: StaleWeekMark) -> int:
    """Count a refresh that failed by this week alone; it is tried again when its claim has run out.

    Returns:
        How many have failed in a row; at `FAILURES_AT_MOST` it is left alone until it is marked again.
    """
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE coaching_staleweek SET failures = failures + 1 WHERE business_id = %s "
            "AND client_id = %s AND week_start = %s AND generation = %s RETURNING failures",
            [current_business_id(), mark.client_id, mark.week_start, mark.generation],
        )
        found = cursor.fetchone()
    # Marked again since: its facts are others now.
    return found[0] if found else 0


def clear_stale_weeks(*, marks: Iterable[StaleWeekMark]) -> None:
    """Delete marks at the generation that was read; one marked again since stays, free to be claimed."""
    taken = list(marks)
    weeks = "unnest(%s::uuid[], %s::date[], %s::bigint[]) AS t (client_id, week_start, generation)"
    same_week = "s.business_id = %s AND s.client_id = t.client_id AND s.week_start = t.week_start"
    parameters: tuple[list[UUID], list[date], list[int], UUID] = (
        [mark.client_id for mark in taken],
        [mark.week_start for mark in taken],
        [mark.generation for mark in taken],
        current_business_id(),
    )
    with connection.cursor() as cursor:
        # In the order in which `mark_stale` locks them, so that the two can't deadlock; and in a statement
        # of its own, so that the next sees what those waited for have written.
        cursor.execute(
            f"SELECT FROM coaching_staleweek s, {weeks} WHERE {same_week} "
            "ORDER BY s.client_id, s.week_start FOR UPDATE OF s",
            parameters,
        )
        cursor.execute(
            f"WITH done AS (DELETE FROM coaching_staleweek s USING {weeks} WHERE {same_week} "
            "AND s.generation = t.generation) "
            f"UPDATE coaching_staleweek s SET claimed_until = NULL FROM {weeks} WHERE {same_week} "
            "AND s.generation <> t.generation",
            parameters * 2,
        )
