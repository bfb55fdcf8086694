"""The three database roles, the database and its default privileges; for any PostgreSQL server from 15 on.

The owner migrates, the service (web, workers) reads and writes under row-level security and owns nothing, the
backup role reads everything. Everything here may be run again at any time.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import psycopg
from psycopg import sql
from psycopg.conninfo import make_conninfo

OWNER: Final = "counterpoise_owner"
SERVICE: Final = "counterpoise_service"
BACKUP: Final = "counterpoise_backup"
DATABASE: Final = "counterpoise"

Connection = psycopg.Connection[Any]

_KEYWORDS: Final = {
    "rolcanlogin": ("LOGIN", "NOLOGIN"),
    "rolsuper": ("SUPERUSER", "NOSUPERUSER"),
    "rolcreatedb": ("CREATEDB", "NOCREATEDB"),
    "rolcreaterole": ("CREATEROLE", "NOCREATEROLE"),
    "rolreplication": ("REPLICATION", "NOREPLICATION"),
    "rolbypassrls": ("BYPASSRLS", "NOBYPASSRLS"),
}
_GRANTED: Final[dict[str, frozenset[str]]] = {
    OWNER: frozenset({"rolcanlogin", "rolcreatedb"}),
    SERVICE: frozenset({"rolcanlogin"}),
    BACKUP: frozenset({"rolcanlogin", "rolbypassrls"}),
}
_SERVICE_SETTINGS: Final = {
    "statement_timeout": "15s",
    "lock_timeout": "3s",
    "idle_in_transaction_session_timeout": "30s",
}
_TRANSACTION_TIMEOUT_SINCE: Final = 170000
_BUILTIN_LOCALE_SINCE: Final = 170000
_MARK: Final = "counterpoise: roles and privileges, revision 1"


def provision(
    connection: Connection,
    database: str = DATABASE,
    *,
    passwords: Mapping[str, str] | None = None,
) -> None:
    """Create or set right the three roles, the database and its default privileges.

    Args:
        connection: a superuser's connection in autocommit mode, to any database of the server.
        database: the database to create (owned by the owner role) unless it is there.
        passwords: by role name, where roles sign in over the network; hashed before they are sent.

    Raises:
        ValueError: the connection is not in autocommit mode, in which no database can be created.
    """
    _require_autocommit(connection)
    with connection.transaction():
        for role, granted in _GRANTED.items():
            _set_role(connection, role, granted)
        for role, password in (passwords or {}).items():
            _set_password(connection, role, password)
        _set_service_limits(connection)
        connection.execute(sql.SQL("GRANT pg_read_all_data TO {}").format(sql.Identifier(BACKUP)))
    if connection.execute("SELECT 1 FROM pg_database WHERE datname = %s", [database]).fetchone() is None:
        _create_database(connection, database)
    with _same_server(connection, database) as inside:
        grant_defaults(inside)
    connection.execute(sql.SQL("COMMENT ON DATABASE {} IS {}").format(sql.Identifier(database), sql.Literal(_MARK)))


def is_provisioned(connection: Connection, database: str = DATABASE) -> bool:
    """Whether ``provision`` has run to its end for this database, in this revision."""
    row = connection.execute(
        "SELECT shobj_description(oid, 'pg_database') FROM pg_database WHERE datname = %s",
        [database],
    ).fetchone()
    return row is not None and row[0] == _MARK


def grant_defaults(connection: Connection) -> None:
    """Give the roles their privileges in the connection's database, and on what the owner will create there.

    Run as the owner role (or a superuser) and before the first migration: default privileges belong to one
    database and reach only what is created afterwards. A migration may take back what a table should not
    allow.
    """
    name = sql.Identifier(connection.info.dbname)
    names = {
        "database": name,
        "owner": sql.Identifier(OWNER),
        "service": sql.Identifier(SERVICE),
        "backup": sql.Identifier(BACKUP),
    }
    with connection.transaction():
        for statement in _PRIVILEGES:
            connection.execute(sql.SQL(statement).format(**names))


_PRIVILEGES: Final = (
    "REVOKE ALL ON DATABASE {database} FROM PUBLIC",
    "GRANT CONNECT ON DATABASE {database} TO {service}, {backup}",
    # Log batches go by COPY into a temporary table, since row-level security refuses a direct COPY.
    "GRANT TEMPORARY ON DATABASE {database} TO {service}",
    "REVOKE ALL ON SCHEMA public FROM PUBLIC",
    "GRANT USAGE ON SCHEMA public TO {service}, {backup}",
    "ALTER DEFAULT PRIVILEGES FOR ROLE {owner} GRANT SELECT, INSERT, UPDATE, DELETE ON TABLES TO {service}",
    "ALTER DEFAULT PRIVILEGES FOR ROLE {owner} GRANT USAGE ON SEQUENCES TO {service}",
    "ALTER DEFAULT PRIVILEGES FOR ROLE {owner} REVOKE EXECUTE ON FUNCTIONS FROM PUBLIC",
    "ALTER DEFAULT PRIVILEGES FOR ROLE {owner} GRANT EXECUTE ON FUNCTIONS TO {service}",
    "ALTER DEFAULT PRIVILEGES FOR ROLE {owner} GRANT SELECT ON TABLES TO {backup}",
    "ALTER DEFAULT PRIVILEGES FOR ROLE {owner} GRANT SELECT ON SEQUENCES TO {backup}",
)


def fresh_database(url: str, database: str) -> None:
    """Create an empty database with the privileges of ours, dropping one of that name first: for tests.

    Args:
        url: of a superuser, or of the owner role (which can't drop a database that the service still uses).
        database: its name.
    """
    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute(sql.SQL("DROP DATABASE IF EXISTS {} WITH (FORCE)").format(sql.Identifier(database)))
        _create_database(connection, database)
        with _same_server(connection, database) as inside:
            grant_defaults(inside)


def _set_role(connection: Connection, role: str, granted: frozenset[str]) -> None:
    name = sql.Identifier(role)
    columns = sql.SQL(", ").join(map(sql.Identifier, _KEYWORDS))
    query = sql.SQL("SELECT {} FROM pg_roles WHERE rolname = {}").format(columns, sql.Literal(role))
    found = connection.execute(query).fetchone()
    wanted = tuple(attribute in granted for attribute in _KEYWORDS)
    if found == wanted:
        return
    keywords = (on if wish else off for (on, off), wish in zip(_KEYWORDS.values(), wanted, strict=True))
    connection.execute(
        sql.SQL("{} ROLE {} {}").format(
            sql.SQL("CREATE" if found is None else "ALTER"),
            name,
            sql.SQL(" ").join(map(sql.SQL, keywords)),
        )
    )


def _set_password(connection: Connection, role: str, password: str) -> None:
    if role not in _GRANTED:
        raise ValueError(f"{role!r} is none of the roles {', '.join(_GRANTED)}: give a password only to these.")
    # Hashed here, so that the plain password stands in no server log.
    hashed = connection.pgconn.encrypt_password(password.encode(), role.encode(), b"scram-sha-256").decode()
    connection.execute(sql.SQL("ALTER ROLE {} PASSWORD {}").format(sql.Identifier(role), sql.Literal(hashed)))


def _set_service_limits(connection: Connection) -> None:
    settings = dict(_SERVICE_SETTINGS)
    if connection.info.server_version >= _TRANSACTION_TIMEOUT_SINCE:
        settings["transaction_timeout"] = "60s"
    for setting, limit in settings.items():
        connection.execute(
            sql.SQL("ALTER ROLE {} SET {} = {}").format(
                sql.Identifier(SERVICE), sql.Identifier(setting), sql.Literal(limit)
            )
        )


def _create_database(connection: Connection, database: str) -> None:
    # Text sorts by code point whatever the server's own locale: the same answer on every machine.
    if connection.info.server_version >= _BUILTIN_LOCALE_SINCE:
        locale = sql.SQL("LOCALE_PROVIDER builtin BUILTIN_LOCALE 'C.UTF-8' LC_COLLATE 'C' LC_CTYPE 'C'")
    else:
        locale = sql.SQL("LOCALE_PROVIDER libc LC_COLLATE 'C' LC_CTYPE 'C.UTF-8'")
    connection.execute(
        sql.SQL("CREATE DATABASE {} OWNER {} TEMPLATE template0 ENCODING 'UTF8' {}").format(
            sql.Identifier(database), sql.Identifier(OWNER), locale
        )
    )


def _same_server(connection: Connection, database: str) -> Connection:
    info = connection.info
    return psycopg.connect(
        make_conninfo(info.dsn, dbname=database, password=info.password or None),
        autocommit=True,
    )


def _require_autocommit(connection: Connection) -> None:
    if not connection.autocommit:
        raise ValueError("Roles are provisioned in autocommit mode: connect with autocommit=True.")
