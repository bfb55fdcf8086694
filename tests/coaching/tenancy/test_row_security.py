"""The database itself keeps businesses apart, whatever the application forgets."""

from uuid import uuid4

import pytest
from django.db import IntegrityError, ProgrammingError, connection, transaction
from django.db.utils import DataError

from coaching.models import Client
from coaching.tenancy.scope import NestedBusinessScopeError, NoBusinessSetError, business_scope
from tests.business_models import BUSINESS_MODELS
from tests.scenario import Cast


def _sql(statement: str, *parameters: object) -> list[tuple]:
    with connection.cursor() as cursor:
        cursor.execute(statement, parameters)
        return cursor.fetchall() if cursor.description else []


def test_raw_sql_without_a_filter_sees_one_business_only(cast: Cast, neighbour: Cast) -> None:
    with business_scope(cast.business_id):
        seen = _sql("SELECT DISTINCT business_id FROM coaching_client")
    assert seen == [(cast.business_id,)]
    with business_scope(neighbour.business_id):
        seen = _sql("SELECT DISTINCT business_id FROM coaching_client")
    assert seen == [(neighbour.business_id,)]


def test_a_statement_with_no_business_set_fails_rather_than_finding_nothing(cast: Cast) -> None:
    with pytest.raises((ProgrammingError, DataError)), transaction.atomic():
        _sql("SELECT count(*) FROM coaching_client")


def test_updates_and_deletes_without_a_filter_leave_the_neighbour_alone(cast: Cast, neighbour: Cast) -> None:
    with business_scope(cast.business_id):
        _sql("UPDATE coaching_client SET name = 'changed'")
        _sql("DELETE FROM coaching_clientzone")
    with business_scope(neighbour.business_id):
        assert {client.name for client in Client.objects.all()} == {"Anna", "Ben", "Carl"}
        assert _sql("SELECT count(*) FROM coaching_clientzone") == [(3,)]


def test_a_row_of_another_business_cannot_be_written(cast: Cast, neighbour: Cast) -> None:
    with (
        business_scope(cast.business_id),
        pytest.raises(ProgrammingError, match="row-level security"),
        transaction.atomic(),
    ):
        _sql(
            "INSERT INTO coaching_staleweek (id, business_id, client_id, week_start, generation, marked_at) "
            "VALUES (%s, %s, %s, '2031-03-03', 1, now())",
            uuid4(),
            neighbour.business_id,
            neighbour.anna.id,
        )


def test_a_foreign_key_cannot_point_into_another_business(cast: Cast, neighbour: Cast) -> None:
    with transaction.atomic(), business_scope(cast.business_id):
        _sql(
            "INSERT INTO coaching_staleweek (id, business_id, client_id, week_start, generation, marked_at) "
            "VALUES (%s, %s, %s, '2031-03-03', 1, now())",
            uuid4(),
            cast.business_id,
            neighbour.anna.id,
        )
        with pytest.raises(IntegrityError), transaction.atomic():
            _sql("SET CONSTRAINTS ALL IMMEDIATE")
        transaction.set_rollback(True)


def test_the_application_filter_alone_keeps_businesses_apart(cast: Cast, neighbour: Cast) -> None:
    with business_scope(cast.business_id):
        statement = str(Client.objects.all().query)
    assert "business_id" in statement.split("WHERE")[1]
    with pytest.raises(NoBusinessSetError):
        Client.objects.all()


def test_a_scope_inside_a_scope_is_refused(cast: Cast, neighbour: Cast) -> None:
    with (
        business_scope(cast.business_id),
        pytest.raises(NestedBusinessScopeError),
        business_scope(neighbour.business_id),
    ):
        pass


@pytest.mark.usefixtures("committed")
def test_a_finished_transaction_leaves_no_business_on_its_connection() -> None:
    with business_scope(uuid4()):
        assert _sql("SELECT current_setting('app.business_id')")[0][0]
    assert _sql("SELECT coalesce(current_setting('app.business_id', true), '')") == [("",)]


