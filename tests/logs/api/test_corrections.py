"""The same log again: unchanged, corrected with its history, or an old state that undoes nothing."""

import pytest

from coaching.tenancy.scope import business_scope
from logs.models import LogRevision, SessionLog, SetLog
from tests.logs.logging import check_in, outcomes, post, session, set_


@pytest.fixture
def app(cast):
    api = cast.key("logs:write", "logs:read")
    post(api, session_logs=[session(cast.anna)])
    return api


def send(api, *sets):
    """Post sets; return their outcomes, a superseded one marked by a star."""
    items = post(api, set_logs=list(sets))["items"]
    return [item["outcome"] + ("*" if item.get("superseded") else "") for item in items]


def stored(cast):
    with business_scope(cast.business_id):
        return SetLog.objects.get()


def test_the_same_content_again_is_unchanged_however_it_is_written(cast, app):
    assert send(app, set_(cast.anna, load_kg=80)) == ["created"]
    same = {name: set_(cast.anna)[name] for name in reversed(set_(cast.anna))}
    assert send(app, {**same, "load_kg": 80.0, "side": "both", "notes": ""}) == ["unchanged"]
    assert stored(cast).row_version == 1


def test_other_content_corrects_and_what_it_replaced_is_kept(cast, app):
    send(app, set_(cast.anna, reps=6))
    assert send(app, set_(cast.anna, reps=7)) == ["corrected"]
    row = stored(cast)
    assert (row.reps, row.row_version) == (7, 2)
    shown = app.get(f"/api/v1/set-logs/{row.id}?history=true").json()
    assert [(one["row_version"], one["content"]["reps"]) for one in shown["history"]] == [(1, 6)]
    assert shown["history"][0]["content"]["load_kg"] == 80


def test_a_late_retry_never_undoes_a_correction(cast, app):
    send(app, set_(cast.anna, reps=6))
    send(app, set_(cast.anna, reps=7))
    assert send(app, set_(cast.anna, reps=6)) == ["unchanged*"]
    assert stored(cast).reps == 7


def test_a_higher_revision_replaces_and_a_lower_one_is_superseded(cast, app):
    assert send(app, set_(cast.anna, reps=8, revision=3)) == ["created"]
    assert send(app, set_(cast.anna, reps=6, revision=2)) == ["unchanged*"]
    assert send(app, set_(cast.anna, reps=9, revision=4)) == ["corrected"]
    row = stored(cast)
    assert (row.reps, row.revision) == (9, 4)


def test_a_higher_revision_may_return_to_earlier_content(cast, app):
    send(app, set_(cast.anna, reps=6), set_(cast.anna, reps=7, revision=1))
    assert send(app, set_(cast.anna, reps=6, revision=2)) == ["corrected"]
    assert stored(cast).reps == 6


def test_an_item_twice_in_one_batch_is_reported_twice_and_the_last_wins(cast, app):
    assert send(app, set_(cast.anna, reps=6), set_(cast.anna, reps=7), set_(cast.anna, reps=7)) == [
        "created",
        "corrected",
        "unchanged",
    ]
    row = stored(cast)
    assert (row.reps, row.row_version) == (7, 2)
    # What stood in the batch only for a moment is kept as well: its retry must not undo the last.
    assert send(app, set_(cast.anna, reps=6)) == ["unchanged*"]


def test_a_chain_of_corrections_in_one_batch_keeps_every_state(cast, app):
    send(app, set_(cast.anna, reps=5))
    assert send(app, *(set_(cast.anna, reps=reps) for reps in (6, 7, 8))) == ["corrected"] * 3
    with business_scope(cast.business_id):
        kept = LogRevision.objects.order_by("row_version").values_list("row_version", "content__reps")
        assert list(kept) == [(1, 5), (2, 6), (3, 7)]
    assert (stored(cast).reps, stored(cast).row_version) == (8, 4)


def test_within_a_batch_the_higher_revision_wins_whatever_its_place(cast, app):
    assert send(app, set_(cast.anna, reps=9, revision=2), set_(cast.anna, reps=6, revision=1)) == [
        "created",
        "unchanged*",
    ]
    assert stored(cast).reps == 9


def test_the_same_external_id_of_another_client_or_source_is_another_log(cast, app):
    post(app, session_logs=[session(cast.ben)], set_logs=[set_(cast.anna), set_(cast.ben)])
    other = cast.key("logs:write", source="another-app")
    assert outcomes(post(other, session_logs=[session(cast.anna)], set_logs=[set_(cast.anna)])) == ["created"] * 2
    with business_scope(cast.business_id):
        assert SetLog.objects.count() == 3


def test_a_deleted_log_is_emptied_keeps_its_identity_and_refuses_a_repost(cast, app):
    send(app, set_(cast.anna, notes="left knee"), set_(cast.anna, reps=7))
    row = stored(cast)
    path = f"/api/v1/set-logs/{row.id}"
    assert app.delete(path).status_code == 428
    assert app.delete(path, headers={"If-Match": '"v1"'}).status_code == 412
    assert app.delete(path, headers={"If-Match": '"v2"'}).status_code == 204
    refused = post(app, set_logs=[set_(cast.anna)])["items"][0]
    assert (refused["outcome"], refused["problem"]["code"]) == ("refused", "deleted")
    assert app.get(path).status_code == 404
    assert app.get("/api/v1/set-logs").json()["items"] == []
    row = stored(cast)
    assert (row.external_id, row.notes, row.reps, row.load) == ("s1-1", "", None, None)
    with business_scope(cast.business_id):
        assert not LogRevision.objects.exists()


