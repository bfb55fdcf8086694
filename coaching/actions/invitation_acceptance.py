"""Accepting an invitation: its link is the proof that the address is the person's own."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from coaching.actions.account_erasure import erase_account
from coaching.actions.audit_trail import Origin, record_by_link
from coaching.actions.invitations import GOOD_FOR, AlreadyHasAccount
from coaching.actions.memberships import AlreadyOnTeam
from coaching.actions.passwords import queue_changed_mail, set_password
from coaching.actions.people import check_password_rules
from coaching.actions.signed_links import Named, Purpose, read_token
from coaching.models.businesses import Business, BusinessState
from coaching.models.clients import Client
from coaching.models.invitations import Invitation
from coaching.models.people import Membership, MembershipState, Person, Role
from coaching.refusals import Conflict, Fault, Invalid
from coaching.selectors.invitations import find_pending, is_pending
from coaching.tenancy.scope import business_scope


class InvitationNotGood(Invalid):
    """A link is forged, for something else, too old, used, withdrawn, or replaced by a later one."""

    code = "link_not_good"


class AccountClosed(Conflict):
    """The account of the address was closed."""

    code = "account_closed"


@dataclass(frozen=True, slots=True)
class Accepted:
    """What an accepted invitation made of somebody, where."""

    business_id: UUID
    business_name: str
    role: Role
    is_new: bool


@dataclass(frozen=True, slots=True)
class Offer:
    """What an invitation offers, to whoever holds its link."""

    business_name: str
    email: str
    role: Role
    name: str
    needs_password: bool


def read_offer(*, token: str, now: datetime) -> Offer:
    """Return what the invitation of a link offers, changing nothing.

    Raises:
        InvitationNotGood: the link is not good.
    """
    named = _named(token)
    assert named.business_id is not None  # noqa: S101 -- `_named` says so
    with business_scope(named.business_id):
        invitation = _standing(named, now)
        person = Person.objects.filter(email=invitation.email).first()
        return Offer(
            business_name=invitation.business.name,
            email=invitation.email,
            role=Role(invitation.role),
            name=_name(invitation, person),
            needs_password=_needs_password(person),
        )


def accept_invitation(
    *, token: str, name: str = "", password: str | None = None, origin: Origin, now: datetime
) -> Accepted:
    """Put the person of the address in the business, once; nobody is signed in by it.

    A new account takes the name and password. One whose person set its password keeps it, and none is taken. One
    whose password somebody else thought up, or that has none, gets the person's own, and its sessions end.

    Raises:
        InvitationNotGood: the link is not good.
        Invalid: a name or password is missing, can't be taken, or is not wanted; the link stays good.
        AlreadyOnTeam, AlreadyHasAccount, AccountClosed: it can't be accepted as things are.
    """
    named = _named(token)
    assert named.business_id is not None  # noqa: S101 -- `_named` says so
    with business_scope(named.business_id):
        # As every change of the team: one at a time.
        business = Business.objects.select_for_update(no_key=True).get(id=named.business_id)
        invitation = _standing(named, now)
        if not Invitation.objects.filter(is_pending(now), id=invitation.id, sends=named.number).update(accepted_at=now):
            raise _not_good()
        person, is_new = _person(invitation, name, password, now)
        membership = _join(person, invitation)
        record_by_link(
            operation="invitations.accept",
            membership_id=membership.id,
            object_id=str(invitation.id),
            origin=origin,
            now=now,
            role=invitation.role,
        )
        return Accepted(business.id, business.name, Role(invitation.role), is_new)


def _named(token: str) -> Named:
    named = read_token(Purpose.INVITATION, token, GOOD_FOR)
    if named is None or named.business_id is None:
        raise _not_good()
    return named


def _standing(named: Named, now: datetime) -> Invitation:
    found = find_pending(invitation_id=named.row_id, number=named.number, now=now)
    if found is None or found.business.state != BusinessState.ACTIVE:
        raise _not_good()
    return found


def _not_good() -> InvitationNotGood:
    return InvitationNotGood.at(
        "#/token",
        "This link was used already, was withdrawn or replaced by a later one, or is too old; ask to be invited again.",
    )


def _needs_password(person: Person | None) -> bool:
    return person is None or person.password_is_provisional or not person.has_usable_password()


def _name(invitation: Invitation, person: Person | None) -> str:
    if person is not None:
        return person.name
    return invitation.client.name if invitation.client else ""


def _person(invitation: Invitation, name: str, password: str | None, now: datetime) -> tuple[Person, bool]:
    person = Person.objects.select_for_update(no_key=True).filter(email=invitation.email).first()
    if person is not None and not person.is_active:
        raise AccountClosed("The account of this address was closed; ask whoever invited you.")
    if person is not None and not _needs_password(person):
        if password is not None:
            raise Invalid.at(
                "#/password", "This address has an account already: leave the password out, yours stays.", "not_wanted"
            )
        return person, False
    name = " ".join(name.split()) or _name(invitation, person)
    _check_given(name, password)
    assert password is not None  # noqa: S101 -- just checked
    if person is None:
        check_password_rules(password, Person(email=invitation.email, name=name))
        return Person.objects.create_person(email=invitation.email, name=name, password=password), True
    set_password(person=person, password=password, now=now)
    queue_changed_mail(person=person, now=now)
    return person, False


def _check_given(name: str, password: str | None) -> None:
    given = {"name": bool(name), "password": password is not None}
    faults = [
        Fault(f"#/{field}", "required", f"A new account needs a {field}.")
        for field, is_there in given.items()
        if not is_there
    ]
    if faults:
        raise Invalid(faults[0].detail, faults=faults)


def _join(person: Person, invitation: Invitation) -> Membership:
    zone_name = invitation.client.time_zone if invitation.client else invitation.business.time_zone
    membership = Membership.objects.filter(person=person).first()
    if membership is None:
        membership = Membership.objects.create(person=person, role=invitation.role, time_zone=zone_name)
    elif membership.state == MembershipState.ACTIVE:
        raise AlreadyOnTeam("You are in this business already; sign in.")
    else:
        membership.role, membership.state, membership.time_zone = invitation.role, MembershipState.ACTIVE, zone_name
        membership.row_version += 1
        membership.save(update_fields=["role", "state", "time_zone", "row_version"])
        # It may be of a record from before.
        Client.objects.filter(membership=membership).update(membership=None)
    if invitation.client_id is not None:
        _link(invitation.client_id, membership)
    return membership


def _link(client_id: UUID, membership: Membership) -> None:
    rows = Client.objects.select_for_update(no_key=True, of=("self",)).select_related("membership")
    client = rows.get(id=client_id)
    before = client.membership
    if before is not None and before.state == MembershipState.ACTIVE:
        raise AlreadyHasAccount("This record has an account already; ask your coach.")
    Client.objects.filter(id=client_id).update(membership=membership)
    if before is not None:
        # Nothing names the account of another address any more, so that an erasure would not find it.
        erase_account(membership_id=before.id, gone_ids=set(), count=lambda *_rows: None)
