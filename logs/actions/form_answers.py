"""From the answers of a check-in as sent to the version of the form that they answer."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from coaching.screening.form_questions import QuestionFault, answer_faults
from coaching.selectors.check_in_forms import AskedForm
from logs.actions.log_fields import CheckInFields, Item


@dataclass(frozen=True, slots=True)
class AnsweredForm:
    """Which version of which form a check-in answers; nothing where it answers none."""

    form_id: str | None = None
    version: int | None = None


def answered_forms(items: Iterable[Item]) -> set[str]:
    """Collect the forms that check-ins name."""
    return {item.fields["form"] for item in items if item.fields["form"] is not None}


def answered_form(item: Item, forms: Mapping[str, AskedForm]) -> AnsweredForm:
    """Find the version that a check-in answers, and refuse answers that don't fit it.

    Without a number that is the newest version that the answers fit: an app that was offline answers what it had.

    Args:
        item: the check-in.
        forms: the forms, by the text that named them.
    """
    fields: CheckInFields = item.fields
    if fields["form"] is None:
        return AnsweredForm()
    form = forms.get(fields["form"])
    if form is None:
        item.refuse("form", "unknown_object", "There is no check-in form with this id in this business.")
        return AnsweredForm()
    number = fields["form_version"]
    if number is None:
        number, faults = _newest_that_fits(form, fields["answers"])
    else:
        questions = form.questions(number)
        if questions is None:
            item.refuse("form_version", "unknown_object", f"The form has no version {number}; leave it out.")
            return AnsweredForm()
        faults = answer_faults(questions, fields["answers"])
    for fault in faults:
        item.refuse(f"answers/{_escaped(fault.field)}", fault.code, fault.sentence)
    return AnsweredForm(form.id, number)


def _newest_that_fits(form: AskedForm, answers: Mapping[str, Any]) -> tuple[int, list[QuestionFault]]:
    tried = [(number, answer_faults(questions, answers)) for number, questions in form.versions]
    return next((one for one in tried if not one[1]), tried[0])


def _escaped(key: str) -> str:
    return key.replace("~", "~0").replace("/", "~1")
