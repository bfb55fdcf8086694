"""Planned sessions settled by what was logged for them, and by time passing."""

from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import connection
from django.test.utils import CaptureQueriesContext

from coaching.models import Absence, Client, ClientState, StaleWeek
from coaching.tenancy.scope import business_scope
from programs.actions.missed_sessions import mark_missed
from programs.actions.performances import Performance, record_performance
from programs.models import PlannedSession
from tests.programs.documents import MONDAY, assign, content, published, sessions
from tests.scenario import Cast

LATER = datetime(2031, 4, 30, 12, tzinfo=UTC)
MONDAY_DUE = datetime(2031, 3, 11, 5, tzinfo=UTC)


def perform(session_id: UUID, on: date | None, *, now: datetime = LATER, sets: int = 4, **more: Any) -> Any:
    done = Performance(session_id, on, sets if on else None, finished=on is not None, **more)
    return record_performance(performances=[done], now=now)


def test_a_session_done_on_its_day_is_done_whenever_its_log_comes(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id)
        first = sessions(cast.anna.id)[0]
        (settled,) = perform(first.id, MONDAY, now=LATER)
        row = PlannedSession.objects.get(id=first.id)
    assert (row.state, row.performed_on, row.done_work_sets, row.moved_from) == ("done", MONDAY, 4, None)
    assert (settled.state_before, settled.state, settled.client_id) == ("planned", "done", cast.anna.id)


def test_another_day_of_the_week_is_a_move_and_a_later_week_is_late(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id)
        monday, wednesday, _friday, *_rest = sessions(cast.anna.id)
        perform(monday.id, MONDAY + timedelta(days=1))
        perform(wednesday.id, MONDAY + timedelta(days=9))
        rows = sessions(cast.anna.id)
    assert (rows[0].state, rows[0].moved_from) == ("done", MONDAY)
    assert (rows[1].state, rows[1].moved_from) == ("done_late", None)


def test_few_sets_make_it_part_done_with_a_reason(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id)
        first, second, *_ = sessions(cast.anna.id)
        perform(first.id, MONDAY, sets=2, cut_reason="The gym closed.")
        perform(second.id, MONDAY + timedelta(days=2), sets=3)
        rows = sessions(cast.anna.id)
    assert (rows[0].state, rows[0].cut_reason, rows[0].done_work_sets) == ("part_done", "The gym closed.", 2)
    assert rows[1].state == "done"


def test_several_logs_of_one_session_count_together(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id)
        first = sessions(cast.anna.id)[0]
        record_performance(
            performances=[Performance(first.id, MONDAY, 2, finished=True), Performance(first.id, MONDAY, 2)],
            now=LATER,
        )
        row = PlannedSession.objects.get(id=first.id)
    assert (row.state, row.done_work_sets) == ("done", 4)


def test_without_its_log_a_session_is_planned_again_or_missed_by_its_due_instant(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id)
        first = sessions(cast.anna.id)[0]
        perform(first.id, MONDAY)
        perform(first.id, None, now=MONDAY_DUE - timedelta(seconds=1))
        before = PlannedSession.objects.get(id=first.id)
        perform(first.id, MONDAY)
        (settled,) = perform(first.id, None, now=MONDAY_DUE)
        after = PlannedSession.objects.get(id=first.id)
    assert (before.state, before.performed_on, before.done_work_sets) == ("planned", None, None)
    assert (after.state, after.missed_at) == ("missed", MONDAY_DUE)
    assert settled.state == "missed"


def test_an_excused_session_that_was_done_and_undone_is_excused_again(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id)
        first = sessions(cast.anna.id)[0]
        PlannedSession.objects.filter(id=first.id).update(state="excused", excuse_reason="A wedding.")
        perform(first.id, MONDAY)
        done = PlannedSession.objects.get(id=first.id).state
        perform(first.id, None)
        row = PlannedSession.objects.get(id=first.id)
    assert done == "done"
    assert (row.state, row.excuse_reason) == ("excused", "A wedding.")


def test_a_late_log_of_a_missed_session_settles_it(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id)
        mark_missed(now=MONDAY_DUE, limit=10)
        first = sessions(cast.anna.id)[0]
        assert first.state == "missed"
        (settled,) = perform(first.id, MONDAY)
        row = PlannedSession.objects.get(id=first.id)
    assert (settled.state_before, row.state, row.missed_at) == ("missed", "done", None)


def test_settling_makes_the_week_planned_and_the_week_performed_stale(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id)
        StaleWeek.objects.all().delete()
        perform(sessions(cast.anna.id)[0].id, MONDAY + timedelta(days=21))
        marked = set(StaleWeek.objects.values_list("client_id", "week_start"))
    assert marked == {(cast.anna.id, MONDAY), (cast.anna.id, MONDAY + timedelta(days=21))}


