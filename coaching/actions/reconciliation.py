"""Look each business over once a day, whenever its processes started."""

from datetime import datetime
from typing import Final
from uuid import UUID

from django.db.models import Q

from coaching import registry
from coaching.actions.due_work import run_due_jobs
from coaching.models import Business
from coaching.selectors.due_work import RECONCILED_EVERY, list_businesses_to_reconcile
from coaching.tenancy.scope import business_scope

SECONDS_A_BUSINESS: Final = 10


def reconcile_business(business_id: UUID, now: datetime) -> bool:
    """Run a business's nightly jobs, unless another process has claimed them within a day; never more due.

    The claim is an instant in the business's row: beat counts its day from when it started, so one that is
    started anew each day would never come to it. What a day's run leaves is done by the next.
    """
    with business_scope(business_id):
        waiting = Q(reconciled_at=None) | Q(reconciled_at__lte=now - RECONCILED_EVERY)
        if not Business.objects.filter(waiting, id=business_id).update(reconciled_at=now):
            return False
    jobs = [registry.Job(job.name, lambda _now: [business_id], job.run) for job in registry.reconcile_jobs]
    run_due_jobs(jobs=jobs, now=now, seconds=SECONDS_A_BUSINESS)
    return False


RECONCILE: Final = registry.Job("reconcile", list_businesses_to_reconcile, reconcile_business)
