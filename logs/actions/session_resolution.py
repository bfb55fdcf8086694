"""From a session or check-in as sent to one as stored: its date, its planned session, its pains' exercises."""

from collections.abc import Collection, Iterable, Mapping
from datetime import date, datetime, timedelta
from typing import Any, cast

from coaching.measures.local_calendar import local_date_of
from coaching.selectors.check_in_forms import AskedForm
from logs.actions.form_answers import answered_form
from logs.actions.log_content import CHECK_IN_UNSAID, SESSION_UNSAID, check_in_content, seal, session_content
from logs.actions.log_fields import CheckInFields, Item, SessionFields
from logs.actions.set_resolution import unknown_exercise
from logs.selectors.log_references import BusinessDays, LoggedExercise, LoggingClient

_ONE_DAY = timedelta(days=1)
Clients = Mapping[str, LoggingClient]


def resolve_sessions(
    *,
    items: Iterable[Item],
    clients: Clients,
    planned: Mapping[str, tuple[str, str]],
    places: Collection[tuple[str, str]],
    business: BusinessDays,
    now: datetime,
) -> None:
    """Give sessions their local date and content; refuse those of a day to come, or of another's plan or place.

    Args:
        items: sessions whose client is known.
        clients: the clients, by the text that named them.
        planned: named planned sessions with their client's id, by the text that named them.
        places: named places, each with its client's id.
        business: whose day may end after midnight.
        now: decides which dates are to come.
    """
    for item in items:
        fields: SessionFields = item.fields
        named = fields["planned_session"]
        found = None if named is None else planned.get(named)
        if named is not None and (found is None or found[1] != item.client_id):
            item.refuse(
                "planned_session", "unknown_object", "This client has no planned session with this id; leave it out."
            )
        place_id = fields["place"]
        if place_id is not None and (item.client_id, place_id) not in places:
            item.refuse("place", "unknown_object", "This client has no place with this id; leave it out.")
        client = clients[fields["client"]]
        local_date, dated_by = _local_date(fields, client, business)
        _refuse_to_come(item, dated_by, local_date, client, now)
        if not item.faults:
            item.local_date = local_date.isoformat()
            sent = "" if fields["local_date"] is None else item.local_date
            content = session_content(fields, planned_session_id=found[0] if found else None, place_id=place_id)
            seal(item, content, dated=sent, unsaid=SESSION_UNSAID)


def _local_date(fields: SessionFields, client: LoggingClient, business: BusinessDays) -> tuple[date, str]:
    sent, started_at = fields["local_date"], fields["started_at"]
    if sent is None and started_at is not None:
        return local_date_of(started_at, client.zone_at(started_at), business.day_ends_at), "started_at"
    # `item_rules` lets no session by without either.
    return cast("date", sent), "local_date"


def resolve_check_ins(
    *,
    items: Iterable[Item],
    clients: Clients,
    exercises: Mapping[str, LoggedExercise],
    forms: Mapping[str, AskedForm],
    now: datetime,
) -> list[Item]:
    """Give check-ins their content; refuse those of a day to come, or whose answers don't fit their form.

    Returns:
        The check-ins with a pain at an unknown exercise, still to be refused with candidates.
    """
    unknown = []
    for item in items:
        fields: CheckInFields = item.fields
        _refuse_to_come(item, "local_date", fields["local_date"], clients[fields["client"]], now)
        form = answered_form(item, forms)
        if any(name not in exercises for name in pained_exercises([item])):
            unknown.append(item)
        elif not item.faults:
            item.local_date = fields["local_date"].isoformat()
            pains = [_pain(pain, exercises) for pain in fields["pains"]]
            content = check_in_content(fields, pains=pains, form_id=form.form_id, form_version=form.version)
            # A version that was found stays out of the hash: it may be found otherwise later.
            found = "" if fields["form_version"] is not None else f"\t{form.version}"
            seal(item, content, dated=item.local_date, unsaid=CHECK_IN_UNSAID if form.form_id is None else found)
    return unknown


def pained_exercises(items: Iterable[Item]) -> set[str]:
    """Collect the exercises that check-ins name."""
    return {pain["exercise"] for item in items for pain in item.fields["pains"] if pain["exercise"] is not None}


def refuse_unknown_pained(
    *, items: Iterable[Item], exercises: Mapping[str, LoggedExercise], candidates: Mapping[str, list[str]]
) -> None:
    """Refuse check-ins with a pain at an unknown exercise, with the keys most like it."""
    for item in items:
        for index, pain in enumerate(item.fields["pains"]):
            name = pain["exercise"]
            if name is not None and name not in exercises:
                item.refuse(f"pains/{index}/exercise", "unknown_object", unknown_exercise(name, candidates))


def _pain(pain: dict[str, Any], exercises: Mapping[str, LoggedExercise]) -> dict[str, Any]:
    name = pain["exercise"]
    return {**pain, "exercise": None if name is None else exercises[name].named_key}


def _refuse_to_come(item: Item, place: str, local_date: date, client: LoggingClient, now: datetime) -> None:
    # A day ahead is left to clocks and to senders that take another zone.
    if local_date > local_date_of(now, client.zone_at(now)) + _ONE_DAY:
        item.refuse(place, "in_future", f"{local_date} is still to come for this client; send what was done.")
