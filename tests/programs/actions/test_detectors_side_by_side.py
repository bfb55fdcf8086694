"""Two detectors at once: real connections, real commits."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from threading import Barrier
from uuid import UUID

from django.db import connections

from coaching.tenancy.scope import business_scope
from programs.actions.missed_sessions import mark_missed
from programs.models import PlannedSession
from programs.selectors.due_sessions import list_businesses_with_due_sessions
from tests.programs.documents import assign, published
from tests.scenario import build_business

LATER = datetime(2031, 4, 30, 12, tzinfo=UTC)


def side_by_side(work: Callable[[], list[UUID]]) -> list[list[UUID]]:
    started = Barrier(2)

    def run(_number: int) -> list[UUID]:
        try:
            started.wait(timeout=10)
            return work()
        finally:
            connections.close_all()

    with ThreadPoolExecutor(2) as pool:
        return list(pool.map(run, range(2)))


def test_two_detectors_settle_each_session_once(committed: None) -> None:
    cast = build_business("Northern Iron")
    with business_scope(cast.business_id):
        assign(cast.head, published(), cast.anna.id, cast.ben.id, cast.carl.id)
    assert list_businesses_with_due_sessions(LATER) == [cast.business_id]

    def detect() -> list[UUID]:
        found: list[UUID] = []
        for _piece in range(10):
            with business_scope(cast.business_id):
                found += [miss.planned_session_id for miss in mark_missed(now=LATER, limit=3).missed]
        return found

    one, other = side_by_side(detect)
    assert not set(one) & set(other)
    with business_scope(cast.business_id):
        assert {*one, *other} == set(PlannedSession.objects.values_list("id", flat=True))
        assert set(PlannedSession.objects.values_list("state", "row_version")) == {("missed", 2)}


def test_two_calls_that_assign_one_client_the_same_variant_plan_it_once(committed: None) -> None:
    cast = build_business("Northern Iron")
    with business_scope(cast.business_id):
        version = published()

    def give() -> list[UUID]:
        with business_scope(cast.business_id):
            results = assign(cast.coach, version, cast.anna.id)
            return [result.assignment_id for result in results if result.assignment_id is not None]

    assert sorted(map(len, side_by_side(give))) == [0, 1]
    with business_scope(cast.business_id):
        assert PlannedSession.objects.count() == 6
