"""`/prescriptions/parse`."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from coaching.tenancy.scope import business_scope
from programs.models import Program, Version
from tests.scenario import Cast

PATH = "/api/v1/prescriptions/parse"
WRITTEN = """A1. Bench press  4 x 6-8 @ 41X1, RPE 8, rest 90s
A2. Pull-up  4 x 5 @ 31X2, rest 90s
"""


def test_a_written_session_is_read_and_can_be_analysed_as_it_is(cast: Cast) -> None:
    api = cast.api(cast.viewer)
    answer = api.post(PATH, {"text": WRITTEN}, format="json")
    assert answer.status_code == 200, answer.content
    body = answer.json()
    assert body["faults"] == []
    assert body["session"]["blocks"][0]["kind"] == "paired"
    assert body["lines"]["#/blocks/0/slots/1"] == 2
    analysed = api.post("/api/v1/prescriptions/analyse", {"session": body["session"]}, format="json")
    assert analysed.status_code == 200, analysed.content
    with business_scope(cast.business_id):
        assert not Program.objects.filter(name="").exists()
        assert not Version.objects.exists()


def test_what_is_written_back_is_read_the_same(cast: Cast) -> None:
    api = cast.api(cast.coach)
    first = api.post(PATH, {"text": WRITTEN}, format="json").json()
    assert "Pull-up" in first["written"]
    again = api.post(PATH, {"text": first["written"]}, format="json").json()
    assert again["session"] == first["session"]


def test_two_mistakes_are_told_at_line_and_column_and_the_rest_is_read(cast: Cast) -> None:
    text = "A1. Bench press  4 x 6-8 @ 4X11, rest 90s\r\nA2. Pul up  4 x 5\r\nB. Back squat 3 x 5"
    body = cast.api(cast.coach).post(PATH, {"text": text}, format="json").json()
    tempo, name = body["faults"]
    assert (tempo["line"], tempo["column"], tempo["code"], tempo["severity"]) == (1, 26, "tempo", "error")
    assert (name["line"], name["column"], name["code"]) == (2, 5, "doubtful_exercise")
    assert "pull-up" in [candidate["key"] for candidate in name["candidates"]]
    assert body["written"] is None
    slots = [slot for block in body["session"]["blocks"] for slot in block["slots"]]
    assert (slots[0]["rest_s"], slots[2]["exercise"]) == (90, "back-squat")


def test_a_text_without_an_exercise_has_no_session(cast: Cast) -> None:
    body = cast.api(cast.coach).post(PATH, {"text": ""}, format="json").json()
    assert body["session"] is None
    assert [fault["code"] for fault in body["faults"]] == ["empty"]


@pytest.mark.parametrize("lines", [1, 40])
def test_names_take_one_query_however_many_lines_there_are(cast: Cast, lines: int) -> None:
    api = cast.api(cast.coach)
    text = "\n".join(f"Back squat 3 x {number + 1}" for number in range(lines))
    with CaptureQueriesContext(connection) as queries:
        api.post(PATH, {"text": text}, format="json")
    assert len([one for one in queries if 'FROM "programs_exercise"' in one["sql"]]) == 1


def test_a_client_reads_no_written_sessions(cast: Cast) -> None:
    assert cast.api(cast.client_member).post(PATH, {"text": WRITTEN}, format="json").status_code == 403
