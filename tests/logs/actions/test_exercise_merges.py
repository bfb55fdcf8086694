"""A merge beside a batch that is on its way: whichever commits first, no set is left with the exercise that went."""

from collections.abc import Callable
from threading import Event, Thread
from typing import Any
from uuid import UUID

import orjson
from django.db import connection, connections
from django.utils import timezone

from coaching.policy import Principal, Scope
from coaching.tenancy.scope import business_scope
from logs.actions.batch_records import record_log_batch
from logs.api.batch_body import read_batch
from logs.models import SetLog
from programs.actions.exercise_merges import merge_exercise
from programs.actions.exercises import create_exercise
from tests.logs.logging import session, set_
from tests.programs.api.test_own_exercises import own
from tests.scenario import NOON, Cast, build_business

SPINS = 2000


def shop() -> Cast:
    cast = build_business("Copper Hill")
    with business_scope(cast.business_id):
        create_exercise(document=own(loading="barbell", equipment=["barbell"]))
    return cast


def send(cast: Cast) -> None:
    actor = Principal(
        kind="key", business_id=cast.business_id, credential_id=UUID(int=1), scopes=frozenset(Scope), source="app"
    )
    body = {"session_logs": [session(cast.anna)], "set_logs": [set_(cast.anna, exercise="yard-squat")]}
    record_log_batch(actor=actor, source=None, items=read_batch(orjson.dumps(body)).items, strict=False, now=NOON)


def merge(_cast: Cast) -> None:
    merge_exercise(exercise="yard-squat", into="back-squat", now=timezone.now())


def beside(cast: Cast, first: Callable[[Cast], None], second: Callable[[Cast], None]) -> None:
    """Do the first in a transaction that stays open until the second, on a connection of its own, waits for it."""
    begun, failures, pids = Event(), [], []

    def run() -> None:
        try:
            with business_scope(cast.business_id):
                with connection.cursor() as cursor:
                    cursor.execute("SELECT pg_backend_pid()")
                    pids.append(cursor.fetchone()[0])
                begun.set()
                second(cast)
        except Exception as failure:  # noqa: BLE001 -- told by the thread that waits
            failures.append(failure)
        finally:
            connections.close_all()

    thread = Thread(target=run)
    with business_scope(cast.business_id):
        first(cast)
        thread.start()
        assert begun.wait(timeout=30)
        assert _waits(pids[0])
    thread.join(timeout=30)
    assert failures == []


def _waits(pid: int) -> bool:
    with connection.cursor() as cursor:
        for _ in range(SPINS):
            cursor.execute("SELECT cardinality(pg_blocking_pids(%s)) > 0, pg_sleep(0.005)", [pid])
            if cursor.fetchone()[0]:
                return True
    return False


def kept_under(cast: Cast) -> list[str]:
    with business_scope(cast.business_id):
        return list(SetLog.objects.values_list("exercise__key", flat=True))


def test_a_merge_waits_for_a_batch_that_is_on_its_way_and_takes_its_sets(committed: Any) -> None:
    cast = shop()
    beside(cast, send, merge)
    assert kept_under(cast) == ["back-squat"]


def test_a_batch_that_comes_during_a_merge_waits_and_follows_it(committed: Any) -> None:
    cast = shop()
    beside(cast, merge, send)
    assert kept_under(cast) == ["back-squat"]
