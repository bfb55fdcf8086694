"""How each week of a version differs from the last working week before it, in words."""

from collections.abc import Iterable
from dataclasses import dataclass

from programs.prescription.structure import Week
from programs.prescription.version_diff import Change, Names, diff_weeks


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekChanges:
    """What a week changes from the working week before it; ``compared_with`` is None for the first week."""

    week_number: int
    deload: bool
    compared_with: int | None
    changes: tuple[Change, ...]


def week_changes(weeks: Iterable[Week], names: Names | None = None) -> tuple[WeekChanges, ...]:
    """Say what each week changes.

    A week is held against the week before it, but never against a deload week: what comes after one goes on from where
    the working weeks stopped.

    Args:
        weeks: a version's, in order.
        names: exercise names by key; a key without one is shown with spaces.
    """
    found: list[WeekChanges] = []
    before: Week | None = None
    for week in weeks:
        found.append(
            WeekChanges(
                week_number=week.week_number,
                deload=week.deload,
                compared_with=None if before is None else before.week_number,
                changes=() if before is None else diff_weeks(before, week, names),
            )
        )
        before = before if week.deload and before is not None else week
    return tuple(found)
