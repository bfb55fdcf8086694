"""Who is on the team: joining, changing role, leaving."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import F, Func, Value

from coaching.actions.people import find_or_create_person
from coaching.actions.row_versions import Versions, bump
from coaching.models.businesses import Business
from coaching.models.clients import Client, ClientState
from coaching.models.invitations import Invitation
from coaching.models.people import Membership, MembershipState, Person, Role, SessionToken
from coaching.policy import Principal, client_rows
from coaching.refusals import Conflict, NotFound
from coaching.selectors.memberships import get_coach

COACHING_ROLES = frozenset({Role.OWNER, Role.HEAD_COACH, Role.COACH})


class AccountElsewhere(Conflict):
    """The address has an account that this business did not make."""

    code = "account_elsewhere"


class AlreadyOnTeam(Conflict):
    """The person is in the business."""

    code = "already_on_team"


class LastOwner(Conflict):
    """A business keeps one owner."""

    code = "last_owner"


class CoachHasClients(Conflict):
    """Clients must be handed over first."""

    code = "coach_has_clients"


def add_coach(
    *, actor: Principal, email: str, name: str, role: str, time_zone: str | None = None, password: str | None = None
) -> dict[str, Any]:
    """Put someone on the team; someone who left comes back.

    An account that other businesses made can't be joined by its address alone: whoever set its first
    password could then sign in here. That takes an invitation that its person accepts.

    Raises:
        AlreadyOnTeam: they are on it.
        AccountElsewhere: the address has an account that was never in this business.
    """
    lock_team(actor)
    person, is_new = find_or_create_person(
        email=email, name=name, password=password, is_provisional=password is not None
    )
    membership = None if is_new else _former_membership(person)
    zone_name = time_zone or Business.objects.values_list("time_zone", flat=True).get(id=actor.business_id)
    if membership is None:
        membership = Membership.objects.create(person=person, role=role, time_zone=zone_name)
    else:
        bump(
            Membership.objects.all(),
            membership.id,
            None,
            role=role,
            state=MembershipState.ACTIVE,
            time_zone=time_zone or membership.time_zone,
        )
    return get_coach(membership_id=membership.id)


def update_coach(
    *, actor: Principal, membership_id: UUID, versions: Versions, now: datetime, **changes: Any
) -> dict[str, Any]:
    """Change a coach's role or time zone.

    A change of role ends their sessions, what they viewed as a viewer, and their invitations that nobody accepted.

    Raises:
        NotFound, PreconditionFailed: as `bump` says.
        LastOwner: the business would have no owner.
        CoachHasClients: a viewer can't keep clients.
    """
    lock_team(actor)
    before = get_coach(membership_id=membership_id)
    role = changes.get("role", before["role"])
    bump(_team(), membership_id, versions, **changes)
    if role != before["role"]:
        _keep_an_owner()
        if role not in COACHING_ROLES:
            _refuse_with_clients(membership_id)
        _stop_viewing(membership_id)
        _withdraw_invitations(membership_id, now)
        _end_sessions(membership_id)
    return get_coach(membership_id=membership_id)


def remove_coach(*, actor: Principal, membership_id: UUID, versions: Versions, now: datetime) -> None:
    """Let a coach leave: their sessions end, and their invitations that nobody accepted; what they wrote stays.

    Raises:
        NotFound, PreconditionFailed: as `bump` says.
        LastOwner: the business would have no owner.
        CoachHasClients: clients who have not ended are still theirs.
    """
    lock_team(actor)
    bump(_team(), membership_id, versions, state=MembershipState.LEFT)
    _keep_an_owner()
    _refuse_with_clients(membership_id)
    _stop_viewing(membership_id)
    _withdraw_invitations(membership_id, now)
    _end_sessions(membership_id)


def remove_client_account(*, actor: Principal, client_id: UUID) -> None:
    """Take a client's own access away: their sessions end, the record stays; they may be invited again.

    Raises:
        NotFound: there is no such client whom the caller may see, or none with an account.
    """
    rows = Client.objects.filter(client_rows(actor, ""), id=client_id, membership__state=MembershipState.ACTIVE)
    membership_id = rows.values_list("membership_id", flat=True).first()
    if membership_id is None:
        raise NotFound("There is no such client that you may see, or this one does not sign in.")
    # The record still names it: with the record goes the account, once that is erased.
    bump(Membership.objects.all(), membership_id, None, state=MembershipState.LEFT)
    _end_sessions(membership_id)


def lock_team(actor: Principal) -> None:
    """One change of the team at a time, so that two owners can't demote each other."""
    Business.objects.select_for_update(no_key=True).get(id=actor.business_id)


def _team() -> Any:
    return Membership.objects.exclude(role=Role.CLIENT)


def _former_membership(person: Person) -> Membership:
    membership = Membership.objects.filter(person=person).first()
    if membership is None:
        raise AccountElsewhere(
            "This address already has an account that was not made here; joining a second business needs an "
            "invitation that its owner accepts."
        )
    if membership.state == MembershipState.ACTIVE:
        raise AlreadyOnTeam("This person is in the business already; change their role instead.")
    return membership


def _keep_an_owner() -> None:
    if not Membership.objects.filter(role=Role.OWNER, state=MembershipState.ACTIVE).exists():
        raise LastOwner("A business keeps at least one owner; make somebody else owner first.")


def _refuse_with_clients(membership_id: UUID) -> None:
    # After the row was written: whoever hands a client to this coach meanwhile waits on its lock.
    count = Client.objects.filter(coach_id=membership_id).exclude(state=ClientState.ENDED).count()
    if count:
        raise CoachHasClients(f"Hand over their clients first: {count} still have this coach.")


def _stop_viewing(membership_id: UUID) -> None:
    # After the row was written, too. Whoever comes back views nobody until a coach says so again.
    Client.objects.filter(viewers__contains=[membership_id]).update(
        viewers=Func(F("viewers"), Value(membership_id), function="array_remove"), row_version=F("row_version") + 1
    )


def _withdraw_invitations(membership_id: UUID, now: datetime) -> None:
    # Else whoever is shown the door could have left it open for themselves.
    open_ones = Invitation.objects.filter(invited_by_id=membership_id, accepted_at=None, withdrawn_at=None)
    open_ones.update(withdrawn_at=now)


def _end_sessions(membership_id: UUID) -> None:
    SessionToken.objects.filter(membership_id=membership_id).delete()
