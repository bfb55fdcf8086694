"""The smallest cuts that make a pairing fit the minutes: fewest sets, accessories first, spread before piled up.

The blocks stay as they are; working sets are taken from the end, and one of each exercise is always left. Exact
over the blocks of the pairing: every way of cutting up to 5 sets an exercise (practice) is weighed.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Final

from programs.prescription.constants import PAIRINGS_CUTS_MAX
from programs.prescription.paired_block import BlockPlan, TimedExercise, plan_block, quickest_s
from programs.prescription.rest_findings import SINGLE_JOINT_PATTERNS
from programs.prescription.structure import SetGroup, Slot
from programs.prescription.timeline_policy import TimelinePolicy

_ACCESSORY_GOALS: Final = frozenset({"endurance", "technique", "conditioning", "mobility"})
"""Goals whose sets are cut first. Practice."""

_MAIN_GOALS: Final = frozenset({"strength", "power"})
"""Goals whose sets are cut last. Practice."""

# Rank counts before spread; five cuts of one exercise spread at most 25.
_RANK = 10_000


@dataclass(frozen=True, slots=True, kw_only=True)
class SetCut:
    """Sets taken from one exercise, by its place as given."""

    exercise_index: int
    sets_cut: int
    sets_left: int


@dataclass(frozen=True, slots=True, kw_only=True)
class FittingCuts:
    """The cuts, and the blocks as they then are."""

    cuts: tuple[SetCut, ...]
    plans: tuple[BlockPlan, ...]


# What is lost, fewest sets first and then the least important; and what it leaves.
_Loss = tuple[int, int]
_Option = tuple[int, tuple[BlockPlan, ...], tuple[SetCut, ...]]


def fitting_cuts(plans: Sequence[BlockPlan], over_s: int, policy: TimelinePolicy) -> FittingCuts | None:
    """Find the smallest cuts that take a pairing's time down.

    Args:
        plans: the pairing's blocks.
        over_s: the seconds by which it is too long, high reading.
        policy: how time is reckoned.

    Returns:
        The cuts, or None where even the most that may be cut is not enough.
    """
    wanted_s = sum(plan.high_s for plan in plans) - over_s
    options: dict[_Loss, _Option] = {(0, 0): (0, (), ())}
    for plan in plans:
        options = _joined(options, _block_options(plan, policy))
    for loss in sorted(options):
        high_s, cut_plans, cuts = options[loss]
        if high_s <= wanted_s:
            return FittingCuts(cuts=tuple(sorted(cuts, key=lambda cut: cut.exercise_index)), plans=cut_plans)
    return None


def without_last_sets(slot: Slot, sets: int) -> Slot:
    """Take working sets from the end of a slot; warm-up, ramp and technique sets stay."""
    kept: list[SetGroup] = []
    for group in reversed(slot.sets):
        taken = min(sets, group.count) if group.counts_as_work else 0
        sets -= taken
        if group.count > taken:
            kept.append(replace(group, count=group.count - taken))
    return replace(slot, sets=tuple(reversed(kept)))


def _joined(
    options: Mapping[_Loss, _Option], block_options: Mapping[_Loss, tuple[int, BlockPlan, tuple[SetCut, ...]]]
) -> dict[_Loss, _Option]:
    joined: dict[_Loss, _Option] = {}
    for (sets, rank), (high_s, plans, cuts) in options.items():
        for (more_sets, more_rank), (more_s, plan, more_cuts) in block_options.items():
            loss = (sets + more_sets, rank + more_rank)
            if loss not in joined or high_s + more_s < joined[loss][0]:
                joined[loss] = (high_s + more_s, (*plans, plan), (*cuts, *more_cuts))
    return _worthwhile(joined)


def _worthwhile(options: Mapping[_Loss, _Option]) -> dict[_Loss, _Option]:
    """Keep what is quicker than everything that loses less."""
    kept: dict[_Loss, _Option] = {}
    best_s: int | None = None
    for loss in sorted(options):
        if best_s is None or options[loss][0] < best_s:
            best_s = options[loss][0]
            kept[loss] = options[loss]
    return kept


def _block_options(plan: BlockPlan, policy: TimelinePolicy) -> dict[_Loss, tuple[int, BlockPlan, tuple[SetCut, ...]]]:
    shorter = [[_shortened(exercise, sets) for sets in range(_cuttable(exercise) + 1)] for exercise in plan.order]
    ways = sorted((_loss(plan.order, taken), taken) for taken in product(*(range(len(each)) for each in shorter)))
    found: dict[_Loss, tuple[int, BlockPlan, tuple[SetCut, ...]]] = {(0, 0): (plan.high_s, plan, ())}
    best_s = plan.high_s
    for loss, taken in ways[1:]:
        left = [each[sets] for each, sets in zip(shorter, taken, strict=True)]
        # What loses more is worth planning only where it may be quicker than all that loses less.
        if quickest_s(left, policy) < best_s:
            shortened = plan_block(left, policy)
            if shortened.high_s < best_s:
                best_s = shortened.high_s
                found[loss] = (best_s, shortened, tuple(_cuts(plan.order, taken)))
    return found


def _loss(order: Sequence[TimedExercise], taken: Sequence[int]) -> _Loss:
    ranks = (_rank(exercise) * _RANK * sets + sets * sets for exercise, sets in zip(order, taken, strict=True))
    return sum(taken), sum(ranks)


def _cuts(order: Sequence[TimedExercise], taken: Sequence[int]) -> Iterator[SetCut]:
    for exercise, sets in zip(order, taken, strict=True):
        if sets:
            yield SetCut(exercise_index=exercise.index, sets_cut=sets, sets_left=_working_sets(exercise) - sets)


def _working_sets(exercise: TimedExercise) -> int:
    return sum(timed.counts_as_work for timed in exercise.sets)


def _cuttable(exercise: TimedExercise) -> int:
    return max(0, min(PAIRINGS_CUTS_MAX, _working_sets(exercise) - 1))


def _rank(exercise: TimedExercise) -> int:
    """Rank an exercise by what its sets are worth: 0 accessory, 1 many-joint, 2 strength and power."""
    if exercise.slot.goal in _MAIN_GOALS:
        return 2
    accessory = exercise.slot.goal in _ACCESSORY_GOALS or exercise.facts.pattern in SINGLE_JOINT_PATTERNS
    return 0 if accessory else 1


def _shortened(exercise: TimedExercise, sets: int) -> TimedExercise:
    kept: list[int] = []
    for place in reversed(range(len(exercise.sets))):
        if sets and exercise.sets[place].counts_as_work:
            sets -= 1
        else:
            kept.append(place)
    taken = len(exercise.sets) - len(kept)
    return replace(
        exercise,
        slot=without_last_sets(exercise.slot, taken),
        sets=tuple(exercise.sets[place] for place in reversed(kept)),
    )
