"""Erasing a client: who may, what it takes and leaves, and that nothing brings them back."""

from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from coaching.actions.erasures import erase_rows
from coaching.models import (
    ApiKey,
    Client,
    Membership,
    OutboxMessage,
    Person,
    Role,
    SessionToken,
)
from coaching.tenancy.client_models import client_models
from coaching.tenancy.scope import business_scope
from tests.logs.logging import check_in, post, session, set_
from tests.scenario import Cast

SINGLE = "/api/v1/check-ins"


def _erase(cast: Cast, client: Client, **headers: str) -> Any:
    path = f"/api/v1/clients/{client.id}/erasure"
    return cast.api(cast.owner).post(path, {"confirm": client.name}, format="json", **headers)


def _forget(cast: Cast, client: Client) -> None:
    with business_scope(cast.business_id):
        assert erase_rows(client_id=client.id, erased_by=cast.owner.id, now=timezone.now()) is not None


def test_the_name_must_be_confirmed_to_the_letter(cast: Cast) -> None:
    path = f"/api/v1/clients/{cast.anna.id}/erasure"
    answer = cast.api(cast.owner).post(path, {"confirm": "anna "}, format="json")
    assert (answer.status_code, answer.json()["code"]) == (422, "confirmation_differs")
    assert cast.api(cast.owner).get(f"/api/v1/clients/{cast.anna.id}").status_code == 200


def test_only_the_owner_of_the_clients_business_may(cast: Cast, neighbour: Cast) -> None:
    path = f"/api/v1/clients/{cast.anna.id}/erasure"
    sent = {"data": {"confirm": "Anna"}, "format": "json"}
    for member in (cast.head, cast.coach, cast.viewer, cast.client_member):
        assert cast.api(member).post(path, **sent).status_code == 403
    foreign = neighbour.api(neighbour.owner).post(path, **sent)
    unknown = neighbour.api(neighbour.owner).post(f"/api/v1/clients/{uuid4()}/erasure", **sent)
    assert (foreign.status_code, foreign.json()["detail"]) == (404, unknown.json()["detail"])


def test_an_erased_client_is_as_one_that_never_was_but_for_the_ledger_and_the_trail(cast: Cast) -> None:
    post(cast.api(cast.coach), session_logs=[session(cast.anna)], set_logs=[set_(cast.anna)])
    erased = _erase(cast, cast.anna)
    assert erased.status_code == 200, erased.content
    owner = cast.api(cast.owner)
    gone, never = owner.get(f"/api/v1/clients/{cast.anna.id}"), owner.get(f"/api/v1/clients/{uuid4()}")
    assert (gone.status_code, gone.json()["detail"]) == (404, never.json()["detail"])
    (row,) = owner.get("/api/v1/erasures").json()["items"]
    assert row == erased.json()
    assert (row["client_id"], row["erased_by"]) == (str(cast.anna.id), str(cast.owner.id))
    assert row["counts"]["logs_setlog"] == row["counts"]["logs_sessionlog"] == row["counts"]["coaching_client"] == 1
    (entry,) = owner.get("/api/v1/audit-entries", {"operation": "erasures.create"}).json()["items"]
    assert (entry["object_id"], entry["fields"], entry["values"]) == (str(cast.anna.id), ["confirm"], {})
    assert _erase(cast, cast.anna).status_code == 404


def test_an_erasure_again_under_its_key_is_answered_as_before(cast: Cast) -> None:
    first = _erase(cast, cast.anna, HTTP_IDEMPOTENCY_KEY="once")
    again = _erase(cast, cast.anna, HTTP_IDEMPOTENCY_KEY="once")
    assert (again.status_code, again.json()) == (200, first.json())


def test_a_key_for_them_alone_is_revoked_and_one_for_others_too_is_narrowed(cast: Cast) -> None:
    alone = cast.key("clients:read", clients=[cast.anna.id])
    cast.key("clients:read", clients=[cast.anna.id, cast.ben.id])
    whole = cast.key("clients:read")
    assert _erase(cast, cast.anna).status_code == 200
    assert alone.get("/api/v1/clients").status_code == 401
    assert len(whole.get("/api/v1/clients").json()["items"]) == 2
    with business_scope(cast.business_id):
        left = {
            ("all",) if ids is None else tuple(ids): revoked
            for ids, revoked in ApiKey.objects.values_list("client_ids", "revoked_at")
        }
    assert left[cast.ben.id,] is None
    assert left["all",] is None
    assert left[()] is not None
    assert all(cast.anna.id not in ids for ids in left)


def test_an_account_of_another_business_stays_and_loses_this_membership_only(cast: Cast, neighbour: Cast) -> None:
    person = cast.client_member.person
    with business_scope(neighbour.business_id):
        elsewhere = Membership.objects.create(person=person, role=Role.CLIENT, time_zone="UTC")
    there, here = neighbour.api(elsewhere), cast.api(cast.client_member)
    assert (there.get("/api/v1/me").status_code, here.get("/api/v1/me").status_code) == (200, 200)
    assert _erase(cast, cast.anna).status_code == 200
    assert (there.get("/api/v1/me").status_code, here.get("/api/v1/me").status_code) == (200, 401)
    assert Person.objects.filter(id=person.id).exists()
    with business_scope(cast.business_id):
        assert not Membership.objects.filter(id=cast.client_member.id).exists()


