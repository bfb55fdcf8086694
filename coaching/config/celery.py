"""The workers' and beat's entry point."""

import os
from typing import Any

from celery import Celery
from celery.signals import worker_ready

from coaching.jobs.schedule import BEAT_SCHEDULE

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coaching.config.settings")

app = Celery("counterpoise")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks(["coaching"])
app.conf.beat_schedule = BEAT_SCHEDULE


@worker_ready.connect
def catch_up(**_signal: Any) -> None:
    """Look for what fell due while no worker ran, without waiting for beat's next interval."""
    app.send_task("coaching.tick")