@pytest.mark.django_db
def test_every_table_of_a_business_is_behind_forced_row_security_by_one_equality() -> None:
    tables = _sql(
        "SELECT c.relname, c.relrowsecurity, c.relforcerowsecurity FROM pg_class c "
        "JOIN pg_attribute a ON a.attrelid = c.oid AND a.attname = 'business_id' AND NOT a.attisdropped "
        "JOIN pg_namespace n ON n.oid = c.relnamespace WHERE n.nspname = 'public' AND c.relkind = 'r'"
    )
    named = {name for name, _enabled, _forced in tables} - set(OUTSIDE_ROW_SECURITY)
    assert named == {model._meta.db_table for model in BUSINESS_MODELS}
    assert [name for name, enabled, forced in tables if name in named and not (enabled and forced)] == []
    policies = dict(
        _sql("SELECT tablename, (qual, with_check, roles::text)::text FROM pg_policies WHERE policyname = 'business'")
    )
    equality = "(business_id = (current_setting('app.business_id'::text))::uuid)"
    service = _sql("SELECT current_user")[0][0]
    expected = _sql("SELECT (%s, %s, %s)::text", equality, equality, f"{{{service}}}")[0][0]
    assert {name: policies.get(name) for name in named} == dict.fromkeys(named, expected)


OUTSIDE_ROW_SECURITY = {
    "coaching_sessiontoken": "read before any business is known; holds digests only",
}
"""Tables with a business's id and no policy, each with its reason."""


@pytest.mark.django_db
def test_every_key_between_tables_of_a_business_carries_the_business() -> None:
    keys = _sql(
        "SELECT r.conrelid::regclass::text, array_agg(a.attname::text ORDER BY a.attname) "
        "FROM pg_constraint r JOIN pg_attribute a ON a.attrelid = r.conrelid AND a.attnum = ANY (r.conkey) "
        "WHERE r.contype = 'f' AND EXISTS (SELECT FROM pg_attribute b WHERE b.attrelid = r.confrelid "
        "AND b.attname = 'business_id') GROUP BY r.oid, r.conrelid"
    )
    assert len(keys) > 20
    assert [key for key in keys if "business_id" not in key[1]] == []


@pytest.mark.django_db
def test_the_service_owns_nothing_and_cannot_pass_row_security() -> None:
    assert _sql(
        "SELECT rolsuper, rolbypassrls, rolcreaterole, rolcreatedb FROM pg_roles WHERE rolname = current_user"
    ) == [(False, False, False, False)]
    assert _sql(
        "SELECT count(*) FROM pg_class c JOIN pg_roles r ON r.oid = c.relowner "
        "WHERE r.rolname = current_user AND c.relpersistence = 'p'"
    ) == [(0,)]
    assert (
        _sql(
            "SELECT relname FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind = 'r' "
            "AND has_table_privilege(oid, 'TRUNCATE')"
        )
        == []
    )
    with pytest.raises(ProgrammingError), transaction.atomic():
        _sql("ALTER TABLE coaching_client DISABLE ROW LEVEL SECURITY")


@pytest.mark.django_db
def test_the_service_has_four_verbs_on_the_tables_of_a_business_and_the_fewest_elsewhere() -> None:
    added_to = dict.fromkeys(("coaching_auditentry", "coaching_consenttext", "coaching_erasure"), "INSERT SELECT")
    tables = {*(model._meta.db_table for model in BUSINESS_MODELS), "coaching_business"}
    granted = dict(
        _sql(
            "SELECT c.relname::text, coalesce(string_agg(verb, ' ' ORDER BY verb) "
            "FILTER (WHERE has_table_privilege(c.oid, verb)), '') "
            "FROM pg_class c CROSS JOIN unnest(%s::text[]) AS verb "
            "WHERE c.relnamespace = 'public'::regnamespace AND c.relkind IN ('r', 'v', 'm', 'p', 'f') "
            "GROUP BY c.relname",
            ["DELETE", "INSERT", "REFERENCES", "SELECT", "TRIGGER", "TRUNCATE", "UPDATE"],
        )
    )
    assert {name: verbs for name, verbs in granted.items() if name in tables} == dict.fromkeys(
        tables, "DELETE INSERT SELECT UPDATE"
    ) | added_to
    assert {name: verbs for name, verbs in granted.items() if name not in tables and verbs} == ELSEWHERE


