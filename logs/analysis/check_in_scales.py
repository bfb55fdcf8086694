"""Scales, numbers and words of check-ins against the person's own earlier answers."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any, Final, Literal

from coaching.measures.baselines import Cadence, DatedValue, Score, cadence_of, daily_means, score, shown
from coaching.measures.constants import SCALE_SD_FLOOR
from coaching.measures.local_calendar import DateSpan
from coaching.screening.form_questions import Direction, Question

Item = Literal["sleep", "fatigue", "stress", "soreness"]
CadenceFrom = Literal["form", "gaps"]

ITEMS: Final[tuple[Item, ...]] = ("sleep", "fatigue", "stress", "soreness")
"""The four scales. Source: Hooper and Mackinnon 1995."""
CADENCES_FROM: Final[tuple[CadenceFrom, ...]] = ("form", "gaps")
"""Where it is known from whether somebody answers daily or weekly. Practice."""

Questions = Mapping[tuple[str, int], Sequence[Question]]


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckInEntry:
    """A check-in, as far as a summary reads it. The four scales run 1 to 7 and higher is worse."""

    local_date: date
    sleep: int | None = None
    fatigue: int | None = None
    stress: int | None = None
    soreness: int | None = None
    resting_hr_bpm: int | None = None
    hrv_rmssd_ms: Decimal | None = None
    bodyweight_kg: Decimal | None = None
    form_id: str = ""
    form_version: int = 0
    form_cadence: Cadence | None = None
    answers: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleSummary:
    """A scale or number against the person's own earlier answers.

    Attributes:
        name: The item or the question's key.
        text: The question as asked; empty for the four scales and their sum.
        form_id: The form it is of; empty for the four scales.
        direction: How it is read.
        cadence: Daily or weekly, which decides the baseline.
        cadence_from: Whether the form says so or the gaps between answers.
        score: The latest answer within the days asked for, against its baseline.
        worse_by_sd: The score turned so that positive is worse; None where neither way is.
        days: Each day's answer.
    """

    name: str
    text: str = ""
    form_id: str = ""
    direction: Direction
    cadence: Cadence
    cadence_from: CadenceFrom
    score: Score
    worse_by_sd: float | None
    days: tuple[DatedValue, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """An answer in words or by choice: the person's own, not computed with."""

    local_date: date
    form_id: str
    form_version: int
    key: str
    text: str
    kind: str
    answer: str


@dataclass(frozen=True, slots=True)
class Window:
    """The days shown, and the absences that no baseline is made of."""

    first: date
    today: date
    away: Sequence[DateSpan]

    def is_away(self, day: date) -> bool:
        """Say whether a day lies in an absence."""
        return any(day in span for span in self.away)


def wellness_sum(entry: CheckInEntry) -> int | None:
    """Add the four scales up.

    Args:
        entry: A check-in.

    Returns:
        4 to 28, higher is worse; None unless all four were answered.

    Source: Hooper and Mackinnon 1995.
    """
    given = [value for item in ITEMS if (value := getattr(entry, item)) is not None]
    return sum(given) if len(given) == len(ITEMS) else None


def values_by_day(entries: Iterable[CheckInEntry], read: Callable[[CheckInEntry], Any]) -> list[DatedValue]:
    """Read one value of each day.

    Args:
        entries: Check-ins in any order.
        read: Gives an entry's value; None where it has none.

    Returns:
        One value a local date, oldest first; several of a day are averaged.

    Source: practice.
    """
    found = ((entry.local_date, read(entry)) for entry in entries)
    return daily_means(DatedValue(day, float(value)) for day, value in found if value is not None)


