"""Logs of an erased client that come later, or at the same time: refused, never bringing them back."""

from threading import Thread
from typing import Any
from uuid import UUID

import orjson
from django.db import connection, connections
from django.utils import timezone

from coaching.actions.erasures import erase_rows
from coaching.models import Client, Place
from coaching.tenancy.scope import business_scope
from logs.models import CheckIn, HeldItem, LogBatch, SessionLog, SetLog
from tests.logs.logging import BATCHES, check_in, outcomes, session, set_
from tests.scenario import Cast, build_business

SINGLE = "/api/v1/check-ins"


def _erase(cast: Cast, client: Client, **headers: str) -> Any:
    path = f"/api/v1/clients/{client.id}/erasure"
    return cast.api(cast.owner).post(path, {"confirm": client.name}, format="json", **headers)


def test_later_logs_are_refused_in_a_batch_and_singly_and_under_an_old_key(cast: Cast) -> None:
    app = cast.key("logs:write")
    batch = {"check_ins": [check_in(cast.anna), check_in(cast.ben)]}
    first = app.post(BATCHES, batch, format="json", HTTP_IDEMPOTENCY_KEY="batch")
    single = app.post(SINGLE, check_in(cast.anna, "c2"), format="json", HTTP_IDEMPOTENCY_KEY="single")
    assert (outcomes(first.json()), single.status_code) == (["created", "created"], 201)
    assert _erase(cast, cast.anna).status_code == 200

    again = app.post(BATCHES, batch, format="json", HTTP_IDEMPOTENCY_KEY="single-2").json()
    assert outcomes(again) == ["refused", "unchanged"]
    assert again["items"][0]["problem"]["code"] == "client_erased"
    answer = app.post(SINGLE, check_in(cast.anna, "c2"), format="json", HTTP_IDEMPOTENCY_KEY="single")
    assert (answer.status_code, answer.json()["code"]) == (400, "client_erased")
    held = app.post("/api/v1/set-logs", set_(cast.anna), format="json")
    assert (held.status_code, held.json()["code"]) == (400, "client_erased")
    with business_scope(cast.business_id):
        assert not CheckIn.objects.filter(client_id=cast.anna.id).exists()
        assert not HeldItem.objects.exists()
        assert not Client.objects.filter(id=cast.anna.id).exists()


def test_an_old_answer_that_names_them_is_not_replayed(cast: Cast) -> None:
    app = cast.key("logs:write")
    batch = {"check_ins": [check_in(cast.anna, sleep="much"), check_in(cast.ben)]}
    app.post(BATCHES, batch, format="json", HTTP_IDEMPOTENCY_KEY="batch")
    others = {"check_ins": [check_in(cast.ben, "c9")]}
    app.post(BATCHES, others, format="json", HTTP_IDEMPOTENCY_KEY="others")
    assert _erase(cast, cast.anna).status_code == 200
    again = app.post(BATCHES, batch, format="json", HTTP_IDEMPOTENCY_KEY="batch")
    assert "Idempotency-Replayed" not in again.headers
    assert again.json()["items"][0]["problem"]["code"] == "client_erased"
    assert "Idempotency-Replayed" in app.post(BATCHES, others, format="json", HTTP_IDEMPOTENCY_KEY="others").headers


def test_nothing_of_a_refused_later_log_is_kept(cast: Cast) -> None:
    app = cast.key("logs:write")
    assert _erase(cast, cast.anna).status_code == 200
    sent = {"check_ins": [check_in(cast.anna, "wombatgrape", sleep="wombatgrape", notes="wombatgrape")]}
    answer = app.post(BATCHES, sent, format="json", HTTP_IDEMPOTENCY_KEY="late").json()
    assert [one["code"] for one in answer["items"][0]["problem"]["errors"]] == ["client_erased"]
    with business_scope(cast.business_id):
        assert "wombatgrape" not in str(LogBatch.objects.get().problems)
        with connection.cursor() as cursor:
            cursor.execute("SELECT convert_from(body, 'UTF8') FROM coaching_idempotentanswer WHERE key = 'late'")
            assert "wombatgrape" not in cursor.fetchone()[0]


