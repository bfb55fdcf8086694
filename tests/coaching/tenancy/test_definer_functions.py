"""Functions that run as their owner look across businesses: each is reviewed here, and gives no more than that."""

from dataclasses import dataclass
from datetime import timedelta
from typing import Any, Final
from uuid import UUID, uuid4

import pytest
from django.db import DatabaseError, connection, transaction

from coaching.actions.outbox import queue_message
from coaching.actions.stale_weeks import mark_stale
from coaching.models import Business, Membership
from coaching.models.businesses import BusinessState
from coaching.models.people import MembershipState
from coaching.tenancy.scope import business_scope
from logs.actions.alerts import detect_missed
from tests.planned_sessions import plan_session
from tests.programs.documents import MONDAY
from tests.scenario import NOON, Cast, build_business

_IDS: Final = "SETOF uuid"
_KEY: Final = (
    "TABLE(id uuid, business_id uuid, digest character varying, scopes character varying[], "
    "source character varying, client_ids uuid[], expires_at timestamp with time zone, "
    "revoked_at timestamp with time zone, last_used_at timestamp with time zone, "
    "previous_digest character varying, previous_ends_at timestamp with time zone, "
    "previous_last_used_at timestamp with time zone)"
)
_PLACES: Final = "TABLE(id uuid, business_id uuid, business_name character varying, role character varying)"

REVIEWED: Final = {
    "active_business_ids()": (_IDS, "ids of businesses"),
    "businesses_to_reconcile(since timestamp with time zone)": (_IDS, "ids of businesses, longest ago first"),
    "businesses_with_due_messages(until timestamp with time zone)": (_IDS, "ids of businesses"),
    "businesses_with_due_operations(by_instant timestamp with time zone)": (_IDS, "ids of businesses"),
    "businesses_with_due_sessions(until timestamp with time zone)": (_IDS, "ids of businesses"),
    "businesses_with_open_alerts()": (_IDS, "ids of businesses"),
    "businesses_with_stale_weeks()": (_IDS, "ids of businesses"),
    "forget_account(wanted uuid)": ("boolean", "deletes an account that is in no business; whether it did"),
    "memberships_of(wanted uuid)": (_PLACES, "one person's active memberships, with the names of their businesses"),
    "origin_is_allowed(wanted character varying)": ("boolean", "whether any business lists one origin, not which"),
    "resolve_api_key(wanted character varying)": (_KEY, "one key by its whole prefix; digests, never a secret"),
}
"""What each such function takes and returns, and what that gives away. A new one fails here until it is reviewed."""

OWNER_READS: Final = {
    "coaching_apikey",
    "coaching_business",
    "coaching_membership",
    "coaching_operation",
    "coaching_outboxmessage",
    "coaching_staleweek",
    "logs_missedalert",
    "programs_plannedsession",
}
"""The tables of businesses that these functions can read; they can write to none."""

OF_ACCOUNTS: Final = {"forget_account": "coaching_person is of accounts, which are in any number of businesses"}
"""Functions that write, each with the table outside any business that it writes to."""

_OURS: Final = "p.prosecdef AND p.pronamespace NOT IN ('pg_catalog'::regnamespace, 'information_schema'::regnamespace)"
_LISTS: Final = sorted(name for name, (returns, _why) in REVIEWED.items() if returns == _IDS)
_INSTANTS: Final = ("infinity", "-infinity", None, "2031-03-20 12:00+00", "0001-01-01 00:00+00 BC")
_WORDS: Final = ("", "%", "_", "________", "*", "' OR true --", "\\", "cp_", "{}", "ALL", "\n", "x" * 4000, None)


def _sql(statement: str, *parameters: object) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(statement, parameters)
        return cursor.fetchall() if cursor.description else []


def _listed(signature: str, instant: str | None) -> list[UUID]:
    name, _bracket, arguments = signature.partition("(")
    statement = f"SELECT {name}()" if arguments == ")" else f"SELECT {name}(%s::timestamptz)"
    return [row[0] for row in _sql(statement, *([] if arguments == ")" else [instant]))]


