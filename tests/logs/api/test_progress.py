"""`/clients/{id}/progress`: the weekly rows."""

from collections.abc import Iterator
from dataclasses import fields
from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
import time_machine

from coaching.actions.stale_weeks import mark_stale
from coaching.models import Client
from coaching.tenancy.scope import business_scope
from logs.actions.weekly_progress import store_client_weeks
from logs.analysis.week_figures import WeekFigures
from logs.api.serializers.progress import WeekSerializer
from tests.coaching.queries import statements_of
from tests.logs import histories
from tests.logs.histories import MONDAY as THIS_WEEK
from tests.scenario import NOON, Cast

WEEK = timedelta(days=7)


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


def path(client: Client, query: str = "") -> str:
    return f"/api/v1/clients/{client.id}/progress{query}"


def trained(cast: Cast, weeks: int = 3) -> None:
    """Anna squats once in each of the last weeks, starting with the one before the present."""
    with business_scope(cast.business_id):
        squat = histories.exercise("back-squat")
        for week in range(1, weeks + 1):
            session = histories.session(
                cast.anna, THIS_WEEK - week * WEEK, session_rpe=Decimal(6), duration_min=Decimal("45.5")
            )
            histories.performed(session, squat, rpe=Decimal("8.5"), load_kg=Decimal("82.5"))
        store_client_weeks(weeks=[(cast.anna.id, THIS_WEEK - week * WEEK) for week in range(1, weeks + 1)])


def test_the_weekly_rows_are_returned_oldest_first(cast: Cast):
    trained(cast)
    answer = cast.api(cast.coach).get(path(cast.anna))
    assert answer.status_code == 200, answer.content
    body = answer.json()
    assert body["client"] == str(cast.anna.id)
    assert [week["week_start"] for week in body["weeks"]] == [
        (THIS_WEEK - week * WEEK).isoformat() for week in (3, 2, 1)
    ]
    week = body["weeks"][0]
    assert (week["work_sets"], week["tonnage_kg"], week["session_load"]) == (1, 412.5, 273)
    assert week["mean_effort"] == 8.5
    assert week["muscle_sets"]["quadriceps"] == {"direct": 1, "fractional": 1, "total": 1}
    # Epley, five repetitions and one and a half in reserve: 82.5 (1 + 6.5/30).
    assert week["lift_values"]["back-squat/both/unspecified"]["value_kg"] == 100.375
    assert week["being_refreshed"] is False
    assert any("no injury" in caution for caution in body["cautions"])


def test_every_figure_of_a_weekly_row_is_shown_and_documented(cast: Cast):
    trained(cast)
    week = cast.api(cast.coach).get(path(cast.anna)).json()["weeks"][0]
    figures = {field.name for field in fields(WeekFigures)}
    assert figures <= set(week) == set(WeekSerializer().fields)


def test_as_many_weeks_are_returned_as_asked_for_the_present_one_among_them(cast: Cast):
    trained(cast)
    body = cast.api(cast.coach).get(path(cast.anna, "?weeks=3")).json()
    assert [week["week_start"] for week in body["weeks"]] == [(THIS_WEEK - week * WEEK).isoformat() for week in (2, 1)]


def test_weeks_to_come_are_left_out(cast: Cast):
    with business_scope(cast.business_id):
        histories.planned(histories.assignment(cast.anna), THIS_WEEK + 2 * WEEK)
        store_client_weeks(weeks=[(cast.anna.id, THIS_WEEK + 2 * WEEK)])
    assert cast.api(cast.coach).get(path(cast.anna)).json()["weeks"] == []


def test_a_week_that_is_about_to_be_refreshed_says_so(cast: Cast):
    trained(cast, weeks=2)
    with business_scope(cast.business_id):
        mark_stale(weeks=[(cast.anna.id, THIS_WEEK - WEEK)], now=NOON)
    body = cast.api(cast.coach).get(path(cast.anna)).json()
    assert [week["being_refreshed"] for week in body["weeks"]] == [False, True]


@pytest.mark.parametrize("query", ["?weeks=0", "?weeks=105", "?weeks=all", "?week=3"])
def test_a_number_of_weeks_out_of_reach_is_refused(cast: Cast, query: str):
    assert cast.api(cast.coach).get(path(cast.anna, query)).status_code == 400


def test_who_may_see_a_client_may_see_their_progress(cast: Cast):
    trained(cast)
    for api in (
        cast.api(cast.owner),
        cast.api(cast.head),
        cast.api(cast.client_member),
        cast.key("progress:read"),
        cast.key("progress:read", clients=[cast.anna.id]),
    ):
        assert len(api.get(path(cast.anna)).json()["weeks"]) == 3
    assert cast.key("logs:read").get(path(cast.anna)).status_code == 403


def test_a_client_whom_one_may_not_see_is_like_none(cast: Cast, neighbour: Cast):
    none = f"/api/v1/clients/{uuid4()}/progress"
    for api in (
        cast.api(cast.other_coach),
        cast.key("progress:read", clients=[cast.ben.id]),
        neighbour.api(neighbour.owner),
    ):
        answers = [api.get(one) for one in (path(cast.anna), none)]
        assert [answer.status_code for answer in answers] == [404, 404]
        assert answers[0].json()["detail"] == answers[1].json()["detail"]


def test_fifty_weeks_take_as_many_statements_as_one(cast: Cast):
    trained(cast, weeks=50)
    api = cast.api(cast.coach)
    one = statements_of(api, path(cast.anna, "?weeks=2"))
    assert statements_of(api, path(cast.anna, "?weeks=51")) == one