def test_only_those_who_could_write_their_logs_are_told_that_they_were_erased(cast: Cast, neighbour: Cast) -> None:
    narrowed = cast.key("logs:write", clients=[cast.anna.id, cast.ben.id])
    elsewhere = cast.key("logs:write", clients=[cast.ben.id])
    assert _erase(cast, cast.anna).status_code == 200

    def code(api: Any) -> str:
        answer = api.post(SINGLE, check_in(cast.anna), format="json")
        assert answer.status_code == 400
        found: str = answer.json()["code"]
        return found

    told = [cast.api(cast.owner), cast.api(cast.head), cast.api(cast.coach), narrowed, cast.key("logs:write")]
    assert {code(api) for api in told} == {"client_erased"}
    others = [cast.api(cast.other_coach), elsewhere, neighbour.api(neighbour.owner), neighbour.key("logs:write")]
    assert {code(api) for api in others} == {"unknown_object"}


def _send(business_id: UUID, client: Client, answers: list[Any], api: Any) -> None:
    try:
        answers.append(
            api.post(BATCHES, {"session_logs": [session(client)], "set_logs": [set_(client)]}, format="json")
        )
    finally:
        connections.close_all()


def test_a_log_in_flight_waits_for_the_erasure_and_is_refused(committed: None) -> None:
    cast = build_business("Copper Hill")
    app, answers = cast.key("logs:write"), []
    with business_scope(cast.business_id):
        erase_rows(client_id=cast.anna.id, erased_by=None, now=timezone.now())
        sender = Thread(target=_send, args=(cast.business_id, cast.anna, answers, app))
        sender.start()
        _wait_for_a_lock()
    sender.join(timeout=30)
    (answer,) = answers
    assert outcomes(answer.json()) == ["refused", "refused"]
    assert {one["problem"]["code"] for one in answer.json()["items"]} == {"client_erased"}
    with business_scope(cast.business_id):
        assert not SessionLog.objects.exists()
        assert not HeldItem.objects.exists()


def test_an_erasure_waits_for_a_log_in_flight_and_erases_it(committed: None) -> None:
    cast = build_business("Copper Hill")
    owner, answers = cast.api(cast.owner), []
    eraser = Thread(target=lambda: answers.append(_closing(cast, cast.anna)))
    with business_scope(cast.business_id):
        from logs.actions.batch_records import record_log_batch
        from logs.api.batch_body import read_batch
        from tests.programs.documents import acting

        items = read_batch(orjson.dumps({"session_logs": [session(cast.anna)], "set_logs": [set_(cast.anna)]})).items
        record_log_batch(actor=acting(cast.owner), source=None, items=items, strict=False, now=timezone.now())
        eraser.start()
        _wait_for_a_lock()
    eraser.join(timeout=30)
    assert [answer.status_code for answer in answers] == [200]
    assert answers[0].json()["counts"]["logs_setlog"] == 1
    assert owner.get("/api/v1/set-logs").json()["items"] == []
    with business_scope(cast.business_id):
        assert not SetLog.objects.exists()


def test_a_row_that_is_written_for_them_meanwhile_does_not_outlive_them(committed: None) -> None:
    cast = build_business("Copper Hill")
    owner, answers = cast.api(cast.owner), []
    path, place = f"/api/v1/clients/{cast.anna.id}/places", {"name": "Shed", "kind": "home", "equipment": []}

    def write() -> None:
        try:
            answers.append(owner.post(path, place, format="json"))
        finally:
            connections.close_all()

    with business_scope(cast.business_id):
        erase_rows(client_id=cast.anna.id, erased_by=None, now=timezone.now())
        writer = Thread(target=write)
        writer.start()
        _wait_for_a_lock()
    writer.join(timeout=30)
    assert [(answer.status_code, answer.json()["code"]) for answer in answers] == [(409, "conflict")]
    with business_scope(cast.business_id):
        assert not Place.objects.exists()


def _closing(cast: Cast, client: Client) -> Any:
    try:
        return _erase(cast, client)
    finally:
        connections.close_all()


def _wait_for_a_lock() -> None:
    """Wait until another of the service's sessions waits for a lock."""
    with connection.cursor() as cursor:
        for _ in range(2_000):
            cursor.execute(
                "SELECT pg_stat_clear_snapshot(), pg_sleep(0.005), count(*) FROM pg_stat_activity"
                " WHERE datname = current_database() AND wait_event_type = 'Lock'"
            )
            if (cursor.fetchone() or (None, None, 0))[2]:
                return
    raise AssertionError("Nobody waits for a lock.")
