"""The tasks that beat publishes; each is safe beside itself and finds its work in rows."""

from celery import shared_task
from django.utils import timezone

from coaching import registry
from coaching.actions.due_work import run_due_jobs
from coaching.actions.reconciliation import RECONCILE


@shared_task(name="coaching.dispatch", ignore_result=True, soft_time_limit=60, time_limit=90)
def dispatch() -> None:
    """Refresh stale weeks and deliver what is due."""
    run_due_jobs(jobs=registry.dispatch_jobs, now=timezone.now(), seconds=30)


@shared_task(name="coaching.export", ignore_result=True, soft_time_limit=210, time_limit=240)
def export() -> None:
    """Make the files that were asked for; one that is begun has three minutes, and no mail waits for it."""
    run_due_jobs(jobs=registry.export_jobs, now=timezone.now(), seconds=30)


@shared_task(name="coaching.tick", ignore_result=True, soft_time_limit=60, time_limit=90)
def tick() -> None:
    """Turn due instants into rows: missed sessions, digests, flags of time passing, a day without a reconcile."""
    run_due_jobs(jobs=[*registry.tick_jobs, RECONCILE], now=timezone.now(), seconds=40)


@shared_task(name="coaching.reconcile", ignore_result=True, soft_time_limit=210, time_limit=240)
def reconcile() -> None:
    """Insert what should exist by the facts of the last days and does not; purge what has expired."""
    run_due_jobs(jobs=registry.reconcile_jobs, now=timezone.now(), seconds=180)
