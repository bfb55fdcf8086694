"""POST /log-batches: an answer per item, and what is stored for it."""

from datetime import date
from decimal import Decimal
from uuid import uuid4

import pytest

from coaching.models import StaleWeek
from coaching.tenancy.scope import business_scope
from logs.models import CheckIn, SessionLog, SetLog
from tests.logs.logging import BATCHES, DAY, check_in, outcomes, post, session, set_


@pytest.fixture
def app(cast):
    return cast.key("logs:write")


def sets_of(cast):
    with business_scope(cast.business_id):
        return {row.external_id: row for row in SetLog.objects.select_related("session_log", "exercise")}


def test_a_session_its_sets_and_a_check_in_are_taken_in_one_request(cast, app):
    answer = post(
        app,
        session_logs=[session(cast.anna)],
        set_logs=[set_(cast.anna), set_(cast.anna, "s1-2", set_number=2)],
        check_ins=[check_in(cast.anna, bodyweight_kg=81.4)],
    )
    assert answer["summary"] == {"created": 4, "unchanged": 0, "corrected": 0, "refused": 0, "held": 0}
    assert [(item["kind"], item["index"], item["external_id"]) for item in answer["items"]] == [
        ("session_log", 0, "s1"),
        ("set_log", 0, "s1-1"),
        ("set_log", 1, "s1-2"),
        ("check_in", 0, "c1"),
    ]
    stored = sets_of(cast)["s1-1"]
    assert (str(stored.id), stored.source) == (answer["items"][1]["id"], "gym-floor-app")
    assert (stored.session_log.external_id, stored.exercise.key, stored.local_date) == (
        "s1",
        "back-squat",
        date(2026, 3, 4),
    )
    with business_scope(cast.business_id):
        assert CheckIn.objects.get().bodyweight_kg == Decimal("81.4")


def test_pounds_are_kept_as_entered_and_as_exact_kilograms(cast, app):
    post(app, session_logs=[session(cast.anna)], set_logs=[set_(cast.anna, load_kg=..., load_lb=225)])
    stored = sets_of(cast)["s1-1"]
    # 1 lb is 0.45359237 kg exactly.
    assert (stored.load, stored.unit, stored.load_kg) == (Decimal(225), "lb", Decimal("102.05828325"))


def test_every_fault_of_every_item_is_told_and_the_good_items_land(cast, app):
    answer = post(
        app,
        session_logs=[session(cast.anna)],
        set_logs=[
            {**set_(cast.anna, reps="6", load_lb=180, repz=3, exercise="bak-squat"), "client": str(uuid4())},
            set_(cast.anna, "s1-2"),
            7,
            {**set_(cast.anna, "s1-4"), "client": [1], "exercise": {}},
        ],
    )
    assert outcomes(answer) == ["created", "refused", "created", "refused", "refused"]
    faults = {(fault["pointer"], fault["code"]) for fault in answer["items"][1]["problem"]["errors"]}
    assert faults == {
        ("#/set_logs/0/reps", "int_type"),
        ("#/set_logs/0/load_lb", "one_unit"),
        ("#/set_logs/0/repz", "unknown_field"),
        ("#/set_logs/0/exercise", "unknown_object"),
        ("#/set_logs/0/client", "unknown_object"),
    }
    told = {fault["pointer"]: fault["detail"] for fault in answer["items"][1]["problem"]["errors"]}
    assert "'reps'" in told["#/set_logs/0/repz"]
    assert "back-squat" in told["#/set_logs/0/exercise"]
    assert answer["items"][3]["problem"]["errors"][0]["pointer"] == "#/set_logs/2"
    assert set(sets_of(cast)) == {"s1-2"}