@dataclass(frozen=True)
class Due:
    """Two businesses in which everything is due, and a closed one where everything would be."""

    ours: Cast
    theirs: Cast
    closed: Cast


@pytest.fixture
def due(cast: Cast, neighbour: Cast) -> Due:
    """Each function has something to say of both."""
    found = Due(cast, neighbour, build_business("Closed Doors"))
    for business in (found.ours, found.theirs, found.closed):
        owner = business.api(business.owner)
        assert owner.post("/api/v1/exports", {"client": str(business.anna.id)}, format="json").status_code == 202
        with business_scope(business.business_id):
            plan_session(business.anna, MONDAY)
            Business.objects.update(allowed_origins=[f"https://{business.business_id}.example"])
        detect_missed(business.business_id, NOON + timedelta(days=30))
        with business_scope(business.business_id):
            plan_session(business.ben, MONDAY)
            queue_message(kind="password_changed", dedupe_key="one", payload={}, due_at=NOON)
            mark_stale(weeks=[(business.anna.id, MONDAY)], now=NOON)
    with business_scope(found.closed.business_id):
        Business.objects.update(state=BusinessState.CLOSED)
    return found


@pytest.mark.django_db
def test_each_function_that_runs_as_its_owner_is_reviewed_and_returns_what_was_reviewed() -> None:
    found = _sql(
        "SELECT p.proname || '(' || pg_get_function_identity_arguments(p.oid) || ')', pg_get_function_result(p.oid) "
        f"FROM pg_proc p WHERE {_OURS}"
    )
    assert dict(found) == {name: returns for name, (returns, _why) in REVIEWED.items()}


@pytest.mark.django_db
def test_each_is_the_owners_with_a_fixed_path_only_the_service_may_run_it_and_only_one_writes() -> None:
    ((tables_owner, service),) = _sql(
        "SELECT tableowner::text, current_user::text FROM pg_tables WHERE tablename = 'coaching_client'"
    )
    found = _sql(
        "SELECT p.proname::text, p.proowner::regrole::text, p.proconfig, p.provolatile::text, p.prokind::text, "
        "l.lanname::text, (SELECT array_agg(CASE a.grantee WHEN 0 THEN 'PUBLIC' ELSE a.grantee::regrole::text END || "
        "CASE WHEN a.is_grantable THEN '*' ELSE '' END ORDER BY 1) FROM aclexplode(coalesce(p.proacl, "
        "acldefault('f', p.proowner))) a) "
        f"FROM pg_proc p JOIN pg_language l ON l.oid = p.prolang WHERE {_OURS}"
    )
    path = ["search_path=pg_catalog, public, pg_temp"]
    # `sql` can hold no statement that is put together as it runs.
    expected = {
        (name, tables_owner, tuple(path), "v" if name in OF_ACCOUNTS else "s", "f", "sql", (tables_owner, service))
        for name in (signature.partition("(")[0] for signature in REVIEWED)
    }
    assert {
        (name, owner, tuple(config or ()), *rest, tuple(may)) for name, owner, config, *rest, may in found
    } == expected
    assert _sql("SELECT rolsuper, rolbypassrls FROM pg_roles WHERE rolname = %s", tables_owner) == [(False, False)]


@pytest.mark.django_db
def test_what_they_can_read_of_businesses_is_these_tables_and_they_can_write_to_none() -> None:
    ((owner,),) = _sql("SELECT tableowner::text FROM pg_tables WHERE tablename = 'coaching_client'")
    others = _sql(
        "SELECT tablename::text, permissive, cmd, roles::text[] FROM pg_policies WHERE policyname <> 'business'"
    )
    assert {(table, kind, verb, tuple(roles)) for table, kind, verb, roles in others} == {
        (table, "PERMISSIVE", "SELECT", (owner,)) for table in OWNER_READS
    }


