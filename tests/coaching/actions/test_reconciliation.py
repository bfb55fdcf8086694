"""Each business is looked over once a day, though beat never lives that long."""

from datetime import timedelta
from uuid import UUID

import time_machine

from coaching.models import Business, BusinessState
from coaching.selectors.due_work import list_businesses_to_reconcile
from coaching.tasks import tick
from coaching.tenancy.scope import business_scope
from logs.models import HeldItem
from tests.scenario import NOON, Cast

A_DAY = timedelta(days=1)


def _hold(cast: Cast) -> None:
    with business_scope(cast.business_id):
        HeldItem.objects.create(
            client=cast.anna,
            source="app",
            external_id=str(HeldItem.objects.count()),
            session_external_id="s",
            item={},
            received_at=NOON - 30 * A_DAY,
            expires_at=NOON - A_DAY,
        )


def _held(cast: Cast) -> int:
    with business_scope(cast.business_id):
        return HeldItem.objects.count()


def _tick_at(hours: float) -> None:
    with time_machine.travel(NOON + timedelta(hours=hours), tick=False):
        tick()


def test_a_tick_reconciles_each_business_once_in_24_hours(cast: Cast, neighbour: Cast) -> None:
    counts = []
    for hours in (0, 0.01, 23.9, 24):
        _hold(cast)
        _hold(neighbour)
        _tick_at(hours)
        counts.append((_held(cast), _held(neighbour)))
    assert counts == [(0, 0), (1, 1), (2, 2), (0, 0)]


def test_who_waits_longest_comes_first_and_closed_businesses_are_left(cast: Cast, neighbour: Cast) -> None:
    def reconciled(of: Cast, days: float) -> None:
        with business_scope(of.business_id):
            Business.objects.filter(id=of.business_id).update(reconciled_at=NOON - days * A_DAY)

    def due() -> list[UUID]:
        return list_businesses_to_reconcile(NOON)

    reconciled(cast, 2)
    assert due() == [neighbour.business_id, cast.business_id]
    reconciled(neighbour, 0.5)
    assert due() == [cast.business_id]
    with business_scope(cast.business_id):
        closed = next(state for state in BusinessState if state != BusinessState.ACTIVE)
        Business.objects.filter(id=cast.business_id).update(state=closed)
    assert due() == []
