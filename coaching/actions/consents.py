"""Write down the words of consents, who agreed to them, and who took it back."""

import hashlib
from datetime import date, datetime
from typing import Any, Final, cast
from uuid import UUID

from coaching.measures.local_calendar import local_date_of
from coaching.models.consents import Consent, ConsentGivenHow, ConsentText
from coaching.models.people import Role
from coaching.policy import Principal
from coaching.refusals import Conflict, Invalid, UnknownObject
from coaching.selectors.clients import get_client
from coaching.selectors.consents import get_consent

_EARLIEST: Final = date(1900, 1, 1)


class TextUnchanged(Conflict):
    """The newest words of a kind, sent again."""

    code = "consent_text_unchanged"


class ConsentStands(Conflict):
    """The client has agreed to these words already."""

    code = "consent_stands"


class ConsentWithdrawn(Conflict):
    """A consent is taken back once."""

    code = "consent_withdrawn"


def write_consent_text(*, actor: Principal, kind: str, text: str, now: datetime) -> ConsentText:
    """Write down words to agree to, as the next version of their kind; those before stay as they are.

    Raises:
        TextUnchanged: the newest version says the same.
    """
    digest = hashlib.sha256(text.encode()).hexdigest()
    newest = ConsentText.objects.filter(kind=kind).order_by("-version").values_list("version", "text_sha256").first()
    if newest is not None and newest[1] == digest:
        raise TextUnchanged(f"Version {newest[0]} says the same, to the letter; nothing was written.")
    return ConsentText.objects.create(
        kind=kind,
        version=newest[0] + 1 if newest else 1,
        text=text,
        text_sha256=digest,
        created_by=_membership(actor),
        created_at=now,
    )


def give_consent(
    *, actor: Principal, client_id: UUID, text: UUID, now: datetime, given_on: date | None = None, given_how: str = ""
) -> dict[str, Any]:
    """Write down that a client agrees to words.

    Args:
        actor: the client, or a coach who was told so or has it on paper.
        client_id: who agrees.
        text: the words.
        now: the present instant.
        given_on: the day, today where it is left out.
        given_how: how; a client in their account needs not say.

    Raises:
        NotFound: there is no such client whom the actor may see.
        UnknownObject: there are no such words.
        ConsentStands: they have agreed to them.
        Invalid: the day lies ahead, or it was given in another way than the actor can know.
    """
    client = get_client(actor=actor, client_id=client_id)
    if not ConsentText.objects.filter(id=text).exists():
        raise UnknownObject.at("#/text", "There is no such text of a consent in this business.")
    if Consent.objects.filter(client_id=client_id, text_id=text, withdrawn_at=None).exists():
        raise ConsentStands("The client has agreed to these words, and not taken it back.")
    made = Consent.objects.create(
        client_id=client_id,
        text_id=text,
        given_on=_day("given_on", given_on, client["time_zone"], now),
        given_how=_how("given_how", given_how, actor),
        recorded_by=_membership(actor),
        recorded_at=now,
    )
    return get_consent(actor=actor, client_id=client_id, consent_id=made.id)


def withdraw_consent(
    *,
    actor: Principal,
    client_id: UUID,
    consent_id: UUID,
    now: datetime,
    withdrawn_on: date | None = None,
    withdrawn_how: str = "",
) -> dict[str, Any]:
    """Write down that a client takes a consent back; that it was given stays on record.

    Raises:
        NotFound: the client has no such consent, or is not the actor's to see.
        ConsentWithdrawn: it was taken back before.
        Invalid: the day lies ahead or before it was given, or it was taken back in another way than the actor can
            know.
    """
    client = get_client(actor=actor, client_id=client_id)
    consent = get_consent(actor=actor, client_id=client_id, consent_id=consent_id)
    day = _day("withdrawn_on", withdrawn_on, client["time_zone"], now, earliest=consent["given_on"])
    changed = Consent.objects.filter(id=consent_id, withdrawn_at=None).update(
        withdrawn_on=day,
        withdrawn_how=_how("withdrawn_how", withdrawn_how, actor),
        withdrawn_by=_membership(actor),
        withdrawn_at=now,
    )
    if not changed:
        raise ConsentWithdrawn("This consent was taken back before.")
    return get_consent(actor=actor, client_id=client_id, consent_id=consent_id)


def _membership(actor: Principal) -> UUID:
    """Return who writes it down; the policy lets no key."""
    return cast("UUID", actor.membership_id)


def _how(name: str, told: str, actor: Principal) -> str:
    if actor.role == Role.CLIENT:
        if told not in {"", ConsentGivenHow.IN_ACCOUNT}:
            raise Invalid.at(f"#/{name}", "You say so in your account: leave it out.", "given_otherwise")
        return ConsentGivenHow.IN_ACCOUNT
    if told in {"", ConsentGivenHow.IN_ACCOUNT}:
        raise Invalid.at(
            f"#/{name}", "Say how the client told you: on_paper or spoken; in their account only they can.", "required"
        )
    return told


def _day(name: str, told: date | None, time_zone: str, now: datetime, *, earliest: date = _EARLIEST) -> date:
    today = local_date_of(now, time_zone)
    day = today if told is None else told
    if not earliest <= day <= today:
        raise Invalid.at(f"#/{name}", f"{name} lies between {earliest} and today, {today}.", "invalid_date")
    return day
