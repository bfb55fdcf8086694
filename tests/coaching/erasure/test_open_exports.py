"""A file of a whole business that is asked for while one of its clients is erased."""

from threading import Thread

from django.db import connections
from django.utils import timezone

from coaching.actions.erasures import erase_rows
from coaching.actions.operations import run_operations
from coaching.models import Operation
from coaching.tenancy.scope import business_scope
from tests.scenario import build_business


def test_an_export_that_waits_is_not_begun_before_the_erasure_is_done(committed: None) -> None:
    cast = build_business("Sundew Strength")
    assert cast.api(cast.owner).post("/api/v1/exports", {"business": True}, format="json").status_code == 202

    def work() -> None:
        try:
            run_operations(cast.business_id, timezone.now())
        finally:
            connections.close_all()

    with business_scope(cast.business_id):
        erase_rows(client_id=cast.anna.id, erased_by=None, now=timezone.now())
        worker = Thread(target=work)
        worker.start()
        worker.join(timeout=30)
    with business_scope(cast.business_id):
        assert Operation.objects.get().state == "queued"
    work()
    with business_scope(cast.business_id):
        assert Operation.objects.get().state == "succeeded"
