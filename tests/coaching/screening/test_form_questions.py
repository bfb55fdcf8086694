"""Answers that a question takes, and when a key means something else."""

from dataclasses import replace

import pytest

from coaching.screening.form_questions import Question, answer_faults, changed_meaning, question_faults

SCALE = Question(key="mood", text="Mood?", kind="scale", minimum=0, maximum=10, direction="higher_is_better")
NUMBER = Question(key="steps", text="Steps?", kind="number", minimum=0)
TEXT = Question(key="words", text="Words?", kind="text")


@pytest.mark.parametrize(
    ("question", "value", "taken"),
    [
        (SCALE, 0, True),
        (SCALE, 10, True),
        (SCALE, 11, False),
        (SCALE, 5.0, False),
        (NUMBER, 5.25, True),
        (NUMBER, -1, False),
        (NUMBER, float("nan"), False),
        (NUMBER, float("inf"), False),
        (NUMBER, 10**400, False),
        (SCALE, -(10**400), False),
        (NUMBER, True, False),
        (NUMBER, 0.12345678, False),
        (TEXT, "", True),
        (TEXT, "two\nlines", True),
        (TEXT, "bell\x07", False),
        (TEXT, "x" * 4001, False),
        (TEXT, None, False),
    ],
)
def test_an_answer_is_of_its_questions_kind_and_within_its_bounds(question, value, taken):
    assert (answer_faults([question], {question.key: value}) == []) is taken


def test_a_question_left_out_is_no_fault():
    assert answer_faults([SCALE, TEXT], {}) == []


def test_new_words_are_no_new_meaning_but_other_bounds_are():
    assert changed_meaning(SCALE, replace(SCALE, text="How are you?", low_label="bad")) is None
    assert changed_meaning(SCALE, replace(SCALE, maximum=7)) == "maximum"
    assert changed_meaning(SCALE, replace(SCALE, direction="higher_is_worse")) == "direction"


def test_a_number_needs_no_bounds():
    assert question_faults(replace(NUMBER, minimum=None)) == []
