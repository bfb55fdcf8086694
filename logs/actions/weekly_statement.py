"""Running the statement of `weekly_sql.py`: prepared once for each connection, and planned for many weeks."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from hashlib import blake2b
from typing import Any, Final
from uuid import UUID

from django.db import connection
from django.db.backends.utils import CursorWrapper
from psycopg.sql import Literal

from logs.actions.weekly_sql import CONSTANTS, STORE_WEEKS

_PARAMETERS: Final = {
    "business": "uuid",
    "ids": "uuid[]",
    "clients": "uuid[]",
    "weeks": "date[]",
    "aligned": "boolean[]",
}
# Another text is another statement, so that a connection that outlives a change of it can't run the old one.
_NAME: Final = f"store_weeks_{blake2b(f'{STORE_WEEKS}{CONSTANTS}'.encode(), digest_size=8).hexdigest()}"
# Planning it takes several times as long as computing a single week, so one plan serves for any number of them. It
# loops only where the statement's LATERAL says so, and there by an index: on tables without fresh statistics the
# planner takes the weekly sums for a few rows, joins them by nested loops, which is quadratic in the weeks, and reads
# tables whole that have grown since. Old planners cost a disabled loop so high that they would compile the plan.
_SETTINGS: Final = {
    "enable_nestloop": "off",
    "enable_seqscan": "off",
    "hash_mem_multiplier": "8",
    "jit": "off",
    "plan_cache_mode": "force_generic_plan",
    "work_mem": "64MB",
}


def run_store_weeks(
    *,
    business_id: UUID,
    ids: Sequence[UUID],
    client_ids: Sequence[UUID],
    weeks: Sequence[date],
    aligned: Sequence[bool],
) -> int:
    """Compute and store the rows of weeks.

    Args:
        business_id: the business in scope.
        ids: a new id for each week.
        client_ids: the client of each.
        weeks: the first day of each.
        aligned: whether it is a week as the business counts them now.

    Returns:
        How many rows are other than before.
    """
    with connection.cursor() as cursor, _planned_for_many(cursor) as prepared:
        if not prepared:
            cursor.execute(f"PREPARE {_NAME} ({', '.join(_PARAMETERS.values())}) AS {_text()}")
        cursor.execute(
            f"EXECUTE {_NAME} ({', '.join(f'%s::{kind}' for kind in _PARAMETERS.values())})",
            [business_id, list(ids), list(client_ids), list(weeks), list(aligned)],
        )
        changed: int = cursor.fetchone()[0]
    return changed


def _text() -> str:
    numbers = {name: f"${number}" for number, name in enumerate(_PARAMETERS, start=1)}
    return STORE_WEEKS % ({name: Literal(value).as_string() for name, value in CONSTANTS.items()} | numbers)


@contextmanager
def _planned_for_many(cursor: CursorWrapper) -> Iterator[bool]:
    """Plan as the settings say until the block ends; yield whether this connection knows the statement."""
    before, prepared = _set_locally(cursor, _SETTINGS)
    yield prepared
    _set_locally(cursor, before)


def _set_locally(cursor: CursorWrapper, values: dict[str, str]) -> tuple[dict[str, str], bool]:
    """Set the planner's settings in this transaction; return what they were, and whether the statement is prepared."""
    found = ", ".join("current_setting(%s)" for _ in values)
    given = ", ".join("set_config(%s, %s, true)" for _ in values)
    arguments: list[Any] = [*values, _NAME]
    # One statement for both: a materialised row keeps what was before it is set.
    cursor.execute(
        f"WITH was AS MATERIALIZED (SELECT ARRAY[{found}] AS settings,"
        " EXISTS (SELECT FROM pg_prepared_statements WHERE name = %s) AS prepared)"
        f" SELECT was.settings, was.prepared, {given} FROM was",
        arguments + [part for pair in values.items() for part in pair],
    )
    settings, prepared, *_ = cursor.fetchone()
    return dict(zip(values, settings, strict=True)), prepared
