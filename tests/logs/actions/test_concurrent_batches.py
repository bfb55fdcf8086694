"""Two batches for one client at once, on connections of their own: neither passes the other by."""

from threading import Barrier, Thread
from uuid import UUID

import orjson
from django.db import connections
from django.utils import timezone

from coaching.policy import Principal, Scope
from coaching.tenancy.scope import business_scope
from logs.actions.batch_records import record_log_batch
from logs.api.batch_body import read_batch
from logs.models import HeldItem, SessionLog, SetLog
from tests.logs.logging import session, set_
from tests.scenario import build_business

ROUNDS = 8


def send_at_once(business_id, *bodies):
    """Post each body from a thread of its own, all let go together; raise what any of them raised."""
    barrier, failures = Barrier(len(bodies)), []

    def send(body):
        actor = Principal(
            kind="key", business_id=business_id, credential_id=UUID(int=1), scopes=frozenset(Scope), source="app"
        )
        try:
            barrier.wait(timeout=10)
            with business_scope(business_id):
                items = read_batch(orjson.dumps(body)).items
                record_log_batch(actor=actor, source=None, items=items, strict=False, now=timezone.now())
        except Exception as failure:  # noqa: BLE001 -- told by the thread that waits
            failures.append(failure)
        finally:
            connections.close_all()

    threads = [Thread(target=send, args=(body,)) for body in bodies]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=30)
    assert failures == []


def test_a_set_and_its_session_that_come_at_once_find_each_other(committed):
    cast = build_business("Copper Hill")
    for number in range(ROUNDS):
        name = f"s{number}"
        send_at_once(
            cast.business_id,
            {"session_logs": [session(cast.anna, name)]},
            {"set_logs": [set_(cast.anna, f"{name}-1", session_external_id=name)]},
        )
    with business_scope(cast.business_id):
        assert (SetLog.objects.count(), HeldItem.objects.count()) == (ROUNDS, 0)


def test_the_same_batch_sent_twice_at_once_is_stored_once(committed):
    cast = build_business("Copper Hill")
    clients = [cast.anna, cast.ben, cast.carl]
    for number in range(ROUNDS):
        logs = [session(client, f"s{number}") for client in clients]
        send_at_once(cast.business_id, {"session_logs": logs}, {"session_logs": logs[::-1]})
    with business_scope(cast.business_id):
        rows = list(SessionLog.objects.values_list("row_version", flat=True))
    assert rows == [1] * ROUNDS * len(clients)


def test_corrections_sent_at_once_are_all_kept(committed):
    from logs.models import LogRevision

    cast = build_business("Copper Hill")
    send_at_once(cast.business_id, {"session_logs": [session(cast.anna)]})
    bodies = [{"session_logs": [session(cast.anna, revision=number)]} for number in range(1, 5)]
    send_at_once(cast.business_id, *bodies)
    with business_scope(cast.business_id):
        row = SessionLog.objects.get()
        assert row.revision == 4
        assert LogRevision.objects.count() == row.row_version - 1
