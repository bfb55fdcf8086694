"""The operator's two pages."""

import pytest
from django.test import Client


def test_healthz_answers_without_a_database(client: Client) -> None:
    """No `db` fixture: a query would fail the test."""
    assert client.get("/healthz").json() == {"status": "ok"}


@pytest.mark.django_db
def test_readyz_checks_the_database_the_role_and_the_broker(client: Client) -> None:
    answer = client.get("/readyz")
    assert answer.json() == {"status": "ok", "checks": {"database": "ok", "broker": "ok"}}
    assert answer.status_code == 200
