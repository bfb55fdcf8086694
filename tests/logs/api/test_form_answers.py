"""Answers to the business's own questions: taken with the version that they fit, and kept with it."""

import pytest

from coaching.models import Client
from coaching.tenancy.scope import business_scope
from logs.models import CheckIn
from tests.coaching.api.test_check_in_forms import HOURS, MOOD, WHERE, WORDS, changed, made
from tests.logs.logging import check_in, outcomes, post
from tests.scenario import Cast

ANSWERS = {"mood": 4, "sleep_h": 7.5, "where": "gym", "words": "Knee is fine: ran 5 km."}
CHECK_INS = "/api/v1/check-ins"


def test_answers_are_kept_with_the_version_that_asked(cast: Cast):
    form = made(cast)
    answer = cast.api(cast.coach).post(CHECK_INS, check_in(cast.anna, form=form["id"], answers=ANSWERS), format="json")
    assert answer.status_code == 201, answer.content
    log = answer.json()["log"]
    assert (log["form"], log["form_version"], log["answers"]) == (form["id"], 1, ANSWERS)
    changed(cast, form, questions=[MOOD])
    read = cast.api(cast.coach).get(f"{CHECK_INS}/{log['id']}").json()
    assert (read["form_version"], read["answers"]) == (1, ANSWERS)


def test_an_app_that_was_offline_answers_the_version_that_it_had(cast: Cast):
    form = made(cast)
    changed(cast, form, questions=[MOOD])
    api = cast.api(cast.coach)
    old = api.post(CHECK_INS, check_in(cast.anna, "c1", form=form["id"], answers=ANSWERS), format="json").json()
    new = api.post(CHECK_INS, check_in(cast.anna, "c2", form=form["id"], answers={"mood": 4}), format="json").json()
    named = check_in(cast.anna, "c3", form=form["id"], form_version=1, answers={"mood": 4})
    assert [old["log"]["form_version"], new["log"]["form_version"]] == [1, 2]
    assert api.post(CHECK_INS, named, format="json").json()["log"]["form_version"] == 1


def test_the_same_answers_after_a_new_version_are_unchanged(cast: Cast):
    form = made(cast, MOOD)
    item = check_in(cast.anna, form=form["id"], answers={"mood": 4})
    api = cast.api(cast.coach)
    assert outcomes(post(api, source="app", check_ins=[item])) == ["created"]
    changed(cast, form, questions=[MOOD, WORDS])
    assert outcomes(post(api, source="app", check_ins=[item])) == ["unchanged"]
    assert outcomes(post(api, source="app", check_ins=[{**item, "answers": {"mood": 5}}])) == ["corrected"]


def test_a_correction_changes_one_answer_and_keeps_what_it_was(cast: Cast):
    form = made(cast, MOOD, WORDS)
    api = cast.api(cast.coach)
    sent = check_in(cast.anna, form=form["id"], answers={"mood": 4, "words": "a"})
    log = api.post(CHECK_INS, sent, format="json").json()["log"]
    answer = api.patch(f"{CHECK_INS}/{log['id']}", {"answers": {"mood": 2}}, format="json", HTTP_IF_MATCH="*")
    assert (answer.status_code, answer.json()["log"]["answers"]) == (200, {"mood": 2})
    history = api.get(f"{CHECK_INS}/{log['id']}?history=true").json()["history"]
    assert [one["content"]["answers"] for one in history] == [{"mood": 4, "words": "a"}]


