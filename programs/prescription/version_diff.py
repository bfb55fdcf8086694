"""What changes between two versions, or two weeks, in words: `Back squat: 4x6 at 41X1 → 5x5 at 31X1, weeks 3-4`.

Weeks are matched by number, sessions by template_key (the first of a week's with that key), slots by slot_key. The
same change in several weeks is said once.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from programs.prescription.prescription_words import group_words, sets_words
from programs.prescription.structure import Block, Day, Session, Slot, VersionContent, Week

ChangeKind = Literal["changed", "added", "taken_out", "swapped"]
Names = Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One change, with the weeks in which it holds; ``str`` gives it in words.

    ``subject`` is what changes; ``before`` and ``after`` are empty for what is added or taken out. ``template_key``
    and ``slot_key`` name the place, None where a whole week or session is meant.
    """

    kind: ChangeKind
    subject: str
    before: str = ""
    after: str = ""
    template_key: str | None = None
    slot_key: str | None = None
    weeks: tuple[int, ...] = ()

    def __str__(self) -> str:
        """Give the change in words, such as ``Back squat: 4x6 → 5x5, weeks 3-4``."""
        return f"{self.words}, {weeks_words(self.weeks)}" if self.weeks else self.words

    @property
    def words(self) -> str:
        """The change without its weeks."""
        match self.kind:
            case "added":
                return f"{self.subject} added" + (f": {self.after}" if self.after else "")
            case "taken_out":
                return f"{self.subject} taken out" + (f": {self.before}" if self.before else "")
            case _:
                return f"{self.subject}: {self.before} → {self.after}"


def diff_versions(old: VersionContent, new: VersionContent, names: Names | None = None) -> tuple[Change, ...]:
    """Say what changes from one version to the next.

    Args:
        old: the earlier content.
        new: the later one.
        names: exercise names by key; a key without one is shown with spaces.
    """
    before = {week.week_number: week for week in old.weeks}
    after = {week.week_number: week for week in new.weeks}
    changes: list[Change] = []
    for number in sorted(before.keys() & after.keys()):
        changes += [replace(change, weeks=(number,)) for change in diff_weeks(before[number], after[number], names)]
    gone, come = sorted(before.keys() - after.keys()), sorted(after.keys() - before.keys())
    if gone:
        changes.append(Change(kind="taken_out", subject=weeks_words(gone)))
    if come:
        changes.append(Change(kind="added", subject=weeks_words(come)))
    if old.progression != new.progression:
        changes.append(
            Change(
                kind="changed",
                subject="Progression",
                before=_rules_words(len(old.progression)),
                after=_rules_words(len(new.progression), changed=len(old.progression) == len(new.progression)),
            )
        )
    return _grouped(changes)


def diff_weeks(old: Week, new: Week, names: Names | None = None) -> tuple[Change, ...]:
    """Say what changes from one week to another; the changes name no weeks."""
    changes: list[Change] = []
    if old.deload != new.deload:
        words = {True: "deload", False: "working week"}
        changes.append(Change(kind="changed", subject="Week", before=words[old.deload], after=words[new.deload]))
    before, after = _by_template(old), _by_template(new)
    for key in [*before, *(key for key in after if key not in before)]:
        changes += _diff_days(before.get(key), after.get(key), names or {})
    return tuple(changes)


def weeks_words(weeks: Sequence[int]) -> str:
    """Say week numbers, runs drawn together: ``weeks 1, 3-4``, with an en dash."""
    runs: list[list[int]] = []
    for week in weeks:
        if runs and week == runs[-1][1] + 1:
            runs[-1][1] = week
        else:
            runs.append([week, week])
    said = ", ".join(str(first) if first == last else f"{first}\u2013{last}" for first, last in runs)
    return f"week{'s' if len(weeks) > 1 else ''} {said}"


def _by_template(week: Week) -> dict[str, Day]:
    days: dict[str, Day] = {}
    for day in week.days:
        days.setdefault(day.session.template_key, day)
    return days


def _diff_days(old: Day | None, new: Day | None, names: Names) -> Iterator[Change]:
    if old is None and new is not None:
        yield Change(kind="added", subject=f"Session {_title(new.session)}", template_key=new.session.template_key)
    elif old is not None and new is None:
        yield Change(kind="taken_out", subject=f"Session {_title(old.session)}", template_key=old.session.template_key)
    elif old is not None and new is not None:
        yield from _diff_placed(old, new)
        yield from _diff_sessions(old.session, new.session, names)


