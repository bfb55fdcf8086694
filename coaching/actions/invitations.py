"""Inviting somebody to the team, or a client to their own record: by a link that only their address gets."""

from datetime import datetime, timedelta
from math import ceil
from typing import Any, Final
from uuid import UUID

from django.db.models import F

from coaching.actions.memberships import AlreadyOnTeam, lock_team
from coaching.actions.outbox import queue_message
from coaching.actions.signed_links import Named, Purpose, link_of, sign_token
from coaching.documents.account_mail import InvitationFacts, invitation_mail
from coaching.models.clients import Client, ClientState
from coaching.models.invitations import Invitation
from coaching.models.outbox import OutboxMessage
from coaching.models.people import Membership, MembershipState, Role
from coaching.policy import Principal, client_rows
from coaching.refusals import Conflict, Forbidden, Invalid, TooMany, UnknownObject
from coaching.registry import Rendered, Withdrawn
from coaching.selectors.invitations import find_pending, get_invitation, invitations_of, is_pending

INVITATION: Final = "invitation"
GOOD_FOR: Final = timedelta(days=7)
"""How long a link holds. Practice."""

A_DAY: Final = timedelta(days=1)
PER_BUSINESS_A_DAY: Final = 100
"""Mails to addresses that a business names: more would make it a sender of letters to strangers. Practice."""

SENDS_A_DAY: Final = 4
"""Of one invitation: the first and three more. Practice."""

KEPT_FOR: Final = timedelta(days=90)
"""How long an invitation that ended stays listed: it may hold the address of somebody who never came. Practice."""


class AlreadyInvited(Conflict):
    """The address has an invitation that still holds."""

    code = "already_invited"


class AlreadyHasAccount(Conflict):
    """The client signs in already."""

    code = "already_has_account"


class ClientEnded(Conflict):
    """The client is coached no more."""

    code = "client_ended"


class InvitationOver(Conflict):
    """The invitation was accepted or withdrawn."""

    code = "invitation_over"


def invite(
    *, actor: Principal, now: datetime, email: str = "", role: str | None = None, client: UUID | None = None
) -> dict[str, Any]:
    """Invite an address, and queue the mail with its link.

    Args:
        actor: who invites: an owner to the team, whoever coaches a client to that client's record.
        now: the present instant.
        email: the address; the client's own where it is left out.
        role: what a member of the team becomes; with `client` it is `client`.
        client: the client whose record becomes theirs.

    Raises:
        Invalid: neither a role nor a client is named, or no address is known.
        Forbidden: only owners invite to the team.
        UnknownObject: there is no such client whom the caller may see.
        AlreadyOnTeam, AlreadyHasAccount, AlreadyInvited, ClientEnded: it would change nothing.
        TooMany: the business sent its fill for the day.
    """
    _check_kind(actor, role, client)
    lock_team(actor)
    address = email.strip().lower()
    if client is not None:
        record = _client_to_invite(actor, client)
        address = address or record.email.strip().lower()
    if not address:
        raise Invalid.at("#/email", "No address of this client is known; send one.", "required")
    _check_address(address, now)
    _check_day(now)
    made = Invitation.objects.create(
        email=address,
        role=role if client is None and role is not None else Role.CLIENT,
        client_id=client,
        invited_by_id=actor.membership_id,
        sent_at=[now],
        last_sent_at=now,
        expires_at=now + GOOD_FOR,
        created_at=now,
    )
    _queue(made.id, 1, now)
    return get_invitation(actor=actor, invitation_id=made.id, now=now)


def resend_invitation(*, actor: Principal, invitation_id: UUID, now: datetime) -> dict[str, Any]:
    """Send an invitation again, good for another seven days; links sent before are void.

    It is the caller's from then on: it goes when they leave, or hand the client over.

    Raises:
        NotFound: there is none of this id that the caller may deal with.
        InvitationOver: it was accepted or withdrawn.
        AlreadyInvited, AlreadyOnTeam, AlreadyHasAccount, ClientEnded: it would change nothing by now.
        TooMany: it was sent often enough today, or the business sent its fill.
    """
    lock_team(actor)
    before = get_invitation(actor=actor, invitation_id=invitation_id, now=now)
    if before["state"] not in {"pending", "expired"}:
        raise InvitationOver(f"It was {before['state']}; make a new invitation if one is needed.")
    row = Invitation.objects.get(id=invitation_id)
    if row.client_id is not None:
        _client_to_invite(actor, row.client_id)
    _check_address(row.email, now, besides=invitation_id)
    recent = [at for at in row.sent_at if at > now - A_DAY]
    if len(recent) >= SENDS_A_DAY:
        raise _too_many("This invitation was sent often enough today", recent, now)
    _check_day(now)
    Invitation.objects.filter(id=invitation_id).update(
        sends=F("sends") + 1,
        sent_at=[*recent, now],
        last_sent_at=now,
        expires_at=now + GOOD_FOR,
        invited_by=actor.membership_id,
    )
    _queue(invitation_id, row.sends + 1, now)
    return get_invitation(actor=actor, invitation_id=invitation_id, now=now)


