"""In whatever order, however often and in whatever batches logs arrive: the same rows."""

from datetime import date
from uuid import UUID

import orjson
from django.db import transaction
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coaching.measures.local_calendar import week_start_of
from coaching.models import StaleWeek
from coaching.policy import Principal, Scope
from coaching.tenancy.scope import business_scope
from logs.actions.batch_records import record_log_batch
from logs.api.batch_body import read_batch
from logs.models import CheckIn, HeldItem, SessionLog, SetLog
from programs.models import PlannedSession
from tests.logs.logging import check_in, plan, session, set_

MONDAY = date(2026, 3, 2)
WEEK = (MONDAY, date(2026, 3, 8))
DAYS = ("2026-03-02", "2026-03-03", "2026-03-05", "2026-03-10")
LISTS = {"session": "session_logs", "set": "set_logs", "check_in": "check_ins"}


class _Undo(Exception):  # noqa: N818 -- it undoes, nothing went wrong
    """Takes a run of the property back."""


def arrivals():
    """Draw revisions of a few logs: each identity has one content per revision."""
    return st.builds(
        list,
        st.lists(
            st.one_of(
                st.tuples(st.just("session"), st.integers(0, 2), st.integers(0, 2), st.integers(0, 3)),
                st.tuples(st.just("set"), st.integers(0, 4), st.integers(0, 2), st.integers(0, 2)),
                st.tuples(st.just("check_in"), st.integers(0, 1), st.integers(0, 2), st.integers(0, 3)),
            ),
            min_size=1,
            max_size=9,
            unique_by=lambda one: one[:3],
        ),
    )


def item_of(cast, arrival):
    kind, number, revision, variant = arrival
    if kind == "session":
        return session(cast.anna, f"s{number}", local_date=DAYS[variant], session_rpe=revision, revision=revision)
    if kind == "set":
        return set_(cast.anna, f"set{number}", session_external_id=f"s{variant}", reps=5 + revision, revision=revision)
    return check_in(cast.anna, f"c{number}", local_date=DAYS[variant], sleep=1 + revision, revision=revision)


def send(cast, arrivals):
    body: dict[str, list] = {name: [] for name in LISTS.values()}
    for arrival in arrivals:
        body[LISTS[arrival[0]]].append(item_of(cast, arrival))
    actor = Principal(
        kind="key",
        business_id=cast.business_id,
        credential_id=UUID(int=1),
        scopes=frozenset(Scope),
        source="app",
    )
    batch = record_log_batch(
        actor=actor,
        source=None,
        items=read_batch(orjson.dumps(body)).items,
        strict=False,
        now=timezone.now(),
    )
    assert batch.summary["refused"] == 0


def stored():
    """Everything that the arrivals left, but ids, row versions and times of arrival."""
    return {
        "sessions": sorted(
            SessionLog.objects.values_list(
                "external_id", "revision", "local_date", "session_rpe", "planned_session_id"
            ),
            key=str,
        ),
        "sets": sorted(
            SetLog.objects.values_list("external_id", "revision", "reps", "local_date", "session_log__external_id"),
            key=str,
        ),
        "check_ins": sorted(CheckIn.objects.values_list("external_id", "revision", "local_date", "sleep"), key=str),
        "waiting": sorted(HeldItem.objects.values_list("external_id", "session_external_id"), key=str),
        "planned": sorted(PlannedSession.objects.values_list("id", "state", "performed_on", "done_work_sets"), key=str),
    }


def after(cast, batches):
    """Send batches into the same beginning, and return what they left and the weeks that they marked."""
    found, marked = {}, set()
    try:
        with business_scope(cast.business_id), transaction.atomic():
            for batch in batches:
                send(cast, batch)
            found = stored()
            marked = set(StaleWeek.objects.values_list("client_id", "week_start"))
            raise _Undo  # noqa: TRY301
    except _Undo:
        pass
    return found, marked


@given(data=st.data())
@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
def test_any_order_repetition_and_partition_leaves_the_same_rows(cast, data):
    logs = data.draw(arrivals())
    again = data.draw(st.lists(st.sampled_from(logs), max_size=4))
    shuffled = data.draw(st.permutations([*logs, *again]))
    cuts = sorted(data.draw(st.sets(st.integers(1, max(1, len(shuffled) - 1)), max_size=4)))
    parts = [shuffled[first:last] for first, last in zip([0, *cuts], [*cuts, len(shuffled)], strict=True)]
    with business_scope(cast.business_id):
        planned = PlannedSession.objects.exists()
    if not planned:
        plan(cast, cast.anna, MONDAY, date(2026, 3, 3))
        plan(cast, cast.anna, MONDAY, MONDAY, calendar="any_days_in_week", window=WEEK)
    one_batch, _ = after(cast, [sorted(logs, key=lambda one: one[2])])
    in_parts, marked = after(cast, [part for part in parts if part])
    assert in_parts == one_batch
    # Every week that holds a row is marked to be computed.
    dated = {row[2] for row in in_parts["sessions"]} | {row[3] for row in in_parts["sets"]}
    assert {(cast.anna.id, week_start_of(day, 0)) for day in dated} <= marked
