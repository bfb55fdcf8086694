"""Ways into somebody else's account or record that were open once."""

from collections.abc import Callable
from datetime import timedelta
from threading import Thread
from typing import Any, ClassVar
from uuid import UUID, uuid4

import pytest
from django.db import connection, connections, transaction
from django.utils import timezone
from rest_framework.test import APIClient

from coaching.actions import password_resets
from coaching.actions.due_work import run_due_jobs
from coaching.actions.outbox import deliver_due_messages
from coaching.actions.signed_links import Named, Purpose, sign_token
from coaching.models import Client, Membership, PasswordReset, Person, SecondFactor, SessionToken
from coaching.registry import dispatch_jobs
from coaching.tenancy.scope import business_scope
from tests.password_hashers import QuickArgon2
from tests.scenario import Cast, build_business, signed_in
from tests.second_factors import PASSWORD, PATH, with_password
from tests.smtp_server import SmtpSink

OWN = "kettle over granite 7"
VICTIM = "dana@new.example"
INVITATIONS = "/api/v1/invitations"


class OvertakenArgon2(QuickArgon2):
    """While it looks at a password, another request is answered."""

    meanwhile: ClassVar[list[Callable[[], None]]] = []

    def verify(self, password: str, encoded: str) -> bool:
        """Compare; then let the others through."""
        is_right = bool(super().verify(password, encoded))
        while self.meanwhile:
            self.meanwhile.pop()()
        return is_right


def _sign_in(email: str, password: str) -> Any:
    return APIClient().post("/api/v1/sessions", {"email": email, "password": password}, format="json")


def _invited(cast: Cast, by: Membership, **body: Any) -> str:
    made = cast.api(by).post(INVITATIONS, body, format="json")
    assert made.status_code == 201, made.content
    return str(made.json()["id"])


def _accept(cast: Cast, invitation_id: str, number: int = 1, **body: Any) -> Any:
    token = sign_token(Purpose.INVITATION, Named(UUID(invitation_id), cast.business_id, number))
    return APIClient().post(f"{INVITATIONS}/accept", {"token": token, **body}, format="json")


def test_whoever_thought_up_a_first_password_does_not_keep_the_account_by_changing_it(
    cast: Cast, neighbour: Cast
) -> None:
    """An owner makes an account for an address of somebody who works elsewhere, and waits for their invitation."""
    new = {"email": VICTIM, "name": "Dana", "role": "coach", "password": PASSWORD}
    assert neighbour.api(neighbour.owner).post("/api/v1/coaches", new, format="json").status_code == 201
    mallory = signed_in(_sign_in(VICTIM, PASSWORD).json()["token"])
    kept = "a password of mallory 7"
    changed = mallory.post("/api/v1/me/password", {"current": PASSWORD, "new": kept}, format="json")
    assert changed.status_code == 204
    invitation = _invited(cast, cast.owner, email=VICTIM, role="head_coach")
    # The link's own form asks for a password: the address was never proved to be whose password it was.
    assert _accept(cast, invitation).status_code == 400
    assert _accept(cast, invitation, password=OWN).status_code == 201
    assert _sign_in(VICTIM, kept).status_code == 401
    assert mallory.get("/api/v1/me").status_code == 401
    assert not Person.objects.get(email=VICTIM).password_is_provisional


def test_a_sign_in_that_another_password_overtakes_opens_no_session(cast: Cast, settings: Any) -> None:
    coach = with_password(cast.coach)
    settings.PASSWORD_HASHERS = [f"{__name__}.OvertakenArgon2"]
    APIClient().post("/api/v1/password-resets", {"email": coach.email}, format="json")
    token = sign_token(Purpose.PASSWORD_RESET, Named(PasswordReset.objects.get().id))

    def reset() -> None:
        sent = {"token": token, "password": OWN}
        answer = APIClient().post("/api/v1/password-resets/confirm", sent, format="json")
        assert answer.status_code == 204

    OvertakenArgon2.meanwhile.append(reset)
    assert coach.sign_in().status_code == 401
    assert coach.sign_in(OWN).status_code == 201


