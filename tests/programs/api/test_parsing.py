"""`/prescriptions/parse`."""

from itertools import cycle

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


FORMS = [
    "4x6-8", "4 x 6–8", "3 sets of 10", "3 x 10/side", "3 x 10 e/s", "3 x 5 @ 41X1", "3 x 5 tempo 4-1-X-1",  # noqa: RUF001
    "3 x 5 RPE 8", "3 x 5, 2 RIR", "3 x 5 75%", "3 x 5 @ 80 kg", "3 x 5, 2 x 24 kg", "3 x 5 bodyweight",
    "3 x 5 rest 90s", "3 x 5 rest 1:30", "3 x 5 :90", "3 x 5 @ 3010, 60s", "3 x AMRAP", "warm-up 2 x 5, 3 x 5",
    "ramp 5-4-3, 3 x 5", "1 x 5 @ 31X1, 3 x 5 @ 20X1", "4 x 2+2+2, 20s inside", "1 x 12 + drop 2 x -20%",
    "ramp to 3 @ RPE 8, then 3 x 5 @ -10% of top", "3 x 5 @ 75% TM", "3 x 5, last set AMRAP", "3 x 5+", "3 x 30s",
    "4 x 40 m", "3 x 5, cap 12 min", "3 x 5 -- belt", "3 x 5 @ 82,5 kg", "3 x 5 at RPE 8", "3 x 5 with 24 kg",
]  # fmt: skip
BLOCKS = [
    ("12 min AMRAP", "max_rounds"),
    ("AMRAP 12", "max_rounds"),
    ("EMOM 10", "every_minute"),
    ("E2MOM 12", "every_minute"),
    ("every 2 min x 6", "every_minute"),
    ("every 90 s for 12 min", "every_minute"),
    ("8 x 40s on / 20s off", "interval"),
    ("3 rounds circuit", "circuit"),
    ("circuit, 3 rounds", "circuit"),
    ("3 rounds, rest 2:00 between rounds", "circuit"),
    ("5 rounds for time, cap 20 min", "rounds_for_time"),
    ("3 RFT", "rounds_for_time"),
    ("steady 20 min", "steady"),
]


def test_every_form_that_coaches_write_is_read_and_written_back_the_same(cast: Cast) -> None:
    api = cast.api(cast.coach)
    for form, label in zip(FORMS, cycle(("A1.", "A1)", "A1:", "-", "")), strict=False):
        body = api.post(PATH, {"text": f"{label} Back squat {form}\r\n"}, format="json").json()
        assert [fault for fault in body["faults"] if fault["severity"] != "note"] == [], form
        assert body["session"]["blocks"][0]["slots"][0]["exercise"] == "back-squat"
        again = api.post(PATH, {"text": body["written"]}, format="json").json()
        assert again["session"] == body["session"], body["written"]


def test_every_block_that_coaches_write_is_read_without_a_word(cast: Cast) -> None:
    api = cast.api(cast.coach)
    for form, kind in BLOCKS:
        items = "Back squat" if kind == "steady" else "10 back squat, 8 pull-up"
        body = api.post(PATH, {"text": f"D. {form}: {items}"}, format="json").json()
        assert body["faults"] == [], form
        assert body["session"]["blocks"][0]["kind"] == kind
        again = api.post(PATH, {"text": body["written"]}, format="json").json()
        assert again["session"] == body["session"], body["written"]


def test_a_ladder_is_three_rounds_whose_analysis_counts_every_repetition(cast: Cast) -> None:
    api = cast.api(cast.coach)
    body = api.post(PATH, {"text": "D. 21-15-9 for time: back squat 40 kg, pull-up"}, format="json").json()
    assert body["faults"] == []
    (block,) = body["session"]["blocks"]
    assert [[one["reps_low"] for one in slot["sets"]] for slot in block["slots"]] == [[21, 15, 9]] * 2
    analysed = api.post("/api/v1/prescriptions/analyse", {"session": body["session"]}, format="json")
    assert analysed.status_code == 200, analysed.content
    (found,) = analysed.json()["conditioning"]
    assert (found["rounds_low"], found["rounds_high"]) == (3, 3)


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


def test_a_written_progression_becomes_rules_that_a_version_takes(cast: Cast) -> None:
    api = cast.api(cast.coach)
    text = "A1: +2.5 kg every week -- if it goes well\ndeload every 4 weeks"
    body = api.post(PATH, {"progression": text}, format="json").json()
    assert (body["session"], body["faults"]) == (None, [])
    read = body["progression"]
    assert (read["faults"], read["lines"]) == ([], [1, 2])
    assert read["written"] == "A1: +2.5 kg every week\ndeload every 4 weeks, 50 % of sets, -10 % load\n"
    session = api.post(PATH, {"text": "A1. Back squat 3 x 5 @ 80 kg"}, format="json").json()["session"]
    day = session | {"day_number": 1, "template_key": "lower", "title": "Lower"}
    program = api.post("/api/v1/programs", {"name": "Steps", "variants": [{"name": "One"}]}, format="json").json()
    draft = api.post(
        f"/api/v1/programs/{program['id']}/versions",
        {
            "variant": program["variants"][0]["id"],
            "content": {"weeks": [{"week_number": 1, "days": [day]}], "progression": read["rules"]},
        },
        format="json",
    )
    assert draft.status_code == 201, draft.content
    preview = api.post(f"/api/v1/program-versions/{draft.json()['id']}/preview", {"weeks": 4}, format="json").json()
    weeks = preview["content"]["weeks"]
    loads = [week["days"][0]["blocks"][0]["slots"][0]["sets"][0]["load"]["load_kg"] for week in weeks]
    assert (loads[:3], weeks[3]["deload"]) == (["80", "82.5", "85.0"], True)


def test_faults_of_a_progression_stand_apart_from_those_of_the_session(cast: Cast) -> None:
    sent = {"text": "A1. Back squat 3 x 5", "progression": "A1: +2.5\n+1 rep"}
    body = cast.api(cast.coach).post(PATH, sent, format="json").json()
    assert (body["faults"], body["progression"]["written"]) == ([], None)
    assert [(fault["line"], fault["column"]) for fault in body["progression"]["faults"]] == [(1, 9)]
    assert [rule["kind"] for rule in body["progression"]["rules"]] == ["reps_step"]


def test_without_a_progression_none_is_returned_and_something_is_to_be_sent(cast: Cast) -> None:
    api = cast.api(cast.coach)
    assert api.post(PATH, {"text": WRITTEN}, format="json").json()["progression"] is None
    refused = api.post(PATH, {}, format="json")
    assert refused.status_code == 400
    assert [error["pointer"] for error in refused.json()["errors"]] == ["#/text"]
