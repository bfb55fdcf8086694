"""Mark weeks whose figures must be computed anew, and take them up."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db import connection

from coaching.tenancy.models import new_id
from coaching.tenancy.scope import current_business_id


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
            "INSERT INTO coaching_staleweek (id, business_id, client_id, week_start, generation, marked_at) "
            "SELECT i, %s, c, w, 1, %s FROM unnest(%s::uuid[], %s::uuid[], %s::date[]) AS t (i, c, w) "
            "ON CONFLICT (business_id, client_id, week_start) "
            "DO UPDATE SET generation = coaching_staleweek.generation + 1",
            [
                current_business_id(),
                now,
                [new_id() for _ in pairs],
                [client_id for client_id, _ in pairs],
                [week_start for _, week_start in pairs],
            ],
        )


def take_stale_weeks(*, limit: int) -> list[StaleWeekMark]:
    """Read up to `limit` marks, oldest first, and lock them until the transaction ends.

    Marks that another refresher holds are passed over.
    """
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT client_id, week_start, generation FROM coaching_staleweek WHERE business_id = %s "
            "ORDER BY marked_at, id LIMIT %s FOR UPDATE SKIP LOCKED",
            [current_business_id(), limit],
        )
        return [StaleWeekMark(*row) for row in cursor.fetchall()]


def clear_stale_weeks(*, marks: Iterable[StaleWeekMark]) -> None:
    """Delete marks at the generation that was read: a later mark survives."""
    taken = list(marks)
    with connection.cursor() as cursor:
        cursor.execute(
            "DELETE FROM coaching_staleweek s USING unnest(%s::uuid[], %s::date[], %s::bigint[]) "
            "AS t (client_id, week_start, generation) WHERE s.business_id = %s AND s.client_id = t.client_id "
            "AND s.week_start = t.week_start AND s.generation = t.generation",
            [
                [mark.client_id for mark in taken],
                [mark.week_start for mark in taken],
                [mark.generation for mark in taken],
                current_business_id(),
            ],
        )