ELSEWHERE = {
    # Of accounts, and asked for before any business is known; forgotten after a day.
    "coaching_passwordreset": "DELETE INSERT SELECT UPDATE",
    # The service never deletes one: `forget_account` takes only one that is in no business any more.
    "coaching_person": "INSERT SELECT UPDATE",
    # Counted before it is known whose account it is, and forgotten after 30 days.
    "coaching_signinattempt": "DELETE INSERT SELECT UPDATE",
    "coaching_sessiontoken": "DELETE INSERT SELECT UPDATE",
    # Read at the start, to say which migrations are missing.
    "django_migrations": "SELECT",
    # Of accounts, which are in any number of businesses; the secret is sealed, of a code the digest is kept.
    "coaching_secondfactor": "DELETE INSERT SELECT UPDATE",
    # A code that is used is deleted, so nothing is ever updated.
    "coaching_recoverycode": "DELETE INSERT SELECT",
}
"""What the service may do to tables outside any business."""


@pytest.mark.django_db
def test_no_grant_of_a_column_reaches_past_those_of_its_table() -> None:
    assert (
        _sql(
            "SELECT c.relname::text, a.attname::text FROM pg_attribute a JOIN pg_class c ON c.oid = a.attrelid "
            "WHERE c.relnamespace = 'public'::regnamespace AND a.attacl IS NOT NULL"
        )
        == []
    )


@pytest.mark.django_db
def test_each_function_that_runs_as_its_owner_has_a_fixed_search_path_and_is_nobody_elses() -> None:
    functions = _sql(
        "SELECT p.proname::text, p.proconfig, has_function_privilege('public', p.oid, 'EXECUTE') FROM pg_proc p "
        "WHERE p.prosecdef AND p.pronamespace NOT IN ('pg_catalog'::regnamespace, 'information_schema'::regnamespace)"
    )
    assert len(functions) >= 5
    path = "search_path=pg_catalog, public, pg_temp"
    assert [found for found in functions if path not in (found[1] or []) or found[2]] == []


@pytest.mark.django_db
def test_each_unique_index_of_a_business_holds_the_business_or_is_the_tables_own_id() -> None:
    """One that spans businesses would tell a caller what another business has."""
    indexes = _sql(
        "SELECT i.indrelid::regclass::text, i.indexrelid::regclass::text, "
        "array_agg(a.attname::text ORDER BY a.attname) "
        "FROM pg_index i JOIN pg_attribute a ON a.attrelid = i.indrelid AND a.attnum = ANY (i.indkey) "
        "WHERE i.indisunique AND i.indrelid::regclass::text = ANY (%s) GROUP BY i.indexrelid, i.indrelid",
        [model._meta.db_table for model in BUSINESS_MODELS],
    )
    assert len(indexes) > len(BUSINESS_MODELS)
    spanning = {(table, *columns) for table, _index, columns in indexes if "business_id" not in columns}
    assert {row for row in spanning if row[1:] != ("id",)} == set(SPANNING)


SPANNING = {
    ("coaching_apikey", "prefix"): "a key is looked up before its business is known; the service makes the prefix",
    ("coaching_client", "membership_id"): "a membership is of one business, by the composite key to it",
    ("logs_alertdigest", "message_id"): "a message is of one business, by the composite key to it",
}
"""Unique indexes across businesses, each with the reason why it tells nothing."""
