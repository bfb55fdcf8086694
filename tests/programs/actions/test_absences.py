"""What becomes of planned sessions when a client is away."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from uuid import UUID

import pytest

from coaching import registry
from coaching.models import Absence, StaleWeek
from coaching.refusals import Invalid, NotFound, UnknownObject
from coaching.tenancy.scope import business_scope
from programs.actions.absences import record_absence, remove_absence
from programs.actions.missed_sessions import mark_missed
from programs.actions.performances import Performance, record_performance
from programs.models import PlannedSession
from tests.programs.documents import MONDAY, acting, assign, published, sessions
from tests.scenario import NOON, Cast


@pytest.fixture
def announced() -> Iterator[list[UUID]]:
    """The sessions that the other apps were told of."""
    told: list[UUID] = []

    def listen(ids: list[UUID], _now: datetime) -> None:
        told.extend(ids)

    registry.on_planned_sessions_changed.append(listen)
    yield told
    registry.on_planned_sessions_changed.remove(listen)


def away(cast: Cast, first: date, last: date, *, now: datetime = NOON, **more: str) -> Absence:
    return record_absence(
        actor=acting(cast.coach),
        client_id=cast.anna.id,
        starts_on=first,
        ends_on=last,
        kind=more.pop("kind", "holiday"),
        now=now,
        **more,
    )


def states(client_id: UUID) -> list[str]:
    return [row.state for row in sessions(client_id)]


def test_sessions_inside_are_excused_and_come_back_when_it_is_removed(cast: Cast, announced: list[UUID]) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id)
        absence = away(cast, MONDAY, MONDAY + timedelta(days=2))
        rows = sessions(cast.anna.id)
        assert [row.state for row in rows] == ["excused", "excused", "planned", "planned", "planned", "planned"]
        assert {row.absence_id for row in rows[:2]} == {absence.id}
        assert set(announced) == {rows[0].id, rows[1].id}
        remove_absence(actor=acting(cast.coach), absence_id=absence.id, versions=None, now=NOON)
        rows = sessions(cast.anna.id)
        assert not Absence.objects.exists()
    assert {row.state for row in rows} == {"planned"}
    assert {(row.absence_id, row.excuse_reason) for row in rows} == {(None, "")}


def test_what_a_coach_excused_stays_excused_when_an_absence_goes(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id)
        first = sessions(cast.anna.id)[0]
        PlannedSession.objects.filter(id=first.id).update(state="excused", excuse_reason="A wedding.")
        absence = away(cast, MONDAY, MONDAY + timedelta(days=4))
        remove_absence(actor=acting(cast.coach), absence_id=absence.id, versions=None, now=NOON)
        assert states(cast.anna.id) == ["excused"] + ["planned"] * 5


def test_two_absences_over_one_session_hold_it_until_both_are_gone(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id)
        one = away(cast, MONDAY, MONDAY)
        other = away(cast, MONDAY, MONDAY + timedelta(days=1), kind="ill")
        remove_absence(actor=acting(cast.coach), absence_id=one.id, versions=None, now=NOON)
        first = sessions(cast.anna.id)[0]
        assert (first.state, first.absence_id, first.excuse_reason) == ("excused", other.id, "Away: ill.")
        remove_absence(actor=acting(cast.coach), absence_id=other.id, versions=None, now=NOON)
        assert states(cast.anna.id)[0] == "planned"


def test_an_absence_told_afterwards_excuses_what_was_missed(cast: Cast, announced: list[UUID]) -> None:
    after = datetime(2031, 3, 15, 12, tzinfo=UTC)
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id)
        record_performance(
            performances=[Performance(sessions(cast.anna.id)[0].id, MONDAY, 4, finished=True)], now=after
        )
        mark_missed(now=after, limit=10)
        assert states(cast.anna.id)[:3] == ["done", "missed", "missed"]
        announced.clear()
        absence = away(cast, MONDAY, MONDAY + timedelta(days=4), now=after, kind="ill")
        rows = sessions(cast.anna.id)
        assert [row.state for row in rows[:3]] == ["done", "excused", "excused"]
        assert rows[1].missed_at is None
        assert set(announced) == {rows[1].id, rows[2].id}
        remove_absence(actor=acting(cast.coach), absence_id=absence.id, versions=None, now=after)
        assert len(mark_missed(now=after, limit=10).missed) == 2


def test_travel_with_kit_takes_nothing_away(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id)
        away(cast, MONDAY, MONDAY + timedelta(days=4), kind="travel", treatment="travel_kit")
        assert set(states(cast.anna.id)) == {"planned"}


def test_of_a_weeks_sessions_the_last_are_excused_where_days_run_short(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id, calendar="any_days_in_week", weekdays=None)
        absence = away(cast, MONDAY, MONDAY + timedelta(days=4))
        assert states(cast.anna.id) == ["planned", "planned", "excused", "planned", "planned", "planned"]
        away(cast, MONDAY + timedelta(days=5), MONDAY + timedelta(days=5))
        assert states(cast.anna.id)[:3] == ["planned", "excused", "excused"]
        remove_absence(actor=acting(cast.coach), absence_id=absence.id, versions=None, now=NOON)
        assert set(states(cast.anna.id)) == {"planned"}


def test_days_away_do_not_count_towards_late_in_a_sequence(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id, calendar="in_sequence", weekdays=None, late_after_days=3)
        away(cast, MONDAY + timedelta(days=1), MONDAY + timedelta(days=5))
        first = sessions(cast.anna.id)[0]
    # Monday counts, Tuesday to Saturday do not, then Sunday and Monday.
    assert first.local_date == MONDAY + timedelta(days=7)
    assert first.state == "planned"


def test_another_clients_sessions_stay_as_they_are(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id, cast.ben.id)
        away(cast, MONDAY, MONDAY + timedelta(days=6))
        assert set(states(cast.ben.id)) == {"planned"}


def test_the_weeks_away_become_stale(cast: Cast) -> None:
    with business_scope(cast.business_id):
        away(cast, date(2031, 2, 27), date(2031, 3, 4))
        assert set(StaleWeek.objects.values_list("week_start", flat=True)) == {
            date(2031, 2, 24),
            date(2031, 3, 3),
        }


def test_only_who_sees_the_client_records_and_removes(cast: Cast, neighbour: Cast) -> None:
    with business_scope(cast.business_id):
        absence = away(cast, MONDAY, MONDAY)
        with pytest.raises(UnknownObject):
            record_absence(
                actor=acting(cast.coach), client_id=cast.carl.id, starts_on=MONDAY, ends_on=MONDAY, kind="ill", now=NOON
            )
        with pytest.raises(NotFound):
            remove_absence(actor=acting(cast.other_coach), absence_id=absence.id, versions=None, now=NOON)
    with business_scope(neighbour.business_id), pytest.raises(NotFound):
        remove_absence(actor=acting(neighbour.owner), absence_id=absence.id, versions=None, now=NOON)


def test_days_out_of_order_are_refused(cast: Cast) -> None:
    with business_scope(cast.business_id), pytest.raises(Invalid, match="swap them"):
        away(cast, MONDAY, MONDAY - timedelta(days=1))
