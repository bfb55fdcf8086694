"""Where a session was done, and minutes that look too long."""

from typing import Any
from uuid import uuid4

import pytest

from coaching.models import Client, Place
from coaching.tenancy.scope import business_scope
from logs.actions.weekly_progress import refresh_weeks
from logs.models import SessionLog
from tests.logs import histories
from tests.logs.logging import outcomes, post, session, set_
from tests.scenario import NOON, Cast


def place_of(cast: Cast, client: Client, name: str = "Yard") -> str:
    with business_scope(cast.business_id):
        return str(Place.objects.create(client=client, name=name, kind="gym").id)


def week_of(cast: Cast) -> dict[str, Any]:
    refresh_weeks(cast.business_id, NOON)
    with business_scope(cast.business_id):
        (row,) = histories.rows_by_week().values()
    return row


def test_a_machine_of_two_places_has_two_lines_and_a_barbell_one(cast: Cast):
    api = cast.key("logs:write")
    with business_scope(cast.business_id):
        histories.exercise("yard-press", loading="stack", load_basis="stack_label")
    yard, mill = place_of(cast, cast.anna), place_of(cast, cast.anna, "Mill")
    sessions = [session(cast.anna, name, place=place) for name, place in (("s1", yard), ("s2", mill))]
    sets = [
        set_(
            cast.anna,
            f"{name}-{exercise}",
            session_external_id=name,
            exercise=exercise,
            in_reserve=2,
            machine=machine,
        )
        for name in ("s1", "s2")
        for exercise, machine in (("back-squat", ""), ("yard-press", "north/2"))
    ]
    assert outcomes(post(api, session_logs=sessions, set_logs=sets)) == ["created"] * 6
    values = week_of(cast)["lift_values"]
    assert set(values) == {
        "back-squat/both/unspecified",
        f"yard-press/both/unspecified/{yard}/north/2",
        f"yard-press/both/unspecified/{mill}/north/2",
    }
    assert {value["place"] for value in values.values()} == {"", yard, mill}
    assert values["back-squat/both/unspecified"]["sessions"] == 2


@pytest.mark.parametrize("whose", ["nobody", "another", "no_id"])
def test_a_place_that_is_not_the_clients_is_refused(cast: Cast, whose: str):
    place = {"nobody": str(uuid4()), "another": place_of(cast, cast.ben), "no_id": "the yard"}[whose]
    answer = post(cast.key("logs:write"), session_logs=[session(cast.anna, place=place)])
    assert outcomes(answer) == ["refused"]
    (fault,) = answer["items"][0]["problem"]["errors"]
    assert (fault["pointer"], fault["code"]) == ("#/session_logs/0/place", "unknown_object")


def test_a_session_keeps_the_place_that_was_removed_since_and_can_be_corrected(cast: Cast):
    yard = place_of(cast, cast.anna)
    post(cast.key("logs:write"), session_logs=[session(cast.anna, place=yard)])
    with business_scope(cast.business_id):
        Place.objects.all().delete()
        log = SessionLog.objects.get()
    api = cast.api(cast.coach)
    answer = api.patch(f"/api/v1/session-logs/{log.id}", {"notes": "x"}, format="json", headers={"If-Match": "*"})
    assert answer.status_code == 200, answer.content
    assert answer.json()["log"]["place"] == yard


def test_minutes_that_look_too_long_count_once_somebody_confirms_them(cast: Cast):
    post(cast.key("logs:write"), session_logs=[session(cast.anna, duration_min=200)])
    before = week_of(cast)
    assert (before["session_load"], before["unknown_minutes_sessions"], before["session_min"]) == (0, 1, 0)
    with business_scope(cast.business_id):
        log = SessionLog.objects.get()
    api = cast.api(cast.coach)
    answer = api.patch(
        f"/api/v1/session-logs/{log.id}", {"minutes_confirmed": True}, format="json", headers={"If-Match": "*"}
    )
    assert answer.status_code == 200, answer.content
    assert answer.json()["log"]["minutes_confirmed"] is True
    after = week_of(cast)
    assert (after["session_load"], after["unknown_minutes_sessions"], after["session_min"]) == (1400, 0, 200)


def test_the_sender_who_repeats_the_session_does_not_take_the_confirmation_back(cast: Cast):
    sent = session(cast.anna, duration_min=200)
    api = cast.key("logs:write")
    post(api, session_logs=[sent])
    with business_scope(cast.business_id):
        log = SessionLog.objects.get()
    cast.api(cast.coach).patch(
        f"/api/v1/session-logs/{log.id}", {"minutes_confirmed": True}, format="json", headers={"If-Match": "*"}
    )
    assert outcomes(post(api, session_logs=[sent])) == ["unchanged"]
    with business_scope(cast.business_id):
        assert SessionLog.objects.get().minutes_confirmed is True
