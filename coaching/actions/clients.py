"""Taking on clients and changing what is known of them."""

from datetime import UTC, date, datetime
from typing import Any, Final
from uuid import UUID

from coaching import registry
from coaching.actions.row_versions import Versions, bump
from coaching.measures.local_calendar import local_date_of
from coaching.models.businesses import Business
from coaching.models.clients import Client, ClientState, ClientZone
from coaching.models.people import Membership, MembershipState, Role
from coaching.policy import Principal, client_rows
from coaching.refusals import Fault, Invalid, UnknownObject
from coaching.selectors.clients import get_client

_SINCE_EVER: Final = datetime(1900, 1, 1, tzinfo=UTC)
_EARLIEST: Final = date(1900, 1, 1)
_HEADS: Final = frozenset({Role.OWNER, Role.HEAD_COACH})
_COACHES: Final = (*_HEADS, Role.COACH)
_DATES: Final = ("birth_date", "training_since")


class OtherCoach(Invalid):
    """A coach can take on clients only for themselves."""

    code = "other_coach"


def create_client(*, actor: Principal, now: datetime, **facts: Any) -> dict[str, Any]:
    """Take on a client, and write down the zone that they are in.

    Args:
        actor: who does; a coach for themselves, a head for any coach.
        now: the present instant.
        facts: the client's fields; `coach` is a membership's id, the caller's own where it is left out.

    Raises:
        UnknownObject: the coach or a viewer is not an active one of this business.
        OtherCoach: the caller may not take on clients for that coach.
        Invalid: a date lies ahead.
    """
    coach_id: UUID = facts.pop("coach", actor.membership_id)
    _check_coach(actor, coach_id)
    _take_viewers(facts)
    business = Business.objects.values("time_zone", "unit").get(id=actor.business_id)
    facts = {**business, **facts}
    _check_dates(facts, now)
    client = Client.objects.create(coach_id=coach_id, **facts)
    # Logs from before the client was taken on are read in the first zone known.
    ClientZone.objects.create(client=client, from_instant=_SINCE_EVER, zone=client.time_zone)
    return get_client(actor=actor, client_id=client.id)


def update_client(
    *, actor: Principal, client_id: UUID, versions: Versions, now: datetime, **changes: Any
) -> dict[str, Any]:
    """Change what is known of a client; a new time zone holds from now on.

    Raises:
        NotFound, PreconditionFailed: as `bump` says.
        UnknownObject: the new coach or a viewer is not an active one of this business.
        OtherCoach: the caller may not hand clients to that coach.
        Invalid: a date lies ahead.
    """
    before = get_client(actor=actor, client_id=client_id)
    if "coach" in changes:
        coach_id = changes.pop("coach")
        if coach_id != before["coach"]:
            _check_coach(actor, coach_id)
        changes["coach_id"] = coach_id
    _take_viewers(changes)
    _check_dates({**before, **changes}, now)
    _date_end(before["state"], changes, now)
    bump(Client.objects.filter(client_rows(actor, "")), client_id, versions, **changes)
    time_zone = changes.get("time_zone", before["time_zone"])
    if time_zone != before["time_zone"]:
        _change_zone(client_id, time_zone, now)
    return get_client(actor=actor, client_id=client_id)


def _change_zone(client_id: UUID, time_zone: str, now: datetime) -> None:
    ClientZone.objects.update_or_create(client_id=client_id, from_instant=now, defaults={"zone": time_zone})
    for follow in registry.on_client_zone_changed:
        follow(client_id, time_zone, now)


def _date_end(before: str, changes: dict[str, Any], now: datetime) -> None:
    if "state" in changes and changes["state"] != before:
        changes["ended_at"] = now if changes["state"] == ClientState.ENDED else None


def _check_coach(actor: Principal, coach_id: UUID) -> None:
    # Locked against leaving meanwhile: whoever removes a coach looks for clients after writing this row.
    found = Membership.objects.select_for_update(no_key=True).filter(
        id=coach_id, state=MembershipState.ACTIVE, role__in=_COACHES
    )
    if not found:
        raise UnknownObject.at("#/coach", "There is no such active coach in this business.")
    if actor.role not in _HEADS and coach_id != actor.membership_id:
        raise OtherCoach.at("#/coach", "You can have clients of your own only; ask a head coach to hand one over.")


def _take_viewers(facts: dict[str, Any]) -> None:
    if "viewers" not in facts:
        return
    named = facts["viewers"]
    # Locked as a coach is: whoever takes a viewer off the team takes them off the clients after writing this row.
    found = set(
        Membership.objects.select_for_update(no_key=True)
        .filter(id__in=named, state=MembershipState.ACTIVE, role=Role.VIEWER)
        .order_by("id")
        .values_list("id", flat=True)
    )
    unknown = [
        Fault(f"#/viewers/{index}", UnknownObject.code, "There is no such active viewer in this business.")
        for index, viewer_id in enumerate(named)
        if viewer_id not in found
    ]
    if unknown:
        raise UnknownObject(unknown[0].detail, faults=unknown)
    facts["viewers"] = sorted(found)


def _check_dates(facts: dict[str, Any], now: datetime) -> None:
    today = local_date_of(now, facts["time_zone"])
    faults = [
        Fault(f"#/{name}", "invalid_date", f"{name} lies between {_EARLIEST} and today, {today}.")
        for name in _DATES
        if facts.get(name) is not None and not _EARLIEST <= facts[name] <= today
    ]
    if faults:
        raise Invalid(faults[0].detail, faults=faults)
