"""The same key and body happens once."""

import threading
from typing import Any

import pytest
from django.db import connection, transaction

from coaching.actions.idempotency import lock_idempotency_key
from coaching.models import Client, IdempotentAnswer
from coaching.tenancy.scope import business_scope
from tests.scenario import Cast, build_business, signed_in

PATH = "/api/v1/clients"


def _post(api: Any, body: dict[str, Any], key: str = '"8e03"', path: str = PATH) -> Any:
    return api.post(path, body, format="json", HTTP_IDEMPOTENCY_KEY=key)


def _count(cast: Cast) -> int:
    with business_scope(cast.business_id):
        return Client.objects.filter(name="Dora").count()


def test_the_same_key_and_body_replays_the_answer(cast: Cast) -> None:
    api = cast.api(cast.owner)
    first, again = _post(api, {"name": "Dora"}), _post(api, {"name": "Dora"}, key="8e03")
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.content == again.content
    assert "Idempotency-Replayed" not in first.headers
    assert again.headers["Idempotency-Replayed"] == "true"
    for name in ("Location", "ETag", "Content-Type"):
        assert first.headers[name] == again.headers[name]
    assert _count(cast) == 1


def test_another_body_under_the_key_is_refused(cast: Cast) -> None:
    api = cast.api(cast.owner)
    _post(api, {"name": "Dora"})
    refused = _post(api, {"name": "Dora", "unit": "lb"})
    assert (refused.status_code, refused.json()["code"]) == (422, "idempotency_key_reused")
    assert _count(cast) == 1


def test_another_path_under_the_key_is_refused(cast: Cast) -> None:
    api = cast.api(cast.owner)
    _post(api, {"name": "Dora"})
    assert _post(api, {"name": "Dora"}, path="/api/v1/coaches").status_code == 422


def test_a_refused_request_is_evaluated_again(cast: Cast) -> None:
    api = cast.api(cast.owner)
    assert _post(api, {"name": ""}).status_code == 400
    assert _post(api, {"name": "Dora"}).status_code == 201


def test_a_key_belongs_to_its_credential(cast: Cast, neighbour: Cast) -> None:
    for api in (cast.api(cast.owner), cast.api(cast.head), neighbour.api(neighbour.owner)):
        answer = _post(api, {"name": "Dora"})
        assert answer.status_code == 201
        assert "Idempotency-Replayed" not in answer.headers


@pytest.mark.usefixtures("committed")
def test_of_many_at_once_one_is_done_and_the_others_told_to_wait() -> None:
    cast = build_business("Many At Once")
    cast.api(cast.owner)
    token = cast.tokens[cast.owner.id]
    start, answers = threading.Barrier(8), []

    def post() -> None:
        api = signed_in(token)
        start.wait()
        try:
            answers.append(_post(api, {"name": "Dora"}))
        finally:
            connection.close()

    threads = [threading.Thread(target=post) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    made = [answer for answer in answers if answer.status_code == 201]
    waiting = [answer for answer in answers if answer.status_code == 409]
    assert len(made) + len(waiting) == 8
    assert len({answer.content for answer in made}) == 1
    assert sum("Idempotency-Replayed" not in answer.headers for answer in made) == 1
    assert all(answer.headers["Retry-After"] == "1" for answer in waiting)
    assert all(answer.json()["type"] == "/docs/problems/in_progress" for answer in waiting)
    assert _count(cast) == 1
    with business_scope(cast.business_id):
        assert IdempotentAnswer.objects.count() == 1


@pytest.mark.usefixtures("committed")
def test_a_key_held_by_a_running_request_is_409_and_free_after_it() -> None:
    cast = build_business("Running")
    api = cast.api(cast.owner)
    credential_id = api.get("/api/v1/me").json()["credential"]
    taken, release = threading.Event(), threading.Event()

    def run() -> None:
        with transaction.atomic():
            assert lock_idempotency_key(credential_id=credential_id, key="8e03")
            taken.set()
            release.wait(timeout=30)
        connection.close()

    running = threading.Thread(target=run)
    running.start()
    taken.wait(timeout=30)
    refused = _post(api, {"name": "Dora"})
    release.set()
    running.join()
    assert refused.status_code == 409
    assert _post(api, {"name": "Dora"}).status_code == 201


def test_what_is_kept_of_a_body_can_not_be_guessed_from_without_the_services_key(cast: Cast, settings: Any) -> None:
    """A plain digest would tell whoever has the database the password of a new coach."""
    body, kept = {"email": "new@iron.example", "name": "New", "role": "coach", "password": "kettle over granite 7"}, []
    api = cast.api(cast.owner)
    for key in ("first key of the service " * 3, "second key of the service " * 3):
        settings.SECRET_KEY = key
        with transaction.atomic():
            answer = _post(api, body, path="/api/v1/coaches")
            assert answer.status_code == 201, answer.content
            with business_scope(cast.business_id):
                kept.append(IdempotentAnswer.objects.values_list("fingerprint", flat=True).get())
            transaction.set_rollback(True)
    assert kept[0] != kept[1]
