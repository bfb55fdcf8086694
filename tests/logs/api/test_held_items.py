"""A set that comes before its session waits for it, listed, and is never lost in silence."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from coaching.tenancy.scope import business_scope
from logs.actions.held_items import ARRIVALS_KEPT
from logs.actions.weekly_progress import refresh_weeks
from logs.models import Flag, HeldItem, SetLog
from tests.logs.logging import BATCHES, outcomes, post, session, set_


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


def held_arrivals(cast):
    with business_scope(cast.business_id):
        return HeldItem.objects.get().item["arrivals"]


def flags_of(cast):
    with business_scope(cast.business_id):
        return list(Flag.objects.order_by("opened_at", "id").values_list("client__name", "kind", "state", "figures"))


def refreshed(cast):
    refresh_weeks(cast.business_id, timezone.now())


def test_a_symptom_of_a_set_that_waits_does_not_wait_with_it(cast, app):
    answer = post(app, set_logs=[set_(cast.anna, symptoms=["chest_pain"]), set_(cast.ben)])
    assert outcomes(answer) == ["held", "held"]
    assert "Your coach sees this report" in answer["cautions"][0]["text"]
    refreshed(cast)
    ((name, kind, state, figures),) = flags_of(cast)
    assert (name, kind, state, figures["symptoms"]) == ("Anna", "symptom", "open", ["chest_pain"])


def test_a_symptom_that_was_resolved_while_its_set_waited_is_not_reported_again_by_the_release(cast, app):
    post(app, set_logs=[set_(cast.anna, symptoms=["chest_pain"])])
    refreshed(cast)
    coach = cast.api(cast.coach)
    (flag,) = coach.get("/api/v1/flags").json()["items"]
    resolved = coach.post(f"/api/v1/flags/{flag['id']}/resolve", {"resolution": "Cleared."}, format="json")
    assert resolved.status_code == 200
    post(app, session_logs=[session(cast.anna, local_date=str(timezone.now().date()))])
    refreshed(cast)
    assert [state for *_, state, _ in flags_of(cast)] == ["resolved"]


def test_a_symptom_that_the_latest_revision_reports_is_heard_although_an_older_one_comes_late(cast, app):
    post(app, set_logs=[set_(cast.anna, revision=2, symptoms=["dizziness"])])
    post(app, set_logs=[set_(cast.anna, revision=1)])
    refreshed(cast)
    assert [kind for _, kind, *_ in flags_of(cast)] == ["symptom"]


def test_an_arrival_again_is_kept_once(cast, app):
    for reps in (6, 7, 6, 7, 7, 6):
        post(app, set_logs=[set_(cast.anna, reps=reps), set_(cast.anna, reps=reps)])
    assert len(held_arrivals(cast)) == 2
    assert app.get("/api/v1/held-items").json()["items"][0]["item"]["reps"] == 7


def test_a_held_set_keeps_a_bounded_number_of_arrivals_and_never_loses_the_one_that_holds(cast, app):
    post(app, set_logs=[set_(cast.anna, revision=500, reps=3)])
    post(app, set_logs=[set_(cast.anna, revision=number, reps=number) for number in range(1, 101)])
    post(app, set_logs=[set_(cast.anna, revision=number, reps=number) for number in range(101, 201)])
    assert len(held_arrivals(cast)) == ARRIVALS_KEPT
    post(app, session_logs=[session(cast.anna)])
    assert sets_of(cast) == {"s1-1": ("s1", 3)}


def test_a_held_set_can_be_erased(cast, app):
    post(app, set_logs=[set_(cast.anna), set_(cast.anna, "s1-2")])
    erased, left = app.get("/api/v1/held-items").json()["items"]
    answer = app.delete(f"/api/v1/held-items/{erased['id']}")
    assert (answer.status_code, answer.content) == (204, b"")
    assert [one["id"] for one in app.get("/api/v1/held-items").json()["items"]] == [left["id"]]
    assert app.delete(f"/api/v1/held-items/{erased['id']}").status_code == 404
    post(app, session_logs=[session(cast.anna)])
    assert set(sets_of(cast)) == {left["external_id"]}


def test_a_held_set_that_is_not_ones_own_is_like_none(cast, neighbour, app):
    post(app, set_logs=[set_(cast.anna)])
    (held,) = app.get("/api/v1/held-items").json()["items"]
    for other in (
        cast.api(cast.other_coach),
        cast.key("logs:write", source="another-app"),
        cast.key("logs:write", clients=[cast.ben.id]),
        neighbour.api(neighbour.owner),
    ):
        answers = [other.delete(f"/api/v1/held-items/{one}") for one in (held["id"], uuid4())]
        assert [answer.status_code for answer in answers] == [404, 404]
        assert answers[0].json()["detail"] == answers[1].json()["detail"]
    for without in (cast.api(cast.viewer), cast.key("logs:read")):
        assert without.delete(f"/api/v1/held-items/{held['id']}").status_code == 403
    assert len(app.get("/api/v1/held-items").json()["items"]) == 1


def test_a_batch_of_held_sets_takes_as_many_statements_for_one_as_for_many(cast, app, django_assert_max_num_queries):
    app.post(BATCHES, {}, format="json")
    with django_assert_max_num_queries(100) as one:
        post(app, set_logs=[set_(cast.anna, symptoms=["dizziness"])])
    with django_assert_max_num_queries(100) as many:
        post(app, set_logs=[set_(cast.anna, f"n{number}", symptoms=["dizziness"]) for number in range(50)])
    assert len(many) == len(one)
