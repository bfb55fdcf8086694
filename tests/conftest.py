"""Real servers for every test: migrate as the owner, run as the service's role."""

from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import psycopg
import pytest
from django.conf import settings
from django.core.management import call_command
from django.db import connections
from psycopg.conninfo import make_conninfo

from coaching.embedded import fresh_database
from tests.password_hashers import QUICK
from tests.scenario import Cast, build_business
from tests.smtp_server import SmtpSink


@pytest.fixture(scope="session", autouse=True)
def _quick_hashes() -> None:
    """Hash passwords by the service's algorithm at its least cost; tests of V11 look at the service's own."""
    settings.PASSWORD_HASHERS = QUICK


@pytest.fixture(scope="session")
def django_db_setup(django_db_blocker: Any) -> Iterator[None]:
    """Make a database of this run's own, owned and migrated by the owner's role."""
    name = f"test_counterpoise_{uuid4().hex[:12]}"
    fresh_database(_owner_conninfo(), name)
    for alias in ("default", "owner"):
        connections[alias].close()
        settings.DATABASES[alias]["NAME"] = name
        connections[alias].settings_dict["NAME"] = name
    with django_db_blocker.unblock():
        call_command("migrate", database="owner", verbosity=0)
        yield
        connections.close_all()
        # A process that a failed test left behind must not keep the database: its own role may end it.
        with connections["default"].cursor() as cursor:
            cursor.execute(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
                "WHERE datname = current_database() AND usename = current_user AND pid <> pg_backend_pid()"
            )
        connections.close_all()
    with psycopg.connect(_owner_conninfo(), autocommit=True) as connection:
        # A session that was closed drops its temporary tables first, and the owner may not end another role's.
        while connection.execute("SELECT 1 FROM pg_stat_activity WHERE datname = %s", [name]).fetchone():
            connection.execute("SELECT pg_sleep(0.05)")
        connection.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


def _owner_conninfo() -> str:
    owner = settings.DATABASES["owner"]
    named = {"user": owner["USER"], "password": owner["PASSWORD"], "host": owner["HOST"], "port": owner["PORT"]}
    return make_conninfo(dbname="postgres", **{name: value for name, value in named.items() if value})


@pytest.fixture
def cast(db: None) -> Cast:
    """The cast's own business, rolled back after the test."""
    _take_the_time_of_a_test()
    return build_business("Northern Iron")


def _take_the_time_of_a_test() -> None:
    """Widen the limits of the service's role on a transaction: a test's holds many requests."""
    with connections["default"].cursor() as cursor:
        cursor.execute(
            "SELECT set_config(name, '1h', true) FROM pg_settings"
            " WHERE name IN ('transaction_timeout', 'idle_in_transaction_session_timeout')"
        )


@pytest.fixture
def neighbour(db: None) -> Cast:
    """Another business of the same shape, which must see and change nothing of the cast's."""
    return build_business("Harbour Strength")


def empty_tables() -> None:
    """Empty every table: the owner truncates, whom forced row-level security would show no row to delete."""
    with connections["owner"].cursor() as cursor:
        cursor.execute(
            "SELECT string_agg(format('%I', tablename), ', ') FROM pg_tables "
            "WHERE schemaname = 'public' AND tablename <> 'django_migrations'"
        )
        cursor.execute(f"TRUNCATE {cursor.fetchone()[0]}")
    connections.close_all()


@pytest.fixture
def committed(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """Let a test commit for real (workers, tenancy, several connections); empty the tables after it."""
    with django_db_blocker.unblock():
        try:
            yield
        finally:
            empty_tables()


@pytest.fixture
def smtp(settings: Any) -> Iterator[SmtpSink]:
    """A real mail server; what this process sends goes there."""
    sink = SmtpSink().start()
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", sink.port
    settings.EMAIL_HOST_USER = settings.EMAIL_HOST_PASSWORD = ""
    settings.EMAIL_USE_TLS = settings.EMAIL_USE_SSL = False
    try:
        yield sink
    finally:
        sink.stop()
