"""Let one process at a time do a job of a business, without making the others wait."""

from django.db import connection

from coaching.tenancy.scope import current_business_id


def take_turn(*, job: str) -> bool:
    """Claim a job of the business in scope until the transaction ends.

    Returns:
        False when another process is at it: leave it to that one.
    """
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_xact_lock(hashtextextended(%s, 0))", [f"{job}:{current_business_id()}"])
        return bool(cursor.fetchone()[0])
