"""The partition of exercises into blocks of least time, exact: every set partition is weighed.

Set-partition dynamic programming: the best way to place a set of exercises is the best, over every block that holds
its first exercise, of that block beside the best way to place the rest. The time of a partition is the sum of its
blocks' high readings with the time between blocks; ramp sets are left out, since each pattern has them once however
its lifts are placed. Of equal times the one that keeps the order given is taken, then the one with more blocks.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from programs.prescription.block_barriers import barrier
from programs.prescription.paired_block import BlockPlan, TimedExercise, plan_block
from programs.prescription.timeline_policy import TimelinePolicy

# One whole number orders time before displacement before the number of blocks, and adds up as they do.
_TIME = 1_000_000
_PLACE = 1_000


@dataclass(frozen=True, slots=True)
class _Candidate:
    mask: int
    cost: int
    plan: BlockPlan


def best_partition(
    exercises: Sequence[TimedExercise], policy: TimelinePolicy, *, slots_max: int
) -> tuple[BlockPlan, ...]:
    """Give the blocks of least time, in order of performing.

    Args:
        exercises: at most 12, in the order given; their indices count from 0.
        policy: how time is reckoned.
        slots_max: the most exercises of one block; 1 gives straight sets.
    """
    by_lowest: dict[int, list[_Candidate]] = {}
    for candidate in _candidates(exercises, policy, slots_max):
        by_lowest.setdefault(candidate.mask & -candidate.mask, []).append(candidate)
    chosen = _solve(by_lowest, (1 << len(exercises)) - 1)
    plans: list[BlockPlan] = []
    left = (1 << len(exercises)) - 1
    while left:
        candidate = chosen[left]
        plans.append(candidate.plan)
        left &= ~candidate.mask
    return tuple(sorted(plans, key=lambda plan: plan.first_index))


def _candidates(exercises: Sequence[TimedExercise], policy: TimelinePolicy, slots_max: int) -> list[_Candidate]:
    barred = {
        (first.index, second.index)
        for first, second in combinations(exercises, 2)
        if barrier(first.facts, second.facts) is not None
    }
    found: list[_Candidate] = []
    # Large before small, so that of equals the first exercises are paired and the last stands alone.
    for size in range(slots_max, 0, -1):
        for group in combinations(exercises, size):
            if any((first.index, second.index) in barred for first, second in combinations(group, 2)):
                continue
            plan = plan_block(group, policy)
            cost = (plan.high_s + policy.between_blocks_s) * _TIME + plan.displaced * _PLACE + size - 1
            found.append(_Candidate(sum(1 << exercise.index for exercise in group), cost, plan))
    return found


def _solve(by_lowest: Mapping[int, Sequence[_Candidate]], everything: int) -> dict[int, _Candidate]:
    """Give the block that holds the first exercise of each set of exercises that can be left over."""
    costs = {0: 0}
    chosen: dict[int, _Candidate] = {}
    # A set has only smaller sets left over, so counting up meets each after all that it needs.
    for left in range(1, everything + 1):
        lowest = left & -left
        best = -1
        for candidate in by_lowest[lowest]:
            mask = candidate.mask
            if mask & left == mask:
                cost = costs[left ^ mask] + candidate.cost
                if best < 0 or cost < best:
                    best = cost
                    chosen[left] = candidate
        costs[left] = best
    return chosen