def test_mails_to_an_account_that_stays_elsewhere_are_emptied_here_only(cast: Cast, neighbour: Cast) -> None:
    person = cast.client_member.person
    with business_scope(neighbour.business_id):
        Membership.objects.create(person=person, role=Role.CLIENT, time_zone="UTC")
    for business_id in (cast.business_id, neighbour.business_id):
        with business_scope(business_id):
            OutboxMessage.objects.create(
                kind="password_changed",
                dedupe_key="one",
                payload={"person": str(person.id)},
                rendered={"to": person.email},
                last_problem=person.email,
                state="sent",
                due_at=timezone.now(),
            )
    assert _erase(cast, cast.anna).status_code == 200
    left = []
    for business_id in (cast.business_id, neighbour.business_id):
        with business_scope(business_id):
            left.append(OutboxMessage.objects.values_list("payload", "rendered", "last_problem").get())
    assert left == [({}, None, ""), ({"person": str(person.id)}, {"to": person.email}, person.email)]


def test_somebody_of_the_team_who_was_coached_too_keeps_their_place(cast: Cast) -> None:
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.ben.id).update(membership=cast.other_coach)
    assert _erase(cast, cast.ben).status_code == 200
    assert cast.api(cast.other_coach).get("/api/v1/clients").status_code == 200


def test_a_message_about_them_is_withdrawn_and_one_about_others_stays(cast: Cast) -> None:
    with business_scope(cast.business_id):
        for client in (cast.anna, cast.ben):
            for state in ("queued", "retrying", "sent"):
                OutboxMessage.objects.create(
                    kind="missed_note",
                    dedupe_key=f"{client.name}-{state}",
                    payload={"client": str(client.id), "planned_sessions": []},
                    rendered={"to": client.email, "subject": client.name, "text": "", "html": ""},
                    last_problem=client.email,
                    state=state,
                    due_at=timezone.now(),
                )
    assert _erase(cast, cast.anna).status_code == 200
    with business_scope(cast.business_id):
        rows: dict[str, Any] = {
            key: (state, payload, rendered, problem)
            for key, state, payload, rendered, problem in OutboxMessage.objects.values_list(
                "dedupe_key", "state", "payload", "rendered", "last_problem"
            )
        }
    told = "The person whom it is about was erased."
    assert rows["Anna-queued"] == rows["Anna-retrying"] == ("withdrawn", {}, None, told)
    assert rows["Anna-sent"] == ("sent", {}, None, "")
    assert {rows[f"Ben-{state}"][0] for state in ("queued", "retrying", "sent")} == {"queued", "retrying", "sent"}
    assert all(rows[f"Ben-{state}"][2]["subject"] == "Ben" for state in ("queued", "retrying", "sent"))


def test_it_takes_as_many_statements_for_much_as_for_little(cast: Cast) -> None:
    counts = []
    for client, logs in ((cast.ben, 1), (cast.carl, 25)):
        post(
            cast.api(cast.owner),
            session_logs=[session(client)],
            set_logs=[set_(client, f"s1-{number}", set_number=number) for number in range(1, logs + 1)],
            check_ins=[check_in(client, f"c{number}") for number in range(logs)],
        )
        with CaptureQueriesContext(connection) as statements:
            assert _erase(cast, client).status_code == 200
        counts.append(len(statements))
    assert counts[0] == counts[1] < 80


def test_the_service_can_neither_change_nor_delete_the_ledger(cast: Cast) -> None:
    from django.db import ProgrammingError, transaction

    _forget(cast, cast.anna)
    with business_scope(cast.business_id):
        for change in ("UPDATE coaching_erasure SET counts = '{}'", "DELETE FROM coaching_erasure"):
            with pytest.raises(ProgrammingError), transaction.atomic(), connection.cursor() as cursor:
                cursor.execute(change)


def test_an_account_that_is_in_a_business_can_not_be_forgotten(cast: Cast) -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT forget_account(%s)", [cast.coach.person_id])
        assert cursor.fetchone() == (False,)
    assert SessionToken.objects.count() == 0
    assert Person.objects.filter(id=cast.coach.person_id).exists()


def test_the_rows_of_a_client_are_found_by_an_index_in_every_table_of_logs(cast: Cast) -> None:
    tables = [one.table for one in client_models() if one.table.startswith("logs_") and one.table != "logs_logimport"]
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT c.relname::text FROM pg_class c WHERE c.relname = ANY(%s) AND NOT EXISTS (SELECT FROM pg_index i"
            " JOIN pg_attribute a ON a.attrelid = c.oid AND a.attname = 'client_id'"
            " WHERE i.indrelid = c.oid AND a.attnum = ANY((i.indkey::int2[])[0:1]))",
            [tables],
        )
        assert cursor.fetchall() == []
