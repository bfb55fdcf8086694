"""Setting up a second factor, taking its codes, and turning it off."""

from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from uuid import UUID

from django.db import transaction
from django.db.models import Q

from coaching.actions.audit_trail import Origin, record_command
from coaching.actions.passwords import WrongPassword
from coaching.actions.sessions import end_other_sessions_of_person
from coaching.actions.sign_in_attempts import begin_attempt, note_refusal, note_success
from coaching.models.people import Person, SessionToken
from coaching.models.second_factors import RecoveryCode, SecondFactor
from coaching.models.sign_in_attempts import Refused
from coaching.one_time_codes import (
    enrolment_uri,
    looks_like_app_code,
    matching_step,
    new_recovery_codes,
    new_secret,
    recovery_digest,
    shown_secret,
)
from coaching.policy import Principal
from coaching.refusals import Conflict, Invalid, TooMany
from coaching.sealed_secrets import is_sealed_with_the_present_key, seal, unseal
from coaching.selectors.credentials import list_places
from coaching.selectors.second_factors import has_standing_factor
from coaching.tenancy.scope import business_scope

PURPOSE: Final = "second_factor"


class SecondFactorStands(Conflict):
    """There is one already."""

    code = "second_factor_stands"


class NoSecondFactor(Conflict):
    """There is none."""

    code = "no_second_factor"


class WrongCode(Invalid):
    """The code is of no step near now, was used, or is no recovery code of the account."""

    code = "wrong_code"


@dataclass(frozen=True, slots=True)
class Enrolment:
    """A secret to put into an authenticator app; it is shown this once."""

    secret: str
    uri: str


@dataclass(frozen=True, slots=True)
class Proof:
    """A code that is good, and not spent yet: of a time step of the app, or a recovery code."""

    person_id: UUID
    step: int | None = None
    digest: str = ""


def start_second_factor(*, actor: Principal, password: str, origin: Origin, now: datetime) -> Enrolment:
    """Make a secret for the caller's authenticator app; it counts once a first code has confirmed it.

    Raises:
        WrongPassword: it is not theirs.
        SecondFactorStands: they have one; it must be turned off first.
    """
    person = _proved(actor, password, None, origin, now)
    secret = new_secret()
    started = {"sealed_secret": seal(secret, PURPOSE), "started_at": now, "last_step": None}
    # One that stands is never overwritten, whatever comes between.
    if not SecondFactor.objects.filter(person=person, confirmed_at__isnull=True).update(**started):
        _factor, made = SecondFactor.objects.get_or_create(person=person, defaults=started)
        if not made:
            raise SecondFactorStands("Your second factor stands; turn it off first to set up another app.")
    return Enrolment(shown_secret(secret), enrolment_uri(secret, person.email))


def confirm_second_factor(*, actor: Principal, code: str, now: datetime) -> list[str]:
    """Turn the second factor on by its first code; return recovery codes, shown this once.

    The account's other sessions end, in every business: they were opened without it.

    Raises:
        NoSecondFactor: none was started.
        SecondFactorStands: it is on.
        WrongCode: the code is not of the secret.
    """
    # The account first: a sign-in that asked for no code, since none stood, is over or looks again.
    Person.objects.select_for_update(no_key=True).get(Q(id=actor.person_id))
    factor = SecondFactor.objects.select_for_update().filter(Q(person_id=actor.person_id)).first()
    if factor is None:
        raise NoSecondFactor("Start with POST /api/v1/me/second-factor; it answers the secret for your app.")
    if factor.confirmed_at is not None:
        raise SecondFactorStands("Your second factor is on already.")
    step = matching_step(unseal(factor.sealed_secret, PURPOSE), code, now=now, after=None)
    if step is None:
        raise WrongCode.at("#/code", "This code is not of the secret last shown; check the app and its clock.")
    factor.confirmed_at, factor.last_step = now, step
    factor.save(update_fields=["confirmed_at", "last_step"])
    end_other_sessions_of_person(actor=actor)
    return _renewed_codes(factor.person_id)


def renew_recovery_codes(*, actor: Principal, password: str, code: str, origin: Origin, now: datetime) -> list[str]:
    """Return a new set of recovery codes, shown this once; the old ones are void.

    Raises:
        NoSecondFactor, WrongPassword, WrongCode: as they say.
    """
    return _renewed_codes(_proved(actor, password, code, origin, now).id)


def turn_off_second_factor(*, actor: Principal, password: str, code: str, origin: Origin, now: datetime) -> None:
    """Turn the caller's second factor off, by their password and a code; the account's other sessions end.

    Raises:
        NoSecondFactor, WrongPassword, WrongCode: as they say.
    """
    person = _proved(actor, password, code, origin, now)
    RecoveryCode.objects.filter(person=person).delete()
    SecondFactor.objects.filter(person=person).delete()
    end_other_sessions_of_person(actor=actor)


