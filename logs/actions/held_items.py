"""Sets whose session has not come: kept, listed, and released when it does.

What is kept is what each arrival would have written, in the order of arrival, so that a release does what
the arrivals would have done had the session been there. An arrival again is kept once, where it first stood.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, time, timedelta
from typing import Any, Final
from uuid import UUID

import orjson
from django.db import connection

from coaching.measures.local_calendar import local_date_of
from coaching.policy import Principal
from coaching.refusals import NotFound
from coaching.tenancy.models import new_id
from coaching.tenancy.scope import current_business_id
from logs.actions.log_fields import Item
from logs.actions.log_writing import Change
from logs.models import HeldItem
from logs.models.session_logs import HELD_DAYS
from logs.selectors.log_batches import list_held_items
from logs.selectors.log_references import LoggingClient, lock_logging_clients

ARRIVALS_KEPT: Final = 20
"""Of a held set; of more than these the lowest revisions, and of one revision the earliest, go. Practice."""

_Arrival = dict[str, Any]
_Place = tuple[str, str, str]


def hold_items(*, source: str, items: Sequence[Item], now: datetime) -> None:
    """Keep sets until their session comes; a set that is held already gets one more arrival, unless it is a retry.

    Args:
        source: what they are filed under.
        items: sets with the part of their content that does not depend on the session, whose clients the caller
            has locked.
        now: when they were received.
    """
    if not items:
        return
    sent: dict[_Place, list[Item]] = {}
    for item in items:
        item.result = "held"
        sent.setdefault((item.client_id, item.external_id, item.fields["session_external_id"]), []).append(item)
    before = _held_before(source, list(sent))
    kept = {place: _with_arrivals(before.get(place), arriving) for place, arriving in sent.items()}
    with connection.cursor() as cursor:
        cursor.execute(
            "INSERT INTO logs_helditem (id, business_id, client_id, source, external_id, session_external_id, item,"
            " received_at, expires_at)"
            " SELECT i, %s, c, %s, e, s, j, %s, %s"
            " FROM unnest(%s::uuid[], %s::uuid[], %s::text[], %s::text[], %s::jsonb[]) AS t (i, c, e, s, j)"
            " ON CONFLICT (business_id, client_id, source, external_id, session_external_id) DO UPDATE SET"
            " item = EXCLUDED.item, expires_at = EXCLUDED.expires_at"
            # A retry changes nothing.
            " WHERE logs_helditem.item IS DISTINCT FROM EXCLUDED.item",
            [
                current_business_id(),
                source,
                now,
                now + timedelta(days=HELD_DAYS),
                [new_id() for _ in kept],
                *([place[part] for place in kept] for part in range(3)),
                [orjson.dumps(item).decode() for item in kept.values()],
            ],
        )


def held_symptom_days(
    *, items: Iterable[Item], clients: Mapping[str, LoggingClient], day_ends_at: time, now: datetime
) -> set[tuple[str, date]]:
    """Return who reports a symptom with a set that waits, and the day: the report does not wait with it.

    Args:
        items: sets, those that are not held among them.
        clients: the clients, by the text that named them.
        day_ends_at: when the business's day ends.
        now: when they were received.
    """
    return {
        (item.client_id, local_date_of(now, clients[item.fields["client"]].zone_at(now), day_ends_at))
        for item in items
        if item.result == "held" and item.fields["symptoms"]
    }


def delete_held_item(*, actor: Principal, held_item_id: UUID) -> None:
    """Erase a set that waits for its session.

    Args:
        actor: who erases it.
        held_item_id: which.

    Raises:
        NotFound: no such held item that the caller may change.
    """
    rows = list_held_items(actor=actor).filter(id=held_item_id)
    client_id = rows.values_list("client_id", flat=True).first()
    # A batch that brings the session, or the set once more, is waited for.
    lock_logging_clients(actor=actor, texts=[str(client_id)])
    if client_id is None or not HeldItem.objects.filter(id=held_item_id).delete()[0]:
        raise NotFound("There is no held item with this id that you may change; check the path and the id.")


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


def _held_before(source: str, places: Sequence[_Place]) -> dict[_Place, dict[str, Any]]:
    """Return what is held already, by client, external id and session."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT h.client_id, h.external_id, h.session_external_id, h.item"
            " FROM unnest(%s::uuid[], %s::text[], %s::text[]) AS p (client_id, external_id, session_external_id)"
            # One index probe for each, whatever the statistics say.
            " CROSS JOIN LATERAL (SELECT * FROM logs_helditem h WHERE h.business_id = %s AND h.client_id = p.client_id"
            "  AND h.source = %s AND h.session_external_id = p.session_external_id"
            "  AND h.external_id = p.external_id LIMIT 1) AS h",
            [*([place[part] for place in places] for part in range(3)), current_business_id(), source],
        )
        return {(str(client_id), *names): orjson.loads(item) for client_id, *names, item in cursor.fetchall()}


def _with_arrivals(before: dict[str, Any] | None, items: Sequence[Item]) -> dict[str, Any]:
    """Add arrivals to what is held; what a listing shows is the one that a release would end with."""
    shown: Any = before["fields"] if before else {}
    known: dict[tuple[int, str, str], _Arrival] = {_name(one): one for one in before["arrivals"]} if before else {}
    highest = max((revision for revision, *_ in known), default=-1)
    for item in items:
        arrival = _arrival(item)
        if _name(arrival) in known:
            continue
        known[_name(arrival)] = arrival
        if item.revision >= highest:
            highest, shown = item.revision, _shown(item)
    arrivals = list(known.values())
    heaviest = sorted(range(len(arrivals)), key=lambda place: (arrivals[place]["revision"], place))[-ARRIVALS_KEPT:]
    return {"fields": shown, "arrivals": [arrivals[place] for place in sorted(heaviest)]}


def _name(arrival: _Arrival) -> tuple[int, str, str]:
    """Name an arrival by its revision and content, as a log's states are."""
    return arrival["revision"], arrival["content"], arrival.get("named", "")


def _arrival(item: Item) -> _Arrival:
    named = {} if item.named_exercise_id is None else {"named": item.named_exercise_id}
    return {"revision": item.revision, "content": item.content} | named


def _released(client_id: str, external_id: str, session: str, arrival: _Arrival) -> Item:
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
