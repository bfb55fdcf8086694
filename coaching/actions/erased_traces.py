"""Take what names an erased person, without a key to them, out of messages, kept answers and API keys."""

from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

from django.db import connection

from coaching.models.outbox import OutboxMessage, OutboxState
from coaching.tenancy.scope import current_business_id

Count = Callable[[str, int], None]

OPEN: Final = (OutboxState.QUEUED, OutboxState.SENDING, OutboxState.RETRYING)
WITHDRAWN: Final = "The person whom it is about was erased."
_AN_ID: Final = "[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}"
_AN_ID_ALONE: Final = f"^{_AN_ID}$"
# The ids of years of logs are many: they stand twice in the statement, not once for each column that they decide.
_FOUND: Final = (
    "WITH named AS MATERIALIZED (SELECT o.id, o.state = ANY(%(open)s) AS is_open,"
    "  EXISTS (SELECT FROM jsonb_each(o.payload) AS e WHERE jsonb_typeof(e.value) = 'string'"
    # Only a string that is an id is cast to one.
    "   AND CASE WHEN lower(e.value #>> '{}') ~ %(an_id_alone)s THEN (e.value #>> '{}')::uuid = ANY(%(ids)s) END)"
    "   AS is_about_one"
    "  FROM coaching_outboxmessage o WHERE o.business_id = %(business)s"
    "  AND EXISTS (SELECT FROM regexp_matches(lower(o.payload::text || ' ' || o.dedupe_key), %(an_id)s, 'g') AS m"
    "   WHERE m[1]::uuid = ANY(%(ids)s)))"
)


def lock_open_messages() -> None:
    """Lock the messages not yet sent: one that is being written out ends first, and takes no row of the person then."""
    list(OutboxMessage.objects.select_for_update().filter(state__in=OPEN).order_by("id").values_list("id", flat=True))


def erase_traces(*, ids: Iterable[UUID], count: Count, now: datetime) -> None:
    """Empty messages that name any of the ids, and delete answers that do.

    A message about the person alone is withdrawn; one that names them among others is written anew without them. What
    was sent stays as a row that says that it was; a mail that is on its way to the server can't be called back.
    """
    listed = list(ids)
    count("coaching_outboxmessage", _empty_messages(listed, now))
    count("coaching_idempotentanswer", _delete_answers(listed))


def narrow_keys(*, client_id: UUID, now: datetime) -> list[UUID]:
    """Take a client out of the keys that are narrowed to them; a key that has nobody left is revoked, never widened.

    Returns:
        The keys.
    """
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE coaching_apikey SET client_ids = array_remove(client_ids, %(client)s::uuid), revoked_at ="
            "  CASE WHEN client_ids <@ ARRAY[%(client)s::uuid] THEN coalesce(revoked_at, %(now)s) ELSE revoked_at END"
            " WHERE business_id = %(business)s AND client_ids @> ARRAY[%(client)s::uuid] RETURNING id",
            {"client": client_id, "now": now, "business": current_business_id()},
        )
        return [row[0] for row in cursor.fetchall()]


def _empty_messages(ids: list[UUID], now: datetime) -> int:
    with connection.cursor() as cursor:
        cursor.execute(
            f"{_FOUND} UPDATE coaching_outboxmessage o SET rendered = NULL,"
            " last_problem = CASE WHEN is_open AND is_about_one THEN %(withdrawn)s ELSE '' END,"
            " payload = CASE WHEN is_open AND NOT is_about_one THEN o.payload ELSE '{}' END,"
            " state = CASE WHEN is_open AND is_about_one THEN 'withdrawn' ELSE o.state END,"
            " settled_at = CASE WHEN is_open AND is_about_one THEN %(now)s ELSE o.settled_at END,"
            " lease_token = CASE WHEN is_about_one THEN NULL ELSE o.lease_token END"
            " FROM named WHERE o.id = named.id AND o.business_id = %(business)s",
            {
                "business": current_business_id(),
                "an_id": _AN_ID,
                "an_id_alone": _AN_ID_ALONE,
                "ids": ids,
                "open": list(OPEN),
                "withdrawn": WITHDRAWN,
                "now": now,
            },
        )
        changed: int = cursor.rowcount
        return changed


def _delete_answers(ids: list[UUID]) -> int:
    with connection.cursor() as cursor:
        cursor.execute(
            "DELETE FROM coaching_idempotentanswer a WHERE a.business_id = %s"
            " AND EXISTS (SELECT FROM unnest(a.named) AS n WHERE n = ANY(%s))",
            [current_business_id(), ids],
        )
        changed: int = cursor.rowcount
        return changed
