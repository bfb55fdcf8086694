"""A viewer reads what their clients' coach reads of exactly those clients, and changes nothing."""

from typing import Any, Final

import pytest
from django.db import transaction

from coaching.models import Client, Role
from coaching.policy import OPERATIONS, OWN_ACCOUNT
from coaching.tenancy.scope import business_scope
from tests.architecture.calls import CALLS
from tests.architecture.checksums import row_checksums
from tests.scenario import Cast

OTHERWISE: Final = {
    "me.read": "each caller's own",
    "sessions.list": "each caller's own",
    "sessions.delete": "each caller's own",
    "sessions.create": "for anyone",
    "second_factor.read": "each caller's own",
    "log_batches.list": "only what one has sent",
    "log_batches.read": "only what one has sent",
}
"""Operations of a viewer that tell nothing of clients, each with its reason."""

READING: Final = [
    call
    for call in CALLS
    if call.method == "GET" and Role.VIEWER in OPERATIONS[call.operation].roles and call.operation not in OTHERWISE
]


def _client_of(item: dict[str, Any], operation: str) -> str | None:
    if operation == "clients.list":
        return str(item["id"])
    found = item.get("client")
    return found["id"] if isinstance(found, dict) else found


def _let_view(cast: Cast, *clients: Client) -> None:
    with business_scope(cast.business_id):
        Client.objects.filter(id__in=[client.id for client in clients]).update(viewers=[cast.viewer.id])


@pytest.mark.parametrize("names", [(), ("anna",), ("ben",), ("anna", "ben")])
def test_a_viewer_reads_exactly_their_clients(cast: Cast, world: dict[str, str], names: tuple[str, ...]) -> None:
    clients = [getattr(cast, name) for name in names]
    _let_view(cast, *clients)
    theirs = {str(client.id) for client in clients}
    owner, viewer = cast.api(cast.owner), cast.api(cast.viewer)
    of_clients = set()
    for call in READING:
        all_of_it, answer = call.send(owner, world), call.send(viewer, world)
        assert all_of_it.status_code == 200, call
        items = all_of_it.json().get("items", [])
        owners = [_client_of(item, call.operation) for item in items]
        if any(owners) and "<" not in call.path and call.parameter in {"", "coach"}:
            of_clients.add(call.operation)
            wanted = [item for item, client in zip(items, owners, strict=True) if client in theirs]
            assert answer.json()["items"] == wanted, call
        elif not call.is_of_a_client():
            assert answer.json() == all_of_it.json(), call
        else:
            # What the world's addresses name is Anna's, but for the absence.
            seen = str(cast.ben.id if call.operation == "absences.read" else cast.anna.id) in theirs
            assert (answer.status_code == 200) is seen, (call, answer.content)
            if seen:
                assert answer.json() == all_of_it.json(), call
    assert of_clients == {
        "absences.list",
        "alerts.list",
        "assignments.list",
        "check_ins.list",
        "clients.list",
        "flags.list",
        "held_items.list",
        "load_advice.list",
        "overview.read",
        "planned_sessions.list",
        "session_logs.list",
        "set_logs.list",
    }


def test_a_viewer_of_everybody_changes_nothing(cast: Cast, world: dict[str, str]) -> None:
    _let_view(cast, cast.anna, cast.ben, cast.carl)
    viewer, before = cast.api(cast.viewer), row_checksums(cast.business_id)
    for call in CALLS:
        with transaction.atomic():
            answer = call.send(viewer, world)
            # Of what they do to their own account, the trail is told.
            told = {"coaching_auditentry"} if call.operation.partition(".")[0] in OWN_ACCOUNT else set()
            after = row_checksums(cast.business_id)
            assert {table for table, sums in after.items() if sums != before[table]} <= told, call
            transaction.set_rollback(True)
        if Role.VIEWER not in OPERATIONS[call.operation].roles and not OPERATIONS[call.operation].anyone:
            assert answer.status_code == 403, call
