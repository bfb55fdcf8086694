"""After an erasure nothing that the person ever was stands in the database, in Redis or in the logs."""

import logging
from datetime import timedelta
from typing import Any

import pytest
import redis
import time_machine
from django.conf import settings
from django.core.management import CommandError, call_command

from coaching.actions.operations import run_operations
from coaching.actions.outbox import deliver_due_messages
from coaching.models import (
    AuditEntry,
    Client,
    IdempotentAnswer,
    Membership,
    OperationPart,
    OutboxMessage,
    Person,
    SessionToken,
)
from coaching.tenancy.client_models import client_models
from coaching.tenancy.scope import business_scope
from logs.actions.alerts import detect_missed
from logs.actions.digests import make_digests
from logs.models import LogBatch, LogImport
from tests.architecture.world import AFTER, build_world
from tests.coaching.erasure.canaries import TEXT, dump, plant
from tests.logs.logging import BATCHES, check_in, session, set_
from tests.scenario import Cast, build_business
from tests.smtp_server import SmtpSink

NAME = f"{TEXT} Annasdotter"
EMAIL = "quokkaberry@sundew.example"
WORDS = [TEXT, "quokkaberry", "wombatgrape", "7391.25", "91.37"]


def _lived(cast: Cast, smtp: SmtpSink) -> None:
    """Let a client be written about everywhere: logs, waiting sets, refusals, files, mails, kept answers."""
    owner, app = cast.api(cast.owner), cast.key("logs:write", clients=[cast.anna.id])
    sent = owner.patch(
        f"/api/v1/clients/{cast.anna.id}", {"name": NAME, "email": EMAIL}, format="json", HTTP_IF_MATCH="*"
    )
    assert sent.status_code == 200, sent.content
    key = {"HTTP_IDEMPOTENCY_KEY": "lived"}
    logged = app.post(
        BATCHES,
        {
            "session_logs": [
                session(cast.anna, "wombatgrape-1", notes=TEXT, local_date="2031-03-12", duration_min=91.37)
            ],
            "set_logs": [
                set_(cast.anna, "wombatgrape-2", session_external_id="wombatgrape-1", load_kg=91.37),
                set_(cast.anna, "wombatgrape-3", session_external_id="wombatgrape-none", notes=TEXT),
                set_(cast.anna, "wombatgrape-4", exercise="wombatgrape-press"),
            ],
            "check_ins": [check_in(cast.anna, "wombatgrape-5", local_date="2031-03-12", notes=TEXT)],
        },
        format="json",
        **key,
    )
    assert [one["outcome"] for one in logged.json()["items"]] == ["created", "created", "held", "refused", "created"]
    app.post(
        BATCHES,
        {"check_ins": [check_in(cast.anna, "wombatgrape-5", local_date="2031-03-12", notes="wombatgrape", revision=1)]},
        format="json",
    )
    held = set_(cast.anna, "wombatgrape-6", session_external_id="wombatgrape-none")
    assert app.post("/api/v1/set-logs", held, format="json", HTTP_IDEMPOTENCY_KEY="held").status_code == 200
    place = {"name": "wombatgrape garage", "kind": "home", "equipment": []}
    owner.post(f"/api/v1/clients/{cast.anna.id}/places", place, format="json", HTTP_IDEMPOTENCY_KEY="place")
    text = owner.post("/api/v1/consent-texts", {"kind": "messages", "text": "We write to you."}, format="json").json()
    agreed = {"text": text["id"], "given_how": "spoken"}
    assert owner.post(f"/api/v1/clients/{cast.anna.id}/consents", agreed, format="json").status_code == 201
    table = f"Client,Date,Exercise,Reps\n{NAME},2031-03-10,Back squat,5\n"
    made = owner.post("/api/v1/log-imports", table, content_type="text/csv").json()
    owner.post(f"/api/v1/log-imports/{made['id']}/dry-run", {}, format="json")
    for wanted in ({"client": str(cast.anna.id)}, {"business": True}):
        asked = owner.post("/api/v1/exports", wanted, format="json")
        assert asked.status_code == 202, asked.content
    while run_operations(cast.business_id, AFTER):
        pass
    detect_missed(cast.business_id, AFTER + timedelta(days=1))
    make_digests(cast.business_id, AFTER + timedelta(days=2))
    smtp.answer("450 4.2.0 Later")
    while deliver_due_messages(cast.business_id, AFTER + timedelta(days=2)):
        pass
    while deliver_due_messages(cast.business_id, AFTER + timedelta(days=3)):
        pass
    assert any(TEXT in letter.text for letter in smtp.letters)


