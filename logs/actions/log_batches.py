"""Take a batch of logs: resolve, write, match to the plan, mark what must be computed anew.

Every kind of statement runs once, whatever the number of items. Locks, in this order: the clients, then
what `programs` locks.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from coaching.policy import Principal
from coaching.refusals import UnknownObject
from coaching.selectors.check_in_forms import find_asked_forms
from coaching.selectors.erasures import find_erased_clients
from logs.actions.back_offs import push_top_sets
from logs.actions.form_answers import answered_forms
from logs.actions.held_items import held_symptom_days, hold_items, release_items
from logs.actions.log_content import seal
from logs.actions.log_fields import KINDS, Item, Kind
from logs.actions.log_tables import CHECK_IN, SESSION_LOG, SET_LOG
from logs.actions.log_writing import Change, write_logs
from logs.actions.performances import planned_sessions_of, push_performances
from logs.actions.session_dates import follow_session_dates
from logs.actions.session_matching import ClientDay, match_sessions
from logs.actions.session_resolution import (
    pained_exercises,
    refuse_unknown_pained,
    resolve_check_ins,
    resolve_sessions,
)
from logs.actions.set_resolution import (
    exercise_names,
    faulty_exercise_names,
    refuse_unknown_exercises,
    resolve_sets,
    unknown_exercise,
)
from logs.actions.weekly_progress import mark_weeks_of_logs
from logs.selectors.log_references import (
    BusinessDays,
    LoggedExercise,
    LoggingClient,
    exercise_candidates,
    find_logged_exercises,
    find_named_places,
    find_named_planned_sessions,
    find_referred_sessions,
    lock_logging_clients,
)

UNKNOWN_CLIENT = "There is no client with this id whose logs you may write."
CLIENT_ERASED = "This client was erased: nothing more is taken of them. Delete what you still keep, and stop sending."


class ClientErased(UnknownObject):
    """A log of somebody who was erased, to whoever could write their logs before."""

    code = "client_erased"


@dataclass(frozen=True, slots=True)
class _Batch:
    source: str
    sender: UUID
    now: datetime
    business: BusinessDays
    clients: Mapping[str, LoggingClient]
    exercises: Mapping[str, LoggedExercise]


def record_logs(*, actor: Principal, source: str, items: Mapping[Kind, Sequence[Item]], now: datetime) -> None:
    """Write logs, and note on each item what became of it.

    Args:
        actor: who sends them; clients that they may not see are unknown.
        source: what the items are filed under.
        items: by kind, in the order sent; those with faults already are left as they are.
        now: when they were received.
    """
    texts = _client_texts(items)
    clients, days = lock_logging_clients(actor=actor, texts=texts)
    items = _without_erased(items, find_erased_clients(actor=actor, texts=texts - set(clients)))
    faulty = [item for listed in items.values() for item in listed if item.faults]
    sessions, sets, check_ins = (_of_known_clients(items.get(kind, ()), clients) for kind in KINDS)
    batch = _Batch(
        source,
        sender_of(actor),
        now,
        days,
        clients,
        find_logged_exercises(texts=exercise_names(sets) | pained_exercises(check_ins) | faulty_exercise_names(faulty)),
    )
    _refuse_unknown(batch, sets, check_ins, faulty)
    changed_sessions = _write_sessions(batch, sessions)
    released = release_items(source=source, sessions=changed_sessions)
    changed_sets, planned = _write_sets(batch, [*released, *_standing(sets)])
    changed_check_ins = write_logs(
        table=CHECK_IN, source=source, sender=batch.sender, items=_standing(check_ins), now=now
    )
    settle_changes(
        days=days,
        sessions=changed_sessions,
        sets=changed_sets,
        check_ins=changed_check_ins,
        planned=planned,
        reported=held_symptom_days(items=sets, clients=clients, day_ends_at=days.day_ends_at, now=now),
        now=now,
    )


def sender_of(actor: Principal) -> UUID:
    """Return what a correction is kept as made by: a membership, or an API key."""
    return actor.membership_id or actor.credential_id


def settle_changes(
    *,
    days: BusinessDays,
    sessions: Sequence[Change],
    sets: Sequence[Change],
    planned: Iterable[str],
    now: datetime,
    check_ins: Sequence[Change] = (),
    reported: Iterable[ClientDay] = (),
) -> None:
    """Let what hangs on changed logs follow: sets' dates, matches, planned sessions, stale weeks.

    Args:
        days: how the business counts them.
        sessions: session logs that changed.
        sets: set logs that changed.
        planned: planned sessions whose sets changed.
        now: when they changed.
        check_ins: check-ins that changed.
        reported: clients and days with a report that is no log yet.
    """
    follow_session_dates(sessions=sessions)
    touched = {*planned, *(change.referred_to for change in sessions if change.referred_to is not None)}
    touched |= planned_sessions_of(session_log_ids=[*_session_ids(sessions), *_sessions_left(sets)])
    moved, moved_days = match_sessions(days=_days(sessions), named=touched)
    planned_days = push_performances(planned_session_ids=touched | moved, now=now)
    push_top_sets(planned_session_ids=touched | moved)
    mark_weeks_of_logs(
        performed=_by_id({*_days(sessions), *_days(sets), *_days(check_ins), *moved_days, *reported}) | planned_days,
        checked_in=_by_id(_days(change for change in check_ins if _may_weigh(change))),
        week_start=days.week_start,
        now=now,
    )


def _client_texts(items: Mapping[Kind, Sequence[Item]]) -> set[str]:
    texts = (item.fields.get("client") for listed in items.values() for item in listed)
    return {text for text in texts if isinstance(text, str)}


def _without_erased(items: Mapping[Kind, Sequence[Item]], erased: set[str]) -> Mapping[Kind, Sequence[Item]]:
    """Refuse the items of clients who were erased, and return the others.

    What else is wrong with them is not said: it would be kept with the batch, and may quote what they hold.
    """
    if not erased:
        return items
    for item in (item for listed in items.values() for item in listed if _named_client(item) in erased):
        item.faults.clear()
        item.refuse("client", ClientErased.code, CLIENT_ERASED)
    return {kind: [item for item in listed if not is_of_erased(item)] for kind, listed in items.items()}


def _named_client(item: Item) -> str:
    named = item.fields.get("client")
    return named if isinstance(named, str) else ""


def is_of_erased(item: Item) -> bool:
    """Say whether an item was refused because its client was erased."""
    return any(fault.code == ClientErased.code for fault in item.faults)


def _of_known_clients(items: Iterable[Item], clients: Mapping[str, LoggingClient]) -> list[Item]:
    known = []
    for item in items:
        if item.faults:
            continue
        client = clients.get(item.fields["client"])
        if client is None:
            item.refuse("client", "unknown_object", UNKNOWN_CLIENT)
        else:
            item.client_id = client.id
            known.append(item)
    return known


def _refuse_unknown(batch: _Batch, sets: Sequence[Item], check_ins: Sequence[Item], faulty: Sequence[Item]) -> None:
    """Refuse what refers to nothing; items that were faulty already hear of that too."""
    unknown_sets = resolve_sets(items=sets, exercises=batch.exercises)
    unknown_pained = resolve_check_ins(
        items=check_ins,
        clients=batch.clients,
        exercises=batch.exercises,
        forms=find_asked_forms(texts=answered_forms(check_ins)),
        now=batch.now,
    )
    names = exercise_names(unknown_sets) | pained_exercises(unknown_pained) | faulty_exercise_names(faulty)
    candidates = exercise_candidates(names=names - set(batch.exercises))
    refuse_unknown_exercises(items=unknown_sets, exercises=batch.exercises, candidates=candidates)
    refuse_unknown_pained(items=unknown_pained, exercises=batch.exercises, candidates=candidates)
    for item in faulty:
        client = item.fields.get("client")
        if isinstance(client, str) and client not in batch.clients:
            item.refuse("client", "unknown_object", UNKNOWN_CLIENT)
        for name in faulty_exercise_names([item]) - set(batch.exercises):
            item.refuse("exercise", "unknown_object", unknown_exercise(name, candidates))


def _standing(items: Iterable[Item]) -> list[Item]:
    return [item for item in items if not item.faults]


def _write_sessions(batch: _Batch, sessions: Sequence[Item]) -> list[Change]:
    named = {one for item in sessions if (one := item.fields["planned_session"]) is not None}
    places = {(item.client_id, one) for item in sessions if (one := item.fields["place"]) is not None}
    resolve_sessions(
        items=sessions,
        clients=batch.clients,
        planned=find_named_planned_sessions(texts=named),
        places=find_named_places(named=places),
        business=batch.business,
        now=batch.now,
    )
    return write_logs(
        table=SESSION_LOG, source=batch.source, sender=batch.sender, items=_standing(sessions), now=batch.now
    )


def _write_sets(batch: _Batch, sets: Sequence[Item]) -> tuple[list[Change], set[str]]:
    """Write sets; return those that changed, and the planned sessions of all of them."""
    if not sets:
        return [], set()
    external = {(item.client_id, name) for item in sets if (name := item.fields["session_external_id"]) is not None}
    by_external, by_id = find_referred_sessions(
        source=batch.source,
        external=sorted(external),
        texts={item.fields["session_log"] for item in sets if item.fields.get("session_log") is not None},
    )
    standing, waiting = [], []
    for item in sets:
        name = item.fields["session_external_id"]
        session = by_id.get(item.fields["session_log"]) if name is None else by_external.get((item.client_id, name))
        if session is None and name is not None:
            waiting.append(item)
        elif session is None or session.client_id != item.client_id:
            item.refuse("session_log", "unknown_object", "This client has no session log with this id.")
        elif session.deleted:
            item.refuse(
                "session_external_id" if name else "session_log",
                "deleted",
                "The session of this set was deleted; send the session anew under another external_id first.",
            )
        else:
            item.session_id, item.local_date = session.id, session.local_date
            seal(item, session.id + item.content)
            standing.append(item)
    hold_items(source=batch.source, items=waiting, now=batch.now)
    changes = write_logs(table=SET_LOG, source=batch.source, sender=batch.sender, items=standing, now=batch.now)
    sessions = (*by_external.values(), *by_id.values())
    return changes, {one.planned_session_id for one in sessions if one.planned_session_id is not None}


def _session_ids(changes: Iterable[Change]) -> list[str]:
    return [change.item.id for change in changes if change.item.id is not None]


def _sessions_left(sets: Iterable[Change]) -> set[str]:
    """Return the sessions out of which a correction took a set."""
    return {
        change.referred_to
        for change in sets
        if change.referred_to is not None and change.referred_to != change.item.session_id
    }


def _days(changes: Iterable[Change]) -> set[ClientDay]:
    days = {(change.item.client_id, change.item.local_date) for change in changes}
    days |= {(change.item.client_id, change.was_dated) for change in changes if change.was_dated is not None}
    return {(client_id, date.fromisoformat(local_date)) for client_id, local_date in days}


def _may_weigh(change: Change) -> bool:
    """Say whether a check-in has, or before it changed may have had, a bodyweight, on which later weeks rest."""
    fields = change.item.fields
    is_new = change.was_dated is None and "bodyweight_kg" in fields
    return not is_new or fields["bodyweight_kg"] is not None or fields["bodyweight_lb"] is not None


def _by_id(days: Iterable[ClientDay]) -> set[tuple[UUID, date]]:
    return {(UUID(client_id), local_date) for client_id, local_date in days}
