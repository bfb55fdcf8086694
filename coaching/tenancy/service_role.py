"""The service's role must be bound by row-level security, or nothing keeps businesses apart."""

from typing import Any

from django.core.exceptions import ImproperlyConfigured
from django.db import DEFAULT_DB_ALIAS

_checked: set[str] = set()


def role_fault(connection: Any) -> str | None:
    """Return what is wrong with the role of a connection, or None."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT rolname, rolsuper, rolbypassrls FROM pg_roles WHERE rolname = current_user")
        name, is_superuser, bypasses = cursor.fetchone()
    if is_superuser:
        return f"DATABASE_URL logs in as {name!r}, a superuser: row-level security does not bind it; use another role."
    if bypasses:
        return f"DATABASE_URL logs in as {name!r}, which has BYPASSRLS; use the service's role."
    return None


def refuse_unbound_role(connection: Any, **_details: Any) -> None:
    """Refuse to serve over a connection whose role row-level security does not bind.

    Receives `connection_created`; asks once in a process for each role.

    Raises:
        ImproperlyConfigured: with the sentence that says what to change.
    """
    if connection.alias != DEFAULT_DB_ALIAS or connection.settings_dict["USER"] in _checked:
        return
    fault = role_fault(connection)
    if fault is not None:
        connection.close()
        raise ImproperlyConfigured(fault)
    _checked.add(connection.settings_dict["USER"])
