"""What the three roles may and may not do, on a running server."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import psycopg
import pytest
from psycopg import errors

from coaching.embedded import (
    BACKUP,
    DATABASE,
    OWNER,
    SERVICE,
    RunningServers,
    fresh_database,
    grant_defaults,
    provision,
)


@pytest.fixture(scope="module")
def roles(servers: RunningServers) -> dict[str, Any]:
    with psycopg.connect(servers.admin_url) as connection:
        rows = connection.execute(
            "SELECT rolname, rolcanlogin, rolsuper, rolcreatedb, rolcreaterole, rolreplication, rolbypassrls"
            " FROM pg_roles WHERE rolname LIKE 'counterpoise%'"
        ).fetchall()
    return {name: attributes for name, *attributes in rows}


@pytest.fixture
def owner(servers: RunningServers) -> Iterator[psycopg.Connection[Any]]:
    with psycopg.connect(servers.owner_url, autocommit=True) as connection:
        connection.execute("DROP TABLE IF EXISTS loads; DROP FUNCTION IF EXISTS heaviest()")
        connection.execute("CREATE TABLE loads (id bigserial PRIMARY KEY, business text, load_kg numeric)")
        yield connection
        connection.execute("DROP TABLE loads")


def values(url: str, query: str) -> list[Any]:
    with psycopg.connect(url, autocommit=True) as connection:
        return [row[0] for row in connection.execute(query)]


def test_each_role_has_exactly_the_attributes_it_needs(roles: dict[str, Any]) -> None:
    login, superuser, createdb, createrole, replication, bypassrls = range(6)
    assert {role: {i for i, has in enumerate(attributes) if has} for role, attributes in roles.items()} == {
        OWNER: {login, createdb},
        SERVICE: {login},
        BACKUP: {login, bypassrls},
        "counterpoise_admin": {login, superuser, createdb, createrole, replication, bypassrls},
    }


def test_only_the_backup_role_is_a_member_of_another_role(servers: RunningServers) -> None:
    memberships = values(
        servers.admin_url,
        "SELECT member::regrole::text || ' in ' || roleid::regrole::text FROM pg_auth_members"
        " WHERE member::regrole::text LIKE 'counterpoise%'",
    )
    assert memberships == [f"{BACKUP} in pg_read_all_data"]


def test_the_service_owns_nothing_and_the_owner_owns_the_database(servers: RunningServers) -> None:
    owned = "SELECT count(*) FROM pg_shdepend WHERE deptype = 'o' AND refobjid = '{}'::regrole"
    assert values(servers.service_url, owned.format(SERVICE)) == [0]
    assert values(servers.service_url, owned.format(BACKUP)) == [0]
    database = f"SELECT datdba::regrole::text FROM pg_database WHERE datname = '{DATABASE}'"
    assert values(servers.service_url, database) == [OWNER]


def test_the_service_reads_and_writes_the_owners_new_tables_but_can_not_empty_or_change_them(
    servers: RunningServers, owner: psycopg.Connection[Any]
) -> None:
    with psycopg.connect(servers.service_url, autocommit=True) as service:
        service.execute("INSERT INTO loads (business, load_kg) VALUES ('north', 80), ('south', 100)")
        service.execute("UPDATE loads SET load_kg = 82.5 WHERE business = 'north'")
        service.execute("DELETE FROM loads WHERE business = 'south'")
        assert service.execute("SELECT load_kg FROM loads").fetchall() == [(82.5,)]
        for forbidden in (
            "TRUNCATE loads",
            "ALTER TABLE loads ADD note text",
            "DROP TABLE loads",
            "CREATE TABLE public.mine (id int)",
            "CREATE SCHEMA mine",
            f"SET ROLE {OWNER}",
        ):
            with pytest.raises(errors.InsufficientPrivilege):
                service.execute(forbidden)


def test_the_service_copies_into_temporary_tables(servers: RunningServers) -> None:
    with psycopg.connect(servers.service_url) as service:
        service.execute("CREATE TEMP TABLE batch (load_kg numeric) ON COMMIT DROP")
        with service.cursor().copy("COPY batch FROM STDIN") as copy:
            copy.write_row([80])
        assert service.execute("SELECT load_kg FROM batch").fetchall() == [(80,)]


def test_row_level_security_binds_the_service_and_the_owner_but_not_the_backup(
    servers: RunningServers, owner: psycopg.Connection[Any]
) -> None:
    owner.execute("INSERT INTO loads (business, load_kg) VALUES ('north', 80), ('south', 100)")
    owner.execute("ALTER TABLE loads ENABLE ROW LEVEL SECURITY; ALTER TABLE loads FORCE ROW LEVEL SECURITY")
    owner.execute(f"CREATE POLICY tenant ON loads TO {SERVICE} USING (business = 'north')")
    query = "SELECT business FROM loads ORDER BY business"
    assert values(servers.service_url, query) == ["north"]
    assert values(servers.owner_url, query) == []
    assert values(servers.backup_url, query) == ["north", "south"]


def test_the_backup_role_writes_nothing(servers: RunningServers, owner: psycopg.Connection[Any]) -> None:
    with pytest.raises(errors.InsufficientPrivilege):
        values(servers.backup_url, "INSERT INTO loads (business) VALUES ('north') RETURNING id")


def test_functions_of_the_owner_are_for_the_service_and_not_for_everyone(
    servers: RunningServers, owner: psycopg.Connection[Any]
) -> None:
    owner.execute("CREATE FUNCTION heaviest() RETURNS numeric LANGUAGE sql AS 'SELECT 1.0'")
    assert values(servers.service_url, "SELECT heaviest()") == [1]
    with pytest.raises(errors.InsufficientPrivilege):
        values(servers.backup_url, "SELECT heaviest()")


def test_the_service_gives_up_on_long_statements_and_idle_transactions(servers: RunningServers) -> None:
    settings = (
        "SELECT string_agg(name || '=' || current_setting(name), ' ' ORDER BY name) FROM pg_settings"
        " WHERE name IN ('statement_timeout', 'lock_timeout', 'idle_in_transaction_session_timeout',"
        " 'transaction_timeout')"
    )
    limits = "idle_in_transaction_session_timeout=30s lock_timeout=3s statement_timeout=15s"
    newer = values(servers.service_url, "SELECT current_setting('server_version_num')::int >= 170000") == [True]
    assert values(servers.service_url, settings) == [limits + (" transaction_timeout=1min" if newer else "")]


def test_an_unknown_role_of_the_server_may_not_connect_to_the_database(servers: RunningServers) -> None:
    with psycopg.connect(servers.admin_url, autocommit=True) as admin:
        admin.execute("CREATE ROLE passer_by LOGIN")
        try:
            with pytest.raises(psycopg.OperationalError, match="permission denied for database"):
                psycopg.connect(servers.database_url("passer_by"))
        finally:
            admin.execute("DROP ROLE passer_by")


def test_provisioning_twice_changes_nothing_and_sets_right_what_was_changed(
    servers: RunningServers, owner: psycopg.Connection[Any]
) -> None:
    owner.execute("INSERT INTO loads (business) VALUES ('north')")
    bypasses = f"SELECT rolbypassrls FROM pg_roles WHERE rolname = '{SERVICE}'"
    with psycopg.connect(servers.admin_url, autocommit=True) as admin:
        admin.execute(f"ALTER ROLE {SERVICE} BYPASSRLS")
        provision(admin)
        provision(admin)
    assert values(servers.service_url, bypasses) == [False]
    assert values(servers.service_url, "SELECT business FROM loads") == ["north"]


def test_provisioning_gives_passwords_as_hashes_only(servers: RunningServers) -> None:
    with psycopg.connect(servers.admin_url, autocommit=True) as admin:
        provision(admin, passwords={SERVICE: "a long and dull sentence"})
    (stored,) = values(servers.admin_url, f"SELECT rolpassword FROM pg_authid WHERE rolname = '{SERVICE}'")
    assert stored.startswith("SCRAM-SHA-256$")


def test_provisioning_refuses_a_connection_that_is_in_a_transaction(servers: RunningServers) -> None:
    with psycopg.connect(servers.admin_url) as admin, pytest.raises(ValueError, match="autocommit=True"):
        provision(admin)


@pytest.mark.parametrize("creator", ["admin", "owner"])
def test_a_fresh_database_has_the_same_privileges_and_replaces_an_old_one(
    servers: RunningServers, creator: str
) -> None:
    url = servers.admin_url if creator == "admin" else servers.database_url(OWNER, "postgres")
    for _ in range(2):
        fresh_database(url, "test_fresh")
        with psycopg.connect(servers.database_url(OWNER, "test_fresh")) as owner:
            owner.execute("CREATE TABLE loads (id bigserial PRIMARY KEY)")
        service_url = servers.database_url(SERVICE, "test_fresh")
        assert values(service_url, "INSERT INTO loads DEFAULT VALUES RETURNING id") == [1]
        with pytest.raises(errors.InsufficientPrivilege):
            values(service_url, "CREATE TABLE mine (id int)")


def test_the_owner_grants_the_defaults_in_a_database_that_it_created_itself(servers: RunningServers) -> None:
    with psycopg.connect(servers.database_url(OWNER, "postgres"), autocommit=True) as owner:
        owner.execute("DROP DATABASE IF EXISTS test_own")
        owner.execute("CREATE DATABASE test_own")
    with psycopg.connect(servers.database_url(OWNER, "test_own"), autocommit=True) as owner:
        grant_defaults(owner)
        owner.execute("CREATE TABLE loads (id bigserial PRIMARY KEY)")
    service_url = servers.database_url(SERVICE, "test_own")
    assert values(service_url, "INSERT INTO loads DEFAULT VALUES RETURNING id") == [1]


def test_a_forced_fresh_database_throws_out_a_session_of_the_service(servers: RunningServers) -> None:
    fresh_database(servers.admin_url, "test_busy")
    with psycopg.connect(servers.database_url(SERVICE, "test_busy"), autocommit=True) as service:
        fresh_database(servers.admin_url, "test_busy")
        with pytest.raises(psycopg.OperationalError):
            service.execute("SELECT 1")


def test_text_sorts_by_code_point_and_letters_beyond_ascii_have_two_cases(servers: RunningServers) -> None:
    names = "SELECT string_agg(name, '' ORDER BY name) FROM unnest('{b,B,é,a,Z}'::text[]) AS name"
    assert values(servers.service_url, names) == ["BZabé"]
    assert values(servers.service_url, "SELECT upper('é')") == ["É"]
    assert values(servers.service_url, "SHOW server_encoding") == ["UTF8"]
    assert values(servers.service_url, "SHOW data_checksums") == ["on"]