def test_each_list_gives_ids_of_active_businesses_and_nothing_else_whatever_the_instant(due: Due) -> None:
    both = {due.ours.business_id, due.theirs.business_id}
    for signature in _LISTS:
        answers = [set(_listed(signature, instant)) for instant in _INSTANTS]
        assert set().union(*answers) == both, signature
        assert all(answer in (set(), both) for answer in answers), signature
    outside = {signature: _listed(signature, "infinity") for signature in _LISTS}
    with business_scope(due.ours.business_id):
        assert {signature: _listed(signature, "infinity") for signature in _LISTS} == outside


def test_a_key_is_found_by_its_whole_prefix_and_by_nothing_like_it(due: Due) -> None:
    prefixes = {}
    for business in (due.ours, due.theirs, due.closed):
        business.key("logs:read")
        business.key("logs:write")
        with business_scope(business.business_id):
            prefixes[business.business_id] = [row[0] for row in _sql("SELECT prefix FROM coaching_apikey")]
    theirs = prefixes[due.theirs.business_id]
    for prefix in theirs:
        found = _sql("SELECT business_id, digest FROM resolve_api_key(%s)", prefix)
        assert [row[0] for row in found] == [due.theirs.business_id]
        assert all(len(row[1]) == 64 for row in found), "a digest, not the secret"
    near = [
        theirs[0][:-1],
        theirs[0] + "x",
        theirs[0].swapcase(),
        theirs[0] + " ",
        f"{theirs[0][:4]}%",
        "%".join(theirs),
    ]
    for word in [*_WORDS, *near, *prefixes[due.closed.business_id]]:
        assert _sql("SELECT * FROM resolve_api_key(%s)", word) == [], word


def test_a_persons_memberships_are_theirs_alone_and_only_where_they_are_active(due: Due) -> None:
    theirs = due.theirs.coach
    asked = "SELECT id, business_id, business_name, role FROM memberships_of(%s)"
    assert _sql(asked, theirs.person_id) == [(theirs.id, due.theirs.business_id, "Harbour Strength", "coach")]
    # An id of anything else of theirs, of nobody, and of somebody whose business is closed.
    for odd in (None, uuid4(), UUID(int=0), theirs.id, due.theirs.business_id, due.theirs.anna.id):
        assert _sql(asked, odd) == [], odd
    assert _sql(asked, due.closed.coach.person_id) == []
    with business_scope(due.theirs.business_id):
        Membership.objects.filter(id=theirs.id).update(state=MembershipState.LEFT)
    assert _sql(asked, theirs.person_id) == []


def test_an_origin_is_said_to_be_allowed_or_not_and_no_pattern_asks_for_more(due: Due) -> None:
    asked = "SELECT origin_is_allowed(%s)"
    assert _sql(asked, f"https://{due.theirs.business_id}.example") == [(True,)]
    assert _sql(asked, f"https://{due.closed.business_id}.example") == [(False,)]
    for word in _WORDS:
        assert _sql(asked, word) == [(False,)], word


def test_an_account_of_any_business_cannot_be_forgotten(due: Due) -> None:
    people = _sql("SELECT count(*) FROM coaching_person")
    for odd in (None, uuid4(), due.theirs.business_id, due.theirs.coach.id):
        assert _sql("SELECT forget_account(%s)", odd) == [(False,)], odd
    with business_scope(due.theirs.business_id):
        Membership.objects.filter(id=due.theirs.coach.id).update(state=MembershipState.LEFT)
    for business in (due.theirs, due.closed):
        for member in (business.owner, business.coach, business.client_member):
            with business_scope(due.ours.business_id):
                assert _sql("SELECT forget_account(%s)", member.person_id) == [(False,)]
    assert _sql("SELECT count(*) FROM coaching_person") == people