def withdraw_invitation(*, actor: Principal, invitation_id: UUID, now: datetime) -> None:
    """Take an invitation back: its link is void from now on; one already over stays as it is.

    Raises:
        NotFound: there is none of this id that the caller may deal with.
        InvitationOver: it was accepted.
    """
    before = get_invitation(actor=actor, invitation_id=invitation_id, now=now)
    rows = invitations_of(actor).filter(id=invitation_id, accepted_at=None)
    if not rows.filter(withdrawn_at=None).update(withdrawn_at=now) and before["state"] != "withdrawn":
        raise InvitationOver("It was accepted already; take the person off the team instead.")


def prepare_invitation_mail(message: OutboxMessage, now: datetime) -> Rendered | Withdrawn:
    """Look again whether the invitation stands, and sign its link."""
    invitation_id, number = UUID(message.payload["invitation"]), message.payload["number"]
    found = find_pending(invitation_id=invitation_id, number=number, now=now)
    if found is None:
        return Withdrawn("The invitation was accepted, withdrawn or sent again, or is too old.")
    token = sign_token(Purpose.INVITATION, Named(found.id, found.business_id, number))
    facts = InvitationFacts(
        email=found.email,
        business_name=found.business.name,
        invited_by=found.invited_by.person.name if found.invited_by else found.business.name,
        role=Role(found.role),
        expires_at=found.expires_at,
    )
    return invitation_mail(facts, link_of(Purpose.INVITATION, token))


def forget_old_invitations(*, now: datetime) -> None:
    """Delete the business's invitations that ended long ago."""
    Invitation.objects.filter(last_sent_at__lt=now - GOOD_FOR - KEPT_FOR).delete()


def _check_kind(actor: Principal, role: str | None, client: UUID | None) -> None:
    if (client is None) == (role is None or role == Role.CLIENT):
        raise Invalid.at(
            "#/role", "Send the role of somebody on the team, or the id of a client as client: one of the two."
        )
    if client is None and actor.role != Role.OWNER:
        raise Forbidden("Only an owner invites to the team; you may invite clients to their own records.")


def _client_to_invite(actor: Principal, client_id: UUID) -> Client:
    found = Client.objects.filter(client_rows(actor, ""), id=client_id).select_related("membership").first()
    if found is None:
        raise UnknownObject.at("#/client", "There is no such client that you may see.")
    if found.state == ClientState.ENDED:
        raise ClientEnded("This client is coached no more; make them active again first.")
    if found.membership is not None and found.membership.state == MembershipState.ACTIVE:
        raise AlreadyHasAccount("This client signs in already.")
    return found


def _check_address(address: str, now: datetime, besides: UUID | None = None) -> None:
    if Membership.objects.filter(person__email=address, state=MembershipState.ACTIVE).exists():
        raise AlreadyOnTeam("Somebody with this address is in the business already.")
    rows = Invitation.objects.filter(is_pending(now), email=address)
    if (rows if besides is None else rows.exclude(id=besides)).exists():
        raise AlreadyInvited("This address was invited already; send that invitation again, or withdraw it.")


def _check_day(now: datetime) -> None:
    since = now - A_DAY
    rows = Invitation.objects.filter(last_sent_at__gt=since).values_list("sent_at", flat=True)
    recent = [at for row in rows for at in row if at > since]
    if len(recent) >= PER_BUSINESS_A_DAY:
        raise _too_many("This business sent its fill of invitations today", recent, now)


def _too_many(sentence: str, recent: list[datetime], now: datetime) -> TooMany:
    wait_s = max(1, ceil((min(recent) + A_DAY - now).total_seconds()))
    return TooMany(f"{sentence}; try again in {ceil(wait_s / 3600)} hours.", retry_after_s=wait_s)


def _queue(invitation_id: UUID, number: int, now: datetime) -> None:
    queue_message(
        kind=INVITATION,
        dedupe_key=f"{INVITATION}:{invitation_id}:{number}",
        payload={"invitation": str(invitation_id), "number": number},
        due_at=now,
    )
