"""Sets whose session has not come: kept, listed, and released when it does.

What is kept is what each arrival would have written, in the order of arrival, so that a release does what
the arrivals would have done had the session been there.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import Any

import orjson
from django.db import connection

from coaching.tenancy.models import new_id
from coaching.tenancy.scope import current_business_id
from logs.actions.log_fields import HELD_DAYS, Item
from logs.actions.log_writing import Change


def hold_items(*, source: str, items: Sequence[Item], now: datetime) -> None:
    """Keep sets until their session comes; a set that is held already gets one more arrival.

    Args:
        source: what they are filed under.
        items: sets with the part of their content that does not depend on the session.
        now: when they were received.
    """
    if not items:
        return
    arrivals: dict[tuple[str, str, str], list[dict[str, Any]]] = {}
    for item in items:
        item.result = "held"
        place = (item.client_id, item.external_id, item.fields["session_external_id"])
        arrivals.setdefault(place, []).append(_arrival(item))
    shown = {(item.client_id, item.external_id): _shown(item) for item in items}
    with connection.cursor() as cursor:
        cursor.execute(
            "INSERT INTO logs_helditem (id, business_id, client_id, source, external_id, session_external_id, item,"
            " received_at, expires_at)"
            " SELECT i, %s, c, %s, e, s, j, %s, %s"
            " FROM unnest(%s::uuid[], %s::uuid[], %s::text[], %s::text[], %s::jsonb[]) AS t (i, c, e, s, j)"
            " ON CONFLICT (business_id, client_id, source, external_id, session_external_id) DO UPDATE SET"
            " item = jsonb_build_object('fields', EXCLUDED.item -> 'fields', 'arrivals',"
            "  (logs_helditem.item -> 'arrivals') || (EXCLUDED.item -> 'arrivals')),"
            " expires_at = EXCLUDED.expires_at"
            # A retry of the latest arrival adds nothing.
            " WHERE (logs_helditem.item -> 'arrivals' -> -1) IS DISTINCT FROM (EXCLUDED.item -> 'arrivals' -> -1)",
            [
                current_business_id(),
                source,
                now,
                now + timedelta(days=HELD_DAYS),
                [new_id() for _ in arrivals],
                [client_id for client_id, _, _ in arrivals],
                [external_id for _, external_id, _ in arrivals],
                [session for _, _, session in arrivals],
                [
                    orjson.dumps({"fields": shown[client_id, external_id], "arrivals": told}).decode()
                    for (client_id, external_id, _), told in arrivals.items()
                ],
            ],
        )


def release_items(*, source: str, sessions: Iterable[Change]) -> list[Item]:
    """Take the sets that waited for sessions that are new, in the order in which they came."""
    new = [change.item for change in sessions if change.was_dated is None]
    if not new:
        return []
    with connection.cursor() as cursor:
        cursor.execute(
            "DELETE FROM logs_helditem h USING unnest(%s::uuid[], %s::text[]) AS s (client_id, external_id)"
            " WHERE h.business_id = %s AND h.source = %s AND h.client_id = s.client_id"
            " AND h.session_external_id = s.external_id"
            " RETURNING h.id, h.client_id, h.external_id, h.session_external_id, h.item",
            [
                [item.client_id for item in new],
                [item.external_id for item in new],
                current_business_id(),
                source,
            ],
        )
        rows = sorted(cursor.fetchall())
    return [
        _released(str(client_id), external_id, session, arrival)
        for _, client_id, external_id, session, kept in rows
        for arrival in orjson.loads(kept)["arrivals"]
    ]


def _arrival(item: Item) -> dict[str, Any]:
    named = {} if item.named_exercise_id is None else {"named": item.named_exercise_id}
    return {"revision": item.revision, "content": item.content} | named


def _released(client_id: str, external_id: str, session: str, arrival: dict[str, Any]) -> Item:
    item = Item(
        "set_log",
        None,
        {"external_id": external_id, "revision": arrival["revision"], "session_external_id": session},
    )
    item.client_id = client_id
    item.content = arrival["content"]
    item.named_exercise_id = arrival.get("named")
    return item


def _shown(item: Item) -> dict[str, Any]:
    """Return what a listing shows: the fields as sent, without those left out."""
    return {name: value for name, value in item.fields.items() if value not in (None, "", [])}