def test_the_same_facts_again_change_nothing(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id)
        first = sessions(cast.anna.id)[0]
        perform(first.id, MONDAY)
        StaleWeek.objects.all().delete()
        version = PlannedSession.objects.get(id=first.id).row_version
        assert perform(first.id, MONDAY) == []
        assert PlannedSession.objects.get(id=first.id).row_version == version
        assert not StaleWeek.objects.exists()


def test_another_businesss_session_is_not_settled(cast: Cast, neighbour: Cast) -> None:
    with business_scope(neighbour.business_id):
        assign(neighbour.coach, published(), neighbour.anna.id)
        theirs = sessions(neighbour.anna.id)[0]
    with business_scope(cast.business_id):
        assert perform(theirs.id, MONDAY) == []
    with business_scope(neighbour.business_id):
        assert PlannedSession.objects.get(id=theirs.id).state == "planned"


def test_doing_one_session_of_a_sequence_opens_the_next(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id, calendar="in_sequence", weekdays=None, late_after_days=3)
        first, second, third, *_ = sessions(cast.anna.id)
        perform(first.id, MONDAY + timedelta(days=1))
        rows = sessions(cast.anna.id)
        assert (rows[1].window_start, rows[1].local_date) == (date(2031, 3, 12), date(2031, 3, 14))
        assert rows[1].due_at == datetime(2031, 3, 15, 5, tzinfo=UTC)
        assert rows[2].due_at is None
        perform(first.id, None, now=MONDAY_DUE)
        rows = sessions(cast.anna.id)
    assert rows[0].due_at == datetime(2031, 3, 13, 5, tzinfo=UTC)
    assert {row.due_at for row in rows[1:]} == {None}
    assert {row.state for row in rows} == {"planned"}
    assert (second.due_at, third.due_at) == (None, None)


def test_many_sessions_take_as_many_statements_as_one(cast: Cast) -> None:
    counts: list[int] = []
    with business_scope(cast.business_id):
        version = published(content(weeks=17))
        assign(cast.coach, version, cast.anna.id)
        rows = sessions(cast.anna.id)
        for size in (1, 50):
            todo = [Performance(row.id, row.local_date, 4, finished=True) for row in rows[:size]]
            PlannedSession.objects.update(state="planned", performed_on=None, done_work_sets=None)
            with CaptureQueriesContext(connection) as queries:
                assert len(record_performance(performances=todo, now=LATER)) == size
            counts.append(len(queries))
    assert counts[0] == counts[1]


def test_an_untouched_session_is_missed_from_its_due_instant_on_and_once(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id, cast.ben.id)
        assert mark_missed(now=MONDAY_DUE - timedelta(seconds=1), limit=10).missed == []
        found = mark_missed(now=MONDAY_DUE, limit=10).missed
        assert mark_missed(now=MONDAY_DUE, limit=10).missed == []
        row = sessions(cast.anna.id)[0]
    assert [(miss.planned_session_id, miss.client_id, miss.local_date, miss.away) for miss in found] == [
        (row.id, cast.anna.id, MONDAY, False)
    ]
    assert (row.state, row.missed_at) == ("missed", MONDAY_DUE)


def test_missed_sessions_are_taken_oldest_first_in_pieces(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id, cast.ben.id)
        taken = [
            [(miss.local_date, miss.client_id) for miss in mark_missed(now=LATER, limit=5).missed] for _ in range(4)
        ]
    assert [len(piece) for piece in taken] == [5, 5, 2, 0]
    assert max(day for day, _ in taken[0]) <= min(day for day, _ in taken[1])


def test_absent_ended_and_paused_clients_miss_nothing(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.head, published(), cast.anna.id, cast.ben.id, cast.carl.id)
        # Recorded past the action, as if it came between planning and detection.
        Absence.objects.create(client=cast.anna, starts_on=MONDAY, ends_on=MONDAY, kind="ill")
        Client.objects.filter(id=cast.ben.id).update(state=ClientState.ENDED)
        Client.objects.filter(id=cast.carl.id).update(state=ClientState.PAUSED)
        assert mark_missed(now=datetime(2031, 3, 11, 12, tzinfo=UTC), limit=10).missed == []
        states = [sessions(client.id)[0].state for client in (cast.anna, cast.ben, cast.carl)]
        reason = sessions(cast.anna.id)[0].excuse_reason
    assert states == ["excused", "excused", "paused"]
    assert reason == "Away: ill."


def test_a_session_missed_on_a_day_away_as_planned_is_marked_as_away(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id)
        Absence.objects.create(
            client=cast.anna, starts_on=MONDAY, ends_on=MONDAY, kind="travel", treatment="travel_kit"
        )
        (miss,) = mark_missed(now=MONDAY_DUE, limit=10).missed
    assert miss.away


def test_missed_sessions_make_their_weeks_stale(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id)
        StaleWeek.objects.all().delete()
        mark_missed(now=MONDAY_DUE, limit=10)
        assert set(StaleWeek.objects.values_list("client_id", "week_start")) == {(cast.anna.id, MONDAY)}
