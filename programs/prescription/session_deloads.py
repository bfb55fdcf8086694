"""A deload of one session, as its program's deload week would make it."""

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Final

from programs.prescription.progression_rounds import apply_in_rounds, in_rounds
from programs.prescription.progression_rules import Deload
from programs.prescription.progression_steps import StepError, SteppedWeek, apply_rule
from programs.prescription.structure import Block, ExerciseFacts, Session, Slot

_THIS_WEEK: Final = SteppedWeek(week_number=2, deload_weeks=(2,))
"""A deload of one session is reckoned as that of a program's deload week. Practice."""


def deloaded_session(session: Session, rule: Deload, exercises: Mapping[str, ExerciseFacts]) -> Session:
    """Make a session lighter.

    Args:
        session: the session.
        rule: by how much.
        exercises: facts by key.
    """

    def lighter(block: Block, slot: Slot) -> Slot:
        apply = apply_in_rounds if in_rounds(block) else apply_rule
        try:
            return apply(rule, slot, _THIS_WEEK, exercises.get(slot.exercise))
        except StepError:
            # A percentage that would leave its range keeps the load; the sets are fewer all the same.
            return apply(replace(rule, load_pct=Decimal(0)), slot, _THIS_WEEK, exercises.get(slot.exercise))

    blocks = tuple(
        replace(block, slots=tuple(lighter(block, slot) for slot in block.slots)) for block in session.blocks
    )
    return replace(session, blocks=blocks)
