"""What clients agreed to: in which words, when, told by whom, and taken back once."""

import hashlib
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.db import ProgrammingError, connection, transaction

from coaching.models import Consent
from coaching.tenancy.scope import business_scope
from tests.scenario import NOON, Cast

TEXTS = "/api/v1/consent-texts"


def _text(cast: Cast, text: str = "We keep what you log.", kind: str = "health_data") -> dict[str, Any]:
    answer = cast.api(cast.head).post(TEXTS, {"kind": kind, "text": text}, format="json")
    assert answer.status_code == 201, answer.content
    made: dict[str, Any] = answer.json()
    return made


def _path(client: Any) -> str:
    return f"/api/v1/clients/{client.id}/consents"


def _give(api: Any, client: Any, text: dict[str, Any], **told: Any) -> Any:
    return api.post(_path(client), {"text": text["id"], **told}, format="json")


def test_words_are_kept_by_version_with_their_hash_and_the_same_words_are_no_new_version(cast: Cast) -> None:
    first, second = _text(cast), _text(cast, "We keep what you log, and look at it.")
    assert (first["version"], second["version"]) == (1, 2)
    assert first["text_sha256"] == hashlib.sha256(b"We keep what you log.").hexdigest()
    again = cast.api(cast.head).post(TEXTS, {"kind": "health_data", "text": second["text"]}, format="json")
    assert (again.status_code, again.json()["code"]) == (409, "consent_text_unchanged")
    _text(cast, kind="messages")
    listed = cast.api(cast.client_member).get(TEXTS, {"kind": "health_data"}).json()["items"]
    assert [one["version"] for one in listed] == [2, 1]


def test_a_client_agrees_in_their_account_and_a_coach_says_how_they_were_told(cast: Cast) -> None:
    text, other = _text(cast), _text(cast, "Other.", "messages")
    with time_machine.travel(NOON, tick=False):
        own = _give(cast.api(cast.client_member), cast.anna, text)
        told = _give(cast.api(cast.coach), cast.ben, text, given_how="on_paper", given_on="2031-02-01")
        unsaid = _give(cast.api(cast.coach), cast.ben, other)
    assert (own.status_code, told.status_code) == (201, 201)
    shown = own.json()
    assert (shown["given_how"], shown["given_on"], shown["recorded_by"], shown["standing"], shown["version"]) == (
        "in_account", "2031-03-05", str(cast.client_member.id), True, 1,
    )  # fmt: skip
    assert (told.json()["given_how"], told.json()["given_on"]) == ("on_paper", "2031-02-01")
    assert (unsaid.status_code, unsaid.json()["errors"][0]["pointer"]) == (400, "#/given_how")


@pytest.mark.parametrize("given_on", ["2031-03-06", "1899-12-31"])
def test_a_consent_of_a_day_ahead_or_long_before_is_refused(cast: Cast, given_on: str) -> None:
    text = _text(cast)
    with time_machine.travel(NOON, tick=False):
        answer = _give(cast.api(cast.coach), cast.ben, text, given_how="spoken", given_on=given_on)
    assert (answer.status_code, answer.json()["errors"][0]["code"]) == (400, "invalid_date")


def test_a_consent_is_taken_back_once_and_stays_on_record(cast: Cast) -> None:
    text, api = _text(cast), cast.api(cast.client_member)
    consent = _give(api, cast.anna, text).json()
    again = _give(api, cast.anna, text)
    assert (again.status_code, again.json()["code"]) == (409, "consent_stands")
    path = f"{_path(cast.anna)}/{consent['id']}/withdraw"
    before = api.post(path, {"withdrawn_on": "2001-01-01"}, format="json")
    assert (before.status_code, before.json()["errors"][0]["code"]) == (400, "invalid_date")
    taken = api.post(path, {}, format="json")
    assert (taken.status_code, taken.json()["standing"], taken.json()["withdrawn_how"]) == (200, False, "in_account")
    twice = api.post(path, {}, format="json")
    assert (twice.status_code, twice.json()["code"]) == (409, "consent_withdrawn")
    assert _give(api, cast.anna, text).status_code == 201
    listed = cast.api(cast.viewer).get(_path(cast.anna))
    assert listed.status_code == 404
    assert [one["standing"] for one in cast.api(cast.coach).get(_path(cast.anna)).json()["items"]] == [True, False]


def test_the_database_lets_nobody_rewrite_a_consent_or_its_words(cast: Cast) -> None:
    consent = _give(cast.api(cast.client_member), cast.anna, _text(cast)).json()
    with business_scope(cast.business_id):
        for change in (
            "UPDATE coaching_consent SET given_on = '2001-01-01'",
            "UPDATE coaching_consenttext SET text = 'Anything goes.'",
            "DELETE FROM coaching_consenttext",
        ):
            with pytest.raises(ProgrammingError), transaction.atomic(), connection.cursor() as cursor:
                cursor.execute(change)
        Consent.objects.filter(id=consent["id"]).update(withdrawn_at=NOON, withdrawn_on=NOON.date())
        with pytest.raises(ProgrammingError), transaction.atomic():
            Consent.objects.filter(id=consent["id"]).update(withdrawn_at=None)


def test_a_missing_consent_stops_nothing_and_is_shown(cast: Cast) -> None:
    text = _text(cast)
    _give(cast.api(cast.client_member), cast.anna, text)
    coach = cast.api(cast.coach)

    def missing() -> list[str]:
        listed = coach.get("/api/v1/clients", {"consent_missing": "health_data"}).json()["items"]
        return [one["name"] for one in listed]

    assert missing() == ["Ben"]
    newer = _text(cast, "Other words.")
    assert missing() == ["Anna", "Ben"]
    (shown,) = coach.get(_path(cast.anna)).json()["items"]
    assert (shown["version"], shown["newest_version"]) == (1, 2)
    assert _give(cast.api(cast.client_member), cast.anna, newer).status_code == 201
    assert missing() == ["Ben"]


def test_nobody_agrees_for_clients_whom_they_do_not_see(cast: Cast, neighbour: Cast) -> None:
    text, foreign = _text(cast), _text(neighbour)
    told = {"given_how": "spoken"}
    for api in (cast.api(cast.other_coach), neighbour.api(neighbour.owner), cast.api(cast.client_member)):
        assert _give(api, cast.ben, text, **told).status_code == 404
    unknown = [_give(cast.api(cast.coach), cast.ben, one, **told) for one in (foreign, {"id": str(uuid4())})]
    assert {(answer.status_code, answer.json()["code"]) for answer in unknown} == {(400, "unknown_object")}
    assert cast.api(cast.coach).post(TEXTS, {"kind": "other", "text": "Hm."}, format="json").status_code == 403