@pytest.mark.parametrize(
    ("changes", "pointer", "code"),
    [
        ({"load_lb": 180}, "/load_lb", "one_unit"),
        ({"rpe": 8, "in_reserve": 2}, "/in_reserve", "one_effort"),
        ({"reps": None}, "", "no_measure"),
        ({"phase_s": {"eccentric": 4}}, "/phase_source", "required"),
        ({"tempo": "4X"}, "/tempo", "tempo"),
        ({"load_kg": 80.00001}, "/load_kg", "too_precise"),
        ({"session_external_id": None}, "/session_external_id", "one_session"),
        ({"load_basis": "each_hand"}, "/load_basis", "load_basis"),
        ({"symptoms": ["chest_pane"]}, "/symptoms/0", "unknown_symptom"),
        ({"session_external_id": None, "session_log": str(uuid4())}, "/session_log", "unknown_object"),
        ({"set_number": 0}, "/set_number", "greater_than_equal"),
        ({"external_id": "a\x00b"}, "/external_id", "string_pattern_mismatch"),
        ({"segments": [{"reps": 2, "load_kg": 1, "load_lb": 2}, {"reps": 1}]}, "/segments/0/load_lb", "one_unit"),
        ({"swapped": {"from": "no-such", "reason": ""}}, "/swapped/from", "unknown_object"),
        ({"load_kg": -80}, "/load_kg", "negative_load"),
        ({"load_kg": None, "load_lb": -80.5}, "/load_lb", "negative_load"),
        (
            {"segments": [{"reps": 2, "load_kg": 60}, {"reps": 1, "load_lb": -1}]},
            "/segments/1/load_lb",
            "negative_load",
        ),
        ({"distance_m": 1.23456}, "/distance_m", "too_precise"),
        ({"duration_s": 30.125}, "/duration_s", "too_precise"),
        ({"calories_kcal": 8.001}, "/calories_kcal", "too_precise"),
        ({"rounds": 4.333}, "/rounds", "too_precise"),
    ],
)
def test_a_set_that_says_what_cannot_be_is_refused_with_its_place(cast, app, changes, pointer, code):
    answer = app.post(
        BATCHES, {"session_logs": [session(cast.anna)], "set_logs": [{**set_(cast.anna), **changes}]}, format="json"
    ).json()
    if code == "string_pattern_mismatch":
        # NUL is refused before any item is looked at: no database holds it.
        assert (answer["status"], answer["code"]) == (400, "nul_in_text")
        return
    errors = answer["items"][1]["problem"]["errors"]
    assert [(fault["pointer"], fault["code"]) for fault in errors] == [(f"#/set_logs/0{pointer}", code)]
    assert not sets_of(cast)


@pytest.mark.parametrize(
    ("changes", "pointer", "code"),
    [
        ({"local_date": None}, "/started_at", "required"),
        ({"local_date": "2126-03-04"}, "/local_date", "in_future"),
        ({"started_at": "2126-03-04T10:00:00Z", "local_date": None}, "/started_at", "in_future"),
        (
            {"started_at": "2026-03-04T10:00:00Z", "finished_at": "2026-03-04T09:59:00Z"},
            "/finished_at",
            "finished_before_started",
        ),
        ({"started_at": "2026-03-04T10:00:00"}, "/started_at", "timezone_aware"),
        ({"duration_min": 0}, "/duration_min", "greater_than"),
        ({"duration_min": 40.333}, "/duration_min", "too_precise"),
        ({"planned_session": str(uuid4())}, "/planned_session", "unknown_object"),
        ({"local_date": "2026-02-30"}, "/local_date", "date_parsing"),
    ],
)
def test_a_session_that_cannot_have_been_is_refused_with_its_place(cast, app, changes, pointer, code):
    errors = post(app, session_logs=[{**session(cast.anna), **changes}])["items"][0]["problem"]["errors"]
    assert [(fault["pointer"], fault["code"]) for fault in errors] == [(f"#/session_logs/0{pointer}", code)]


def test_a_session_after_midnight_belongs_to_the_day_before_in_the_zone_then_in_force(cast, app):
    # 03:30 in Chicago on the 5th, and 10:30 in Paris: ben's day ends at 04:00.
    post(
        app,
        session_logs=[
            {**session(cast.ben), "local_date": None, "started_at": "2026-03-05T09:30:00Z"},
            {**session(cast.anna), "local_date": None, "started_at": "2026-03-05T09:30:00Z"},
        ],
    )
    with business_scope(cast.business_id):
        dates = dict(SessionLog.objects.values_list("client__name", "local_date"))
    assert dates == {"Ben": date(2026, 3, 4), "Anna": date(2026, 3, 5)}


def test_a_load_for_both_hands_is_turned_into_the_exercise_own_basis_and_said_so(cast, app):
    answer = post(
        app,
        session_logs=[session(cast.anna)],
        set_logs=[set_(cast.anna, exercise="dumbbell-bench-press", load_basis="total", load_kg=48)],
    )
    stored = sets_of(cast)["s1-1"]
    assert (stored.load_kg, stored.load_basis) == (Decimal(24), "each_hand")
    assert answer["items"][1]["notes"] == ["The load of 48.0 kg was sent as total and is kept as 24.0 kg each_hand."]


