"""Changing the password of an account: every other session ends, and its person is told."""

from contextlib import suppress
from datetime import datetime
from typing import Final
from uuid import UUID

from django.db.models import Q

from coaching.actions.audit_trail import Origin
from coaching.actions.outbox import queue_message
from coaching.actions.people import check_password_rules
from coaching.actions.sign_in_attempts import begin_attempt, note_refusal, note_success
from coaching.documents.account_mail import password_changed_mail
from coaching.models.outbox import OutboxMessage
from coaching.models.password_resets import PasswordReset
from coaching.models.people import Membership, Person, SessionToken
from coaching.models.sign_in_attempts import Refused
from coaching.policy import Principal
from coaching.refusals import Invalid, TooMany
from coaching.registry import Rendered, Withdrawn
from coaching.tenancy.models import new_id

PASSWORD_CHANGED: Final = "password_changed"  # noqa: S105 -- the kind of a message


class WrongPassword(Invalid):
    """The present password is not the one sent."""

    code = "wrong_password"


def change_password(*, actor: Principal, current: str, new: str, origin: Origin, now: datetime) -> None:
    """Change the caller's own password; all their sessions but this one end, in every business.

    Whoever found a session open must not find the password out by it: a wrong one counts as an attempt to sign in
    (`note_wrong_password`, once this transaction was rolled back).

    Raises:
        WrongPassword: `current` is not their password.
        TooMany: it was wrong too often of late.
        Invalid: the new one can't be taken.
    """
    person = Person.objects.select_for_update(no_key=True).get(Q(id=actor.person_id))
    attempt_id = _begin(person, actor, origin, now)
    if not person.check_password(current):
        raise WrongPassword.at("#/current", "This is not your present password.")
    note_success(attempt_id=attempt_id)
    _replace(person, new, now, "#/new", kept_session=actor.credential_id)
    queue_changed_mail(person=person, now=now)


def note_wrong_password(*, actor: Principal, origin: Origin, now: datetime) -> None:
    """Count a wrong password that was sent to change it."""
    person = Person.objects.get(Q(id=actor.person_id))
    with suppress(TooMany):
        note_refusal(attempt_id=_begin(person, actor, origin, now), refused=Refused.WRONG_PASSWORD)


def _begin(person: Person, actor: Principal, origin: Origin, now: datetime) -> UUID:
    return begin_attempt(
        email=person.email, person_id=person.id, credential_id=actor.credential_id, origin=origin, now=now
    )


def set_password(*, person: Person, password: str, now: datetime) -> None:
    """Give an account a password of its person's own, by a link; sessions and links made under the old one end.

    A link alone makes it their own: whoever thought up a first password for an address could sign in with it, change
    it, and wait until another business invites the address.

    Raises:
        Invalid: the password can't be taken.
    """
    _replace(person, password, now, "#/password", kept_session=None)
    Person.objects.filter(id=person.id).update(password_is_provisional=False)


def _replace(person: Person, password: str, now: datetime, pointer: str, *, kept_session: UUID | None) -> None:
    check_password_rules(password, person, pointer=pointer)
    person.set_password(password)
    person.save(update_fields=["password"])
    tokens = SessionToken.objects.filter(user=person)
    (tokens if kept_session is None else tokens.exclude(session_id=kept_session)).delete()
    PasswordReset.objects.filter(person=person, ended_at=None).update(ended_at=now)


def queue_changed_mail(*, person: Person, now: datetime) -> None:
    """Queue the mail that says so, in the business in scope."""
    queue_message(
        kind=PASSWORD_CHANGED,
        dedupe_key=f"{PASSWORD_CHANGED}:{new_id()}",
        payload={"person": str(person.id), "at": now.isoformat()},
        due_at=now,
    )


def prepare_changed_mail(message: OutboxMessage, _now: datetime) -> Rendered | Withdrawn:
    """Say that the password was changed."""
    # Accounts stand outside any business: a message tells only those of its own.
    own = Membership.objects.values("person_id")
    person = Person.objects.filter(id=message.payload["person"], id__in=own).first()
    if person is None:
        return Withdrawn("The account is gone, or not of this business.")
    at = datetime.fromisoformat(message.payload["at"])
    return password_changed_mail(name=person.name, email=person.email, at=at)
