"""Changes of what many sessions prescribe: which exercises they name, why one can't be made, what it lays over."""

from dataclasses import replace

from coaching.refusals import Fault
from programs.actions.bulk_change_results import MakeDeload, Swap, TakeBack
from programs.actions.session_ground import SessionGround
from programs.models import PlannedSession
from programs.prescription.exercise_closeness import counted_alike
from programs.prescription.progression_rules import Deload
from programs.prescription.session_changes import SessionChanges, swapped_changes
from programs.selectors.prescriptions import InvalidPrescription, check_exercises

_EXERCISE = "#/change/exercise"
_INSTEAD = "#/change/instead"


def named_swap(change: Swap, ground: SessionGround) -> Swap:
    """Return a swap by the exercises' keys.

    Raises:
        InvalidPrescription: an exercise that the business does not have, or one whose sets are counted otherwise.
    """
    check_exercises(((_EXERCISE, change.exercise), (_INSTEAD, change.instead)), ground.facts)
    exercise, instead = ground.facts[change.exercise], ground.facts[change.instead]
    if not counted_alike(exercise, instead):
        sentence = (
            f"Sets of {exercise.name} are counted in {exercise.measure}, of {instead.name} in {instead.measure}; "
            "choose one that is counted alike."
        )
        raise InvalidPrescription(f"{_INSTEAD}: {sentence}", faults=[Fault(_INSTEAD, "counted_otherwise", sentence)])
    return Swap(exercise.key, instead.key)


def content_refusal(
    row: PlannedSession, change: MakeDeload | Swap | TakeBack, ground: SessionGround
) -> tuple[str, str, str] | None:
    """Say why one session can't take a change: outcome, code and a sentence; None where it can."""
    followed = ground.followed(row)
    if followed is None:
        return "conflict", "not_prescribable", "Its version or the catalogue has lost something of it."
    match change:
        case MakeDeload() if followed.deload_week:
            return "unchanged", "deload_already", "Its week is a deload already."
        case Swap() if change.exercise not in {slot.exercise for slot in followed.changed.session.slots}:
            return "unchanged", "exercise_not_in_session", f"{change.exercise} is not in this session."
        case Swap() if change.exercise == change.instead:
            return "unchanged", "same_exercise", "It is the same exercise."
        case TakeBack() if row.changes is None:
            return "unchanged", "nothing_changed", "It is as its version prescribes it."
    return None


def with_change(before: SessionChanges, change: MakeDeload | Swap | TakeBack) -> SessionChanges:
    """Add a change to what a session has otherwise already."""
    match change:
        case MakeDeload():
            lighter = Deload(every_weeks=2, sets_pct=change.sets_pct, load_pct=change.load_pct)
            return replace(before, deload=lighter)
        case Swap():
            return swapped_changes(before, change.exercise, change.instead)
        case TakeBack():
            return SessionChanges()
