"""No operation that changes something is missing from the trail."""

from django.db import transaction

from coaching.actions.audit_trail import CHANGES_NOTHING
from coaching.models import AuditEntry
from coaching.policy import OPERATIONS
from coaching.tenancy.scope import business_scope
from tests.architecture.calls import CALLS
from tests.scenario import Cast


def test_each_operation_that_changes_something_leaves_one_entry(cast: Cast, world: dict[str, str]) -> None:
    """Over the whole API, by the same calls as the matrix: a new operation can't be forgotten."""
    api, missing = cast.api(cast.owner), []
    for call in CALLS:
        if call.method == "GET" or call.operation in CHANGES_NOTHING | set(TOLD_LATER):
            continue
        with transaction.atomic():
            with business_scope(cast.business_id):
                before = AuditEntry.objects.count()
            answer = call.send(api, world)
            with business_scope(cast.business_id):
                after = AuditEntry.objects.count()
            if answer.status_code < 300 and after != before + 1:
                missing.append((call.operation, answer.status_code, after - before))
            transaction.set_rollback(True)
    assert missing == []


TOLD_LATER = {
    "password_resets.create": "no business is known when it is asked; the job that queues the mail writes it down",
}
"""Operations that are written down elsewhere, each with its reason and a test beside it."""


def test_what_is_left_out_are_operations() -> None:
    assert set(OPERATIONS) >= CHANGES_NOTHING
