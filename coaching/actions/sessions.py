"""Signing in and out."""

import hashlib
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from coaching.actions.audit_trail import Origin, record_sign_in
from coaching.actions.sign_in_attempts import begin_attempt, note_success
from coaching.models.people import Person, SessionToken
from coaching.refusals import BadCredentials, Conflict, Fault, NotFound
from coaching.selectors.credentials import Place, list_places
from coaching.selectors.sessions import list_session_tokens
from coaching.tenancy.scope import business_scope


class ChooseBusiness(Conflict):
    """The person is in several businesses and named none."""

    code = "choose_business"


@dataclass(frozen=True, slots=True)
class SignedIn:
    """A session just opened, with the token that is shown once."""

    session_id: UUID
    token: str
    expires_at: datetime | None
    place: Place


def session_id_of(token: SessionToken) -> UUID:
    """Return the id under which a session is listed and counted; its digest is never shown."""
    return UUID(bytes=hashlib.sha256(token.digest.encode()).digest()[:16])


def sign_in(*, email: str, password: str, business_id: UUID | None, origin: Origin, now: datetime) -> SignedIn:
    """Open a session of one membership.

    Raises:
        BadCredentials: the address or the password is wrong, or no business lets the person in.
        ChooseBusiness: the person is in several businesses; the answer lists them.
        TooMany: the account or the address failed too often of late.
    """
    attempt_id = begin_attempt(email=email, address=origin.address or "", now=now)
    person = _checked_person(email, password)
    places = list_places(person_id=person.id) if person else []
    if business_id is not None:
        places = [place for place in places if place.business_id == business_id]
    if person is None or not places:
        raise BadCredentials("The email address or the password is wrong.")
    note_success(attempt_id=attempt_id)
    if len(places) > 1:
        raise ChooseBusiness(
            "You are in several businesses; send the id of one as business.",
            faults=[Fault("#/business", "required", "Name one of the businesses listed.")],
            extra={"businesses": [{"id": str(place.business_id), "name": place.business_name} for place in places]},
        )
    row, token = SessionToken.objects.create(
        user=person, business_id=places[0].business_id, membership_id=places[0].membership_id
    )
    opened = SignedIn(session_id_of(row), token, row.expiry, places[0])
    with business_scope(opened.place.business_id):
        record_sign_in(
            membership_id=opened.place.membership_id, credential_id=opened.session_id, origin=origin, now=now
        )
    return opened


def end_session(*, membership_id: UUID, session_id: UUID) -> None:
    """End one of a membership's sessions.

    Raises:
        NotFound: it has no such session.
    """
    for token in list_session_tokens(membership_id=membership_id):
        if session_id_of(token) == session_id:
            token.delete()
            return
    raise NotFound("You have no such session.")


def _checked_person(email: str, password: str) -> Person | None:
    person = Person.objects.filter(email=email.strip().lower()).first()
    if person is None:
        # The same work as for a known address, so that the time taken tells nothing.
        Person().set_password(password)
        return None
    return person if person.check_password(password) and person.is_active else None
