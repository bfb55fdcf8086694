"""A claim takes as many marks as it is asked for, whatever plan the database makes of it."""

from datetime import date, timedelta

import pytest
from django.db import connection

from coaching.actions.stale_weeks import mark_stale, take_stale_weeks
from coaching.tenancy.scope import business_scope
from tests.scenario import NOON, Cast

MONDAY = date(2031, 3, 3)


PLANS = {
    "as it likes": (),
    "nested loops": ("hashjoin", "mergejoin", "material", "memoize", "hashagg", "sort"),
    "nested loops over the whole table": (
        "hashjoin", "mergejoin", "material", "memoize", "hashagg", "sort", "indexscan", "bitmapscan", "indexonlyscan",
    ),
}  # fmt: skip


@pytest.mark.parametrize("plan", PLANS)
def test_a_claim_takes_its_marks_once_and_none_is_left_behind(cast: Cast, plan: str) -> None:
    """As a sub-query the marks were looked for again for each row under some plans, and fewer were taken."""
    weeks = [(cast.anna.id, MONDAY - timedelta(weeks=n)) for n in range(60)]
    with business_scope(cast.business_id):
        mark_stale(weeks=weeks, now=NOON)
        with connection.cursor() as cursor:
            for off in PLANS[plan]:
                cursor.execute(f"SET LOCAL enable_{off} = off")
        taken = [take_stale_weeks(limit=25) for _ in range(3)]
        assert [len(marks) for marks in taken] == [25, 25, 10]
        assert {(mark.client_id, mark.week_start) for marks in taken for mark in marks} == set(weeks)