def _wait_for_a_lock(of: Thread) -> None:
    with connection.cursor() as cursor:
        held_up = "SELECT 1 FROM pg_stat_activity WHERE datname = current_database() AND wait_event_type = 'Lock'"
        while of.is_alive():
            cursor.execute(held_up)
            if cursor.fetchone():
                return
            # What a transaction has seen of others is kept until it is told to look again.
            cursor.execute("SELECT pg_sleep(0.02), pg_stat_clear_snapshot()")


def test_a_sign_in_that_a_second_factor_overtakes_opens_no_session(committed: None) -> None:
    coach = with_password(build_business("Northern Iron").coach)
    coach.token = coach.sign_in().json()["token"]
    assert coach.api.post(PATH, {"password": PASSWORD}, format="json").status_code == 201
    statuses = []

    def attempt() -> None:
        statuses.append(coach.sign_in().status_code)
        connections.close_all()

    signing_in = Thread(target=attempt)
    with transaction.atomic():
        # As the confirmation does, between the look at the factor and the opening of the session.
        Person.objects.select_for_update(no_key=True).get(id=coach.membership.person_id)
        signing_in.start()
        _wait_for_a_lock(signing_in)
        SecondFactor.objects.filter(person_id=coach.membership.person_id).update(confirmed_at=timezone.now())
    signing_in.join()
    assert statuses == [401]
    assert SessionToken.objects.filter(user=coach.membership.person).count() == 1


def test_a_coach_who_hands_a_client_over_leaves_no_invitation_open_for_themselves(cast: Cast, smtp: SmtpSink) -> None:
    invitation = _invited(cast, cast.coach, client=str(cast.ben.id), email="cora-herself@new.example")
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.ben.id).update(coach=cast.other_coach)
    assert _accept(cast, invitation, name="Ben", password=OWN).json()["code"] == "link_not_good"
    while deliver_due_messages(cast.business_id, timezone.now()):
        pass
    assert smtp.letters == []
    # Whose client it is now looks at the address, and answers for it from then on.
    again = cast.api(cast.other_coach).post(f"{INVITATIONS}/{invitation}/resend", {}, format="json")
    assert (again.status_code, again.json()["invited_by"]) == (200, str(cast.other_coach.id))
    assert _accept(cast, invitation, 2, name="Ben", password=OWN).status_code == 201


@pytest.mark.parametrize("inviter", ["owner", "head"])
def test_an_invitation_by_whoever_sees_every_client_outlives_the_handing_over(cast: Cast, inviter: str) -> None:
    invitation = _invited(cast, getattr(cast, inviter), client=str(cast.ben.id))
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.ben.id).update(coach=cast.other_coach)
    assert _accept(cast, invitation, password=OWN).status_code == 201


def test_an_invitation_does_not_outlive_the_coaching(cast: Cast) -> None:
    invitation = _invited(cast, cast.coach, client=str(cast.ben.id))
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.ben.id).update(state="ended")
    assert _accept(cast, invitation, password=OWN).json()["code"] == "link_not_good"


def test_requests_for_people_of_no_business_do_not_hold_up_those_of_others(cast: Cast, smtp: SmtpSink) -> None:
    """Whoever makes and removes members of their own team could have filled the queue of every business."""
    now = timezone.now()
    with business_scope(cast.business_id):
        Membership.objects.filter(id=cast.viewer.id).update(state="left")
    PasswordReset.objects.bulk_create(
        PasswordReset(
            account_digest=uuid4().hex,
            address="192.0.2.1",
            person=cast.viewer.person,
            requested_at=now - timedelta(minutes=1),
            expires_at=now + password_resets.GOOD_FOR,
        )
        for _ in range(250)
    )
    APIClient().post("/api/v1/password-resets", {"email": cast.coach.person.email}, format="json")
    run_due_jobs(jobs=dispatch_jobs, now=timezone.now(), seconds=30)
    assert [letter.to for letter in smtp.letters] == [cast.coach.person.email]
