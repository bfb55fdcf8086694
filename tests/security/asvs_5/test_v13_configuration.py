"""V13 Configuration."""

import re

from django.conf import settings
from django.db import connection
from django.test import Client as Browser

from tests.processes import ROOT
from tests.scenario import Cast


def test_how_many_connections_and_how_long_is_written_where_it_is_set() -> None:
    """13.1.2, 13.1.3 Lifetimes, timeouts and retries towards the database, the broker and the mail server."""
    text = (ROOT / "coaching/config/settings.py").read_text()
    for name in (
        "EMAIL_TIMEOUT",
        "CELERY_TASK_TIME_LIMIT",
        "socket_timeout",
        "socket_connect_timeout",
        "visibility_timeout",
    ):
        assert name in text, name
    assert settings.DATABASES["default"]["CONN_MAX_AGE"] == 600
    assert settings.DATABASES["default"]["CONN_HEALTH_CHECKS"] is True
    assert "conn_max_age=600" in (ROOT / "coaching/config/environment.py").read_text()


def test_the_services_role_may_do_what_it_must_and_no_more(cast: Cast) -> None:
    """13.2.2 No superuser, no owner of a table, nobody whom row-level security does not bind."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT rolsuper, rolbypassrls, rolcreatedb, rolcreaterole, rolreplication FROM pg_roles "
            "WHERE rolname = current_user"
        )
        assert cursor.fetchone() == (False, False, False, False, False)
        cursor.execute(
            "SELECT count(*) FROM pg_class WHERE relowner = (SELECT oid FROM pg_roles WHERE rolname = current_user)"
        )
        assert cursor.fetchone() == (0,)


def test_what_the_operator_reads_says_no_more_than_it_must(db: None) -> None:
    """13.4.5 The probes and the contract are public on purpose, and tell nothing of a business or a machine."""
    for path in ("/healthz", "/readyz", "/healthz/detection"):
        answer = Browser().get(path)
        assert set(answer.json()) <= {"status", "checks", "overdue"}
        assert not re.search(r"\d+\.\d+\.\d+|postgres://|redis://|/tmp/|coaching_", answer.content.decode())


def test_no_answer_tells_a_version_of_what_runs_here(db: None) -> None:
    """13.4.6 Neither headers nor pages name a release of Python, Django, PostgreSQL or a server."""
    for path in ("/healthz", "/readyz", "/nowhere", "/api/v1/me", "/docs", "/docs/problems", "/api/v1/schema"):
        answer = Browser().get(path)
        said = " ".join(f"{name}: {value}" for name, value in answer.headers.items()) + answer.content.decode()
        assert not re.search(r"(?i)\b(django|python|postgresql|gunicorn|celery|valkey|redis)[/ ]\d+\.\d", said), path
