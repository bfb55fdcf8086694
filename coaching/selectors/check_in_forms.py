"""A business's check-in forms and their versions."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from coaching.models.check_in_forms import CheckInForm, CheckInFormVersion
from coaching.refusals import NotFound
from coaching.screening.form_questions import Question, read_question


@dataclass(frozen=True, slots=True)
class AskedForm:
    """A form with the questions of each of its versions, newest first."""

    id: str
    name: str
    cadence: str
    versions: tuple[tuple[int, tuple[Question, ...]], ...]

    def questions(self, number: int) -> tuple[Question, ...] | None:
        """Return the questions of a version; None where the form never had it."""
        return dict(self.versions).get(number)


def list_check_in_forms(*, retired: bool | None = None) -> QuerySet[CheckInForm]:
    """Return the business's forms.

    Args:
        retired: only those that are no longer offered, or only those that are.
    """
    rows = CheckInForm.objects.all()
    return rows if retired is None else rows.filter(retired=retired)


def get_check_in_form(*, form_id: UUID) -> CheckInForm:
    """Return a form.

    Raises:
        NotFound: the business has none of this id.
    """
    found = CheckInForm.objects.filter(id=form_id).first()
    if found is None:
        raise NotFound("There is no such check-in form in this business.")
    return found


def list_form_versions(*, form_id: UUID) -> list[CheckInFormVersion]:
    """Return a form's versions, newest first."""
    return list(CheckInFormVersion.objects.filter(form_id=form_id).order_by("-number"))


def find_asked_forms(*, texts: Iterable[str]) -> dict[str, AskedForm]:
    """Return forms by the text of the id that named them; what names none is left out."""
    ids: dict[str, UUID] = {}
    for text in set(texts):
        try:
            ids[text] = UUID(text)
        except ValueError:
            continue
    if not ids:
        return {}
    rows: Any = (
        CheckInFormVersion.objects.filter(form_id__in=set(ids.values()))
        .order_by("form_id", "-number")
        .values_list("form_id", "form__name", "form__cadence", "number", "questions")
    )
    found: dict[UUID, AskedForm] = {}
    for form_id, name, cadence, number, questions in rows:
        earlier = found[form_id].versions if form_id in found else ()
        asked = (number, tuple(read_question(question) for question in questions))
        found[form_id] = AskedForm(str(form_id), name, cadence, (*earlier, asked))
    return {text: found[form_id] for text, form_id in ids.items() if form_id in found}
