"""The workers' and beat's entry point."""

import os

from celery import Celery

from coaching.jobs.schedule import BEAT_SCHEDULE

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coaching.config.settings")

app = Celery("counterpoise")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks(["coaching"])
app.conf.beat_schedule = BEAT_SCHEDULE
