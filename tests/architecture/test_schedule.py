"""Beat's names and the tasks are one list, and no task outlives its message."""

from celery import current_app

from coaching.config.celery import app
from coaching.jobs.schedule import BEAT_SCHEDULE


def test_each_task_is_scheduled_and_each_scheduled_name_is_a_task() -> None:
    app.loader.import_default_modules()
    tasks = {name for name in current_app.tasks if not name.startswith("celery.")}
    assert tasks == {entry["task"] for entry in BEAT_SCHEDULE.values()}


def test_each_message_of_beat_expires_with_its_interval() -> None:
    assert all(entry["options"]["expires"] == entry["schedule"] for entry in BEAT_SCHEDULE.values())


def test_a_task_gives_up_before_its_message_is_delivered_again() -> None:
    app.loader.import_default_modules()
    visible_again_s = app.conf.broker_transport_options["visibility_timeout"]
    assert all(task.time_limit < visible_again_s for name, task in app.tasks.items() if not name.startswith("celery."))
