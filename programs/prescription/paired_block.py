"""One block of a pairing: which rest it needs, how long it then takes, and in which order.

Slots take turns, one set each, a finished slot is skipped, and one rest stands between any two sets: the shortest,
in steps of 5 s (practice) and no shorter than changing station, at which every slot, and every muscle that is
primary in any slot, has the rest that the next set wants. The block's time is what `programs.prescription.timeline`
plays for it; a property test holds the two equal.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, permutations
from typing import Final

from programs.prescription.constants import PAIRINGS_REST_STEP_S
from programs.prescription.rest_findings import least_rest
from programs.prescription.set_work import set_work
from programs.prescription.structure import Block, ExerciseFacts, SetGroup, Slot
from programs.prescription.timeline_policy import TimelinePolicy

_REPEATED: Final = 2
"""Equal turns that tell everything about any number of them. Source: a set meets only the one before it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedSet:
    """One set with both sides and the rests inside it, in the two readings."""

    low_s: int
    high_s: int
    counts_as_work: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedExercise:
    """An exercise ready to be placed.

    ``index`` is its place as given, ``wanted_rest_s`` what its sets are to rest, and ``rested_keys`` whatever has to
    be rested before each of them: the exercise itself, by its place, and its primary muscles.
    """

    index: int
    slot: Slot
    facts: ExerciseFacts
    sets: tuple[TimedSet, ...]
    wanted_rest_s: int
    rested_keys: tuple[int | str, ...]

    @property
    def even(self) -> bool:
        """Whether all its sets are alike, and count."""
        return self.sets[0].counts_as_work and self.sets.count(self.sets[0]) == len(self.sets)


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockPlan:
    """Exercises done together, in order of performing, with the one rest between sets and the block's seconds."""

    order: tuple[TimedExercise, ...]
    rest_s: int
    low_s: int
    high_s: int

    @property
    def first_index(self) -> int:
        """The earliest place of its exercises, by which blocks are put in order."""
        return min(exercise.index for exercise in self.order)

    @property
    def displaced(self) -> int:
        """How far its exercises stand from where they were given: places jumped over, and places swapped."""
        places = [exercise.index for exercise in self.order]
        jumped = max(places) - min(places) - len(places) + 1
        return jumped + sum(first > second for first, second in combinations(places, 2))

    def block(self, label: str) -> Block:
        """Give the block as a prescription, with slots named after the label."""
        slots = tuple(
            replace(exercise.slot, slot_key=f"{label}{number}", rest_s=self.rest_s)
            for number, exercise in enumerate(self.order, start=1)
        )
        return Block(kind="paired" if len(slots) > 1 else "straight", label=label, slots=slots)


def time_exercise(
    index: int, slot: Slot, facts: ExerciseFacts, policy: TimelinePolicy, *, novice: bool = False
) -> TimedExercise:
    """Time an exercise's sets, and say what they are to rest.

    A written rest is what is wanted between its sets; otherwise it is the least effective rest of its goal, or,
    where nothing published speaks to it, the goal's usual rest.
    """
    wanted = least_rest(slot, facts, novice=novice)
    usual_s = policy.assumed_rest_s("straight", slot.goal) if wanted is None else wanted.least_s
    return TimedExercise(
        index=index,
        slot=slot,
        facts=facts,
        sets=tuple(_timed(group, slot, facts, policy) for group in slot.sets for _ in range(group.count)),
        wanted_rest_s=usual_s if slot.rest_s is None else slot.rest_s,
        rested_keys=(index, *facts.primary_muscles),
    )


def plan_block(exercises: Sequence[TimedExercise], policy: TimelinePolicy) -> BlockPlan:
    """Plan one block of exercises that may share it.

    Args:
        exercises: one to four, in the order given. Another order is taken only where it needs a shorter rest.
        policy: how time is reckoned.
    """
    if len(exercises) == 1:
        return _planned(tuple(exercises), exercises[0].wanted_rest_s)
    floor_s = _stepped(policy.change_station_s)
    best: tuple[int, tuple[TimedExercise, ...]] | None = None
    turns = _telling_turns(exercises)
    for order in _orders(exercises):
        rest_s = max(floor_s, _stepped(_needed_rest_s(order, turns)))
        if best is None or rest_s < best[0]:
            best = rest_s, order
        if rest_s == floor_s:
            break
    return _planned(tuple(exercises), floor_s) if best is None else _planned(best[1], best[0])