def test_a_deleted_session_takes_its_sets_along_and_refuses_new_ones(cast, app):
    send(app, set_(cast.anna))
    with business_scope(cast.business_id):
        session_id = SessionLog.objects.get().id
    assert app.delete(f"/api/v1/session-logs/{session_id}", headers={"If-Match": "*"}).status_code == 204
    assert app.get("/api/v1/set-logs").json()["items"] == []
    refused = post(app, set_logs=[set_(cast.anna, "s1-2")])["items"][0]
    assert (refused["outcome"], refused["problem"]["code"]) == ("refused", "deleted")


def test_sets_follow_their_session_to_its_corrected_date(cast, app):
    send(app, set_(cast.anna))
    post(app, session_logs=[session(cast.anna, local_date="2026-03-11")])
    assert str(stored(cast).local_date) == "2026-03-11"


def test_a_patch_corrects_one_field_and_keeps_the_others(cast, app):
    send(app, set_(cast.anna, load_kg=..., load_lb=225, rpe=8, tempo="41X1", notes="easy"))
    path = f"/api/v1/set-logs/{stored(cast).id}"
    answer = app.patch(path, {"reps": 7, "in_reserve": 1}, format="json", headers={"If-Match": '"v1"'})
    assert (answer.status_code, answer["ETag"], answer.json()["outcome"]) == (200, '"v2"', "corrected")
    log = answer.json()["log"]
    assert (log["reps"], log["in_reserve"], log["rpe"], log["notes"], log["tempo"]) == (7, 1, None, "easy", "41X1")
    assert log["load_entered"] == {"value": 225, "unit": "lb"}
    stale = app.patch(path, {"reps": 8}, format="json", headers={"If-Match": '"v1"'})
    assert stale.status_code == 412


def test_a_patch_may_put_back_what_was_there_before(cast, app):
    send(app, set_(cast.anna, reps=6), set_(cast.anna, reps=7))
    path = f"/api/v1/set-logs/{stored(cast).id}"
    answer = app.patch(path, {"reps": 6}, format="json", headers={"If-Match": '"v2"'})
    assert (answer.json()["outcome"], stored(cast).reps) == ("corrected", 6)
    assert send(app, set_(cast.anna, reps=7)) == ["unchanged*"]


def test_a_patch_that_changes_nothing_changes_no_version(cast, app):
    post(app, session_logs=[{**session(cast.anna), "local_date": None, "started_at": "2026-03-04T10:00:00Z"}])
    path = f"/api/v1/session-logs/{app.get('/api/v1/session-logs').json()['items'][0]['id']}"
    answer = app.patch(path, {"session_rpe": 7}, format="json", headers={"If-Match": "*"})
    assert (answer.json()["outcome"], answer["ETag"]) == ("unchanged", '"v2"')


@pytest.mark.parametrize(
    ("changes", "pointer", "code"),
    [
        ({"external_id": "other"}, "#/external_id", "fixed"),
        ({"reps": -1}, "#/reps", "greater_than_equal"),
        ({"reps": None}, "#", "no_measure"),
        ({"weight": 3}, "#/weight", "unknown_field"),
        ({"exercise": "no-such-lift"}, "#/exercise", "unknown_object"),
        ({"session_external_id": "not-here"}, "#/session_external_id", "unknown_object"),
    ],
)
def test_a_patch_that_cannot_be_is_refused_and_changes_nothing(cast, app, changes, pointer, code):
    send(app, set_(cast.anna))
    path = f"/api/v1/set-logs/{stored(cast).id}"
    refused = app.patch(path, changes, format="json", headers={"If-Match": "*"})
    assert refused.status_code == 400
    assert [(one["pointer"], one["code"]) for one in refused.json()["errors"]] == [(pointer, code)]
    assert stored(cast).row_version == 1


def test_a_key_changes_only_what_is_filed_under_its_own_source(cast, app):
    send(app, set_(cast.anna))
    other = cast.key("logs:write", source="another-app")
    path = f"/api/v1/set-logs/{stored(cast).id}"
    for answer in (
        other.patch(path, {"reps": 7}, format="json", headers={"If-Match": "*"}),
        other.delete(path, headers={"If-Match": "*"}),
    ):
        assert answer.status_code == 404
    assert cast.api(cast.coach).patch(path, {"reps": 7}, format="json", headers={"If-Match": "*"}).status_code == 200


def test_a_corrected_check_in_keeps_its_pains_and_weight(cast, app):
    pains = [{"site": "knee", "score": 2, "side": "left", "exercise": "back-squat"}]
    post(app, check_ins=[check_in(cast.anna, pains=pains, bodyweight_lb=180)])
    shown = app.get("/api/v1/check-ins").json()["items"][0]
    answer = app.patch(
        f"/api/v1/check-ins/{shown['id']}", {"sleep": 5}, format="json", headers={"If-Match": '"v1"'}
    ).json()["log"]
    assert (answer["sleep"], answer["pains"], answer["bodyweight_entered"]) == (
        5,
        shown["pains"],
        {"value": 180, "unit": "lb"},
    )
