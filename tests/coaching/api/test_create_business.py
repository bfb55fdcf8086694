"""`manage.py create_business`."""

import io

import pytest
from django.core.management import CommandError, call_command
from rest_framework.test import APIClient

from coaching import registry
from coaching.models import AuditEntry, Business, Person
from coaching.selectors.credentials import list_places
from coaching.tenancy.scope import business_scope, current_business_id
from tests.scenario import Cast

pytestmark = pytest.mark.django_db
OPTIONS = {
    "name": "Quarry Gym",
    "time_zone": "Asia/Kathmandu",
    "owner_email": "rita@quarry.example",
    "owner_name": "Rita",
}


def _run(**options: str) -> str:
    out = io.StringIO()
    call_command("create_business", stdout=out, **{**OPTIONS, **options})
    return out.getvalue()


def _sign_in(password: str) -> int:
    sent = {"email": OPTIONS["owner_email"], "password": password}
    return APIClient().post("/api/v1/sessions", sent, format="json").status_code


def test_it_makes_the_business_and_prints_a_password_once() -> None:
    told = _run(unit="lb")
    assert _sign_in(told.split(": ")[-1].strip()) == 201
    person = Person.objects.get(email="rita@quarry.example")
    (place,) = list_places(person_id=person.id)
    assert (place.business_name, place.role) == ("Quarry Gym", "owner")
    with business_scope(place.business_id):
        assert Business.objects.get().unit == "lb"
        entry = AuditEntry.objects.get(operation="businesses.create")
        assert (entry.actor_kind, entry.object_id) == ("operator", str(place.business_id))


def test_a_password_that_was_given_is_not_printed() -> None:
    assert "correct horse" not in _run(owner_password="correct horse 7 battery")
    assert _sign_in("correct horse 7 battery") == 201


def test_an_account_that_exists_becomes_the_owner_with_its_own_password(cast: Cast) -> None:
    told = _run(owner_email=cast.coach.person.email, owner_password="correct horse 7 battery")
    assert "own password" in told
    cast.coach.person.refresh_from_db()
    assert not cast.coach.person.check_password("correct horse 7 battery")
    assert len(list_places(person_id=cast.coach.person.id)) == 2


@pytest.mark.parametrize(
    ("options", "told"), [({"time_zone": "Nepal"}, "IANA"), ({"owner_password": "short"}, "12 characters")]
)
def test_what_cannot_be_taken_is_refused_with_a_sentence(options: dict[str, str], told: str) -> None:
    with pytest.raises(CommandError, match=told):
        _run(**options)
    assert not Person.objects.filter(email="rita@quarry.example").exists()


def test_the_apps_add_theirs_inside_the_new_business() -> None:
    seen = []
    registry.on_business_created.append(lambda business_id: seen.append((business_id, current_business_id())))
    try:
        _run()
    finally:
        registry.on_business_created.pop()
    assert len(seen) == 1
    assert seen[0][0] == seen[0][1]
