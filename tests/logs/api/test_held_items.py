"""A set that comes before its session waits for it, listed, and is never lost in silence."""

from datetime import timedelta

import pytest

from coaching.tenancy.scope import business_scope
from logs.models import HeldItem, SetLog
from tests.logs.logging import outcomes, post, session, set_


@pytest.fixture
def app(cast):
    return cast.key("logs:write")


def sets_of(cast):
    with business_scope(cast.business_id):
        return {row.external_id: (row.session_log.external_id, row.reps) for row in SetLog.objects.select_related()}


def test_a_set_without_its_session_is_held_and_listed_for_thirty_days(cast, app):
    answer = post(app, set_logs=[set_(cast.anna)])
    assert (answer["items"][0]["outcome"], answer["items"][0]["waits_for"]) == ("held", "s1")
    held = app.get("/api/v1/held-items").json()["items"]
    assert [(one["external_id"], one["session_external_id"], one["item"]["reps"]) for one in held] == [
        ("s1-1", "s1", 6)
    ]
    with business_scope(cast.business_id):
        kept = HeldItem.objects.get()
        assert kept.expires_at - kept.received_at == timedelta(days=30)


def test_the_session_releases_its_sets_in_the_request_that_brings_it(cast, app):
    post(app, set_logs=[set_(cast.anna), set_(cast.anna, "s1-2"), set_(cast.anna, "x-1", session_external_id="x")])
    post(app, session_logs=[session(cast.anna)])
    assert set(sets_of(cast)) == {"s1-1", "s1-2"}
    assert [one["external_id"] for one in app.get("/api/v1/held-items").json()["items"]] == ["x-1"]


def test_another_client_or_source_with_the_same_session_name_releases_nothing(cast, app):
    post(app, set_logs=[set_(cast.anna)])
    post(app, session_logs=[session(cast.ben)])
    post(cast.key("logs:write", source="another-app"), session_logs=[session(cast.anna)])
    assert sets_of(cast) == {}


def test_a_held_set_that_was_corrected_is_released_as_corrected(cast, app):
    post(app, set_logs=[set_(cast.anna, reps=6)])
    post(app, set_logs=[set_(cast.anna, reps=7)])
    # A late retry of what was corrected while it waited.
    post(app, set_logs=[set_(cast.anna, reps=6)])
    post(app, session_logs=[session(cast.anna)])
    assert sets_of(cast) == {"s1-1": ("s1", 7)}


def test_a_held_set_that_moved_to_a_known_session_stays_there(cast, app):
    post(app, set_logs=[set_(cast.anna, reps=6)])
    post(
        app,
        session_logs=[session(cast.anna, "s2")],
        set_logs=[set_(cast.anna, session_external_id="s2", reps=7, revision=1)],
    )
    post(app, session_logs=[session(cast.anna)])
    assert sets_of(cast) == {"s1-1": ("s2", 7)}


def test_the_same_batch_may_bring_a_set_of_a_refused_session_which_then_waits(cast, app):
    assert outcomes(post(app, session_logs=[session(cast.anna, session_rpe=70)], set_logs=[set_(cast.anna)])) == [
        "refused",
        "held",
    ]


def test_held_items_are_seen_by_who_may_see_the_client_and_the_source(cast, app):
    post(app, set_logs=[set_(cast.anna), set_(cast.carl)])
    assert len(cast.api(cast.owner).get("/api/v1/held-items").json()["items"]) == 2
    mine = cast.api(cast.coach).get("/api/v1/held-items").json()["items"]
    assert [one["client"] for one in mine] == [str(cast.anna.id)]
    assert cast.key("logs:write", source="another-app").get("/api/v1/held-items").json()["items"] == []
    filtered = cast.api(cast.owner).get(f"/api/v1/held-items?client={cast.carl.id}").json()["items"]
    assert [one["client"] for one in filtered] == [str(cast.carl.id)]