@pytest.fixture
def erased(committed: None, smtp: SmtpSink, caplog: Any) -> Any:
    """A business whose Anna has lived, was given canaries, and was erased; and what was planted."""
    caplog.set_level(logging.INFO)
    with time_machine.travel(AFTER, tick=False):
        cast = build_business("Sundew Strength")
        build_world(cast)
        with business_scope(cast.business_id):
            Person.objects.filter(id=cast.client_member.person_id).update(name=NAME, email=EMAIL)
        cast.api(cast.client_member).get("/api/v1/me")
        _lived(cast, smtp)
        planted, columns = plant(cast.business_id, cast.anna.id)
        with business_scope(cast.business_id):
            name = Client.objects.get(id=cast.anna.id).name
        before = dump([cast.business_id])
        asked = f"/api/v1/clients/{cast.anna.id}/erasure"
        answer = cast.api(cast.owner).post(asked, {"confirm": name}, format="json", HTTP_IDEMPOTENCY_KEY="gone")
        assert answer.status_code == 200, answer.content
    # The mail server is not ours.
    written = "\n".join(record.getMessage() for record in caplog.records if record.name != "mail.log")
    return cast, planted | set(WORDS), columns, before, answer.json(), written


def test_nothing_of_an_erased_client_is_found_in_the_dump_in_redis_or_in_the_logs(erased: Any) -> None:
    cast, canaries, columns, before, answer, written = erased
    lost = {canary for canary in canaries if canary not in before} - {"7391.25"}
    assert lost == set()
    assert len(columns) > 60, columns
    after = dump([cast.business_id])
    assert {canary for canary in canaries if canary in after} == set()
    assert {canary for canary in canaries if canary in _redis()} == set()
    assert TEXT not in written
    assert "wombatgrape" not in written
    call_command("find_in_database", *WORDS)
    with pytest.raises(CommandError, match="Found in"):
        call_command("find_in_database", "Sundew Strength")
    with business_scope(cast.business_id):
        assert Client.objects.filter(id__in=[cast.ben.id, cast.carl.id]).count() == 2
        assert not Person.objects.filter(id=cast.client_member.person_id).exists()
        assert not Membership.objects.filter(id=cast.client_member.id).exists()
        assert not SessionToken.objects.filter(membership_id=cast.client_member.id).exists()
        assert LogBatch.objects.count() >= 2
        assert OutboxMessage.objects.filter(state="sent").exists()
        assert set(OutboxMessage.objects.filter(state="sent").values_list("rendered", flat=True)) == {None}
        assert LogImport.objects.get(client=None).state == "forgotten"
        assert not IdempotentAnswer.objects.exclude(key="gone").exists()
        # Packed, so that a search would not find them.
        assert not OperationPart.objects.exists()
        assert AuditEntry.objects.get(operation="erasures.create").object_id == str(cast.anna.id)
    _assert_emptied(cast)
    assert answer["counts"]["logs_setlog"] == 2
    assert answer["counts"]["coaching_apikey"] == 1
    # Two of hers, one of them asked for by herself; and the business's.
    assert answer["counts"]["coaching_operation"] == 3
    assert answer["counts"]["coaching_consent"] == 2


def _redis() -> str:
    server = redis.Redis.from_url(settings.REDIS_URL)
    kept = []
    for name in server.scan_iter():
        kept += [name, server.dump(name) or b""]
    return b"\n".join(kept).decode(errors="replace")


def _assert_emptied(cast: Cast) -> None:
    tables = {one.table for one in client_models()}
    assert {"logs_setlog", "logs_logrevision", "programs_assignmentversion", "coaching_invitation"} <= tables
    with business_scope(cast.business_id):
        for one in client_models():
            way = one.model.objects.filter(**{_path(one): cast.anna.id})  # type: ignore[attr-defined]
            assert not way.exists(), one.table


def _path(one: Any) -> str:
    return "__".join(column.removesuffix("_id") for column, _table in one.keys) + "_id"
