"""Flags that the service opens and clears by its rules stand in the trail, as ids and kinds alone."""

from datetime import timedelta

import pytest
import time_machine

from coaching.models import AuditEntry, Client
from coaching.models.audit import ActorKind
from coaching.tenancy.scope import business_scope
from logs.actions.flags import flags_of_the_day
from logs.actions.weekly_progress import refresh_weeks
from logs.models import Flag, FlagState
from tests.logs import histories
from tests.logs.histories import MONDAY
from tests.scenario import NOON, Cast


@pytest.fixture
def flagged(cast: Cast) -> Cast:
    pain = {"site": "knee", "side": "left", "score": 7, "when": "during", "onset": "new"}
    item = {"external_id": "c1", "client": str(cast.anna.id), "local_date": "2031-03-05", "pains": [pain]}
    with time_machine.travel(NOON, tick=False):
        sent = cast.api(cast.owner).post("/api/v1/log-batches", {"source": "app", "check_ins": [item]}, format="json")
    assert sent.status_code == 200, sent.content
    refresh_weeks(cast.business_id, NOON)
    return cast


def test_a_flag_that_the_rules_open_is_written_down_by_its_id_and_kind(flagged: Cast) -> None:
    with business_scope(flagged.business_id):
        flags = {(str(flag.id), flag.kind) for flag in Flag.objects.all()}
        entries = list(AuditEntry.objects.filter(operation="flags.opened"))
        assert flags
        assert {(one.object_id, one.values["kind"]) for one in entries} == flags
        assert {(one.actor_kind, one.actor_id, one.at) for one in entries} == {(ActorKind.SERVICE, None, NOON)}
        assert {tuple(one.values) for one in entries} == {("kind",)}


def test_asking_the_rules_again_writes_nothing_more(flagged: Cast) -> None:
    with business_scope(flagged.business_id):
        before = AuditEntry.objects.count()
    refresh_weeks(flagged.business_id, NOON + timedelta(minutes=1))
    with business_scope(flagged.business_id):
        assert AuditEntry.objects.count() == before


def test_a_flag_that_closes_by_the_rules_is_written_down_too(cast: Cast) -> None:
    with business_scope(cast.business_id):
        histories.assignment(cast.anna, start_date=MONDAY - timedelta(weeks=8))
    flags_of_the_day(cast.business_id, NOON)
    with business_scope(cast.business_id):
        Client.objects.update(state="ended")
    flags_of_the_day(cast.business_id, NOON + timedelta(days=1))
    with business_scope(cast.business_id):
        (flag,) = Flag.objects.all()
        assert flag.state == FlagState.CLOSED
        entries = AuditEntry.objects.filter(object_id=str(flag.id)).order_by("at")
        assert [(one.operation, one.values) for one in entries] == [
            ("flags.opened", {"kind": "gone_quiet"}),
            ("flags.cleared", {"kind": "gone_quiet"}),
        ]