def test_a_set_keeps_what_was_measured_of_it(cast, app):
    post(
        app,
        session_logs=[session(cast.anna)],
        set_logs=[
            set_(
                cast.anna,
                kind="drop",
                slot="A1",
                side="left",
                reps=...,
                segments=[{"reps": 8}, {"reps": 4, "load_lb": 90, "rest_before_s": 10}],
                tempo="41X1",
                phase_s={"eccentric": 4.1, "concentric": 0.8},
                phase_source="video",
                rpe=8.5,
                machine="left rack",
                outcome="failed",
                swapped={"from": "front-squat", "reason": "rack taken"},
                notes='He said "fine"\tthen \\ stopped\né',
            )
        ],
    )
    stored = sets_of(cast)["s1-1"]
    assert stored.segments == [
        {"reps": 8},
        {"reps": 4, "load": 90.0, "unit": "lb", "load_kg": 40.8233133, "rest_before_s": 10.0},
    ]
    assert (stored.tempo, stored.tempo_class, stored.rpe) == ("41X1", "slow", Decimal("8.5"))
    assert (stored.phase_s, stored.phase_source) == ({"eccentric": 4.1, "concentric": 0.8}, "video")
    assert stored.swapped == {"from": "front-squat", "reason": "rack taken"}
    assert stored.notes == 'He said "fine"\tthen \\ stopped\né'
    assert (stored.kind, stored.slot_key, stored.side, stored.outcome) == ("drop", "A1", "left", "failed")


def test_a_merged_exercise_is_logged_as_what_it_was_merged_into(cast, app):
    from programs.models import Exercise

    with business_scope(cast.business_id):
        front = Exercise.objects.get(key="front-squat")
        Exercise.objects.filter(key="back-squat").update(merged_into=front)
    post(app, session_logs=[session(cast.anna)], set_logs=[set_(cast.anna)])
    assert sets_of(cast)["s1-1"].exercise.key == "front-squat"


def test_a_red_flag_symptom_and_a_strong_pain_are_cautioned_in_the_answer(cast, app):
    answer = post(
        app,
        session_logs=[session(cast.anna, symptoms=["chest_pain"])],
        check_ins=[
            check_in(cast.anna, pains=[{"site": "shoulder", "side": "left", "score": 7, "exercise": "bench-press"}]),
            check_in(cast.anna, "c2", pains=[{"site": "knee", "score": 2}]),
        ],
    )
    assert [(caution["pointer"], caution["action"]) for caution in answer["cautions"]] == [
        ("#/session_logs/0", "stop_training"),
        ("#/check_ins/0", "stop_movement"),
    ]
    assert answer["cautions"][0]["client"] == str(cast.anna.id)
    assert "emergency" in answer["cautions"][0]["text"]
    assert "shoulder" in answer["cautions"][1]["text"]


def test_a_symptom_in_a_refused_item_is_cautioned_all_the_same(cast, app):
    answer = post(app, session_logs=[session(cast.anna, symptoms=["fainting"], session_rpe=70)])
    assert outcomes(answer) == ["refused"]
    assert answer["cautions"][0]["action"] == "stop_training"


def test_clients_that_a_caller_may_not_see_are_as_unknown_as_no_client(cast, neighbour):
    narrowed = cast.key("logs:write", clients=[cast.ben.id])
    coach = cast.api(cast.coach)
    for api, client_id in (
        (narrowed, cast.anna.id),
        (coach, cast.carl.id),
        (cast.api(cast.client_member), cast.ben.id),
        (cast.api(cast.owner), neighbour.anna.id),
    ):
        unseen = post(api, check_ins=[{**check_in(cast.anna), "client": str(client_id)}])
        absent = post(api, check_ins=[{**check_in(cast.anna), "client": str(uuid4())}])
        assert unseen["items"] == absent["items"]
        assert unseen["items"][0]["problem"]["errors"][0]["code"] == "unknown_object"
    assert outcomes(post(coach, check_ins=[check_in(cast.anna)])) == ["created"]
    with business_scope(neighbour.business_id):
        assert not CheckIn.objects.exists()


def test_a_planned_session_or_session_of_another_client_is_unknown(cast, app):
    first = post(app, session_logs=[session(cast.ben)])
    answer = post(
        app,
        set_logs=[{**set_(cast.anna), "session_external_id": None, "session_log": first["items"][0]["id"]}],
    )
    assert answer["items"][0]["problem"]["errors"][0]["code"] == "unknown_object"


