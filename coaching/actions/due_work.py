"""Run what is due, business by business, so that none waits for another's backlog."""

import logging
import time
from collections import deque
from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from coaching.registry import Job

logger = logging.getLogger(__name__)


def run_due_jobs(*, jobs: Iterable[Job], now: datetime, seconds: float) -> None:
    """Run each job in each business where it is due, one bounded piece at a time, in turn.

    A piece that fails is logged and its business left for the next run: one poisoned row must not stop
    the others.

    Args:
        jobs: what to run.
        now: the instant that decides what is due.
        seconds: how long to go on before leaving the rest to the next run.
    """
    until = time.monotonic() + seconds
    waiting: deque[tuple[Job, UUID]] = deque()
    for job in jobs:
        # Asked for only now: what an earlier job made due is seen in the same run.
        for business_id in job.businesses(now):
            if time.monotonic() < until and _run(job, business_id, now):
                waiting.append((job, business_id))
    while waiting and time.monotonic() < until:
        job, business_id = waiting.popleft()
        if _run(job, business_id, now):
            waiting.append((job, business_id))


def _run(job: Job, business_id: UUID, now: datetime) -> bool:
    try:
        return job.run(business_id, now)
    except Exception:
        logger.exception("job %s failed in business %s", job.name, business_id)
        return False
