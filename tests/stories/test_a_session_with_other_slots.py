"""A coach takes a lift out of one session; the client has done it all the same, and the log counts as it should."""

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine

from coaching.tenancy.scope import business_scope
from logs.actions.weekly_progress import refresh_weeks
from logs.models import ClientWeek, SetLog
from programs.models import PlannedSession
from tests.logs.logging import post, session, set_
from tests.programs.documents import MONDAY, assign, day, published, sessions, squat_slot
from tests.scenario import NOON, Cast


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON.replace(day=12), tick=False):
        yield


def press() -> dict[str, Any]:
    return squat_slot("B1") | {"exercise": "bench-press"}


def test_logs_of_a_slot_that_was_taken_out_stay_as_extra_sets(cast: Cast) -> None:
    document = {"weeks": [{"week_number": 1, "days": [day(1, squat_slot(), press())]}]}
    with business_scope(cast.business_id):
        assign(cast.coach, published(document), cast.anna.id, weekdays=(2,))
        planned = sessions(cast.anna.id)[0]
    assert planned.planned_work_sets == 8
    row_sets = [{"count": 2, "reps_low": 8, "rpe": 8}]
    answer = cast.api(cast.coach).patch(
        f"/api/v1/planned-sessions/{planned.id}",
        {
            "prescribed": [
                {"slot_key": "B1", "take_out": "slot"},
                {"slot_key": "A2", "add": {"after": "A1"}, "exercise": "pull-up", "sets": row_sets},
            ]
        },
        format="json",
        HTTP_IF_MATCH="*",
    )
    assert (answer.status_code, answer.json()["planned_work_sets"]) == (200, 6), answer.content
    logged = [
        *((f"a{number}", "A1", "back-squat", number, 5) for number in (3, 4, 5, 6)),
        *((f"p{number}", "A2", "pull-up", number, 8) for number in (1, 2)),
        *((f"b{number}", "B1", "bench-press", number, 5) for number in (3, 4)),
    ]
    taken = post(
        cast.key("logs:write"),
        session_logs=[session(cast.anna, local_date=str(MONDAY.replace(day=12)), planned_session=str(planned.id))],
        set_logs=[
            set_(cast.anna, key, slot=slot, exercise=exercise, set_number=number, reps=reps, load_kg=60)
            for key, slot, exercise, number, reps in logged
        ],
    )
    assert taken["summary"]["refused"] == 0, taken
    with business_scope(cast.business_id):
        assert SetLog.objects.filter(slot_key="B1").count() == 2
        row = PlannedSession.objects.get(id=planned.id)
        assert (row.state, row.done_work_sets) == ("done", 8)
    while refresh_weeks(cast.business_id, NOON.replace(day=12)):
        pass
    with business_scope(cast.business_id):
        week = ClientWeek.objects.get(client=cast.anna, week_start=MONDAY)
        assert (week.sets_planned, week.sets_done, week.adherence_sets) == (6, 6, 1)
        assert week.work_sets == 8
