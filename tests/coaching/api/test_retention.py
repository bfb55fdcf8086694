"""How long a business keeps what it holds, and that what is older goes by night."""

from datetime import datetime, timedelta
from typing import Any

import pytest
import time_machine
from django.utils import timezone

from coaching.actions.retention import delete_what_is_over
from coaching.models import AuditEntry, Client, OutboxMessage
from coaching.tenancy.scope import business_scope
from logs.models import CheckIn, ClientWeek, HeldItem, LogBatch, LogImport, LogRevision, SessionLog, SetLog
from tests.logs.logging import check_in, post, session, set_
from tests.scenario import NOON, Cast

PATH = "/api/v1/retention-policy"


def _change(cast: Cast, **changes: Any) -> Any:
    return cast.api(cast.owner).patch(PATH, changes, format="json", HTTP_IF_MATCH="*")


def _night(cast: Cast, at: datetime) -> None:
    while delete_what_is_over(cast.business_id, at):
        pass


def test_the_owner_reads_practice_changes_it_and_the_values_stand_in_the_trail(cast: Cast) -> None:
    owner = cast.api(cast.owner)
    first = owner.get(PATH)
    assert first.json() == {
        "ended_client_months": None, "held_item_days": 30, "log_import_days": 7, "log_batch_days": 365,
        "mail_body_days": 90, "row_version": 1,
    }  # fmt: skip
    changed = owner.patch(PATH, {"mail_body_days": 30}, format="json", HTTP_IF_MATCH=first.headers["ETag"])
    assert (changed.status_code, changed.json()["mail_body_days"], changed.json()["row_version"]) == (200, 30, 2)
    stale = owner.patch(PATH, {"mail_body_days": 31}, format="json", HTTP_IF_MATCH=first.headers["ETag"])
    assert stale.status_code == 412
    with business_scope(cast.business_id):
        assert AuditEntry.objects.get(operation="retention_policy.update").values == {"mail_body_days": 30}
    assert cast.api(cast.head).get(PATH).status_code == 403


@pytest.mark.parametrize(
    "change", [{"held_item_days": 31}, {"log_import_days": 0}, {"log_batch_days": 1}, {"ended_client_months": 0}]
)
def test_times_out_of_bounds_are_refused(cast: Cast, change: dict[str, int]) -> None:
    answer = _change(cast, **change)
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, f"#/{next(iter(change))}")


def test_held_items_files_batches_and_what_mails_said_go_after_their_days(cast: Cast) -> None:
    with time_machine.travel(NOON, tick=False):
        post(cast.key("logs:write"), set_logs=[set_(cast.anna)])
        table = "Date,Exercise,Reps\n2031-03-01,Back squat,5\n"
        made = cast.api(cast.owner).post(f"/api/v1/log-imports?client={cast.anna.id}", table, content_type="text/csv")
        assert made.status_code == 201, made.content
    with business_scope(cast.business_id):
        OutboxMessage.objects.create(
            kind="missed_note", dedupe_key="one", payload={"client": "x"}, rendered={"to": "x"}, state="sent",
            due_at=NOON, settled_at=NOON,
        )  # fmt: skip
    assert _change(cast, held_item_days=3, log_import_days=3, log_batch_days=10, mail_body_days=3).status_code == 200

    def left() -> tuple[int, str, int, Any]:
        with business_scope(cast.business_id):
            state = LogImport.objects.get().state
            return HeldItem.objects.count(), state, LogBatch.objects.count(), OutboxMessage.objects.get().rendered

    _night(cast, NOON + timedelta(days=3) - timedelta(minutes=1))
    assert left() == (1, "mapped", 1, {"to": "x"})
    _night(cast, NOON + timedelta(days=3, minutes=1))
    assert left() == (0, "forgotten", 1, None)
    _night(cast, NOON + timedelta(days=11))
    assert left() == (0, "forgotten", 0, None)
    with business_scope(cast.business_id):
        told = [one.values for one in AuditEntry.objects.filter(operation="retention").order_by("at")]
    assert told == [
        {"coaching_outboxmessage": 1, "logs_helditem": 1, "logs_logimport": 1},
        {"logs_logbatch": 1},
    ]


def test_the_logs_of_a_client_who_ended_go_after_their_months_and_plans_and_others_stay(cast: Cast) -> None:
    with time_machine.travel(NOON, tick=False):
        api = cast.api(cast.owner)
        for client in (cast.anna, cast.ben):
            post(api, session_logs=[session(client)], set_logs=[set_(client)], check_ins=[check_in(client)])
            post(api, check_ins=[check_in(client, sleep=5, revision=1)])
        path = f"/api/v1/clients/{cast.anna.id}"
        assert api.patch(path, {"state": "ended"}, format="json", HTTP_IF_MATCH="*").status_code == 200
    cast.tokens.clear()
    _night(cast, NOON + timedelta(days=4_000))
    assert _change(cast, ended_client_months=6).status_code == 200

    def left(client: Client) -> list[int]:
        with business_scope(cast.business_id):
            models = (SessionLog, SetLog, CheckIn, LogRevision)
            return [model.objects.filter(client_id=client.id).count() for model in models]

    _night(cast, NOON + timedelta(days=186) - timedelta(minutes=1))
    assert left(cast.anna) == [1, 1, 1, 1]
    _night(cast, NOON + timedelta(days=186, minutes=1))
    assert (left(cast.anna), left(cast.ben)) == ([0, 0, 0, 0], [1, 1, 1, 1])
    with business_scope(cast.business_id):
        assert not ClientWeek.objects.filter(client_id=cast.anna.id).exists()
        assert Client.objects.get(id=cast.anna.id).ended_at == NOON


def test_somebody_who_comes_back_does_not_lose_their_logs(cast: Cast) -> None:
    api, path = cast.api(cast.owner), f"/api/v1/clients/{cast.anna.id}"
    post(api, check_ins=[check_in(cast.anna)])
    for state in ("ended", "active"):
        assert api.patch(path, {"state": state}, format="json", HTTP_IF_MATCH="*").status_code == 200
    assert _change(cast, ended_client_months=1).status_code == 200
    _night(cast, timezone.now() + timedelta(days=400))
    with business_scope(cast.business_id):
        assert CheckIn.objects.filter(client_id=cast.anna.id).exists()
