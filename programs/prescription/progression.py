"""Progression: rules expanded to explicit weeks before publishing, and a preview that says what each week changes.

Week 1 stands as it is written, and the rules make every later week from it: expanding twice changes nothing. Rules
are applied in the order listed, a deload last. A version without rules keeps its written weeks, and week 1 is copied
for those that are missing.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from programs.prescription.constants import WEEKS_MAX
from programs.prescription.document_faults import DocumentFault
from programs.prescription.findings import Finding
from programs.prescription.load_rise_findings import load_rise_findings
from programs.prescription.progression_rounds import apply_in_rounds, in_rounds, lighter_block
from programs.prescription.progression_rules import Deload, ProgressionRule, SetStep, Targets
from programs.prescription.progression_steps import StepError, SteppedWeek, apply_rule, has_effect
from programs.prescription.structure import Block, ExerciseFacts, Session, Slot, VersionContent, Week
from programs.prescription.week_changes import WeekChanges, week_changes


class ProgressionError(ValueError):
    """Rules that cannot be followed; ``faults`` holds each with its place."""

    code = "progression"

    def __init__(self, faults: Sequence[DocumentFault]) -> None:
        """Keep the faults, and say the first in the error's own text."""
        self.faults = tuple(faults)
        super().__init__(f"{self.faults[0].pointer}: {self.faults[0].message}")


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgressionPreview:
    """Explicit weeks before they are published, with what each changes and the jumps in load that are planned."""

    content: VersionContent
    weeks: tuple[WeekChanges, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Placed:
    """A slot of week 1 with its session, and whether rounds repeat it."""

    template_key: str
    slot: Slot
    in_rounds: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class _Expansion:
    """What one week is made with: the rules with their places in the document, deloads last."""

    rules: Sequence[tuple[int, ProgressionRule]]
    week: SteppedWeek
    exercises: Mapping[str, ExerciseFacts]

    def session(self, session: Session) -> Session:
        return replace(session, blocks=tuple(self.block(session.template_key, block) for block in session.blocks))

    def block(self, template_key: str, block: Block) -> Block:
        repeated = in_rounds(block)
        slots = tuple(self.slot(template_key, slot, repeated=repeated) for slot in block.slots)
        made = replace(block, slots=slots)
        for _, rule in self.rules:
            if (
                isinstance(rule, Deload)
                and rule.rounds_pct is not None
                and self.week.week_number in self.week.deload_weeks
            ):
                made = lighter_block(made, rule.rounds_pct)
        return made

    def slot(self, template_key: str, slot: Slot, *, repeated: bool) -> Slot:
        stepped, apply = slot, apply_in_rounds if repeated else apply_rule
        for index, rule in self.rules:
            if not isinstance(rule, Deload) and not rule.targets.hold(template_key, slot.slot_key):
                continue
            try:
                stepped = apply(rule, stepped, self.week, self.exercises.get(slot.exercise))
            except StepError as error:
                where = f"Week {self.week.week_number}, {template_key}, {slot.slot_key}: {error}"
                fault = DocumentFault(pointer=f"#/progression/{index}", code="no_step", message=where)
                raise ProgressionError([fault]) from error
        return stepped


def expand(content: VersionContent, weeks: int, exercises: Mapping[str, ExerciseFacts] | None = None) -> VersionContent:
    """Expand a version's rules to explicit weeks.

    Args:
        content: week 1, and the rules; later weeks are written anew where there are rules.
        weeks: how many weeks there are to be, 1 to 52.
        exercises: facts by exercise key, whose loading says how reckoned loads are rounded down; an exercise that
            is missing is rounded to plates.

    Returns:
        The content with the weeks written out, and its rules kept beside them.

    Raises:
        ProgressionError: when there is no week 1, a rule names what is not there or has nothing to change, or a
            step leaves what can be performed.
    """
    faults = [*_count_faults(content, weeks), *_rule_faults(content)]
    if faults:
        raise ProgressionError(faults)
    if not content.progression:
        later = tuple(
            replace(content.weeks[0], week_number=number) for number in range(len(content.weeks) + 1, weeks + 1)
        )
        return replace(content, weeks=(*content.weeks[:weeks], *later))
    deload_weeks = frozenset(
        week for rule in content.progression if isinstance(rule, Deload) for week in rule.weeks(weeks)
    )
    later = tuple(
        _expanded(content, SteppedWeek(week_number=number, deload_weeks=deload_weeks), exercises or {})
        for number in range(2, weeks + 1)
    )
    return replace(content, weeks=(content.weeks[0], *later))


def preview(
    content: VersionContent, weeks: int, exercises: Mapping[str, ExerciseFacts] | None = None
) -> ProgressionPreview:
    """Expand a version's rules, and say in words what every week changes.

    Args and raises as `expand`.
    """
    known = exercises or {}
    expanded = expand(content, weeks, known)
    names = {key: facts.name for key, facts in known.items()}
    return ProgressionPreview(
        content=expanded,
        weeks=week_changes(expanded.weeks, names),
        findings=tuple(load_rise_findings(expanded)),
    )


def _count_faults(content: VersionContent, weeks: int) -> list[DocumentFault]:
    if not 1 <= weeks <= WEEKS_MAX:
        message = f"Ask for 1 to {WEEKS_MAX} weeks, not {weeks}."
        return [DocumentFault(pointer="#/weeks", code="out_of_range", message=message)]
    if not content.weeks or not content.weeks[0].days:
        message = "Write week 1 with at least one day: the other weeks are made from it."
        return [DocumentFault(pointer="#/weeks", code="no_first_week", message=message)]
    return []


def _rule_faults(content: VersionContent) -> list[DocumentFault]:
    if not content.weeks:
        return []
    placed = [
        _Placed(template_key=day.session.template_key, slot=slot, in_rounds=in_rounds(block))
        for day in content.weeks[0].days
        for block in day.session.blocks
        for slot in block.slots
    ]
    return [
        fault
        for index, rule in enumerate(content.progression)
        if not isinstance(rule, Deload)
        for fault in _target_faults(rule, rule.targets, placed, f"#/progression/{index}")
    ]


def _target_faults(
    rule: ProgressionRule, targets: Targets, placed: Sequence[_Placed], place: str
) -> list[DocumentFault]:
    known = {
        "slot_keys": {found.slot.slot_key for found in placed},
        "template_keys": {found.template_key for found in placed},
    }
    named = {"slot_keys": targets.slot_keys, "template_keys": targets.template_keys}
    faults = [
        DocumentFault(
            pointer=f"{place}/{field}/{index}",
            code="unknown_target",
            message=f"Week 1 has no {key}; it has {', '.join(sorted(known[field]))}.",
        )
        for field, keys in named.items()
        for index, key in enumerate(keys)
        if key not in known[field]
    ]
    meant = [found for found in placed if targets.hold(found.template_key, found.slot.slot_key)]
    changed = any(has_effect(rule, found.slot) for found in meant if not (found.in_rounds and _counts_sets(rule)))
    if not faults and not changed:
        faults.append(
            DocumentFault(
                pointer=place,
                code="rule_without_effect",
                message=(
                    "Week 1 has nothing that this rule can change: write there the load in the rule's unit, the "
                    "percentage, repetitions, sets, rest or tempo that it steps, or take the rule out."
                ),
            )
        )
    return faults


def _counts_sets(rule: ProgressionRule) -> bool:
    return isinstance(rule, SetStep)


def _expanded(content: VersionContent, week: SteppedWeek, exercises: Mapping[str, ExerciseFacts]) -> Week:
    expansion = _Expansion(rules=_in_order(content.progression), week=week, exercises=exercises)
    return Week(
        week_number=week.week_number,
        deload=week.week_number in week.deload_weeks,
        days=tuple(replace(day, session=expansion.session(day.session)) for day in content.weeks[0].days),
    )


def _in_order(rules: Sequence[ProgressionRule]) -> list[tuple[int, ProgressionRule]]:
    placed = list(enumerate(rules))
    return sorted(placed, key=lambda item: isinstance(item[1], Deload))
