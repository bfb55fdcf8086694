"""The service's role: bound by row-level security, or nothing keeps businesses apart; and by time, or one stands still.

`python -m coaching.embedded` sets both on the role itself, so that they hold for whatever logs in as it.
"""

from typing import Any, Final

from django.core.exceptions import ImproperlyConfigured
from django.db import DEFAULT_DB_ALIAS

_checked: set[str] = set()
_TIMEOUTS: Final = ("statement_timeout", "lock_timeout", "idle_in_transaction_session_timeout")
_TRANSACTION_TIMEOUT_SINCE: Final = 170000


def role_fault(connection: Any) -> str | None:
    """Return what is wrong with the role of a connection, or None."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT rolname, rolsuper, rolbypassrls FROM pg_roles WHERE rolname = current_user")
        name, is_superuser, bypasses = cursor.fetchone()
    if is_superuser:
        return f"DATABASE_URL logs in as {name!r}, a superuser: row-level security does not bind it; use another role."
    if bypasses:
        return f"DATABASE_URL logs in as {name!r}, which has BYPASSRLS; use the service's role."
    return _timeout_fault(connection, name)


def _timeout_fault(connection: Any, name: str) -> str | None:
    wanted = list(_TIMEOUTS)
    if connection.pg_version >= _TRANSACTION_TIMEOUT_SINCE:
        wanted.append("transaction_timeout")
    with connection.cursor() as cursor:
        cursor.execute("SELECT name FROM pg_settings WHERE name = ANY(%s) AND setting = '0'", [wanted])
        missing = sorted(row[0] for row in cursor.fetchall())
    if not missing:
        return None
    return (
        f"The role {name!r} of DATABASE_URL has no {', '.join(missing)}: one slow or stuck request could hold up all; "
        "run python -m coaching.embedded with the database's address, or ALTER ROLE … SET each (README, On a server)."
    )


def refuse_unbound_role(connection: Any, **_details: Any) -> None:
    """Refuse to serve over a connection whose role neither row-level security nor time binds.

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
