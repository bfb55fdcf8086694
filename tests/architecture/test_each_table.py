"""Each table of a business, found in the database itself, refuses each verb across the border."""

from collections.abc import Iterator
from uuid import UUID, uuid4

import pytest
from django.db import DataError, ProgrammingError, connection, transaction

from coaching.tenancy.scope import business_scope
from tests.architecture.world import build_world
from tests.coaching.tenancy.test_row_security import OUTSIDE_ROW_SECURITY
from tests.scenario import Cast


def _tables() -> list[str]:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT c.oid::regclass::text FROM pg_class c "
            "JOIN pg_attribute a ON a.attrelid = c.oid AND a.attname = 'business_id' AND NOT a.attisdropped "
            "WHERE c.relnamespace = 'public'::regnamespace AND c.relkind IN ('r', 'p') ORDER BY 1"
        )
        return [table for (table,) in cursor.fetchall() if table not in OUTSIDE_ROW_SECURITY]


def _statements(table: str, business_id: UUID) -> Iterator[tuple[str, str]]:
    yield "SELECT", f"SELECT id FROM {table} WHERE business_id = '{business_id}'"
    yield "SELECT FOR UPDATE", f"SELECT id FROM {table} WHERE business_id = '{business_id}' FOR UPDATE"
    yield "UPDATE", f"UPDATE {table} SET id = id WHERE business_id = '{business_id}'"
    yield "DELETE", f"DELETE FROM {table} WHERE business_id = '{business_id}'"
    yield "INSERT", f"INSERT INTO {table} (id, business_id) VALUES ('{uuid4()}', '{business_id}')"
    yield "MOVE", f"UPDATE {table} SET business_id = '{business_id}'"


def _outcome(statement: str) -> str:
    """Return the rows that a statement touches, or the first words of its refusal; it is always undone."""
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(statement)
            transaction.set_rollback(True)
            return str(cursor.rowcount)
    except (ProgrammingError, DataError) as refused:
        return str(refused).splitlines()[0]


def _is_shut_out(outcome: str) -> bool:
    if outcome.isdigit():
        return outcome == "0"
    return any(words in outcome for words in ("row-level security", "permission denied", "only ever withdrawn, once"))


def test_each_verb_on_each_table_touches_no_row_of_the_neighbour(
    cast: Cast, neighbour: Cast, world: dict[str, str]
) -> None:
    build_world(neighbour)
    tables, passed, filled = _tables(), {}, set()
    assert len(tables) > 40
    with business_scope(neighbour.business_id):
        theirs = {table: _outcome(f"SELECT id FROM {table}") for table in tables}
    with business_scope(cast.business_id):
        for table in tables:
            if _outcome(f"SELECT id FROM {table}") != "0":
                filled.add(table)
            for verb, statement in _statements(table, neighbour.business_id):
                outcome = _outcome(statement)
                must_be_refused = verb == "INSERT" or (verb == "MOVE" and table in filled)
                if not _is_shut_out(outcome) or (must_be_refused and outcome == "0"):
                    passed[f"{verb} {table}"] = outcome
    assert passed == {}
    # The control: there was something to touch.
    assert {table for table, rows in theirs.items() if rows == "0"} == set(tables) - filled
    assert len(filled) > 30


@pytest.mark.django_db
def test_each_verb_on_each_table_fails_while_no_business_is_set() -> None:
    nobody, passed = uuid4(), {}
    for table in _tables():
        for verb, statement in _statements(table, nobody):
            outcome = _outcome(statement)
            if outcome.isdigit():
                passed[f"{verb} {table}"] = outcome
    assert passed == {}


@pytest.mark.django_db
@pytest.mark.parametrize(
    "statement",
    [
        "ALTER TABLE {table} DISABLE ROW LEVEL SECURITY",
        "ALTER TABLE {table} NO FORCE ROW LEVEL SECURITY",
        "DROP POLICY business ON {table}",
        "ALTER POLICY business ON {table} USING (true)",
        "CREATE POLICY open_to_all ON {table} USING (true)",
        "TRUNCATE {table}",
        "CREATE TRIGGER seen BEFORE UPDATE ON {table} EXECUTE FUNCTION suppress_redundant_updates_trigger()",
        "ALTER TABLE {table} OWNER TO CURRENT_USER",
    ],
)
def test_the_service_cannot_change_what_keeps_a_table_shut(statement: str) -> None:
    done = {}
    for table in _tables():
        outcome = _outcome(statement.format(table=table))
        if outcome.lstrip("-").isdigit():
            done[table] = outcome
    assert done == {}


@pytest.mark.django_db
def test_with_row_security_off_a_statement_fails_and_sees_nothing() -> None:
    assert _outcome("SET LOCAL row_security = off; SELECT id FROM coaching_client").startswith(
        "query would be affected by row-level security"
    )


@pytest.mark.django_db
def test_the_service_can_become_no_other_role_and_reads_no_secret_of_the_server() -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT rolname FROM pg_roles WHERE rolname <> current_user AND pg_has_role(oid, 'MEMBER')")
        assert cursor.fetchall() == []
        cursor.execute("SELECT tableowner FROM pg_tables WHERE tablename = 'coaching_client'")
        owner = cursor.fetchone()[0]
    assert "permission denied" in _outcome(f'SET ROLE "{owner}"')
    assert "permission denied" in _outcome("SELECT rolpassword FROM pg_authid")
    assert "permission denied" in _outcome(
        "CREATE FUNCTION public.peep() RETURNS bigint LANGUAGE sql SECURITY DEFINER AS 'SELECT 1'"
    )


@pytest.mark.django_db
def test_the_service_can_hand_its_rights_to_nobody() -> None:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT c.relname, verb FROM pg_class c CROSS JOIN unnest(%s::text[]) AS verb "
            "WHERE c.relnamespace = 'public'::regnamespace AND c.relkind IN ('r', 'v', 'm', 'p', 'f') "
            "AND has_table_privilege(c.oid, verb || ' WITH GRANT OPTION')",
            [["SELECT", "INSERT", "UPDATE", "DELETE", "TRUNCATE"]],
        )
        assert cursor.fetchall() == []
