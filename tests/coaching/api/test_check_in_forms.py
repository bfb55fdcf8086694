"""`/check-in-forms`: the business's own questions, versioned."""

import pytest

from tests.scenario import Cast

FORMS = "/api/v1/check-in-forms"
MOOD = {
    "key": "mood",
    "text": "How is your mood?",
    "kind": "scale",
    "direction": "higher_is_better",
    "minimum": 1,
    "maximum": 5,
    "low_label": "low",
    "high_label": "high",
}
HOURS = {"key": "sleep_h", "text": "Hours slept?", "kind": "number", "direction": "higher_is_better", "unit": "h"}
WHERE = {"key": "where", "text": "Where did you train?", "kind": "choice", "choices": ["home", "gym"]}
WORDS = {"key": "words", "text": "Anything else?", "kind": "text"}


def made(cast: Cast, *questions: dict, name: str = "Morning", cadence: str = "daily") -> dict:
    body = {"name": name, "cadence": cadence, "questions": list(questions or (MOOD, HOURS, WHERE, WORDS))}
    answer = cast.api(cast.coach).post(FORMS, body, format="json")
    assert answer.status_code == 201, answer.content
    return answer.json()


def changed(cast: Cast, form: dict, **changes: object):
    path = f"{FORMS}/{form['id']}"
    return cast.api(cast.coach).patch(path, changes, format="json", HTTP_IF_MATCH=f'"v{form["row_version"]}"')


def test_a_form_is_made_with_its_questions(cast: Cast):
    form = made(cast)
    assert (form["version"], form["cadence"], form["retired"]) == (1, "daily", False)
    assert [question["key"] for question in form["questions"]] == ["mood", "sleep_h", "where", "words"]
    assert form["questions"][0] == {**MOOD, "unit": "", "choices": []}
    listed = cast.api(cast.client_member).get(FORMS).json()["items"]
    assert [one["id"] for one in listed] == [form["id"]]


def test_other_questions_make_a_new_version_and_the_old_one_is_kept(cast: Cast):
    form = made(cast, MOOD)
    asked_otherwise = {**MOOD, "text": "What is your mood like?"}
    answer = changed(cast, form, questions=[asked_otherwise, HOURS])
    assert (answer.status_code, answer.json()["version"]) == (200, 2)
    shown = cast.api(cast.coach).get(f"{FORMS}/{form['id']}").json()
    assert [(one["number"], len(one["questions"])) for one in shown["versions"]] == [(2, 2), (1, 1)]
    assert shown["versions"][1]["questions"][0]["text"] == "How is your mood?"


def test_a_new_name_or_the_same_questions_make_no_version(cast: Cast):
    form = made(cast, MOOD)
    renamed = changed(cast, form, name="Evening").json()
    same = changed(cast, renamed, questions=renamed["questions"]).json()
    assert (renamed["version"], same["version"], same["name"]) == (1, 1, "Evening")


def test_a_key_never_changes_its_meaning(cast: Cast):
    form = made(cast, MOOD)
    without = changed(cast, form, questions=[HOURS]).json()
    answer = changed(cast, without, questions=[HOURS, {**MOOD, "maximum": 10}])
    assert answer.status_code == 400
    assert [(one["pointer"], one["code"]) for one in answer.json()["errors"]] == [
        ("#/questions/1/maximum", "key_reused")
    ]


def test_a_question_of_a_change_is_whole(cast: Cast):
    form = made(cast, MOOD)
    answer = changed(cast, form, questions=[{"key": "words", "kind": "text"}])
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "#/questions/0/text")


def test_a_retired_form_is_no_longer_among_those_offered(cast: Cast):
    form = made(cast, MOOD)
    assert changed(cast, form, retired=True).status_code == 200
    api = cast.api(cast.coach)
    assert api.get(f"{FORMS}?retired=false").json()["items"] == []
    assert len(api.get(f"{FORMS}?retired=true").json()["items"]) == 1


def test_two_forms_have_two_names(cast: Cast):
    made(cast, MOOD)
    other = made(cast, MOOD, name="Weekly")
    body = {"name": "Morning", "cadence": "daily", "questions": [MOOD]}
    assert cast.api(cast.coach).post(FORMS, body, format="json").status_code == 409
    assert changed(cast, other, name="Morning").status_code == 409


@pytest.mark.parametrize(
    ("questions", "pointer"),
    [
        ([], "#/questions"),
        ([{**MOOD, "key": "How?"}], "#/questions/0/key"),
        ([{**MOOD, "kind": "stars"}], "#/questions/0/kind"),
        ([{**MOOD, "minimum": None}], "#/questions/0/minimum"),
        ([{**MOOD, "minimum": 0.5}], "#/questions/0/minimum"),
        ([{**MOOD, "maximum": 102}], "#/questions/0/maximum"),
        ([{**MOOD, "maximum": 1}], "#/questions/0/maximum"),
        ([{**MOOD, "choices": ["a", "b"]}], "#/questions/0/choices"),
        ([{**WHERE, "choices": ["gym"]}], "#/questions/0/choices"),
        ([{**WHERE, "choices": ["gym", "gym"]}], "#/questions/0/choices"),
        ([{**WORDS, "direction": "higher_is_worse"}], "#/questions/0/direction"),
        ([{**WORDS, "minimum": 1}], "#/questions/0/minimum"),
        ([MOOD, HOURS, {**WORDS, "key": "mood"}], "#/questions/2/key"),
    ],
)
def test_questions_that_cannot_be_asked_are_refused(cast: Cast, questions: list, pointer: str):
    body = {"name": "Morning", "cadence": "daily", "questions": questions}
    answer = cast.api(cast.coach).post(FORMS, body, format="json")
    assert answer.status_code == 400
    assert [one["pointer"] for one in answer.json()["errors"]] == [pointer]


def test_clients_and_viewers_read_forms_and_change_none(cast: Cast):
    form = made(cast, MOOD)
    for member in (cast.client_member, cast.viewer):
        api = cast.api(member)
        assert api.get(f"{FORMS}/{form['id']}").status_code == 200
        assert api.post(FORMS, {"name": "x"}, format="json").status_code == 403


def test_the_neighbour_has_no_such_form(cast: Cast, neighbour: Cast):
    form = made(cast, MOOD)
    api = neighbour.api(neighbour.owner)
    assert api.get(FORMS).json()["items"] == []
    assert api.get(f"{FORMS}/{form['id']}").status_code == 404
