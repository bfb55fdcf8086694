"""What the items of a batch refer to, each kind of thing in one query whatever the size of the batch."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time
from difflib import get_close_matches
from typing import Final
from uuid import UUID

from django.db import connection

from coaching.models import Client
from coaching.policy import Principal, client_rows
from coaching.tenancy.scope import current_business_id
from programs.models import Exercise, PlannedSession
from programs.prescription.vocabulary import RestfulEnd

_MERGES_FOLLOWED: Final = 20
_CANDIDATES_SOUGHT: Final = 20
_ALWAYS: Final = datetime.min.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class LoggingClient:
    """A client whose logs the caller may write, with the zones in force from each instant on."""

    id: str
    zones: tuple[tuple[datetime, str], ...]

    def zone_at(self, instant: datetime) -> str:
        """Return the zone in force at an instant; before the first, the first."""
        found = self.zones[0][1]
        for from_instant, zone in self.zones:
            if from_instant > instant:
                break
            found = zone
        return found


@dataclass(frozen=True, slots=True)
class BusinessDays:
    """How a business counts days and weeks."""

    week_start: int
    day_ends_at: time


@dataclass(frozen=True, slots=True)
class LoggedExercise:
    """An exercise as sets refer to it; what was merged away has been followed.

    `named_id` and `named_key` are those of the one that was named.
    """

    id: str
    key: str
    load_basis: str
    loading: str
    restful_end: RestfulEnd
    named_id: str
    named_key: str


@dataclass(frozen=True, slots=True)
class ReferredSession:
    """A session log that sets refer to."""

    id: str
    client_id: str
    local_date: str
    deleted: bool
    planned_session_id: str | None


def lock_logging_clients(*, actor: Principal, texts: Iterable[str]) -> tuple[dict[str, LoggingClient], BusinessDays]:
    """Return the clients that the caller may write logs of, by the text that named them; and the business's days.

    Their rows stay locked to the end of the transaction, in the order of their ids: two batches for one
    client run one after the other, so that a set and its session that come at once can't pass each other by.
    """
    ids = _ids(texts)
    visible = (
        Client.objects.filter(client_rows(actor, ""), id__in=set(ids.values()))
        .order_by("id")
        .select_for_update(no_key=True)
    )
    locked = dict(visible.values_list("id", "time_zone"))
    days, zones = _days_and_zones(list(locked))
    found = {
        client_id: LoggingClient(str(client_id), tuple(zones.get(client_id) or [(_ALWAYS, zone)]))
        for client_id, zone in locked.items()
    }
    return {text: found[client_id] for text, client_id in ids.items() if client_id in found}, days


def get_business_days() -> BusinessDays:
    """Return how the business in scope counts days and weeks."""
    return _days_and_zones([])[0]


def _days_and_zones(client_ids: Sequence[UUID]) -> tuple[BusinessDays, dict[UUID, list[tuple[datetime, str]]]]:
    """Read the business's days and the clients' zones together: every statement of a small batch counts."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT b.week_start, b.day_ends_at, z.client_id, z.from_instant, z.zone FROM coaching_business b"
            " LEFT JOIN coaching_clientzone z ON z.business_id = b.id AND z.client_id = ANY(%s)"
            " WHERE b.id = %s ORDER BY z.from_instant",
            [list(client_ids), current_business_id()],
        )
        rows = cursor.fetchall()
    zones: dict[UUID, list[tuple[datetime, str]]] = {}
    for _, _, client_id, from_instant, zone in rows:
        zones.setdefault(client_id, []).append((from_instant, zone))
    return BusinessDays(rows[0][0], rows[0][1]), zones


def find_logged_exercises(*, texts: Iterable[str]) -> dict[str, LoggedExercise]:
    """Return exercises by the id or key that named them."""
    names = sorted(set(texts))
    if not names:
        return {}
    ids = _ids(names)
    business_id = current_business_id()
    with connection.cursor() as cursor:
        cursor.execute(
            "WITH RECURSIVE named AS ("
            " SELECT id AS named_id, key AS named_key, id, merged_into_id, 0 AS depth FROM programs_exercise"
            " WHERE business_id = %s AND (key = ANY(%s) OR id = ANY(%s))"
            " UNION ALL"
            " SELECT n.named_id, n.named_key, e.id, e.merged_into_id, n.depth + 1 FROM named n"
            " JOIN programs_exercise e ON e.business_id = %s AND e.id = n.merged_into_id WHERE n.depth < %s)"
            "SELECT n.named_id, n.named_key, e.id, e.key, e.load_basis, e.loading, e.restful_end FROM named n"
            " JOIN programs_exercise e ON e.business_id = %s AND e.id = n.id WHERE n.merged_into_id IS NULL",
            [business_id, names, list(set(ids.values())), business_id, _MERGES_FOLLOWED, business_id],
        )
        rows = cursor.fetchall()
    found: dict[str, LoggedExercise] = {}
    for named_id, named_key, exercise_id, key, load_basis, loading, restful_end in rows:
        exercise = LoggedExercise(str(exercise_id), key, load_basis, loading, restful_end, str(named_id), named_key)
        found[named_key] = found[str(named_id)] = exercise
    by_id = {text: found[str(exercise_id)] for text, exercise_id in ids.items() if str(exercise_id) in found}
    return {**found, **by_id}