_PICKED_UP: Final = "LANGUAGE plpgsql AS 'BEGIN RAISE EXCEPTION ''it was picked up''; END'"
_COLUMNS: Final = "id uuid, name text, state text, allowed_origins text[], reconciled_at timestamptz"
_SHADOWS: Final = (
    f"CREATE TEMP TABLE coaching_business ({_COLUMNS})",
    "INSERT INTO pg_temp.coaching_business VALUES (gen_random_uuid(), 'false', 'active', ARRAY['false'], NULL)",
    "CREATE TEMP TABLE coaching_person (id uuid)",
    f"CREATE FUNCTION pg_temp.clock_timestamp() RETURNS timestamptz {_PICKED_UP}",
    f"CREATE FUNCTION pg_temp.never(varchar, varchar) RETURNS boolean {_PICKED_UP}",
    "CREATE OPERATOR pg_temp.= (LEFTARG = varchar, RIGHTARG = varchar, FUNCTION = pg_temp.never)",
    "SET LOCAL search_path = pg_temp, public, pg_catalog",
)
"""What a session can make of its own, which a function without a fixed path would take for the real thing."""


def test_nothing_that_a_session_makes_of_its_own_is_taken_for_the_real_thing(due: Due) -> None:
    origin = f"https://{due.theirs.business_id}.example"

    def answers() -> list[Any]:
        lists = [sorted(map(str, _listed(signature, "infinity"))) for signature in _LISTS]
        key = _sql("SELECT public.origin_is_allowed('false'), public.origin_is_allowed(%s)", origin)
        places = _sql("SELECT business_name FROM public.memberships_of(%s)", due.theirs.coach.person_id)
        return [lists, key, places, _sql("SELECT public.forget_account(%s)", due.theirs.coach.person_id)]

    before = answers()
    with transaction.atomic():
        for shadow in _SHADOWS:
            _sql(shadow)
        # The control: the session itself does take them for the real thing.
        assert _sql("SELECT name FROM coaching_business") == [("false",)]
        assert answers() == before
        transaction.set_rollback(True)


@pytest.mark.django_db
def test_the_service_makes_nothing_that_lasts() -> None:
    for statement in (
        "CREATE FUNCTION public.clock_timestamp() RETURNS timestamptz LANGUAGE sql AS 'SELECT now()'",
        "CREATE TABLE public.coaching_other (id uuid)",
        "CREATE VIEW public.coaching_seen AS SELECT 1",
        "CREATE SCHEMA own",
        "DROP EXTENSION plpgsql",
        "CREATE OR REPLACE FUNCTION active_business_ids() RETURNS SETOF uuid LANGUAGE sql AS 'SELECT NULL::uuid'",
        "ALTER FUNCTION active_business_ids() SECURITY INVOKER",
        "ALTER FUNCTION active_business_ids() SET search_path = pg_temp",
        "DROP FUNCTION active_business_ids()",
    ):
        with pytest.raises(DatabaseError, match=r"permission denied|must be owner"), transaction.atomic():
            _sql(statement)
    # This one is a warning, and does nothing.
    _sql("GRANT EXECUTE ON FUNCTION active_business_ids() TO PUBLIC")
    assert _sql("SELECT has_function_privilege('public', 'active_business_ids()', 'EXECUTE')") == [(False,)]


@pytest.mark.django_db
def test_no_view_shows_rows_by_its_owners_rights() -> None:
    """A view that is no `security_invoker` reads as its owner; a kept one (materialized) or a foreign table always."""
    assert (
        _sql(
            "SELECT oid::regclass::text FROM pg_class WHERE relkind IN ('v', 'm', 'f') AND relnamespace NOT IN "
            "('pg_catalog'::regnamespace, 'information_schema'::regnamespace) AND (relkind <> 'v' OR NOT coalesce("
            "'security_invoker=true' = ANY (reloptions) OR 'security_invoker=on' = ANY (reloptions), false))"
        )
        == []
    )
    # A rule would run as the table's owner, too.
    assert _sql("SELECT rulename FROM pg_rules WHERE schemaname = 'public'") == []