def quickest_s(exercises: Sequence[TimedExercise], policy: TimelinePolicy) -> int:
    """Give the seconds under which no plan of a block goes, high reading: its work with the shortest rest there is."""
    if len(exercises) == 1:
        return _planned(tuple(exercises), exercises[0].wanted_rest_s).high_s
    return _planned(tuple(exercises), _stepped(policy.change_station_s)).high_s


def _timed(group: SetGroup, slot: Slot, facts: ExerciseFacts, policy: TimelinePolicy) -> TimedSet:
    work = set_work(group, facts, policy)
    sides = 2 if slot.per_side else 1
    beside_s = work.inside_rest_s * sides + policy.change_sides_s * (sides - 1)
    return TimedSet(
        low_s=work.low_s * sides + beside_s,
        high_s=work.high_s * sides + beside_s,
        counts_as_work=group.counts_as_work,
    )


def _orders(exercises: Sequence[TimedExercise]) -> Iterator[tuple[TimedExercise, ...]]:
    """Give the orders worth trying.

    Where every set of all counts and there are two or more of each: with a muscle that all work, each set meets the
    one before it in any order; and with turns all alike, turning the order round changes no rest.
    """
    rounds = {len(exercise.sets) for exercise in exercises}
    shared = set.intersection(*(set(exercise.facts.primary_muscles) for exercise in exercises))
    even = 1 not in rounds and all(exercise.even for exercise in exercises)
    if even and shared:
        yield tuple(exercises)
    elif even and len(rounds) == 1:
        yield from ((exercises[0], *others) for others in permutations(exercises[1:]))
    else:
        yield from permutations(exercises)


def _telling_turns(exercises: Sequence[TimedExercise]) -> list[int]:
    """Give the turns that tell how long anything rests, leaving out those that repeat the two before them.

    A turn repeats another where the same exercises do the same sets and all of them count: then every slot and
    muscle in it meets itself as it did before.
    """
    turns = [
        [(exercise.index, exercise.sets[turn]) for exercise in exercises if turn < len(exercise.sets)]
        for turn in range(max(len(exercise.sets) for exercise in exercises))
    ]
    return [
        place
        for place, turn in enumerate(turns)
        if place < _REPEATED
        or not (turn == turns[place - 1] == turns[place - 2] and all(timed.counts_as_work for _, timed in turn))
    ]


def _needed_rest_s(order: Sequence[TimedExercise], turns: Sequence[int]) -> int:
    """Give the shortest rest at which every set finds its slot and its muscles rested, low reading."""
    needed_s = worked_s = 0
    # What was last worked: the seconds of work up to its end, and its place among the sets.
    last: dict[int | str, tuple[int, int]] = {}
    sets = [(exercise, exercise.sets[turn]) for turn in turns for exercise in order if turn < len(exercise.sets)]
    for place, (exercise, timed) in enumerate(sets):
        ended_s = worked_s + timed.low_s
        if timed.counts_as_work:
            for key in exercise.rested_keys:
                if key in last:
                    before_s, before_place = last[key]
                    lacking_s = exercise.wanted_rest_s - (worked_s - before_s)
                    needed_s = max(needed_s, -(-lacking_s // (place - before_place)))
                last[key] = (ended_s, place)
        worked_s = ended_s
    return needed_s


def _planned(order: tuple[TimedExercise, ...], rest_s: int) -> BlockPlan:
    sets = [timed for exercise in order for timed in exercise.sets]
    rests_s = max(0, len(sets) - 1) * rest_s
    return BlockPlan(
        order=order,
        rest_s=rest_s,
        low_s=sum(timed.low_s for timed in sets) + rests_s,
        high_s=sum(timed.high_s for timed in sets) + rests_s,
    )


def _stepped(seconds: int) -> int:
    return -(-seconds // PAIRINGS_REST_STEP_S) * PAIRINGS_REST_STEP_S
