"""Make and change a business's check-in forms; what was asked before stays as it was."""

from collections.abc import Sequence
from typing import Any, Final
from uuid import UUID

from coaching.actions.row_versions import Versions, bump
from coaching.models.check_in_forms import CheckInForm, CheckInFormVersion
from coaching.refusals import Conflict, Fault, Invalid
from coaching.screening.form_questions import changed_meaning, read_question
from coaching.selectors.check_in_forms import get_check_in_form, list_form_versions

_FIRST: Final = 1

Kept = dict[str, Any]


class CheckInFormNameTaken(Conflict):
    """A business's forms have names of their own."""

    code = "check_in_form_name_taken"


def create_check_in_form(*, name: str, cadence: str, questions: Sequence[Kept]) -> CheckInForm:
    """Make a form with its first version.

    Args:
        name: what the business calls it.
        cadence: `daily` or `weekly`.
        questions: the questions as they are kept.

    Raises:
        CheckInFormNameTaken: there is a form of that name.
    """
    form, created = CheckInForm.objects.get_or_create(
        name=name, defaults={"cadence": cadence, "questions": list(questions)}
    )
    if not created:
        raise CheckInFormNameTaken(f"There is a form called {name!r} already; change that one, or name this otherwise.")
    CheckInFormVersion.objects.create(form=form, number=_FIRST, questions=form.questions)
    return form


def update_check_in_form(*, form_id: UUID, versions: Versions, **changes: Any) -> CheckInForm:
    """Change a form; other questions than before make a new version, and answers keep the one they were given to.

    Args:
        form_id: which form.
        versions: what `If-Match` admits.
        changes: `name`, `cadence`, `retired` and `questions`.

    Raises:
        NotFound, PreconditionFailed: as `bump` says.
        CheckInFormNameTaken: there is another form of that name.
        Invalid: a question's key meant something else before.
    """
    get_check_in_form(form_id=form_id)
    name = changes.get("name")
    if name is not None and CheckInForm.objects.filter(name=name).exclude(id=form_id).exists():
        raise CheckInFormNameTaken(f"There is another form called {name!r}; choose another name.")
    # The row is locked by this before its versions are read, so that two changes at once can't take one number.
    bump(CheckInForm.objects.all(), form_id, versions, **changes)
    if "questions" in changes:
        _keep_version(form_id, changes["questions"])
    return get_check_in_form(form_id=form_id)


def _keep_version(form_id: UUID, questions: Sequence[Kept]) -> None:
    earlier = list_form_versions(form_id=form_id)
    if earlier[0].questions == list(questions):
        return
    _refuse_changed_meanings(questions, [question for version in earlier for question in version.questions])
    number = earlier[0].number + 1
    CheckInFormVersion.objects.create(form_id=form_id, number=number, questions=list(questions))
    CheckInForm.objects.filter(id=form_id).update(version=number)


def _refuse_changed_meanings(questions: Sequence[Kept], earlier: Sequence[Kept]) -> None:
    before = {question["key"]: read_question(question) for question in reversed(earlier)}
    faults = [
        Fault(
            f"#/questions/{index}/{field}",
            "key_reused",
            f"The question {question['key']!r} had another {field}; ask the new one under a new key.",
        )
        for index, question in enumerate(questions)
        if question["key"] in before
        and (field := changed_meaning(before[question["key"]], read_question(question))) is not None
    ]
    if faults:
        raise Invalid(faults[0].detail, faults=faults)
