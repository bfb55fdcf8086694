"""Exports, asked for over the API and made by the worker's job."""

import csv
import io
import json
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from typing import Any
from uuid import UUID

import pytest
import time_machine
from django.apps import apps
from django.db import connection, transaction

from coaching import registry
from coaching.actions import export_files, operations
from coaching.actions.due_work import run_due_jobs
from coaching.actions.operations import run_operations
from coaching.exports.cells import plain
from coaching.exports.columns import columns_of
from coaching.exports.tables import TEAMS
from coaching.models import AuditEntry, Client, Operation, OperationPart
from coaching.tenancy.client_models import client_models
from coaching.tenancy.scope import business_scope
from tests.architecture.world import AFTER, build_world
from tests.scenario import Cast, build_business


@pytest.fixture(scope="module")
def one_world(django_db_setup: None, django_db_blocker: Any) -> Iterator[tuple[Cast, dict[str, str]]]:
    """A cast with one object of every kind, made once for these tests, and rolled back after them."""
    with django_db_blocker.unblock(), transaction.atomic():
        without_limits_of_a_transaction()
        cast = build_business("Northern Iron")
        with time_machine.travel(AFTER, tick=False):
            ids = build_world(cast)
        yield cast, ids
        transaction.set_rollback(True)


@pytest.fixture
def cast(one_world: tuple[Cast, dict[str, str]], django_db_blocker: Any) -> Iterator[Cast]:
    with django_db_blocker.unblock(), transaction.atomic():
        yield replace(one_world[0], tokens={})
        transaction.set_rollback(True)


@pytest.fixture
def world(cast: Cast, one_world: tuple[Cast, dict[str, str]]) -> Iterator[dict[str, str]]:
    with time_machine.travel(AFTER, tick=False):
        yield one_world[1]


@pytest.fixture
def neighbour(cast: Cast) -> Cast:
    return build_business("Harbour Strength")


