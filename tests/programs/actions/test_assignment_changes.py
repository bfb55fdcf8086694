"""Changes of an assignment from a date on; what was done never changes."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID

import pytest

from coaching.models import StaleWeek
from coaching.refusals import Invalid, NotFound, PreconditionFailed
from coaching.tenancy.scope import business_scope
from programs.actions.absences import record_absence
from programs.actions.assignment_changes import change_weekdays, end_assignment, shift_assignment
from programs.actions.assignment_pauses import pause_assignment, resume_assignment
from programs.actions.assignment_rows import DateInPast, NotChangeable
from programs.actions.performances import Performance, record_performance
from programs.models import Assignment
from tests.programs.documents import MONDAY, acting, assign, published, sessions
from tests.scenario import Cast

WEEK = timedelta(days=7)
WEDNESDAY_NOON = datetime(2031, 3, 12, 12, tzinfo=UTC)
WEDNESDAY = WEDNESDAY_NOON.date()


def begun(cast: Cast, **terms: Any) -> UUID:
    """An assignment whose Monday session is done by Wednesday noon."""
    (result,) = assign(cast.coach, published(), cast.anna.id, **terms)
    record_performance(
        performances=[Performance(sessions(cast.anna.id)[0].id, MONDAY, 4, finished=True)], now=WEDNESDAY_NOON
    )
    assert result.assignment_id is not None
    return result.assignment_id


def dates(cast: Cast) -> list[date]:
    return [row.local_date for row in sessions(cast.anna.id)]


def states(cast: Cast) -> list[str]:
    return [row.state for row in sessions(cast.anna.id)]


def change(cast: Cast, assignment_id: UUID, **more: Any) -> dict[str, Any]:
    return {"actor": acting(cast.coach), "assignment_id": assignment_id, "now": WEDNESDAY_NOON, **more}


def test_ending_takes_what_is_to_come_off_the_calendar(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assignment_id = begun(cast)
        StaleWeek.objects.all().delete()
        end_assignment(**change(cast, assignment_id, versions=frozenset({1}), from_date=date(2031, 3, 14)))
        assert states(cast) == ["done", "planned"]
        assert Assignment.objects.get(id=assignment_id).state == "ended"
        assert set(StaleWeek.objects.values_list("week_start", flat=True)) == {MONDAY, MONDAY + WEEK}
        with pytest.raises(NotChangeable, match="ended"):
            shift_assignment(**change(cast, assignment_id, days=7, from_date=None))


def test_a_change_from_a_stale_reading_is_refused(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assignment_id = begun(cast)
        with pytest.raises(PreconditionFailed):
            end_assignment(**change(cast, assignment_id, versions=frozenset({9}), from_date=None))


def test_new_weekdays_hold_from_the_date_on(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assignment_id = begun(cast)
        change_weekdays(**change(cast, assignment_id, versions=None, weekdays=[1, 3, 5], from_date=date(2031, 3, 13)))
        assert dates(cast) == [
            MONDAY,
            WEDNESDAY,
            date(2031, 3, 13),
            date(2031, 3, 18),
            date(2031, 3, 20),
            date(2031, 3, 22),
        ]
        assert Assignment.objects.get(id=assignment_id).weekdays == [1, 3, 5]
        assert sessions(cast.anna.id)[3].due_at == datetime(2031, 3, 19, 5, tzinfo=UTC)


def test_weekdays_must_fit_the_program_and_the_calendar(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assignment_id = begun(cast)
        with pytest.raises(Invalid, match="add 1"):
            change_weekdays(**change(cast, assignment_id, versions=None, weekdays=[1, 3], from_date=None))


def test_a_calendar_without_weekdays_has_none_to_change(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assignment_id = begun(cast, calendar="any_days_in_week", weekdays=None)
        with pytest.raises(NotChangeable):
            change_weekdays(**change(cast, assignment_id, versions=None, weekdays=[1, 3, 5], from_date=None))


def test_a_pause_holds_what_is_to_come_and_resuming_moves_it_by_whole_weeks(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assignment_id = begun(cast)
        pause_assignment(**change(cast, assignment_id, from_date=date(2031, 3, 14)))
        assert states(cast) == ["done", "planned", "paused", "paused", "paused", "paused"]
        resume_assignment(**change(cast, assignment_id, on=date(2031, 3, 24)))
        # Ten days stood still: two whole weeks, so that the weekdays stay.
        assert dates(cast)[2:] == [date(2031, 3, 14) + 2 * WEEK] + [
            day + 2 * WEEK for day in (date(2031, 3, 17), date(2031, 3, 19), date(2031, 3, 21))
        ]
        assert states(cast) == ["done"] + ["planned"] * 5
        assert Assignment.objects.get(id=assignment_id).state == "active"


def test_resuming_before_a_pause_begins_takes_it_back(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assignment_id = begun(cast)
        before = dates(cast)
        pause_assignment(**change(cast, assignment_id, from_date=date(2031, 3, 17)))
        resume_assignment(**change(cast, assignment_id, on=WEDNESDAY))
        assert (dates(cast), set(states(cast)[1:])) == (before, {"planned"})


def test_a_session_moved_into_an_absence_by_resuming_is_excused(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assignment_id = begun(cast)
        record_absence(
            actor=acting(cast.coach),
            client_id=cast.anna.id,
            starts_on=date(2031, 3, 28),
            ends_on=date(2031, 3, 28),
            kind="holiday",
            now=WEDNESDAY_NOON,
        )
        pause_assignment(**change(cast, assignment_id, from_date=date(2031, 3, 14)))
        resume_assignment(**change(cast, assignment_id, on=date(2031, 3, 24)))
        assert states(cast)[2] == "excused"


def test_pausing_and_resuming_mind_the_state(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assignment_id = begun(cast)
        with pytest.raises(NotChangeable, match="not paused"):
            resume_assignment(**change(cast, assignment_id, on=WEDNESDAY))
        pause_assignment(**change(cast, assignment_id, from_date=WEDNESDAY))
        with pytest.raises(NotChangeable, match="resume it first"):
            pause_assignment(**change(cast, assignment_id, from_date=WEDNESDAY))


def test_a_shift_moves_what_is_to_come_and_turns_the_weekdays(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assignment_id = begun(cast)
        before = dates(cast)
        shift_assignment(**change(cast, assignment_id, days=1, from_date=date(2031, 3, 14)))
        assert dates(cast) == before[:2] + [day + timedelta(days=1) for day in before[2:]]
        assert Assignment.objects.get(id=assignment_id).weekdays == [1, 3, 5]


def test_a_shift_into_the_past_is_refused(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assignment_id = begun(cast)
        with pytest.raises(DateInPast, match="2031-03-11"):
            shift_assignment(**change(cast, assignment_id, days=-1, from_date=WEDNESDAY))


def test_sessions_by_the_week_shift_by_whole_weeks(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assignment_id = begun(cast, calendar="any_days_in_week", weekdays=None)
        with pytest.raises(Invalid, match="whole weeks"):
            shift_assignment(**change(cast, assignment_id, days=3, from_date=None))
        shift_assignment(**change(cast, assignment_id, days=7, from_date=date(2031, 3, 17)))
        rows = sessions(cast.anna.id)
    assert [(row.window_start, row.window_end) for row in rows[3:]] == [(MONDAY + 2 * WEEK, date(2031, 3, 30))] * 3


def test_a_sequence_waits_while_it_is_paused_or_shifted(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assignment_id = begun(cast, calendar="in_sequence", weekdays=None, late_after_days=3)
        # The first was done on Monday the 10th: the next is late after the 13th.
        assert sessions(cast.anna.id)[1].local_date == date(2031, 3, 13)
        shift_assignment(**change(cast, assignment_id, days=4, from_date=date(2031, 3, 13)))
        assert sessions(cast.anna.id)[1].local_date == date(2031, 3, 17)
        pause_assignment(**change(cast, assignment_id, from_date=date(2031, 3, 17)))
        assert states(cast)[1] == "paused"
        resume_assignment(**change(cast, assignment_id, on=date(2031, 3, 20)))
        assert (states(cast)[1], dates(cast)[1]) == ("planned", date(2031, 3, 20))


def test_a_date_in_the_clients_past_is_refused_everywhere(cast: Cast) -> None:
    past = WEDNESDAY - timedelta(days=1)
    with business_scope(cast.business_id):
        assignment_id = begun(cast)
        refusals: list[Callable[[], None]] = [
            lambda: end_assignment(**change(cast, assignment_id, versions=None, from_date=past)),
            lambda: change_weekdays(**change(cast, assignment_id, versions=None, weekdays=[1, 3, 5], from_date=past)),
            lambda: pause_assignment(**change(cast, assignment_id, from_date=past)),
            lambda: shift_assignment(**change(cast, assignment_id, days=7, from_date=past)),
        ]
        for refused in refusals:
            with pytest.raises(DateInPast) as refusal:
                refused()
            assert refusal.value.faults[0].pointer == "#/from_date"
        pause_assignment(**change(cast, assignment_id, from_date=WEDNESDAY))
        with pytest.raises(DateInPast):
            resume_assignment(**change(cast, assignment_id, on=past))


def test_only_who_sees_the_client_changes_the_assignment(cast: Cast, neighbour: Cast) -> None:
    with business_scope(cast.business_id):
        assignment_id = begun(cast)
        with pytest.raises(NotFound):
            pause_assignment(
                actor=acting(cast.other_coach), assignment_id=assignment_id, from_date=WEDNESDAY, now=WEDNESDAY_NOON
            )
    with business_scope(neighbour.business_id), pytest.raises(NotFound):
        pause_assignment(
            actor=acting(neighbour.owner), assignment_id=assignment_id, from_date=WEDNESDAY, now=WEDNESDAY_NOON
        )
