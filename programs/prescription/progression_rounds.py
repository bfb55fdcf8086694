"""Steps and deloads of blocks that repeat their slots by rounds, or until a clock stops them."""

from collections.abc import Iterator
from dataclasses import replace
from decimal import ROUND_CEILING, Decimal

from programs.prescription.constants import PERCENT, S_PER_MIN
from programs.prescription.progression_rules import ProgressionRule
from programs.prescription.progression_steps import SteppedWeek, apply_rule
from programs.prescription.structure import Block, ExerciseFacts, SetGroup, Slot
from programs.prescription.vocabulary import RESTED_BLOCK_KINDS


def in_rounds(block: Block) -> bool:
    """Say whether rounds or a clock decide how often a slot is done, so that its number of sets may not change."""
    return block.rounds is not None or block.kind not in RESTED_BLOCK_KINDS


def apply_in_rounds(rule: ProgressionRule, slot: Slot, week: SteppedWeek, facts: ExerciseFacts | None) -> Slot:
    """Apply a rule to a slot that rounds repeat: to the set of each round, of which there stay as many.

    Args:
        rule: the rule.
        slot: the slot, with one set, or one for each round.
        week: the week that is made.
        facts: the slot's exercise.

    Raises:
        StepError: as `apply_rule`.
    """
    if not slot.sets:
        return apply_rule(rule, slot, week, facts)
    each = [apply_rule(rule, replace(slot, sets=(group,)), week, facts) for group in slot.sets]
    sets = (replace(made.sets[0], count=group.count) for made, group in zip(each, slot.sets, strict=True))
    return replace(each[0], sets=tuple(sets))


def lighter_block(block: Block, rounds_pct: Decimal) -> Block:
    """Keep a share of a block's rounds, or of its minutes, rounded up to a whole one, at least one.

    A slot with a set for each round keeps its first ones. A block that neither rounds nor a clock repeats stays.

    Args:
        block: the block.
        rounds_pct: the share that is kept, in percent.
    """
    if not in_rounds(block):
        return block
    if block.minutes is not None:
        return replace(block, minutes=_minutes_kept(block, block.minutes, rounds_pct))
    if block.rounds is None:
        return block
    rounds = _kept(block.rounds, rounds_pct)
    slots = tuple(
        replace(slot, sets=tuple(_first(slot, rounds))) if slot.set_count > 1 else slot for slot in block.slots
    )
    return replace(block, rounds=rounds, slots=slots)


def _minutes_kept(block: Block, minutes: int, rounds_pct: Decimal) -> int:
    if block.kind != "every_minute":
        return _kept(minutes, rounds_pct)
    least_s = _kept(block.intervals, rounds_pct) * block.interval_s
    whole = (number for number in range(1, minutes) if number * S_PER_MIN % block.interval_s == 0)
    return next((number for number in whole if number * S_PER_MIN >= least_s), minutes)


def _kept(number: int, pct: Decimal) -> int:
    return max(1, int((number * pct / PERCENT).to_integral_value(rounding=ROUND_CEILING)))


def _first(slot: Slot, rounds: int) -> Iterator[SetGroup]:
    left = rounds
    for group in slot.sets:
        if left > 0:
            yield replace(group, count=min(group.count, left))
        left -= group.count