@pytest.mark.parametrize(
    ("fields", "pointer", "code"),
    [
        ({"answers": {"mood": 6}}, "answers/mood", "invalid_answer"),
        ({"answers": {"mood": 4.5}}, "answers/mood", "invalid_answer"),
        ({"answers": {"mood": True}}, "answers/mood", "invalid_answer"),
        ({"answers": {"mood": "4"}}, "answers/mood", "invalid_answer"),
        ({"answers": {"sleep_h": "long"}}, "answers/sleep_h", "invalid_answer"),
        ({"answers": {"sleep_h": 1e12}}, "answers/sleep_h", "invalid_answer"),
        ({"answers": {"where": "pool"}}, "answers/where", "invalid_answer"),
        ({"answers": {"where": ["gym"]}}, "answers/where", "invalid_answer"),
        ({"answers": {"words": 3}}, "answers/words", "invalid_answer"),
        ({"answers": {"a/b": 3}}, "answers/a~1b", "unknown_question"),
        ({"form_version": 9}, "form_version", "unknown_object"),
        ({"form": "0198ffff-0000-7000-8000-000000000000"}, "form", "unknown_object"),
        ({"form": None, "answers": {"mood": 3}}, "form", "required"),
        ({"answers": [3]}, "answers", "dict_type"),
    ],
)
def test_an_answer_that_does_not_fit_points_at_its_question(cast: Cast, fields: dict, pointer: str, code: str):
    form = made(cast, MOOD, HOURS, WHERE, WORDS)
    bad = check_in(cast.anna, "bad", **{"form": form["id"], **fields})
    answer = post(cast.api(cast.coach), source="app", check_ins=[check_in(cast.anna, "good"), bad])
    assert outcomes(answer) == ["created", "refused"]
    faults = answer["items"][1]["problem"]["errors"]
    assert [(one["pointer"], one["code"]) for one in faults] == [(f"#/check_ins/1/{pointer}", code)]
    single = cast.api(cast.coach).post(CHECK_INS, bad, format="json")
    assert single.status_code == 400
    assert single.json()["errors"][0]["pointer"] == f"#/{pointer}"


def test_an_answer_twice_in_one_object_is_refused(cast: Cast):
    form = made(cast, MOOD)
    item = f'"external_id": "c1", "client": "{cast.anna.id}", "local_date": "2026-03-04", "form": "{form["id"]}"'
    body = f'{{"source": "app", "check_ins": [{{{item}, "answers": {{"mood": 1, "mood": 5}}}}]}}'
    answer = cast.api(cast.coach).post("/api/v1/log-batches", body, content_type="application/json")
    assert (answer.status_code, answer.json()["code"]) == (400, "duplicate_key")


def test_another_businesss_form_is_unknown(cast: Cast, neighbour: Cast):
    form = made(neighbour, MOOD)
    answer = post(cast.api(cast.coach), source="app", check_ins=[check_in(cast.anna, form=form["id"])])
    assert outcomes(answer) == ["refused"]


def test_a_deleted_check_in_keeps_no_answer(cast: Cast):
    form = made(cast, MOOD)
    api = cast.api(cast.coach)
    sent = check_in(cast.anna, form=form["id"], answers={"mood": 4})
    log = api.post(CHECK_INS, sent, format="json").json()["log"]
    assert api.delete(f"{CHECK_INS}/{log['id']}", HTTP_IF_MATCH="*").status_code == 204
    with business_scope(cast.business_id):
        row = CheckIn.objects.get(id=log["id"])
    assert (row.form_id, row.form_version, row.answers) == (None, None, {})


@pytest.mark.parametrize(
    "care", [{"care_groups": ["eating_disorder_history"]}, {"birth_date": "2010-01-01"}, {"care_groups": ["pregnant"]}]
)
def test_bodyweight_is_not_shown_where_care_switches_it_off(cast: Cast, care: dict):
    api = cast.api(cast.coach)
    log = api.post(CHECK_INS, check_in(cast.anna, bodyweight_kg=61.5), format="json").json()["log"]
    assert (log["bodyweight_kg"], log["bodyweight_hidden"]) == (61.5, "")
    api.patch(f"{CHECK_INS}/{log['id']}", {"bodyweight_kg": 62}, format="json", HTTP_IF_MATCH="*")
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(**care)
    read = api.get(f"{CHECK_INS}/{log['id']}?history=true").json()
    listed = api.get(f"{CHECK_INS}?client={cast.anna.id}").json()["items"][0]
    for shown in (read, listed, read["history"][0]["content"]):
        assert (shown["bodyweight_kg"], shown["bodyweight_lb"], shown["bodyweight_entered"]) == (None, None, None)
        assert shown["bodyweight_hidden"] != ""