def without_limits_of_a_transaction() -> None:
    """Lift the limits of the service's role: this one is open while all these tests run."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT set_config(name, '0', true) FROM pg_settings"
            " WHERE name IN ('transaction_timeout', 'idle_in_transaction_session_timeout')"
        )


def ask(cast: Cast, who: Any, **body: Any) -> Any:
    return cast.api(who).post("/api/v1/exports", body, format="json")


def work(now: Any = AFTER) -> None:
    run_due_jobs(jobs=registry.export_jobs, now=now, seconds=20)


def result(cast: Cast, who: Any, operation_id: str) -> Any:
    return cast.api(who).get(f"/api/v1/operations/{operation_id}/result")


def archive(answer: Any) -> zipfile.ZipFile:
    assert answer.status_code == 200, answer.content
    return zipfile.ZipFile(io.BytesIO(answer.content))


def exported(cast: Cast, who: Any, **body: Any) -> zipfile.ZipFile:
    asked = ask(cast, who, **body)
    assert asked.status_code == 202, asked.content
    work()
    return archive(result(cast, who, asked.json()["id"]))


def tables(found: zipfile.ZipFile) -> dict[str, Any]:
    read: dict[str, Any] = json.loads(found.read("record.json"))["tables"]
    return read


def everything(found: zipfile.ZipFile) -> str:
    return "\n".join(found.read(name).decode() for name in found.namelist())


def test_an_owner_gets_a_clients_whole_record_row_by_row(cast: Cast, world: dict[str, str]) -> None:
    found = tables(exported(cast, cast.owner, client=world["client_id"]))
    with business_scope(cast.business_id):
        for one in client_models():
            name = one.model._meta.label_lower.replace(".", "_")
            if name not in found:
                continue
            path = "__".join(column.removesuffix("_id") for column, _ in one.keys)
            columns = columns_of(one.model)
            rows = one.model._default_manager.filter(**{path: cast.anna.id}).order_by("id").values_list(*columns)
            known = [row["id"] for row in found[name]]
            expected = [dict(zip(columns, map(plain, row), strict=True)) for row in rows]
            if name == "coaching_operation":
                # The export itself has moved on since.
                continue
            assert found[name] == json.loads(json.dumps(expected)), name
            assert known == [row["id"] for row in expected]
    assert found["coaching_client"][0]["name"] == "Anna"
    assert found["logs_setlog"][0]["exercise__key"] == "back-squat"
    assert found["programs_plannedsession"][0]["prescribed"]
    assert found["logs_checkin"][0]["answers"] == {"mood": 3}
    assert found["coaching_checkinformversion"][0]["questions"][0]["text"] == "Mood?"
    assert found["coaching_consenttext"][0]["text"] == "We keep what you log."


def test_each_table_stands_as_a_sheet_too_with_as_many_rows(cast: Cast, world: dict[str, str]) -> None:
    found = exported(cast, cast.owner, client=world["client_id"])
    document = tables(found)
    assert set(found.namelist()) == {"README.txt", "record.json", *(f"{name}.csv" for name in document)}
    for name, rows in document.items():
        text = found.read(f"{name}.csv").decode("utf-8-sig")
        read = list(csv.DictReader(io.StringIO(text, newline="")))
        assert [row["id"] for row in read] == [row["id"] for row in rows]


def test_corrections_are_in_the_record(cast: Cast, world: dict[str, str]) -> None:
    path = f"/api/v1/set-logs/{world['set-logs']}"
    changed = cast.api(cast.owner).patch(path, {"reps": 7}, format="json", HTTP_IF_MATCH="*")
    assert changed.status_code == 200, changed.content
    found = tables(exported(cast, cast.owner, client=world["client_id"]))
    assert [row["log_id"] for row in found["logs_logrevision"]] == [world["set-logs"]]


def test_a_clients_own_export_leaves_out_what_the_team_alone_may_read(cast: Cast, world: dict[str, str]) -> None:
    own = tables(exported(cast, cast.client_member, client=world["client_id"]))
    teams = tables(exported(cast, cast.owner, client=world["client_id"]))
    hidden = {label.lower().replace(".", "_") for label in TEAMS}
    assert hidden & own.keys() == set()
    assert teams.keys() - own.keys() == hidden
    assert {row["actor_id"] for row in own["coaching_auditentry"]} == {str(cast.client_member.id)}
    assert own["logs_setlog"] == teams["logs_setlog"]


def test_nobody_asks_for_more_than_their_role_allows(cast: Cast, world: dict[str, str]) -> None:
    client = world["client_id"]
    assert ask(cast, cast.coach, client=client).status_code == 403
    assert ask(cast, cast.viewer, client=client).status_code == 403
    assert ask(cast, cast.client_member, client=str(cast.ben.id)).status_code == 400
    assert ask(cast, cast.client_member, business=True).status_code == 403
    assert ask(cast, cast.head, business=True).status_code == 403
    assert ask(cast, cast.head, audit={}).status_code == 403
    assert ask(cast, cast.owner, client=client, business=True).status_code == 400
    assert ask(cast, cast.owner).status_code == 400


def test_a_client_never_gets_the_teams_file_of_their_record(cast: Cast, world: dict[str, str]) -> None:
    made = ask(cast, cast.owner, client=world["client_id"]).json()["id"]
    work()
    assert result(cast, cast.client_member, made).status_code == 404
    assert cast.api(cast.client_member).get(f"/api/v1/operations/{made}").status_code == 404
    assert result(cast, cast.owner, made).status_code == 200


def test_no_export_holds_a_word_of_the_neighbour(cast: Cast, neighbour: Cast, world: dict[str, str]) -> None:
    build_world(neighbour)
    with business_scope(neighbour.business_id):
        Client.objects.update(name="Canary Neighbour")
        ids = {str(one) for one in Client.objects.values_list("id", flat=True)}
    for body in ({"client": world["client_id"]}, {"business": True}, {"audit": {}}):
        text = everything(exported(cast, cast.owner, **body))
        assert "Canary" not in text
        assert "harbour" not in text.lower()
        assert not [one for one in ids if one in text]
        assert str(neighbour.business_id) not in text


def test_a_clients_export_says_nothing_of_another_client(cast: Cast, world: dict[str, str]) -> None:
    text = everything(exported(cast, cast.owner, client=world["client_id"]))
    assert str(cast.ben.id) not in text
    assert "ben@" not in text


def test_a_business_gets_every_table_but_no_credential(cast: Cast, world: dict[str, str]) -> None:
    found = exported(cast, cast.owner, business=True)
    document = tables(found)
    assert {row["name"] for row in document["coaching_client"]} == {"Anna", "Ben", "Carl"}
    assert "password" not in document["coaching_person"][0]
    assert "digest" not in document["coaching_apikey"][0]
    with business_scope(cast.business_id):
        assert len(document["logs_flag"]) == apps.get_model("logs", "Flag").objects.count() > 0


def test_the_trail_is_exported_by_its_filters(cast: Cast, world: dict[str, str]) -> None:
    found = tables(exported(cast, cast.owner, audit={"operation": "places.create"}))
    assert len(found["coaching_auditentry"]) == 1
    assert found["coaching_auditentry"][0]["operation"] == "places.create"
    day = AFTER.date()
    later = tables(exported(cast, cast.owner, audit={"from": str(day + timedelta(days=1))}))
    assert later["coaching_auditentry"] == []
    today = tables(exported(cast, cast.owner, audit={"from": str(day), "to": str(day)}))
    assert len(today["coaching_auditentry"]) > 5


def test_an_export_is_written_down_when_asked_for_and_when_taken(cast: Cast, world: dict[str, str]) -> None:
    made = ask(cast, cast.owner, client=world["client_id"])
    assert made["Location"] == f"/api/v1/operations/{made.json()['id']}"
    assert made["Retry-After"] == "2"
    work()
    result(cast, cast.owner, made.json()["id"])
    with business_scope(cast.business_id):
        entries = AuditEntry.objects.filter(object_id=made.json()["id"]).order_by("operation")
        assert [(one.operation, one.values.get("client")) for one in entries] == [
            ("exports.create", world["client_id"]),
            ("operations.result", None),
        ]
        assert {one.address for one in entries} == {"127.0.0.1"}


def test_a_file_is_private_named_and_kept_for_a_day(cast: Cast, world: dict[str, str]) -> None:
    made = ask(cast, cast.owner, client=world["client_id"]).json()["id"]
    assert result(cast, cast.owner, made).status_code == 409
    work()
    told = cast.api(cast.owner).get(f"/api/v1/operations/{made}").json()
    assert (told["state"], told["progress"]) == ("succeeded", 1)
    answer = cast.api(cast.owner).get(told["result_url"], HTTP_ACCEPT="application/zip")
    assert answer["Content-Disposition"] == f'attachment; filename="client-export-{AFTER:%Y-%m-%d}.zip"'
    assert "no-store" in answer["Cache-Control"]
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Type"] == "application/zip"
    later = AFTER + timedelta(hours=25)
    with time_machine.travel(later, tick=False), business_scope(cast.business_id):
        pass
    work(later)
    with business_scope(cast.business_id):
        assert not OperationPart.objects.filter(operation_id=made).exists()
    assert result(cast, cast.owner, made).status_code == 410


def test_what_is_cancelled_is_never_made(cast: Cast, world: dict[str, str]) -> None:
    made = ask(cast, cast.owner, client=world["client_id"]).json()["id"]
    api = cast.api(cast.owner)
    assert api.delete(f"/api/v1/operations/{made}").json()["state"] == "cancelled"
    work()
    assert api.get(f"/api/v1/operations/{made}").json()["state"] == "cancelled"
    assert result(cast, cast.owner, made).status_code == 409
    done = ask(cast, cast.owner, client=world["client_id"]).json()["id"]
    work()
    assert api.delete(f"/api/v1/operations/{done}").status_code == 409


def test_exports_are_few_a_day(cast: Cast, world: dict[str, str]) -> None:
    for _ in range(3):
        assert ask(cast, cast.owner, business=True).status_code == 202
    refused = ask(cast, cast.owner, business=True)
    assert refused.status_code == 429
    assert int(refused["Retry-After"]) == 86400


def lose_worker(operation_id: str) -> None:
    """Leave an operation as a worker that was killed leaves it, its lease run out."""
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE coaching_operation SET state = 'running', lease_token = gen_random_uuid(), attempts = attempts + 1,"
            " lease_until = clock_timestamp() - interval '1 second' WHERE id = %s",
            [operation_id],
        )


def test_another_worker_does_what_a_killed_one_left_and_five_are_enough(cast: Cast, world: dict[str, str]) -> None:
    made = ask(cast, cast.owner, client=world["client_id"]).json()["id"]
    with business_scope(cast.business_id):
        lose_worker(made)
    work()
    assert archive(result(cast, cast.owner, made)).testzip() is None
    poisoned = ask(cast, cast.owner, client=world["client_id"]).json()["id"]
    with business_scope(cast.business_id):
        for _ in range(5):
            lose_worker(poisoned)
    work()
    told = cast.api(cast.owner).get(f"/api/v1/operations/{poisoned}").json()
    assert told["state"] == "failed"
    assert "5 times" in told["problem"]


def test_a_worker_at_it_is_left_alone(cast: Cast, world: dict[str, str]) -> None:
    made = ask(cast, cast.owner, client=world["client_id"]).json()["id"]
    with business_scope(cast.business_id):
        lose_worker(made)
        Operation.objects.filter(id=made).update(lease_until="2999-01-01T00:00:00Z")
    assert run_operations(cast.business_id, AFTER) is False
    assert cast.api(cast.owner).get(f"/api/v1/operations/{made}").json()["state"] == "running"


def test_erasing_a_client_deletes_the_files_that_hold_them(cast: Cast, world: dict[str, str]) -> None:
    theirs = ask(cast, cast.owner, client=world["client_id"]).json()["id"]
    whole = ask(cast, cast.owner, business=True).json()["id"]
    work()
    path = f"/api/v1/clients/{world['client_id']}/erasure"
    erased = cast.api(cast.owner).post(path, {"confirm": "Anna"}, format="json")
    assert erased.status_code == 200, erased.content
    assert result(cast, cast.owner, theirs).status_code == 404
    assert result(cast, cast.owner, whole).status_code == 410
    with business_scope(cast.business_id):
        assert not OperationPart.objects.filter(operation_id__in=[UUID(theirs), UUID(whole)]).exists()


def test_a_head_coach_never_gets_an_owners_file_which_tells_of_the_trail(cast: Cast, world: dict[str, str]) -> None:
    owners = ask(cast, cast.owner, client=world["client_id"]).json()["id"]
    heads = ask(cast, cast.head, client=world["client_id"]).json()["id"]
    work()
    assert result(cast, cast.head, owners).status_code == 404
    assert "coaching_auditentry" not in tables(archive(result(cast, cast.head, heads)))
    assert result(cast, cast.owner, heads).status_code == 200


def test_the_last_day_of_the_calendar_is_a_day_like_any_other(cast: Cast, world: dict[str, str]) -> None:
    found = tables(exported(cast, cast.owner, audit={"from": "0001-01-01", "to": "9999-12-31"}))
    assert len(found["coaching_auditentry"]) > 5


def test_a_table_of_many_pages_holds_each_row_once(
    cast: Cast, world: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = tables(exported(cast, cast.owner, business=True))
    monkeypatch.setattr(export_files, "ROWS_AT_ONCE", 1)
    monkeypatch.setattr(export_files, "ROWS_A_TRANSACTION", 2)
    paged = tables(exported(cast, cast.owner, business=True))
    for name in whole.keys() - {"coaching_auditentry", "coaching_operation"}:
        assert paged[name] == whole[name], name


def test_a_file_that_is_deleted_while_it_is_read_is_gone_and_never_handed_out_short(
    cast: Cast, world: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(operations, "PART_BYTES", 1_000)
    made = ask(cast, cast.owner, client=world["client_id"]).json()["id"]
    work()
    with business_scope(cast.business_id):
        OperationPart.objects.filter(operation_id=made, number__gt=2).delete()
    assert result(cast, cast.owner, made).status_code == 410
