"""Setting a new password by a link sent to the account's address, without telling whether there is an account."""

from datetime import datetime, timedelta
from math import ceil
from typing import Final
from uuid import UUID

from django.db import transaction
from django.db.models import Count, Min, Q
from django.utils.crypto import salted_hmac

from coaching.actions.audit_trail import Origin, record_by_link
from coaching.actions.outbox import queue_message
from coaching.actions.passwords import queue_changed_mail, set_password
from coaching.actions.signed_links import Named, Purpose, link_of, read_token, sign_token
from coaching.documents.account_mail import password_reset_mail
from coaching.models.outbox import OutboxMessage
from coaching.models.password_resets import PasswordReset
from coaching.models.people import Membership, Person
from coaching.refusals import Invalid, TooMany
from coaching.registry import Rendered, Withdrawn
from coaching.selectors.credentials import list_places
from coaching.selectors.password_resets import find_standing_reset, list_waiting_resets
from coaching.tenancy.scope import business_scope

PASSWORD_RESET: Final = "password_reset"  # noqa: S105 -- the kind of a message
GOOD_FOR: Final = timedelta(hours=1)
"""How long a link holds. Practice."""

WINDOW: Final = timedelta(hours=1)
"""How far back requests count. Practice."""

PER_ACCOUNT: Final = 5
"""Requests for one account, from wherever: what more would fill is its person's mailbox. Practice."""

PER_ADDRESS: Final = 20
"""Requests from one address, for whatever accounts: a gym's whole team may share one. Practice."""

KEPT_FOR: Final = timedelta(days=1)
_AT_ONCE: Final = 50


class LinkNotGood(Invalid):
    """A link is forged, for something else, too old, used, or replaced by a later one."""

    code = "link_not_good"


def request_password_reset(*, email: str, origin: Origin, now: datetime) -> None:
    """Write down that somebody wants a new password for an address; a job queues the mail, if there is an account.

    The work is the same whether or not there is one, and so are the limits, so that neither time nor answers tell.

    Raises:
        TooMany: with the seconds after which to try again.
    """
    written = email.strip().lower()
    made = PasswordReset.objects.create(
        account_digest=_digest(written), address=origin.address or "", requested_at=now, expires_at=now + GOOD_FOR
    )
    _check_limits(made, now)
    person = Person.objects.filter(email=written).only("id").first()
    PasswordReset.objects.filter(id=made.id).update(person=person)


def queue_reset_mails(business_id: UUID, now: datetime) -> bool:
    """Queue the mails of requests whose person's first business this is; say whether more wait."""
    with business_scope(business_id):
        waiting = list_waiting_resets(now).select_for_update(skip_locked=True, of=("self",))[:_AT_ONCE]
        for reset in waiting:
            places = list_places(person_id=reset.person_id) if reset.person_id else []
            if not places or places[0].business_id != business_id:
                continue
            # A later one makes those before it void.
            older = PasswordReset.objects.filter(person=reset.person, ended_at=None, id__lt=reset.id)
            older.update(ended_at=now)
            PasswordReset.objects.filter(id=reset.id).update(queued_at=now)
            key = f"{PASSWORD_RESET}:{reset.id}"
            queue_message(kind=PASSWORD_RESET, dedupe_key=key, payload={"reset": str(reset.id)}, due_at=now)
            record_by_link(
                operation="password_resets.create",
                membership_id=places[0].membership_id,
                object_id=str(reset.id),
                origin=Origin(reset.address),
                now=now,
            )
    return False


def prepare_reset_mail(message: OutboxMessage, now: datetime) -> Rendered | Withdrawn:
    """Look again whether the request stands, and sign its link."""
    reset = find_standing_reset(reset_id=UUID(message.payload["reset"]), now=now)
    if reset is None or reset.person is None:
        return Withdrawn("The request was used, replaced by a later one, or is too old.")
    if not Membership.objects.filter(person_id=reset.person.id).exists():
        return Withdrawn("The account is not of this business.")
    token = sign_token(Purpose.PASSWORD_RESET, Named(reset.id))
    link = link_of(Purpose.PASSWORD_RESET, token)
    return password_reset_mail(name=reset.person.name, email=reset.person.email, link=link)


def confirm_password_reset(*, token: str, password: str, origin: Origin, now: datetime) -> None:
    """Set the password of the account whose link this is: once; all its sessions end, and nobody is signed in.

    What else signing in asks for, such as a second factor, stays as it is.

    Raises:
        LinkNotGood: the link is not good.
        Invalid: the password can't be taken; the link stays good.
    """
    with transaction.atomic():
        reset_id = standing_reset_of(token=token, now=now)
        burnt = PasswordReset.objects.filter(id=reset_id, ended_at=None).update(ended_at=now)
        if not burnt:
            raise _not_good()
        person_id = PasswordReset.objects.values_list("person_id", flat=True).get(id=reset_id)
        person = Person.objects.select_for_update(no_key=True).get(id=person_id)
        set_password(person=person, password=password, now=now)
        for number, place in enumerate(list_places(person_id=person.id)):
            with business_scope(place.business_id):
                if number == 0:
                    queue_changed_mail(person=person, now=now)
                record_by_link(
                    operation="password_resets.confirm",
                    membership_id=place.membership_id,
                    object_id=str(reset_id),
                    origin=origin,
                    now=now,
                )


def standing_reset_of(*, token: str, now: datetime) -> UUID:
    """Return the request that a link is for, changing nothing.

    Raises:
        LinkNotGood: the link is not good.
    """
    named = read_token(Purpose.PASSWORD_RESET, token, GOOD_FOR)
    reset = None if named is None else find_standing_reset(reset_id=named.row_id, now=now)
    if reset is None:
        raise _not_good()
    return reset.id


def forget_old_resets(*, now: datetime) -> None:
    """Delete requests that decide nothing any more."""
    PasswordReset.objects.filter(requested_at__lt=now - KEPT_FOR).delete()


def _not_good() -> LinkNotGood:
    return LinkNotGood.at(
        "#/token", "This link was used already, was replaced by a later one, or is too old; ask for another."
    )


def _check_limits(made: PasswordReset, now: datetime) -> None:
    # It was written first and is counted now: of any number at once, no more than the limit get through.
    account, here = Q(account_digest=made.account_digest), Q(address=made.address)
    recent = PasswordReset.objects.filter(account | here, requested_at__gt=now - WINDOW).exclude(id=made.id)
    counts = recent.aggregate(
        of_account=Count("id", filter=account),
        of_account_since=Min("requested_at", filter=account),
        of_address=Count("id", filter=here),
        of_address_since=Min("requested_at", filter=here),
    )
    limits = (("of_account", PER_ACCOUNT), ("of_address", PER_ADDRESS))
    waits = [counts[f"{name}_since"] + WINDOW - now for name, limit in limits if counts[name] >= limit]
    if waits:
        made.delete()
        wait_s = max(1, ceil(max(waits).total_seconds()))
        raise TooMany(
            f"A new password was asked for too often. Use the last link sent, or try again in "
            f"{ceil(wait_s / 60)} minutes.",
            retry_after_s=wait_s,
        )


def _digest(email: str) -> str:
    return salted_hmac("coaching.password_resets", email, algorithm="sha256").hexdigest()
