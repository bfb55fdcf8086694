"""Reading one set performed: which sets count, its parts, its effort, and which rows are one set."""

from collections import defaultdict
from collections.abc import Iterable
from decimal import Decimal

from logs.analysis.constants import RPE_AT_NO_RESERVE, RPE_TOP
from logs.analysis.facts import SegmentFact, SetFact
from programs.prescription.vocabulary import UNCOUNTED_SET_KINDS

NumberedSet = tuple[str, str, str, int, bool]


def counted(sets: Iterable[SetFact]) -> tuple[SetFact, ...]:
    """Leave out the sets that count in nothing but time.

    Args:
        sets: Sets performed.

    Returns:
        Those that were not skipped and are no warm-up, ramp or technique sets.

    Source: practice.
    """
    return tuple(one for one in sets if one.kind not in UNCOUNTED_SET_KINDS and one.outcome != "skipped")


def reserve(one: SetFact) -> Decimal | None:
    """Read a set's repetitions in reserve off its effort.

    Args:
        one: A set.

    Returns:
        As entered; or 10 minus the exertion (0 from 9.5 on); or 0 for a set to the limit and a failed set, whose
        effort needs no saying; None when unknown.

    Source: Zourdos et al. 2016 J Strength Cond Res 30:267-275.
    """
    if one.in_reserve is not None:
        return one.in_reserve
    if one.rpe is not None:
        return Decimal(0) if one.rpe >= RPE_AT_NO_RESERVE else RPE_TOP - one.rpe
    return Decimal(0) if one.kind == "to_limit" or one.outcome == "failed" else None


def segments(one: SetFact) -> tuple[SegmentFact, ...]:
    """Give a set's parts: its segments, else itself as one.

    Args:
        one: A set.

    Returns:
        The parts; none where repetitions were not counted.

    Source: practice.
    """
    if one.segments:
        return one.segments
    return () if one.reps is None else (SegmentFact(reps=one.reps),)


def repetitions_of(one: SetFact) -> int | None:
    """Sum a set's repetitions over its parts.

    Args:
        one: A set.

    Returns:
        Repetitions; None where they were not counted.

    Source: practice.
    """
    parts = segments(one)
    return sum(part.reps for part in parts) if parts else None


def own_load_kg(one: SetFact, segment: SegmentFact) -> Decimal | None:
    """Read a part's load in its basis.

    Args:
        one: A set.
        segment: One of its parts.

    Returns:
        The part's own load, else the set's; 0 where nothing is added to the body; None when unknown, as of a band.

    Source: practice.
    """
    load = one.load_kg if segment.load_kg is None else segment.load_kg
    bare = load is None and one.load_basis == "added" and one.exercise.loading != "band"
    return Decimal(0) if bare else load


def by_number(sets: Iterable[SetFact]) -> dict[NumberedSet, list[SetFact]]:
    """Put rows together that are one set: the left and the right of one number.

    Args:
        sets: Sets.

    Returns:
        Rows by session, exercise, slot, number, and whether they are of both sides at once.

    Source: practice.
    """
    groups: defaultdict[NumberedSet, list[SetFact]] = defaultdict(list)
    for one in sets:
        groups[one.session_id, one.exercise.key, one.slot_key, one.set_number, one.side == "both"].append(one)
    return groups


def sets_in(rows: Iterable[SetFact]) -> int:
    """Count the sets that rows of one number make.

    Args:
        rows: Rows of one number.

    Returns:
        Each row of both sides as one, and as many as the side that has more.

    Source: practice.
    """
    sides = [one.side for one in rows]
    return sides.count("both") + max(sides.count("left"), sides.count("right"))


def count_sets(sets: Iterable[SetFact]) -> int:
    """Count sets, the left and the right of one number as one.

    Args:
        sets: Sets.

    Returns:
        How many they are.

    Source: practice.
    """
    return sum(sets_in(group) for group in by_number(sets).values())
