"""The operator's pages."""

from datetime import date, timedelta

import pytest
import time_machine
from django.test import Client

from coaching.tenancy.scope import business_scope
from logs.actions.alerts import detect_missed
from tests.planned_sessions import plan_session
from tests.scenario import Cast


def test_healthz_answers_without_a_database(client: Client) -> None:
    """No `db` fixture: a query would fail the test."""
    assert client.get("/healthz").json() == {"status": "ok"}


@pytest.mark.django_db
def test_readyz_checks_the_database_the_role_and_the_broker(client: Client) -> None:
    answer = client.get("/readyz")
    assert answer.json() == {"status": "ok", "checks": {"database": "ok", "broker": "ok"}}
    assert answer.status_code == 200


def test_detection_is_overdue_when_a_session_has_been_due_for_long_and_nobody_found_it(client: Client, cast: Cast):
    with business_scope(cast.business_id):
        session = plan_session(cast.anna, date(2031, 3, 3))
    assert session.due_at is not None
    with time_machine.travel(session.due_at + timedelta(minutes=9), tick=False):
        assert client.get("/healthz/detection").status_code == 200
    with time_machine.travel(session.due_at + timedelta(minutes=11), tick=False):
        answer = client.get("/healthz/detection")
        assert answer.status_code == 503
        assert answer.json() == {"status": "overdue", "overdue": ["missed_sessions"]}
        detect_missed(cast.business_id, session.due_at + timedelta(minutes=11))
        assert client.get("/healthz/detection").status_code == 200
        # Serving needs no worker.
        assert client.get("/readyz").status_code == 200
