"""Signing in: a password, the second factor where one stands, and the business to enter."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from coaching.actions.audit_trail import Origin, record_sign_in
from coaching.actions.second_factors import Proof, find_proof, spend
from coaching.actions.sessions import open_session
from coaching.actions.sign_in_attempts import begin_attempt, note_refusal, note_success
from coaching.models.people import Person
from coaching.models.sign_in_attempts import Refused
from coaching.refusals import BadCredentials, Conflict, Fault
from coaching.selectors.credentials import Place, find_active_member, list_places
from coaching.selectors.second_factors import has_standing_factor
from coaching.tenancy.scope import business_scope


class ChooseBusiness(Conflict):
    """The person is in several businesses and named none."""

    code = "choose_business"


class SecondFactorRequired(BadCredentials):
    """The password is right, and the account has a second factor."""

    code = "second_factor_required"


class SecondFactorRefused(BadCredentials):
    """The password is right, and the code is not."""

    code = "second_factor_refused"


@dataclass(frozen=True, slots=True)
class SignedIn:
    """A session just opened, with the token that is shown once."""

    session_id: UUID
    token: str
    expires_at: datetime | None
    place: Place
    needs_second_factor: bool


def sign_in(
    *, email: str, password: str, code: str | None = None, business_id: UUID | None, origin: Origin, now: datetime
) -> SignedIn:
    """Open a session of one membership.

    Each attempt costs one password hash and the same statements, whether or not there is such an account; the trail
    of the businesses is told of it later (`coaching/actions/refused_sign_ins.py`).

    Raises:
        BadCredentials: the address or the password is wrong, or no business lets the person in.
        SecondFactorRequired: the password is right; the account's second factor is asked for.
        SecondFactorRefused: the password is right, and the code is wrong or was used.
        ChooseBusiness: the person is in several businesses; the answer lists them. No code is used up by that.
        TooMany: the account or the address failed too often of late.
    """
    person = Person.objects.filter(email=email.strip().lower()).first()
    attempt_id = begin_attempt(email=email, person_id=person.id if person else None, origin=origin, now=now)
    if not _password_is_right(person, password) or person is None:
        note_refusal(attempt_id=attempt_id, refused=Refused.WRONG_PASSWORD)
        raise BadCredentials("The email address or the password is wrong.")
    places = [place for place in list_places(person_id=person.id) if business_id in {None, place.business_id}]
    if not person.is_active or not places:
        note_refusal(attempt_id=attempt_id, refused=Refused.NOT_LET_IN)
        raise BadCredentials("The email address or the password is wrong.")
    proof = _second_factor(person.id, code, attempt_id, now)
    if len(places) > 1:
        note_success(attempt_id=attempt_id)
        raise _choose(places)
    opened = _open(person, places[0], proof, origin, now)
    if opened is None:
        raise _refused_code(attempt_id) if proof else _overtaken(attempt_id)
    note_success(attempt_id=attempt_id)
    return opened


def _password_is_right(person: Person | None, password: str) -> bool:
    if person is None:
        # The same work as for a known address, so that the time taken tells nothing.
        Person().set_password(password)
        return False
    return person.check_password(password)


def _second_factor(person_id: UUID, code: str | None, attempt_id: UUID, now: datetime) -> Proof | None:
    """Return what the code proves, None where no second factor stands."""
    if not has_standing_factor(person_id=person_id):
        return None
    if not code:
        note_refusal(attempt_id=attempt_id, refused=Refused.CODE_MISSING)
        raise SecondFactorRequired(
            "This account has a second factor: send the code that your app shows, or a recovery code, as code."
        )
    proof = find_proof(person_id=person_id, code=code, now=now)
    if proof is None:
        raise _refused_code(attempt_id)
    return proof


def _refused_code(attempt_id: UUID) -> SecondFactorRefused:
    note_refusal(attempt_id=attempt_id, refused=Refused.WRONG_CODE)
    return SecondFactorRefused("This code is wrong, or was used already; wait for the app's next one.")


def _overtaken(attempt_id: UUID) -> BadCredentials:
    note_refusal(attempt_id=attempt_id, refused=Refused.NOT_LET_IN)
    return BadCredentials("The account was changed while you signed in; sign in again.")


def _choose(places: list[Place]) -> ChooseBusiness:
    return ChooseBusiness(
        "You are in several businesses; send the id of one as business.",
        faults=[Fault("#/business", "required", "Name one of the businesses listed.")],
        extra={"businesses": [{"id": str(place.business_id), "name": place.business_name} for place in places]},
    )


def _open(person: Person, place: Place, proof: Proof | None, origin: Origin, now: datetime) -> SignedIn | None:
    """Use the code up and open the session, both or neither; None where another request overtook this one."""
    with transaction.atomic():
        if not _is_as_checked(person, proof) or (proof is not None and not spend(proof)):
            return None
        row, token = open_session(
            person=person,
            business_id=place.business_id,
            membership_id=place.membership_id,
            address=origin.address,
        )
        with business_scope(place.business_id):
            record_sign_in(membership_id=place.membership_id, credential_id=row.session_id, origin=origin, now=now)
            member = find_active_member(membership_id=place.membership_id)
    return SignedIn(row.session_id, token, row.expiry, place, member is not None and member.needs_second_factor)


def _is_as_checked(person: Person, proof: Proof | None) -> bool:
    """Look again, now that nobody changes the account meanwhile.

    Whoever sets another password or a second factor ends the sessions that are open: none may be opened after that by
    what was looked at before.
    """
    same = Person.objects.select_for_update(no_key=True).filter(id=person.id, password=person.password, is_active=True)
    return bool(same) and (proof is not None or not has_standing_factor(person_id=person.id))
