"""A database of the benchmark's own, beside whatever the servers hold, dropped at the end."""

from collections.abc import Iterator
from contextlib import contextmanager
from uuid import uuid4

import psycopg
from django.conf import settings
from django.core.management import call_command
from django.db import connections


@contextmanager
def scratch_database() -> Iterator[None]:
    """Point both connections at a new, migrated database."""
    name = f"bench_counterpoise_{uuid4().hex[:12]}"
    owner = settings.DATABASES["owner"]
    address = {
        "user": owner["USER"],
        "password": owner["PASSWORD"] or None,
        "host": owner["HOST"] or None,
        "port": owner["PORT"] or None,
    }
    with psycopg.connect(dbname="postgres", autocommit=True, **address) as connection:
        connection.execute(f"CREATE DATABASE \"{name}\" TEMPLATE template0 ENCODING 'UTF8'")
    try:
        for alias in ("default", "owner"):
            connections[alias].close()
            settings.DATABASES[alias]["NAME"] = name
            connections[alias].settings_dict["NAME"] = name
        call_command("migrate", database="owner", verbosity=0)
        yield
    finally:
        connections.close_all()
        with psycopg.connect(dbname="postgres", autocommit=True, **address) as connection:
            _wait_for_its_end(connection, name)
            connection.execute(f'DROP DATABASE "{name}"')


def _wait_for_its_end(connection: psycopg.Connection, name: str) -> None:
    """Wait for the server to have ended the sessions that were closed: they drop their temporary tables first."""
    while connection.execute("SELECT 1 FROM pg_stat_activity WHERE datname = %s", [name]).fetchone():
        connection.execute("SELECT pg_sleep(0.05)")