def test_a_batch_marks_the_weeks_that_it_touches_and_no_others(cast, app):
    post(
        app,
        session_logs=[session(cast.anna), session(cast.anna, "s2", local_date="2026-03-09")],
        set_logs=[set_(cast.anna)],
        check_ins=[check_in(cast.ben, local_date="2026-03-15")],
    )
    with business_scope(cast.business_id):
        marked = set(StaleWeek.objects.values_list("client__name", "week_start"))
    assert marked == {
        ("Anna", date(2026, 3, 2)),
        ("Anna", date(2026, 3, 9)),
        ("Ben", date(2026, 3, 9)),
    }


def test_a_strict_batch_is_taken_whole_or_not_at_all(cast, app):
    good, bad = session(cast.anna), set_(cast.anna, reps=-1)
    refused = app.post(
        BATCHES, {"session_logs": [good], "set_logs": [bad]}, format="json", headers={"Prefer": "handling=strict"}
    )
    assert (refused.status_code, refused["Content-Type"]) == (422, "application/problem+json")
    body = refused.json()
    assert [item["outcome"] for item in body["items"]] == ["not_stored", "refused"]
    assert body["errors"][0]["pointer"] == "#/set_logs/0/reps"
    with business_scope(cast.business_id):
        assert not SessionLog.objects.exists()
    taken = app.post(
        BATCHES,
        {"session_logs": [good], "set_logs": [set_(cast.anna)]},
        format="json",
        headers={"Prefer": "respond-async, handling=strict"},
    )
    assert (taken.status_code, taken["Preference-Applied"]) == (200, "handling=strict")
    assert outcomes(taken.json()) == ["created", "created"]


def test_a_key_files_under_its_own_source_and_refuses_another(cast, app):
    refused = app.post(BATCHES, {"source": "other-app", "check_ins": [check_in(cast.anna)]}, format="json")
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (400, "#/source")
    post(app, source="gym-floor-app", check_ins=[check_in(cast.anna)])
    post(cast.api(cast.coach), check_ins=[check_in(cast.anna)])
    post(cast.api(cast.coach), source="spreadsheet", check_ins=[check_in(cast.anna)])
    with business_scope(cast.business_id):
        assert set(CheckIn.objects.values_list("source", flat=True)) == {
            "gym-floor-app",
            "counterpoise",
            "spreadsheet",
        }


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ('{"set_log": []}', "#/set_log"),
        ('{"set_logs": {}}', "#/set_logs"),
        ('{"source": 3}', "#/source"),
        ('{"source": "' + "x" * 61 + '"}', "#/source"),
        ('{"check_ins": [' + ",".join(["{}"] * 5001) + "]}", "#"),
    ],
)
def test_a_batch_with_a_wrong_envelope_is_refused_as_a_whole(cast, app, body, pointer):
    refused = app.post(BATCHES, body, content_type="application/json")
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (400, pointer)


@pytest.mark.parametrize(
    "body",
    [
        "not json",
        "[]",
        '{"check_ins": [{"external_id": "a", "external_id": "b"}]}',
        '{"source": "a", "source": "b"}',
        '{"source": "a", "source" : "b"}',
        '{"check_ins": [{"sleep": NaN}]}',
    ],
)
def test_a_body_that_two_readers_would_read_differently_is_refused(cast, app, body):
    refused = app.post(BATCHES, body, content_type="application/json")
    assert (refused.status_code, refused["Content-Type"]) == (400, "application/problem+json")
    assert refused.json()["type"] == "/docs/problems/malformed"


def test_a_valid_batch_with_a_key_twice_is_refused(cast, app):
    body = '{"check_ins": [{"external_id": "a", "client": "%s", "local_date": "%s", "sleep": 1, "sleep": 7}]}'
    refused = app.post(BATCHES, body % (cast.anna.id, DAY), content_type="application/json")
    assert (refused.status_code, refused.json()["code"]) == (400, "duplicate_key")


def test_a_note_that_looks_like_a_key_is_only_a_note(cast, app):
    assert outcomes(post(app, check_ins=[check_in(cast.anna, notes='He wrote "sleep": 3, "sleep": 4')])) == ["created"]


def test_a_body_over_eight_mebibytes_is_refused(cast, app):
    refused = app.post(BATCHES, b'{"source": "' + b"x" * 8 * 1024 * 1024 + b'"}', content_type="application/json")
    assert refused.status_code == 413


def test_an_empty_batch_is_taken_and_says_so(cast, app):
    assert post(app)["summary"] == {"created": 0, "unchanged": 0, "corrected": 0, "refused": 0, "held": 0}