def note_refused_proof(*, actor: Principal, refused: Refused, origin: Origin, now: datetime) -> None:
    """Count a wrong password or code that was sent to change the second factor."""
    with suppress(TooMany):
        _person, attempt_id = _begin(actor, origin, now)
        note_refusal(attempt_id=attempt_id, refused=refused)


def reset_second_factor(*, email: str, now: datetime) -> int:
    """Turn off the second factor of whoever lost app and recovery codes; for the operator, who has checked who asks.

    All sessions of the account end, and the trail of each of its businesses is told.

    Returns:
        In how many businesses it was told.

    Raises:
        NoSecondFactor: no account of this address has one.
    """
    person = Person.objects.filter(email=email.strip().lower()).first()
    if person is None or not has_standing_factor(person_id=person.id):
        raise NoSecondFactor("No account of this address has a second factor.")
    places = list_places(person_id=person.id)
    with transaction.atomic():
        RecoveryCode.objects.filter(person=person).delete()
        SecondFactor.objects.filter(person=person).delete()
        SessionToken.objects.filter(user=person).delete()
        for place in places:
            with business_scope(place.business_id):
                record_command(operation="second_factor.reset", now=now, object_id=str(place.membership_id))
    return len(places)


def find_proof(*, person_id: UUID, code: str, now: datetime) -> Proof | None:
    """Return what a code proves, without spending it; None where it proves nothing."""
    if not looks_like_app_code(code):
        digest = recovery_digest(person_id, code)
        stands = RecoveryCode.objects.filter(person_id=person_id, digest=digest).exists()
        return Proof(person_id, digest=digest) if stands else None
    factor = SecondFactor.objects.filter(person_id=person_id, confirmed_at__isnull=False).first()
    if factor is None:
        return None
    step = matching_step(unseal(factor.sealed_secret, PURPOSE), code, now=now, after=factor.last_step)
    return None if step is None else Proof(person_id, step=step)


def spend(proof: Proof) -> bool:
    """Use a code up; say whether it was still good: of two who bring the same one, one is let in."""
    if proof.step is None:
        deleted, _by_model = RecoveryCode.objects.filter(person_id=proof.person_id, digest=proof.digest).delete()
        return deleted == 1
    earlier = Q(last_step__isnull=True) | Q(last_step__lt=proof.step)
    rows = SecondFactor.objects.filter(earlier, person_id=proof.person_id, confirmed_at__isnull=False)
    return rows.update(last_step=proof.step) == 1


def reseal_second_factors(_business_id: UUID, _now: datetime) -> bool:
    """Seal with the present `SECRET_KEY` what a fallback still opens, so that the fallback can go; nightly."""
    for factor in SecondFactor.objects.only("person_id", "sealed_secret").iterator():
        old = factor.sealed_secret
        if not is_sealed_with_the_present_key(old, PURPOSE):
            fresh = seal(unseal(old, PURPOSE), PURPOSE)
            SecondFactor.objects.filter(person_id=factor.person_id, sealed_secret=old).update(sealed_secret=fresh)
    return False


def _begin(actor: Principal, origin: Origin, now: datetime) -> tuple[Person, UUID]:
    person = Person.objects.get(Q(id=actor.person_id))
    attempt_id = begin_attempt(
        email=person.email, person_id=person.id, credential_id=actor.credential_id, origin=origin, now=now
    )
    return person, attempt_id


def _proved(actor: Principal, password: str, code: str | None, origin: Origin, now: datetime) -> Person:
    """Return the caller's account, once they have proved anew that it is theirs; without a code by password alone.

    Whoever found a session open must find out neither by it: a wrong one counts as an attempt to sign in
    (`note_refused_proof`, once this transaction was rolled back).
    """
    # One proof at a time: any number at once would all be looked at before the first wrong one counts.
    Person.objects.select_for_update(no_key=True).get(Q(id=actor.person_id))
    person, attempt_id = _begin(actor, origin, now)
    if code is not None and not has_standing_factor(person_id=person.id):
        raise NoSecondFactor("You have no second factor.")
    if not person.check_password(password):
        raise WrongPassword.at("#/password", "This is not your password.")
    if code is not None:
        proof = find_proof(person_id=person.id, code=code, now=now)
        if proof is None or not spend(proof):
            raise WrongCode.at("#/code", "This code is wrong, or was used already; wait for the app's next one.")
    note_success(attempt_id=attempt_id)
    return person


def _renewed_codes(person_id: UUID) -> list[str]:
    codes = new_recovery_codes()
    # The factor's row first: of two renewals at once, one set is left.
    SecondFactor.objects.select_for_update().get(person_id=person_id)
    RecoveryCode.objects.filter(person_id=person_id).delete()
    RecoveryCode.objects.bulk_create(
        RecoveryCode(person_id=person_id, digest=recovery_digest(person_id, code)) for code in codes
    )
    return codes