def scale_summary(
    name: str,
    entries: Sequence[CheckInEntry],
    read: Callable[[CheckInEntry], Any],
    window: Window,
    question: Question | None = None,
) -> ScaleSummary:
    """Compare the latest answer to a scale or number with the person's earlier ones.

    Args:
        name: The item or the question's key.
        entries: Check-ins in any order.
        read: Gives an entry's answer; None where there is none.
        window: The days shown, and absences.
        question: The question; None for the four scales and their sum, of which higher is worse.

    Returns:
        The latest answer within the days shown against its baseline. A form says whether it is answered daily or
        weekly; without one the gaps do. A number has no floor under its SD, since its unit may be anything.

    Raises:
        BaselineError: Impossible values.

    Source: practice.
    """
    answered = [entry for entry in entries if read(entry) is not None]
    values = values_by_day(answered, read)
    by_form = max(answered, key=lambda entry: entry.local_date).form_cadence if answered else None
    cadence = by_form or cadence_of(entry.local_date for entry in values)
    inside = [entry for entry in values if entry.local_date >= window.first]
    usual = [entry for entry in values if not window.is_away(entry.local_date)]
    direction: Direction = "higher_is_worse" if question is None else question.direction
    is_number = question is not None and question.kind == "number"
    found = score(inside[-1] if inside else None, usual, cadence, sd_floor=0.0 if is_number else SCALE_SD_FLOOR)
    return ScaleSummary(
        name=name,
        text="" if question is None else question.text,
        form_id="" if question is None else answered[-1].form_id,
        direction=direction,
        cadence=cadence,
        cadence_from="form" if by_form else "gaps",
        score=found,
        worse_by_sd=_turned(found.z, direction),
        days=tuple(DatedValue(entry.local_date, shown(entry.value)) for entry in inside),
    )


def _turned(z: float | None, direction: Direction) -> float | None:
    if z is None or direction == "neither":
        return None
    return z if direction == "higher_is_worse" else -z


def question_summaries(entries: Sequence[CheckInEntry], questions: Questions, window: Window) -> Iterable[ScaleSummary]:
    """Compare the answers to the business's own scales and numbers with earlier ones.

    Args:
        entries: Check-ins in any order.
        questions: The questions of each form and version that was answered.
        window: The days shown, and absences.

    Returns:
        One summary a question that was answered, in the words of the newest version that asked it.

    Raises:
        BaselineError: Impossible values.

    Source: practice.
    """
    by_form: defaultdict[str, list[CheckInEntry]] = defaultdict(list)
    for entry in entries:
        if entry.form_id:
            by_form[entry.form_id].append(entry)
    for form_id, answered in sorted(by_form.items()):
        for question in _latest_wording(form_id, answered, questions).values():
            if question.kind in ("scale", "number"):
                own = [entry for entry in answered if question.key in entry.answers]
                yield scale_summary(question.key, own, _answer(question.key), window, question)


def _answer(key: str) -> Callable[[CheckInEntry], Any]:
    return lambda entry: entry.answers.get(key)


def _latest_wording(form_id: str, entries: Sequence[CheckInEntry], questions: Questions) -> dict[str, Question]:
    """Return the questions that were answered, in the words of the newest version that asked them."""
    keys = {key for entry in entries for key in entry.answers}
    versions = sorted({entry.form_version for entry in entries})
    asked = (question for version in versions for question in questions.get((form_id, version), ()))
    return {question.key: question for question in asked if question.key in keys}


def words(entries: Sequence[CheckInEntry], questions: Questions) -> Iterable[Words]:
    """Collect the answers in words and by choice, newest first.

    Args:
        entries: Check-ins in any order.
        questions: The questions of each form and version that was answered.

    Source: practice.
    """
    for entry in sorted(entries, key=lambda one: one.local_date, reverse=True):
        for question in questions.get((entry.form_id, entry.form_version), ()):
            if question.kind in ("choice", "text") and question.key in entry.answers:
                yield Words(
                    local_date=entry.local_date,
                    form_id=entry.form_id,
                    form_version=entry.form_version,
                    key=question.key,
                    text=question.text,
                    kind=question.kind,
                    answer=str(entry.answers[question.key]),
                )
