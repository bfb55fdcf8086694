"""The questions of a business's own forms: what each may say of itself, and which answers it takes."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isfinite
from re import compile as pattern
from typing import Any, Final, Literal

Kind = Literal["scale", "number", "choice", "text"]
Direction = Literal["higher_is_better", "higher_is_worse", "neither"]
Value = int | float | str

QUESTION_KINDS: Final[tuple[Kind, ...]] = ("scale", "number", "choice", "text")
"""The kinds of question. Practice."""
DIRECTIONS: Final[tuple[Direction, ...]] = ("higher_is_better", "higher_is_worse", "neither")
"""How an answer is read. Practice."""
MAX_SCALE_STEPS: Final = 100
"""A scale has so many steps at most. Practice."""
MIN_CHOICES: Final = 2
"""A choice is between two things at least. Practice."""
MAX_ANSWER_CHARACTERS: Final = 4000
"""The longest text answered. Practice."""
MAX_ABS_NUMBER: Final = 1_000_000_000
"""A number beyond this is a slip of the finger. Practice."""
NUMBER_PLACES: Final = 6
"""Decimals of a number. Practice."""

_PROSE: Final = pattern(r"[^\x00-\x08\x0b\x0c\x0e-\x1f\x7f]*")
_NOT_OF_KIND: Final[Mapping[Kind, tuple[str, ...]]] = {
    "scale": ("choices", "unit"),
    "number": ("choices", "low_label", "high_label"),
    "choice": ("minimum", "maximum", "low_label", "high_label", "unit"),
    "text": ("minimum", "maximum", "low_label", "high_label", "unit", "choices"),
}
_MEANING: Final = ("kind", "minimum", "maximum", "direction")


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One question of a form.

    Attributes:
        key: The word that answers are given under, the same over all versions.
        text: The question as it is asked.
        kind: `scale` (whole numbers between labelled ends), `number`, `choice` or `text`.
        direction: How an answer is read; only of scales and numbers.
        minimum: The least answer; always given for a scale.
        maximum: The greatest answer; always given for a scale.
        low_label: What the least means.
        high_label: What the greatest means.
        unit: The unit of a number, in words.
        choices: What can be chosen.
    """

    key: str
    text: str
    kind: Kind
    direction: Direction = "neither"
    minimum: int | float | None = None
    maximum: int | float | None = None
    low_label: str = ""
    high_label: str = ""
    unit: str = ""
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class QuestionFault:
    """One thing wrong with a question or an answer: the field, a stable word, and what to change."""

    field: str
    code: str
    sentence: str


def read_question(kept: Mapping[str, Any]) -> Question:
    """Read a question as it is kept.

    Args:
        kept: Its fields by name; choices as a list.

    Source: practice.
    """
    return Question(**{**kept, "choices": tuple(kept.get("choices") or ())})


def question_faults(question: Question) -> list[QuestionFault]:
    """Find what a question says of itself that does not go together.

    Args:
        question: A question whose fields are of the right types.

    Returns:
        The faults, none for a question that can be asked.

    Source: practice.
    """
    faults = [
        QuestionFault(name, "not_of_kind", f"A {question.kind} question has no {name}; leave it out.")
        for name in _NOT_OF_KIND[question.kind]
        if getattr(question, name) not in (None, "", ())
    ]
    if question.kind in ("choice", "text") and question.direction != "neither":
        sentence = "Only scales and numbers have a direction; leave it out."
        faults.append(QuestionFault("direction", "not_of_kind", sentence))
    if question.kind == "choice" and len(set(question.choices)) < max(MIN_CHOICES, len(question.choices)):
        faults.append(QuestionFault("choices", "choices", "Give two choices or more, each once."))
    return faults or _bound_faults(question)


def answer_faults(questions: Sequence[Question], answers: Mapping[str, Any]) -> list[QuestionFault]:
    """Find what is wrong with the answers to a form.

    Args:
        questions: The form's questions.
        answers: Answers by key; a question may be left out, and is then unknown.

    Returns:
        The faults, each with the key it is about.

    Source: practice.
    """
    asked = {question.key: question for question in questions}
    faults = []
    for key, value in answers.items():
        question = asked.get(key)
        if question is None:
            known = ", ".join(asked) or "none"
            faults.append(QuestionFault(key, "unknown_question", f"The form has no question {key!r}; it has {known}."))
        elif (sentence := _answer_sentence(question, value)) is not None:
            faults.append(QuestionFault(key, "invalid_answer", sentence))
    return faults


def changed_meaning(before: Question, after: Question) -> str | None:
    """Say whether a key means something else in a later version, so that its answers can't be compared.

    Args:
        before: The question of an earlier version.
        after: The question of the same key in a later one.

    Returns:
        The field that changed: kind, a bound or the direction; None where words alone did.

    Source: practice.
    """
    return next((name for name in _MEANING if getattr(before, name) != getattr(after, name)), None)


def _bound_faults(question: Question) -> list[QuestionFault]:
    low, high = question.minimum, question.maximum
    if question.kind == "scale":
        if low is None or high is None or low % 1 or high % 1:
            return [QuestionFault("minimum", "scale_bounds", "A scale has a minimum and a maximum, whole numbers.")]
        if high - low > MAX_SCALE_STEPS:
            return [QuestionFault("maximum", "scale_bounds", f"A scale has at most {MAX_SCALE_STEPS} steps.")]
    if low is not None and high is not None and high <= low:
        return [QuestionFault("maximum", "bounds", "The maximum is over the minimum.")]
    return []


def _answer_sentence(question: Question, value: Any) -> str | None:
    if question.kind == "choice":
        return None if value in question.choices else f"Choose one of: {', '.join(question.choices)}."
    if question.kind == "text":
        fits = isinstance(value, str) and len(value) <= MAX_ANSWER_CHARACTERS and _PROSE.fullmatch(value)
        return None if fits else f"This is text of at most {MAX_ANSWER_CHARACTERS} characters, in quotes."
    return _number_sentence(question, value)


def _number_sentence(question: Question, value: Any) -> str | None:
    is_scale = question.kind == "scale"
    if type(value) is not int and (is_scale or type(value) is not float):
        return f"This is a {'whole ' if is_scale else ''}number, without quotes."
    # The bound comes first: a whole number may be too long to be asked whether it is finite.
    if abs(value) >= MAX_ABS_NUMBER or not isfinite(value) or round(value, NUMBER_PLACES) != value:
        return f"This is a number under {MAX_ABS_NUMBER:,} with at most {NUMBER_PLACES} decimals."
    if (question.minimum is not None and value < question.minimum) or (
        question.maximum is not None and value > question.maximum
    ):
        return f"The answer lies {_between(question)}, not at {value}."
    return None


def _between(question: Question) -> str:
    if question.maximum is None:
        return f"at {question.minimum} or above"
    return (
        f"at {question.maximum} or below"
        if question.minimum is None
        else (f"between {question.minimum} and {question.maximum}")
    )