def test_a_batch_can_be_looked_up_by_its_sender_with_its_problems(cast, app):
    answer = post(app, session_logs=[session(cast.anna, session_rpe=70)], set_logs=[set_(cast.anna)])
    found = app.get(f"{BATCHES}/{answer['id']}").json()
    assert (found["source"], found["summary"]) == ("gym-floor-app", answer["summary"])
    assert [(one["kind"], one["outcome"]) for one in found["problems"]] == [
        ("session_log", "refused"),
        ("set_log", "held"),
    ]
    assert [one["id"] for one in app.get(BATCHES).json()["items"]] == [answer["id"]]
    assert [one["id"] for one in cast.api(cast.head).get(BATCHES).json()["items"]] == [answer["id"]]
    other = cast.key("logs:write", source="another-app")
    assert other.get(f"{BATCHES}/{answer['id']}").status_code == 404
    assert other.get(BATCHES).json()["items"] == []


def test_a_retry_under_one_idempotency_key_takes_nothing_twice(cast, app):
    body = {"check_ins": [check_in(cast.anna, symptoms=["fainting"])]}
    first = app.post(BATCHES, body, format="json", headers={"Idempotency-Key": '"k1"'})
    again = app.post(BATCHES, body, format="json", headers={"Idempotency-Key": '"k1"'})
    assert again["Idempotency-Replayed"] == "true"
    assert again.json()["id"] == first.json()["id"]
    assert again.json()["cautions"] == first.json()["cautions"]
    with business_scope(cast.business_id):
        assert CheckIn.objects.count() == 1


def test_a_reading_key_and_a_viewer_write_nothing(cast):
    for api in (cast.key("logs:read"), cast.api(cast.viewer)):
        assert api.post(BATCHES, {"check_ins": [check_in(cast.anna)]}, format="json").status_code == 403


def test_only_what_is_added_to_the_body_may_weigh_less_than_nothing(cast, app):
    helped = {"exercise": "pull-up", "load_kg": -20, "segments": [{"reps": 3}, {"reps": 2, "load_kg": -30}]}
    answer = post(
        app, session_logs=[session(cast.anna)], set_logs=[set_(cast.anna, **helped), set_(cast.anna, "s1-2", load_kg=0)]
    )
    assert outcomes(answer) == ["created", "created", "created"]
    assert sets_of(cast)["s1-1"].load_kg == Decimal(-20)


def test_a_correction_may_not_make_a_load_negative(cast):
    api = cast.key("logs:write", "logs:read")
    answer = post(api, session_logs=[session(cast.anna)], set_logs=[set_(cast.anna)])
    refused = api.patch(
        f"/api/v1/set-logs/{answer['items'][1]['id']}", {"load_kg": -5}, format="json", headers={"If-Match": '"v1"'}
    )
    assert (refused.status_code, refused.json()["errors"][0]["code"]) == (400, "negative_load")


def test_amounts_of_two_decimals_are_kept_as_they_were_sent(cast, app):
    amounts = {"distance_m": 400.25, "duration_s": 61.29, "calories_kcal": 12.07, "rounds": 3.35}
    post(app, session_logs=[session(cast.anna, duration_min=40.29)], set_logs=[set_(cast.anna, **amounts)])
    stored = sets_of(cast)["s1-1"]
    assert {name: float(getattr(stored, name)) for name in amounts} == amounts
    assert stored.session_log.duration_min == Decimal("40.29")


def test_heart_rate_variability_of_more_decimals_than_are_kept_is_refused(cast, app):
    errors = post(app, check_ins=[check_in(cast.anna, hrv_rmssd_ms=60.123)])["items"][0]["problem"]["errors"]
    assert [(fault["pointer"], fault["code"]) for fault in errors] == [("#/check_ins/0/hrv_rmssd_ms", "too_precise")]


@pytest.mark.parametrize("sent_as", ["text/plain", "application/x-www-form-urlencoded", "text/json", ""])
def test_a_batch_that_is_not_sent_as_json_is_refused(cast, app, sent_as):
    answer = app.generic("POST", BATCHES, b'{"check_ins": []}', content_type=sent_as)
    assert (answer.status_code, answer.json()["type"]) == (415, "/docs/problems/unsupported_media_type")


def test_a_batch_may_name_its_characters(cast, app):
    answer = app.generic("POST", BATCHES, b'{"check_ins": []}', content_type="application/json; charset=utf-8")
    assert answer.status_code == 200