def exercise_candidates(*, names: Iterable[str]) -> dict[str, list[str]]:
    """Return, for names that are no exercise, the keys most like them."""
    unknown = sorted(set(names))
    if not unknown:
        return {}
    keys_by_name: dict[str, str] = {}
    in_use = Exercise.objects.filter(merged_into__isnull=True).order_by("key")
    for key, name, aliases in in_use.values_list("key", "name", "aliases"):
        for word in (key, name, *aliases):
            keys_by_name.setdefault(word.lower(), key)
    words = list(keys_by_name)
    near = {
        # The longest name is bounded by its field; the list by the catalogue.
        name: get_close_matches(name.lower(), words, n=6, cutoff=0.5)
        for name in unknown[:_CANDIDATES_SOUGHT]
    }
    return {name: list(dict.fromkeys(keys_by_name[word] for word in found))[:3] for name, found in near.items()}


def find_named_planned_sessions(*, texts: Iterable[str]) -> dict[str, tuple[str, str]]:
    """Return planned sessions that were named, each with its client's id."""
    ids = _ids(texts)
    if not ids:
        return {}
    rows = PlannedSession.objects.filter(id__in=set(ids.values())).values_list("id", "client_id")
    clients = {planned_id: str(client_id) for planned_id, client_id in rows}
    return {text: (str(one), clients[one]) for text, one in ids.items() if one in clients}


def find_named_places(*, named: Iterable[tuple[str, str]]) -> set[tuple[str, str]]:
    """Return which places that were named are the client's.

    Args:
        named: clients, each with the text that named a place.

    Returns:
        Those of them that are a place of that client, or were one when an earlier session was logged there.
    """
    pairs = sorted(set(named))
    ids = _ids(text for _client_id, text in pairs)
    asked = [(client_id, text) for client_id, text in pairs if text in ids]
    if not asked:
        return set()
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT r.client_id::text, r.text FROM unnest(%(clients)s::uuid[], %(ids)s::uuid[], %(texts)s::text[])"
            " AS r (client_id, id, text) WHERE EXISTS (SELECT FROM coaching_place p"
            "  WHERE p.business_id = %(business)s AND p.id = r.id AND p.client_id = r.client_id)"
            " OR EXISTS (SELECT FROM logs_sessionlog s"
            "  WHERE s.business_id = %(business)s AND s.client_id = r.client_id AND s.place_id = r.id)",
            {
                "business": current_business_id(),
                "clients": [client_id for client_id, _text in asked],
                "ids": [ids[text] for _client_id, text in asked],
                "texts": [text for _client_id, text in asked],
            },
        )
        return {(client_id, text) for client_id, text in cursor.fetchall()}


def find_referred_sessions(
    *, source: str, external: Sequence[tuple[str, str]], texts: Iterable[str]
) -> tuple[dict[tuple[str, str], ReferredSession], dict[str, ReferredSession]]:
    """Return the session logs that sets refer to: by client and external id of one source, and by id."""
    ids = _ids(texts)
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT s.id, s.client_id, s.external_id, s.local_date, s.deleted_at IS NOT NULL,"
            " s.planned_session_id, true FROM unnest(%s::uuid[], %s::text[]) AS r (client_id, external_id)"
            # One index probe for each, whatever the statistics say.
            " CROSS JOIN LATERAL (SELECT * FROM logs_sessionlog s WHERE s.business_id = %s"
            "  AND s.client_id = r.client_id AND s.source = %s AND s.external_id = r.external_id LIMIT 1) AS s"
            " UNION ALL"
            " SELECT id, client_id, external_id, local_date, deleted_at IS NOT NULL, planned_session_id, false"
            " FROM logs_sessionlog"
            " WHERE business_id = %s AND id = ANY(%s)",
            [
                [client_id for client_id, _ in external],
                [external_id for _, external_id in external],
                current_business_id(),
                source,
                current_business_id(),
                list(set(ids.values())),
            ],
        )
        rows = cursor.fetchall()
    by_external: dict[tuple[str, str], ReferredSession] = {}
    by_id: dict[UUID, ReferredSession] = {}
    for session_id, client_id, external_id, local_date, deleted, planned_id, named_by_external in rows:
        session = ReferredSession(
            str(session_id),
            str(client_id),
            local_date.isoformat(),
            deleted,
            None if planned_id is None else str(planned_id),
        )
        if named_by_external:
            by_external[session.client_id, external_id] = session
        else:
            by_id[session_id] = session
    return by_external, {text: by_id[one] for text, one in ids.items() if one in by_id}


def _ids(texts: Iterable[str]) -> dict[str, UUID]:
    """Read the texts that are ids; what is none names nothing."""
    ids: dict[str, UUID] = {}
    for text in set(texts):
        try:
            ids[text] = UUID(text)
        except ValueError:
            continue
    return ids
