"""What the answer to a report says at once is true: a coach is named as a reader only where one will read it."""

from typing import Any
from uuid import uuid4

import pytest

from tests.logs.logging import BATCHES, check_in, outcomes, post, session, set_
from tests.scenario import Cast

SEEN = "Your coach sees this report"
NOT_STORED = "This could not be stored; tell your coach yourself."
KNEE = {"site": "knee", "score": 8}


@pytest.fixture
def app(cast):
    return cast.key("logs:write")


def texts(answer):
    return [caution["text"] for caution in answer["cautions"]]


def test_a_report_that_was_stored_or_waits_says_that_the_coach_sees_it(cast, app):
    answer = post(
        app,
        set_logs=[set_(cast.anna, symptoms=["chest_pain"])],
        check_ins=[check_in(cast.anna, symptoms=["fainting"], pains=[KNEE])],
    )
    assert outcomes(answer) == ["held", "created"]
    for text in texts(answer):
        assert SEEN in text
        assert NOT_STORED not in text


def test_a_refused_report_says_that_the_coach_must_be_told(cast, app):
    answer = post(
        app,
        session_logs=[session(cast.anna, symptoms=["fainting"], session_rpe=70)],
        check_ins=[check_in(cast.anna, sleep=70, pains=[KNEE])],
    )
    assert outcomes(answer) == ["refused", "refused"]
    for text, reported in zip(texts(answer), ("fainting", "knee"), strict=True):
        assert reported in text
        assert SEEN not in text
        assert NOT_STORED in text
    assert [caution["client"] for caution in answer["cautions"]] == [str(cast.anna.id)] * 2


def test_a_report_in_a_strict_batch_that_was_rolled_back_says_that_the_coach_must_be_told(cast, app):
    lists = {
        "session_logs": [session(cast.anna, session_rpe=70)],
        "set_logs": [set_(cast.anna, symptoms=["dizziness"])],
        "check_ins": [check_in(cast.anna, symptoms=["chest_pain"], pains=[KNEE])],
    }
    refused = app.post(BATCHES, lists, format="json", headers={"Prefer": "handling=strict"})
    assert refused.status_code == 422
    assert outcomes(refused.json()) == ["refused", "not_stored", "not_stored"]
    assert len(texts(refused.json())) == 2
    for text in texts(refused.json()):
        assert SEEN not in text
        assert NOT_STORED in text


def test_a_report_that_a_newer_one_has_replaced_does_not_say_that_the_coach_sees_it(cast, app):
    post(app, check_ins=[check_in(cast.anna, revision=2)])
    answer = post(app, check_ins=[check_in(cast.anna, revision=1, symptoms=["chest_pain"])])
    assert answer["items"][0]["superseded"] is True
    assert SEEN not in texts(answer)[0]


def test_a_report_of_a_client_whom_the_caller_can_not_see_names_nothing_of_it(cast, neighbour, app):
    narrowed = cast.key("logs:write", clients=[cast.ben.id])
    for client_id in (cast.anna.id, neighbour.anna.id, uuid4()):
        sent = {**check_in(cast.anna, symptoms=["chest_pain"], pains=[KNEE]), "client": str(client_id)}
        for item in (sent, {**sent, "sleep": 70}):
            (caution,) = post(narrowed, check_ins=[item])["cautions"]
            assert (caution["client"], caution["action"], caution["urgency"]) == (None, "stop_training", "emergency")
            assert "emergency number" in caution["text"]
            assert NOT_STORED in caution["text"]
            for word in (SEEN, "You reported", "knee", "pressure in the chest"):
                assert word not in caution["text"]


@pytest.mark.parametrize("fault", [{"sleep": 99}, {"local_date": "2099-01-01"}])
def test_a_single_check_in_that_is_refused_is_answered_with_its_caution_too(cast: Cast, fault: dict[str, Any]) -> None:
    sent = check_in(cast.anna, symptoms=["chest_pain"], **fault)
    answer = cast.key("logs:write").post("/api/v1/check-ins", sent, format="json")
    assert answer.status_code == 400
    (caution,) = answer.json()["cautions"]
    assert caution["action"] == "stop_training"
    assert "tell your coach yourself" in caution["text"]
    assert "Your coach sees this report" not in caution["text"]