def _diff_placed(old: Day, new: Day) -> Iterator[Change]:
    key = new.session.template_key
    subject = f"Session {_title(new.session)}"
    pairs = (
        (f"day {old.day_number}", f"day {new.day_number}"),
        (f"cap {_minutes(old.session.cap_min)}", f"cap {_minutes(new.session.cap_min)}"),
        (f"called {old.session.title}", f"called {new.session.title}"),
    )
    for before, after in pairs:
        if before != after:
            yield Change(kind="changed", subject=subject, before=before, after=after, template_key=key)


def _diff_sessions(old: Session, new: Session, names: Names) -> Iterator[Change]:
    before = {slot.slot_key: (block, slot) for block in old.blocks for slot in block.slots}
    after = {slot.slot_key: (block, slot) for block in new.blocks for slot in block.slots}
    for key in [*before, *(key for key in after if key not in before)]:
        if key not in after:
            slot = before[key][1]
            found = [Change(kind="taken_out", subject=_name(slot, names), before=sets_words(slot), slot_key=key)]
        elif key not in before:
            slot = after[key][1]
            found = [Change(kind="added", subject=_name(slot, names), after=sets_words(slot), slot_key=key)]
        else:
            found = list(_diff_slots(before[key][1], after[key][1], names))
        yield from (replace(change, template_key=new.template_key) for change in found)
    yield from _diff_blocks(old, new)


def _diff_slots(old: Slot, new: Slot, names: Names) -> Iterator[Change]:
    key = new.slot_key
    if old.exercise != new.exercise:
        yield Change(kind="swapped", subject=key, before=_name(old, names), after=_name(new, names), slot_key=key)
    pairs = (
        _sets_pair(old, new),
        (_rest(old), _rest(new)),
        (f"for {old.goal or 'no goal'}", f"for {new.goal or 'no goal'}"),
        (f"note “{old.notes}”", f"note “{new.notes}”"),
    )
    for before, after in pairs:
        if before != after:
            yield Change(kind="changed", subject=_name(new, names), before=before, after=after, slot_key=key)


def _sets_pair(old: Slot, new: Slot) -> tuple[str, str]:
    """Say only the set groups that differ, where both slots list as many."""
    if len(old.sets) != len(new.sets) or old.per_side != new.per_side:
        return sets_words(old), sets_words(new)
    changed = [
        (group_words(before, per_side=old.per_side), group_words(after, per_side=new.per_side))
        for before, after in zip(old.sets, new.sets, strict=True)
        if before != after
    ]
    return "; ".join(before for before, _ in changed), "; ".join(after for _, after in changed)


def _diff_blocks(old: Session, new: Session) -> Iterator[Change]:
    before, after = _forms(old), _forms(new)
    for first, form in after.items():
        if first in before and before[first] != form:
            yield Change(
                kind="changed",
                subject=f"Block of {first}",
                before=before[first],
                after=form,
                template_key=new.template_key,
                slot_key=first,
            )


def _forms(session: Session) -> dict[str, str]:
    return {block.slots[0].slot_key: _form(block) for block in session.blocks if block.slots}


def _form(block: Block) -> str:
    timing = (
        (block.rounds, "rounds"),
        (block.work_s, "s on"),
        (block.off_s, "s off"),
        (block.minutes, "min"),
        (block.every_s, "s from start to start"),
        (block.rest_between_rounds_s, "s rest between rounds"),
        (block.cap_min, "min cap"),
    )
    said = [f"{value} {unit}" for value, unit in timing if value is not None]
    entry = [] if block.entry is None else [f"entry {block.entry.exercise}"]
    keys = "+".join(slot.slot_key for slot in block.slots)
    return ", ".join([f"{block.kind.replace('_', ' ')} {keys}", *said, *entry])


def _grouped(changes: Sequence[Change]) -> tuple[Change, ...]:
    weeks: dict[Change, list[int]] = {}
    for change in changes:
        weeks.setdefault(replace(change, weeks=()), []).extend(change.weeks)
    return tuple(replace(change, weeks=tuple(held)) for change, held in weeks.items())


def _name(slot: Slot, names: Names) -> str:
    return names.get(slot.exercise) or slot.exercise.replace("-", " ")


def _title(session: Session) -> str:
    return session.title or session.template_key


def _rest(slot: Slot) -> str:
    return "rest unsaid" if slot.rest_s is None else f"rest {slot.rest_s} s"


def _minutes(minutes: int | None) -> str:
    return "none" if minutes is None else f"{minutes} min"


def _rules_words(count: int, *, changed: bool = False) -> str:
    said = f"{count} rule{'' if count == 1 else 's'}"
    return f"other {said}" if changed else said
