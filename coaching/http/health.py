"""For the operator: whether the process lives, and whether it can serve."""

from typing import Final

import redis
from django.conf import settings
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connection, connections
from django.db.migrations.loader import MigrationLoader
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from coaching import registry
from coaching.http.exact_json import encode
from coaching.tenancy.service_role import role_fault

REDIS_TIMEOUT_S: Final = 1


def healthz(_request: HttpRequest) -> HttpResponse:
    """Say that the process answers; touches nothing else."""
    return _answer({"status": "ok"}, 200)


def readyz(_request: HttpRequest) -> HttpResponse:
    """Say whether requests can be served. Without the broker they can: its effects come later."""
    database = _database_fault()
    broker = _broker_fault()
    checks = {"database": database or "ok", "broker": broker or "ok"}
    if database is not None:
        return _answer({"status": "unavailable", "checks": checks}, 503)
    return _answer({"status": "degraded" if broker else "ok", "checks": checks}, 200)


def detection(_request: HttpRequest) -> HttpResponse:
    """Say whether what falls due in the background is being found; apart from `readyz`, which needs no worker."""
    try:
        overdue = [name for name, is_overdue in registry.overdue_probes.items() if is_overdue(timezone.now())]
    except DatabaseError:
        return _answer({"status": "unavailable", "overdue": []}, 503)
    return _answer({"status": "overdue" if overdue else "ok", "overdue": overdue}, 503 if overdue else 200)


def _database_fault() -> str | None:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
        return role_fault(connections[DEFAULT_DB_ALIAS]) or _migrations_fault()
    except DatabaseError:
        return "The database can't be reached."


def _migrations_fault() -> str | None:
    loader = MigrationLoader(connection)
    missing = sorted(
        f"{app}.{name}" for app, name in loader.graph.nodes if (app, name) not in loader.applied_migrations
    )
    return f"Run manage.py migrate --database owner: {', '.join(missing)}." if missing else None


def _broker_fault() -> str | None:
    try:
        client = redis.Redis.from_url(
            settings.REDIS_URL, socket_timeout=REDIS_TIMEOUT_S, socket_connect_timeout=REDIS_TIMEOUT_S
        )
        client.ping()
    except (redis.RedisError, OSError):
        return "The broker can't be reached; requests are served, what follows from them waits."
    return None


def _answer(content: dict[str, object], status: int) -> HttpResponse:
    return HttpResponse(
        encode(content), status=status, content_type="application/json", headers={"Cache-Control": "no-store"}
    )
