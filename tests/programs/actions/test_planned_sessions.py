"""Single sessions moved, excused and given back; calendars that follow a client's zone and the business's grace."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from coaching.actions.clients import update_client
from coaching.models import Business, StaleWeek
from coaching.refusals import NotFound, PreconditionFailed
from coaching.tenancy.scope import business_scope
from programs.actions.business_policy import follow_business_policy
from programs.actions.missed_sessions import mark_missed
from programs.actions.performances import Performance, record_performance
from programs.actions.planned_sessions import (
    CoachOnly,
    InvalidMove,
    SessionPerformed,
    change_planned_session,
)
from programs.models import PlannedSession
from tests.programs.documents import MONDAY, acting, assign, published, sessions
from tests.scenario import NOON, Cast


def change(cast: Cast, row: PlannedSession, *, member: str = "coach", now: datetime = NOON, **what: Any):
    change_planned_session(
        actor=acting(getattr(cast, member)), planned_session_id=row.id, versions=None, now=now, **what
    )
    return PlannedSession.objects.get(id=row.id)


def first(cast: Cast, **terms: Any) -> PlannedSession:
    assign(cast.coach, published(), cast.anna.id, **terms)
    return sessions(cast.anna.id)[0]


def test_a_coach_moves_a_session_to_any_day_to_come(cast: Cast) -> None:
    with business_scope(cast.business_id):
        row = first(cast)
        StaleWeek.objects.all().delete()
        moved = change(cast, row, local_date=date(2031, 3, 18))
        weeks = set(StaleWeek.objects.values_list("week_start", flat=True))
    assert (moved.local_date, moved.window_start, moved.window_end) == (date(2031, 3, 18),) * 3
    assert (moved.due_at, moved.moved_from) == (datetime(2031, 3, 19, 5, tzinfo=UTC), None)
    assert weeks == {MONDAY, MONDAY + timedelta(days=7)}


def test_a_coach_moves_no_session_into_the_past_or_far_past_the_end(cast: Cast) -> None:
    with business_scope(cast.business_id):
        row = first(cast)
        for day in (NOON.date() - timedelta(days=1), date(2031, 3, 21) + timedelta(days=29)):
            with pytest.raises(InvalidMove):
                change(cast, row, local_date=day)
        assert change(cast, row, local_date=NOON.date()).local_date == NOON.date()


def test_a_client_moves_inside_the_week_and_back(cast: Cast) -> None:
    with business_scope(cast.business_id):
        row = first(cast)
        moved = change(cast, row, member="client_member", local_date=date(2031, 3, 13))
        assert (moved.local_date, moved.moved_from) == (date(2031, 3, 13), MONDAY)
        with pytest.raises(InvalidMove, match="ask the coach"):
            change(cast, row, member="client_member", local_date=date(2031, 3, 17))
        back = change(cast, row, member="client_member", local_date=MONDAY)
    assert (back.local_date, back.moved_from) == (MONDAY, None)


def test_a_session_that_a_client_moved_keeps_where_it_was_when_done(cast: Cast) -> None:
    with business_scope(cast.business_id):
        row = first(cast)
        change(cast, row, member="client_member", local_date=date(2031, 3, 13))
        done = Performance(row.id, date(2031, 3, 13), 4, finished=True)
        record_performance(performances=[done], now=NOON)
        after = PlannedSession.objects.get(id=row.id)
    assert (after.state, after.moved_from) == ("done", MONDAY)


def test_a_weekly_session_given_a_day_is_still_due_by_the_weeks_end(cast: Cast) -> None:
    with business_scope(cast.business_id):
        row = first(cast, calendar="any_days_in_week", weekdays=None)
        moved = change(cast, row, member="client_member", local_date=date(2031, 3, 12))
    assert (moved.local_date, moved.window_end) == (date(2031, 3, 12), date(2031, 3, 16))
    assert moved.due_at == datetime(2031, 3, 17, 5, tzinfo=UTC)


def test_a_sequence_has_no_day_to_move(cast: Cast) -> None:
    with business_scope(cast.business_id):
        row = first(cast, calendar="in_sequence", weekdays=None, late_after_days=3)
        with pytest.raises(InvalidMove, match="sequence"):
            change(cast, row, local_date=date(2031, 3, 18))


def test_an_excused_session_of_a_sequence_lets_the_next_one_open(cast: Cast) -> None:
    with business_scope(cast.business_id):
        row = first(cast, calendar="in_sequence", weekdays=None, late_after_days=3)
        change(cast, row, state="excused", excuse_reason="Not needed.")
        second = sessions(cast.anna.id)[1]
        assert second.due_at == datetime(2031, 3, 13, 5, tzinfo=UTC)
        change(cast, row, state="planned")
        rows = sessions(cast.anna.id)
    assert (rows[0].state, rows[1].due_at) == ("planned", None)


def test_a_missed_session_moved_to_a_day_to_come_is_planned_again(cast: Cast) -> None:
    tuesday = datetime(2031, 3, 11, 12, tzinfo=UTC)
    with business_scope(cast.business_id):
        row = first(cast)
        mark_missed(now=tuesday, limit=5)
        moved = change(cast, row, now=tuesday, local_date=date(2031, 3, 15))
    assert (moved.state, moved.missed_at) == ("planned", None)


def test_a_coach_excuses_a_session_and_gives_it_back(cast: Cast) -> None:
    with business_scope(cast.business_id):
        row = first(cast)
        excused = change(cast, row, state="excused", excuse_reason="A wedding.")
        assert (excused.state, excused.excuse_reason) == ("excused", "A wedding.")
        back = change(cast, row, state="planned")
    assert (back.state, back.excuse_reason) == ("planned", "")


def test_a_client_excuses_nothing(cast: Cast) -> None:
    with business_scope(cast.business_id):
        row = first(cast)
        with pytest.raises(CoachOnly):
            change(cast, row, member="client_member", state="excused")


def test_what_was_done_is_neither_moved_nor_excused(cast: Cast) -> None:
    with business_scope(cast.business_id):
        row = first(cast)
        record_performance(performances=[Performance(row.id, MONDAY, 4, finished=True)], now=NOON)
        for what in ({"local_date": date(2031, 3, 18)}, {"state": "excused"}):
            with pytest.raises(SessionPerformed):
                change(cast, row, **what)


def test_a_change_from_a_stale_reading_is_refused(cast: Cast) -> None:
    with business_scope(cast.business_id):
        row = first(cast)
        with pytest.raises(PreconditionFailed):
            change_planned_session(
                actor=acting(cast.coach),
                planned_session_id=row.id,
                versions=frozenset({7}),
                now=NOON,
                state="excused",
            )


def test_another_coachs_and_another_businesss_session_is_not_there(cast: Cast, neighbour: Cast) -> None:
    with business_scope(cast.business_id):
        row = first(cast)
        with pytest.raises(NotFound):
            change(cast, row, member="other_coach", state="excused")
    with business_scope(neighbour.business_id), pytest.raises(NotFound):
        change(neighbour, row, member="owner", state="excused")


def test_sessions_to_come_follow_a_client_into_another_zone(cast: Cast) -> None:
    # Tuesday noon: Monday's session has been due in Paris, the others have not.
    tuesday = datetime(2031, 3, 11, 12, tzinfo=UTC)
    with business_scope(cast.business_id):
        first(cast)
        update_client(
            actor=acting(cast.coach),
            client_id=cast.anna.id,
            versions=None,
            now=tuesday,
            time_zone="America/Chicago",
        )
        rows = sessions(cast.anna.id)
    assert (rows[0].zone, rows[0].due_at) == ("Europe/Paris", datetime(2031, 3, 11, 5, tzinfo=UTC))
    assert (rows[1].zone, rows[1].due_at) == ("America/Chicago", datetime(2031, 3, 13, 11, tzinfo=UTC))
    assert rows[1].local_date == date(2031, 3, 12)


def test_a_longer_grace_holds_for_sessions_to_come(cast: Cast) -> None:
    tuesday = datetime(2031, 3, 11, 12, tzinfo=UTC)
    with business_scope(cast.business_id):
        first(cast)
        Business.objects.filter(id=cast.business_id).update(grace_h=10)
        follow_business_policy(frozenset({"name"}), tuesday)
        assert sessions(cast.anna.id)[1].due_at == datetime(2031, 3, 13, 5, tzinfo=UTC)
        follow_business_policy(frozenset({"grace_h"}), tuesday)
        rows = sessions(cast.anna.id)
    assert rows[0].due_at == datetime(2031, 3, 11, 5, tzinfo=UTC)
    assert rows[1].due_at == datetime(2031, 3, 13, 9, tzinfo=UTC)
